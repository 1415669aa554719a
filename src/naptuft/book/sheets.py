"""The sheets of the book: one a kind of record, its columns read from the fields the record declares."""

from __future__ import annotations

import dataclasses
import json
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any

from naptuft.book.designs import DESIGN_OF, inputs_of
from naptuft.book.model import (
    LINES,
    Lot,
    LotLength,
    Material,
    Order,
    Part,
    Pin,
    PriceBreak,
    Product,
    RouteStep,
    Settings,
)
from naptuft.calculation import Field, fields_of, write_value
from naptuft.plant.calendar import Closure, Shift
from naptuft.plant.spread import DeliverySpread, Stops, WorkSpread
from naptuft.plant.work_centre import Changeover, Crew, Machine, Rack, WorkCentre
from naptuft.quantity import Measure, from_si, to_si, unit_sign

MARK = "#"
"""Heading of the first column: a row with anything written there is set aside and not read."""

GUIDE = "Guide"
SETTINGS = "Settings"
SETTINGS_HEADINGS = ("name", "value", "help", "example")


@dataclass(frozen=True)
class Sheet:
    """One sheet of the book.

    name     what its tab or file is called
    about    what it holds, in one sentence
    record   the frozen dataclass whose declared fields are its columns
    holds    the attribute of `Book` it fills
    keys     names of the fields that together may stand only once
    refers   field name -> the sheets and columns where its value must stand
    line     the product line, for a sheet of designs
    needed   every book has it; one that is not may be left out
    """

    name: str
    about: str
    record: type
    holds: str
    keys: tuple[str, ...] = ()
    refers: Mapping[str, tuple[tuple[str, str], ...]] = dataclasses.field(default_factory=dict)
    line: str = ""
    needed: bool = True

    @cached_property
    def columns(self) -> tuple[Field, ...]:
        """The fields that are its columns, in order; a design begins with the product it belongs to."""
        return (*_PRODUCT_FIELD, *fields_of(self.record)) if self.line else fields_of(self.record)


_PRODUCT_FIELD = tuple(field for field in fields_of(Part) if field.name == "product")
_ITEM = (("Materials", "code"), ("Products", "code"))
_PRODUCT = (("Products", "code"),)
_WORK_CENTRE = (("Work centres", "code"),)


def design_sheet_name(line: str) -> str:
    """What the sheet of a product line's designs is called.

    >>> design_sheet_name("stock tube")
    'Stock tube designs'
    """
    return f"{line.capitalize()} designs"


def _design_sheet(line: str) -> Sheet:
    record = inputs_of(line)
    assert record is not None
    about = f"The design of each product of the line {line}: one row a product."
    return Sheet(
        design_sheet_name(line), about, record, "designs", ("product",), {"product": _PRODUCT}, line, needed=False
    )


SHEETS = (
    Sheet(SETTINGS, "What holds for the whole book: one value a line.", Settings, "settings"),
    Sheet(
        "Shifts",
        "When each calendar is open: one row a stretch of a weekday.",
        Shift,
        "shifts",
        ("calendar", "weekday", "opens"),
    ),
    Sheet(
        "Closures",
        "Holidays and maintenance: when a calendar or one machine is closed.",
        Closure,
        "closures",
        ("calendar", "start"),
        {"calendar": (("Shifts", "calendar"), ("Machines", "code"))},
    ),
    Sheet("Crews", "People who share a skill.", Crew, "crews", ("code",), {"calendar": (("Shifts", "calendar"),)}),
    Sheet(
        "Work centres",
        "Places where one kind of operation is done.",
        WorkCentre,
        "work_centres",
        ("code",),
        {"crew": (("Crews", "code"),)},
    ),
    Sheet(
        "Machines",
        "The machines of each work centre.",
        Machine,
        "machines",
        ("code",),
        {"work_centre": _WORK_CENTRE, "calendar": (("Shifts", "calendar"),)},
    ),
    Sheet(
        "Changeovers",
        "Time to reset a work centre from one family to another.",
        Changeover,
        "changeovers",
        ("work_centre", "before", "after"),
        {"work_centre": _WORK_CENTRE},
    ),
    Sheet("Racks", "Stores of fixed size where work dries or cures.", Rack, "racks", ("code",)),
    Sheet(
        "Spreads",
        "How times and yields scatter about the plan, by work centre, product or step; none: as planned.",
        WorkSpread,
        "work_spreads",
        ("work_centre", "product", "step", "of"),
        {"work_centre": _WORK_CENTRE, "product": _PRODUCT},
        needed=False,
    ),
    Sheet(
        "Stops",
        "How often machines break down and how long repairs take; none: they do not.",
        Stops,
        "stops",
        ("machine",),
        {"machine": (("Machines", "code"),)},
        needed=False,
    ),
    Sheet("Materials", "What is bought.", Material, "materials", ("code",)),
    Sheet(
        "Price breaks",
        "Lower prices for larger purchases: one row a quantity from which one holds.",
        PriceBreak,
        "price_breaks",
        ("material", "from_quantity"),
        {"material": (("Materials", "code"),)},
        needed=False,
    ),
    Sheet("Lots", "What is in stock or on its way.", Lot, "lots", ("code",), {"material": _ITEM}),
    Sheet(
        "Lot lengths",
        "The length profile of each lot of bristle or filament: one row a length class.",
        LotLength,
        "lot_lengths",
        ("lot", "length"),
        {"lot": (("Lots", "code"),)},
    ),
    Sheet(
        "Delivery spreads",
        "How late deliveries come; none: on their day.",
        DeliverySpread,
        "delivery_spreads",
        ("material",),
        needed=False,
    ),
    Sheet("Products", "What is made, to sell or to go into something else.", Product, "products", ("code",)),
    *(_design_sheet(line) for line in LINES if line in DESIGN_OF),
    Sheet(
        "Parts",
        "What goes into one unit of each product.",
        Part,
        "parts",
        ("product", "part"),
        {"product": _PRODUCT, "part": _ITEM},
    ),
    Sheet(
        "Routes",
        "The operations that make each product, in order.",
        RouteStep,
        "routes",
        ("product", "step"),
        {
            "product": _PRODUCT,
            "work_centre": _WORK_CENTRE,
            "rack": (("Racks", "code"),),
            "preferred": (("Machines", "code"),),
        },
    ),
    Sheet("Orders", "What customers ordered.", Order, "orders", ("order", "line"), {"product": _PRODUCT}),
    Sheet(
        "Pins",
        "Steps that must be done on one machine at one time; none: the plan is free.",
        Pin,
        "pins",
        ("order", "line", "product", "step"),
        {"order": (("Orders", "order"),), "product": _PRODUCT, "machine": (("Machines", "code"),)},
        needed=False,
    ),
)
SHEET_NAMED: Mapping[str, Sheet] = {sheet.name: sheet for sheet in SHEETS}


def heading(field: Field) -> str:
    """What stands above a column: its label, and its unit in brackets.

    >>> from naptuft.book.model import LotLength
    >>> [heading(field) for field in fields_of(LotLength)]
    ['lot', 'length [mm]', 'share [%]']
    """
    return f"{field.label} [{unit_sign(field.unit)}]" if field.unit else field.label


def explanation(field: Field) -> str:
    """What stands under a heading: what to write, what is allowed, and what an empty cell means."""
    empty = ""
    if not field.required:
        default = write_value(field, field.default)
        unit = f" {unit_sign(field.unit)}" if field.unit else ""
        empty = "may be empty" if default in (None, "") else f"if empty: {default}{unit}"
    allowed = "" if field.kind == "text" else field.allowed
    return "; ".join(part for part in (field.help, allowed, empty) if part)


def cell_of(field: Field, value: Any) -> Any:
    """A value as a cell holds it, so that reading gives the same value to the last digit.

    A quantity or amount is a number in the field's unit where that is exact, else text that is.

    >>> cell_of(fields_of(LotLength)[1], 0.0635), cell_of(fields_of(LotLength)[1], 0.1 / 3)
    (63.5, '33.333333333333336 mm')
    """
    if value is None:
        return None
    match field.kind:
        case "quantity":
            return _number_cell(_shown(value, field.unit), field.unit)
        case "measure":
            return _measure_cell(value)
        case "money":
            figure = float(value)
            exact = Decimal(repr(figure)) == value and _fits_a_cell(figure)
            return figure if exact else f"{value:f}"
        case "rows":
            return _rows_cell(field, value)
        case "date" | "moment":
            return value
        case "text" | "choice":
            return value or None
        case _:
            return write_value(field, value)


def _shown(value: float, unit: str) -> float:
    """The figure in `unit` that reads back as exactly this SI value, the shortest that does."""
    figure = from_si(value, unit)
    for digits in range(6, 17):
        short = float(f"{figure:.{digits}g}")
        if to_si(short, unit) == value:
            return short
    for near in (figure, math.nextafter(figure, math.inf), math.nextafter(figure, -math.inf)):
        if to_si(near, unit) == value:
            return near
    return figure


def _fits_a_cell(figure: float) -> bool:
    """A workbook keeps sixteen digits of a number; one that needs seventeen is written as text."""
    return float(f"{figure:.16g}") == figure


def _number_cell(figure: float, unit: str) -> float | int | str:
    if not _fits_a_cell(figure):
        return f"{figure!r} {unit}".rstrip()
    return int(figure) if figure.is_integer() and abs(figure) < 1e15 else figure


def _measure_cell(value: Measure) -> float | int | str:
    if not value.unit:
        return _number_cell(float(value.number), "")
    text = str(value)
    return text if float(text.split()[0]) == value.number else f"{value.number!r} {value.unit}"


def _rows_cell(field: Field, rows: tuple[Any, ...]) -> str:
    table = [[_inner_cell(column, getattr(row, column.name)) for column in field.columns] for row in rows]
    if any(re.search(r"[|;\n]|^\[", cell) for row in table for cell in row if cell):
        names = [column.name for column in field.columns]
        return json.dumps([dict(zip(names, row, strict=True)) for row in table], ensure_ascii=False)
    return "; ".join(" | ".join(cell or "" for cell in row) for row in table)


def _inner_cell(column: Field, value: Any) -> str | None:
    cell = cell_of(column, value)
    if cell is None:
        return None
    if isinstance(cell, float | int) and column.kind in ("quantity", "whole") and column.unit:
        return f"{cell!r} {column.unit}"
    return write_value(column, value) if column.kind in ("date", "moment") else str(cell)
