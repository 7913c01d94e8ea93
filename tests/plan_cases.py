"""A small firm's first fortnight of June 2026, and its rules said again without the engine.

1 June 2026 is a Monday, and no clock changes in June: hours of the day may simply be added.
"""

import datetime as dt
import math
from collections.abc import Iterable, Sequence
from zoneinfo import ZoneInfo

from scheduling.engine.breaches import Rule, Violation
from scheduling.engine.cure import Work
from scheduling.engine.driving import Place
from scheduling.engine.plan import Concrete, Crew, CrewDay, Facts, JobFacts, Machine, Phase
from scheduling.engine.standing import Answer, Kind, Paper, Standing, State, Ticket, UtilityAnswer
from scheduling.starter import load_cure_table

CHICAGO = ZoneInfo("America/Chicago")
QUARTER_HOUR = dt.timedelta(minutes=15)
ONE_DAY = dt.timedelta(days=1)
PAPERS = (Kind.DEPOSIT, Kind.PINS, Kind.EASEMENT, Kind.PERMIT, Kind.ASSOCIATION)


def june(day: int) -> dt.date:
    return dt.date(2026, 6, 1) + ONE_DAY * (day - 1)


def standing(*, clear_on: dt.date, expires_on: dt.date) -> Standing:
    """Return a job on which everything is settled but for the days of its ticket."""
    return Standing(
        signed_at=dt.datetime(2026, 5, 22, 16, tzinfo=CHICAGO),
        cancellation_ends_at=dt.datetime(2026, 5, 29, tzinfo=CHICAGO),
        papers=tuple(Paper(kind=kind, state=State.CLEAR) for kind in PAPERS),
        tickets=(
            Ticket(
                state=State.CLEAR,
                number="T-1",
                clear_on=clear_on,
                expires_on=expires_on,
                answers=(UtilityAnswer(utility="Gas", answer=Answer.MARKED),),
            ),
        ),
    )


OAK = JobFacts(
    name="Oak",
    phases=(
        Phase.REMOVAL,
        Phase.LAYOUT,
        Phase.DIG,
        Phase.SET,
        Phase.HANG,
        Phase.GATES,
        Phase.CLEAN_UP,
    ),
    standing=standing(clear_on=june(3), expires_on=june(17)),
    concrete=Concrete(mix="standard", air_f=60),
)
ELM = JobFacts(
    name="Elm",
    phases=(Phase.DIG, Phase.SET, Phase.HANG),
    standing=standing(clear_on=june(4), expires_on=june(12)),
    concrete=Concrete(mix="fast", air_f=75),
    hang_work=Work.FABRIC,
)
# A repair on posts that stand: no hole, no concrete, and nobody asked for a ticket.
ASH = JobFacts(name="Ash", phases=(Phase.EXTRA,), standing=Standing())
FACTS = Facts(
    jobs={"oak": OAK, "elm": ELM, "ash": ASH},
    crews={"a": Crew(name="Crew A", hours=8), "b": Crew(name="Crew B", hours=8)},
    table=load_cure_table(),
    zone=CHICAGO,
    machines={"auger": Machine(name="Auger"), "mixer": Machine(name="Mixer")},
    today=june(1),
)


def block(job: str, phase: Phase, crew: str, day: int, hours: float, machine: str = "") -> CrewDay:
    return CrewDay(
        job=job,
        phase=phase,
        crew=crew,
        date=june(day),
        hours=hours,
        machine=machine,
        key=f"{job} {phase}",
    )


# Oak: Wed 3 from 7 to 15; posts set by Thu 4 13:00; 60 F, standard mix: panels after 48 h, from
# Sat 6 13:00; gates after 108.25 h, from Tue 9 1:15. Elm: posts set by Thu 4 15:00; 75 F, fast mix:
# fabric after 24 h, from Fri 5 15:00.
PLAN = (
    block("oak", Phase.REMOVAL, "a", 3, 3),
    block("oak", Phase.LAYOUT, "a", 3, 1),
    block("oak", Phase.DIG, "a", 3, 4, "auger"),
    block("oak", Phase.SET, "a", 4, 6, "mixer"),
    block("oak", Phase.HANG, "a", 8, 8),
    block("oak", Phase.GATES, "a", 9, 3),
    block("oak", Phase.CLEAN_UP, "a", 9, 2),
    block("elm", Phase.DIG, "b", 4, 5, "auger"),
    block("elm", Phase.SET, "b", 4, 3),
    block("elm", Phase.HANG, "b", 8, 6),
    block("ash", Phase.EXTRA, "b", 5, 2),
)
# Common practice, no source: hours to wait from 70, 50 and 40 F on.
WAITS = {
    ("standard", Work.PANELS): (24, 48, 72),
    ("standard", Work.GATES): (72, 96, 168),
    ("standard", Work.FABRIC): (72, 96, 168),
    ("fast", Work.PANELS): (4, 12, 24),
    ("fast", Work.GATES): (24, 48, 72),
    ("fast", Work.FABRIC): (24, 48, 72),
}
# Hours at 73.4 F to a quarter and 45 % of the strength of cement of type I (ACI 209R-92):
# 4 x .25 / (1 - .85 x .25) days and 4 x .45 / (1 - .85 x .45) days. Fast mix has no such curve.
AGES = {
    ("standard", Work.PANELS): 30.476,
    ("standard", Work.GATES): 69.960,
    ("standard", Work.FABRIC): 69.960,
}
# Elm lies 8 miles due north of Oak: 8 / 3958.8 radians are 0.115784 degrees. By road 10.4 mi,
# at 30 mph 20.8 min. The yard lies 4 miles south of Oak, 12 of Elm: 10.4 min and 31.2 min.
OAK_PLACE = Place(lat_deg=41.6, lon_deg=-93.6)
ELM_PLACE = Place(lat_deg=41.715784, lon_deg=-93.6)
YARD = Place(lat_deg=41.542108, lon_deg=-93.6)
# A breach: its rule, and the block's key, the crew's or the machine's with the day.
Breach = tuple[Rule, str]
Slots = dict[CrewDay, list[dt.datetime]]


def breaches_by_hand(plan: Sequence[CrewDay], facts: Facts) -> set[Breach]:
    """Return every breach by laying the plan out in quarter hours and looking at each."""
    slots = quarter_hours(plan, facts)
    found = {(rule, one.key) for one in plan for rule in bars_by_hand(one, plan, facts, slots)}
    return found | crew_breaches(plan, facts, slots) | machine_breaches(plan, facts)


def bars_by_hand(
    one: CrewDay, plan: Sequence[CrewDay], facts: Facts, slots: Slots
) -> Iterable[Rule]:
    mine = [other for other in plan if other.job == one.job]
    job = facts.jobs[one.job]
    if one.phase in {Phase.REMOVAL, Phase.DIG}:
        yield from bars_to_digging(job.standing, one.date)
    yield from bars_by_customer_rain_and_skill(one, job, facts)
    judged = {
        Rule.MATERIAL: material_is_missing(one, job, facts.today),
        Rule.INSPECTION: one.phase == Phase.SET and not inspector_came_by(job.standing, one.date),
        Rule.FROST: one.phase == Phase.SET
        and job.concrete is not None
        and (job.concrete.air_f or 0) <= 32,
        Rule.ORDER: comes_before_an_earlier_phase(one, mine, job, slots),
        Rule.AFTER: comes_before_the_job_it_waits_for(one, plan, facts, slots),
        Rule.CURE: hangs_on_green_concrete(one, mine, job, slots),
    }
    yield from (rule for rule, is_broken in judged.items() if is_broken)


def quarter_hours(plan: Sequence[CrewDay], facts: Facts) -> Slots:
    """Return the quarter hours each block fills, on the clock of the site."""
    slots: Slots = {}
    for place, one in enumerate(plan):
        before = [b for b in plan[:place] if (b.crew, b.date) == (one.crew, one.date)]
        if one.start is None and before:
            begins = arrival(one, before, facts, slots)
        else:
            begins = dt.datetime.combine(one.date, one.start or facts.crews[one.crew].start)
        slots[one] = [begins + QUARTER_HOUR * count for count in range(round(one.hours * 4))]
    return slots


def arrival(one: CrewDay, before: Sequence[CrewDay], facts: Facts, slots: Slots) -> dt.datetime:
    """Return the quarter hour in which a crew is there from all the blocks it comes from."""
    free = slots[before[-1]][-1] + QUARTER_HOUR
    there = [free]
    for other in before:
        over = slots[other][-1] + QUARTER_HOUR
        if over <= free:
            there.append(over + QUARTER_HOUR * math.ceil(4 * road_h(other, one, facts) - 1e-6))
    return max(there)


def road_h(one: CrewDay, other: CrewDay, facts: Facts) -> float:
    return hours_by_chord(facts.jobs[one.job].place, facts.jobs[other.job].place, facts)


def hours_by_chord(one: Place | None, other: Place | None, facts: Facts) -> float:
    """Return the drive by the chord through the earth between two points on its surface."""
    if one is None or other is None:
        return 0.0
    chord = math.dist(on_unit_sphere(one), on_unit_sphere(other))
    return 2 * 3958.8 * math.asin(chord / 2) * facts.road.factor / facts.road.speed_mph


def on_unit_sphere(place: Place) -> tuple[float, float, float]:
    north, east = math.radians(place.lat_deg), math.radians(place.lon_deg)
    return (
        math.cos(north) * math.cos(east),
        math.cos(north) * math.sin(east),
        math.sin(north),
    )


def bars_by_customer_rain_and_skill(one: CrewDay, job: JobFacts, facts: Facts) -> Iterable[Rule]:
    too_soon = job.not_before is not None and job.not_before > one.date
    if too_soon or one.date in job.closed_days:
        yield Rule.CUSTOMER_DAY
    if one.phase in facts.rain_limit_in:
        fell = facts.wet_days.get(one.date, 0)
        if fell > facts.rain_limit_in[one.phase]:
            yield Rule.RAIN
    if not set(job.skills.get(one.phase, ())) <= set(facts.crews[one.crew].skills):
        yield Rule.SKILL
    gone = facts.crews[one.crew].skills_away.get(one.date, ())
    is_gone = heads(one, facts) > 0 and any(each in gone for each in job.skills.get(one.phase, ()))
    few = one.phase in job.people and 0 < heads(one, facts) < job.people[one.phase]
    if is_gone or few:
        yield Rule.PEOPLE


def heads(one: CrewDay, facts: Facts) -> int:
    crew = facts.crews[one.crew]
    return crew.people - sum(many for day, many in crew.away.items() if day == one.date)


def whole_crew_hours(one: CrewDay, facts: Facts) -> float:
    """Return what a block's hours are in hours of a crew that is all there."""
    return one.hours * heads(one, facts) / facts.crews[one.crew].people


def comes_before_the_job_it_waits_for(
    one: CrewDay, plan: Sequence[CrewDay], facts: Facts, slots: Slots
) -> bool:
    """Say so where any open phase of that job is nowhere, or has a quarter hour from then on."""
    waited_for = facts.jobs[one.job].after_job
    if not waited_for:
        return False
    for phase in facts.jobs[waited_for].phases:
        if phase in facts.jobs[waited_for].done:
            continue
        theirs = [b for b in plan if (b.job, b.phase) == (waited_for, phase)]
        if not theirs or any(slot >= slots[one][0] for b in theirs for slot in slots[b]):
            return True
    return False


def bars_to_digging(settled: Standing, day: dt.date) -> Iterable[Rule]:
    (ticket,) = settled.tickets
    first, last = ticket.clear_on, ticket.expires_on
    answered = {one.answer for one in ticket.answers}
    is_open = first is not None and last is not None and first <= day <= last
    all_spoke = bool(answered) and answered <= {Answer.MARKED, Answer.NOTHING_THERE}
    if not (is_open and all_spoke and ticket.state == State.CLEAR):
        yield Rule.TICKET
    states = {paper.kind: paper.state for paper in settled.papers}
    papers_here = all(states.get(kind) in {State.CLEAR, State.NOT_NEEDED} for kind in PAPERS)
    signed, over = settled.signed_at, settled.cancellation_ends_at
    if not papers_here or signed is None or over is None or day < over.date():
        yield Rule.READINESS


def material_is_missing(one: CrewDay, job: JobFacts, today: dt.date) -> bool:
    """Say whether anything lacks: what was received by then, or is promised for a day before."""
    for phase, material in job.materials.items():
        if phase != one.phase and (one.phase, phase) != (Phase.DIG, Phase.SET):
            continue
        if material.received_on is not None:
            if material.received_on > one.date:
                return True
        elif material.promised_on is None or not today <= material.promised_on < one.date:
            return True
    return False


def inspector_came_by(settled: Standing, day: dt.date) -> bool:
    booked, passed = settled.inspection_booked_on, settled.inspection_passed_on
    if not settled.inspection_before_pour:
        return True
    if passed is not None:
        return passed <= day
    return booked is not None and booked <= day


def comes_before_an_earlier_phase(
    one: CrewDay, mine: Sequence[CrewDay], job: JobFacts, slots: Slots
) -> bool:
    for phase in job.phases:
        if phase == one.phase:
            return False
        theirs = [slot for other in mine if other.phase == phase for slot in slots[other]]
        if not theirs or max(theirs) >= slots[one][0]:
            return True
    raise AssertionError(one)


def hangs_on_green_concrete(
    one: CrewDay, mine: Sequence[CrewDay], job: JobFacts, slots: Slots
) -> bool:
    poured = [
        slot + QUARTER_HOUR for other in mine if other.phase == Phase.SET for slot in slots[other]
    ]
    if job.concrete is None or one.phase not in {Phase.HANG, Phase.GATES} or not poured:
        return False
    work = Work.GATES if one.phase == Phase.GATES else job.hang_work
    warm, mild, cool = WAITS[job.concrete.mix, work]
    air_f = job.concrete.air_f
    assert air_f is not None
    if air_f < 40:
        return True
    table_h = warm if air_f >= 70 else mild if air_f >= 50 else cool
    # ASTM C1074: hours count as exp(-5000 x (1/T - 1/296.15)), T in kelvin; whole quarters waited.
    rate = math.exp(-5000 * (1.8 / (air_f + 459.67) - 1 / 296.15))
    aged_h = math.ceil(4 * AGES.get((job.concrete.mix, work), 0) / rate) / 4
    wait_h = max(table_h, aged_h)
    return any(slot < max(poured) + dt.timedelta(hours=wait_h) for slot in slots[one])


def crew_breaches(plan: Sequence[CrewDay], facts: Facts, slots: Slots) -> set[Breach]:
    found: set[Breach] = set()
    for key, day in {(one.crew, one.date) for one in plan}:
        crew, where = facts.crews[key], f"{key} {day}"
        mine = [slot for one in plan if (one.crew, one.date) == (key, day) for slot in slots[one]]
        opens = dt.datetime.combine(day, crew.start)
        hours = {opens + QUARTER_HOUR * count for count in range(round(crew.hours * 4))}
        nobody = all(heads(one, facts) == 0 for one in plan if (one.crew, one.date) == (key, day))
        if day.weekday() not in crew.weekdays or day in crew.days_off or nobody:
            found.add((Rule.CREW_OFF, where))
        elif not set(mine) <= hours or not fits_with_the_way_home(
            [one for one in plan if (one.crew, one.date) == (key, day)], facts, slots
        ):
            found.add((Rule.CREW_HOURS, where))
        if len(set(mine)) < len(mine):
            found.add((Rule.CREW_TWICE, where))
        if leaves_no_time_to_drive(
            [one for one in plan if (one.crew, one.date) == (key, day)], facts, slots
        ):
            found.add((Rule.DRIVE, where))
    return found


def fits_with_the_way_home(mine: Sequence[CrewDay], facts: Facts, slots: Slots) -> bool:
    """Say whether the hours and the road fit: the whole tour but the first site's way and back."""
    in_turn = sorted(mine, key=lambda one: slots[one][0])
    places = [facts.jobs[one.job].place for one in in_turn]
    known = [place for place in places if place is not None]
    road = 0.0
    if known:
        tour = [facts.yard, *known, facts.yard]
        legs = [hours_by_chord(tour[at], tour[at + 1], facts) for at in range(len(tour) - 1)]
        road = max(sum(legs) - 2 * legs[0], 0.0)
    worked = sum(len(slots[one]) for one in mine) / 4
    return worked + road <= facts.crews[mine[0].crew].hours + 1e-6


def leaves_no_time_to_drive(mine: Sequence[CrewDay], facts: Facts, slots: Slots) -> bool:
    """Say so where the hours between any two blocks, one after the other, are too few."""
    for one in mine:
        for other in mine:
            if one is other or slots[other][0] <= slots[one][-1]:
                continue
            free_h = (slots[other][0] - slots[one][-1] - QUARTER_HOUR) / dt.timedelta(hours=1)
            if free_h < road_h(one, other, facts) - 1e-6:
                return True
    return False


def machine_breaches(plan: Sequence[CrewDay], facts: Facts) -> set[Breach]:
    found: set[Breach] = set()
    for key, day in {(one.machine, one.date) for one in plan if one.machine}:
        crews = {one.crew for one in plan if (one.machine, one.date) == (key, day)}
        if len(crews) > facts.machines[key].owned and not facts.machines[key].is_rentable:
            found.add((Rule.MACHINE_TWICE, f"{key} {day}"))
    return found


def breaches(found: Sequence[Violation]) -> set[Breach]:
    """Return violations as the statement by hand names them."""
    return {(one.rule, _where(one)) for one in found}


def _where(one: Violation) -> str:
    first = one.blocks[0]
    if one.rule == Rule.MACHINE_TWICE:
        return f"{first.machine} {first.date}"
    if one.rule in {Rule.CREW_OFF, Rule.CREW_HOURS, Rule.CREW_TWICE, Rule.DRIVE}:
        return f"{first.crew} {first.date}"
    return first.key
