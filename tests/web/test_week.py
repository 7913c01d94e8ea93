"""The week's page and the pages that move work on it by hand."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firm.models import AuditEntry
from scheduling.models import Crew, CrewDay, CrewDaysOff, FenceJob
from tests.crew_cast import make_full_job, put_on
from tests.factories import make_firm
from tests.job_cast import make_fence_job

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def next_monday() -> dt.date:
    """Return the first Monday after this week: pages read the clock."""
    today = timezone.localdate()
    return today + (7 - today.weekday()) * DAY


@pytest.fixture
def crew(db: None) -> Crew:
    make_firm()
    return Crew.objects.create(name="North")


@pytest.fixture
def job(crew: Crew) -> FenceJob:
    """Return a settled job, laid out and dug on Monday, set on Tuesday and hung on Friday."""
    monday = next_monday()
    job = make_full_job(1, on=monday)
    put_on(job, "layout", crew, monday, hours="1")
    put_on(job, "dig", crew, monday, hours="4")
    put_on(job, "set", crew, monday + DAY, hours="4", air_f=60)
    put_on(job, "hang", crew, monday + 4 * DAY, hours="4")
    return job


def block_of(job: FenceJob, kind: str) -> CrewDay:
    return CrewDay.objects.get(job=job, phase__kind=kind)


def week_html(client: Client, **asked: str) -> str:
    answer = client.get(reverse("week"), asked)
    assert answer.status_code == 200
    return answer.content.decode()


class TestTheWeek:
    def test_shows_blocks_hours_and_hatched_waits(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "dig")
        block.is_pinned, block.note = True, "Dog in the yard"
        block.save()
        html = week_html(as_office, **{"from": next_monday().isoformat()})
        for words in ("Customer 1", "Digging, 4 h", "5 of 8 h", "fixed", "Dog in the yard"):
            assert words in html
        # 60 F, standard mix: 48 h after Tuesday 11:00 (trade handbook, section 8).
        assert "panels from Thu 11:00" in html
        assert 'fill="url(#cure-hatch)"' in html
        assert "The concrete hardens." in html
        assert "$" not in html

    def test_shows_days_off(self, as_office: Client, crew: Crew) -> None:
        day = next_monday() + 2 * DAY
        CrewDaysOff.objects.create(crew=crew, first_day=day, last_day=day, reason="Training")
        assert "Off: Training" in week_html(as_office, week=f"{day:%G-W%V}")

    def test_leads_to_the_weeks_beside_it(self, as_office: Client, crew: Crew) -> None:
        # January 1, 2027 is a Friday and lies in week 53 of 2026 (ISO 8601).
        html = week_html(as_office, **{"from": "2027-01-01"})
        assert "Dec 28 to Jan 3, 2027" in html
        assert 'href="?week=2026-W52"' in html
        assert 'href="?week=2027-W01"' in html
        assert "Dec 28 to Jan 3, 2027" in week_html(as_office, week="2026-W53")

    def test_marks_today(self, as_office: Client, crew: Crew) -> None:
        assert 'class="today"' in week_html(as_office)
        assert 'class="today"' not in week_html(as_office, **{"from": next_monday().isoformat()})

    @pytest.mark.parametrize(
        "asked",
        [
            {"week": "2026-W54"},
            {"week": "2026-23"},
            {"week": "x"},
            {"from": "2026-02-30"},
            {"from": "0001-01-01"},
            {"week": "9999-W52"},
        ],
    )
    def test_that_the_calendar_lacks_is_no_page(
        self, as_office: Client, asked: dict[str, str]
    ) -> None:
        assert as_office.get(reverse("week"), asked).status_code == 404

    def test_without_crews_says_how_to_begin(self, as_office: Client) -> None:
        make_firm()
        assert reverse("crew_new") in week_html(as_office)

    def test_lists_jobs_without_days(self, as_office: Client, crew: Crew) -> None:
        job = make_full_job(7, on=next_monday())
        html = week_html(as_office)
        assert "Customer 7" in html
        assert reverse("week_place", args=[job.pk]) in html
        assert reverse("crew_day_add", args=[job.pk]) in html

    def test_asks_the_same_of_the_database_with_one_job_and_with_twenty(
        self, as_office: Client, job: FenceJob
    ) -> None:
        asked = {"from": next_monday().isoformat()}
        make_full_job(100, on=next_monday())
        week_html(as_office, **asked)
        with CaptureQueriesContext(connection) as one:
            week_html(as_office, **asked)
        for number in range(2, 21):
            more, crew = (
                make_full_job(number, on=next_monday()),
                Crew.objects.create(name=f"C{number}"),
            )
            for kind, day in (("layout", 0), ("dig", 0), ("set", 1)):
                put_on(more, kind, crew, next_monday() + day * DAY)
            make_full_job(100 + number, on=next_monday())
        with CaptureQueriesContext(connection) as twenty:
            week_html(as_office, **asked)
        assert len(twenty) == len(one)


class TestABlockMovedByHand:
    def values(self, block: CrewDay, **changes: str) -> dict[str, str]:
        """Return what the block's form sends."""
        return {
            "crew": str(block.crew_id),
            "date": block.date.isoformat(),
            "hours": str(block.hours),
            "start": "",
            "air_f": "" if block.air_f is None else str(block.air_f),
            "note": "",
        } | changes

    def test_stands_on_its_new_day_and_is_fixed(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "hang")
        values = self.values(block, date=(block.date + 3 * DAY).isoformat(), note="Bring the saw")
        answer = as_office.post(reverse("crew_day", args=[block.pk]), values)
        moved = block_of(job, "hang")
        assert answer.status_code == 302
        assert answer.headers["Location"].endswith(f"?from={moved.date.isoformat()}")
        assert moved.date == block.date + 3 * DAY
        assert (moved.is_pinned, moved.note) == (True, "Bring the saw")

    def test_is_refused_with_the_reason_and_everything_typed(
        self, as_office: Client, job: FenceJob
    ) -> None:
        block = block_of(job, "hang")
        before = AuditEntry.objects.count()
        wednesday = next_monday() + 2 * DAY
        values = self.values(block, date=wednesday.isoformat(), hours="3.5", note="Bring the saw")
        answer = as_office.post(reverse("crew_day", args=[block.pk]), values)
        html = answer.content.decode()
        assert answer.status_code == 422
        assert "comes too early" in html
        assert "Panels from Thursday 11:00" in html
        assert "table says 48 h at 60 F" in html
        for kept in (f'value="{wednesday.isoformat()}"', 'value="3.5"', 'value="Bring the saw"'):
            assert kept in html
        stands = block_of(job, "hang")
        assert (stands.date, stands.hours, stands.note) == (block.date, Decimal(4), "")
        assert AuditEntry.objects.count() == before

    @pytest.mark.parametrize(
        ("changes", "words"),
        [
            ({"hours": "25"}, "less than or equal to 24"),
            ({"hours": "0"}, "greater than or equal to 0.25"),
            ({"hours": "many"}, "Enter a number."),
            ({"date": "2026-02-30"}, "Enter a valid date."),
            ({"start": "25:00"}, "Enter a valid time."),
            ({"date": "2020-01-01"}, "That day is over"),
            ({"crew": "987654"}, "Select a valid choice"),
        ],
    )
    def test_says_what_is_wrong_with_a_slip(
        self, as_office: Client, job: FenceJob, changes: dict[str, str], words: str
    ) -> None:
        block = block_of(job, "hang")
        values = self.values(block, note="Kept") | changes
        answer = as_office.post(reverse("crew_day", args=[block.pk]), values)
        html = answer.content.decode()
        assert answer.status_code == 422
        assert words in html
        assert 'value="Kept"' in html
        assert block_of(job, "hang").date == block.date

    def test_asks_for_the_air_only_where_posts_are_set(
        self, as_office: Client, job: FenceJob
    ) -> None:
        pages = {
            kind: as_office.get(reverse("crew_day", args=[block_of(job, kind).pk])).content.decode()
            for kind in ("set", "hang")
        }
        assert "Air temperature, \N{DEGREE SIGN}F" in pages["set"]
        assert "Air temperature, \N{DEGREE SIGN}F" not in pages["hang"]

    def test_note_alone_fixes_nothing(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "hang")
        values = self.values(block, note="Ring first")
        as_office.post(reverse("crew_day", args=[block.pk]), values)
        kept = block_of(job, "hang")
        assert (kept.note, kept.is_pinned) == ("Ring first", False)


class TestTheTwoButtons:
    def test_move_a_block_to_the_day_they_name(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "hang")
        later = block.date + 3 * DAY
        html = week_html(as_office, **{"from": block.date.isoformat()})
        assert f'name="date" value="{later.isoformat()}"' in html
        answer = as_office.post(
            reverse("crew_day_move", args=[block.pk]), {"date": later.isoformat()}
        )
        assert answer.status_code == 302
        moved = block_of(job, "hang")
        assert (moved.date, moved.hours) == (later, block.hours)

    def test_refused_show_the_blocks_page_with_the_day_asked_for(
        self, as_office: Client, job: FenceJob
    ) -> None:
        block = block_of(job, "hang")
        asked = (next_monday() + 2 * DAY).isoformat()
        answer = as_office.post(reverse("crew_day_move", args=[block.pk]), {"date": asked})
        html = answer.content.decode()
        assert answer.status_code == 422
        assert "comes too early" in html
        assert f'value="{asked}"' in html
        assert block_of(job, "hang").date == block.date

    def test_tell_a_script_the_reason_alone(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "hang")
        send = fetching(as_office, block)
        refused = send(date=(next_monday() + 2 * DAY).isoformat())
        assert refused.status_code == 422
        assert refused.headers["Content-Type"] == "text/plain"
        assert "Panels from Thursday 11:00" in refused.content.decode()
        assert refused.content.decode().endswith(" The owner may override this with a note.")
        assert send(date="someday").content.decode() == "Enter a valid date."
        assert send(date=(block.date + 3 * DAY).isoformat()).status_code == 204

    def test_dragged_to_another_crew_it_changes_its_crew(
        self, as_office: Client, job: FenceJob
    ) -> None:
        other = Crew.objects.create(name="South")
        block = block_of(job, "hang")
        answer = fetching(as_office, block)(date=block.date.isoformat(), crew=str(other.pk))
        assert answer.status_code == 204
        assert block_of(job, "hang").crew == other


class TestABlockThatIsGone:
    """An old page of the week or of the block still shows it after a plan was taken."""

    @pytest.mark.parametrize("name", ["crew_day_move", "crew_day", "crew_day_drop"])
    def test_is_told_on_the_week_asked_for(
        self, as_office: Client, job: FenceJob, name: str
    ) -> None:
        block, later = block_of(job, "hang"), next_monday() + 7 * DAY
        CrewDay.objects.filter(pk=block.pk).delete()
        asked = {} if name == "crew_day_drop" else {"date": later.isoformat()}
        answer = as_office.post(reverse(name, args=[block.pk]), asked)
        assert answer.status_code == 302
        week = as_office.get(answer.headers["Location"])
        assert "This block is gone from the calendar" in week.content.decode()
        assert (f"from={later}" in answer.headers["Location"]) == bool(asked)

    def test_is_told_to_a_script_as_text(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "hang")
        CrewDay.objects.filter(pk=block.pk).delete()
        answer = fetching(as_office, block)(date=next_monday().isoformat())
        assert answer.status_code == 422
        assert answer.content.decode().startswith("This block is gone from the calendar")

    def test_has_no_page_of_its_own(self, as_office: Client, job: FenceJob) -> None:
        block = block_of(job, "hang")
        CrewDay.objects.filter(pk=block.pk).delete()
        assert as_office.get(reverse("crew_day", args=[block.pk])).status_code == 404


def fetching(client: Client, block: CrewDay) -> Callable[..., HttpResponse]:
    """Return what the page's script does with a block."""

    def send(**values: str) -> HttpResponse:
        address = reverse("crew_day_move", args=[block.pk])
        return client.post(address, values, headers={"X-Requested-With": "fetch"})  # type: ignore[return-value]

    return send


def test_block_is_taken_off_the_calendar(as_office: Client, job: FenceJob) -> None:
    block = block_of(job, "hang")
    answer = as_office.post(reverse("crew_day_drop", args=[block.pk]))
    assert answer.status_code == 302
    assert not CrewDay.objects.filter(pk=block.pk).exists()


def test_block_that_later_phases_stand_on_stays(as_office: Client, job: FenceJob) -> None:
    block = block_of(job, "dig")
    answer = as_office.post(reverse("crew_day_drop", args=[block.pk]), follow=True)
    assert "digging is not on the calendar" in answer.content.decode()
    assert CrewDay.objects.filter(pk=block.pk).exists()


def test_phase_is_put_on_a_day_by_hand(as_office: Client, job: FenceJob, crew: Crew) -> None:
    address = reverse("crew_day_add", args=[job.pk])
    assert as_office.get(address).status_code == 200
    gates = job.phases.get(kind="gates")
    values = {
        "phase": str(gates.pk),
        "crew": str(crew.pk),
        "date": (next_monday() + 3 * DAY).isoformat(),
        "hours": "1.5",
        "note": "Two hinges",
    }
    # 60 F: gates wait 108.25 h after Tuesday 11:00, to Saturday 23:15.
    refused = as_office.post(address, values)
    assert refused.status_code == 422
    assert "Gates from Saturday 23:15" in refused.content.decode()
    assert 'value="Two hinges"' in refused.content.decode()
    assert not CrewDay.objects.filter(phase=gates).exists()

    taken = as_office.post(address, values | {"date": (next_monday() + 7 * DAY).isoformat()})
    assert taken.status_code == 302
    added = CrewDay.objects.get(phase=gates)
    assert (added.hours, added.note, added.is_pinned) == (Decimal("1.5"), "Two hinges", True)


class TestPlacing:
    def test_gives_a_job_its_days_and_shows_the_week_of_the_first(
        self, as_office: Client, crew: Crew
    ) -> None:
        job = make_full_job(7, on=timezone.localdate())
        answer = as_office.post(reverse("week_place", args=[job.pk]), follow=True)
        first = CrewDay.objects.filter(job=job).order_by("date")[0]
        assert set(CrewDay.objects.values_list("phase__kind", flat=True)) >= {"dig", "set", "hang"}
        assert answer.redirect_chain[-1][0] == f"{reverse('week')}?from={first.date.isoformat()}"
        assert f"{job} is placed from" in answer.content.decode()

    def test_says_what_a_job_waits_for_and_comes_back_to_the_week(
        self, as_office: Client, crew: Crew
    ) -> None:
        job = make_fence_job(number=8)
        address = reverse("week_place", args=[job.pk])
        answer = as_office.post(address, {"from": "2026-06-03"}, follow=True)
        html = answer.content.decode()
        assert f"{job} is not placed." in html
        assert "Deposit: not asked for yet." in html
        assert "Jun 1 to Jun 7, 2026" in html
        assert not CrewDay.objects.exists()

    def test_of_all_jobs_counts_those_placed_and_says_why_others_are_not(
        self, as_office: Client, crew: Crew
    ) -> None:
        make_full_job(7, on=timezone.localdate())
        waits = [make_fence_job(number=20 + number) for number in range(7)]
        answer = as_office.post(reverse("week_place_all"), {"from": "x"}, follow=True)
        html = answer.content.decode()
        assert "1 job has its days on the calendar." in html
        assert f"{waits[0]} is not placed." in html
        assert f"{waits[5]} is not placed." not in html
        assert "2 more wait" in html

    def test_of_no_job_says_so(self, as_office: Client, crew: Crew) -> None:
        answer = as_office.post(reverse("week_place_all"), follow=True)
        assert "No job is to be placed." in answer.content.decode()
