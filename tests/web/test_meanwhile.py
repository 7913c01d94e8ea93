"""Two people have the same page open: what the one saved stands when the other saves later."""

import datetime as dt
from decimal import Decimal
from html import unescape

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from scheduling.models import (
    AirTemperature,
    Crew,
    CrewDay,
    FenceJob,
    LinePromise,
    PurchaseOrder,
    RainDay,
)
from scheduling.services.orders import send_order
from scheduling.services.receipts import Came, receive
from tests.buying_cast import make_suppliers
from tests.buying_steps import draft
from tests.crew_cast import make_full_job, put_on
from tests.factories import NOW, make_firm
from tests.web.forms_on_pages import forms_of

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)
Page = dict[str, list[str]]


def opened(client: Client, address: str, *, with_field: str) -> Page:
    """Return the form with a field as a browser that opens the page would send it."""
    return _form(client.get(address), with_field)  # type: ignore[arg-type]


def come_back(answer: HttpResponse, *, with_field: str, words: str) -> Page:
    """Return the form of a refused page, which says these words."""
    assert answer.status_code == 422
    assert words in unescape(answer.content.decode())
    return _form(answer, with_field)


def _form(answer: HttpResponse, with_field: str) -> Page:
    found = forms_of(answer.content.decode())
    return next(form.values for form in found if with_field in form.values)


def next_monday() -> dt.date:
    """Return the first Monday after this week: pages read the clock."""
    today = timezone.localdate()
    return today + (7 - today.weekday()) * DAY


def save(client: Client, address: str, page: Page, **typed: str | list[str]) -> HttpResponse:
    """Send a page with something typed into it."""
    values = {name: [one] if isinstance(one, str) else one for name, one in typed.items()}
    return client.post(address, page | values)  # type: ignore[return-value]


def of_both(first: Client, second: Client, address: str, *, with_field: str) -> tuple[Page, Page]:
    """Return the form as two people open it before either saves."""
    return (
        opened(first, address, with_field=with_field),
        opened(second, address, with_field=with_field),
    )


class TestABlock:
    @pytest.fixture
    def block(self, db: None) -> CrewDay:
        """Return the hanging of a settled job, on the Friday of next week."""
        make_firm()
        monday, crew = next_monday(), Crew.objects.create(name="North")
        job = make_full_job(1, on=monday)
        put_on(job, "layout", crew, monday, hours="1")
        put_on(job, "dig", crew, monday)
        put_on(job, "set", crew, monday + DAY, air_f=60)
        return put_on(job, "hang", crew, monday + 4 * DAY)

    def test_moved_by_another_stays_there_when_a_note_is_typed(
        self, as_office: Client, as_owner: Client, block: CrewDay
    ) -> None:
        where = reverse("crew_day", args=[block.pk])
        first, second = of_both(as_office, as_owner, where, with_field="note")
        later = block.date + 3 * DAY
        save(as_owner, where, second, date=later.isoformat(), hours="3.5")
        CrewDay.objects.update(is_pinned=False)

        answer = save(as_office, where, first, note="Bring the saw")

        assert answer.headers["Location"].endswith(f"?from={later.isoformat()}")
        block.refresh_from_db()
        assert (block.date, block.hours, block.note) == (later, Decimal("3.5"), "Bring the saw")
        assert not block.is_pinned
        week = unescape(as_office.get(answer.headers["Location"]).content.decode())
        assert "Changed meanwhile, and kept as it is now: Day, Hours of the day." in week

    def test_moved_by_both_is_told_at_the_day_and_moved_when_saved_again(
        self, as_office: Client, as_owner: Client, block: CrewDay
    ) -> None:
        where = reverse("crew_day", args=[block.pk])
        first, second = of_both(as_office, as_owner, where, with_field="note")
        later, last = block.date + 3 * DAY, block.date + 4 * DAY
        save(as_owner, where, second, date=later.isoformat(), note="Bring the saw")

        answer = save(as_office, where, first, date=last.isoformat(), hours="3")

        words = f"it now says '{later:%a %b} {later.day}, {later.year}'"
        again = come_back(answer, with_field="note", words=words)
        assert (again["date"], again["hours"]) == ([last.isoformat()], ["3"])
        assert again["note"] == ["Bring the saw"]
        block.refresh_from_db()
        assert (block.date, block.hours) == (later, Decimal(4))
        assert save(as_office, where, again).status_code == 302
        block.refresh_from_db()
        assert (block.date, block.hours, block.note) == (last, Decimal(3), "Bring the saw")


class TestPreparingAJob:
    @pytest.fixture
    def job(self, db: None) -> FenceJob:
        make_firm()
        return make_full_job(1, on=next_monday())

    def test_day_the_material_came_stays_when_a_note_is_typed(
        self, as_office: Client, as_owner: Client, job: FenceJob
    ) -> None:
        where, today = reverse("job_prepare", args=[job.pk]), timezone.localdate()
        phase = job.phases.get(kind="hang")
        came, needed = (f"phase-{phase.pk}-{name}" for name in ("received_on", "is_needed"))
        first, second = of_both(as_office, as_owner, where, with_field=came)
        save(as_owner, where, second, **{came: today.isoformat(), needed: "on"})

        answer = save(as_office, where, first, **{"crew-crew_note": "Ring at the gate"})

        assert answer.status_code == 302
        phase.refresh_from_db()
        job.refresh_from_db()
        assert (phase.material_received_on, phase.needs_material) == (today, True)
        assert job.crew_note == "Ring at the gate"

    def test_note_that_both_wrote_is_told_and_written_when_saved_again(
        self, as_office: Client, as_owner: Client, job: FenceJob
    ) -> None:
        where, note = reverse("job_prepare", args=[job.pk]), "crew-crew_note"
        first, second = of_both(as_office, as_owner, where, with_field=note)
        save(as_owner, where, second, **{note: "Dog in the yard", "crew-string_offset_in": "1/2"})

        typed = {note: "Ring at the gate", "crew-string_side": "right"}
        answer = save(as_office, where, first, **typed)

        again = come_back(answer, with_field=note, words="it now says 'Dog in the yard'")
        assert again[note] == ["Ring at the gate"]
        job.refresh_from_db()
        assert (job.crew_note, job.string_side) == ("Dog in the yard", "left")
        assert save(as_office, where, again).status_code == 302
        job.refresh_from_db()
        assert (job.crew_note, job.string_side) == ("Ring at the gate", "right")
        assert job.string_offset_in == 0.5


class TestACrew:
    @pytest.fixture
    def crew(self, db: None) -> Crew:
        return Crew.objects.create(name="North", hours_per_day=Decimal("7.5"))

    def test_hours_that_another_set_stay_when_a_day_is_ticked(
        self, as_office: Client, as_owner: Client, crew: Crew
    ) -> None:
        where = reverse("crew_edit", args=[crew.pk])
        first, second = of_both(as_office, as_owner, where, with_field="weekdays")
        save(as_owner, where, second, hours_per_day="9", day_start="06:30")

        answer = save(as_office, where, first, weekdays=[*first["weekdays"], "5"])

        assert answer.status_code == 302
        crew.refresh_from_db()
        assert (crew.hours_per_day, crew.weekdays) == (Decimal(9), "012345")
        assert crew.day_start == dt.time(6, 30)

    def test_days_that_both_ticked_are_told_and_kept_when_saved_again(
        self, as_office: Client, as_owner: Client, crew: Crew
    ) -> None:
        where = reverse("crew_edit", args=[crew.pk])
        first, second = of_both(as_office, as_owner, where, with_field="weekdays")
        save(as_owner, where, second, weekdays=["0", "1"], name="South", language="es")

        answer = save(as_office, where, first, weekdays=["2", "3"], hours_per_day="6")

        again = come_back(answer, with_field="weekdays", words="it now says 'Monday, Tuesday'")
        assert again["weekdays"] == ["2", "3"]
        crew.refresh_from_db()
        assert (crew.weekdays, crew.hours_per_day) == ("01", Decimal("7.5"))
        assert save(as_office, where, again).status_code == 302
        crew.refresh_from_db()
        assert (crew.weekdays, crew.hours_per_day) == ("23", Decimal(6))
        assert (crew.name, crew.language) == ("South", "es")


class TestPromisedDays:
    @pytest.fixture
    def order(self, db: None) -> PurchaseOrder:
        """Return a sent order of posts and rails, with no day promised."""
        make_firm()
        order = draft(make_suppliers()[0], post=10, rail=20)
        return send_order(order=order, to="", actor=None, now=timezone.now())

    def fields(self, order: PurchaseOrder) -> tuple[str, str]:
        """Return the names of the two lines' fields."""
        posts, rails = order.lines.order_by("item")
        return f"promise-{posts.pk}", f"promise-{rails.pk}"

    def promised(self) -> dict[str, dt.date]:
        return {row.line.item: row.promised_on for row in LinePromise.objects.all()}

    def test_that_another_wrote_stays_when_another_line_s_is_written(
        self, as_office: Client, as_owner: Client, order: PurchaseOrder
    ) -> None:
        where, send_to = f"/orders/{order.pk}/", f"/orders/{order.pk}/promises/"
        posts, rails = self.fields(order)
        first, second = of_both(as_office, as_owner, where, with_field=posts)
        monday = next_monday()
        save(as_owner, send_to, second, **{posts: monday.isoformat()})

        answer = save(as_office, send_to, first, **{rails: (monday + DAY).isoformat()})

        assert answer.status_code == 302
        assert self.promised() == {"post": monday, "rail": monday + DAY}

    def test_that_both_wrote_is_told_and_written_when_saved_again(
        self, as_office: Client, as_owner: Client, order: PurchaseOrder
    ) -> None:
        where, send_to = f"/orders/{order.pk}/", f"/orders/{order.pk}/promises/"
        posts, rails = self.fields(order)
        first, second = of_both(as_office, as_owner, where, with_field=posts)
        monday = next_monday()
        save(as_owner, send_to, second, **{posts: monday.isoformat()})

        typed = {posts: (monday + DAY).isoformat(), rails: (monday + 2 * DAY).isoformat()}
        answer = save(as_office, send_to, first, **typed)

        words = f"it now says '{monday:%a %b} {monday.day}, {monday.year}'"
        again = come_back(answer, with_field=posts, words=words)
        assert (again[posts], again[rails]) == ([typed[posts]], [typed[rails]])
        assert self.promised() == {"post": monday}
        assert save(as_office, send_to, again).status_code == 302
        assert self.promised() == {"post": monday + DAY, "rail": monday + 2 * DAY}

    def test_of_a_line_that_came_whole_stays(self, as_office: Client, order: PurchaseOrder) -> None:
        """The page no longer asks for it."""
        posts, rails = self.fields(order)
        line = order.lines.get(item="post")
        LinePromise.objects.create(line=line, promised_on=next_monday(), heard_at=NOW)
        now = timezone.now()
        receive(
            order=order,
            came={line.pk: Came(count=10, damaged=0)},
            received_on=timezone.localdate(now),
            actor=None,
            now=now,
        )
        page = opened(as_office, f"/orders/{order.pk}/", with_field=rails)
        assert posts not in page

        answer = save(as_office, f"/orders/{order.pk}/promises/", page)

        assert answer.status_code == 302
        assert self.promised() == {"post": next_monday()}


class TestTheWeather:
    def test_low_that_both_wrote_is_told_and_the_other_day_kept(
        self, as_office: Client, as_owner: Client
    ) -> None:
        make_firm()
        where, low, high = "/weather/?from=2026-05-01", "2026-05-02-low_f", "2026-05-02-high_f"
        first, second = of_both(as_office, as_owner, where, with_field=low)
        save(as_owner, where, second, **{low: "41", high: "63", "2026-05-05-rain_in": "0.4"})

        typed = {low: "38", high: "63", "2026-05-03-low_f": "50", "2026-05-03-high_f": "60"}
        answer = save(as_office, where, first, **typed)

        again = come_back(answer, with_field=low, words="it now says '41'")
        assert {name: again[name] for name in typed} == {
            name: [value] for name, value in typed.items()
        }
        assert self.written() == {2: (41, 63)}
        assert save(as_office, where, again).status_code == 302
        assert self.written() == {2: (38, 63), 3: (50, 60)}
        assert RainDay.objects.get().rain_in == 0.4

    def test_high_that_another_wrote_stays_when_the_low_is_typed(
        self, as_office: Client, as_owner: Client
    ) -> None:
        make_firm()
        where, low, high = "/weather/?from=2026-05-01", "2026-05-02-low_f", "2026-05-02-high_f"
        save(as_owner, where, opened(as_owner, where, with_field=low), **{low: "41", high: "63"})
        first, second = of_both(as_office, as_owner, where, with_field=low)
        save(as_owner, where, second, **{high: "70"})

        assert save(as_office, where, first, **{low: "38"}).status_code == 302
        assert self.written() == {2: (38, 70)}

    def written(self) -> dict[int, tuple[float, float]]:
        return {
            row.date.day: (row.low_f, row.high_f)
            for row in AirTemperature.objects.all()
            if row.date
        }
