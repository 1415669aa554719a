"""Cutting stock pieces (tubes, coils, rolls) into the lengths wanted, with the least stock."""

from naptuft.roller.cutting.from_stock import Placed, StockCut, StockList, cut_from_stock
from naptuft.roller.cutting.instance import solve_instance
from naptuft.roller.cutting.listing import CutDemand, CutList, CutPattern, cut_list
from naptuft.roller.cutting.stock import StockPiece

__all__ = [
    "CutDemand",
    "CutList",
    "CutPattern",
    "Placed",
    "StockCut",
    "StockList",
    "StockPiece",
    "cut_from_stock",
    "cut_list",
    "solve_instance",
]
