"""Which engineering calculation designs which kind of product."""

from __future__ import annotations

from collections.abc import Mapping

from naptuft.boxing import BOXED_SET
from naptuft.brush import BRUSH, FERRULE
from naptuft.brush.blend import FillingTarget
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
