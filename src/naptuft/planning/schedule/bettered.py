"""A plan carried over to a problem like its own, and moved a little: what the change is worth, quickly."""

from __future__ import annotations

from collections.abc import Sequence

from naptuft.planning.problem import Placement, Problem, Schedule
from naptuft.planning.schedule.search import Search


def bettered(problem: Problem, begin: Sequence[Placement], *, seed: int, effort: int) -> Schedule:
    """What a plan comes to with so many moves tried on it, without reasons and without a bound.

    begin   its operations in the order they are placed, on their machines; minutes do not count
    effort  candidate plans tried; 1: the plan itself
    """
    search = Search(problem, seed, effort, None, None, None, 1, begin)
    engine = search.first_lists()
    if engine is not None:
        search.improve(engine, search.over)
    assert search.best is not None
    return Schedule(
        search.placements(search.best), search.objective(), None, "feasible", search.tried, order=search.order()
    )
