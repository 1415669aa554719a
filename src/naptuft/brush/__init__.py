"""The paintbrush, in the order it is made: filament, blend, fill, ferrule, setting, and the head whole."""

from __future__ import annotations

from naptuft.brush.blend import BLEND
from naptuft.brush.ferrule import FERRULE
from naptuft.brush.flex import FLEX
from naptuft.brush.head import BRUSH
from naptuft.brush.setting_bench import SETTING
from naptuft.brush.suitability import SUITABILITY
from naptuft.brush.working import WORKING
from naptuft.calculation import Calculation

CALCULATIONS: tuple[Calculation, ...] = (BRUSH, WORKING, SUITABILITY, FLEX, BLEND, FERRULE, SETTING)

__all__ = ["BLEND", "BRUSH", "CALCULATIONS", "FERRULE", "FLEX", "SETTING", "SUITABILITY", "WORKING"]
