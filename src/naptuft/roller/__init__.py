"""The roller, in the order it is made: stock tube wound, cut to refills, finished; and the frame."""

from __future__ import annotations

from naptuft.calculation import Calculation
from naptuft.design_sheet import DesignSheet
from naptuft.roller.beveling import FLUFF
from naptuft.roller.clip import CLIP
from naptuft.roller.curing import CURE_RACK
from naptuft.roller.cutting.runs import CUT_RUNS
from naptuft.roller.cutting.sheet import CUT_LIST
from naptuft.roller.finishing import SPIN
from naptuft.roller.frame import FRAME
from naptuft.roller.frame_fit import FRAME_FIT
from naptuft.roller.frame_sheet import WHOLE_FRAME
from naptuft.roller.pile_choice import PILE_CHOICE
from naptuft.roller.refill import REFILL
from naptuft.roller.refill_sheet import WHOLE_REFILL
from naptuft.roller.shedding import SHEDDING
from naptuft.roller.solvents import SOLVENT_PROOF
from naptuft.roller.splicing import SPLICE
from naptuft.roller.tolerance import TOLERANCE
from naptuft.roller.winding import STOCK_TUBE

CALCULATIONS: tuple[Calculation, ...] = (
    STOCK_TUBE,
    SPLICE,
    CURE_RACK,
    CUT_LIST,
    CUT_RUNS,
    FLUFF,
    SPIN,
    REFILL,
    PILE_CHOICE,
    SHEDDING,
    SOLVENT_PROOF,
    FRAME,
    FRAME_FIT,
    CLIP,
    TOLERANCE,
)

SHEETS: tuple[DesignSheet, ...] = (WHOLE_REFILL, WHOLE_FRAME)

__all__ = [
    "CALCULATIONS",
    "CLIP",
    "CURE_RACK",
    "CUT_LIST",
    "CUT_RUNS",
    "FLUFF",
    "FRAME",
    "FRAME_FIT",
    "PILE_CHOICE",
    "REFILL",
    "SHEDDING",
    "SHEETS",
    "SOLVENT_PROOF",
    "SPIN",
    "SPLICE",
    "STOCK_TUBE",
    "TOLERANCE",
    "WHOLE_FRAME",
    "WHOLE_REFILL",
]
