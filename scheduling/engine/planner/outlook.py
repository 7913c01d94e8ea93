"""What a change comes to at the least, so that what costs too much is seen the sooner.

These are no bounds: drives and days on site change a little. Now and then a change is given up for
it that would have been taken.
"""

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import UNPLACED, Plan, last_visit, trouble_of
from scheduling.engine.planner.tables import NEVER, NONE, Numbers

# So much driving and so many days on site, in late days, may be saved behind a change.
LEEWAY = 0.2
# By how many places a job may begin sooner than the one it is put for.
SOONER = 10


@compiled
def least_behind(now: Plan, crew: int, first: int) -> float:
    """Return about what a queue costs at the least from a turn on: all in it in time."""
    last, before = now.turns[crew, now.size[crew]], now.turns[crew, first - 1]
    return float(last.cost - last.trouble - before.cost + before.trouble - LEEWAY)


@compiled
def still_comes(
    now: Plan, trial: Plan, crew: int, turn: int, old: int, is_alone: bool, enough: float
) -> float:
    """Return about what comes at the least behind a turn, where what came behind it stays there.

    More than is `enough` to give the change up is not counted further.
    """
    comes = least_behind(now, crew, old + 1)
    later = trial.turns[crew, turn].over - now.turns[crew, old].over
    size = now.size[crew]
    if later < 0 or old == size:
        return float(comes)
    # Then no visit finds a place again or leaves the crew: what is behind a turn is their sum.
    is_whole = is_alone and now.turns[crew, size].trouble < UNPLACED
    for next_one in range(old + 1, size + 1):
        if comes > enough:
            break
        mine = now.turns[crew, next_one]
        later -= mine.spare
        before = now.turns[crew, next_one - 1].trouble
        if later <= 0 and is_whole:
            return float(comes + now.turns[crew, size].trouble - before)
        # What had no place may find one.
        if mine.place != NONE and trial.crew_of[mine.visit] == crew:
            comes += mine.trouble - before
            comes += 1.0 if later >= mine.until else 0.0
    return float(comes)


@compiled
def would_differ(numbers: Numbers, now: Plan, job: int, other: int) -> float:
    """Return about how much more trouble there is at the least if two jobs change their places.

    Each is taken to be done when the other was, or a day before, and to begin when the other did.
    """
    mine, theirs = _done_now(numbers, now, job), _done_now(numbers, now, other)
    if mine == NEVER or theirs == NEVER:
        return 0.0
    more = _trouble_there(numbers, now, job, other) + _trouble_there(numbers, now, other, job)
    last, other_last = last_visit(numbers, job), last_visit(numbers, other)
    return more - trouble_of(numbers, last, mine) - trouble_of(numbers, other_last, theirs)


@compiled
def _done_now(numbers: Numbers, now: Plan, job: int) -> int:
    visit = last_visit(numbers, job)
    return int(now.turns[now.crew_of[visit], now.turn_of[visit]].done)


@compiled
def _trouble_there(numbers: Numbers, now: Plan, job: int, other: int) -> float:
    """Return about what trouble a job has where another is."""
    begins, instead = numbers.work.jobs[job].first_visit, numbers.work.jobs[other].first_visit
    crew = now.crew_of[instead]
    place = now.turns[crew, now.turn_of[instead]].place
    if place - SOONER > numbers.work.tasks[crew, begins].last:
        return UNPLACED
    return trouble_of(numbers, last_visit(numbers, job), _done_now(numbers, now, other) - 1)
