"""Labour hours by phase, machine days and trips, each from the firm's production rates."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import get_args

from estimating.engine.catalog import Catalog, FenceSystem, Rates
from estimating.engine.footings import Footings
from estimating.engine.infill import counted_pieces
from estimating.engine.result import Finding, GateLayout, Hours, LineLayout, Phase
from estimating.engine.site import Conditions
from estimating.engine.trace import Step
from firm.measure.units import IN_PER_FT, round_up_to_half

PHASES: tuple[Phase, ...] = get_args(Phase)
DIG_AND_SET: tuple[Phase, ...] = ("layout", "dig", "set")


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """A number of units of work at one rate. Without a `line_id` it belongs to the whole job."""

    phase: Phase
    rate: str
    count: float
    line_id: str = ""
    gate_id: str = ""
    factor_rate: str = ""

    def hours(self, rates: Rates) -> float:
        factor = rates.hours.get(self.factor_rate, 0.0) if self.factor_rate else 1.0
        return self.count * rates.hours.get(self.rate, 0.0) * factor

    @property
    def keys(self) -> tuple[str, ...]:
        return (self.rate, self.factor_rate) if self.factor_rate else (self.rate,)


@dataclass(frozen=True, kw_only=True, slots=True)
class Labor:
    """The job's hours by phase, and the tasks that they add up."""

    tasks: tuple[Task, ...]
    hours: tuple[Hours, ...]
    equipment_days: float
    trips: int
    findings: tuple[Finding, ...]


def work_out(
    lines: Sequence[LineLayout],
    catalog: Catalog,
    conditions: Conditions,
    footings: Footings,
    *,
    hand_set: Mapping[str, Decimal],
    has_typed: bool = False,
) -> Labor:
    """Return the hours of the job; `hand_set` holds hours per phase that a person decided."""
    tasks = [task for line in lines for task in _tasks_of(line, catalog)]
    tasks += _dig_tasks(footings, conditions)
    tasks += _mix_tasks(footings, conditions)
    tasks += _job_tasks(lines, footings, conditions)
    tasks = [task for task in tasks if task.count > 0]
    hours = _by_phase(tasks, catalog.rates, hand_set)
    asked = dict.fromkeys(key for task in tasks for key in task.keys)
    return Labor(
        tasks=tuple(tasks),
        hours=hours,
        equipment_days=_equipment_days(hours, catalog, conditions),
        trips=conditions.trips or _needed_trips(lines, has_typed=has_typed),
        findings=tuple(_missing_rate(key) for key in asked if key not in catalog.rates.hours),
    )


def _tasks_of(line: LineLayout, catalog: Catalog) -> list[Task]:
    if line.scope == "removal":
        return _removal_tasks(line)
    system = catalog.systems[line.system]
    tasks = [
        Task(phase="layout", rate="layout.foot", count=_length_ft(line), line_id=line.line_id),
        *_set_tasks(line, system),
        *_braces(line, system),
    ]
    if line.scope == "whole_fence":
        tasks += _hanging_of(line, system)
    return tasks


def _length_ft(line: LineLayout) -> float:
    """Return the length that is walked, gates included."""
    return line.length_in / IN_PER_FT


def _removal_tasks(line: LineLayout) -> list[Task]:
    return [
        Task(phase="removal", rate="removal.foot", count=_length_ft(line), line_id=line.line_id),
        Task(
            phase="removal",
            rate="removal.footing",
            count=line.old_footings,
            line_id=line.line_id,
        ),
    ]


def _set_tasks(line: LineLayout, system: FenceSystem) -> list[Task]:
    counts: dict[str, int] = {}
    for post in line.posts:
        rate = system.labor.get(f"set_{post.kind}") or system.labor.get("set_line", "set.line")
        counts[rate] = counts.get(rate, 0) + 1
    return [
        Task(phase="set", rate=rate, count=count, line_id=line.line_id)
        for rate, count in counts.items()
    ]


def _hang_tasks(line: LineLayout, system: FenceSystem) -> list[Task]:
    counts = {
        "hang_piece": _pieces(line, system),
        "hang_bay": len(line.bays),
        "hang_cut_bay": sum(1 for bay in line.bays if bay.is_cut),
        "hang_foot": line.fence_ft,
        "hang_terminal": sum(1 for post in line.posts if post.kind != "line"),
    }
    return [
        Task(phase="hang", rate=system.labor[activity], count=count, line_id=line.line_id)
        for activity, count in counts.items()
        if activity in system.labor
    ]


def _pieces(line: LineLayout, system: FenceSystem) -> float:
    """Return the boards or pickets that are fastened one by one."""
    return sum(
        material.quantity * each
        for material in system.materials
        if material.hung
        for each in counted_pieces(material, line)
    )


def _braces(line: LineLayout, system: FenceSystem) -> list[Task]:
    """Return the brace assemblies: one for each direction that wire pulls from a terminal."""
    if "set_brace" not in system.labor:
        return []
    count = 2 * len(line.sections)
    return [Task(phase="set", rate=system.labor["set_brace"], count=count, line_id=line.line_id)]


def hanging_left_out(lines: Sequence[LineLayout], catalog: Catalog) -> float:
    """Return the hours that hanging the posts-only lines too would take, with a visit's set-up."""
    bare = [line for line in lines if line.scope == "posts_only"]
    tasks = [task for line in bare for task in _hanging_of(line, catalog.systems[line.system])]
    if bare and not any(line.scope == "whole_fence" for line in lines):
        tasks.append(Task(phase="clean_up", rate="setup.phase", count=1.0))
    return sum(task.hours(catalog.rates) for task in tasks)


def _hanging_of(line: LineLayout, system: FenceSystem) -> list[Task]:
    return [*_hang_tasks(line, system), *(_gate_task(gate, system) for gate in line.gates)]


def _gate_task(gate: GateLayout, system: FenceSystem) -> Task:
    by_leaves = system.labor.get(f"gate_{gate.leaves}", "gate.walk")
    is_pool = gate.use == "pool"
    return Task(
        phase="gates",
        rate=system.labor.get("gate_pool", "gate.pool") if is_pool else by_leaves,
        count=1,
        line_id=gate.line_id,
        gate_id=gate.id,
    )


def _dig_tasks(footings: Footings, conditions: Conditions) -> list[Task]:
    """Return the digging; posts beside a utility's mark are dug by hand whatever the machine."""
    counts: dict[tuple[str, str], int] = {}
    for each in footings.post_holes:
        method = "hand" if each.post.hand_dig else conditions.dig_method
        key = (each.line.line_id, method)
        counts[key] = counts.get(key, 0) + 1
    return [
        Task(
            phase="dig",
            rate=f"dig.{conditions.soil_class}.{method}",
            count=count,
            line_id=line_id,
        )
        for (line_id, method), count in counts.items()
    ]


def _mix_tasks(footings: Footings, conditions: Conditions) -> list[Task]:
    return [
        Task(
            phase="set",
            rate="mix.bag",
            count=footings.concrete.bags - footings.dry_bags,
            factor_rate="mix.long_barrow_factor" if conditions.long_barrow else "",
        ),
        Task(phase="set", rate="mix.dry_pack_bag", count=footings.dry_bags),
    ]


def _job_tasks(
    lines: Sequence[LineLayout], footings: Footings, conditions: Conditions
) -> list[Task]:
    spoil_rate = "spoil.haul_yd3" if conditions.spoil == "haul" else "spoil.spread_yd3"
    has_posts = bool(footings.post_holes)
    return [
        Task(phase="layout", rate="layout.job", count=float(has_posts)),
        Task(phase="clean_up", rate=spoil_rate, count=footings.concrete.spoil_loose_yd3),
        Task(phase="clean_up", rate="setup.phase", count=float(_phases_on_site(lines))),
        Task(phase="clean_up", rate="clean_up.yard_load", count=float(bool(lines))),
    ]


def _phases_on_site(lines: Sequence[LineLayout]) -> int:
    """Return how often the crew sets up: to dig and set, to hang, to take an old fence out."""
    scopes = {line.scope for line in lines}
    dig_and_set = bool(scopes & {"whole_fence", "posts_only"})
    return dig_and_set + ("whole_fence" in scopes) + ("removal" in scopes)


def _needed_trips(lines: Sequence[LineLayout], *, has_typed: bool) -> int:
    """Return the trips the work needs: concrete hardens between setting and hanging."""
    if any(line.scope == "whole_fence" for line in lines):
        return 2
    return 1 if lines or has_typed else 0


def _by_phase(
    tasks: Sequence[Task], rates: Rates, hand_set: Mapping[str, Decimal]
) -> tuple[Hours, ...]:
    """Return the hours of every phase that has any, to the hundredth they are paid by."""
    return tuple(
        _phase_hours(phase, [task for task in tasks if task.phase == phase], rates, hand_set)
        for phase in PHASES
        if phase in hand_set or any(task.phase == phase for task in tasks)
    )


def _phase_hours(
    phase: Phase, tasks: Sequence[Task], rates: Rates, hand_set: Mapping[str, Decimal]
) -> Hours:
    steps = [_step(task, rates) for task in tasks]
    hours = sum(task.hours(rates) for task in tasks)
    if phase in hand_set:
        steps.append(
            Step(rule="set by hand", inputs=f"{hand_set[phase]} h in place of {hours:.2f} h")
        )
        hours = float(hand_set[phase])
    return Hours(phase=phase, labor_hours=hours, trace=tuple(steps))


def _step(task: Task, rates: Rates) -> Step:
    place = f"line {task.line_id}: " if task.line_id else ""
    factor = f" x {rates.hours.get(task.factor_rate, 0.0):g}" if task.factor_rate else ""
    return Step(
        rule=task.rate,
        inputs=(
            f"{place}{task.count:.4g} x {rates.hours.get(task.rate, 0.0):g} h{factor}"
            f" = {task.hours(rates):.2f} h"
        ),
        source="firm's production rates",
    )


def _equipment_days(hours: Iterable[Hours], catalog: Catalog, conditions: Conditions) -> float:
    """Return the machine's days, to the half day: it stays as long as the crew digs."""
    rules = catalog.rules
    if conditions.dig_method not in rules.equipment:
        return 0.0
    dig_hours = sum(each.labor_hours for each in hours if each.phase == "dig")
    return round_up_to_half(dig_hours / (rules.crew_size * rules.hours_per_day))


def _missing_rate(key: str) -> Finding:
    return Finding(
        code="missing-rate",
        severity="stop",
        message=f"There is no production rate '{key}', so this work is counted as 0 hours.",
        place=f"rates.hours.{key}",
        action="Enter the rate in labour hours, or choose another method or soil class.",
    )
