"""Whole designs: each product line's sheets, worked out, compared and written into a folder."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

from naptuft import brush, handle, roller, tray
from naptuft.book.model import Book, Lot
from naptuft.calculation import Calculation, Result, fields_of, nearest, write_value
from naptuft.design_sheet import DesignSheet, Sensitivity, WholeDesign, sensitivities
from naptuft.errors import Fault, NotFound
from naptuft.quantity import from_si, to_si

SHEETS: Mapping[str, DesignSheet] = {
    sheet.name: sheet for line in (brush, handle, roller, tray) for sheet in line.SHEETS
}


def find_sheet(name: str) -> DesignSheet:
    """A whole design's declaration by name. Raises NotFound with the nearest name.

    >>> find_sheet("brush").line
    'brush'
    """
    if name not in SHEETS:
        raise NotFound(Fault("design", name, "the name of a whole design", nearest(name, SHEETS)))
    return SHEETS[name]


def what_matters(declared: Calculation | DesignSheet, given: Mapping[str, object]) -> tuple[Sensitivity, ...]:
    """What each figure follows, the strongest first; for a whole design, the figures at its head.

    Raises DesignError with every fault of the inputs.
    """
    record, _ = declared.read(given)
    if isinstance(declared, Calculation):
        return sensitivities(record, declared.run)
    sheet = declared
    record = sheet.settle(record) if sheet.settle else record

    def headline(moved: object) -> Result:
        return Result(WholeDesign(sheet, moved, sheet.compose(moved)).headline)

    return sensitivities(record, headline)


def design_paper(design: WholeDesign, plant: str = "") -> bytes:
    """A design as PDF; `plant` is named in its title block."""
    from naptuft.papers.design import design_paper as paper

    return paper(design, plant)


def write_design(design: WholeDesign, folder: Path, plant: str = "") -> tuple[Path, ...]:
    """Write a design into a folder: design.json, design.pdf and its drawings as SVG; all of them or none.

    plant  named in the title block; "" where the design belongs to no plant's book
    Raises FileError when the folder cannot be written.
    """
    from naptuft.papers.design import write_design as write

    return write(design, folder, plant)


def blend_today(book: Book, filling: str) -> dict[str, str]:
    """Inputs of the bristle blend for a filling of the book, its lots those free and in stock, as written on a form.

    Raises NotFound where the product is no filling blended from lots.
    """
    from naptuft.book.designs import filling_target
    from naptuft.brush.blend import FillingTarget

    if not isinstance(book.designs.get(filling), FillingTarget):
        fillings = [code for code, design in book.designs.items() if isinstance(design, FillingTarget)]
        raise NotFound(Fault("filling", filling, "a filling blended from lots", nearest(filling, fillings)))
    target = filling_target(book, filling)
    given: dict[str, str] = {}
    for field in fields_of(FillingTarget):
        written = write_value(field, getattr(target, field.name))
        if written not in (None, ""):
            given[field.name] = f"{written} {field.unit}" if field.unit and field.kind == "quantity" else str(written)
    sources = {part.part for part in book.parts_of.get(filling, ()) if part.from_design == "blend"}
    lots = [
        lot
        for lot in book.lots
        if lot.material in sources and lot.state == "free" and lot.arrives is None and lot.code in book.lengths_of
    ]
    given["lots"] = "; ".join(_lot_row(book, lot) for lot in lots)
    given["mass"] = "10 kg"
    return given


def _lot_row(book: Book, lot: Lot) -> str:
    """One lot as the form writes it: code | in stock | price | lengths | diameter | moisture | curl | flags."""
    material = book.material[lot.material]
    kilograms = lot.quantity.si(material.pint_unit)
    price = material.price_per_unit if lot.price_per_unit is None else lot.price_per_unit
    per_kilogram = price / Decimal(repr(to_si(1.0, material.pint_unit)))
    lengths = ", ".join(
        f"{from_si(bar.length, 'mm'):g} mm: {from_si(bar.share, '%'):g} %" for bar in book.lengths_of[lot.code]
    )
    shares = ("" if share is None else f"{from_si(share, '%'):g} %" for share in (lot.moisture, lot.curl, lot.flags))
    diameter = "" if lot.diameter is None else f"{from_si(lot.diameter, 'mm'):g} mm"
    return " | ".join((lot.code, f"{kilograms:g} kg", f"{per_kilogram:f}", lengths, diameter, *shares))
