"""A repaired plan made better, each move of what was planned being charged for.

First everything keeps its machine and place in the order and is only pushed later where it must be. Then
single moves are tried: work that is late, or that holds it up, goes earlier in the order or to another machine.
A move is kept where the late minutes and changeovers it saves outweigh the charge for all that moves.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from naptuft.planning.problem import Placement
from naptuft.planning.replan.charge import Charge, Cost, has_moved
from naptuft.planning.replan.few import FewMoves
from naptuft.planning.replan.quick import QuickLists
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import Choice, Figures, Shifter

FIRST = 2
QUICK_TRIALS = 150
Start: TypeAlias = tuple[Choice, Mapping[Key, Placement]]
FEW_TRIALS = 150
MANY = 1 << 40
LEAST_SECONDS = 0.5


@dataclass(frozen=True)
class Trial:
    """A choice, the plan it gives, its figures and what they count together."""

    choice: Choice
    placed: Mapping[Key, Placement]
    figures: Figures
    cost: Cost


@dataclass(frozen=True)
class Aims:
    """What a changed plan is judged by: where the work ahead was planned, what moving counts, and how many may move."""

    planned: Mapping[Key, Placement]
    charge: Charge
    most: int

    def moved(self, placed: Mapping[Key, Placement]) -> int:
        """How many of the operations planned have moved."""
        return sum(has_moved(before, placed[key]) for key, before in self.planned.items())


def as_planned(shifter: Shifter, planned: Mapping[Key, Placement]) -> float:
    """Late and changeover minutes of the work there is now, done and running work as it went, the rest as planned.

    No move is made to come below this: what happened is to be mended, not the plan.
    """
    stood = {**planned, **shifter.floor.fixed}
    total = float(sum(placed.changeover for placed in stood.values()))
    for number, job in enumerate(shifter.problem.jobs):
        last = stood.get((number, len(job.operations) - 1))
        if last is not None and job.due is not None:
            total += job.weight * max(0, last.end + job.operations[-1].min_wait - job.due)
    return total


def cost_of(
    shifter: Shifter,
    placed: Mapping[Key, Placement],
    planned: Mapping[Key, Placement],
    charge: Charge,
    least: float = 0.0,
    most: int | None = None,
) -> tuple[Figures, Cost]:
    """Figures of a plan, and what it counts; late and changeover minutes count as `least` at least.

    most  operations that may move; None: all
    """
    figures = shifter.figures(placed)
    at = shifter.floor.at
    counts = sum(charge.counts(before, placed[key], at) for key, before in planned.items())
    moved = sum(has_moved(before, placed[key]) for key, before in planned.items())
    expired = sum(placed[job, 0].start > last for job, last in shifter.floor.last_start.items())
    beyond = 0 if most is None else max(0, moved - most)
    counts += beyond * charge.beyond
    return figures, Cost(expired, beyond, max(least, figures.late + figures.changeover) + counts)


def improve_both(
    shifter: Shifter,
    first: Sequence[Choice],
    aims: Aims,
    seconds: float,
    effort: int | None,
    seed: int,
    stop: Callable[[], bool] | None = None,
) -> tuple[Trial, Trial | None]:
    """The best plan found in which few enough move, and the best with more moves where that is better.

    first  choices to begin with, that in which everything keeps its order first of all
    """
    began = time.monotonic()
    part = max(seconds, LEAST_SECONDS) / 3
    least = as_planned(shifter, aims.planned)

    def over() -> bool:
        return (stop is not None and stop()) or (effort is None and time.monotonic() - began >= part)

    few = FewMoves(shifter, aims.planned, first[0], aims.charge, least, aims.most)
    trials = MANY if effort is None else FEW_TRIALS + effort
    repair = few.search(trials, random.Random(seed), over)
    common = aims.planned, part, effort, seed, aims.charge
    begun = starts(shifter, first)
    kept = starts(shifter, [few.choice(repair)])
    freer = improve(shifter, (*begun, *kept), *common, None, stop)
    if aims.moved(freer.placed) <= aims.most:
        return freer, None
    limited = improve(shifter, (*begun, *kept, (freer.choice, freer.placed)), *common, aims.most, stop)
    better = (freer.cost.expired, freer.cost.minutes) < (limited.cost.expired, limited.cost.minutes)
    return limited, freer if better and aims.moved(freer.placed) > aims.most else None


def starts(shifter: Shifter, choices: Sequence[Choice]) -> tuple[Start, ...]:
    """Choices with the plans they give."""
    return tuple((choice, shifter.shift(choice)) for choice in choices)


def improve(
    shifter: Shifter,
    first: Sequence[Start],
    planned: Mapping[Key, Placement],
    seconds: float,
    effort: int | None,
    seed: int,
    charge: Charge,
    most: int | None = None,
    stop: Callable[[], bool] | None = None,
) -> Trial:
    """The best plan found from the best of some first choices on, each with the plan it gives.

    planned  the operations ahead that were planned before, where they stood
    effort   candidate plans to try; None: as many as the seconds allow (then it may not repeat)
    most     operations that may move; a plan in which more do counts worse than any in which they do not
    """
    dice = random.Random(seed)
    began = time.monotonic()
    least = as_planned(shifter, planned)

    def tried(choice: Choice, placed: Mapping[Key, Placement] | None = None) -> Trial:
        placed = shifter.shift(choice) if placed is None else placed
        figures, cost = cost_of(shifter, placed, planned, charge, least, most)
        return Trial(choice, placed, figures, cost)

    def over() -> bool:
        if stop is not None and stop():
            return True
        return effort is None and time.monotonic() - began >= seconds

    def lists_from(trial: Trial) -> QuickLists:
        return QuickLists(shifter, trial.placed, planned, trial.choice, charge, least, most)

    trials = sorted((tried(*start) for start in first), key=lambda trial: trial.cost.walked)
    kept, best = min(trials, key=lambda trial: trial.cost), trials[0]
    if not best.choice.order or best.cost <= Cost(0, 0, least):
        return best
    lists = lists_from(best)
    for trial in trials[:FIRST]:
        own = lists_from(trial)
        choice = own.search(QUICK_TRIALS, dice, over)
        found = trial if choice is None else tried(choice)
        kept = min(kept, found, key=lambda trial: trial.cost)
        if found.cost.walked < best.cost.walked:
            best, lists = found, own
    count = len(first)
    while True:
        if effort is not None and count >= effort:
            return kept
        if effort is None and time.monotonic() - began >= seconds:
            return kept
        if stop is not None and stop():
            return kept
        count += 1
        choice = lists.search(QUICK_TRIALS, dice, over)
        if choice is not None:
            trial = tried(choice)
            kept = min(kept, trial, key=lambda trial: trial.cost)
            if trial.cost.walked < best.cost.walked:
                best = trial
            else:
                lists = lists_from(best)
            continue
        choice = _moved(shifter, best, planned, dice)
        if choice is None:
            if not _could_move(shifter, best):
                return kept
            continue
        trial = tried(choice)
        kept = min(kept, trial, key=lambda trial: trial.cost)
        if trial.cost.walked < best.cost.walked:
            best, lists = trial, lists_from(trial)


def _could_move(shifter: Shifter, best: Trial) -> bool:
    return best.figures.late > 0 and len(best.choice.order) > 1 and bool(shifter.problem.machines)


def _moved(shifter: Shifter, best: Trial, planned: Mapping[Key, Placement], dice: random.Random) -> Choice | None:
    """A choice one move away: drawn among the work that makes late jobs late."""
    chain = _late_chain(shifter, best, dice)
    if not chain:
        return None
    key = dice.choice(chain)
    operation = shifter.operation[key]
    order = list(best.choice.order)
    machine = dict(best.choice.machine)
    earliest = dict(best.choice.earliest)
    place = order.index(key)
    others = [mode for mode in operation.modes if mode.machine != machine[key][0]]
    if others and dice.random() < 0.4:
        mode = dice.choice(others)
        machine[key] = mode.machine, mode.duration
    elif dice.random() < 0.25 and key in planned:
        earliest[key] = shifter.floor.at
    else:
        ahead = [k for k in range(place) if machine[order[k]][0] == machine[key][0]]
        if not ahead:
            return None
        to = dice.choice(ahead[-12:])
        lowest = max((k for k in range(place) if order[k] in _needed(shifter, key)), default=-1) + 1
        order.insert(max(to, lowest), order.pop(place))
        earliest[key] = shifter.floor.at
    for index in range(key[1], len(shifter.problem.jobs[key[0]].operations)):
        if dice.random() < 0.8:
            earliest.pop((key[0], index), None)
    return replace(best.choice, order=tuple(order), machine=machine, earliest=earliest)


def _needed(shifter: Shifter, key: Key) -> set[Key]:
    return set(shifter.before[key])


def _late_chain(shifter: Shifter, best: Trial, dice: random.Random) -> list[Key]:
    """The operations ahead of one late job, drawn by how late it is, and of the jobs it waits for."""
    problem, late = shifter.problem, []
    for number, job in enumerate(problem.jobs):
        key = number, len(job.operations) - 1
        finish = best.placed[key].end + job.operations[-1].min_wait
        if job.due is not None and job.weight > 0 and finish > job.due:
            late.append((number, job.weight * (finish - job.due)))
    if not late:
        return []
    begin = dice.choices([number for number, _ in late], [amount for _, amount in late])[0]
    names = {job.name: number for number, job in enumerate(problem.jobs)}
    chain, seen, stack = [], set(), [begin]
    while stack:
        number = stack.pop()
        if number in seen:
            continue
        seen.add(number)
        job = problem.jobs[number]
        chain += [(number, k) for k in range(len(job.operations)) if (number, k) not in shifter.floor.fixed]
        stack += [names[name] for name in job.after]
    return chain
