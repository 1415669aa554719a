"""Trays and liners: forming, heating, walls, layout on the sheet and stacks."""

from naptuft.tray.design import TRAY
from naptuft.tray.heating import SHEET_HEATING
from naptuft.tray.stack import TRAY_STACK

CALCULATIONS = (TRAY, SHEET_HEATING, TRAY_STACK)
