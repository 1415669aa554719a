"""Groover, Fundamentals of Modern Manufacturing, ex. 20.2 (from memory): bend allowance, on rod."""

from itertools import pairwise
from math import hypot, pi, radians

import pytest

from naptuft.roller import FRAME
from naptuft.roller.frame import Leg, rod_length, rod_path, rod_under_push


def test_bent_part_lies_out_as_printed():
    """60°, inside radius 4.75 mm, stock 3.2 mm, straights 38 and 25 mm: blank 69.08 mm."""
    legs = (Leg(straight=0.038, bend=radians(60), radius=4.75e-3), Leg(straight=0.025))
    assert rod_length(legs, 3.2e-3) == pytest.approx(69.08e-3, abs=0.005e-3)


def test_a_wide_bend_is_as_long_as_its_middle_line():
    """Above an inside radius of two diameters the middle does not stretch: K = 0.5."""
    legs = (Leg(straight=0.1, bend=pi / 2, radius=0.03), Leg(straight=0.05))
    path = rod_path(legs, 0.008, step=1e-5)
    along = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(path))
    assert rod_length(legs, 0.008) == pytest.approx(along, rel=1e-6)


def test_straight_rod_bends_like_a_cantilever():
    """PL³/3EI and 32PL/πd³ (Roark, table of beams, from memory)."""
    rod = [(n * 1e-3, 0.0) for n in range(201)]
    load = rod_under_push(rod, (0.2, 0.0), 30.0, 0.0, 0.008, 205e9)
    assert load.deflection == pytest.approx(30 * 0.2**3 / (3 * 205e9 * pi * 0.008**4 / 64), rel=1e-9)
    assert load.stress == pytest.approx(32 * 30 * 0.2 / (pi * 0.008**3), rel=1e-9)


def test_square_corner_twists_the_first_leg():
    """Two legs of 0.1 m at a right angle, load across their plane at the end: PL³/3EI twice and PL³/GJ (statics)."""
    rod = [(n * 1e-3, 0.0) for n in range(101)] + [(0.1, n * 1e-3) for n in range(1, 101)]
    load = rod_under_push(rod, (0.1, 0.1), 20.0, 0.0, 0.008, 205e9)
    inertia = pi * 0.008**4 / 64
    bend, twist = 205e9 * inertia, 205e9 / 2.6 * 2 * inertia
    assert load.deflection == pytest.approx(20 * 0.1**3 * (2 / (3 * bend) + 1 / twist), rel=1e-9)


def test_the_item_description_s_frame_passes():
    """A-A-2851: 5/16 in rod, side play at most 1/8 in."""
    assert FRAME.answer(FRAME.example()).passed
    loose = FRAME.answer({**FRAME.example(), "side_play": "5/32 in"})
    assert [check.label for check in loose.checks if not check.passed] == ["side play of the cage"]
