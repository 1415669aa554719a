"""Whole designs: each product line's sheets, worked out, compared and written into a folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from naptuft import brush, handle, roller, tray
from naptuft.calculation import Calculation, Result, nearest
from naptuft.design_sheet import DesignSheet, Sensitivity, WholeDesign, sensitivities
from naptuft.errors import Fault, NotFound

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
