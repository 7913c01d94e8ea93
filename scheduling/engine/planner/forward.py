"""Bringing visits forward in a plan that is no worse for it: nobody waits without a reason."""

from scheduling.engine.planner.figures import Figures, figures_of
from scheduling.engine.planner.laying import Laying
from scheduling.engine.planner.problem import Draft, Laid, Problem


def brought_forward(problem: Problem, draft: Draft) -> Draft:
    """Return a plan with each visit as early as it may be, none of the figures worse."""
    best, figures = draft, figures_of(problem, draft)
    for key, number in _in_order(problem, draft):
        best, figures = _with_earlier(problem, best, figures, key, number)
    return best


def _in_order(problem: Problem, draft: Draft) -> list[tuple[str, int]]:
    begins = {
        (key, number): problem.lines[one.crew].begins(one.place)
        for key, mine in draft.items()
        for number, one in enumerate(mine)
    }
    return sorted(begins, key=lambda at: begins[at])


def _with_earlier(
    problem: Problem, draft: Draft, figures: Figures, key: str, number: int
) -> tuple[Draft, Figures]:
    """Return the plan with a visit and those after it laid anew, if that is no worse."""
    laying = Laying(problem)
    for other, mine in draft.items():
        laying.stand(other, mine[:number] if other == key else mine)
    order = laying.orders[key]
    old: tuple[Laid, ...] = draft[key]
    if not laying.lay_next(order, old[number].crew):
        return draft, figures
    for later in old[number + 1 :]:
        if not laying.lay_next(order, later.crew, place=later.place):
            return draft, figures
    if laying.laid[key][number].place >= old[number].place:
        return draft, figures
    found = laying.draft
    worth = figures_of(problem, found)
    return (found, worth) if worth <= figures else (draft, figures)
