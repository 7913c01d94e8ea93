"""Hours of people: what can't be right, whose cost is frozen, what is changed and taken away."""

import datetime as dt
from decimal import Decimal

import pytest

from firm.models import AuditEntry, FirmProfile, Role
from scheduling.models import CrewMember, HoursWorked
from scheduling.services.report_entries import HoursEntry, ReportRefused
from tests.cast import make_person
from tests.report_cast import EVENING, Day, make_crew, make_day, span

pytestmark = pytest.mark.django_db


@pytest.fixture
def day() -> Day:
    return make_day()


def refused(day: Day, *entries: HoursEntry, now: dt.datetime = EVENING) -> list[tuple[str, str]]:
    with pytest.raises(ReportRefused) as refusal:
        day.hands_in(hours=entries, now=now)
    return [(fault.field, fault.message) for fault in refusal.value.faults]


def test_cost_is_the_persons_own_or_the_firms_and_stays_as_it_was(day: Day) -> None:
    day.hands_in(
        hours=(span(day, 0, "07:00", "15:30", break_min=30), span(day, 1, "07:00", "12:00"))
    )
    CrewMember.objects.update(hourly_cost=Decimal("99.00"))
    FirmProfile.objects.update(crew_rate=Decimal("99.00"))
    ash, bo = HoursWorked.objects.order_by("member__name")
    # 7:00 to 15:30 less half an hour: 8 h.
    assert (ash.worked_min, ash.hourly_cost) == (480, Decimal("41.50"))
    assert (bo.worked_min, bo.hourly_cost) == (300, Decimal("62.00"))
    day.hands_in(hours=(span(day, 0, "07:00", "16:00", pk=ash.pk),))
    ash.refresh_from_db()
    assert (ash.worked_min, ash.hourly_cost) == (540, Decimal("41.50"))
    day.hands_in(hours=(span(day, 2, "07:00", "16:00", pk=ash.pk),))
    ash.refresh_from_db()
    assert (ash.member.name, ash.hourly_cost) == ("Cy Marrow", Decimal("99.00"))


@pytest.mark.parametrize(
    ("start", "end", "break_min", "field", "words"),
    [
        ("15:00", "07:00", 0, "ended", "The end must come after 15:00"),
        ("07:00", "07:00", 0, "ended", "The end must come after 07:00"),
        ("07:00", "08:00", 60, "break_min", "as long as the 60 min"),
        ("07:00", "08:00", 1440, "break_min", "as long as the 60 min"),
        # It is 17:00; a quarter of an hour ahead is rounding.
        ("07:00", "17:16", 0, "ended", "It is 17:00 now"),
    ],
)
def test_spans_that_can_not_be_are_refused_at_their_field(
    day: Day, start: str, end: str, break_min: int, field: str, words: str
) -> None:
    (fault,) = refused(day, span(day, 0, start, end, break_min=break_min, row=2))
    assert fault[0] == f"hours-2-{field}"
    assert words in fault[1]
    assert not HoursWorked.objects.exists()


def test_a_quarter_ahead_and_a_break_shorter_than_its_span_pass(day: Day) -> None:
    day.hands_in(hours=(span(day, 0, "07:00", "17:15", break_min=614),))
    assert HoursWorked.objects.get().worked_min == 1


def test_overlap_in_one_page_is_named_at_the_later_line(day: Day) -> None:
    spans = (span(day, 0, "07:00", "12:00"), span(day, 0, "11:59", "15:00", row=1))
    assert refused(day, *spans) == [
        ("hours-1-started", "This lies over 07:00 to 12:00, in another line here.")
    ]
    # Two people at once, and one span beginning where the other ends, are as it should be.
    day.hands_in(
        hours=(
            span(day, 0, "07:00", "12:00"),
            span(day, 0, "12:00", "15:00", row=1),
            span(day, 1, "07:00", "15:00", row=2),
        )
    )
    assert HoursWorked.objects.count() == 3


def test_overlap_with_another_job_names_it(day: Day) -> None:
    other = make_day(number=1002)
    other.hands_in(hours=(span(other, 0, "07:00", "11:00"),))
    assert refused(day, span(day, 0, "10:00", "15:00")) == [
        ("hours-0-started", "This lies over 07:00 to 11:00, at Job 1002.")
    ]
    assert refused(day, span(day, 0, "06:00", "08:00")) == [
        ("hours-0-started", "This lies over 07:00 to 11:00, at Job 1002.")
    ]
    day.hands_in(hours=(span(day, 0, "11:00", "15:00"),))


def test_person_with_a_log_in_is_one_person_in_two_crews() -> None:
    lead = make_person(Role.CREW_LEAD)
    north = make_day(lead)
    south = Day(job=north.job, crew=make_crew("South crew", lead=lead), members=())
    south = Day(job=south.job, crew=south.crew, members=tuple(south.crew.members.all()))
    north.hands_in(hours=(span(north, 2, "07:00", "11:00"),))
    (fault,) = refused(south, span(south, 2, "10:00", "12:00"))
    assert fault[1] == "This lies over 07:00 to 11:00, at Job 1001."


def test_kept_line_that_is_not_on_the_page_still_bars_an_overlap(day: Day) -> None:
    day.hands_in(hours=(span(day, 0, "07:00", "12:00"),))
    (fault,) = refused(day, span(day, 0, "08:00", "09:00"))
    assert "07:00 to 12:00" in fault[1]
    kept = HoursWorked.objects.get()
    day.hands_in(hours=(span(day, 0, "08:00", "09:00"),), hours_removed=frozenset({kept.pk}))
    assert HoursWorked.objects.get().worked_min == 60


def test_same_span_sent_twice_is_one_line(day: Day) -> None:
    for break_min in (0, 30):
        day.hands_in(hours=(span(day, 0, "07:00", "15:00", break_min=break_min),))
    assert HoursWorked.objects.get().break_min == 30


def test_line_taken_away_is_kept_in_the_record_and_gone_only_once(day: Day) -> None:
    day.hands_in(hours=(span(day, 0, "07:00", "15:00"),))
    row = HoursWorked.objects.get()
    for _ in range(2):
        day.hands_in(hours_removed=frozenset({row.pk}))
    assert not HoursWorked.objects.exists()
    entry = AuditEntry.objects.get(action="removed hours")
    assert (entry.before["started"], entry.before["hourly_cost"]) == ("07:00:00", "41.50")


def test_line_of_another_report_or_crew_is_refused(day: Day) -> None:
    other = make_day(number=1002)
    other.hands_in(hours=(span(other, 0, "07:00", "08:00"),))
    row = HoursWorked.objects.get()
    (fault,) = refused(day, span(day, 1, "09:00", "10:00", pk=row.pk))
    assert fault == ("hours-0-member", "Somebody removed this line meanwhile.")
    day.hands_in(hours_removed=frozenset({row.pk}))
    assert HoursWorked.objects.get() == row
    stranger = make_crew("South crew").members.all()[0]
    entry = HoursEntry(row=0, member=stranger.pk, started=dt.time(9), ended=dt.time(10))
    assert refused(day, entry)[0][1] == "This person does not belong to the crew."
