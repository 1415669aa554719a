"""Bisshopp & Drucker, Large Deflection of Cantilever Beams, Quarterly of Applied Mathematics 3 (1945) 272.

Digits after Mattiasson, International Journal for Numerical Methods in Engineering 17 (1981) 145, table of the
cantilever under a tip load (from memory).
"""

import pytest

from naptuft.brush.elastica import bend_to, level_bend, tapered_bend

TABLE = [
    (1.0, 0.30172, 0.05643, 0.46135),
    (2.0, 0.49346, 0.16064, 0.78175),
    (3.0, 0.60325, 0.25442, 0.98602),
    (10.0, 0.81061, 0.55500, 1.43029),
]


@pytest.mark.parametrize(("load", "across", "nearer", "angle"), TABLE)
def test_level_filament_bends_as_tabulated(load, across, nearer, angle):
    """w/L, (L − x)/L and the tip's slope at PL²/EI = 1, 2, 3 and 10, to the five printed decimals."""
    bend = level_bend(load)
    assert bend.deflection == pytest.approx(across, abs=6e-6)
    assert bend.shortening == pytest.approx(nearer, abs=6e-6)
    assert bend.tip_angle == pytest.approx(angle, abs=6e-6)


@pytest.mark.parametrize(("load", "across", "nearer", "angle"), TABLE)
def test_integration_along_the_length_gives_the_same_table(load, across, nearer, angle):
    """The way used for tapered filaments, at a taper of nothing, without elliptic integrals."""
    bend = tapered_bend(load, 1.0)
    assert bend.deflection == pytest.approx(across, abs=6e-6)
    assert bend.shortening == pytest.approx(nearer, abs=6e-6)
    assert bend.tip_angle == pytest.approx(angle, abs=6e-6)


@pytest.mark.parametrize("tip_ratio", [0.3, 0.55, 0.8, 1.0])
def test_a_light_load_bends_a_tapered_filament_by_the_closed_form(tip_ratio):
    """Small deflection: w/L = a·d_butt/(3·d_tip) (Roark, tapered cantilever, from memory)."""
    assert tapered_bend(1e-3, tip_ratio).deflection == pytest.approx(1e-3 / (3 * tip_ratio), rel=1e-5)


def test_the_load_for_a_deflection_is_the_table_read_backwards():
    assert bend_to(0.49346).load == pytest.approx(2.0, abs=2e-4)
    assert bend_to(0.60325, 0.9999).load == pytest.approx(3.0, rel=1e-3)
