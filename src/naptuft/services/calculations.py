"""Every engineering calculation, joined from the product lines."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from naptuft import boxing, brush, handle, roller, tray
from naptuft.calculation import Calculation, nearest
from naptuft.errors import Fault, NotFound

CALCULATIONS: Mapping[str, Calculation] = {
    calculation.name: calculation for line in (brush, handle, roller, tray, boxing) for calculation in line.CALCULATIONS
}


def find_calculation(name: str) -> Calculation:
    """A calculation by name. Raises NotFound with the nearest name.

    >>> find_calculation("brush").line
    'brush'
    """
    if name not in CALCULATIONS:
        raise NotFound(Fault("calculation", name, "the name of a calculation", nearest(name, CALCULATIONS)))
    return CALCULATIONS[name]


def write_handbook(folder: Path) -> tuple[Path, ...]:
    """Write the handbook of all calculations into a folder, a page each."""
    from naptuft.papers import handbook

    return handbook.write_handbook(CALCULATIONS.values(), folder)
