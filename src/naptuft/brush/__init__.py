"""The paintbrush, in the order it is made: filament, blend, fill, ferrule, setting, and the head whole."""

from __future__ import annotations

from naptuft.brush.blend_bench import BLEND, FRONTIER
from naptuft.brush.design import WHOLE_BRUSH
from naptuft.brush.ferrule import FERRULE
from naptuft.brush.flex import FLEX
from naptuft.brush.forming import FORMING
from naptuft.brush.head import BRUSH
from naptuft.brush.joining import JOINING
from naptuft.brush.outline import OUTLINE
from naptuft.brush.proposing import PROPOSAL
from naptuft.brush.setting_bench import SETTING
from naptuft.brush.suitability import SUITABILITY
from naptuft.brush.tolerance import TOLERANCE
from naptuft.brush.working import WORKING
from naptuft.calculation import Calculation
from naptuft.design_sheet import DesignSheet

CALCULATIONS: tuple[Calculation, ...] = (
    OUTLINE,
    PROPOSAL,
    BRUSH,
    WORKING,
    SUITABILITY,
    FLEX,
    BLEND,
    FRONTIER,
    FERRULE,
    FORMING,
    SETTING,
    JOINING,
    TOLERANCE,
)

SHEETS: tuple[DesignSheet, ...] = (WHOLE_BRUSH,)

__all__ = [
    "BLEND",
    "BRUSH",
    "CALCULATIONS",
    "FERRULE",
    "FLEX",
    "FORMING",
    "FRONTIER",
    "JOINING",
    "OUTLINE",
    "PROPOSAL",
    "SETTING",
    "SHEETS",
    "SUITABILITY",
    "TOLERANCE",
    "WHOLE_BRUSH",
    "WORKING",
]
