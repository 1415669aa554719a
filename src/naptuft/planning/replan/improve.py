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

from naptuft.planning.problem import Placement
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import Choice, Figures, Shifter

HALVES = 1440.0


@dataclass(frozen=True)
class Charge:
    """What moving an operation counts, in weighted late minutes.

    now    for one that was to start at once; it halves with every day until the planned start
    least  for one however far ahead
    """

    now: float = 120.0
    least: float = 5.0

    def of(self, minutes_ahead: float) -> float:
        """What moving an operation counts that was to start in so many minutes.

        >>> Charge(100.0, 5.0).of(1440.0)
        50.0
        """
        return max(self.least, self.now * 0.5 ** (max(0.0, minutes_ahead) / HALVES))


@dataclass(frozen=True)
class Trial:
    """A choice, the plan it gives, its figures and what they count together."""

    choice: Choice
    placed: Mapping[Key, Placement]
    figures: Figures
    cost: float


def has_moved(before: Placement, after: Placement) -> bool:
    """Whether an operation is no longer where and when it was planned."""
    return (before.machine, before.start) != (after.machine, after.start)


def cost_of(
    shifter: Shifter, placed: Mapping[Key, Placement], planned: Mapping[Key, Placement], charge: Charge
) -> tuple[Figures, float]:
    """Figures of a plan, and what they and its moves count together."""
    figures = shifter.figures(placed)
    at = shifter.floor.at
    moves = sum(charge.of(before.start - at) for key, before in planned.items() if has_moved(before, placed[key]))
    return figures, figures.late + figures.changeover + moves


def improve(
    shifter: Shifter,
    first: Sequence[Choice],
    planned: Mapping[Key, Placement],
    seconds: float,
    effort: int | None,
    seed: int,
    charge: Charge,
    stop: Callable[[], bool] | None = None,
) -> Trial:
    """The best plan found from the best of some first choices on.

    planned  the operations ahead that were planned before, where they stood
    effort   candidate plans to try; None: as many as the seconds allow (then it may not repeat)
    """
    dice = random.Random(seed)
    began = time.monotonic()

    def tried(choice: Choice) -> Trial:
        placed = shifter.shift(choice)
        figures, cost = cost_of(shifter, placed, planned, charge)
        return Trial(choice, placed, figures, cost)

    best = min((tried(choice) for choice in first), key=lambda trial: trial.cost)
    count = len(first)
    while True:
        if effort is not None and count >= effort:
            return best
        if effort is None and time.monotonic() - began >= seconds:
            return best
        if stop is not None and stop():
            return best
        choice = _moved(shifter, best, planned, dice)
        count += 1
        if choice is None:
            if not _could_move(shifter, best):
                return best
            continue
        trial = tried(choice)
        if trial.cost < best.cost:
            best = trial


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
