"""The plan as a workbook: one sheet a table, cells typed, units in the headings."""

from __future__ import annotations

import datetime
import io
import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from naptuft.planning.material_plan import MaterialNeed
from naptuft.planning.plan import Plan
from naptuft.quantity import from_si, unit_sign

LONGEST_TEXT = 32_767
"""Letters a cell holds (ECMA-376, limits of the format as programs keep them)."""


@dataclass(frozen=True)
class Column:
    """One column of a sheet.

    heading  what stands in it, with its unit in brackets
    kind     text, whole, number, share (0..1), money, fine money (4 places), time, day or yes
    of       picks the value from a row's record
    """

    heading: str
    kind: str
    of: Callable[[Any], Any]
    width: float = 12.0


@dataclass(frozen=True)
class Table:
    """One sheet: its name, its columns and the records of its rows."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[Any, ...]


def tables(plan: Plan, needs: tuple[MaterialNeed, ...] = ()) -> tuple[Table, ...]:
    """Every sheet of the plan's workbook, in order; the last two are of the material plan, where there is one."""
    return (
        _orders(plan),
        _work_orders(plan),
        _operations(plan),
        _allocations(plan),
        _blends(plan),
        _profiles(plan),
        _cut_lists(plan),
        _purchases(plan),
        _designs(plan),
        _costs(plan),
        _loads(plan),
        _checks(plan),
        *((_material_days(needs), _proposed_orders(plan, needs)) if needs else ()),
    )


def _field(heading: str, kind: str, name: str, width: float = 12.0) -> Column:
    return Column(heading, kind, lambda row: getattr(row, name), width)


def _listed(heading: str, name: str, width: float = 24.0) -> Column:
    return Column(heading, "text", lambda row: ", ".join(getattr(row, name)), width)


def _orders(plan: Plan) -> Table:
    money = f"[{plan.currency}]"
    return Table(
        "Orders",
        (
            _field("order", "text", "order"),
            _field("line", "whole", "line", 6),
            _field("customer", "text", "customer", 22),
            _field("product", "text", "product", 14),
            _field("product name", "text", "product_name", 30),
            _field("product line", "text", "product_line"),
            _field("quantity", "whole", "quantity", 10),
            _field("due", "time", "due", 17),
            _field("ready", "time", "finish", 17),
            _field("state", "text", "state", 11),
            _field("late [min]", "whole", "late_minutes", 10),
            _field("short", "whole", "short_quantity", 8),
            _field("from stock", "whole", "from_stock", 10),
            _field(f"value {money}", "money", "value"),
            _field(f"cost {money}", "money", "cost"),
            _listed("work orders", "work_orders"),
            _field("reason", "text", "reason", 80),
        ),
        plan.orders,
    )


def _work_orders(plan: Plan) -> Table:
    return Table(
        "Work orders",
        (
            _field("work order", "text", "number", 11),
            _field("product", "text", "product", 14),
            _field("product name", "text", "product_name", 30),
            _field("product line", "text", "product_line"),
            _field("stage", "text", "stage", 8),
            _field("good wanted", "number", "quantity"),
            _field("to start", "number", "started"),
            _field("unit", "text", "unit", 6),
            _field("release", "time", "release", 17),
            _field("start", "time", "start", 17),
            _field("finish", "time", "finish", 17),
            _field("due", "time", "due", 17),
            _listed("after", "needs"),
            Column(
                "serves",
                "text",
                lambda row: ", ".join(f"{s.order}/{s.line}: {s.quantity:g}" for s in row.serves),
                40,
            ),
        ),
        plan.work_orders,
    )


def _operations(plan: Plan) -> Table:
    return Table(
        "Operations",
        (
            _field("work order", "text", "work_order", 11),
            _field("step", "whole", "step", 6),
            _field("operation", "text", "name", 24),
            _field("work centre", "text", "work_centre"),
            _field("machine", "text", "machine", 10),
            _field("start", "time", "start", 17),
            _field("end", "time", "end", 17),
            _field("run [min]", "whole", "run_minutes", 9),
            _field("changeover [min]", "whole", "changeover_minutes", 10),
            _field("wait after [min]", "whole", "wait_minutes", 10),
            _field("quantity", "number", "quantity"),
            _field("unit", "text", "unit", 6),
            _field("set for", "text", "family", 18),
            _field("racks of", "text", "rack", 9),
            _field("racks held", "whole", "racks", 7),
            _field("product line", "text", "product_line"),
            _field("hazard", "text", "hazard", 15),
            _field("instruction", "text", "instruction", 40),
            _field("not earlier because", "text", "earliest_start_reason", 50),
        ),
        plan.operations,
    )


def _allocations(plan: Plan) -> Table:
    return Table(
        "Allocations",
        (
            _field("work order", "text", "work_order", 11),
            _field("material", "text", "material", 14),
            _field("material name", "text", "material_name", 34),
            _field("lot", "text", "lot"),
            _field("source", "text", "source", 10),
            _field("quantity", "number", "quantity"),
            _field("unit", "text", "unit", 6),
            _field(f"cost [{plan.currency}]", "money", "cost"),
        ),
        plan.allocations,
    )


def _blends(plan: Plan) -> Table:
    return Table(
        "Blends",
        (
            Column("work order", "text", lambda row: row[0].work_order, 11),
            Column("filling", "text", lambda row: row[0].product, 14),
            Column("lot", "text", lambda row: row[1].lot),
            Column("material", "text", lambda row: row[1].material, 14),
            Column("weigh out, moist [g]", "number", lambda row: row[1].grams),
            Column("blend wanted [g]", "number", lambda row: row[0].wanted_grams),
            Column("blend combings [g]", "number", lambda row: row[0].combings_grams),
            Column(f"blend cost [{plan.currency}]", "money", lambda row: row[0].cost),
            Column(f"bound [{plan.currency}]", "money", lambda row: row[0].bound),
            Column("proven optimal", "yes", lambda row: row[0].proven_optimal, 10),
        ),
        tuple((blend, line) for blend in plan.blends for line in blend.lots),
    )


def _profiles(plan: Plan) -> Table:
    return Table(
        "Profiles",
        (
            Column("work order", "text", lambda row: row[0].work_order, 11),
            Column("filling", "text", lambda row: row[0].product, 14),
            Column("length [mm]", "number", lambda row: row[1].length_mm),
            Column("asked [% of weight]", "share", lambda row: row[1].asked),
            Column("allowed ± [% of weight]", "share", lambda row: row[1].tolerance),
            Column("got [% of weight]", "share", lambda row: row[1].got),
        ),
        tuple((blend, bar) for blend in plan.blends for bar in blend.profile),
    )


def _cut_lists(plan: Plan) -> Table:
    return Table(
        "Cut lists",
        (
            Column("work order", "text", lambda row: row[0].work_order, 11),
            Column("kind", "text", lambda row: row[0].kind, 7),
            Column("material", "text", lambda row: row[0].material, 14),
            Column("lot", "text", lambda row: row[0].lot),
            Column("stock length [mm]", "number", lambda row: row[0].stock_length_mm),
            Column("cut width [mm]", "number", lambda row: row[0].kerf_mm, 9),
            Column("end trim [mm]", "number", lambda row: row[0].end_trim_mm, 9),
            Column("pattern", "whole", lambda row: row[1], 8),
            Column("times", "whole", lambda row: row[2].count, 7),
            Column("for work order", "text", lambda row: row[3].work_order, 11),
            Column("becomes", "text", lambda row: row[3].name, 30),
            Column("piece [mm]", "number", lambda row: row[3].length_mm, 10),
            Column("pieces a pattern", "whole", lambda row: row[3].count, 9),
            Column("offcut a pattern [mm]", "number", lambda row: row[2].offcut_mm),
            Column("stock pieces in all", "whole", lambda row: row[0].rolls, 10),
            Column("fewest possible", "whole", lambda row: row[0].lower_bound, 10),
            Column("proven optimal", "yes", lambda row: row[0].proven_optimal, 10),
            Column("in pieces [%]", "share", lambda row: row[0].yield_share, 10),
        ),
        tuple(
            (cut, place, pattern, piece)
            for cut in plan.cut_lists
            for place, pattern in enumerate(cut.patterns, start=1)
            for piece in pattern.pieces
        ),
    )


def _purchases(plan: Plan) -> Table:
    return Table(
        "Purchases",
        (
            _field("purchase", "text", "number", 11),
            _field("material", "text", "material", 14),
            _field("material name", "text", "material_name", 34),
            _field("buy", "number", "quantity"),
            _field("used by this plan", "number", "needed"),
            _field("unit", "text", "unit", 6),
            _field("order by", "day", "order_by"),
            _field("arrives", "time", "arrives", 17),
            _field(f"cost [{plan.currency}]", "money", "cost"),
            _listed("for", "serves", 50),
        ),
        plan.purchases,
    )


def _designs(plan: Plan) -> Table:
    rows = [
        (design, "figure", v.label, from_si(v.value, v.unit), unit_sign(v.unit), None, "", None)
        for design in plan.designs
        for v in design.result.values
    ] + [
        (
            design,
            "check",
            c.label,
            from_si(c.value, c.unit),
            unit_sign(c.unit),
            from_si(c.limit, c.unit),
            c.sense,
            c.passed,
        )
        for design in plan.designs
        for c in design.result.checks
    ]
    places = {design.product: place for place, design in enumerate(plan.designs)}
    return Table(
        "Designs",
        (
            Column("product", "text", lambda row: row[0].product, 14),
            Column("product name", "text", lambda row: row[0].product_name, 30),
            Column("calculation", "text", lambda row: row[0].calculation, 16),
            Column("what", "text", lambda row: row[1], 8),
            Column("name", "text", lambda row: row[2], 34),
            Column("value", "number", lambda row: row[3]),
            Column("unit of value and limit", "text", lambda row: row[4], 10),
            Column("limit", "number", lambda row: row[5]),
            Column("must be", "text", lambda row: row[6], 9),
            Column("kept", "yes", lambda row: row[7], 7),
        ),
        tuple(sorted(rows, key=lambda row: places[row[0].product])),
    )


def _costs(plan: Plan) -> Table:
    money = f"[{plan.currency}]"
    return Table(
        "Costs",
        (
            _field("of", "text", "of", 11),
            _field("name", "text", "name", 14),
            _field("quantity", "number", "quantity"),
            _field("unit", "text", "unit", 6),
            *(
                _field(f"{kind.replace('_', ' ')} {money}", "fine money", kind)
                for kind in ("material", "machine", "labour", "energy", "overhead", "scrap", "regrind_credit", "total")
            ),
        ),
        plan.costs,
    )


def _loads(plan: Plan) -> Table:
    return Table(
        "Loads",
        (
            _field("work centre", "text", "work_centre"),
            _field("name", "text", "name", 28),
            _field("machines", "whole", "machines", 9),
            _field("open [min]", "whole", "open_minutes"),
            _field("running [min]", "whole", "run_minutes"),
            _field("changing over [min]", "whole", "changeover_minutes"),
            _field("in use [%]", "share", "share", 9),
        ),
        plan.loads,
    )


def _checks(plan: Plan) -> Table:
    return Table(
        "Checks",
        (
            _field("rule", "text", "rule", 24),
            _field("where", "text", "place", 40),
            _field("what is wrong", "text", "message", 80),
        ),
        plan.checks,
    )


_FORMATS = {
    "text": {},
    "whole": {"num_format": "#,##0"},
    "number": {"num_format": "#,##0.###"},
    "share": {"num_format": "0.0%"},
    "money": {"num_format": "#,##0.00"},
    "fine money": {"num_format": "#,##0.00##"},
    "time": {"num_format": "yyyy-mm-dd hh:mm"},
    "day": {"num_format": "yyyy-mm-dd"},
    "yes": {"align": "center"},
}


def _material_days(needs: tuple[MaterialNeed, ...]) -> Table:
    return Table(
        "Material days",
        (
            Column("material", "text", lambda row: row[0].material, 14),
            Column("name", "text", lambda row: row[0].name, 34),
            Column("day", "day", lambda row: row[1].day),
            Column("taken", "number", lambda row: row[1].needed),
            Column("arrives", "number", lambda row: row[1].arrives),
            Column("left", "number", lambda row: row[1].stock),
            Column("unit", "text", lambda row: row[0].unit, 6),
            Column("safety stock", "number", lambda row: row[0].safety_stock),
        ),
        tuple((need, day) for need in needs for day in need.days),
    )


def _proposed_orders(plan: Plan, needs: tuple[MaterialNeed, ...]) -> Table:
    return Table(
        "Proposed orders",
        (
            Column("material", "text", lambda row: row[0].material, 14),
            Column("name", "text", lambda row: row[0].name, 34),
            Column("order by", "day", lambda row: row[1].order_by),
            Column("arrives", "day", lambda row: row[1].arrives),
            Column("buy", "number", lambda row: row[1].quantity),
            Column("unit", "text", lambda row: row[0].unit, 6),
            Column(f"price of one [{plan.currency}]", "fine money", lambda row: row[1].price_per_unit),
            Column(f"cost [{plan.currency}]", "money", lambda row: row[1].cost),
            Column("for", "text", lambda row: ", ".join(row[1].serves), 50),
            Column("proven least", "yes", lambda row: row[0].proven),
        ),
        tuple((need, order) for need in needs for order in need.proposed),
    )


def workbook(plan: Plan, needs: tuple[MaterialNeed, ...] = ()) -> bytes:
    """The bytes of plan.xlsx; the same bytes for the same plan."""
    import xlsxwriter

    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True, "default_date_format": "yyyy-mm-dd hh:mm"})
    book.set_properties({"title": f"Plan of {plan.plant}", "created": plan.start.replace(tzinfo=None)})
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "bottom", "bottom": 1, "font_color": "#1E2A2F"})
    formats = {kind: book.add_format({"valign": "top", **facts}) for kind, facts in _FORMATS.items()}
    for table in tables(plan, needs):
        _write(book.add_worksheet(table.name), table, head, formats)
    book.close()
    return file.getvalue()


def _write(sheet: Any, table: Table, head: Any, formats: dict[str, Any]) -> None:
    sheet.set_row(0, 32)
    for place, column in enumerate(table.columns):
        sheet.set_column(place, place, column.width)
        sheet.write_string(0, place, column.heading, head)
    for row, record in enumerate(table.rows, start=1):
        for place, column in enumerate(table.columns):
            _cell(sheet, row, place, column.of(record), formats[column.kind])
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, len(table.rows), len(table.columns) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


def _cell(sheet: Any, row: int, place: int, value: Any, form: Any) -> None:
    """One typed cell; a text is never read as a formula or link."""
    match value:
        case None:
            sheet.write_blank(row, place, None, form)
        case bool():
            sheet.write_string(row, place, "yes" if value else "no", form)
        case float() if not math.isfinite(value):
            sheet.write_string(row, place, "not known" if math.isnan(value) else "no limit", form)
        case int() | float() | Decimal():
            sheet.write_number(row, place, float(value), form)
        case datetime.datetime():
            sheet.write_datetime(row, place, value.replace(tzinfo=None), form)
        case datetime.date():
            sheet.write_datetime(row, place, datetime.datetime.combine(value, datetime.time()), form)
        case _:
            sheet.write_string(row, place, str(value)[:LONGEST_TEXT], form)
