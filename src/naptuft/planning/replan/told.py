"""What the floor must be told of a changed plan, and what no plan could have left where it was."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence

from naptuft.planning.problem import Placement
from naptuft.planning.replan.charge import has_moved
from naptuft.planning.replan.keep import in_order
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import FAR, Shifter


def to_be_told(planned: Mapping[Key, Placement], placed: Mapping[Key, Placement], tolerance: float) -> frozenset[Key]:
    """Operations on another machine, out of their machine's order, or starting off by more than some minutes.

    Of those that changed order on one machine, as few as possible count, and none that starts as it was planned.

    >>> before = {(k, 0): Placement(k, 0, 0, 10 * k, 10 * k + 10) for k in range(4)}
    >>> after = {(k, 0): Placement(k, 0, 0, start, start + 10) for k, start in enumerate((30, 0, 10, 20))}
    >>> sorted(to_be_told(before, after, 15.0))
    [(0, 0)]
    """
    found = {
        key
        for key, before in planned.items()
        if before.machine != placed[key].machine or abs(placed[key].start - before.start) > tolerance
    }
    on: dict[int, list[Key]] = {}
    for key, before in planned.items():
        if placed[key].machine == before.machine:
            on.setdefault(before.machine, []).append(key)
    for keys in on.values():
        now = sorted(keys, key=lambda key: (placed[key].start, placed[key].end, planned[key].start, key))
        reordered = _out_of_order(now, [(planned[key].start, planned[key].end) for key in now])
        found.update(key for key in reordered if has_moved(planned[key], placed[key]))
    return frozenset(found)


def _out_of_order(keys: Sequence[Key], ranks: Sequence[tuple[int, int]]) -> set[Key]:
    """Those to leave out so that the ranks of the others never fall, as few as can be (patience sorting)."""
    tops: list[tuple[int, int, int]] = []
    at: list[int] = []
    behind = [-1] * len(keys)
    for k, rank in enumerate(ranks):
        pile = bisect_left(tops, (*rank, k))
        behind[k] = at[pile - 1] if pile else -1
        tops[pile : pile + 1] = [(*rank, k)]
        at[pile : pile + 1] = [k]
    kept, k = set(), at[-1] if at else -1
    while k >= 0:
        kept.add(keys[k])
        k = behind[k]
    return set(keys) - kept


def soonest(shifter: Shifter) -> Iterator[tuple[Key, int, int]]:
    """Of each operation ahead, what it waits for before what waits for it: when it may begin, and its earliest start.

    What it waits for is done on the quickest machine, and all machines are free for it.
    """
    floor, problem = shifter.floor, shifter.problem
    ahead = [key for key in shifter.operation if key not in floor.fixed]
    start: dict[Key, int] = {key: placed.start for key, placed in floor.fixed.items()}
    end: dict[Key, int] = {key: placed.end for key, placed in floor.fixed.items()}
    for key in in_order(shifter, dict.fromkeys(ahead, 0.0), ahead):
        job, operation = problem.jobs[key[0]], shifter.operation[key]
        ready = max(floor.at, job.release if key[1] == 0 else 0)
        for other in shifter.before[key]:
            before = shifter.operation[other]
            handed_on = start[other] if key[1] and before.transfers > 1 else end[other]
            ready = max(ready, handed_on + before.min_wait)
        runs = [
            shifter.run(operation, mode.machine, max(ready, shifter.free[mode.machine]), mode.duration)
            for mode in operation.modes
        ]
        start[key], end[key] = min(run[0] for run in runs), min(run[1] for run in runs)
        yield key, ready, start[key]


def must_move(shifter: Shifter, planned: Mapping[Key, Placement]) -> frozenset[Key]:
    """Operations that no plan leaves where they were planned.

    Their machine is shut or at work then, or what they wait for cannot be over (`soonest`).
    """
    found = set()
    for key, ready, _ in soonest(shifter):
        placed, operation = planned.get(key), shifter.operation[key]
        if placed is None:
            continue
        minutes = min(mode.duration for mode in operation.modes if mode.machine == placed.machine)
        there = shifter.run(operation, placed.machine, placed.start, minutes)
        if placed.start < max(ready, shifter.free[placed.machine]) or there[0] != placed.start or there[0] >= FAR:
            found.add(key)
    return frozenset(found)


def outlasting(shifter: Shifter) -> Mapping[int, int]:
    """Jobs that no plan starts before the last day of a lot they take of, and their earliest start. [minute]"""
    last = shifter.floor.last_start
    return {
        job: start for (job, index), _, start in soonest(shifter) if not index and job in last and start > last[job]
    }
