"""The week board's drawing: what it is told, and the element that draws it."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

from nicegui import ui

from naptuft.book.model import Book
from naptuft.planning.plan import Plan
from naptuft.plant.calendar import WEEKDAYS, minutes_after, open_stretches
from naptuft.plant.work_centre import Machine
from naptuft.web.families import LOOKS
from naptuft.web.marks import span_words


class Board(ui.element, component="board.js"):
    """Machines down the side, hours across. Tells `on_pick` the work order clicked ("" for none).

    source  address of its data; first: work order to show at once
    """

    def __init__(self, source: str, on_pick: Callable[[str], Any], first: str = ""):
        super().__init__()
        self.props["source"] = source
        self.props["first"] = first
        self.on("pick", lambda event: on_pick(str(event.args or "")))

    def show(self, work_order: str) -> None:
        """Bring a work order into view and mark its chain."""
        self.run_method("show", work_order)


def board_data(book: Book, plan: Plan, before: Plan | None = None) -> dict[str, Any]:
    """All the week board draws, in whole minutes from the start of the plan.

    Operations are lists: machine, start, end, changeover, wait, work order (index), step, name, run, reason.
    Moved are those another plan before had elsewhere or at another time: operation (index), machine, start, end there.
    """
    begin = plan.start

    def minute(moment: datetime.datetime) -> int:
        return minutes_after(begin, moment)

    machines = sorted(book.machines, key=_place_of(book))
    places = {machine.code: at for at, machine in enumerate(machines)}
    numbers = {order.number: at for at, order in enumerate(plan.work_orders)}
    last = max([plan.horizon_days * 1440, *(minute(operation.end) for operation in plan.operations)])
    days = -(-last // 1440)
    busy: dict[str, int] = {}
    for operation in plan.operations:
        busy[operation.machine] = busy.get(operation.machine, 0) + operation.run_minutes + operation.changeover_minutes
    was = {(each.work_order, each.step): each for each in before.operations} if before else {}
    rows = []
    for machine in machines:
        opened = open_stretches(book.shifts, book.closures, (machine.calendar, machine.code), begin, days)
        inside = sum(max(0, min(end, plan.horizon_days * 1440) - start) for start, end in opened)
        rows.append(
            {
                "code": machine.code,
                "name": machine.name,
                "centre": machine.work_centre,
                "open": opened,
                "share": round(busy.get(machine.code, 0) / inside, 3) if inside else 0,
            }
        )
    return {
        "epoch": round(begin.timestamp() * 1000),
        "zone": book.settings.zone,
        "days": _day_starts(begin, days),
        "shifts": _shift_starts(book, begin, days),
        "last": last,
        "horizon": plan.horizon_days * 1440,
        "machines": rows,
        "looks": {line: [look.colour, look.hatch] for line, look in LOOKS.items()},
        "work_orders": [
            {
                "number": order.number,
                "product": order.product,
                "name": order.product_name,
                "line": order.product_line,
                "quantity": f"{order.quantity:,.0f} {order.unit}",
                "due": minute(order.due),
                "late": max(0, minute(order.finish) - minute(order.due)),
                "late_words": span_words(max(0, minute(order.finish) - minute(order.due))),
                "needs": [numbers[need] for need in order.needs if need in numbers],
            }
            for order in plan.work_orders
        ],
        "operations": [
            [
                places[operation.machine],
                minute(operation.start),
                minute(operation.end),
                operation.changeover_minutes,
                operation.wait_minutes,
                numbers[operation.work_order],
                operation.step,
                operation.name,
                operation.run_minutes,
                operation.earliest_start_reason,
            ]
            for operation in plan.operations
        ],
        "moved": [
            [number, places[earlier.machine], minute(earlier.start), minute(earlier.end)]
            for number, operation in enumerate(plan.operations)
            if (earlier := was.get((operation.work_order, operation.step))) is not None
            and (earlier.machine, earlier.start) != (operation.machine, operation.start)
        ],
        "racks": _racks(book, plan, minute),
        "closures": [
            [minute(c.start.replace(tzinfo=begin.tzinfo)), minute(c.end.replace(tzinfo=begin.tzinfo)), c.why]
            for c in book.closures
            if c.why
        ],
    }


def _place_of(book: Book) -> Callable[[Machine], int]:
    """Machines of one work centre side by side, in the book's order."""
    places = {centre.code: at for at, centre in enumerate(book.work_centres)}
    return lambda machine: places.get(machine.work_centre, len(places))


def _day_starts(begin: datetime.datetime, days: int) -> list[list[Any]]:
    """Each midnight in the plant's zone: minute, words, and ISO week."""
    found = []
    for offset in range(days + 1):
        day = begin.date() + datetime.timedelta(days=offset)
        midnight = datetime.datetime.combine(day, datetime.time(), begin.tzinfo)
        found.append([minutes_after(begin, midnight), f"{day:%a} {day.day} {day:%b}", day.isocalendar().week])
    return found


def _shift_starts(book: Book, begin: datetime.datetime, days: int) -> list[int]:
    """When a shift of any calendar begins."""
    starts = set()
    for offset in range(days + 1):
        day = begin.date() + datetime.timedelta(days=offset)
        for shift in book.shifts:
            if shift.weekday == WEEKDAYS[day.weekday()] and shift.opens < 1440:
                clock = datetime.time(shift.opens // 60, shift.opens % 60)
                starts.add(minutes_after(begin, datetime.datetime.combine(day, clock, begin.tzinfo)))
    return sorted(starts)


def _racks(book: Book, plan: Plan, minute: Callable[[datetime.datetime], int]) -> list[dict[str, Any]]:
    """How full each store of racks is, as steps of (minute, racks held)."""
    stores = []
    for rack in book.racks:
        changes: dict[int, int] = {}
        for operation in plan.operations:
            if operation.rack == rack.code and operation.racks:
                start, end = minute(operation.start), minute(operation.end) + operation.wait_minutes
                changes[start] = changes.get(start, 0) + operation.racks
                changes[end] = changes.get(end, 0) - operation.racks
        held, steps = 0, []
        for at in sorted(changes):
            held += changes[at]
            steps.append([at, held])
        if steps:
            stores.append({"code": rack.code, "name": rack.name, "capacity": rack.capacity, "steps": steps})
    return stores
