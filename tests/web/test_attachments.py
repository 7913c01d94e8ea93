"""Papers of a site: what is taken, what is refused, and how a file is handed out."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from firm.models import Attachment, JobSite, Role, User
from firm.services.attachments import add_attachment
from tests.cast import NOW
from tests.crew_cast import send_crew
from tests.firm_cast import PDF_BYTES, make_site, picture_bytes
from tests.web.answers import body_of

pytestmark = pytest.mark.django_db

SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


@pytest.fixture
def site() -> JobSite:
    return make_site()


def keep(site: JobSite, content: bytes, **changes: Any) -> Attachment:
    values = {"kind": "photo", "name": "pin.jpg", "note": ""} | changes
    return add_attachment(actor=None, site=site, content=content, at=NOW, **values)


def send(client: Client, site: JobSite, *files: tuple[str, bytes], **changes: str) -> str:
    papers = [SimpleUploadedFile(name, content) for name, content in files]
    values = {"kind": "survey", "note": "North-east pin", "papers": papers} | changes
    return client.post(f"/sites/{site.pk}/papers/new/", values, follow=True).content.decode()


def test_several_files_are_kept_at_once(as_office: Client, site: JobSite) -> None:
    page = send(as_office, site, ("plat.pdf", PDF_BYTES), ("pin.jpg", picture_bytes()))
    assert "2 files kept." in page
    kept = Attachment.objects.order_by("pk")
    assert [one.original_name for one in kept] == ["plat.pdf", "pin.jpg"]
    assert {(one.kind, one.note) for one in kept} == {("survey", "North-east pin")}
    assert f"/papers/{kept[1].pk}/small.jpg" in page


def test_one_bad_file_keeps_all_out_and_the_note_in(
    as_office: Client, site: JobSite, settings: Any
) -> None:
    page = send(as_office, site, ("plat.pdf", PDF_BYTES), ("drawing.svg", SVG))
    assert "drawing.svg is no PDF, JPEG or PNG." in page
    assert 'value="North-east pin"' in page
    assert '<option value="survey" selected>' in page
    assert "choose the files again" in page
    assert not Attachment.objects.exists()


def test_upload_of_forty_megabytes_gets_a_sentence_and_keeps_the_note(
    as_office: Client, site: JobSite
) -> None:
    page = send(as_office, site, ("video.mov", b"\x00" * (40 * 1024 * 1024)))
    assert "video.mov has 40.0 MB; 25 MB is the most for one file." in page
    assert 'value="North-east pin"' in page
    assert not Attachment.objects.exists()


def test_nothing_chosen_and_too_many_chosen_are_named(as_office: Client, site: JobSite) -> None:
    assert "This field is required." in send(as_office, site)
    many = [(f"{number}.pdf", PDF_BYTES) for number in range(31)]
    assert "30 files at once are the most." in send(as_office, site, *many)
    assert "The submitted file is empty." in send(as_office, site, ("a.pdf", b""))


def test_script_in_a_name_or_note_stays_text(as_office: Client, site: JobSite) -> None:
    name = "<script>alert(1)<script>.pdf"
    page = send(as_office, site, (name, PDF_BYTES))
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in page
    page = send(as_office, site, ("b.pdf", PDF_BYTES), note="<svg onload=alert(1)>")
    assert "Write plain words here" in page


@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_owner_and_office_add_papers(
    as_role: Callable[[Role | None], Client], site: JobSite, role: Role | None, status: int
) -> None:
    address = f"/sites/{site.pk}/papers/new/"
    assert as_role(role).get(address).status_code == status


@pytest.mark.parametrize(
    ("role", "photo", "signed"),
    [(None, 302, 302), (Role.CREW_LEAD, 200, 404), (Role.OFFICE, 200, 200), (Role.OWNER, 200, 200)],
)
def test_everyone_of_the_firm_reads_photos_but_crew_leads_no_signed_papers(
    as_role: Callable[[Role | None], Client],
    site: JobSite,
    role: Role | None,
    photo: int,
    signed: int,
) -> None:
    client = as_role(role)
    if role == Role.CREW_LEAD:
        send_crew(User.objects.get(role=role), site)
    for kind, content, status in (
        ("photo", picture_bytes(), photo),
        ("signed", PDF_BYTES, signed),
    ):
        answer = client.get(f"/papers/{keep(site, content, kind=kind).pk}/")
        body_of(answer)
        assert answer.status_code == status, kind


def test_crew_lead_gets_no_paper_of_other_crews_sites(
    as_role: Callable[[Role | None], Client], site: JobSite
) -> None:
    client = as_role(Role.CREW_LEAD)
    photo = keep(site, picture_bytes())
    addresses = (f"/papers/{photo.pk}/", f"/papers/{photo.pk}/small.jpg")
    assert [client.get(address).status_code for address in addresses] == [404, 404]
    send_crew(User.objects.get(role=Role.CREW_LEAD), site)
    assert client.get(addresses[1]).status_code == 200


def test_file_is_handed_out_unchanged_and_can_not_act_as_a_page(
    as_office: Client, site: JobSite
) -> None:
    paper = keep(site, PDF_BYTES, name='plat "A"\r\nX-Evil: 1.pdf')
    answer = as_office.get(f"/papers/{paper.pk}/")
    assert body_of(answer) == PDF_BYTES
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.headers["Content-Disposition"].startswith("attachment")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert "X-Evil" not in answer.headers


def test_small_picture_is_for_pictures_alone(as_office: Client, site: JobSite) -> None:
    picture, pdf = keep(site, picture_bytes()), keep(site, PDF_BYTES)
    answer = as_office.get(f"/papers/{picture.pk}/small.jpg")
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.content.startswith(b"\xff\xd8")
    assert as_office.get(f"/papers/{pdf.pk}/small.jpg").status_code == 404


def test_file_lost_from_the_disk_is_not_found(as_office: Client, site: JobSite) -> None:
    paper = keep(site, PDF_BYTES)
    Path(paper.file.path).unlink()
    assert as_office.get(f"/papers/{paper.pk}/").status_code == 404


def test_handing_out_asks_the_database_a_fixed_number_of_times(
    as_office: Client, site: JobSite, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    paper = keep(site, PDF_BYTES)
    # Session, person, paper.
    with django_assert_num_queries(3):
        body_of(as_office.get(f"/papers/{paper.pk}/"))
