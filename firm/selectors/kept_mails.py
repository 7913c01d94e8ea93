"""Mails that wait here because no mail server is set."""

from firm.models import OutgoingMail


def kept_mail_about(*, kind: str, about: int, to: str) -> OutgoingMail | None:
    """Return the mail that would have brought this to the address it went to last, if any."""
    if not to:
        return None
    mails = OutgoingMail.objects.filter(kind=kind, about=about, to=to)
    return mails.filter(state=OutgoingMail.State.KEPT).first()
