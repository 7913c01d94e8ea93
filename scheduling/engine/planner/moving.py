"""Small changes of the queues: a visit earlier or later, visits or jobs changing their turns."""

from scheduling.engine.planner.chance import below, part
from scheduling.engine.planner.compiling import compiled
from scheduling.engine.planner.fitting import Plan
from scheduling.engine.planner.foreseen import is_hopeless, is_hopeless_instead
from scheduling.engine.planner.tables import NONE, Draws, Numbers, Whole
from scheduling.engine.planner.trials import BEHIND, FIRST, LONGER, TOUCHED, put_back

# How many turns visits go forward or back by one change, and how many go together, at most.
TURNS, BLOCK = 7, 2
# How often a job stays with its crew; then, how often two visits change turns; else, how often two
# jobs change crews.
STAYS, SWAPS, EXCHANGES = 0.75, 0.5, 0.9
# How many turns off the same time a job may be put with another crew.
BESIDE = 4


@compiled
def move(
    numbers: Numbers,
    now: Plan,
    trial: Plan,
    changed: Whole,
    job: int,
    forward: float,
    room: float,
    draws: Draws,
) -> bool:
    """Change the queues of a trial that was begun, about a job; say whether it came to anything.

    `forward` is how often a visit goes forward rather than back. What would make the plan dearer
    than by `room` is left out where that is plain beforehand.
    """
    if len(now.size) == 1 or part(draws) < STAYS:
        work = numbers.work
        visit = work.jobs[job].first_visit + below(draws, work.jobs[job].visits)
        crew = now.crew_of[visit]
        turn = now.turn_of[visit]
        if part(draws) < SWAPS:
            is_made = _swap(numbers, now, trial, changed, crew, turn, forward, draws)
        else:
            is_made = _shift(numbers, now, trial, changed, crew, turn, forward, draws)
        if is_made and is_hopeless(numbers, now, trial, changed, crew, room):
            put_back(now, trial, changed, crew)
            return False
        return is_made
    if numbers.work.jobs[job].has_one_crew and part(draws) < EXCHANGES:
        return _exchange(numbers, now, trial, changed, job, room, draws)
    return _hand_over(numbers, now, trial, changed, job, draws)


@compiled
def _shift(
    numbers: Numbers,
    now: Plan,
    trial: Plan,
    changed: Whole,
    crew: int,
    turn: int,
    forward: float,
    draws: Draws,
) -> bool:
    """Put a visit, perhaps with those right behind it, some turns forward or back."""
    last = min(now.size[crew], turn + below(draws, BLOCK))
    turns = 1 + below(draws, TURNS)
    is_forward = part(draws) < forward
    if is_forward:
        first, behind = max(1, turn - turns), last + 1
        passed, many = first, turn - first
    else:
        first, behind = turn, min(now.size[crew], last + turns) + 1
        passed, many = last + 1, behind - last - 1
    if many == 0:
        return False
    for mine in range(turn, last + 1):
        if _passes_own(numbers, now, crew, mine, passed, passed + many):
            return False
    length = last - turn + 1
    begins = first if is_forward else first + many
    for number in range(length):
        trial.turns[crew, begins + number].visit = now.turns[crew, turn + number].visit
    begins = first + length if is_forward else first
    for number in range(many):
        trial.turns[crew, begins + number].visit = now.turns[crew, passed + number].visit
    changed[crew, FIRST], changed[crew, BEHIND] = first, behind
    changed[crew, TOUCHED], changed[crew, LONGER] = behind - 1, NONE
    return True


@compiled
def _swap(
    numbers: Numbers,
    now: Plan,
    trial: Plan,
    changed: Whole,
    crew: int,
    turn: int,
    forward: float,
    draws: Draws,
) -> bool:
    """Let a visit change turns with another some turns off."""
    turns = 1 + below(draws, TURNS)
    to = turn - turns if part(draws) < forward else turn + turns
    if not 1 <= to <= now.size[crew]:
        return False
    first, last = min(turn, to), max(turn, to)
    if _passes_own(numbers, now, crew, first, first + 1, last + 1):
        return False
    if _passes_own(numbers, now, crew, last, first, last):
        return False
    trial.turns[crew, first].visit = now.turns[crew, last].visit
    trial.turns[crew, last].visit = now.turns[crew, first].visit
    changed[crew, FIRST], changed[crew, BEHIND] = first, last + 1
    changed[crew, TOUCHED], changed[crew, LONGER] = last, NONE
    return True


@compiled
def _passes_own(
    numbers: Numbers, now: Plan, crew: int, turn: int, passed: int, behind: int
) -> bool:
    """Say whether some turns passed by that of a visit hold another visit of the same job."""
    visit = now.turns[crew, turn].visit
    job = numbers.work.jobs[numbers.work.visits[visit].job]
    for other in range(job.first_visit, job.first_visit + job.visits):
        if now.crew_of[other] == crew and passed <= now.turn_of[other] < behind:
            return True
    return False


@compiled
def _hand_over(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, job: int, draws: Draws
) -> bool:
    """Give a job to another crew, at about the same time; else one of its visits."""
    work = numbers.work
    first = work.jobs[job].first_visit
    behind = first + work.jobs[job].visits
    if not work.jobs[job].has_one_crew:
        first += below(draws, work.jobs[job].visits)
        behind = first + 1
    crew = now.crew_of[first]
    to = _other_crew(numbers, crew, first, draws)
    if to == NONE:
        return False
    changed[crew, LONGER], changed[to, LONGER] = 0, 1
    for visit in range(first, behind):
        turn = _beside(now, to, visit) + below(draws, BESIDE + 1) - BESIDE // 2
        low, high = _between(numbers, trial, to, trial.size[to], visit)
        turn = max(low, min(high, turn + visit - first))
        _insert(trial, to, turn, visit)
        trial.crew_of[visit] = to
        changed[to, FIRST] = turn if visit == first else changed[to, FIRST]
        changed[to, BEHIND] = turn + 1
        _remove(trial, changed, crew, now.turn_of[visit] - (visit - first), visit == first)
    return True


@compiled
def _exchange(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, job: int, room: float, draws: Draws
) -> bool:
    """Let two jobs of different crews, each done by one, change their places."""
    work = numbers.work
    first = work.jobs[job].first_visit
    crew = now.crew_of[first]
    to = _other_crew(numbers, crew, first, draws)
    if to == NONE or now.size[to] == 0:
        return False
    turn = _beside(now, to, first) + below(draws, 2 * BESIDE) - BESIDE
    other = work.visits[now.turns[to, max(1, min(now.size[to], turn))].visit].job
    if not work.jobs[other].has_one_crew or not work.able[work.jobs[other].first_visit, crew]:
        return False
    if is_hopeless_instead(numbers, now, trial, job, other, room):
        return False
    put_instead(numbers, now, trial, changed, job, other)
    return True


@compiled
def put_instead(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, job: int, other: int
) -> None:
    """Let two jobs of different crews change their places in a trial that was begun."""
    crew = now.crew_of[numbers.work.jobs[job].first_visit]
    to = now.crew_of[numbers.work.jobs[other].first_visit]
    is_longer = _length(numbers, crew, other) > _length(numbers, crew, job)
    changed[crew, LONGER], changed[to, LONGER] = int(is_longer), int(not is_longer)
    _put_in(numbers, now, trial, changed, crew, job, other)
    _put_in(numbers, now, trial, changed, to, other, job)


@compiled
def _length(numbers: Numbers, crew: int, job: int) -> int:
    """Return how long all visits of a job take a crew."""
    length, first = 0, numbers.work.jobs[job].first_visit
    for visit in range(first, first + numbers.work.jobs[job].visits):
        length += numbers.work.tasks[crew, visit].length
    return length


@compiled
def _put_in(
    numbers: Numbers, now: Plan, trial: Plan, changed: Whole, crew: int, job: int, other: int
) -> None:
    """Put the visits of another job in the turns of one; what it has more comes in the last."""
    work = numbers.work
    first, mine = work.jobs[job].first_visit, work.jobs[job].visits
    begins, theirs = work.jobs[other].first_visit, work.jobs[other].visits
    changed[crew, FIRST] = now.turn_of[first]
    size, put = now.turn_of[first] - 1, 0
    for turn in range(now.turn_of[first], now.size[crew] + 1):
        visit = now.turns[crew, turn].visit
        if not first <= visit < first + mine:
            size += 1
            trial.turns[crew, size].visit = visit
            continue
        is_last = visit == first + mine - 1
        for _ in range(theirs - put if is_last else min(1, theirs - put)):
            size += 1
            trial.turns[crew, size].visit = begins + put
            trial.crew_of[begins + put] = crew
            put += 1
        if is_last:
            changed[crew, BEHIND] = size + 1
            # With as many visits as before, those behind it keep their turns.
            if size == turn:
                size = now.size[crew]
                break
    trial.size[crew] = size


@compiled
def _insert(trial: Plan, crew: int, turn: int, visit: int) -> None:
    for later in range(trial.size[crew], turn - 1, -1):
        trial.turns[crew, later + 1].visit = trial.turns[crew, later].visit
    trial.turns[crew, turn].visit = visit
    trial.size[crew] += 1


@compiled
def _remove(trial: Plan, changed: Whole, crew: int, turn: int, is_first: bool) -> None:
    for later in range(turn, trial.size[crew]):
        trial.turns[crew, later].visit = trial.turns[crew, later + 1].visit
    trial.size[crew] -= 1
    changed[crew, FIRST] = turn if is_first else changed[crew, FIRST]
    changed[crew, BEHIND] = turn


@compiled
def _other_crew(numbers: Numbers, crew: int, visit: int, draws: Draws) -> int:
    """Return another crew that may make a visit, NONE where there is none."""
    able, found, count = numbers.work.able, NONE, 0
    for other in range(able.shape[1]):
        if other != crew and able[visit, other]:
            count += 1
            found = other if below(draws, count) == 0 else found
    return found


@compiled
def _between(numbers: Numbers, plan: Plan, crew: int, size: int, visit: int) -> tuple[int, int]:
    """Return between which turns of a queue a visit may go in by those of its job there."""
    work = numbers.work
    low, job = 1, work.visits[visit].job
    for turn in range(1, size + 1):
        other = plan.turns[crew, turn].visit
        if work.visits[other].job == job and other < visit:
            low = turn + 1
        elif work.visits[other].job == job and other > visit:
            return low, turn
    return low, size + 1


@compiled
def _beside(now: Plan, crew: int, visit: int) -> int:
    """Return the turn in another crew's queue at the time of a visit."""
    end = now.ends[visit]
    for turn in range(1, now.size[crew] + 1):
        if now.turns[crew, turn].place != NONE and now.ends[now.turns[crew, turn].visit] >= end:
            return turn
    return int(now.size[crew] + 1)
