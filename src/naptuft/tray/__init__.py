"""Trays and liners: forming and layout on the sheet."""

from naptuft.tray.design import TRAY

CALCULATIONS = (TRAY,)
