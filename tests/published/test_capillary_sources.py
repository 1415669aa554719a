"""Capillary rise and penetration: OpenStax College Physics ch. 11; Washburn 1921; Gebart 1992."""

from math import inf, pi, radians

import pytest

from naptuft.brush.capillary import (
    across_permeability,
    along_permeability,
    arrhenius_factor,
    bundle_radius,
    capillary_pressure,
    jurin_height,
    soaked_depth,
    washburn_depth,
)
from naptuft.errors import DesignError


def test_water_rises_in_a_millimetre_tube_as_printed():
    """OpenStax College Physics, ch. 11: γ 0.0728 N/m, r 0.500 mm, θ 0: 29.7 mm with ρ 1000 kg/m³."""
    assert jurin_height(0.0728, 0.0, 0.500e-3, 1000) == pytest.approx(29.7e-3, abs=0.05e-3)


def test_jurins_rule_is_refused_for_a_wide_tube():
    """It does not hold for tubes wider than the capillary length, 2.7 mm for water."""
    with pytest.raises(DesignError, match="capillary length"):
        jurin_height(0.0728, 0.0, 3e-3, 1000)


def test_depth_follows_washburn():
    """L² = γ·D·t/(4η) (Washburn 1921, wetting tube of diameter D): D 20 µm, γ 0.072, η 1 mPa·s, 10 s: 60.0 mm."""
    assert washburn_depth(0.072, 0.0, 10e-6, 1e-3, 10.0) == pytest.approx((0.072 * 20e-6 * 10 / (4 * 1e-3)) ** 0.5)
    assert washburn_depth(0.072, 0.0, 10e-6, 1e-3, 10.0) == pytest.approx(60.0e-3, abs=0.05e-3)


def test_darcy_in_a_bundle_of_tubes_is_washburn():
    """Hagen-Poiseuille tubes: K = r²(1 − V)/8, p = 2γcosθ/r: the same front (identity)."""
    radius, packing, angle = 40e-6, 0.55, radians(30)
    pressure = 2 * 0.04 * 0.8660254 / radius
    front = soaked_depth(radius**2 * (1 - packing) / 8, pressure, packing, 90 / 2.0)
    assert front == pytest.approx(washburn_depth(0.04, angle, radius, 2.0, 90), rel=1e-6)


def test_gebart_along_the_filaments():
    """Eq. for flow along: K/R² = (8/c)(1 − V)³/V², c = 57 and 53; at V 0.6: 0.02495 and 0.02683 (by hand)."""
    assert along_permeability(1.0, 0.6, "square") == pytest.approx(8 / 57 * 0.064 / 0.36)
    assert along_permeability(1.0, 0.6, "square") == pytest.approx(0.02495, abs=5e-6)
    assert along_permeability(1.0, 0.6, "hexagonal") == pytest.approx(0.02683, abs=5e-6)


def test_gebart_across_the_filaments_closes_when_they_touch():
    """Flow across: C1 = 16/(9π√2) = 0.4001 (square), 16/(9π√6) = 0.2310 (hexagonal); nil at π/4 and π/(2√3)."""
    assert across_permeability(1.0, pi / 4, "square") == pytest.approx(0.0, abs=1e-12)
    loose = across_permeability(1.0, 0.5, "square")
    assert loose == pytest.approx(0.4001 * ((pi / 4 / 0.5) ** 0.5 - 1) ** 2.5, rel=1e-3)
    assert across_permeability(1.0, 0.6) < along_permeability(1.0, 0.6) < inf


def test_ten_degree_rule_is_an_activation_energy():
    """Twice as fast per 10 °C equals 51.2 kJ/mol between 20 and 30 °C and 65.9 between 60 and 70 °C (Arrhenius)."""
    assert arrhenius_factor(51.2e3, 293.15, 303.15) == pytest.approx(2.0, abs=0.002)
    assert arrhenius_factor(65.9e3, 333.15, 343.15) == pytest.approx(2.0, abs=0.002)


def test_a_bundle_pulls_like_the_tube_it_acts_as():
    """Young and Laplace: p = 2γ/r, with r = twice open area over wetted edge, for 10,000 filaments counted out."""
    count, diameter, packing = 10_000, 0.2e-3, 0.62
    filled = count * pi / 4 * diameter**2
    open_area, edge = filled / packing - filled, count * pi * diameter
    assert bundle_radius(diameter, packing) == pytest.approx(2 * open_area / edge)
    assert capillary_pressure(0.04, 0.0, diameter, packing) == pytest.approx(0.04 * edge / open_area)
