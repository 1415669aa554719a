"""Which engineering calculation designs which kind of product."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from naptuft.book.model import Book
from naptuft.boxing import BOXED_SET
from naptuft.brush import BRUSH, FERRULE
from naptuft.brush.blend import FillingTarget
from naptuft.brush.head import BrushDesign
from naptuft.calculation import Calculation
from naptuft.handle import HANDLE, MOULDED_PART
from naptuft.roller import FRAME, REFILL, STOCK_TUBE
from naptuft.tray import TRAY

DESIGN_OF: Mapping[str, Calculation | type] = {
    "brush": BRUSH,
    "filling": FillingTarget,
    "ferrule": FERRULE,
    "handle": HANDLE,
    "moulded part": MOULDED_PART,
    "stock tube": STOCK_TUBE,
    "refill": REFILL,
    "frame": FRAME,
    "tray": TRAY,
    "boxed set": BOXED_SET,
}
"""Design of a product line: its calculation, or only the declared input where nothing is worked out from it alone.
A line that is not here has no design."""


def inputs_of(line: str) -> type | None:
    """The declared input of a product line's design; None where the line has no design.

    >>> inputs_of("other") is None
    True
    """
    design = DESIGN_OF.get(line)
    return design.inputs if isinstance(design, Calculation) else design


def filling_target(book: Book, code: str) -> FillingTarget:
    """What a filling must be, with the water content at which its mass counts.

    Brushes ask for filling by conditioned mass (65 % relative humidity), so that is how bristle and hair count
    where the book names no water content. Filament, and mixed fillings, count as they come.
    """
    target = book.designs[code]
    kinds = {book.material[part.part].kind for part in book.parts_of.get(code, ()) if part.part in book.material}
    brushes = (book.designs.get(part.product) for part in book.parts if part.part == code)
    contents = {float(brush.material.moisture) for brush in brushes if isinstance(brush, BrushDesign)}
    if target.moisture is not None or kinds != {"bristle"} or len(contents) != 1:
        return target
    return replace(target, moisture=contents.pop())
