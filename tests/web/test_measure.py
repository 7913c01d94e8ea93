"""The page on which a site is measured: who opens it, what it keeps, what it says of slips."""

import json
from collections.abc import Callable
from html import unescape

import jsonschema
import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from estimating.models import SiteMeasurement
from estimating.services.measurements import save_measurement
from estimating.services.starter import load_starter_rows
from firm.models import AuditEntry, JobSite, Role
from tests.db.test_measurements import straight_line
from tests.factories import NOW, TODAY, make_firm, make_site
from tests.measure_pages import document_of, error_at, gate, measure, page, typed_in

pytestmark = [pytest.mark.django_db, pytest.mark.once]

GET_PAGES = ("site_measure", "site_document", "site_document_upload")
POST_PAGES = ("site_measure_preview",)


@pytest.fixture
def site() -> JobSite:
    make_firm()
    load_starter_rows(today=TODAY)
    return make_site()


def second_line(**changes: str) -> dict[str, str]:
    """Return what a browser sends for a second line of 20 ft, its place left empty."""
    values = {"id": "B", "system": "vinyl_privacy_6ft", "legs-0-length_in": "20 ft"}
    place = {"start_x_in": "", "start_y_in": "", "bearing_deg": ""}
    return {f"lines-1-{name}": value for name, value in (values | place | changes).items()}


def place_of(site: JobSite, number: int) -> tuple[float, float, float]:
    line = document_of(site)["lines"][number]
    return line["start_x_in"], line["start_y_in"], line["bearing_deg"]


def test_line_without_a_place_goes_on_where_the_one_before_it_ended(
    site: JobSite, as_office: Client
) -> None:
    # 50 ft east, then right by 90 degrees 30 ft south: 600 in east, 360 in south, heading 180.
    corner = {"lines-0-legs-1-length_in": "30 ft", "lines-0-legs-1-turn_deg": "90"}
    assert measure(as_office, site, page(**corner, **second_line())).status_code == 302

    assert place_of(site, 0) == (0.0, 0.0, 90.0)
    assert place_of(site, 1) == (600.0, -360.0, 180.0)


def test_place_that_was_typed_stays(site: JobSite, as_office: Client) -> None:
    typed = second_line(start_x_in="10 ft", start_y_in="-5 ft")
    assert measure(as_office, site, page(**typed)).status_code == 302
    assert place_of(site, 1) == (120.0, -60.0, 90.0)


def test_line_at_another_s_post_is_left_there(site: JobSite, as_office: Client) -> None:
    shared = {"start_kind": "shared_post", "start_shared_line": "A", "start_shared_at": "start"}
    turned = second_line(**shared, bearing_deg="180")
    third = {
        f"lines-2-{name}": value
        for name, value in {
            "id": "C",
            "system": "vinyl_privacy_6ft",
            "legs-0-length_in": "8 ft",
        }.items()
    }
    assert measure(as_office, site, page(**turned, **third)).status_code == 302

    # B begins at A's start and runs 240 in south; C goes on from there.
    assert place_of(site, 1) == (0.0, 0.0, 180.0)
    assert place_of(site, 2) == (0.0, -240.0, 180.0)


@pytest.mark.parametrize("name", [*GET_PAGES, *POST_PAGES])
@pytest.mark.parametrize(
    ("role", "status"),
    [(None, 302), (Role.CREW_LEAD, 403), (Role.OFFICE, 200), (Role.OWNER, 200)],
)
def test_only_owner_and_office_measure(
    site: JobSite,
    as_role: Callable[[Role | None], Client],
    name: str,
    role: Role | None,
    status: int,
) -> None:
    save_measurement(site=site, document=straight_line(), based_on=0, actor=None, now=NOW)
    client, address = as_role(role), reverse(name, args=[site.pk])
    answer = client.post(address, page()) if name in POST_PAGES else client.get(address)
    assert answer.status_code == status


def test_one_straight_line_needs_a_fence_and_a_length(site: JobSite, as_office: Client) -> None:
    answer = measure(as_office, site, page())

    assert answer.status_code == 302
    (line,) = document_of(site)["lines"]
    assert line["system"] == "vinyl_privacy_6ft"
    assert line["legs"] == [{"length_in": 600.0, "turn_deg": 0.0}]
    assert (line["id"], line["name"]) == ("A", "Line A")


@pytest.mark.parametrize(
    ("typed", "inches"),
    [
        ("8' 0 1/2\"", 96.5),
        ("8-0 1/2", 96.5),
        ("8.5 ft", 102.0),
        ("96", 96.0),
        # 2.45 m = 96.4567 in; 96.4567 x 16 = 1543.3, so 1543 sixteenths = 96 7/16 in.
        ("2.45 m", 96.4375),
    ],
)
def test_lengths_are_read_as_people_write_them(
    site: JobSite, as_office: Client, typed: str, inches: float
) -> None:
    measure(as_office, site, page(**{"lines-0-legs-0-length_in": typed}))
    assert document_of(site)["lines"][0]["legs"][0]["length_in"] == inches


def test_old_footings_are_kept_with_the_line_and_only_whole(
    site: JobSite, as_office: Client
) -> None:
    removal = page(**{"lines-0-scope": "removal", "lines-0-old_footings": "9"})
    answer = measure(as_office, site, {**removal, "lines-0-old_footings": "nine"})
    assert error_at(answer.content.decode(), "lines-0-old_footings") == "Enter a whole number."

    measure(as_office, site, removal)
    assert document_of(site)["lines"][0]["old_footings"] == 9


def test_saved_page_comes_back_with_everything_and_changes_nothing(
    site: JobSite, as_office: Client
) -> None:
    whole = {
        **page(),
        **gate(swing="right", use="mower"),
        "lines-0-name": "Back line",
        "lines-0-legs-1-length_in": "30'",
        "lines-0-legs-1-turn_deg": "-90",
        "lines-0-ground-0-station_in": "0",
        "lines-0-ground-0-elevation_in": "0",
        "lines-0-ground-1-station_in": "40 ft",
        "lines-0-ground-1-elevation_in": "-6 in",
        "lines-0-bay_pins-0-station_in": "12 ft",
        "lines-0-bay_pins-0-follows": "stepped",
        "lines-0-no_dig-0-station_in": "45 ft",
        "lines-0-no_dig-0-facility_width_in": "2",
        "lines-0-no_dig-0-utility": "gas",
        "lines-0-fixed_points-0-station_in": "20 ft",
        "lines-0-fixed_points-0-kind": "tree",
        "lines-0-fixed_points-0-width_in": "18",
        "lines-0-fixed_points-0-keep_clear_in": "12",
        "lines-0-fixed_points-0-note": "oak",
        "lines-0-fixed_points-1-station_in": "30 ft",
        "lines-0-fixed_points-1-kind": "existing_post",
        "lines-0-fixed_points-1-use": "on",
        "lines-0-start_kind": "wall",
        "lines-0-start_measured_at": "wall_face",
        "lines-1-id": "B",
        "lines-1-system": "chain_link_4ft",
        "lines-1-points-0-x_in": "100 ft",
        "lines-1-points-0-y_in": "0",
        "lines-1-points-1-x_in": "100 ft",
        "lines-1-points-1-y_in": "40 ft",
        "conditions-frost_depth_in": "36",
        "conditions-permit_fee": "65",
        "conditions-long_barrow": "on",
    }
    answer = measure(as_office, site, whole)
    assert answer.status_code == 302, answer.content.decode()
    first = document_of(site)
    assert first["lines"][0]["ground"][1]["elevation_in"] == -6.0
    assert first["lines"][0]["bay_pins"] == [{"station_in": 144.0, "follows": "stepped"}]
    oak, standing = first["lines"][0]["fixed_points"]
    assert (oak["station_in"], oak["width_in"], oak["keep_clear_in"]) == (240.0, 18.0, 12.0)
    assert (oak["note"], oak["use"]) == ("oak", False)
    assert (standing["kind"], standing["use"]) == ("existing_post", True)
    assert first["lines"][0]["start"] == {"kind": "wall", "measured_at": "wall_face"}
    assert first["conditions"]["permit_fee"] == "65.00"

    html = as_office.get(reverse("site_measure", args=[site.pk])).content.decode()
    again = measure(as_office, site, typed_in(html))

    assert again.status_code == 302
    assert document_of(site) == first
    assert SiteMeasurement.objects.count() == 1


def test_only_a_post_can_carry_the_fence(site: JobSite, as_office: Client) -> None:
    drain = {
        "lines-0-fixed_points-0-station_in": "20 ft",
        "lines-0-fixed_points-0-kind": "drain",
        "lines-0-fixed_points-0-use": "on",
    }
    answer = measure(as_office, site, page(**drain))
    assert answer.status_code == 422
    html = answer.content.decode()
    assert "Only a post that stands already" in error_at(html, "lines-0-fixed_points-0-use")
    assert 'value="20 ft"' in html


@pytest.mark.parametrize(
    ("slip", "field", "words"),
    [
        ({"lines-0-legs-0-length_in": "-50 ft"}, "lines-0-legs-0-length_in", "negative"),
        ({"lines-0-legs-0-length_in": "fifty"}, "lines-0-legs-0-length_in", "fifty"),
        ({"lines-0-legs-0-length_in": ""}, "lines-0-legs-0-length_in", "length of this leg"),
        ({"lines-0-legs-0-turn_deg": "left"}, "lines-0-legs-0-turn_deg", "number"),
        ({"lines-0-system": "bamboo"}, "lines-0-system", "bamboo"),
        ({"lines-0-system": ""}, "lines-0-system", "required"),
        ({"lines-0-name": "<script>alert(1)</script>"}, "lines-0-name", "plain words"),
        ({"lines-0-name": "<svg onload=x>"}, "lines-0-name", "plain words"),
        ({"site-name": "<script>"}, "site-name", "plain words"),
        ({"conditions-frost_depth_in": "deep"}, "conditions-frost_depth_in", "deep"),
        ({"conditions-wind_speed_mph": "fast"}, "conditions-wind_speed_mph", "number"),
        ({"conditions-wind_speed_mph": "900"}, "conditions-wind_speed_mph", "250"),
        ({"conditions-wind_speed_mph": "-5"}, "conditions-wind_speed_mph", "from 1 mph"),
        (gate(clear_opening_in="60 ft"), "lines-0-gates-0-clear_opening_in", "gate"),
        (gate(clear_opening_in=""), "lines-0-gates-0-clear_opening_in", "required"),
        (gate(station_in="x"), "lines-0-gates-0-station_in", "x"),
    ],
)
def test_slip_is_named_at_its_field_and_nothing_typed_is_lost(
    site: JobSite, as_office: Client, slip: dict[str, str], field: str, words: str
) -> None:
    typed = page(**{"lines-0-name": "Back line", "site-notes": "Dog in the yard"}) | slip

    answer = measure(as_office, site, typed)

    assert answer.status_code == 422
    html = answer.content.decode()
    assert words in unescape(error_at(html, field))
    assert not SiteMeasurement.objects.exists()
    assert not AuditEntry.objects.exists()
    back = typed_in(html)
    for name, value in typed.items():
        # A system that is no choice can't come back as chosen.
        if value and name != "lines-0-system":
            assert back[name] == value
    assert "<script>alert" not in html


def test_self_crossing_line_is_told_and_kept(site: JobSite, as_office: Client) -> None:
    # 40 ft east, 20 ft left (north), 20 ft left (west), 40 ft left (south): it cuts the first leg.
    legs = (("40 ft", ""), ("20 ft", "-90"), ("20 ft", "-90"), ("40 ft", "-90"))
    typed = page()
    for i, (length, turn) in enumerate(legs):
        typed |= {f"lines-0-legs-{i}-length_in": length, f"lines-0-legs-{i}-turn_deg": turn}

    answer = as_office.post(reverse("site_measure_preview", args=[site.pk]), typed)
    assert "cross" in answer.content.decode().lower()


def test_message_of_the_engine_stands_at_the_row_it_names_though_an_empty_row_lies_before(
    site: JobSite, as_office: Client
) -> None:
    blank = gate(station_in="", clear_opening_in="")
    too_wide = {
        "lines-0-gates-1-station_in": "20 ft",
        "lines-0-gates-1-clear_opening_in": "60 ft",
    }

    answer = measure(as_office, site, page() | blank | too_wide)

    assert answer.status_code == 422
    assert error_at(answer.content.decode(), "lines-0-gates-1-clear_opening_in")


def test_legs_and_coordinates_together_are_refused(site: JobSite, as_office: Client) -> None:
    both = {"lines-0-points-0-x_in": "0", "lines-0-points-0-y_in": "0"}
    answer = measure(as_office, site, page() | both)
    assert answer.status_code == 422
    assert "not by both" in answer.content.decode()


def test_page_opened_before_someone_elses_save_keeps_what_was_typed(
    site: JobSite, as_office: Client
) -> None:
    save_measurement(site=site, document=straight_line(), based_on=0, actor=None, now=NOW)

    answer = measure(as_office, site, page(**{"lines-0-legs-0-length_in": "51 ft"}))

    assert answer.status_code == 422
    html = answer.content.decode()
    assert "saved version 1 of this site while you were typing" in html
    back = typed_in(html)
    assert back["lines-0-legs-0-length_in"] == "51 ft"
    # A second send is a decision, made after seeing the message.
    assert measure(as_office, site, back).status_code == 302
    assert SiteMeasurement.objects.count() == 2


def test_rows_are_added_and_removed_without_scripts_and_keep_what_is_half_typed(
    site: JobSite, as_office: Client
) -> None:
    half = page(**{"lines-0-legs-0-length_in": "50 f", "act": "add:lines-0-legs"})
    html = measure(as_office, site, half).content.decode()
    back = typed_in(html)
    assert back["lines-0-legs-0-length_in"] == "50 f"
    assert back["lines-0-legs-1-length_in"] == ""
    assert "has-error" not in html

    html = measure(as_office, site, back | {"act": "add:lines"}).content.decode()
    back = typed_in(html)
    assert back["lines-1-id"] == "B"
    assert back["lines-1-system"] == "vinyl_privacy_6ft"

    html = measure(as_office, site, back | {"act": "remove:lines-0-legs-0"}).content.decode()
    assert "lines-0-legs-0-length_in" not in typed_in(html)
    assert not SiteMeasurement.objects.exists()


def test_preview_draws_the_sound_lines_and_names_the_other(
    site: JobSite, as_office: Client
) -> None:
    typed = page(act="add:lines")
    back = typed_in(measure(as_office, site, typed).content.decode())
    back.pop("act", None)
    half = back | {"lines-1-id": "B", "lines-1-legs-0-length_in": "fifty paces"}

    html = as_office.post(reverse("site_measure_preview", args=[site.pk]), half).content.decode()

    assert "Without line B: a figure there is missing or can&#x27;t be read." in html
    assert "<svg" in html
    assert "Line A: " in html
    assert "Line B: " not in html


def test_preview_draws_the_plan_and_saves_nothing(site: JobSite, as_office: Client) -> None:
    address = reverse("site_measure_preview", args=[site.pk])
    html = as_office.post(address, page()).content.decode()
    assert "<svg" in html
    assert "8 posts, 7 bays" in html
    assert not SiteMeasurement.objects.exists()

    half = as_office.post(address, page(**{"lines-0-legs-0-length_in": ""}))
    assert half.status_code == 200
    assert "<svg" not in half.content.decode()


def test_what_the_page_saves_is_what_the_schema_says(site: JobSite, as_office: Client) -> None:
    measure(as_office, site, page() | gate())
    schema = json.loads(as_office.get(reverse("site_schema")).content)
    jsonschema.validate(document_of(site), schema)


def test_page_asks_the_database_the_same_for_one_line_and_for_twenty(
    site: JobSite, as_office: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    document = straight_line()
    line = document["lines"][0]
    document["lines"] = [{**line, "id": f"L{i}", "start_y_in": 600.0 * i} for i in range(20)]
    save_measurement(site=site, document=document, based_on=0, actor=None, now=NOW)
    # Session, person; site; newest; firm and systems for the form; versions; the firm's catalog:
    # systems, prices, rates, profile.
    with django_assert_num_queries(11):
        as_office.get(reverse("site_measure", args=[site.pk]))
