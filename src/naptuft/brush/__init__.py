"""The paintbrush, in the order it is made: filament, blend, fill, ferrule, setting, and the head whole."""

from __future__ import annotations

from naptuft.brush.blend import BLEND
from naptuft.brush.ferrule import FERRULE
from naptuft.brush.head import BRUSH
from naptuft.calculation import Calculation

CALCULATIONS: tuple[Calculation, ...] = (BRUSH, FERRULE, BLEND)

__all__ = ["BLEND", "BRUSH", "CALCULATIONS", "FERRULE"]
