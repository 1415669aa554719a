"""Designs: each on the sheet of its product's line, and worked out once to see that it can be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from naptuft.book.check.facts import BLEND, facts_of
from naptuft.book.check.references import names_meant
from naptuft.book.designs import DESIGN_OF, inputs_of
from naptuft.book.entry import Reading
from naptuft.book.sheets import SHEETS, design_sheet_name
from naptuft.calculation import Calculation, Result
from naptuft.errors import Fault, NaptuftError


@dataclass(frozen=True)
class Outcome:
    """What came of working out one design: its result, or its faults."""

    result: Result | None
    faults: tuple[Fault, ...] = ()


def work_out_designs(reading: Reading) -> Mapping[str, Outcome]:
    """The outcome of every design that could be read, by product code."""
    lines = facts_of(reading).lines
    outcomes: dict[str, Outcome] = {}
    for row in reading.designs:
        code = row.values.get("product")
        calculation = DESIGN_OF[row.sheet.line]
        if code is None or lines.get(code, row.sheet.line) != row.sheet.line or code in outcomes:
            continue
        if row.record is None:
            outcomes[code] = Outcome(None)
        elif isinstance(calculation, Calculation):
            try:
                outcomes[code] = Outcome(calculation.run(row.record))
            except NaptuftError as error:
                faults = tuple(replace(fault, place=f"{row.place()}, {fault.place}") for fault in error.faults)
                outcomes[code] = Outcome(None, faults)
    return outcomes


def check_designs(reading: Reading, outcomes: Mapping[str, Outcome]) -> Iterator[Fault]:
    """Designs on the wrong sheet, designs that cannot be worked out, and products that lack one."""
    lines = facts_of(reading).lines
    for row in reading.designs:
        code = row.values.get("product")
        line = lines.get(code or "", row.sheet.line)
        if line != row.sheet.line:
            right = f"the sheet {design_sheet_name(line)}" if inputs_of(line) else "no sheet: it has no design"
            allowed = f"a product of the line {row.sheet.line}; {code} is of the line {line}"
            yield Fault(row.place("product"), code, allowed, f"move it to {right}, or correct the line of the product")
    for outcome in outcomes.values():
        yield from outcome.faults
    yield from _lacking(reading)


def _lacking(reading: Reading) -> Iterator[Fault]:
    designed = {code for sheet in SHEETS if sheet.line for code in names_meant(reading, sheet.name, "product")}
    blended = {row.values.get("product") for row in reading["Parts"] if row.values.get("from_design") == BLEND}
    for row in reading["Products"]:
        code, line = row.values.get("code"), row.values.get("line", "other")
        if code is None or inputs_of(line) is None or code in designed:
            continue
        if line == "filling" and code not in blended:
            continue
        sheet = design_sheet_name(line)
        there = "" if sheet in reading.present else ", which is missing: take it from a new blank book"
        yield Fault(
            row.place("code"), code, "a product with its design", f"add a row for it to the sheet {sheet}{there}"
        )
