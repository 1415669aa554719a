"""Lists of the work ahead tried quickly: many small changes, each placed in a fraction of a millisecond.

The replayer places a list (nothing scatters, nothing starts before its planned start unless it has moved), so that
idle time is used to catch up. What it finds is shifted by every rule afterwards (`shift`).
"""

from __future__ import annotations

import heapq
import random
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from naptuft.planning.problem import Placement
from naptuft.planning.replan.charge import Charge, Cost
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import Choice, Shifter
from naptuft.planning.risk import floor
from naptuft.planning.risk.model import Model, Scatter, Users, Ways, arrays_of, in_sequence
from naptuft.planning.risk.replays import placed_as_listed

WHOLE, FIGURES, BEFORE, NEEDED, CREWS, USER_MACHINES, CALENDAR, CALENDARS, ORDER = 0, 1, 2, 7, 9, 13, 14, 15, -1
REACH = 10
OTHER_MACHINE = 0.3
MOVED_WORK = 0.5
PUT_BACK = 0.2
TRIES = 6


@dataclass
class _State:
    """A list, the machines and earliest starts of its operations, and what the plan it gives counts."""

    order: Any
    machine: Any
    earliest: Any
    cost: Cost = Cost(0, 0, 0.0)
    minutes: float = 0.0
    starts: Any = None
    ends: Any = None
    causes: Any = None


class QuickLists:
    """Lists on one floor, from a plan of everything on.

    placed   where everything stands in the plan begun from; planned: the work ahead that was planned before
    choice   the choice that gave it
    least    what late and changeover minutes count at least
    most     operations that may move; None: all
    """

    def __init__(
        self,
        shifter: Shifter,
        placed: Mapping[Key, Placement],
        planned: Mapping[Key, Placement],
        choice: Choice,
        charge: Charge,
        least: float = 0.0,
        most: int | None = None,
    ):
        problem, fixed, at = shifter.problem, shifter.floor.fixed, shifter.floor.at
        self.shifter, self.problem, self.choice = shifter, problem, choice
        self.sequence = in_sequence(problem, list(placed.values()))
        self.keys: list[Key] = [(p.job, p.index) for p in self.sequence]
        place = {key: k for k, key in enumerate(self.keys)}
        self.arrays = arrays_of(Model(problem, self.sequence, Scatter(), (), ()))
        self.ways, self.users = Ways(problem), Users(problem)
        self.operation = [shifter.operation[key] for key in self.keys]
        self._stand_still(fixed)
        self.released = self.arrays[FIGURES][:, floor.NOT_BEFORE].copy()
        self.fixed = np.array([key in fixed for key in self.keys])
        before = [planned.get(key) for key in self.keys]
        self.planned = np.array([-1.0 if p is None else p.start for p in before])
        self.planned_on = np.array([-1 if p is None else p.machine for p in before])
        self.charge, self.least, self.most = charge, least, most
        self.changed_over = float(sum(p.changeover for p in fixed.values()))
        self.charges = np.array([0.0 if p is None else charge.of(p.start - at) for p in before])
        last = [(number, len(job.operations) - 1) for number, job in enumerate(problem.jobs)]
        self.last = np.array([place[key] for key in last])
        self.last_wait = np.array([job.operations[-1].min_wait for job in problem.jobs], np.float64)
        expiring = shifter.floor.last_start
        self.expiring = np.array([place[job, 0] for job in expiring], np.int64)
        self.last_start = np.array(list(expiring.values()), np.float64)
        self.due = np.array([np.inf if job.due is None else job.due for job in problem.jobs])
        self.weight = np.array([0.0 if job.due is None else job.weight for job in problem.jobs])
        led = set(self.arrays[WHOLE][:, floor.LEADER].tolist())
        self.stays = [
            self.fixed[k]
            or self.operation[k].pinned is not None
            or problem.machines[p.machine].takes is not None
            or k in led
            for k, p in enumerate(self.sequence)
        ]
        whole, rows = self.arrays[WHOLE], self.arrays[BEFORE]
        self.waits_for = [rows[w[floor.BEFORE_FROM] : w[floor.BEFORE_TO]].tolist() for w in whole]
        for k, leader in enumerate(whole[:, floor.LEADER].tolist()):
            if leader >= 0:
                self.waits_for[k] = [leader]
        tied = [(place[key], place[after], longest) for key, after, longest in shifter.tied]
        self.tied = np.array(tied, np.int64).reshape((-1, 3))
        standing = [k for k, fix in enumerate(self.fixed) if fix]
        ahead = self._makers_first([place[key] for key in choice.order])
        self.machines = [machine.set_for for machine in problem.machines]
        for k in standing:
            if self.operation[k].family is not None:
                self.machines[self.sequence[k].machine] = self.operation[k].family
        self.begun = len(standing)
        earliest = [float(choice.earliest.get(key, at)) for key in self.keys]
        self.best = _State(np.array(standing + ahead, np.int64), whole[:, floor.MACHINE].copy(), np.array(earliest))
        self._use(self.best)
        self._place(self.best)

    def _stand_still(self, fixed: Mapping[Key, Placement]) -> None:
        """Done and running work starts and ends as it did, whatever is open, and waits for nothing."""
        whole, figures = self.arrays[WHOLE], self.arrays[FIGURES]
        calendars, rows = self.arrays[CALENDARS], self.arrays[CALENDAR]
        always = len(calendars)
        arrays = list(self.arrays)
        arrays[CALENDARS] = np.concatenate([calendars, [[len(rows), len(rows) + 1]]])
        arrays[CALENDAR] = np.concatenate([rows, [[-np.inf, np.inf], [np.inf, np.inf]]])
        self.arrays = tuple(arrays)
        for k, key in enumerate(self.keys):
            if key in fixed:
                for name in (floor.BEFORE_TO, floor.GOODS_TO, floor.PAUSES):
                    whole[k, name] = 0
                whole[k, floor.BEFORE_FROM] = whole[k, floor.GOODS_FROM] = 0
                whole[k, floor.CALENDAR] = always
                figures[k, floor.MINUTES] = fixed[key].end - fixed[key].start
                figures[k, floor.NOT_BEFORE] = fixed[key].start
                figures[k, [floor.CHANGEOVER, floor.LONGEST_WAIT, floor.LAST_SHARE]] = 0.0, -1.0, -1.0

    def _use(self, state: _State) -> None:
        """Enter a list into the arrays: machines, changeovers, earliest starts."""
        whole, figures, at = self.arrays[WHOLE], self.arrays[FIGURES], self.shifter.floor.at
        for k in np.nonzero(whole[:, floor.MACHINE] != state.machine)[0].tolist():
            self._change_machine(k, int(state.machine[k]))
        self.arrays[ORDER][:] = state.order
        families = list(self.machines)
        first = [True] * len(families)
        changeovers = self.problem.changeovers
        earliest = np.maximum(self.released, state.earliest)
        machines = state.machine.tolist()
        leaders = whole[:, floor.LEADER].tolist()
        for k in state.order[self.begun :].tolist():
            if leaders[k] >= 0:
                continue
            machine, family = machines[k], self.operation[k].family
            minutes = 0
            if family is not None:
                was = families[machine]
                minutes = 0 if was is None else changeovers.get(machine, {}).get((was, family), 0)
                families[machine] = family
            figures[k, floor.CHANGEOVER] = minutes
            if first[machine] and self.keys[k] not in self.shifter.floor.under_way:
                earliest[k] = max(earliest[k], at + minutes)
            first[machine] = False
        ahead = ~self.fixed
        figures[ahead, floor.NOT_BEFORE] = earliest[ahead]

    def _change_machine(self, k: int, machine: int) -> None:
        operation, whole, counts = self.operation[k], self.arrays[WHOLE], self.arrays[USER_MACHINES]
        whole[k, floor.MACHINE] = machine
        whole[k, floor.CALENDAR] = self.ways.number(machine, operation.needs)
        self.arrays[FIGURES][k, floor.MINUTES] = min(m.duration for m in operation.modes if m.machine == machine)
        stores = range(whole[k, floor.NEED_FROM], whole[k, floor.NEED_TO])
        crews = range(whole[k, floor.CREWS_FROM], whole[k, floor.CREWS_TO])
        for rows, chosen in ((self.arrays[NEEDED], stores), (self.arrays[CREWS], crews)):
            for row in chosen:
                counts[rows[row, 1], 1] -= 1
                rows[row, 1] = self.users.number[int(rows[row, 0]), machine]
                counts[rows[row, 1], 1] += 1

    def _place(self, state: _State) -> None:
        """Place the list in the arrays, and count what the plan comes to.

        Work before a longest wait starts later where its follower could not come in time otherwise.
        """
        figures = self.arrays[FIGURES]
        before, after, longest = self.tied.T
        for _ in range(TRIES):
            state.starts, state.ends, state.causes = placed_as_listed(self.arrays)
            over = state.starts[after] - state.ends[before] - longest
            outrun = over > 0
            if not outrun.any():
                break
            figures[before[outrun], floor.NOT_BEFORE] = state.starts[before[outrun]] + over[outrun]
        late = np.maximum(0.0, state.ends[self.last] + self.last_wait - self.due) * self.weight
        changeover = figures[~self.fixed, floor.CHANGEOVER].sum()
        off = np.abs(state.starts - self.planned)
        elsewhere = state.machine != self.planned_on
        share = np.where(elsewhere, 1.0, np.minimum(1.0, off / self.charge.tolerance))
        state.minutes = float(late.sum() + changeover + self.changed_over)
        expired = int((state.starts[self.expiring] > self.last_start).sum())
        moved = int(((elsewhere | (off > 0.5)) & (self.charges > 0)).sum())
        beyond = 0 if self.most is None else max(0, moved - self.most)
        counts = float((self.charges * share).sum()) + beyond * self.charge.beyond
        state.cost = Cost(expired, beyond, max(self.least, state.minutes) + counts)

    def search(self, trials: int, dice: random.Random, over: Callable[[], bool]) -> Choice | None:
        """The best choice found in so many trials; None: none better than the one begun from."""
        better = False
        for _ in range(trials):
            if over():
                break
            state = self._changed(dice)
            if state is None:
                continue
            self._use(state)
            self._place(state)
            if state.cost.walked < self.best.cost.walked:
                self.best, better = state, True
        return self._chosen() if better else None

    def _chosen(self) -> Choice:
        """The best list as a choice."""
        order, machine = dict(self.choice.machine), self.best.machine
        for k in self.best.order[self.begun :].tolist():
            key, on = self.keys[k], int(machine[k])
            minutes = min(m.duration for m in self.operation[k].modes if m.machine == on)
            order[key] = on, minutes
        earliest = {self.keys[k]: int(self.best.earliest[k]) for k in self.best.order[self.begun :].tolist()}
        return Choice(tuple(self.keys[k] for k in self.best.order[self.begun :].tolist()), order, earliest)

    def _changed(self, dice: random.Random) -> _State | None:
        """The best list with one change: late work goes earlier, work that pushes other work off its time later."""
        best = self.best
        if dice.random() < PUT_BACK:
            return self._put_back(dice)
        pushed = (self.charges > 0) & (best.starts > self.planned + 1e-6)
        if pushed.any() and (best.minutes <= self.least or dice.random() < MOVED_WORK):
            k = dice.choice(np.nonzero(pushed)[0].tolist())
            chain = self._chain(k)
            back = True
        else:
            late = np.maximum(0.0, best.ends[self.last] + self.last_wait - self.due) * self.weight
            if late.sum() <= 0:
                return None
            chain = self._chain(int(self.last[dice.choices(range(len(late)), late.tolist())[0]]))
            back = False
        chain = [k for k in chain if not self.stays[k]]
        if not chain:
            return None
        k = dice.choice(chain)
        machine, earliest = best.machine.copy(), best.earliest.copy()
        at = self.shifter.floor.at
        place = self._places()
        others = [m.machine for m in self.operation[k].modes if m.machine != best.machine[k]]
        others = [other for other in others if self.problem.machines[other].takes is None]
        order = best.order
        if others and dice.random() < OTHER_MACHINE:
            machine[k] = dice.choice(others)
            if dice.random() < 0.5:
                earliest[k] = at
        else:
            there = [other for other in order[self.begun :].tolist() if best.machine[other] == best.machine[k]]
            own = there.index(k)
            if back and dice.random() < 0.7:
                options = there[own + 1 : own + 1 + 3 * REACH]
            else:
                options = there[max(0, own - REACH) : own]
            if not options:
                return None
            order = self._reordered(order, place, k, int(place[dice.choice(options)]))
            earliest[k] = at
        return _State(order, machine, earliest)

    def _put_back(self, dice: random.Random) -> _State | None:
        """The best list with one operation that has moved where it was planned again."""
        best = self.best
        moved = (best.machine != self.planned_on) | (np.abs(best.starts - self.planned) > 1e-6)
        options = [k for k in np.nonzero(moved & (self.charges > 0))[0].tolist() if not self.stays[k]]
        if not options:
            return None
        k = dice.choice(options)
        machine, earliest = best.machine.copy(), best.earliest.copy()
        machine[k], earliest[k] = self.planned_on[k], self.planned[k]
        place = self._places()
        later = np.nonzero(best.starts[best.order[self.begun :]] >= self.planned[k])[0]
        to = self.begun + int(later[0]) if len(later) else len(best.order) - 1
        return _State(self._reordered(best.order, place, k, to), machine, earliest)

    def _makers_first(self, order: list[int]) -> list[int]:
        """The list with each operation behind what it waits for: a list may name one of a batch before its first."""
        number = {k: n for n, k in enumerate(order)}
        left = {k: sum(before in number for before in self.waits_for[k]) for k in order}
        followers: dict[int, list[int]] = defaultdict(list)
        for k in order:
            for before in self.waits_for[k]:
                followers[before].append(k)
        able = [(number[k], k) for k in order if left[k] == 0]
        heapq.heapify(able)
        made = []
        while able:
            _, k = heapq.heappop(able)
            made.append(k)
            for after in followers[k]:
                left[after] -= 1
                if left[after] == 0:
                    heapq.heappush(able, (number[after], after))
        return made

    def _places(self) -> Any:
        place = np.empty(len(self.best.order), np.int64)
        place[self.best.order] = np.arange(len(place))
        return place

    def _chain(self, k: int) -> list[int]:
        """An operation and those it waited for, one after the other."""
        causes = self.best.causes
        chain = [k]
        while causes[chain[-1]] >= 0:
            chain.append(int(causes[chain[-1]]))
        return chain

    def _reordered(self, order: Any, place: Any, k: int, to: int) -> Any:
        """The list with an operation at another place, all that waits for it (or it for) in between going with it."""
        own = int(place[k])
        taken = {k}
        low, high = min(own, to), max(own, to)
        between = order[low : high + 1].tolist()
        if to > own:
            for other in between:
                if any(before in taken for before in self.waits_for[other]):
                    taken.add(other)
        else:
            for other in reversed(between):
                if other in taken:
                    taken.update(self.waits_for[other])
        moved = [other for other in between if other in taken]
        rest = [other for other in between if other not in taken]
        changed = order.copy()
        changed[low : high + 1] = rest + moved if to > own else moved + rest
        return changed
