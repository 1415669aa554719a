"""Bending is one-to-one and never more than the filament's length."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.brush.elastica import bend_to, level_bend, tapered_bend


@settings(deadline=None, max_examples=40)
@given(deflection=st.floats(0.01, 0.8), tip_ratio=st.floats(0.3, 1.0))
def test_bending_to_a_deflection_and_loading_again_returns_it(deflection, tip_ratio):
    bend = bend_to(deflection, tip_ratio)
    again = tapered_bend(bend.load, tip_ratio)
    assert again.deflection == pytest.approx(deflection, abs=2e-6)
    assert 0 <= bend.shortening < 1
    assert bend.deflection**2 + (1 - bend.shortening) ** 2 <= 1 + 1e-6


@settings(deadline=None, max_examples=60)
@given(load=st.floats(0.01, 50), more=st.floats(1.01, 3))
def test_more_load_bends_further_and_a_straight_filament_is_stiffest(load, more):
    assert level_bend(load * more).deflection > level_bend(load).deflection
    assert level_bend(load).deflection < load / 3
