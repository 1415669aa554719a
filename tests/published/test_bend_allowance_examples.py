"""Bend allowance worked step by step: a metalworking calculator beside Groover.

90° in 0.125 in. steel, radius 0.125 in., K 0.44: arc 1.5708 × 0.180 = 0.2827 in. (Calcady, "Bend allowance"). Groover takes K
0.33 at that radius: 1.5708 × (0.125 + 0.33 × 0.125) = 0.2611 in.
"""

from math import pi, radians

import pytest

from naptuft.brush.ferrule import developed_length
from naptuft.brush.fill import Cavity
from naptuft.materials.bending import bend_allowance

INCH = 0.0254


def test_the_arc_at_its_own_k_is_the_worked_example_and_ours_differs_by_k_alone():
    ours = bend_allowance(radians(90), 0.125 * INCH, 0.125 * INCH) / INCH
    assert ours == pytest.approx(0.2611, abs=5e-5)
    assert ours + pi / 2 * (0.44 - 0.33) * 0.125 == pytest.approx(0.2827, abs=5e-5)


def test_a_flat_ferrule_is_two_sides_and_two_half_turns():
    """Two flats of w − t and two bends of 180°: the blank of a bent part, piece by piece."""
    width, thickness, gauge = 0.100, 0.016, 0.3e-3
    pieces = 2 * (width - thickness) + 2 * bend_allowance(radians(180), thickness / 2, gauge)
    assert developed_length(Cavity("flat", width, thickness), gauge) == pytest.approx(pieces)
