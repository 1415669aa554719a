"""Routes and orders: how each product is made, and what is ordered of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil, floor

from naptuft.book.check.designs import Outcome
from naptuft.book.check.facts import Facts, facts_of, fits
from naptuft.book.check.products import lacking_figure
from naptuft.book.entry import Reading, Row
from naptuft.errors import Fault
from naptuft.quantity import from_si, show


def check_routes(reading: Reading, outcomes: Mapping[str, Outcome]) -> Iterator[Fault]:
    """Everything wrong with routes and orders, beyond names that lead nowhere."""
    facts = facts_of(reading)
    products = {row.values.get("code"): row for row in reading["Products"]}
    racks = {row.values.get("code"): row.values.get("capacity") for row in reading["Racks"]}
    made = {row.values.get("product") for row in reading["Routes"] if row.values.get("stage", "make") == "make"}
    cut = {row.values.get("product") for row in reading["Routes"]}
    for row in reading["Products"]:
        code = row.values.get("code")
        if code in cut - made:
            mend = "add a step of the stage make to the sheet Routes"
            yield Fault(row.place("code"), code, "a product with a step that makes it, not only cuts it", mend)
    centres = {row.values.get("code"): row.values.get("work_centre") for row in reading["Machines"]}
    for row in reading["Routes"]:
        product = row.values.get("product", "")
        preferred, centre = row.values.get("preferred"), row.values.get("work_centre")
        if preferred in centres and centre and centres[preferred] not in (centre, None):
            allowed = f"a machine of {centre}; {preferred} is one of {centres[preferred]}"
            yield Fault(row.place("preferred"), preferred, allowed, "correct it, or leave it empty")
        if row.values.get("stage") == "cut" and facts.lines.get(product, "stock tube") != "stock tube":
            allowed = f"cut only for a stock tube; {product} is of the line {facts.lines[product]}"
            yield Fault(row.place("stage"), "cut", allowed, "write make, or leave it empty")
        wait, most_wait = row.values.get("wait"), row.values.get("most_wait")
        if wait is not None and most_wait is not None and most_wait < wait:
            allowed = f"not below the wait, {show(wait, 'min')}"
            yield Fault(row.place("most_wait"), show(most_wait, "min"), allowed, "correct one of the two")
        if most_wait is not None and row.values.get("transfer") is not None:
            allowed = "empty where a longest wait counts from the end of the step"
            yield Fault(row.place("transfer"), row.values["transfer"], allowed, "empty one of the two")
        if row.record is None:
            continue
        yield from _step_time(row, facts.lines.get(product), outcomes.get(product))
        if row.record.rack in racks or not row.record.rack:
            yield from _step_racks(row, racks.get(row.record.rack), products.get(product))
    yield from _orders(reading, facts)


def _step_time(row: Row, line: str | None, outcome: Outcome | None) -> Iterator[Fault]:
    each, figure = row.record.time_each, row.record.from_design
    if each is None and not figure:
        allowed = "a time for one, or the name of a design figure in the column from design"
        yield Fault(row.place("time_each"), "", allowed, "write one of the two")
    elif each is not None and figure:
        yield Fault(row.place("from_design"), figure, "empty where a time for one is written", "delete one of the two")
    elif figure and line is not None:
        yield from lacking_figure(row, figure, line, outcome, "a time")


def _step_racks(row: Row, capacity: int | None, product: Row | None) -> Iterator[Fault]:
    rack, each = row.record.rack, row.record.per_rack
    if bool(rack) != (each is not None):
        column, mend = (
            ("per_rack", "write how many go on one rack")
            if rack
            else ("rack", "write which racks, or empty the column per rack")
        )
        yield Fault(row.place(column), "", "racks and how many go on one, both or neither", mend)
        return
    if each is None or capacity is None or product is None or product.record is None:
        return
    holds = floor(capacity * each * (1 - product.record.scrap) + 1e-9)
    if holds < 1:
        mend = "raise the racks or how many go on one"
        yield Fault(row.place("per_rack"), each, "room for at least one good unit on all the racks", mend)
        return
    unit, least = product.record.unit, product.record.least_batch
    if least is None or not fits(product, "least_batch", unit):
        return
    batch = ceil(from_si(least.si(unit), unit) / (1 - product.record.scrap) - 1e-9)
    if batch > capacity * each:
        allowed = (
            f"racks for the least batch of {batch:,} with scrap; all {capacity} of {rack} hold {capacity * each:,}"
        )
        yield Fault(row.place("per_rack"), each, allowed, "lower the least batch, or add racks")


def _orders(reading: Reading, facts: Facts) -> Iterator[Fault]:
    for row in reading["Orders"]:
        product = row.values.get("product", "")
        unit = facts.units.get(product)
        if product in facts.lines and unit not in (None, "pcs"):
            allowed = f"a product counted in pcs; {product} is counted in {unit}"
            yield Fault(row.place("product"), product, allowed, "order what is made of it, or count it in pcs")
