"""Trays and liners: forming, heating, walls, cooling, layout on the sheet, web and stacks."""

from __future__ import annotations

from naptuft.design_sheet import DesignSheet
from naptuft.tray.cooling import TRAY_COOLING
from naptuft.tray.design import TRAY
from naptuft.tray.heating import SHEET_HEATING
from naptuft.tray.sheet import TRAY_SHEET
from naptuft.tray.stack import TRAY_STACK
from naptuft.tray.stock import TRAY_STOCK
from naptuft.tray.thickness import TRAY_WALLS
from naptuft.tray.web import TRAY_WEB

CALCULATIONS = (TRAY, SHEET_HEATING, TRAY_WALLS, TRAY_COOLING, TRAY_STOCK, TRAY_WEB, TRAY_STACK)

SHEETS: tuple[DesignSheet, ...] = (TRAY_SHEET,)
