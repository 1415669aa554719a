"""Roark's Formulas for Stress and Strain, cantilever with end load, level and tapered (from memory)."""

import pytest
from scipy.integrate import quad

from naptuft.brush.filament import level_tip_stiffness, root_stress, second_moment, tapered_tip_stiffness


def test_level_cantilever_deflects_by_the_printed_formula():
    """y = WL³/3EI: steel rod of 10 mm, 1 m long, 10 N, E 200 GPa: I = 4.9087e-10 m⁴, y = 33.95 mm."""
    deflection = 10 / level_tip_stiffness(200e9, second_moment(0.010), 1.0)
    assert second_moment(0.010) == pytest.approx(4.9087e-10, rel=1e-4)
    assert deflection == pytest.approx(33.95e-3, abs=0.005e-3)


def test_hollow_section_loses_the_bore():
    """I = π(D⁴ − d⁴)/64; a bore of half the diameter costs one sixteenth of I."""
    assert second_moment(0.4e-3, 0.2e-3) == pytest.approx(15 / 16 * second_moment(0.4e-3))


@pytest.mark.parametrize("tip", [0.05e-3, 0.1e-3, 0.17e-3, 0.2e-3])
def test_tapered_cantilever_agrees_with_integration_of_the_bending_energy(tip):
    """Castigliano: 1/k = ∫ x²/(E·I(x)) dx from tip to butt, against 64L³/(3πE·d_butt³·d_tip)."""
    modulus, butt, length = 4e9, 0.2e-3, 0.055
    compliance, _ = quad(
        lambda x: x**2 / (modulus * second_moment(tip + (butt - tip) * x / length)), 0, length, epsrel=1e-11
    )
    assert tapered_tip_stiffness(modulus, butt, tip, length) == pytest.approx(1 / compliance, rel=1e-8)


def test_stress_at_the_root_is_moment_over_section_modulus():
    """σ = M/Z, Z = πd³/32 = 98.17 mm³ for 10 mm: 10 N at 1 m gives 101.9 MPa."""
    assert root_stress(10, 1.0, 0.010) == pytest.approx(101.9e6, rel=5e-4)
