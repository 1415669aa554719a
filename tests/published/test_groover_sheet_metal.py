"""Groover, Fundamentals of Modern Manufacturing, ch. 20, examples 20.1 and 20.2 (from memory)."""

from math import pi, radians

import pytest

from naptuft.brush.ferrule import blanking_force
from naptuft.materials.bending import bend_allowance, neutral_factor


def test_blank_of_the_bent_part_is_as_printed():
    """Ex. 20.2: 60° bend, inside radius 4.75 mm, stock 3.2 mm, flats 38 and 25 mm: 6.08 mm, blank 69.08 mm."""
    allowance = bend_allowance(radians(60), 4.75e-3, 3.2e-3)
    assert neutral_factor(4.75e-3, 3.2e-3) == 0.33
    assert allowance == pytest.approx(6.08e-3, abs=0.005e-3)
    assert 0.038 + 0.025 + allowance == pytest.approx(69.08e-3, abs=0.005e-3)


def test_blanking_force_of_the_disc_is_as_printed():
    """Ex. 20.1: disc of 150 mm, 3.2 mm steel, shear strength 310 MPa: 467,469 N."""
    assert blanking_force(310e6, 3.2e-3, pi * 0.150) == pytest.approx(467_469, abs=0.5)
