"""Joints, beads and soaking under any fair input: more holds more, nothing is made from nothing."""

from math import hypot

import pytest
from hypothesis import given
from hypothesis import strategies as st

from naptuft.brush import capillary
from naptuft.brush.fill import HEXAGONAL_PACKING
from naptuft.brush.forming import beaded_moment, sprung_radius
from naptuft.brush.joining import group_moment, nail_lateral, nail_places, nail_withdrawal
from naptuft.brush.tolerance import inside_normal


@given(gravity=st.floats(0.3, 0.9), diameter=st.floats(0.8e-3, 3e-3), deep=st.floats(3e-3, 30e-3))
def test_denser_wood_thicker_and_longer_nails_hold_more(gravity, diameter, deep):
    assert nail_withdrawal(gravity + 0.05, diameter, deep) > nail_withdrawal(gravity, diameter, deep)
    assert nail_lateral(gravity, diameter, deep) <= nail_lateral(gravity, diameter, 2 * deep)


@given(width=st.floats(0.02, 0.2), nails=st.integers(1, 8), share=st.floats(0.05, 0.45))
def test_nails_stand_even_and_alike_on_both_sides_of_the_middle(width, nails, share):
    places = nail_places(width, nails, share * width)
    assert len(places) == nails
    assert sum(places) == pytest.approx(0.0, abs=1e-12)
    assert max(abs(place) for place in places) <= width / 2


@given(
    places=st.lists(st.tuples(st.floats(-0.1, 0.1), st.floats(-0.02, 0.02)), min_size=2, max_size=8, unique=True),
    single=st.floats(1, 1000),
)
def test_no_group_bears_more_than_every_nail_at_the_farthest_arm(places, single):
    x = sum(p[0] for p in places) / len(places)
    y = sum(p[1] for p in places) / len(places)
    farthest = max(hypot(p[0] - x, p[1] - y) for p in places)
    assert 0 <= group_moment(single, places) <= single * farthest * len(places) * (1 + 1e-9)


@given(gauge=st.floats(0.15e-3, 0.6e-3), depth=st.floats(0.2e-3, 1.2e-3), beads=st.integers(0, 4))
def test_another_bead_never_makes_a_wall_softer(gauge, depth, beads):
    assert beaded_moment(gauge, 0.038, beads + 1, depth) > beaded_moment(gauge, 0.038, beads, depth)


@given(radius=st.floats(1e-3, 0.5), figure=st.floats(0.0, 0.49))
def test_a_bend_springs_open_never_shut(radius, figure):
    sprung = sprung_radius(radius, figure)
    assert sprung is not None
    assert sprung >= radius


@given(packing=st.floats(0.3, HEXAGONAL_PACKING - 0.03), radius=st.floats(30e-6, 300e-6))
def test_tighter_packing_lets_less_through(packing, radius):
    looser, tighter = (capillary.bundle_permeability(radius, packing + step) for step in (0.0, 0.02))
    assert 0 < tighter < looser


@given(spread=st.floats(0.001, 1), tolerance=st.floats(0.001, 3), shift=st.floats(0, 1))
def test_a_share_lies_between_none_and_all_and_a_shift_never_helps(spread, tolerance, shift):
    share = inside_normal(spread, tolerance, shift)
    assert 0 <= share <= inside_normal(spread, tolerance) + 1e-12 <= 1 + 2e-12
