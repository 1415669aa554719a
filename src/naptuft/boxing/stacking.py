"""How much a carton bears when others stand on it."""

from __future__ import annotations

from math import sqrt

from naptuft.errors import DesignError, Fault

GRAVITY = 9.80665
SOURCE = (
    "McKee, Gander and Wachuta, Paperboard Packaging 48 (1963) 149: 5.87 ECT sqrt(perimeter x caliper) (from memory)"
)


def compression_strength(edge_crush: float, perimeter: float, thickness: float) -> float:
    """Load at which a slotted carton gives way between flat plates, fresh and dry. [N]

    F = 5.87 ECT sqrt(Z t)
    edge_crush  of the board, ECT [N/m]; perimeter Z of the carton [m]; thickness t of the board [m]
    Raises DesignError when any is not above 0.
    Valid for: cartons at least a seventh as high as their perimeter.
    Source: McKee, Gander and Wachuta 1963.

    >>> round(compression_strength(5600.0, 1.5, 0.004))
    2546
    """
    faults = [
        Fault(name, value, "above 0", "give the measured value")
        for name, value in (("edge crush", edge_crush), ("perimeter", perimeter), ("board thickness", thickness))
        if not value > 0
    ]
    if faults:
        raise DesignError(*faults)
    return 5.87 * edge_crush * sqrt(perimeter * thickness)


def bottom_load(carton_mass: float, layers: int) -> float:
    """Load on a carton of the lowest layer. [N]

    >>> round(bottom_load(10.0, 3), 3)
    196.133
    """
    return carton_mass * max(0, layers - 1) * GRAVITY
