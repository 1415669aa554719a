"""What operations share at one time: a machine that takes several, and crews."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from naptuft.planning.plan import Finding
from naptuft.planning.problem import Machine, Operation, Placement, Problem

Stretches = tuple[tuple[int, int], ...] | None
SLACK = 1e-6


def may_run(problem: Problem, operation: Operation, machine: Machine) -> Stretches:
    """When an operation may run on a machine: the machine is open and everyone it needs is there. None: always.

    >>> from naptuft.planning.problem import Crew, Mode, Need
    >>> glue = Operation((Mode(0, 5),), needs=(Need(0, 1.0),))
    >>> bench = Machine("bench", ((0, 300), (300, 480)))
    >>> may_run(Problem((bench,), (), crews=(Crew("gluers", 2, ((60, 200), (200, 400))),)), glue, bench)
    ((60, 300), (300, 400))
    """
    crews = (problem.crews[need.crew].open for need in operation.needs if need.people > 0)
    return _all_open(machine.open, tuple(there for there in crews if there is not None))


@lru_cache(maxsize=512)
def _all_open(both: Stretches, crews: tuple[tuple[tuple[int, int], ...], ...]) -> Stretches:
    for there in crews:
        present: list[tuple[int, int]] = []
        for opens, closes in there:
            if present and present[-1][1] >= opens:
                present[-1] = (present[-1][0], max(closes, present[-1][1]))
            else:
                present.append((opens, closes))
        if both is None:
            both = tuple(present)
        else:
            pieces = ((max(a, c), min(b, d)) for a, b in both for c, d in present)
            both = tuple((since, until) for since, until in pieces if since < until)
    return both


def groups_on(problem: Problem, machine: Machine, run: Sequence[Placement]) -> list[list[Placement]]:
    """Placements of a machine, those that are in it together in one list, in order of time."""
    if machine.takes is None:
        return [[placed] for placed in run]
    groups: dict[tuple[int, int, str | None], list[Placement]] = {}
    for placed in run:
        family = problem.jobs[placed.job].operations[placed.index].family
        groups.setdefault((placed.start, placed.end, family), []).append(placed)
    return list(groups.values())


def check_batches(problem: Problem, groups: Iterable[list[Placement]]) -> list[Finding]:
    """Machines filled with more than they take."""
    findings = []
    for group in groups:
        machine, last = problem.machines[group[0].machine], group[-1]
        load = sum(problem.jobs[placed.job].operations[placed.index].load for placed in group)
        if machine.takes is not None and load > machine.takes:
            findings.append(
                Finding(
                    "batch capacity",
                    f"job {problem.jobs[last.job].name}, operation {last.index + 1}",
                    f"at minute {last.start} {machine.name} is filled with {load}; it takes {machine.takes}",
                )
            )
    return findings


def check_crews(problem: Problem, groups: Iterable[list[Placement]]) -> list[Finding]:
    """Times when more people of a crew are needed than there are."""
    changes: dict[int, list[tuple[int, float, Placement]]] = {}
    for group in groups:
        placed = group[0]
        machine, changeover = problem.machines[placed.machine], sum(p.changeover for p in group)
        people: dict[tuple[int, bool], float] = {}
        for member in group:
            for need in problem.jobs[member.job].operations[member.index].needs:
                kinds = (False, True) if need.changeover else (False,)
                for kind in kinds:
                    people[need.crew, kind] = max(need.people, people.get((need.crew, kind), 0.0))
        calendar = may_run(problem, problem.jobs[placed.job].operations[placed.index], machine)
        for (crew, changing), count in people.items():
            spans = [(placed.start - changeover, placed.start)] if changing else _spans(calendar, placed)
            for since, until in spans:
                if since < until and count > 0:
                    changes.setdefault(crew, []).extend([(since, count, placed), (until, -count, placed)])
    findings = []
    for number, moves in changes.items():
        crew, busy = problem.crews[number], 0.0
        for minute, count, placed in sorted(moves, key=lambda move: move[:2]):
            busy += count
            if count > 0 and busy > crew.people + SLACK:
                findings.append(
                    Finding(
                        "crew",
                        f"job {problem.jobs[placed.job].name}, operation {placed.index + 1}",
                        f"at minute {minute} {busy:g} of crew {crew.name} would be needed; there are {crew.people:g}",
                    )
                )
    return findings


def _spans(calendar: Stretches, placed: Placement) -> list[tuple[int, int]]:
    if calendar is None:
        return [(placed.start, placed.end)]
    return [(max(placed.start, opens), min(placed.end, closes)) for opens, closes in calendar]
