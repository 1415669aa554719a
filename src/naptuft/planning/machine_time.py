"""Where the minutes of each machine go: closed, running, changed over, or idle, and what it is idle for.

Read from the plan alone. A machine that stands idle waits for the operation it does next: for the material or
the parts of that one, for the step before, for drying or curing, for racks, for its crew.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from naptuft.book.model import Book
from naptuft.planning.plan import Plan, PlannedOperation, WorkOrder
from naptuft.plant.calendar import minutes_after, open_stretches
from naptuft.plant.work_centre import Machine

Use = Literal[
    "closed",
    "runs",
    "changed over",
    "material not there",
    "part being made",
    "step before not done",
    "drying or curing",
    "racks full",
    "crew elsewhere",
    "held back",
    "no work ready",
]
USES: tuple[Use, ...] = get_args(Use)
IDLE = USES[3:]


@dataclass(frozen=True)
class MachineTime:
    """The minutes of one machine inside the horizon, by use; they add up to the clock."""

    machine: str
    work_centre: str
    minutes: Mapping[Use, int]

    @property
    def open(self) -> int:
        """Minutes it is open."""
        return sum(self.minutes.values()) - self.minutes["closed"]


def machine_time(book: Book, plan: Plan) -> tuple[MachineTime, ...]:
    """The minutes of every machine by use, machines in the book's order."""
    floor = _Floor(book, plan)
    return tuple(floor.machine(machine) for machine in book.machines)


def centre_time(times: Iterable[MachineTime]) -> Mapping[str, Mapping[Use, int]]:
    """The minutes of every work centre by use, all its machines together."""
    summed: dict[str, dict[Use, int]] = {}
    for time in times:
        of = summed.setdefault(time.work_centre, dict.fromkeys(USES, 0))
        for use, minutes in time.minutes.items():
            of[use] += minutes
    return summed


class _Floor:
    """The plan by the minute: who holds racks, where crews are."""

    def __init__(self, book: Book, plan: Plan):
        self.book, self.plan = book, plan
        self.clock = plan.horizon_days * 1440
        self.orders = {order.number: order for order in plan.work_orders}
        self.steps: dict[str, list[PlannedOperation]] = defaultdict(list)
        self.on: dict[str, list[PlannedOperation]] = defaultdict(list)
        for operation in sorted(plan.operations, key=lambda each: (each.start, each.step)):
            self.steps[operation.work_order].append(operation)
            self.on[operation.machine].append(operation)
        self.people = {centre.code: (centre.crew, centre.people) for centre in book.work_centres}
        self.crew_there = {
            crew.code: self._marked(self._opened(crew.calendar)) if crew.calendar else None for crew in book.crews
        }
        self.held, self.at_work = self._held(), self._at_work()

    def _minute(self, when: Any) -> int:
        return minutes_after(self.plan.start, when)

    def _opened(self, *names: str) -> tuple[tuple[int, int], ...]:
        return open_stretches(self.book.shifts, self.book.closures, names, self.plan.start, self.plan.horizon_days)

    def _marked(self, stretches: Iterable[tuple[int, int]]) -> Any:
        import numpy as np

        marked = np.zeros(self.clock, bool)
        for begin, end in stretches:
            marked[max(0, begin) : max(0, end)] = True
        return marked

    def _held(self) -> Mapping[str, Any]:
        import numpy as np

        held = {rack.code: np.zeros(self.clock, np.int64) for rack in self.book.racks}
        for each in self.plan.operations:
            if each.rack in held:
                begin, end = max(0, self._minute(each.start)), self._minute(each.end) + each.wait_minutes
                held[each.rack][begin : max(0, end)] += each.racks
        return held

    def _at_work(self) -> Mapping[str, Any]:
        import numpy as np

        at_work = {crew.code: np.zeros(self.clock) for crew in self.book.crews}
        for each in self.plan.operations:
            crew, people = self.people[each.work_centre]
            if crew in at_work:
                begin = max(0, self._minute(each.start) - each.changeover_minutes)
                at_work[crew][begin : max(0, self._minute(each.end))] += people
        return at_work

    def machine(self, machine: Machine) -> MachineTime:
        """One machine's minutes by use."""
        import numpy as np

        opened = self._marked(self._opened(machine.calendar, machine.code))
        use = np.full(self.clock, USES.index("no work ready"))
        crew, _ = self.people[machine.work_centre]
        there = self.crew_there.get(crew)
        free = 0
        for operation in self.on[machine.code]:
            start, end = self._minute(operation.start), self._minute(operation.end)
            change = max(free, start - operation.changeover_minutes)
            for until, why in self._lacks(operation):
                begin = min(free, self.clock)
                use[begin : max(begin, min(until, change))] = USES.index(why)
                free = max(free, min(until, change))
            self._rest(use, slice(max(0, free), max(0, change)), operation)
            use[max(0, change) : max(0, start)] = USES.index("changed over")
            use[max(0, start) : max(0, end)] = USES.index("runs")
            if there is not None:
                inside = slice(max(0, start), max(0, end))
                use[inside][~there[inside]] = USES.index("crew elsewhere")
            free = max(free, end)
        use[~opened] = USES.index("closed")
        counted = np.bincount(use, minlength=len(USES))
        return MachineTime(
            machine.code,
            machine.work_centre,
            {name: int(minutes) for name, minutes in zip(USES, counted, strict=True)},
        )

    def _lacks(self, operation: PlannedOperation) -> list[tuple[int, Use]]:
        """Until when an operation lacks what it needs, the first lack first."""
        order: WorkOrder = self.orders[operation.work_order]
        before = [each for each in self.steps[order.number] if each.step < operation.step]
        if before:
            last = before[-1]
            end = self._minute(last.end)
            if end > self._minute(operation.start):
                return []
            return [(end, "step before not done"), (end + last.wait_minutes, "drying or curing")]
        parts = [self._minute(self.orders[need].finish) for need in order.needs if need in self.orders]
        return [(self._minute(order.release), "material not there"), (max(parts, default=0), "part being made")]

    def _rest(self, use: Any, gap: slice, operation: PlannedOperation) -> None:
        """A gap before an operation that has all it works on: racks full, crew elsewhere, else held back."""
        use[gap] = USES.index("held back")
        crew, people = self.people[operation.work_centre]
        heads = {each.code: each.heads for each in self.book.crews}
        if crew in heads:
            use[gap][self.at_work[crew][gap] + people > heads[crew] + 1e-9] = USES.index("crew elsewhere")
            there = self.crew_there[crew]
            if there is not None:
                use[gap][~there[gap]] = USES.index("crew elsewhere")
        room = {each.code: each.capacity for each in self.book.racks}
        if operation.rack in room:
            full = self.held[operation.rack][gap] + operation.racks > room[operation.rack]
            use[gap][full] = USES.index("racks full")
