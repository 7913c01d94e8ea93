"""What a change comes to at the least, so that what costs too much is seen the sooner.

These are no bounds: drives and days on site change a little. Now and then a change is given up for
it that would have been taken.
"""

from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import UNPLACED, Plan
from scheduling.engine.planner.tables import NONE

# So much driving and so many days on site, in late days, may be saved behind a change.
LEEWAY = 0.2


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
