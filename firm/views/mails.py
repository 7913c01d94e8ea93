"""The mails that went out or are kept, as they were written."""

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from firm.access import requires, signed_in
from firm.models import MailAttachment, Role
from firm.selectors.audit import mails_for

MAILS_PER_PAGE = 50


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def mails(request: HttpRequest) -> HttpResponse:
    """List mails, newest first."""
    found = mails_for(signed_in(request))
    page = Paginator(found, MAILS_PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "firm/mails.html", {"page": page})


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def mail(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one mail with its files."""
    found = get_object_or_404(mails_for(signed_in(request)), pk=pk)
    return render(request, "firm/mail.html", {"mail": found, "files_kept": found.attachments.all()})


@requires(Role.OWNER, Role.OFFICE)
@require_safe
def mail_attachment(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Hand out a mail's file, never to be run or shown inside our own pages."""
    readable = mails_for(signed_in(request)).values("pk")
    attachment = get_object_or_404(MailAttachment, pk=pk, mail__in=readable)
    if not attachment.file.storage.exists(attachment.file.name or ""):
        raise Http404
    return FileResponse(
        attachment.file.open("rb"),
        as_attachment=True,
        filename=attachment.name,
        content_type="application/octet-stream",
    )
