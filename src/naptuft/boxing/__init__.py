"""Boxed sets, their cartons and codes."""

from naptuft.boxing.carton import BOXED_SET

CALCULATIONS = (BOXED_SET,)
