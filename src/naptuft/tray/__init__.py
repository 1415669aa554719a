"""Trays and liners: forming, heating, walls, layout on the sheet and stacks."""

from __future__ import annotations

from naptuft.design_sheet import DesignSheet
from naptuft.tray.design import TRAY
from naptuft.tray.heating import SHEET_HEATING
from naptuft.tray.stack import TRAY_STACK

CALCULATIONS = (TRAY, SHEET_HEATING, TRAY_STACK)

SHEETS: tuple[DesignSheet, ...] = ()
