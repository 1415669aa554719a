"""Handles and moulded parts: moulding, coats and drying air."""

from __future__ import annotations

from naptuft.design_sheet import DesignSheet
from naptuft.handle.coat_line import COAT_LINE
from naptuft.handle.coats import HANDLE_COATS
from naptuft.handle.colour_order import COLOUR_ORDER
from naptuft.handle.cooling import THICK_SECTION
from naptuft.handle.design import HANDLE, HANDLE_MOULDING, HANDLE_SHAPE
from naptuft.handle.drainage import DRAINAGE
from naptuft.handle.drying_air import DRYING_AIR
from naptuft.handle.filling import FILLING
from naptuft.handle.mould_size import MOULD_SIZE
from naptuft.handle.part import MOULDED_PART
from naptuft.handle.press import PRESS_CHOICE
from naptuft.handle.regrind import REGRIND
from naptuft.handle.runner import RUNNER
from naptuft.handle.sheet import HANDLE_SHEET
from naptuft.handle.vat import VAT

CALCULATIONS = (
    HANDLE,
    HANDLE_SHAPE,
    HANDLE_MOULDING,
    MOULDED_PART,
    RUNNER,
    FILLING,
    THICK_SECTION,
    MOULD_SIZE,
    PRESS_CHOICE,
    REGRIND,
    HANDLE_COATS,
    DRAINAGE,
    VAT,
    COLOUR_ORDER,
    COAT_LINE,
    DRYING_AIR,
)

SHEETS: tuple[DesignSheet, ...] = (HANDLE_SHEET,)
