"""The roller, in the order it is made: stock tube wound, cut to refills, finished; and the frame."""

from __future__ import annotations

from naptuft.calculation import Calculation
from naptuft.design_sheet import DesignSheet
from naptuft.roller.curing import CURE_RACK
from naptuft.roller.cutting.sheet import CUT_LIST
from naptuft.roller.finishing import SPIN
from naptuft.roller.frame import FRAME
from naptuft.roller.refill import REFILL
from naptuft.roller.solvents import SOLVENT_PROOF
from naptuft.roller.winding import STOCK_TUBE

CALCULATIONS: tuple[Calculation, ...] = (STOCK_TUBE, CURE_RACK, CUT_LIST, REFILL, SPIN, SOLVENT_PROOF, FRAME)

SHEETS: tuple[DesignSheet, ...] = ()

__all__ = ["CALCULATIONS", "CURE_RACK", "CUT_LIST", "FRAME", "REFILL", "SHEETS", "SOLVENT_PROOF", "SPIN", "STOCK_TUBE"]
