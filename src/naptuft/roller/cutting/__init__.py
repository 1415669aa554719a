"""Cutting stock pieces (tubes, coils, rolls) into the lengths wanted, with the least stock."""

from naptuft.roller.cutting.instance import solve_instance
from naptuft.roller.cutting.listing import CutDemand, CutList, CutPattern, cut_list

__all__ = ["CutDemand", "CutList", "CutPattern", "cut_list", "solve_instance"]
