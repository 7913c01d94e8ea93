"""The firm's settings, the record of changes, and kept mails."""

from collections.abc import Callable
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.forms.profile import ProfileForm
from firm.models import AuditEntry, FirmProfile, MailAttachment, OutgoingMail, Role, User
from firm.services.audit import record
from tests.cast import NOW, make_firm

pytestmark = pytest.mark.django_db


def typed(firm: FirmProfile, **changes: Any) -> dict[str, Any]:
    """Return the settings page as it opens, with changes; hidden first values come along."""
    form = ProfileForm(instance=firm)
    values = {field.name: field.value() for field in form if field.name != "logo"}
    seen = {
        f"initial-{name}": getattr(firm, name)
        for name in ("next_estimate_number", "next_invoice_number", "next_order_number")
    }
    return {name: value for name, value in values.items() if value is not None} | seen | changes


@pytest.mark.parametrize(
    ("role", "expected"), [(Role.OWNER, 200), (Role.OFFICE, 403), (Role.CREW_LEAD, 403)]
)
@pytest.mark.parametrize("address", ["/settings/", "/settings/people/", "/settings/record/"])
def test_settings_are_the_owners(
    as_role: Callable[[Role | None], Client], address: str, role: Role, expected: int
) -> None:
    make_firm()
    assert as_role(role).get(address).status_code == expected


def test_owner_changes_a_setting_and_the_record_says_so(as_owner: Client, owner: User) -> None:
    firm = make_firm()
    answer = as_owner.post("/settings/", typed(firm, overhead_rate="$1,050.00"))
    assert answer.status_code == 302
    firm.refresh_from_db()
    assert str(firm.overhead_rate) == "1050.00"
    entry = AuditEntry.objects.get(action="changed the settings")
    assert entry.actor == owner
    assert (entry.before, entry.after) == (
        {"overhead_rate": "900.00"},
        {"overhead_rate": "1050.00"},
    )


def test_yard_and_roads_are_settled(as_owner: Client) -> None:
    firm = make_firm()
    new = {"yard": "41.6, -93.6", "road_factor": "1.25", "road_speed_mph": "56.33 km/h"}
    assert as_owner.post("/settings/", typed(firm, **new)).status_code == 302
    firm.refresh_from_db()
    assert firm.yard == (41.6, -93.6)
    assert firm.road_factor == 1.25
    # 56.33 / 1.609344 = 35.0 mph.
    assert round(firm.road_speed_mph, 2) == 35.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"yard": "41.6"}, "Type latitude and longitude"),
        ({"road_factor": "0.9"}, "greater than or equal to 1"),
        ({"road_speed_mph": "4"}, "from 5 mph to 80 mph"),
        ({"road_speed_mph": "fast"}, "such as 30 mph"),
    ],
)
def test_roads_that_cannot_be_are_refused_at_the_field(
    as_owner: Client, changes: dict[str, str], words: str
) -> None:
    answer = as_owner.post("/settings/", typed(make_firm(), **changes))
    assert words in answer.content.decode()


def test_saving_unchanged_settings_records_nothing(as_owner: Client) -> None:
    firm = FirmProfile.objects.get(pk=make_firm().pk)
    as_owner.post("/settings/", typed(firm))
    assert not AuditEntry.objects.exists()


def test_office_can_not_save_settings(as_office: Client) -> None:
    firm = make_firm()
    assert as_office.post("/settings/", typed(firm, name="Mine")).status_code == 403
    firm.refresh_from_db()
    assert firm.name == "Orchard Hollow Fence"


def test_numbers_only_go_up(as_owner: Client) -> None:
    firm = make_firm(next_estimate_number=1050)
    page = as_owner.post("/settings/", typed(firm, next_estimate_number=1049)).content.decode()
    assert "Numbers only go up: 1050 is the next one" in page
    firm.refresh_from_db()
    assert firm.next_estimate_number == 1050


def test_numbers_given_out_while_the_page_was_open_stay_given_out(as_owner: Client) -> None:
    firm = make_firm(next_estimate_number=1050)
    page_as_opened = typed(firm, phone="555-0100")
    FirmProfile.objects.update(next_estimate_number=1053)
    assert as_owner.post("/settings/", page_as_opened).status_code == 302
    firm.refresh_from_db()
    assert (firm.next_estimate_number, firm.phone) == (1053, "555-0100")


def test_margin_over_its_limit_is_refused_and_kept_on_the_page(as_owner: Client) -> None:
    page = as_owner.post("/settings/", typed(make_firm(), target_margin_pct="96")).content.decode()
    assert 'id="id_target_margin_pct_error"' in page
    assert 'value="96"' in page


def test_settings_page_takes_few_queries(
    as_owner: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    make_firm()
    # Session, person, profile, and the last backup's job.
    with django_assert_num_queries(4):
        as_owner.get("/settings/")


def test_there_is_no_logo_before_one_is_uploaded(client: Client) -> None:
    make_firm()
    assert client.get("/logo.png").status_code == 404


def test_logo_is_taken_off_again(as_owner: Client) -> None:
    firm = make_firm()
    firm.logo.save("logo.png", ContentFile(b"pixels"))
    shown = as_owner.get("/logo.png")
    assert b"".join(shown.streaming_content) == b"pixels"  # type: ignore[attr-defined]
    as_owner.post("/settings/", typed(firm, remove_logo="on"))
    firm.refresh_from_db()
    assert not firm.logo
    assert as_owner.get("/logo.png").status_code == 404


# --- The record ---


def test_record_takes_as_many_queries_for_forty_changes_as_for_one(
    as_owner: Client, owner: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    firm = make_firm()
    for number in range(40):
        record(actor=owner, action="changed", target=firm, after={"n": number}, at=NOW)
    # Session, person, count, page.
    with django_assert_num_queries(4):
        page = as_owner.get("/settings/record/").content.decode()
    assert page.count("<details>") == 40


def test_record_is_searched_by_words(as_owner: Client, owner: User) -> None:
    firm = make_firm()
    record(actor=owner, action="painted the shed", target=firm, at=NOW)
    record(actor=owner, action="sold the truck", target=firm, at=NOW)
    page = as_owner.get("/settings/record/", {"q": "shed"}).content.decode()
    assert "painted the shed" in page
    assert "sold the truck" not in page


def test_record_never_keeps_a_password(owner: User) -> None:
    entry = record(
        actor=owner, action="x", target=owner, after={"password": "secret", "a": 1}, at=NOW
    )
    assert entry.after == {"a": 1}


# --- Kept mails ---


def kept_mail(**changes: Any) -> OutgoingMail:
    values: dict[str, Any] = {
        "to": "ines@example.com",
        "subject": "Your fence",
        "body": "Here it is: http://127.0.0.1:8000/p/abc/ <b>bold</b>",
        "state": OutgoingMail.State.KEPT,
        "created_at": NOW,
    }
    return OutgoingMail.objects.create(**(values | changes))


@pytest.mark.parametrize(
    ("role", "expected"),
    [(Role.OWNER, 200), (Role.OFFICE, 200), (Role.CREW_LEAD, 403), (None, 302)],
)
def test_mails_are_for_owner_and_office(
    as_role: Callable[[Role | None], Client], role: Role | None, expected: int
) -> None:
    mail = kept_mail()
    client = as_role(role)
    assert client.get("/mail/").status_code == expected
    assert client.get(f"/mail/{mail.pk}/").status_code == expected


def test_mail_is_shown_as_text(as_office: Client) -> None:
    page = as_office.get(f"/mail/{kept_mail().pk}/").content.decode()
    assert "&lt;b&gt;bold" in page
    assert 'href="http://127.0.0.1:8000/p/abc/"' in page


def test_office_never_sees_a_mail_with_a_password_link(as_office: Client) -> None:
    mail = kept_mail(subject="Choose a password", owner_only=True)
    assert "Choose a password" not in as_office.get("/mail/").content.decode()
    assert as_office.get(f"/mail/{mail.pk}/").status_code == 404


def test_files_of_a_mail_are_downloaded_never_shown(as_office: Client) -> None:
    mail = kept_mail()
    file = MailAttachment(mail=mail, name="page.html", content_type="text/html")
    file.file.save("page.html", ContentFile(b"<script>"))
    answer = as_office.get(f"/mail/files/{file.pk}/")
    assert answer.headers["Content-Disposition"] == 'attachment; filename="page.html"'
    assert answer.headers["Content-Type"] == "application/octet-stream"
    assert b"".join(answer.streaming_content) == b"<script>"  # type: ignore[attr-defined]


def test_files_of_the_owners_mails_are_the_owners(as_office: Client) -> None:
    file = MailAttachment(mail=kept_mail(owner_only=True), name="a.pdf", content_type="x/y")
    file.file.save("a.pdf", ContentFile(b"x"))
    assert as_office.get(f"/mail/files/{file.pk}/").status_code == 404


def test_mail_list_takes_as_many_queries_for_forty_mails_as_for_one(
    as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(40):
        kept_mail()
    # Session, person, count, page.
    with django_assert_num_queries(4):
        as_office.get("/mail/")
