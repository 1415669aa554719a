"""Elastic (vector) method for fasteners turned about their middle: worked example of a bracket.

Four bolts at (±50, ±50) mm, moment 20,000 kN·mm: Σr² = 20,000 mm², each bears 50 kN across and 50 kN along (Steel
Calculator, "EN 1993 bolt group capacity"). The farthest bolt then bears √(50² + 50²) = 70.7 kN.
"""

from math import hypot

import pytest

from naptuft.brush.joining import group_moment

CORNERS = [(x, y) for x in (-0.05, 0.05) for y in (-0.05, 0.05)]


def test_the_moment_of_four_bolts_is_that_of_the_worked_example():
    assert group_moment(hypot(50e3, 50e3), CORNERS) == pytest.approx(20_000.0, rel=1e-9)


def test_the_middle_is_found_wherever_the_places_are_measured_from():
    moved = [(x + 0.3, y - 0.1) for x, y in CORNERS]
    assert group_moment(70.7e3, moved) == pytest.approx(group_moment(70.7e3, CORNERS))


def test_eight_bolts_in_two_rows_turn_as_in_the_second_example():
    """±45 mm by ±37.5 and ±112.5 mm: Σr² = 8·45² + 4·(37.5² + 112.5²) = 72,450 mm² (printed 72,448)."""
    places = [(x, y) for x in (-0.045, 0.045) for y in (-0.1125, -0.0375, 0.0375, 0.1125)]
    farthest = hypot(0.045, 0.1125)
    assert group_moment(1.0, places) * farthest == pytest.approx(72_448e-6, rel=1e-4)
