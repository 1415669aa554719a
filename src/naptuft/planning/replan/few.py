"""Repairs in which few operations move: work put off makes room for work that is more urgent, all else stays.

A repair is told by the operations put off and until when. What cannot stay where it was planned, or is put off, goes
into the first gap that takes it; what follows it moves only where it must. So a change costs no more than what moves.
"""

from __future__ import annotations

import heapq
import random
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from math import inf

from naptuft.planning.problem import Placement
from naptuft.planning.replan.charge import Charge, Cost, has_moved
from naptuft.planning.replan.keep import Keeper, in_order
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import FAR, Choice, Shifter

NEAR = 10
WHERE_PLANNED = 0.6
FROM_THE_ROOT = 0.7
LEFT_AMONG = 20
MOST_LEFT = 3
TRIES = 4
TAKEN_BACK = 0.25
SELF = 0.1


@dataclass(frozen=True)
class Repair:
    """Operations put off, each until a minute; where all stands then, what gave up its place, and what it counts."""

    put_off: Mapping[Key, int]
    placed: Mapping[Key, Placement]
    gave_up: frozenset[Key]
    keeper: Keeper
    cost: Cost


class FewMoves:
    """Repairs of one floor.

    first  the choice in which everything keeps its order
    least  what late and changeover minutes count at least
    most   operations that may move; None: all
    """

    def __init__(
        self,
        shifter: Shifter,
        planned: Mapping[Key, Placement],
        first: Choice,
        charge: Charge,
        least: float,
        most: int | None,
    ):
        self.shifter, self.problem, self.first = shifter, shifter.problem, first
        self.planned, self.charge, self.least, self.most = planned, charge, least, most
        self.at = shifter.floor.at
        self.number = {key: place for place, key in enumerate(first.order)}
        self.followers: dict[Key, list[Key]] = defaultdict(list)
        clock = float(self.at)
        self.rank: dict[Key, float] = {}
        for key in first.order:
            before = shifter.before[key]
            for other in before:
                self.followers[other].append(key)
            clock = float(planned[key].start) if key in planned else clock
            self.rank[key] = max([clock, *(self.rank[other] for other in before if other in self.rank)])
        self.placed = {**planned, **shifter.pinned}
        self.keeper = Keeper(shifter, self.placed)
        self.stands = {**shifter.floor.fixed, **self.placed}
        self.displaced = [key for key in first.order if not self._stays(key)]
        self.late = [self._late(number, self.stands) for number in range(len(self.problem.jobs))]
        self.changeover = [self._changeover(self.keeper, machine) for machine in range(len(self.problem.machines))]

    def _minutes(self, key: Key, machine: int) -> int:
        return min(mode.duration for mode in self.shifter.operation[key].modes if mode.machine == machine)

    def _stays(self, key: Key) -> bool:
        """Whether an operation can stay where it was planned, all else staying where it was."""
        planned = self.planned.get(key)
        if key in self.shifter.pinned:
            return True
        if planned is None or any(other not in self.stands for other in self.shifter.before[key]):
            return False
        minutes = self._minutes(key, planned.machine)
        ready, no_sooner = self.shifter.ready(key, planned.machine, minutes, self.stands)
        return planned.end >= no_sooner and self.keeper.stays(key, planned, ready, minutes)

    def _late(self, number: int, placed: Mapping[Key, Placement]) -> float:
        """Weighted minutes a job is late; 0 where it has no place yet. [min]"""
        job = self.problem.jobs[number]
        last = placed.get((number, len(job.operations) - 1))
        if last is None or job.due is None:
            return 0.0
        return job.weight * max(0, last.end + job.operations[-1].min_wait - job.due)

    def _changeover(self, keeper: Keeper, machine: int) -> int:
        """Changeover minutes of the work ahead on a machine."""
        total, family, before = 0, self.shifter.family[machine], None
        for start, end, key in keeper.slots[machine]:
            if key in self.shifter.floor.fixed or (start, end) == before:
                continue
            becomes = self.shifter.operation[key].family
            total += self.shifter.changeover(machine, family, becomes)
            family = becomes if becomes is not None else family
            before = start, end
        return total

    def repair(self, put_off: Mapping[Key, int], better: Repair | None = None) -> Repair | None:
        """The repair in which some operations are put off; None as soon as it cannot be as good as another.

        Work before a longest wait is put off as well where its follower could not come in time otherwise.
        """
        repair = self._repair(put_off, better)
        for _ in range(TRIES):
            if repair is None:
                return None
            placed = repair.placed
            over = {key: placed[after].start - placed[key].end - longest for key, after, longest in self.shifter.tied}
            outrun = {key: placed[key].start + minutes for key, minutes in over.items() if minutes > 0}
            if not outrun.keys() - self.shifter.pinned.keys():
                break
            repair = self._repair({**repair.put_off, **outrun}, better)
        return repair

    def _repair(self, put_off: Mapping[Key, int], better: Repair | None) -> Repair | None:
        moved, later = 0, 0.0
        able = better is not None and not better.cost.expired and not better.cost.beyond
        most = self.most if able else None
        most_late = better.cost.minutes - sum(self.late) if better is not None and able else inf
        rank = self._ranks(put_off)
        keeper = self.keeper.copy()
        placed = dict(self.stands)
        gave_up: set[Key] = set()
        queue: list[tuple[float, int, Key]] = []

        def give_up(key: Key) -> None:
            if key in gave_up or key in self.shifter.pinned:
                return
            gave_up.add(key)
            planned = self.planned.get(key)
            if planned is not None:
                keeper.take(key, planned)
                del placed[key]
            heapq.heappush(queue, (rank.get(key, self.rank[key]), self.number[key], key))

        for key in (*self.displaced, *put_off):
            give_up(key)
        while queue:
            key = heapq.heappop(queue)[2]
            placed[key] = self._placed(keeper, key, placed, put_off.get(key))
            keeper.put(key, placed[key])
            moved += key in self.planned and has_moved(self.planned[key], placed[key])
            if key[1] == len(self.problem.jobs[key[0]].operations) - 1:
                later += max(0.0, self._late(key[0], placed) - self.late[key[0]])
            if (most is not None and moved > most) or later > most_late:
                return None
            for follower in self.followers[key]:
                planned = self.planned.get(follower)
                if planned is None or follower in gave_up:
                    continue
                minutes = self._minutes(follower, planned.machine)
                if any(other not in placed for other in self.shifter.before[follower]):
                    give_up(follower)
                    continue
                ready, no_sooner = self.shifter.ready(follower, planned.machine, minutes, placed)
                if ready > planned.start or planned.end < no_sooner:
                    give_up(follower)
        return Repair(dict(put_off), placed, frozenset(gave_up), keeper, self._cost(placed, gave_up, keeper))

    def _ranks(self, put_off: Mapping[Key, int]) -> Mapping[Key, float]:
        """Ranks of what is put off, and of all that waits for it."""
        rank: dict[Key, float] = {}
        stack = [(key, float(until)) for key, until in put_off.items()]
        while stack:
            key, until = stack.pop()
            if until > rank.get(key, self.rank[key]):
                rank[key] = until
                stack += [(follower, until) for follower in self.followers[key]]
        return rank

    def _placed(self, keeper: Keeper, key: Key, placed: Mapping[Key, Placement], until: int | None) -> Placement:
        """Where an operation goes: its planned place where it can and is not put off, else the first gap."""
        operation, planned = self.shifter.operation[key], self.planned.get(key)
        found: list[tuple[int, bool, int, int, int]] = []
        for mode in operation.modes:
            if mode.duration != self._minutes(key, mode.machine):
                continue
            ready, no_sooner = self.shifter.ready(key, mode.machine, mode.duration, placed)
            there = planned if until is None and planned is not None and mode.machine == planned.machine else None
            if there and there.end >= no_sooner and keeper.stays(key, there, ready, mode.duration):
                return there
            start, end = keeper.gap(key, mode.machine, mode.duration, max(ready, until or 0))
            if end < no_sooner:
                start, end = keeper.gap(key, mode.machine, mode.duration, start + no_sooner - end)
            elsewhere = planned is not None and mode.machine != planned.machine
            found.append((end, elsewhere, start, mode.machine, mode.duration))
        end, _, start, machine, _ = min(found)
        return Placement(*key, machine, start, end)

    def _cost(self, placed: Mapping[Key, Placement], gave_up: set[Key], keeper: Keeper) -> Cost:
        jobs = {key[0] for key in gave_up}
        machines = {placed[key].machine for key in gave_up}
        machines |= {self.planned[key].machine for key in gave_up if key in self.planned}
        late = sum(self.late) + sum(self._late(number, placed) - self.late[number] for number in jobs)
        changed = sum(self._changeover(keeper, m) - self.changeover[m] for m in machines)
        done = sum(p.changeover for p in self.shifter.floor.fixed.values())
        moved, counts = 0, 0.0
        for key in gave_up:
            planned = self.planned.get(key)
            if planned is not None and has_moved(planned, placed[key]):
                moved += 1
                counts += self.charge.counts(planned, placed[key], self.at)
        expired = sum(placed[job, 0].start > last for job, last in self.shifter.floor.last_start.items())
        beyond = 0 if self.most is None else max(0, moved - self.most)
        return Cost(expired, beyond, max(self.least, late + done + sum(self.changeover) + changed) + counts)

    def choice(self, repair: Repair) -> Choice:
        """A repair as a choice: what moved goes as early as it can behind what its machine has before it."""
        machine, earliest = dict(self.first.machine), dict(self.first.earliest)
        for key in repair.gave_up:
            placed = repair.placed[key]
            machine[key] = placed.machine, self._minutes(key, placed.machine)
            if key not in self.planned or has_moved(self.planned[key], placed):
                earliest.pop(key, None)
                if self.problem.machines[placed.machine].takes is not None:
                    earliest[key] = placed.start
        order = in_order(
            self.shifter, {key: float(repair.placed[key].start) for key in self.first.order}, self.first.order
        )
        return replace(self.first, order=order, machine=machine, earliest=earliest)

    def search(self, trials: int, dice: random.Random, over: Callable[[], bool]) -> Repair:
        """The best repair found in so many trials."""
        best = self.repair({})
        assert best is not None
        for _ in range(trials):
            if over():
                break
            put_off = self._changed(best, dice)
            if put_off is None:
                continue
            repair = self.repair(put_off, best)
            if repair is not None and repair.cost <= best.cost:
                best = repair
        return best

    def _changed(self, best: Repair, dice: random.Random) -> dict[Key, int] | None:
        """One change of what is put off: something no longer, or what stands in the way of something late."""
        put_off = dict(best.put_off)
        if put_off and dice.random() < TAKEN_BACK:
            del put_off[dice.choice(sorted(put_off))]
            return put_off
        late = [self._late(number, best.placed) for number in range(len(self.problem.jobs))]
        more = [max(0.0, now - before) for now, before in zip(late, self.late, strict=True)]
        worse = more if sum(more) > 0 and dice.random() < 0.8 else late
        if sum(worse) <= 0:
            return None
        moved = self._moved_for(best, dice.choices(range(len(worse)), worse)[0])
        if not moved:
            return None
        roots = [key for key in moved if not any(other in best.gave_up for other in self.shifter.before[key])]
        key = dice.choice(roots if roots and dice.random() < FROM_THE_ROOT else moved)
        if dice.random() < SELF:
            put_off[key] = best.placed[key].end
            return put_off
        mode = dice.choice(self.shifter.operation[key].modes)
        if self.problem.machines[mode.machine].takes is not None:
            return None
        victims = self._victims(best, key, mode.machine, mode.duration, dice)
        if not victims:
            return None
        put_off.pop(key, None)
        return put_off | victims

    def _moved_for(self, best: Repair, number: int) -> list[Key]:
        """The operations that gave up their place, of a job and of all it is made from."""
        found, seen, stack = [], set(), [number]
        while stack:
            job = stack.pop()
            if job not in seen:
                seen.add(job)
                stack += [maker for maker, _ in self.shifter.before[job, 0]]
                found += [(job, k) for k in range(len(self.problem.jobs[job].operations)) if (job, k) in best.gave_up]
        return sorted(found)

    def _victims(
        self, best: Repair, key: Key, machine: int, minutes: int, dice: random.Random
    ) -> dict[Key, int] | None:
        """Operations of a machine to put off so that another has room there, and until when.

        What follows is pushed as far as idle time does not take it up, some of it to the first gap behind that.
        """
        operation, keeper = self.shifter.operation[key], best.keeper
        ready, _ = self.shifter.ready(key, machine, minutes, best.placed)
        slots = keeper.slots[machine]
        own = best.placed[key]
        until = own.start if own.machine == machine else FAR
        ahead = [place for place, slot in enumerate(slots) if slot[1] > ready and slot[0] < until and slot[2] != key]
        if not ahead:
            return None
        place = dice.choice(ahead[:NEAR])
        if key in self.planned and dice.random() < WHERE_PLANNED:
            place = next((n for n in ahead if slots[n][0] >= self.planned[key].start), place)
        family = keeper.family_before(machine, place)
        free = max(self.at, slots[place - 1][1]) if place else self.at
        _, free = self.shifter.run(
            operation, machine, max(ready, free + self.shifter.changeover(machine, family, operation.family)), minutes
        )
        family = operation.family if operation.family is not None else family
        pushed: dict[Key, int] = {}
        left_out: list[Key] = []
        in_the_way = 0
        leave = {dice.randrange(LEFT_AMONG) for _ in range(dice.randrange(MOST_LEFT + 1))}
        for first, _, other in slots[place:]:
            if other == key:
                continue
            following = self.shifter.operation[other]
            begin = free + self.shifter.changeover(machine, family, following.family)
            if begin <= first:
                break
            if other not in self.planned or other in self.shifter.pinned:
                return None
            in_the_way += 1
            if in_the_way - 1 in leave:
                left_out.append(other)
                continue
            pushed[other], free = self.shifter.run(following, machine, begin, self._minutes(other, machine))
            family = following.family if following.family is not None else family
            if self.most is not None and len(pushed) > self.most:
                return None
        return pushed | dict.fromkeys(left_out, free)
