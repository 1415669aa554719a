"""A list of operations put on the floor as it stands: nothing before its earliest, everything as soon as it can be.

What is done or running stays. The rest follows in the order of the list; each goes behind what its machine has,
as early as its job, changeover, calendar and racks allow, and never before the earliest start given for it.
What is pinned stands where it is pinned: what would not be over by then goes behind it.
Racks are taken where there is room for the whole of the stay, so that a late batch holds up no other.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from naptuft.planning.problem import Operation, Placement, Problem
from naptuft.planning.replan.room import Calendars, Key, Room

FAR = 1 << 28
TRIES = 25


@dataclass(frozen=True)
class Floor:
    """A problem as it stands at a minute: `fixed` is done or running, the rest may not start before `at`.

    under_way   operations ahead whose machine is being changed over for them already
    last_start  job -> last minute its work may start, as it takes of a lot that expires
    ties        operations of two jobs that must follow each other: the first, the second, and the most that may
                pass between the end of one and the start of the other
    """

    problem: Problem
    at: int
    fixed: Mapping[Key, Placement]
    under_way: frozenset[Key] = frozenset()
    last_start: Mapping[int, int] = field(default_factory=dict)
    ties: tuple[tuple[Key, Key, int], ...] = ()


@dataclass(frozen=True)
class Choice:
    """What is chosen of the operations ahead: their order, machine and minutes of each, and earliest starts."""

    order: tuple[Key, ...]
    machine: Mapping[Key, tuple[int, int]]
    earliest: Mapping[Key, int]


@dataclass(frozen=True)
class Figures:
    """Weighted late minutes and changeover minutes of a plan."""

    late: float
    changeover: float


@dataclass
class Batch:
    """Operations together in one machine: the first of them, what they have in common, and what they fill."""

    first: Placement
    family: str | None
    minutes: int
    load: int

    def placed(self, key: Key) -> Placement:
        """Where another operation stands that joins them."""
        return Placement(*key, self.first.machine, self.first.start, self.first.end)


@dataclass
class _Lane:
    """A machine while a list is placed: free from, set for, the pins on it in turn, and its last batch."""

    free: int
    family: str | None
    pins: Sequence[Placement]
    passed: int = 0
    untouched: bool = True
    batch: Batch | None = None

    @property
    def pin(self) -> Placement | None:
        """The next pin that nothing has gone behind yet."""
        return self.pins[self.passed] if self.passed < len(self.pins) else None


class Shifter:
    """Shifts lists on one floor; what does not change between them is worked out once."""

    def __init__(self, floor: Floor):
        problem = floor.problem
        self.floor = floor
        self.problem = problem
        self.last = {job.name: (number, len(job.operations) - 1) for number, job in enumerate(problem.jobs)}
        self.before = {
            (number, index): ((number, index - 1),) if index else tuple(self.last[name] for name in job.after)
            for number, job in enumerate(problem.jobs)
            for index in range(len(job.operations))
        }
        self.operation = {
            (number, index): operation
            for number, job in enumerate(problem.jobs)
            for index, operation in enumerate(job.operations)
        }
        self.tied = [
            (key, (key[0], key[1] + 1), operation.max_wait)
            for key, operation in self.operation.items()
            if operation.max_wait is not None
            and key not in floor.fixed
            and key[1] + 1 < len(problem.jobs[key[0]].operations)
        ] + [tie for tie in floor.ties if tie[0] not in floor.fixed]
        self.calendars = Calendars(problem)
        self.room = Room(problem, self.calendars)
        self.free = [0] * len(problem.machines)
        self.family = [machine.set_for for machine in problem.machines]
        for key, placed in sorted(floor.fixed.items(), key=lambda item: item[1].start):
            self.free[placed.machine] = max(self.free[placed.machine], placed.end)
            operation = self.operation[key]
            if operation.family is not None:
                self.family[placed.machine] = operation.family
            if placed.end + operation.min_wait > floor.at:
                self.room.take(operation, placed)
        self.free = [max(free, floor.at) if free > floor.at else free for free in self.free]
        self.pinned = {
            key: self._pinned(key, *operation.pinned)
            for key, operation in self.operation.items()
            if operation.pinned is not None and key not in floor.fixed
        }
        self.pins_on: list[list[Placement]] = [[] for _ in problem.machines]
        for placed in sorted(self.pinned.values(), key=lambda placed: placed.start):
            self.pins_on[placed.machine].append(placed)

    def _pinned(self, key: Key, machine: int, start: int) -> Placement:
        operation = self.operation[key]
        minutes = min(mode.duration for mode in operation.modes if mode.machine == machine)
        return Placement(*key, machine, *self.run(operation, machine, start, minutes))

    def changeover(self, machine: int, was: str | None, becomes: str | None) -> int:
        """Minutes to change a machine over."""
        if was is None or becomes is None:
            return 0
        return self.problem.changeovers.get(machine, {}).get((was, becomes), 0)

    def shift(self, choice: Choice) -> dict[Key, Placement]:
        """Where everything comes to stand; what a calendar has no room for starts FAR.

        Work before a longest wait starts later where its follower could not come in time otherwise; where it
        is done already, the wait is broken.
        """
        earliest = dict(choice.earliest)
        placed = self._once(choice, earliest)
        for _ in range(TRIES):
            late = False
            for key, after, longest in self.tied:
                follower = placed[after]
                over = follower.start - placed[key].end - longest
                if over > 0 and follower.start < FAR:
                    earliest[key] = placed[key].start + over
                    late = True
            if not late:
                break
            placed = self._once(choice, earliest)
        return placed

    def _once(self, choice: Choice, earliest: Mapping[Key, int]) -> dict[Key, Placement]:
        placed: dict[Key, Placement] = {**self.floor.fixed, **self.pinned}
        room = self.room.copy()
        for key, pin in self.pinned.items():
            room.take(self.operation[key], pin)
        lanes = [
            _Lane(free, family, pins) for free, family, pins in zip(self.free, self.family, self.pins_on, strict=True)
        ]
        at = self.floor.at
        for key in choice.order:
            operation = self.operation[key]
            machine, minutes = choice.machine[key]
            if key in self.pinned:
                self._pass_pins(self.pinned[key].machine, lanes, placed, key)
                continue
            lane = lanes[machine]
            ready, no_sooner = self.ready(key, machine, minutes, placed)
            ready = max(ready, earliest.get(key, at))
            if lane.batch is not None and self._joins(lane.batch, key, minutes, ready, room):
                placed[key] = lane.batch.placed(key)
                room.take(replace(operation, needs=()), placed[key])
                lane.batch.load += operation.load
                continue
            while True:
                changeover = self.changeover(machine, lane.family, operation.family)
                start = max(ready, lane.free + changeover)
                if key not in self.floor.under_way or not lane.untouched:
                    start = max(start, at + changeover)
                placed[key] = self._run_with_room(key, machine, minutes, start, no_sooner, changeover, room)
                becomes = lane.family if operation.family is None else operation.family
                pin = lane.pin
                if pin is None or placed[key].end + self.changeover(machine, becomes, self._family(pin)) <= pin.start:
                    break
                self._pass_pins(machine, lanes, placed, (pin.job, pin.index))
            room.take(operation, placed[key])
            lane.family, lane.free, lane.untouched = becomes, placed[key].end, False
            if self.problem.machines[machine].takes is not None:
                lane.batch = Batch(placed[key], operation.family, minutes, operation.load)
        return placed

    def _run_with_room(
        self, key: Key, machine: int, minutes: int, start: int, no_sooner: int, changeover: int, room: Room
    ) -> Placement:
        """The first run from a minute on that has room, and ends no sooner than a minute."""
        operation = self.operation[key]
        while True:
            start, end = self.run(operation, machine, start, minutes)
            placed = Placement(*key, machine, start, end, changeover)
            later = None if start >= FAR else room.until(operation, placed, key)
            if later is None and end < no_sooner:
                later = start + no_sooner - end
            if later is None:
                return placed
            start = later

    def _family(self, placed: Placement) -> str | None:
        return self.operation[placed.job, placed.index].family

    def _pass_pins(self, machine: int, lanes: Sequence[_Lane], placed: dict[Key, Placement], last: Key) -> None:
        """Go behind what is pinned on a machine, up to a pin; what stands in its way pushes it off its place."""
        lane = lanes[machine]
        while (pin := lane.pin) is not None:
            key, family = (pin.job, pin.index), self._family(pin)
            changeover = self.changeover(machine, lane.family, family)
            least = max(lane.free, self.floor.at if lane.untouched and changeover else 0) + changeover
            if least > pin.start and key not in self.floor.under_way:
                start, end = self.run(self.operation[key], machine, least, pin.end - pin.start)
                pin = replace(pin, start=start, end=end)
            placed[key] = replace(pin, changeover=changeover)
            lane.free, lane.untouched, lane.batch, lane.passed = pin.end, False, None, lane.passed + 1
            lane.family = lane.family if family is None else family
            if key == last:
                return

    def keeps(self, placed: Mapping[Key, Placement], key: Key) -> bool:
        """Whether a pinned operation stands where it is pinned, and what it waits for is over by then."""
        pin, now = self.operation[key].pinned, placed[key]
        ready, no_sooner = self.ready(key, now.machine, now.end - now.start, placed)
        return (now.machine, now.start) == pin and ready <= now.start and no_sooner <= now.end

    def ready(self, key: Key, machine: int, minutes: int, placed: Mapping[Key, Placement]) -> tuple[int, int]:
        """From when an operation may start, and before when it may not end, by its job alone. [minute]"""
        job = self.problem.jobs[key[0]]
        start, no_sooner = self.floor.at, 0
        if key[1] == 0:
            start = max(start, job.release)
        for other in self.before[key]:
            before, at = self.operation[other], placed[other]
            if key[1] and before.transfers > 1:
                mode = min((m for m in before.modes if m.machine == at.machine), key=lambda m: m.duration)
                first = mode.setup + -(-(mode.duration - mode.setup) // before.transfers)
                done = self.run(before, at.machine, at.start, first)[1] if at.start < FAR else at.end
                setup = min((m.setup for m in self.operation[key].modes if m.machine == machine), default=0)
                start = max(start, min(done, at.end) + before.min_wait)
                no_sooner = at.end + before.min_wait + -(-(minutes - setup) // before.transfers)
            else:
                start = max(start, at.end + before.min_wait)
        return start, no_sooner

    def run(self, operation: Operation, machine: int, start: int, minutes: int) -> tuple[int, int]:
        """Start and end of an operation that begins as soon as machine and people let it. [minute]"""
        stretches, closes = self.calendars.of(operation, machine)
        return run_of(stretches, closes, start, minutes, operation.pauses)

    def _joins(self, batch: Batch, key: Key, minutes: int, ready: int, room: Room) -> bool:
        """Whether an operation is alike to the last batch of its machine, there in time, and has room in it."""
        operation = self.operation[key]
        takes = self.problem.machines[batch.first.machine].takes or 0
        return (
            operation.family == batch.family
            and minutes == batch.minutes
            and ready <= batch.first.start
            and batch.load + operation.load <= takes
            and operation.needs == self.operation[batch.first.job, batch.first.index].needs
            and self._has_room(operation, batch, key, room)
        )

    def _has_room(self, operation: Operation, batch: Batch, key: Key, room: Room) -> bool:
        """Room in the store: people serve the batch already."""
        without = replace(operation, needs=())
        return room.until(without, batch.placed(key), key) is None

    def figures(self, placed: Mapping[Key, Placement]) -> Figures:
        """Weighted late minutes and changeover of a plan; what does not end, and each pin not kept, adds FAR."""
        late = 0.0
        for number, job in enumerate(self.problem.jobs):
            key = number, len(job.operations) - 1
            finish = placed[key].end + job.operations[-1].min_wait
            if job.due is not None and finish > job.due:
                late += job.weight * (finish - job.due)
            if finish >= FAR:
                late += FAR
        late += FAR * sum(not self.keeps(placed, key) for key in self.pinned)
        return Figures(late, float(sum(p.changeover for p in placed.values())))


def run_of(
    stretches: Sequence[tuple[int, int]] | None, closes: Sequence[int] | None, start: int, minutes: int, pauses: bool
) -> tuple[int, int]:
    """Start and end of work that begins as soon as a calendar lets it; `closes` are the ends of its stretches. [minute]

    >>> day = ((0, 480), (1440, 1920))
    >>> run_of(day, [480, 1920], 470, 30, False), run_of(day, [480, 1920], 470, 30, True)
    ((1440, 1470), (470, 1460))
    """
    if stretches is None or closes is None:
        return start, start + minutes
    k = bisect_right(closes, start) if pauses or minutes else bisect_right(closes, start - 1)
    if not pauses:
        while k < len(stretches):
            begin = max(start, stretches[k][0])
            if begin + minutes <= stretches[k][1]:
                return begin, begin + minutes
            k += 1
        return max(start, FAR), max(start, FAR) + minutes
    if k >= len(stretches):
        return max(start, FAR), max(start, FAR) + minutes
    begin = max(start, stretches[k][0])
    end = begin + minutes
    while end > stretches[k][1]:
        over = end - stretches[k][1]
        k += 1
        if k >= len(stretches):
            return max(start, FAR), max(start, FAR) + minutes
        end = stretches[k][0] + over
    return begin, end
