"""A repair that leaves in place all that can stay there: what cannot goes into the first gap that takes it.

Pushing everything later in the same order moves many operations a little; this moves few, perhaps further.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Mapping, Sequence, Set
from copy import copy
from dataclasses import replace

from naptuft.planning.problem import Placement
from naptuft.planning.replan.room import Key, Room
from naptuft.planning.replan.shift import FAR, Choice, Shifter

Slot = tuple[int, int, Key]


class Keeper:
    """Machines and stores with everything where it was planned, done and running work as it is.

    On machines that are `pushed` nothing keeps its place for later: work follows there in its order.
    """

    def __init__(self, shifter: Shifter, planned: Mapping[Key, Placement], pushed: Set[int] = frozenset()):
        self.shifter = shifter
        self.problem = shifter.problem
        self.at = shifter.floor.at
        self.slots: list[list[Slot]] = [[] for _ in self.problem.machines]
        self.room = Room(self.problem, shifter.calendars)
        self.takes = [machine.takes for machine in self.problem.machines]
        for key, placed in shifter.floor.fixed.items():
            self.put(key, placed)
        for key, placed in planned.items():
            if placed.machine not in pushed:
                self.put(key, placed)

    def copy(self) -> Keeper:
        """The same, to be changed further."""
        other = copy(self)
        other.slots = [list(slots) for slots in self.slots]
        other.room = self.room.copy()
        return other

    def put(self, key: Key, placed: Placement) -> None:
        """Take up a place on the machine, and what it holds."""
        insort(self.slots[placed.machine], (placed.start, placed.end, key))
        self.room.take(self.shifter.operation[key], placed)

    def take(self, key: Key, placed: Placement) -> None:
        """Give the place up, where it is taken."""
        slot = placed.start, placed.end, key
        if slot in self.slots[placed.machine]:
            self.slots[placed.machine].remove(slot)
        self.room.give_back(self.shifter.operation[key], key)

    def family_before(self, machine: int, place: int) -> str | None:
        """What a machine is set for before the slot at a place."""
        for _, _, key in reversed(self.slots[machine][:place]):
            family = self.shifter.operation[key].family
            if family is not None:
                return family
        return self.problem.machines[machine].set_for

    def stays(self, key: Key, placed: Placement, ready: int, minutes: int) -> bool:
        """Whether an operation can still be where it was planned."""
        operation = self.shifter.operation[key]
        machine = placed.machine
        if placed.start < max(ready, self.at):
            return False
        start, end = self.shifter.run(operation, machine, placed.start, minutes)
        if (start, end) != (placed.start, placed.end):
            return False
        slots = self.slots[machine]
        slot = placed.start, placed.end, key
        if self._can_join(key, machine, slot, minutes):
            return self.room.until(replace(operation, needs=()), placed, key) is None
        place = bisect_left(slots, slot)
        changeover = self.shifter.changeover(machine, self.family_before(machine, place), operation.family)
        begin = placed.start - changeover
        if begin < self.at and changeover and key not in self.shifter.floor.under_way:
            return False
        if place and slots[place - 1][1] > begin:
            return False
        following = place + 1 if place < len(slots) and slots[place] == slot else place
        if following < len(slots):
            family = self.shifter.operation[slots[following][2]].family
            if end + self.shifter.changeover(machine, operation.family, family) > slots[following][0]:
                return False
        return self.room.until(operation, replace(placed, changeover=changeover), key) is None

    def _can_join(self, key: Key, machine: int, slot: Slot, minutes: int) -> bool:
        """Whether a machine that takes several at one time runs a batch there which takes an operation as well."""
        takes = self.takes[machine]
        if takes is None:
            return False
        operation = self.shifter.operation[key]
        slots = self.slots[machine]
        mates = []
        for start, end, other in slots[bisect_left(slots, (slot[0], slot[1], (-1, -1))) :]:
            if (start, end) != slot[:2]:
                break
            if other != key:
                mates.append(self.shifter.operation[other])
        return bool(mates) and (
            all(mate.family == operation.family and mate.needs == operation.needs for mate in mates)
            and minutes in {mode.duration for mate in mates for mode in mate.modes if mode.machine == machine}
            and sum(mate.load for mate in mates) + operation.load <= takes
        )

    def gap(self, key: Key, machine: int, minutes: int, ready: int) -> tuple[int, int]:
        """Start and end in the first gap of a machine that takes an operation, changeovers on both sides kept.

        A batch that takes the operation as well is a gap.
        """
        operation = self.shifter.operation[key]
        slots = self.slots[machine]
        ready = max(ready, self.at)
        first = bisect_left(slots, (ready, -1, (-1, -1)))
        for place in range(first, len(slots) + 1):
            free = max(self.at, slots[place - 1][1]) if place else self.at
            until = slots[place][0] if place < len(slots) else FAR
            if place and self.takes[machine] is not None and place > first:
                start, end, _ = slots[place - 1]
                if start >= ready and self._can_join(key, machine, slots[place - 1], minutes):
                    joined = Placement(*key, machine, start, end)
                    if self.room.until(replace(operation, needs=()), joined, key) is None:
                        return start, end
            before = self.shifter.changeover(machine, self.family_before(machine, place), operation.family)
            after = 0
            if place < len(slots) and operation.family is not None:
                after = self.shifter.changeover(
                    machine, operation.family, self.shifter.operation[slots[place][2]].family
                )
            start = max(ready, free + before)
            start, end = self.shifter.run(operation, machine, start, minutes)
            while end + after <= until and start < FAR:
                later = self.room.until(operation, Placement(*key, machine, start, end, before), key)
                if later is None:
                    break
                start, end = self.shifter.run(operation, machine, later, minutes)
            if end + after <= until or place == len(slots):
                return start, end
        raise AssertionError("the last gap has no end")


def keep_in_place(
    shifter: Shifter, first: Choice, planned: Mapping[Key, Placement], pushed: Set[int] = frozenset()
) -> Choice:
    """The choice that leaves most where it is, from one in which everything keeps its order.

    pushed  machines on which the order is kept instead, and all pushed later that must be
    """
    keeper = Keeper(shifter, planned, pushed)
    placed: dict[Key, Placement] = dict(shifter.floor.fixed)
    machine, earliest = dict(first.machine), dict(first.earliest)
    for key in first.order:
        operation = shifter.operation[key]
        ready, no_sooner = shifter.ready(key, *machine[key], placed)
        before = planned.get(key)
        if before is not None:
            if before.end >= no_sooner and keeper.stays(key, before, ready, machine[key][1]):
                placed[key] = before
                if before.machine in pushed:
                    keeper.put(key, before)
                continue
            keeper.take(key, before)
        ways = [(*keeper.gap(key, m.machine, m.duration, ready), m.machine, m.duration) for m in operation.modes]
        start, end, chosen, minutes = min(ways, key=lambda way: (way[1], way[2] != machine[key][0], way[0], way[2]))
        placed[key] = Placement(*key, chosen, start, end)
        keeper.put(key, placed[key])
        machine[key] = chosen, minutes
        earliest.pop(key, None)
        if shifter.problem.machines[chosen].takes is not None:
            earliest[key] = start
    order = in_order(shifter, {key: float(placed[key].start) for key in first.order}, first.order)
    return replace(first, order=order, machine=machine, earliest=earliest)


def in_order(shifter: Shifter, rank: Mapping[Key, float], ties: Sequence[Key]) -> tuple[Key, ...]:
    """Keys by rank, then as they stand in `ties`, each behind what must come before it."""
    place = {key: k for k, key in enumerate(ties)}
    done: dict[Key, None] = {}
    for begin in sorted(rank, key=lambda key: (rank[key], place[key])):
        stack = [begin]
        while stack:
            key = stack[-1]
            waiting = [other for other in shifter.before[key] if other in rank and other not in done]
            if key in done or not waiting:
                done.setdefault(key)
                stack.pop()
            else:
                stack += waiting
    return tuple(done)
