"""The winding formulae against the cylinder's surface itself, cut up and laid flat numerically.

Source: geometry; nothing of the formula is used here, only points on the helix in space.
"""

from itertools import pairwise
from math import cos, hypot, pi, sin, sqrt

import pytest

from naptuft.roller.winding import seam_gap_at, strip_lead, strip_length, winding_angle


def helix(diameter, lead, turns, steps=200_000):
    """Points of a helix in space."""
    radius = diameter / 2
    for step in range(steps + 1):
        turn = turns * step / steps
        yield radius * cos(2 * pi * turn), radius * sin(2 * pi * turn), lead * turn


@pytest.mark.parametrize(("diameter", "width"), [(0.040, 0.070), (0.044, 0.073), (0.0254, 0.0381), (0.050, 0.100)])
def test_strip_laid_along_the_surface_is_as_long_as_the_formula_says(diameter, width):
    lead = strip_lead(diameter, width)
    points = list(helix(diameter, lead, turns=3))
    along = sum(sqrt(sum((b - a) ** 2 for a, b in zip(p, q, strict=True))) for p, q in pairwise(points))
    assert strip_length(3 * lead, winding_angle(diameter, width)) == pytest.approx(along, rel=1e-8)


@pytest.mark.parametrize(
    ("diameter", "width", "gap"), [(0.040, 0.070, 0.0), (0.044, 0.073, 0.001), (0.044, 0.073, -0.002)]
)
def test_next_turn_lies_one_strip_and_one_gap_away_on_the_surface(diameter, width, gap):
    """Shortest way over the surface from one turn of the helix to the next, found by trying."""
    lead = strip_lead(diameter, width, gap)
    around = pi * diameter
    nearest = min(hypot(around * turn / 100_000, lead - lead * -turn / 100_000) for turn in range(-100_000, 1))
    assert nearest == pytest.approx(width + gap, rel=1e-9)


def test_lead_and_gap_answer_each_other():
    lead = strip_lead(0.044, 0.073, 0.0012)
    assert seam_gap_at(0.044, 0.073, lead) == pytest.approx(0.0012, abs=1e-12)


def test_a_73_mm_strip_on_a_roller_core_gives_a_sensible_lead():
    """Common practice: a little more than the strip's width, well under the way round the core."""
    for diameter in (0.038, 0.044, 0.048):
        lead = strip_lead(diameter, 0.073)
        assert 0.073 < lead < pi * diameter
        assert 0.075 < lead < 0.095
