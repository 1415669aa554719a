"""A plan's list on the bench: changed a little, replayed with the same random numbers, kept or put back."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from naptuft.planning.problem import Placement, Problem
from naptuft.planning.risk import floor
from naptuft.planning.risk.model import Model, Scatter, Target, Users, Ways, arrays_of, in_sequence
from naptuft.planning.risk.replays import run, traced

WHOLE, FIGURES, BEFORE, NEEDED, CREWS, USER_MACHINES, ORDER = 0, 1, 2, 7, 9, 13, -1
FEW = 16
LOOKED_AT = 8
REACH = 12
OTHER_MACHINE = 0.3


@dataclass(frozen=True)
class Move:
    """An operation taken to another place of the list, and perhaps to another machine."""

    operation: int
    place: int
    machine: int


class Bench:
    """A plan as a list of operations and their machines, and what replays expect of it.

    late    weighted late minutes of the plan as it stands, in each replay
    Operations have the numbers of their places in the plan's sequence, whatever the list becomes.
    """

    def __init__(
        self,
        problem: Problem,
        placements: Sequence[Placement],
        scatter: Scatter,
        targets: Sequence[Target],
        seed: int,
        count: int,
    ):
        self.problem, self.seed, self.count = problem, seed, count
        sequence = in_sequence(problem, placements)
        self.model = Model(problem, sequence, scatter, tuple(targets), ())
        self.arrays = arrays_of(self.model)
        self.ways, self.users = Ways(problem), Users(problem)
        self.due = np.array([target.due for target in targets])
        self.weight = np.array([target.weight for target in targets])
        self.operation = [problem.jobs[placed.job].operations[placed.index] for placed in sequence]
        self.place = np.arange(len(sequence))
        self.on: list[list[int]] = [[] for _ in problem.machines]
        for k, placed in enumerate(sequence):
            self.on[placed.machine].append(k)
        led = set(self.arrays[WHOLE][:, floor.LEADER].tolist())
        self.stays = [
            operation.pinned is not None or problem.machines[placed.machine].takes is not None or k in led
            for k, (operation, placed) in enumerate(zip(self.operation, sequence, strict=True))
        ]
        ends = {(placed.job, placed.index): k for k, placed in enumerate(sequence)}
        self.last = [[ends[job, len(problem.jobs[job].operations) - 1] for job in target.jobs] for target in targets]
        self.late = self.replayed(0, count)
        self.looked = 0
        self.look()

    def replayed(self, first: int, count: int) -> Any:
        """Weighted late minutes of the list as it stands in some of the replays. Shape (count,)"""
        finish, _ = run(self.arrays, self.seed, first, count)
        return np.maximum(0.0, finish - self.due) @ self.weight

    def look(self) -> None:
        """Look closely at the next few replays: what each operation waits for there."""
        model = replace(self.model, arrays=self.arrays)
        self.trace = traced(model, self.seed, LOOKED_AT, self.looked % max(1, self.count - LOOKED_AT + 1))
        self.looked += LOOKED_AT
        self.lateness = np.maximum(0.0, self.trace.finish - self.due) * self.weight

    def machine(self, operation: int) -> int:
        """The machine an operation is on."""
        return int(self.arrays[WHOLE][operation, floor.MACHINE])

    def waits_for(self, operation: int) -> list[int]:
        """The operations that come before one by its job or by jobs it waits for."""
        row = self.arrays[WHOLE][operation]
        return self.arrays[BEFORE][row[floor.BEFORE_FROM] : row[floor.BEFORE_TO]].tolist()

    def propose(self, dice: random.Random) -> Move | None:
        """A move for work that makes a target late in one of the replays looked at."""
        row = dice.randrange(len(self.lateness))
        amounts = self.lateness[row].tolist()
        if sum(amounts) <= 0:
            return None
        target = dice.choices(range(len(amounts)), amounts)[0]
        if not self.last[target]:
            return None
        ends, causes = self.trace.ends[row], self.trace.causes[row]
        chain = [max(self.last[target], key=lambda k: ends[k])]
        while causes[chain[-1]] >= 0:
            chain.append(int(causes[chain[-1]]))
        operation = dice.choice(chain)
        if self.stays[operation]:
            return None
        machine, place = self.machine(operation), int(self.place[operation])
        earliest = max((int(self.place[k]) for k in self.waits_for(operation)), default=-1) + 1
        others = [
            mode.machine
            for mode in self.operation[operation].modes
            if mode.machine != machine and self.problem.machines[mode.machine].takes is None
        ]
        if others and dice.random() < OTHER_MACHINE:
            return Move(operation, dice.randint(max(earliest, place - 4 * REACH), place), dice.choice(others))
        there = self.on[machine]
        at = there.index(operation)
        ahead = [int(self.place[k]) for k in there[max(0, at - REACH) : at]]
        ahead = [to for to in ahead if to >= earliest]
        return Move(operation, dice.choice(ahead), machine) if ahead else None

    def put(self, move: Move) -> Move:
        """Make a move; the move that undoes it."""
        operation, to = move.operation, move.place
        order, place = self.arrays[ORDER], self.place
        was = Move(operation, int(place[operation]), self.machine(operation))
        if to < was.place:
            order[to + 1 : was.place + 1] = order[to : was.place].copy()
        elif to > was.place:
            order[was.place : to] = order[was.place + 1 : to + 1].copy()
        order[to] = operation
        low, high = min(to, was.place), max(to, was.place)
        place[order[low : high + 1]] = np.arange(low, high + 1)
        if move.machine != was.machine:
            self._change_machine(operation, was.machine, move.machine)
        for machine in {move.machine, was.machine}:
            self.on[machine].sort(key=place.__getitem__)
            self._change_over(machine)
        return was

    def _change_machine(self, k: int, was: int, machine: int) -> None:
        operation = self.operation[k]
        whole = self.arrays[WHOLE]
        whole[k, floor.MACHINE] = machine
        whole[k, floor.CALENDAR] = self.ways.number(machine, operation.needs)
        self.arrays[FIGURES][k, floor.MINUTES] = min(m.duration for m in operation.modes if m.machine == machine)
        counts = self.arrays[USER_MACHINES]
        stores = range(whole[k, floor.NEED_FROM], whole[k, floor.NEED_TO])
        crews = range(whole[k, floor.CREWS_FROM], whole[k, floor.CREWS_TO])
        for rows, chosen in ((self.arrays[NEEDED], stores), (self.arrays[CREWS], crews)):
            for row in chosen:
                counts[rows[row, 1], 1] -= 1
                rows[row, 1] = self.users.number[int(rows[row, 0]), machine]
                counts[rows[row, 1], 1] += 1
        self.on[was].remove(k)
        self.on[machine].append(k)

    def _change_over(self, machine: int) -> None:
        """Enter the changeovers of a machine as its work follows each other now."""
        changes = self.problem.changeovers.get(machine, {})
        figures, leader = self.arrays[FIGURES], self.arrays[WHOLE][:, floor.LEADER]
        was = self.problem.machines[machine].set_for
        for k in self.on[machine]:
            family = self.operation[k].family
            if leader[k] >= 0:
                continue
            minutes = 0 if family is None or was is None else changes.get((was, family), 0)
            figures[k, floor.CHANGEOVER] = minutes
            was = was if family is None else family

    def attempt(self, move: Move) -> bool:
        """Make a move where the replays expect fewer late minutes of it; a few of them are asked first."""
        back = self.put(move)
        few = min(FEW, self.count)
        first = self.replayed(0, few)
        if first.sum() < self.late[:few].sum() + 1e-9:
            late = np.concatenate([first, self.replayed(few, self.count - few)]) if self.count > few else first
            if late.mean() < self.late.mean() - 1e-9:
                self.late = late
                return True
        self.put(back)
        return False

    def sequence(self) -> tuple[tuple[int, int, int], ...]:
        """Job, index and machine of the operations in the order of the list."""
        placed = self.model.sequence
        return tuple((placed[k].job, placed[k].index, self.machine(k)) for k in self.arrays[ORDER].tolist())
