"""Snap-Fit Joints for Plastics, a design guide: cantilever snap arms; and what else is printed of them."""

from math import radians

import pytest
from scipy.integrate import quad

from naptuft.roller import CLIP
from naptuft.roller.clip import clip_deflection, clip_force, slope_factor


def test_catch_hook_of_the_guide():
    """Calculation example I (from memory): l 19, b 9.5, undercut 2.4 mm, strain 2 %, tapered to half: h 3.28 mm."""
    assert clip_deflection(0.02, 19e-3, 3.28e-3, "half as thick at the tip") == pytest.approx(2.4e-3, abs=0.005e-3)


def test_deflection_and_mating_force_of_the_guide():
    """The same: secant modulus 1,815 N/mm²: 32.5 N aside; friction 0.6, slope 30°: factor 1.8, 58.5 N along."""
    side = clip_force(9.5e-3, 3.28e-3, 19e-3, 1815e6, 0.02)
    assert side == pytest.approx(32.5, abs=0.1)
    assert slope_factor(0.6, radians(30)) == pytest.approx(1.8, abs=0.005)
    assert side * slope_factor(0.6, radians(30)) == pytest.approx(58.5, abs=0.3)


def test_level_arm_that_breaks_on_the_line():
    """ "Why Do Perfect CAD Snap-Fits Break on the Assembly Line?" 2026: Y 2.5, h 2.5, L 15 mm: strain 4.16 %."""
    assert clip_deflection(0.0416, 15e-3, 2.5e-3) == pytest.approx(2.5e-3, rel=2e-3)


def test_taper_lets_the_arm_bend_further_by_the_factor_printed():
    """Calculations for Cantilever Beam Snap Fits, Penn State Behrend: h_L/h_0 = 0.5: K about 1.63."""
    level, tapered = (clip_deflection(0.02, 0.02, 0.003, taper) for taper in ("level", "half as thick at the tip"))
    assert tapered / level == pytest.approx(1.63, abs=0.01)


def test_taper_factor_agrees_with_integrating_the_beam():
    """Unit load on a beam whose thickness falls evenly to half: y·h/(εl²) = ∫ (1−x)² / (1−x/2)³ dx · 2, no table used."""
    whole, _ = quad(lambda x: (1 - x) ** 2 / (1 - x / 2) ** 3, 0, 1)
    assert clip_deflection(1.0, 1.0, 1.0, "half as thick at the tip") == pytest.approx(2 * whole, rel=5e-3)


def test_a_square_hook_holds_until_it_shears():
    """Guide: a return angle of 90° makes an inseparable joint."""
    result = CLIP.answer({**CLIP.example(), "return_angle": "90 deg"})
    assert result["hold"] == result["tear"]
    flat = CLIP.answer({**CLIP.example(), "return_angle": "45 deg"})
    assert flat["hold"] < flat["tear"]


def test_a_deep_groove_overstrains_the_arm():
    result = CLIP.answer({**CLIP.example(), "undercut": "1.6 mm"})
    assert [check.label for check in result.checks if not check.passed] == ["strain at the root"]
