"""What a change about comes to in late days, foreseen without laying it.

Of the changes that are drawn nineteen in twenty make some job late. By lengths, drives and what
visits wait for most of these are told at a small part of the price of laying them. These are no
bounds: of the other orders that would be taken one in thirty is given up for it.
"""

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import UNPLACED, Plan, last_visit, trouble_of
from scheduling.engine.planner.outlook import LEEWAY
from scheduling.engine.planner.tables import NEVER, NONE, Numbers, Whole
from scheduling.engine.planner.trials import BEHIND, FIRST


@compiled
def is_hopeless(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, crew: int, room: float
) -> bool:
    """Say whether a crew's turns in another order plainly make the plan dearer than by `room`.

    Where jobs wait for other crews, what these gain is not seen, so nothing is hopeless; nor is it
    where jobs without a place may find one.
    """
    if numbers.work.has_links or _lacks_places(now, crew):
        return False
    enough = room + LEEWAY
    return bool(_reordered(numbers, now, trial, changed, crew, enough) > enough)


@compiled
def is_hopeless_instead(
    numbers: Numbers, now: Plan, trial: Plan, job: int, other: int, room: float
) -> bool:
    """Say the same of two jobs of different crews that change their places.

    Nor may the job's own crew be in as much more trouble, whatever the other's gains: with lateness
    handed on so, more plans were left with two late days (of 60 jobs: 11 in 70, then 2 in 54).
    """
    crew = now.crew_of[numbers.work.jobs[job].first_visit]
    to = now.crew_of[numbers.work.jobs[other].first_visit]
    if numbers.work.has_links or _lacks_places(now, crew) or _lacks_places(now, to):
        return False
    enough = room + LEEWAY
    more = _instead(numbers, now, trial, crew, job, other)
    if more <= enough:
        more += _instead(numbers, now, trial, to, other, job)
    _forget(numbers, now, trial, job)
    _forget(numbers, now, trial, other)
    return bool(more > enough)


@compiled
def _lacks_places(now: Plan, crew: int) -> bool:
    return bool(now.turns[crew, now.size[crew]].trouble >= UNPLACED)


@compiled
def _forget(numbers: Numbers, now: Plan, trial: Plan, job: int) -> None:
    """Let the visits of a job end in the trial as they do in the plan."""
    first = numbers.work.jobs[job].first_visit
    for visit in range(first, first + numbers.work.jobs[job].visits):
        trial.ends[visit] = now.ends[visit]


@compiled
def _reordered(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, crew: int, enough: float
) -> float:
    """Return what more trouble comes by turns in another order; not counted beyond `enough`.

    What its visits wait for is looked up only of those that begin sooner than they did.
    """
    work, first, behind = numbers.work, changed[crew, FIRST], changed[crew, BEHIND]
    over, site = now.turns[crew, first - 1].over, now.turns[crew, first - 1].site
    more = -_trouble_in(now, crew, first, behind)
    for turn in range(first, behind):
        visit = trial.turns[crew, turn].visit
        ready = now.turns[crew, now.turn_of[visit]].place
        place = _soonest(numbers, trial, crew, visit, over, site, ready)
        if place + work.tasks[crew, visit].length > numbers.lines.crews[crew].length:
            return UNPLACED
        over, site = place + work.tasks[crew, visit].length, work.visits[visit].site
        trial.ends[visit] = numbers.lines.places[crew, over].ends
        more += _trouble_at(numbers, crew, visit, over)
        if more > enough:
            return float(more)
    later = _later(numbers, now, crew, behind, over, site)
    return float(more + _passed_on(now, crew, behind, now.size[crew] + 1, later)[0])


@compiled
def _instead(numbers: Numbers, now: Plan, trial: Plan, crew: int, job: int, other: int) -> float:
    """Return what more trouble a crew has with another job in the turns of one of its own.

    Its visits come in these turns one each, what it has more in the last.
    """
    work = numbers.work
    first, mine = work.jobs[job].first_visit, work.jobs[job].visits
    visit, last = work.jobs[other].first_visit, last_visit(numbers, other)
    more, later, behind = 0.0, 0, now.turn_of[first]
    for number in range(mine):
        turn = now.turn_of[first + number]
        passed, later = _passed_on(now, crew, behind, turn, later)
        more += passed - _trouble_in(now, crew, turn, turn + 1)
        # Right behind a visit of its own, one is taken to come from the site of the job that was
        # there, which makes it too dear by a drive or two. With that put right more lateness was
        # handed on again: 3 of 22 plans of 60 jobs had two late days, 2 of 54 as it is.
        over, site = now.turns[crew, turn - 1].over + later, now.turns[crew, turn - 1].site
        until = last if number == mine - 1 else min(last, visit)
        while visit <= until:
            place = _soonest(numbers, trial, crew, visit, over, site, NEVER)
            if place + work.tasks[crew, visit].length > numbers.lines.crews[crew].length:
                return UNPLACED
            over, site = place + work.tasks[crew, visit].length, work.visits[visit].site
            trial.ends[visit] = numbers.lines.places[crew, over].ends
            more += _trouble_at(numbers, crew, visit, over)
            visit += 1
        later, behind = _later(numbers, now, crew, turn + 1, over, site), turn + 1
    return float(more + _passed_on(now, crew, behind, now.size[crew] + 1, later)[0])


@compiled
def _soonest(
    numbers: Numbers, trial: Plan, crew: int, visit: int, over: int, site: int, ready: int
) -> int:
    """Return about where a visit begins at the soonest when its crew leaves a site at a place.

    From the place `ready` on it may. What is not known of hardening yet is taken to be hard.
    """
    work, lines, place = numbers.work, numbers.lines, over
    if over >= lines.crews[crew].length:
        return NEVER
    day = lines.places[crew, over].index
    if over > 0 and day == lines.places[crew, over - 1].index:
        place += numbers.ways[site, work.visits[visit].site].gap
        # On the next day the crew comes from its yard.
        place = min(place, lines.stretches[crew, day + 1].at)
    if place >= ready:
        return int(place)
    place = max(place, _first_after_waits(numbers, trial, crew, visit))
    if place >= lines.crews[crew].length:
        return NEVER
    return int(work.next_start[work.tasks[crew, visit].starts, place])


@compiled
def _first_after_waits(numbers: Numbers, trial: Plan, crew: int, visit: int) -> int:
    """Return the first place behind what a visit waits for of its job, all of it with the crew."""
    work, moment = numbers.work, 0
    for number in range(work.waits.shape[1]):
        earlier = work.waits[visit, number]
        if earlier == NONE:
            break
        end = trial.ends[earlier]
        hardening = work.hardens[visit, number, crew]
        if hardening != NONE:
            # UNKNOWN is below every moment.
            end = max(end, work.hard[hardening, end])
        moment = max(moment, end)
    first_from = numbers.lines.first_from
    return int(first_from[crew, moment]) if moment < first_from.shape[1] else NEVER


@compiled
def _trouble_at(numbers: Numbers, crew: int, visit: int, over: int) -> float:
    """Return what it counts that a visit is over at a place."""
    if visit != last_visit(numbers, numbers.work.visits[visit].job):
        return 0.0
    lines = numbers.lines
    done = lines.stretches[crew, lines.places[crew, over - 1].index].day
    return trouble_of(numbers, visit, done)


@compiled
def _trouble_in(now: Plan, crew: int, first: int, behind: int) -> float:
    """Return what the trouble of some turns counts as the plan is."""
    return float(now.turns[crew, behind - 1].trouble - now.turns[crew, first - 1].trouble)


@compiled
def _later(numbers: Numbers, now: Plan, crew: int, turn: int, over: int, site: int) -> int:
    """Return by how many places a turn comes later if its crew leaves a site at a place."""
    before, lines = now.turns[crew, turn - 1], numbers.lines
    later = over - before.over
    if turn > now.size[crew] or before.over == 0:
        return int(later)
    mine = now.turns[crew, turn]
    if lines.places[crew, mine.place].index == lines.places[crew, before.over - 1].index:
        next_site = mine.site
        later += numbers.ways[site, next_site].gap - numbers.ways[before.site, next_site].gap
    return int(later)


@compiled
def _passed_on(now: Plan, crew: int, first: int, behind: int, later: int) -> tuple[float, int]:
    """Return what more trouble some turns have that come later, or sooner; and how much still.

    It is counted in places, and ends at a visit that waits for something else. However much later
    a job comes to be done, one day of it counts.
    """
    more = 0.0
    for turn in range(first, behind):
        mine = now.turns[crew, turn]
        if later > 0:
            later = max(0, later - mine.spare)
        elif mine.spare > 0:
            later = 0
        if later == 0:
            break
        if later > 0:
            more += 1.0 if later >= mine.until else 0.0
        else:
            more -= _trouble_in(now, crew, turn, turn + 1)
    return more, later
