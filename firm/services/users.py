"""Adding people, changing their role, switching log-ins off, links to a new password."""

import datetime as dt
from dataclasses import asdict, dataclass

from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from firm.errors import Refusal
from firm.measure.said import LANGUAGES, Said
from firm.models import OutgoingMail, Role, User
from firm.selectors.languages import speaking, spoken
from firm.selectors.readers import language_read_by
from firm.services.audit import differences, record, snapshot
from firm.services.mail import queue_mail

PERSON_FIELDS = ("username", "first_name", "last_name", "email", "phone", "role", "is_active")
PASSWORD_SUBJECT = Said("Choose a password for Firm Footing")
PASSWORD_BODY = (
    Said("Hello {name},"),
    Said("choose a password for your log-in '{login}' here:"),
    "{link}",
    Said(
        "The link works once and for three days. If you did not ask for it, leave it: "
        "your password stays as it is."
    ),
)
PAUSE_BETWEEN_LINKS = dt.timedelta(minutes=2)


@dataclass(frozen=True, kw_only=True, slots=True)
class PersonDetails:
    """What is known of a person who logs in."""

    username: str
    first_name: str
    last_name: str = ""
    email: str = ""
    phone: str = ""
    role: Role = Role.CREW_LEAD


@transaction.atomic
def add_person(
    *, actor: User | None, details: PersonDetails, password: str | None, at: dt.datetime
) -> User:
    """Add someone; without a password they choose one at a link.

    Raises:
        Refusal: the log-in name is taken.
    """
    person = User(**asdict(details))
    person.set_password(password)
    try:
        with transaction.atomic():
            person.save(force_insert=True)
    except IntegrityError as error:
        raise Refusal("Someone has this log-in name already.", field="username") from error
    record(
        actor=actor or person,
        action="added a person",
        target=person,
        after=snapshot(person, PERSON_FIELDS),
        at=at,
    )
    return person


@transaction.atomic
def change_person(
    *, actor: User, person: User, details: PersonDetails, is_active: bool, at: dt.datetime
) -> User:
    """Change what is known of a person, or switch their log-in off or on.

    Raises:
        Refusal: the firm would be left without an owner, or the log-in name is taken.
    """
    # Locked as one set, so that two owners can't demote each other at once.
    owners = list(
        User.objects.select_for_update().filter(role=Role.OWNER, is_active=True).order_by("pk")
    )
    stays_owner = details.role == Role.OWNER and is_active
    if not stays_owner and [owner.pk for owner in owners] == [person.pk]:
        field = "role" if details.role != Role.OWNER else "is_active"
        raise Refusal(
            "The firm needs one owner who can log in: make someone owner first.", field=field
        )
    row = User.objects.select_for_update().get(pk=person.pk)
    before = snapshot(row, PERSON_FIELDS)
    for name, value in asdict(details).items():
        setattr(row, name, value)
    row.is_active = is_active
    try:
        with transaction.atomic():
            row.save(update_fields=PERSON_FIELDS)
    except IntegrityError as error:
        raise Refusal("Someone has this log-in name already.", field="username") from error
    old, new = differences(before, snapshot(row, PERSON_FIELDS))
    if new:
        record(actor=actor, action="changed a person", target=row, before=old, after=new, at=at)
    return row


def password_link(person: User) -> str:
    """Return the full address where this person chooses a password; it works once."""
    path = reverse(
        "password_reset_confirm",
        kwargs={
            "uidb64": urlsafe_base64_encode(force_bytes(person.pk)),
            "token": default_token_generator.make_token(person),
        },
    )
    return f"{settings.FF_PUBLIC_URL}{path}"


@transaction.atomic
def send_password_link(
    *, actor: User | None, person: User, at: dt.datetime, asked_in: str = ""
) -> str:
    """Mail a person the link to choose a password in the language they read, and return it.

    Where nobody knows which that is, it is the one they asked in, else the mail is in all of them.
    Nothing is mailed to someone without an address: the owner hands the link over.

    Raises:
        Refusal: the log-in is switched off.
    """
    if not person.is_active:
        raise Refusal("This log-in is switched off: switch it on first.")
    link = password_link(person)
    if person.email:
        subject, body = _password_mail(person, link, asked_in)
        queue_mail(
            to=person.email,
            kind=OutgoingMail.Kind.PASSWORD,
            subject=subject,
            body=body,
            now=at,
            owner_only=True,
        )
    record(actor=actor, action="sent a password link", target=person, at=at)
    return link


def send_forgotten_password_links(*, email: str, asked_in: str, at: dt.datetime) -> int:
    """Mail a link to everyone active with this address; return how many were sent.

    Two minutes pass between two links to one address, so that nobody's mailbox is flooded.
    """
    if OutgoingMail.objects.filter(
        to__iexact=email,
        kind=OutgoingMail.Kind.PASSWORD,
        created_at__gt=at - PAUSE_BETWEEN_LINKS,
    ).exists():
        return 0
    people = list(User.objects.filter(email__iexact=email, is_active=True).exclude(email=""))
    for person in people:
        send_password_link(actor=None, person=person, at=at, asked_in=asked_in)
    return len(people)


def _password_mail(person: User, link: str, asked_in: str) -> tuple[str, str]:
    """Return a mail's subject and body, in each language it is to say them in."""
    known = language_read_by(person) or asked_in
    parts = {"name": person.first_name or person.username, "login": person.username, "link": link}
    subjects, bodies = [], []
    for language in [known] if known else [key for key, _ in LANGUAGES]:
        with speaking(language):
            subjects.append(spoken(PASSWORD_SUBJECT))
            bodies.append("\n\n".join(spoken(one).format(**parts) for one in PASSWORD_BODY))
    return " / ".join(subjects), "\n\n\n".join(bodies) + "\n"
