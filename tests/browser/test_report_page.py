"""A crew lead's report on a phone: ticks kept at once, hours, photos, one button."""

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from firm.models import Role
from scheduling.models import DayReport, HoursWorked, JobPhoto, PostRecord
from scheduling.services.report_entries import DayEntry
from tests.browser.conftest import Complaints
from tests.cast import PASSWORD, make_person
from tests.report_cast import Day, gps_bytes, make_day, span, ticks

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]

# The taps of a usual day: all posts set, bags, air, the end of everyone, their break, saving.
USUAL_TAPS = 6
TARGET_PX = 44


def open_report(page: Page) -> Day:
    """Log in as the crew lead and open the report of yesterday, which has no hours to come."""
    make_person(Role.OWNER)
    lead = make_person(Role.CREW_LEAD)
    day = make_day(lead).at(timezone.localdate() - dt.timedelta(days=1))
    page.goto(reverse("login"))
    page.locator("[name=username]").fill(lead.username)
    page.locator("[name=password]").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.goto(day.address)
    return day


def save(page: Page) -> None:
    page.get_by_role("button", name="Save the report").last.click()
    expect(page.get_by_text("The report is saved.")).to_be_visible()


def taps_of(page: Page) -> None:
    """Count from now on what a thumb does: every tap, wherever it lands."""
    page.evaluate(
        "window.taps = 0; addEventListener('click', (e) => { window.taps += e.isTrusted; }, true)"
    )


def targets_too_small(page: Page) -> list[str]:
    """Return what a thumb would miss: shown controls whose target is under 44 px a side."""
    found: list[str] = page.evaluate(
        """(least) => [...document.querySelectorAll(
            'main :is(button, select, textarea, summary, .post-tick, .check-row label, ' +
            '.choices label, input:not([type=hidden], [type=checkbox])):not(.visually-hidden)'
        )].filter((one) => one.checkVisibility()).map((one) => [one, one.getBoundingClientRect()])
          .filter(([, box]) => box.height < least || box.width < least)
          .map(([one, box]) => `${one.outerHTML.slice(0, 90)} ${box.width} x ${box.height}`)""",
        TARGET_PX,
    )
    return found


def test_usual_day_in_six_taps(phone_page: Page, axe: Callable[[Page], None]) -> None:
    page, day = phone_page, open_report(phone_page)
    axe(page)
    taps_of(page)
    page.get_by_role("button", name="All posts set").click()
    expect(page.locator("#posts")).to_contain_text("All 9 posts are set.")
    page.get_by_label("Bags used").click()
    page.keyboard.type("36")
    page.get_by_label("Air, °F").click()
    page.keyboard.type("52")
    page.get_by_label("Everyone stopped at").click(position={"x": 12, "y": 20})
    page.keyboard.type("0330p")
    page.get_by_label("Everyone's break").click()
    page.keyboard.type("30")
    taps = page.evaluate("window.taps")
    page.get_by_role("button", name="Save the report").last.click()
    expect(page.get_by_text("The report is saved.")).to_be_visible()

    assert taps + 1 == USUAL_TAPS
    report = day.report()
    assert (report.bags_used, report.air_f, report.mix) == (Decimal(36), 52.0, "standard")
    assert report.poured_at is not None
    assert PostRecord.objects.filter(set_at__isnull=False).count() == 9
    spans = HoursWorked.objects.values_list("started", "ended", "break_min")
    assert set(spans) == {(dt.time(7), dt.time(15, 30), 30)}
    assert len(spans) == 3
    finished = day.job.phases.filter(finished_on=day.date)
    assert {phase.kind for phase in finished} == {"dig", "set"}
    page.reload()
    expect(page.get_by_label("Bags used")).to_have_value("36")
    expect(page.get_by_role("textbox", name="To", exact=True).first).to_have_value("15:30")
    expect(page.get_by_label("Last pour")).to_have_value("15:00")
    axe(page)


def test_ticks_and_lines(phone_page: Page, axe: Callable[[Page], None]) -> None:
    page, day = phone_page, open_report(phone_page)
    for number in ("1", "2", "9", "2"):
        page.locator(f"label.post-tick:has(input[value='{number}'])").click()
    # "2 of 9" stood there after the second tick as well: the words of the last answer are awaited.
    expect(page.locator("#posts-state")).to_contain_text("2 of 9 set. Left: 2-8.")
    assert set(PostRecord.objects.exclude(set_at=None).values_list("number", flat=True)) == {1, 9}
    # Ticked a day later: set by the end of the crew's day, 7:00 and 8 h.
    expect(page.get_by_label("Last pour")).to_have_value("15:00")

    first, second = page.locator("[data-row]").nth(0), page.locator("[data-row]").nth(1)
    first.get_by_role("textbox", name="To", exact=True).fill("12:00")
    first.get_by_text("Work, or not here").click()
    first.get_by_role("combobox", name="Work", exact=True).select_option(label="Digging")
    second.get_by_text("Work, or not here").click()
    second.get_by_label("Not here").check()
    page.get_by_label("Everyone stopped at").fill("15:00")
    page.get_by_label("Everyone stopped at").blur()
    page.get_by_role("button", name="Add a line").click()
    added = page.locator('[data-rows="hours"] [data-row]').last
    expect(added.get_by_label("Who")).to_be_focused()
    added.get_by_label("Who").select_option(label="Ash Talbot")
    added.get_by_label("From").fill("12:30")
    added.get_by_role("textbox", name="To", exact=True).fill("15:00")
    axe(page)
    assert targets_too_small(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    save(page)

    spans = HoursWorked.objects.order_by("member__name", "started")
    assert [(row.member.name, f"{row.started:%H:%M}", f"{row.ended:%H:%M}") for row in spans] == [
        ("Ash Talbot", "07:00", "12:00"),
        ("Ash Talbot", "12:30", "15:00"),
        ("Cy Marrow", "07:00", "15:00"),
    ]
    assert day.report().poured_at is not None
    axe(page)


def test_rock_with_its_photos(
    phone_page: Page, axe: Callable[[Page], None], tmp_path: Path
) -> None:
    page, _ = phone_page, open_report(phone_page)
    page.locator("summary", has_text="Rock").click()
    page.get_by_role("textbox", name="Post", exact=True).fill("4")
    page.get_by_label("Depth").fill("20")
    page.get_by_label("Minutes").fill("40")
    page.get_by_label("They show").select_option(label="Rock")
    page.get_by_label("At post").fill("4")
    files = [tmp_path / "a.jpg", tmp_path / "b.jpg"]
    for wide, file in enumerate(files, start=64):
        file.write_bytes(gps_bytes(size=(wide, 48)))
    page.locator("[name=photos]").set_input_files(files)
    expect(page.locator("#photos-part")).to_contain_text("2 photos kept.")
    assert JobPhoto.objects.filter(post_number=4, subject="rock").count() == 2
    axe(page)
    save(page)
    row = PostRecord.objects.get(number=4)
    assert (row.met_rock, row.rock_depth_in, row.rock_min, row.set_at) == (True, 20.0, 40, None)
    expect(page.locator(".photo-list img")).to_have_count(2)
    assert targets_too_small(page) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_slip_is_told_and_a_lost_connection_loses_nothing(
    phone_page: Page, complaints: Complaints, axe: Callable[[Page], None], tmp_path: Path
) -> None:
    complaints.expect("422")
    complaints.expect("ERR_INTERNET_DISCONNECTED|ERR_FAILED")
    complaints.expect("htmx:(afterRequest|sendError)")
    page = phone_page
    open_report(page)
    page.get_by_label("Remarks").evaluate("(one) => { one.closest('details').open = true; }")
    page.get_by_label("Remarks").fill("Muddy")
    bad = tmp_path / "words.jpg"
    bad.write_bytes(b"no picture")
    page.locator("[name=photos]").set_input_files(bad)
    expect(page.locator("#photos-part")).to_contain_text("words.jpg is no JPEG or PNG picture.")
    expect(page.get_by_label("Remarks")).to_have_value("Muddy")

    page.context.set_offline(True)
    page.locator("label.post-tick:has(input[value='3'])").click()
    expect(page.get_by_text("Not sent: no connection.")).to_be_visible()
    # Saving stays on the page: a browser's own page about it would take what was typed.
    page.get_by_role("button", name="Save the report").last.click()
    expect(page.get_by_label("Remarks")).to_have_value("Muddy")
    page.context.set_offline(False)
    page.get_by_label("Bags used").fill("-4")
    page.get_by_role("button", name="Save the report").last.click()
    expect(page.get_by_label("Bags used")).to_have_attribute("aria-invalid", "true")
    expect(page.get_by_label("Remarks")).to_have_value("Muddy")
    axe(page)
    assert not DayReport.objects.exists()
    page.get_by_label("Bags used").fill("4")
    save(page)
    assert PostRecord.objects.get().number == 3


def test_slips_of_a_thumb_are_mended(
    phone_page: Page, complaints: Complaints, axe: Callable[[Page], None], tmp_path: Path
) -> None:
    complaints.expect("422")
    page, day = phone_page, open_report(phone_page)
    page.get_by_role("button", name="All posts set").click()
    page.get_by_role("button", name="Take these 9 ticks back").click()
    expect(page.locator("#posts-state")).to_contain_text("0 of 9 set.")
    expect(page.get_by_label("Last pour")).to_have_value("")

    sound = tmp_path / "hole.jpg"
    sound.write_bytes(gps_bytes())
    page.get_by_label("At post").fill("99")
    page.locator("[name=photos]").set_input_files(sound)
    expect(page.get_by_label("At post")).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#photos-part")).to_contain_text("There is no post 99")
    axe(page)
    page.get_by_label("At post").fill("4")

    # The hour alone: a browser would send it as nothing.
    page.get_by_role("textbox", name="To", exact=True).first.press("3")
    page.get_by_role("button", name="Save the report").last.click()
    end = page.get_by_role("textbox", name="To", exact=True).first
    expect(end).to_be_focused()
    assert end.evaluate("(one) => one.validity.badInput")
    assert not HoursWorked.objects.exists()
    end.fill("15:00")
    save(page)
    assert HoursWorked.objects.get().ended == dt.time(15)
    assert JobPhoto.objects.get(report=day.report()).post_number == 4


def test_page_that_lay_open_writes_over_nothing(phone_page: Page) -> None:
    page, day = phone_page, open_report(phone_page)
    mixed = DayEntry(mix="standard", remarks="Gate post moved\nby an inch", bags_used=Decimal(9))
    both = (span(day, 0, "07:00", "15:00"), span(day, 1, "07:00", "15:00", row=1))
    now = timezone.now()
    day.hands_in(day=mixed, hours=both, now=now)
    page.reload()
    # Meanwhile the office mends the remarks, and when the first went home.
    first, second = HoursWorked.objects.order_by("pk")
    shorter = span(day, 0, "07:00", "14:00", pk=first.pk)
    day.hands_in(day=replace(mixed, remarks="Gate post is right"), hours=(shorter,), now=now)

    page.get_by_label("Bags used").fill("10.5")
    page.get_by_role("textbox", name="To", exact=True).nth(1).fill("15:30")
    save(page)
    report = day.report()
    assert (report.bags_used, report.remarks) == (Decimal("10.5"), "Gate post is right")
    ends = HoursWorked.objects.order_by("pk").values_list("pk", "ended")
    assert list(ends) == [(first.pk, dt.time(14)), (second.pk, dt.time(15, 30))]


def test_ticks_of_another_phone_show_with_the_next_tick_and_stay(phone_page: Page) -> None:
    page, day = phone_page, open_report(phone_page)
    day.hands_in(posts=ticks(2), now=timezone.now())
    page.locator("label.post-tick:has(input[value='4'])").click()
    expect(page.locator("#posts-state")).to_contain_text("2 of 9 set.")
    expect(page.locator("[name=posts][value='2']")).to_be_checked()

    # A tick made and taken back before the first is answered stays taken back.
    fifth = page.locator("label.post-tick:has(input[value='5'])")
    fifth.dblclick()
    expect(page.locator("[name=posts][value='5']")).not_to_be_checked()
    page.wait_for_load_state("networkidle")
    save(page)
    assert set(PostRecord.objects.exclude(set_at=None).values_list("number", flat=True)) == {2, 4}


def test_no_label_of_a_line_of_rock_breaks_within_a_word_in_spanish(phone_page: Page) -> None:
    page, day = phone_page, open_report(phone_page)
    page.goto(f"{day.address}?lang=es")
    page.get_by_role("heading", name="Roca").click()
    labels = page.locator('[data-rows="rock"] .hours-grid label')
    expect(labels).to_have_count(3)
    heights = labels.evaluate_all("(all) => all.map((one) => one.getBoundingClientRect().height)")
    assert len(set(heights)) == 1
