"""What several rules ask of a book: units, lines and kinds by code."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from naptuft.book.entry import Reading, Row
from naptuft.book.model import PINT_UNITS
from naptuft.errors import Fault, UnitError
from naptuft.quantity import Measure, kind_of

CUT_LIST = "cut list"
BLEND = "blend"
BLENDED_KINDS = ("bristle", "filament")


@dataclass(frozen=True)
class Facts:
    """Of every material and product whose row could be read, by code.

    units  what it is counted in
    kinds  the kind of a material, the line of a product
    lines  the line of a product
    """

    units: Mapping[str, str]
    kinds: Mapping[str, str]
    lines: Mapping[str, str]

    def is_not(self, code: str, *kinds: str) -> bool:
        """True where a known item is surely of none of these kinds."""
        return code in self.kinds and self.kinds[code] not in kinds

    def counted_as(self, code: str) -> str:
        """The kind of quantity an item is counted in; empty where that is not known."""
        unit = self.units.get(code, "")
        return kind_of(PINT_UNITS.get(unit, unit)) if unit else ""


def facts_of(reading: Reading) -> Facts:
    """The facts of a reading."""
    materials, products = reading["Materials"], reading["Products"]
    lines = _column(products, "line")
    return Facts(
        {**_column(materials, "unit"), **_column(products, "unit")}, {**_column(materials, "kind"), **lines}, lines
    )


def _column(rows: tuple[Row, ...], column: str) -> dict[str, str]:
    return {row.values["code"]: row.values[column] for row in rows if "code" in row.values and column in row.values}


def fits(row: Row, column: str, unit: str | None) -> bool:
    """True where a measure is of the kind its item is counted in."""
    return not any(wrong_kind(row, column, unit))


def wrong_kind(row: Row, column: str, unit: str | None) -> Iterator[Fault]:
    """A fault where a measure is of another kind than the unit its item is counted in."""
    measure: Measure | None = row.values.get(column)
    if measure is None or unit is None or not measure.unit:
        return
    wanted = kind_of(PINT_UNITS.get(unit, unit))
    try:
        found = kind_of(measure.unit)
    except UnitError:
        return
    if found != wanted:
        mend = f"write it in {unit} or another unit of that kind; {measure} is {found}"
        yield Fault(row.place(column), str(measure), f"{wanted}, as it is counted in {unit}", mend)
