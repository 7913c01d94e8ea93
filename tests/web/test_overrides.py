"""Placing a block against a rule, on the pages: the owner may, the office is told whom to ask."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from scheduling.models import Crew, CrewDay, FenceJob
from tests.crew_cast import make_full_job, put_on
from tests.factories import make_firm

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def next_monday() -> dt.date:
    """Return the first Monday after this week: pages read the clock."""
    today = timezone.localdate()
    return today + (7 - today.weekday()) * DAY


@pytest.fixture
def job(db: None) -> FenceJob:
    """Return a settled job, laid out and dug on Monday, set on Tuesday and hung on Friday."""
    make_firm()
    crew = Crew.objects.create(name="North")
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
    return client.get(reverse("week"), asked).content.decode()


class TestPlacingAgainstARule:
    def values(self, block: CrewDay, **changes: str) -> dict[str, str]:
        wednesday = (next_monday() + 2 * DAY).isoformat()
        return {
            "crew": str(block.crew_id),
            "date": wednesday,
            "hours": "4",
            "start": "",
            "note": "Kept",
        } | changes

    def test_is_offered_to_the_owner_and_shown_afterwards(
        self, as_owner: Client, job: FenceJob
    ) -> None:
        block = block_of(job, "hang")
        where = reverse("crew_day", args=[block.pk])
        html = as_owner.post(where, self.values(block)).content.decode()
        assert "Override and place it" in html
        # Not optional: without it the override is refused.
        assert "Why all the same</label>" in html
        empty = as_owner.post(where, self.values(block, override="yes"))
        assert empty.status_code == 422
        assert "Say why it is placed against the rule." in empty.content.decode()
        assert 'value="Kept"' in empty.content.decode()
        # What the owner would answer for goes on standing there.
        assert "hanging on" in empty.content.decode()
        assert "comes too early" in empty.content.decode()
        for refused in ({"override_note": "Braced <b>well</b>"}, {"hours": "x"}):
            sent = {"override": "yes", "override_note": "Braced both ways"} | refused
            html = as_owner.post(where, self.values(block, **sent)).content.decode()
            assert "Override and place it" in html
            assert escape(sent["override_note"]) in html
            assert "tags such as" in html or "override_note" not in refused
        why = {"override": "yes", "override_note": "Braced both ways"}
        assert as_owner.post(where, self.values(block, **why)).status_code == 302
        assert block_of(job, "hang").override_note == "Braced both ways"
        pages = (
            week_html(as_owner, **{"from": next_monday().isoformat()}),
            as_owner.get(where).content.decode(),
            as_owner.get(reverse("job", args=[job.pk])).content.decode(),
        )
        assert all("Braced both ways" in page for page in pages)
        month = as_owner.get(reverse("month"), {"month": f"{block_of(job, 'hang').date:%Y-%m}"})
        timeline = as_owner.get(reverse("job_timeline", args=[job.pk]))
        assert "against a rule" in month.content.decode()
        assert "placed against a rule" in timeline.content.decode()
        assert "comes too early" in pages[1]
        assert "The plan no longer holds" not in pages[2]

    def test_is_not_offered_to_the_office_nor_given_to_it(
        self, as_office: Client, job: FenceJob
    ) -> None:
        block = block_of(job, "hang")
        why = {"override": "yes", "override_note": "Braced both ways"}
        for sent in ({}, why):
            answer = as_office.post(
                reverse("crew_day", args=[block.pk]), self.values(block, **sent)
            )
            html = answer.content.decode()
            assert answer.status_code == 422
            assert "Override and place it" not in html
        assert "Only the owner may override this." in html
        assert block_of(job, "hang").date == block.date

    def test_is_offered_where_a_day_is_added(self, as_owner: Client, job: FenceJob) -> None:
        values = self.values(block_of(job, "hang"))
        values["phase"] = str(job.phases.get(kind="hang").pk)
        where = reverse("crew_day_add", args=[job.pk])
        assert "Override and place it" in as_owner.post(where, values).content.decode()
        why = {"override": "yes", "override_note": "Braced both ways"}
        assert as_owner.post(where, values | why).status_code == 302
        assert CrewDay.objects.filter(override_note="Braced both ways").count() == 1


def test_a_move_on_the_week_tells_the_owner_how_it_may_stand_all_the_same(
    as_owner: Client, job: FenceJob
) -> None:
    block = block_of(job, "hang")
    sent = {"date": (next_monday() + 2 * DAY).isoformat()}
    answer = as_owner.post(
        reverse("crew_day_move", args=[block.pk]), sent, headers={"X-Requested-With": "fetch"}
    )
    assert answer.status_code == 422
    said = answer.content.decode()
    assert "comes too early. As planned, posts are set Tue 11:00" in said
    assert said.endswith("open the block, give it that day and say why.")
