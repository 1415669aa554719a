"""What happened since a plan was made, as declared records read from CSV or JSON text."""

from __future__ import annotations

import csv
import datetime
import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from naptuft import calculation as declare
from naptuft.book.model import Book
from naptuft.calculation import fields_of, is_blank, nearest, read_record, write_value
from naptuft.errors import DesignError, Fault
from naptuft.planning.plan import Plan

KINDS = (
    "done",
    "started",
    "not started",
    "machine down",
    "lot held",
    "order added",
    "quantity changed",
    "frozen",
    "pinned",
)
NEEDED: Mapping[str, tuple[str, ...]] = {
    "done": ("work_order", "step"),
    "started": ("work_order", "step"),
    "not started": ("work_order", "step"),
    "machine down": ("machine", "until"),
    "lot held": ("lot",),
    "order added": ("order", "line", "customer", "product", "quantity", "due"),
    "quantity changed": ("order", "line", "quantity"),
    "frozen": ("until",),
    "pinned": ("work_order", "step", "machine", "since"),
}
ALSO: Mapping[str, tuple[str, ...]] = {
    "done": ("machine", "since", "until"),
    "started": ("machine", "since"),
    "machine down": ("since",),
    "order added": ("weight",),
    "frozen": ("machine",),
}


@dataclass(frozen=True)
class Happening:
    """One thing that happened, or that is asked of the changed plan.

    What is planned to be over or running at the time of replanning, and not named, counts as done or running
    as planned. What is frozen, planned to start before a time, and what is pinned does not move: where that cannot
    be, no plan is made and what is in the way is named. Times are by the plant's clock.
    """

    kind: str = declare.choice(KINDS, "what happened")
    work_order: str = declare.text("number of the work order", default="", example="W-0042")
    step: int | None = declare.whole("step of the work order", low=1, high=9999, default=None, example="20")
    machine: str = declare.text(
        "code of the machine: that is down or frozen, that the step is pinned to, or where it was done if not "
        "where planned", default="", example="PRESS-A",
    )  # fmt: skip
    since: datetime.datetime | None = declare.moment(
        "when it started or went down; empty: as planned, or at the time of replanning; for a pin, when the step must "
        "start",
        default=None,
    )
    until: datetime.datetime | None = declare.moment(
        "when it was done, the machine will be up again, or the frozen time ends; empty for a step: as planned",
        default=None,
    )
    lot: str = declare.text("number of the lot", default="", example="L-2041")
    order: str = declare.text("order number", default="", example="S-1051")
    line: int | None = declare.whole("line of the order", low=1, high=9999, default=None, example="1")
    customer: str = declare.text("who ordered", default="", example="Harrow Lane Stores")
    product: str = declare.text("code of the product ordered", default="", example="B-WALL100")
    quantity: int | None = declare.whole("quantity ordered now", low=0, high=10_000_000, default=None, example="300")
    due: datetime.datetime | None = declare.moment("when the order must be ready", default=None)
    weight: float | None = declare.quantity("", "what being late counts", low=0, high=1000, default=None, example="5")

    def __post_init__(self) -> None:
        needed = NEEDED[self.kind]
        known = {*needed, *ALSO.get(self.kind, ()), "kind"}
        faults = []
        for field in fields_of(Happening):
            value = getattr(self, field.name)
            empty = value is None or value == ""
            if empty and field.name in needed:
                allowed = f"{field.allowed}; {self.kind} needs {_listed(needed)}"
                faults.append(Fault(field.label, "", allowed, f"write it: {field.help}"))
            elif not empty and field.name not in known:
                faults.append(Fault(field.label, value, f"empty for {self.kind}", "delete it"))
        if self.since is not None and self.until is not None and self.until < self.since:
            faults.append(Fault("until", f"{self.until:%Y-%m-%d %H:%M}", "not before since", "correct one of the two"))
        if self.kind == "order added" and self.quantity == 0:
            faults.append(Fault("quantity", 0, "at least 1 for an order added", "correct the quantity"))
        if faults:
            raise DesignError(*faults)

    @property
    def order_line(self) -> str:
        """Order and line in one."""
        return f"{self.order}/{self.line}"


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(name.replace("_", " ") for name in names)


def read_happenings(given: str) -> tuple[Happening, ...]:
    """Happenings from text: a JSON list of objects, or CSV with the fields' names as headings.

    Raises DesignError with everything wrong, each fault with its row.

    >>> read_happenings("kind,machine,until\\nmachine down,PRESS-A,2026-12-01 14:00")[0].machine
    'PRESS-A'
    >>> read_happenings('[{"kind": "lot held", "lot": "L-7"}]')[0].lot
    'L-7'
    >>> read_happenings("kind,lot\\nlot hold,L-7")
    Traceback (most recent call last):
    naptuft.errors.DesignError: happenings, row 2, kind: 'lot hold'; allowed: one of done, started, not started, machine down, lot held, order added, quantity changed, frozen, pinned; did you mean lot held?
    """
    rows, faults = _json_rows(given) if given.lstrip().startswith(("[", "{")) else _csv_rows(given)
    read = []
    for place, row in rows:
        record, wrong, _ = read_record(Happening, row, f"{place}, ")
        faults += wrong
        read.append(record)
    if faults:
        raise DesignError(*faults)
    return tuple(read)


def _json_rows(given: str) -> tuple[list[tuple[str, Mapping[str, Any]]], list[Fault]]:
    try:
        rows = json.loads(given)
    except json.JSONDecodeError as error:
        place = f"happenings, line {error.lineno}"
        return [], [Fault(place, error.msg, "a JSON list of objects", "correct the JSON")]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        return [], [Fault("happenings", type(rows).__name__, "a JSON list of objects", "put them between [ and ]")]
    return [(f"happenings, row {number}", row) for number, row in enumerate(rows, 1)], []


def _csv_rows(given: str) -> tuple[list[tuple[str, Mapping[str, Any]]], list[Fault]]:
    lines = list(csv.reader(io.StringIO(given.lstrip("\ufeff"), newline="")))
    if not lines:
        return [], []
    headings = [heading.strip() for heading in lines[0]]
    rows, faults = [], []
    for number, cells in enumerate(lines[1:], 2):
        if all(is_blank(cell) for cell in cells):
            continue
        if any(not is_blank(cell) for cell in cells[len(headings) :]):
            allowed = f"at most {len(headings)} cells, as there are headings"
            faults.append(Fault(f"happenings, row {number}", len(cells), allowed, "put texts with commas in quotes"))
        named = zip(headings, cells, strict=False)
        rows.append((f"happenings, row {number}", {name: cell for name, cell in named if not is_blank(cell)}))
    return rows, faults


def happenings_csv(happenings: tuple[Happening, ...]) -> str:
    """The text `read_happenings` reads back as the same happenings."""
    fields = fields_of(Happening)
    text_of = io.StringIO(newline="")
    writer = csv.writer(text_of, lineterminator="\n")
    writer.writerow(field.name for field in fields)
    for happening in happenings:
        cells = (write_value(field, getattr(happening, field.name)) for field in fields)
        writer.writerow("" if cell is None else cell for cell in cells)
    return text_of.getvalue()


def check_happenings(
    book: Book, plan: Plan, at: datetime.datetime, happenings: tuple[Happening, ...]
) -> tuple[Fault, ...]:
    """Everything in happenings that the book or the plan does not know, or that lies in the future."""
    centres = {(operation.work_order, operation.step): operation.work_centre for operation in plan.operations}
    steps = centres.keys()
    numbers = {order.number for order in plan.work_orders}
    machines = {machine.code: machine.work_centre for machine in book.machines}
    orders = {order.name for order in book.orders}
    faults: list[Fault] = []
    told: dict[tuple[str, int | None], int] = {}
    for row, happening in enumerate(happenings, 1):
        place = f"happening {row}, {happening.kind}"

        def unknown(name: str, value: object, known: Any, what: str, place: str = place) -> None:
            if value not in known:
                faults.append(
                    Fault(f"{place}, {name}", value, what, nearest(str(value), [str(k) for k in list(known)[:2000]]))
                )

        if happening.work_order:
            unknown("work order", happening.work_order, numbers, "a work order of the plan")
            key = happening.work_order, happening.step
            if happening.work_order in numbers and key not in steps:
                own = sorted(step for number, step in steps if number == happening.work_order)
                allowed = f"a step of {happening.work_order}: {', '.join(map(str, own))}"
                faults.append(Fault(f"{place}, step", happening.step, allowed, "write one of these"))
            elif key in told:
                allowed = f"told once; happening {told[key]} tells of it already"
                faults.append(Fault(place, f"{happening.work_order} step {happening.step}", allowed, "delete one"))
            told.setdefault(key, row)
        if happening.machine:
            unknown("machine", happening.machine, machines, "a machine of the book")
        centre = None if happening.step is None else centres.get((happening.work_order, happening.step))
        if happening.kind == "pinned" and centre and machines.get(happening.machine, centre) != centre:
            able = ", ".join(sorted(code for code, at_centre in machines.items() if at_centre == centre))
            allowed = f"a machine of {centre}: {able}"
            faults.append(Fault(f"{place}, machine", happening.machine, allowed, "write one of these"))
        if happening.lot:
            unknown("lot", happening.lot, book.lot, "a lot of the book")
        if happening.kind == "quantity changed":
            unknown("order", happening.order_line, orders, "an order line of the book")
        if happening.kind == "order added":
            unknown("product", happening.product, book.product, "a product of the book")
            if happening.order_line in orders:
                mend = "give it another line, or tell of a quantity changed"
                faults.append(Fault(f"{place}, order", happening.order_line, "an order line not in the book", mend))
        ahead = {"since": happening.since} if happening.kind == "pinned" else {}
        if happening.kind == "frozen":
            ahead["until"] = happening.until
        for name, when in ahead.items():
            if when is not None and when < at.replace(tzinfo=None):
                allowed = f"not before the time of replanning, {at:%Y-%m-%d %H:%M}"
                faults.append(Fault(f"{place}, {name}", f"{when:%Y-%m-%d %H:%M}", allowed, "correct the time"))
        past = {} if happening.kind == "pinned" else {"since": happening.since}
        if happening.kind == "done":
            past["until"] = happening.until
        for name, when in past.items():
            if when is not None and when > at.replace(tzinfo=None):
                allowed = f"not after the time of replanning, {at:%Y-%m-%d %H:%M}"
                faults.append(Fault(f"{place}, {name}", f"{when:%Y-%m-%d %H:%M}", allowed, "correct the time"))
    return tuple(faults)


def with_zone(when: datetime.datetime | None, book: Book) -> datetime.datetime | None:
    """A time by the plant's clock as a moment."""
    return None if when is None else when.replace(tzinfo=book.start.tzinfo)
