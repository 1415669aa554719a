"""Work orders tied to each other: what must be used within a time of being made.

Mixed bristle, or a surface that must be coated in time, is made in one work order and used in another. Where each
serves the other alone the two are scheduled as one job with a longest wait between them, and read back as two.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

from naptuft.book.model import Book
from naptuft.planning.explode import Explosion
from naptuft.planning.problem import Job, Placement, Problem, Schedule
from naptuft.planning.schedule.reasons import explain

Key: TypeAlias = tuple[int, int]
"""Job and index of an operation."""


@dataclass(frozen=True)
class Tie:
    """A work order that must begin within so long after another is finished, waits included. [min]"""

    maker: str
    user: str
    within: int


def ties_of(book: Book, explosion: Explosion) -> tuple[Tie, ...]:
    """Every pair of batches of which one must use in time what the other makes."""
    return tuple(
        Tie(supply.batch, supply.consumer, int(within / 60 + 1e-9))
        for supply in explosion.supplies
        if (within := book.product[supply.product].use_within) is not None
    )


def tied(problem: Problem, ties: Iterable[Tie]) -> Problem:
    """The problem with each maker and its user as one job, called like the user.

    A maker or user that is in more than one pair on that side stays apart.

    >>> from naptuft.planning.problem import Machine, Mode, Operation
    >>> mix, set_ = Job("M", (Operation((Mode(0, 5),)),)), Job("U", (Operation((Mode(0, 9),)),), after=("M",))
    >>> one = tied(Problem((Machine("bench"),), (mix, set_)), [Tie("M", "U", 60)])
    >>> [(job.name, len(job.operations), job.operations[0].max_wait, job.after) for job in one.jobs]
    [('U', 2, 60, ())]
    """
    chains = _chains(problem, ties)
    if not chains:
        return problem
    jobs = {job.name: job for job in problem.jobs}
    inner = {name for chain in chains.values() for name, _ in chain[:-1]}
    made = [
        _one_job([(jobs[name], within) for name, within in chains[job.name]]) if job.name in chains else job
        for job in problem.jobs
        if job.name not in inner
    ]
    return replace(problem, jobs=tuple(made))


def _chains(problem: Problem, ties: Iterable[Tie]) -> dict[str, list[tuple[str, int]]]:
    """For each last user, the work orders of its chain in order, each with what may pass after it."""
    names = {job.name for job in problem.jobs}
    known = [tie for tie in ties if {tie.maker, tie.user} <= names]
    makers, users = Counter(tie.maker for tie in known), Counter(tie.user for tie in known)
    before = {tie.user: tie for tie in known if makers[tie.maker] == users[tie.user] == 1}
    chains = {}
    for last in set(before) - {tie.maker for tie in before.values()}:
        chain = [(last, 0)]
        while (tie := before.get(chain[0][0])) is not None:
            chain.insert(0, (tie.maker, tie.within))
        chains[last] = chain
    return chains


def _one_job(chain: list[tuple[Job, int]]) -> Job:
    inside = {job.name for job, _ in chain}
    operations = []
    for job, within in chain:
        operations += job.operations
        if job is not chain[-1][0]:
            operations[-1] = replace(operations[-1], max_wait=operations[-1].min_wait + within)
    last = chain[-1][0]
    after = dict.fromkeys(name for job, _ in chain for name in job.after if name not in inside)
    return replace(
        last,
        operations=tuple(operations),
        release=max(job.release for job, _ in chain),
        after=tuple(after),
    )


def pairs(problem: Problem, ties: Iterable[Tie]) -> tuple[tuple[tuple[int, int], tuple[int, int], int], ...]:
    """Each tie as two operations, by job and index: the maker's last, the user's first, and what may pass between."""
    number = {job.name: place for place, job in enumerate(problem.jobs)}
    found = []
    for tie in ties:
        if tie.maker in number and tie.user in number:
            operations = problem.jobs[number[tie.maker]].operations
            longest = operations[-1].min_wait + tie.within
            found.append(((number[tie.maker], len(operations) - 1), (number[tie.user], 0), longest))
    return tuple(found)


def keeps_ties(problem: Problem, ties: Iterable[Tie], placements: Iterable[Placement]) -> bool:
    """Whether every user begins within so long after its maker is finished."""
    placed = {(place.job, place.index): place for place in placements}
    return all(placed[after].start <= placed[key].end + longest for key, after, longest in pairs(problem, ties))


def schedule_tied(
    problem: Problem, ties: Iterable[Tie], *, begin: Iterable[Placement] | None = None, **limits: Any
) -> Schedule:
    """A plan of a problem that keeps its ties; `begin` and `limits` are those of `schedule`.

    Raises Infeasible as `schedule` does.
    """
    from naptuft.planning.schedule import schedule

    chains = _chains(problem, ties)
    keys = _keys(problem, chains)
    one = tied(problem, ties)
    found = schedule(one, begin=None if begin is None else _together(one, keys, begin), **limits)
    return _apart(problem, one, keys, found) if chains else found


def bettered_tied(
    problem: Problem, ties: Iterable[Tie], begin: Iterable[Placement], *, seed: int, effort: int
) -> Schedule:
    """What a plan comes to in a problem with so many moves tried on it; all is as for `bettered`."""
    from naptuft.planning.schedule import bettered

    keys = _keys(problem, _chains(problem, ties))
    one = tied(problem, ties)
    return _renumbered(one, keys, bettered(one, _together(one, keys, begin), seed=seed, effort=effort))


def _together(one: Problem, keys: list[Key], placements: Iterable[Placement]) -> tuple[Placement, ...]:
    """Placements numbered as in the problem with its ties made one job."""
    own = dict(zip(keys, one.keys, strict=True))
    return tuple(replace(p, job=own[p.job, p.index][0], index=own[p.job, p.index][1]) for p in placements)


def _renumbered(one: Problem, keys: list[Key], found: Schedule) -> Schedule:
    """A plan of the problem with its ties made one job, by the jobs they are made of."""
    placed = {key: replace(p, job=key[0], index=key[1]) for key, p in zip(keys, found.placements, strict=True)}
    apart = dict(zip(one.keys, keys, strict=True))
    return replace(
        found, placements=tuple(placed[key] for key in sorted(placed)), order=tuple(apart[key] for key in found.order)
    )


def _keys(problem: Problem, chains: Mapping[str, list[tuple[str, int]]]) -> list[Key]:
    """Job and index of every operation of a problem, in their order in the problem with its ties made one job."""
    number = {job.name: place for place, job in enumerate(problem.jobs)}
    inner = {name for chain in chains.values() for name, _ in chain[:-1]}
    keys: list[Key] = []
    for job in problem.jobs:
        if job.name not in inner:
            for name, _ in chains.get(job.name, [(job.name, 0)]):
                keys += [(number[name], index) for index in range(len(problem.jobs[number[name]].operations))]
    return keys


def _apart(problem: Problem, one: Problem, keys: list[Key], found: Schedule) -> Schedule:
    """A plan by the jobs of the problem, with its reasons."""
    apart = _renumbered(one, keys, found)
    told = explain(problem, list(apart.placements))
    return replace(
        apart,
        placements=tuple(
            was if was.reason.startswith("held back") else anew
            for was, anew in zip(apart.placements, told, strict=True)
        ),
    )
