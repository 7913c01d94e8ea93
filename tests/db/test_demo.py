"""The demo firm: whole, invented, and loaded once."""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import Client, override_settings
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from estimating.models import Estimate, FenceSystem, Proposal
from estimating.selectors.invoices import contract_of
from estimating.selectors.price_book import listed_prices
from estimating.services import proposal_pdf
from estimating.services.demo import DemoLogIn, load_demo
from firm.errors import Refusal
from firm.models import AuditEntry, FirmProfile, JobSite, OutgoingMail, Role, User
from firm.pdf import render_pdf
from scheduling.engine.breaches import Rule
from scheduling.engine.crew_days import find_violations
from scheduling.engine.driving import Place, straight_mi
from scheduling.models import (
    AirTemperature,
    CrewMember,
    FenceJob,
    MemberTimeOff,
    PlanChange,
    RainDay,
    SkillAsked,
)
from scheduling.selectors.margin import job_margin
from scheduling.selectors.planning import standing_plan
from scheduling.services.demo_days import working_day_before
from scheduling.services.placing import place_job
from tests.cast import NOW, make_firm

pytestmark = pytest.mark.django_db
QUICK_HASHER = "django.contrib.auth.hashers.MD5PasswordHasher"


@pytest.fixture(scope="module", autouse=True)
def _one_pdf_for_all() -> Iterator[None]:
    # Printing is tested with the proposals; here the first PDF stands for the ten others.
    printed: list[bytes] = []

    def print_once(html: str) -> bytes:
        if not printed:
            printed.append(render_pdf(html))
        return printed[0]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(proposal_pdf, "render_pdf", print_once)
        yield


@pytest.fixture(scope="class")
def log_ins(
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[list[DemoLogIn]]:
    """Load the demo once for all tests of a class; each test's own changes are taken back."""
    media = tmp_path_factory.mktemp("media")
    with django_db_blocker.unblock(), transaction.atomic():
        with override_settings(MEDIA_ROOT=media, PASSWORD_HASHERS=[QUICK_HASHER]):
            loaded = load_demo(now=NOW)
        yield loaded
        transaction.set_rollback(True)


class TestTheDemoFirm:
    def test_shows_every_state_of_the_work(self, log_ins: list[DemoLogIn]) -> None:
        states = set(Proposal.objects.values_list("state", flat=True))
        assert states == {"draft", "sent", "accepted", "declined"}
        assert all(estimate.price > 0 for estimate in Estimate.objects.all())
        # One estimate is there to show what a broken rule looks like: 6 ft in a front yard.
        assert Estimate.objects.filter(title="Front garden").exists()
        assert len(listed_prices(today=NOW.date(), only_stale=True)) == 3
        assert set(User.objects.values_list("role", flat=True)) == set(Role.values)

    def test_lets_its_people_in_by_passwords_that_differ(self, log_ins: list[DemoLogIn]) -> None:
        for log_in in log_ins:
            assert Client().login(username=log_in.username, password=log_in.password)
        assert len({log_in.password for log_in in log_ins}) == 3

    def test_sends_mail_to_reserved_names_only(self, log_ins: list[DemoLogIn]) -> None:
        assert OutgoingMail.objects.exists()
        # RFC 2606: nobody can ever own example.com or a name under .example.
        for to in OutgoingMail.objects.values_list("to", flat=True):
            assert to.endswith(("@example.com", ".example"))

    def test_shows_what_people_can_do_and_when_they_are_off(self, log_ins: list[DemoLogIn]) -> None:
        assert {row.phase for row in SkillAsked.objects.all()} == {"dig", "removal"}
        assert CrewMember.objects.filter(skills__isnull=False).count() == 2
        assert MemberTimeOff.objects.get().first_day > timezone.localdate(NOW)
        assert FirmProfile.objects.get().holiday_country == "US"

    def test_lies_somewhere_and_has_its_weather(self, log_ins: list[DemoLogIn]) -> None:
        yard = _at(*FirmProfile.objects.get().yard)
        for site in JobSite.objects.all():
            # In town within two miles of the yard, the other town nine miles off.
            away_mi = straight_mi(yard, _at(*site.place))
            assert away_mi < 2 if site.city == "Harrow Falls" else 8 < away_mi < 12
        assert AirTemperature.objects.filter(month=None).count() == 10
        # Beyond the forecast the usual air of the month counts.
        assert AirTemperature.objects.filter(date=None).count() == 12
        told = PlanChange.objects.filter(cause="rain", seen_at=None)
        assert told.filter(job=_job_of("Dario")).exists()

    def test_loads_from_its_yard_for_a_job_whose_costs_show_it(
        self, log_ins: list[DemoLogIn]
    ) -> None:
        job = _job_of("Dario")
        loaded = job.costs.filter(stock_move__isnull=False)
        # 79 rails at 21.50 and 76 channels at 5.60, as the price book of the starter set says.
        assert {row.description.split()[0]: row.amount for row in loaded} == {
            "79": Decimal("1698.50"),
            "76": Decimal("425.60"),
        }
        assert {row.spent_on for row in loaded} == {working_day_before(NOW.date(), 1)}
        owner = Client()
        owner.force_login(User.objects.get(role=Role.OWNER))
        page = owner.get(reverse("job_costs", args=[job.pk])).content.decode()
        assert page.count(", from the yard</a>") == 2
        assert page.count('data-label="From whom">the yard</td>') == 2
        for amount in ("425.60", "1,698.50"):
            assert amount in page
        row = job_margin(job.pk, now=NOW)
        assert row is not None
        (material,) = (one.cost for one in row.margin.kinds if one.key == "material")
        assert material.actual == Decimal("2124.10")

    def test_leaves_its_record_in_the_past(self, log_ins: list[DemoLogIn]) -> None:
        assert AuditEntry.objects.exists()
        newest = AuditEntry.objects.values_list("at", flat=True)[0]
        assert newest <= NOW + dt.timedelta(minutes=1)


def test_second_loading_does_nothing_and_says_so() -> None:
    call_command("load_demo", stdout=StringIO())
    before = User.objects.count(), Estimate.objects.count()
    answer = StringIO()
    call_command("load_demo", stdout=answer)
    assert "set up here already" in answer.getvalue()
    assert (User.objects.count(), Estimate.objects.count()) == before


def test_demo_is_never_loaded_over_a_firm() -> None:
    make_firm()
    with pytest.raises(Refusal, match="set up here already"):
        load_demo(now=NOW)
    assert not FenceSystem.objects.exists()


# A Friday to the Thursday after; after the turn of the year; the Sunday the clocks go forward, and
# the hour before midnight, when London already has tomorrow.
MORNINGS = [
    *(dt.datetime(2026, 6, day, 12, 0, tzinfo=dt.UTC) for day in range(5, 12)),
    dt.datetime(2027, 1, 2, 14, 0, tzinfo=dt.UTC),
    dt.datetime(2027, 3, 14, 14, 0, tzinfo=dt.UTC),
    dt.datetime(2026, 11, 26, 3, 30, tzinfo=dt.UTC),
]


@pytest.mark.parametrize(
    "now",
    [
        MORNINGS[0],
        *(pytest.param(now, marks=[pytest.mark.slow, pytest.mark.once]) for now in MORNINGS[1:]),
    ],
    ids=lambda now: f"{now:%a %b %d}",
)
def test_jobs_stand_as_far_along_whichever_day_it_is(now: dt.datetime, tmp_path: Path) -> None:
    with override_settings(MEDIA_ROOT=tmp_path, PASSWORD_HASHERS=[QUICK_HASHER]):
        load_demo(now=now)
    today = timezone.localdate(now)

    dug, cured, built = (_job_of(name) for name in ("Dario", "Wilma", "Otis"))
    # Begun and reported on the last working day; digging goes on today, or the Monday after.
    begun = dug.reports.get()
    assert begun.date == working_day_before(today, 1)
    assert begun.hours.exists()
    loaded = dug.costs.filter(stock_move__isnull=False).values_list("spent_on", flat=True)
    assert set(loaded) == {begun.date}
    dig_days = dug.crew_days.filter(phase__kind="dig", date__gte=today)
    after = today + dt.timedelta(days=(7 - today.weekday()) if today.weekday() > 4 else 0)
    assert [row.date for row in dig_days] == [after]

    # The seven posts of the other were set on two days, in half of the hours on each; nothing hangs
    # on them before the last has set.
    second, first = cured.reports.order_by("-date")
    assert first.date == working_day_before(today, 2)
    assert (first.post_records.count(), second.post_records.count()) == (3, 4)
    assert first.poured_at is not None
    poured_at = second.poured_at
    assert poured_at is not None
    assert not cured.phases.filter(kind="hang", finished_on__isnull=False).exists()
    # 46 F counts as .4006 of an hour at 73 F: 30.476 / .4006 = 76.08 h for panels. The days swing
    # 4 F round it and after three of them get warmer: a little sooner, but never before the firm's
    # table of 72 h from 40 F on.
    ready_at = poured_at + dt.timedelta(hours=72)
    assert ready_at > now
    hang_days = [row.date for row in cured.crew_days.filter(phase__kind="hang")]
    assert hang_days
    assert min(hang_days) >= timezone.localdate(ready_at)

    assert built.state == FenceJob.State.FINISHED
    assert built.completion.signed_name == "Otis Brandvold"
    contract = contract_of(built.proposal_id, today=today)
    assert contract is not None
    assert [each.words for each in contract.invoices] == ["Paid"]
    assert contract.money.open == 0

    plan = standing_plan(today=today, also=FenceJob.objects.values_list("pk", flat=True))
    # The one thing that does not fit is the rain of the next day of setting posts.
    (rain,) = RainDay.objects.all()
    assert rain.date > today
    broken = find_violations(plan.blocks, plan.facts)
    assert {(one.rule, one.blocks[0].date) for one in broken} == {(Rule.RAIN, rain.date)}
    assert dug.dates.promised_on == dug.crew_days.latest("date").date + dt.timedelta(days=5)
    newest = AuditEntry.objects.order_by("-at")[0]
    assert newest.at <= now + dt.timedelta(minutes=1)


def test_barred_job_says_why(tmp_path: Path) -> None:
    with override_settings(MEDIA_ROOT=tmp_path, PASSWORD_HASHERS=[QUICK_HASHER]):
        load_demo(now=NOW)
    with pytest.raises(Refusal, match="Locate ticket"):
        place_job(job=_job_of("Lucia"), actor=None, now=NOW)


def _at(lat_deg: float | None, lon_deg: float | None) -> Place:
    assert lat_deg is not None
    assert lon_deg is not None
    return Place(lat_deg=lat_deg, lon_deg=lon_deg)


def _job_of(name: str) -> FenceJob:
    return FenceJob.objects.get(customer__name__startswith=name)
