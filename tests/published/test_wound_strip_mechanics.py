"""Pressure of a tensioned band, folding of a thin tube, and necking of a stretched web, against printed examples."""

from math import cos, degrees, pi, radians, sqrt

import pytest

from naptuft.roller.winding import covering_run, pile_thinning, strip_lead, strip_length, winding_angle
from naptuft.roller.wound_pressure import (
    buckling_pressure,
    hoop_stress,
    long_from,
    narrowing,
    oval_pressure,
    shrinkage,
    strip_strain,
    winding_pressure,
)

INCH, PSI, POUND = 0.0254, 6894.757, 4.448222


def test_roark_thin_tube_under_outside_pressure():
    """W. C. Young, Roark's Formulas for Stress and Strain, 6th ed. 1989, table 35, case 19a, worked as published for
    that table: radius 6.75 in, wall 0.375 in, E 29e6 psi, Poisson's ratio 0.290: 1.357e3 psi.
    """
    found = buckling_pressure(29e6 * PSI, 0.290, 0.375 * INCH, (2 * 6.75 + 0.375) * INCH)
    assert found / PSI == pytest.approx(1.357e3, abs=0.5)


def test_roark_length_above_which_a_tube_counts_as_long():
    """The same case: L > 4.90 r √(r/t); with r/t = 18 that is 140.3 in, far below the 100,000 in of the example."""
    assert long_from(0.375 * INCH, (2 * 6.75 + 0.375) * INCH) / INCH == pytest.approx(140.3, abs=0.05)


def test_mott_band_brake_pressure():
    """R. L. Mott, Machine Elements in Mechanical Design, 4th ed., example problem 22-10, step 3, equation 22-27: a band
    2.0 in wide on a drum of radius 6.0 in at 25 psi pulls 300 lb."""
    assert winding_pressure(300 * POUND, 2 * INCH, 12 * INCH, 0.0) / PSI == pytest.approx(25.0, rel=1e-4)


def test_a_wound_strip_presses_as_its_curvature_in_space_says():
    """Curvature of a helix r/(r² + c²), c = p/2π (any text on curves); band pressure is tension by width times it."""
    core, width = 0.044, 0.073
    angle, lead = winding_angle(core, width), strip_lead(core, width)
    curvature = (core / 2) / ((core / 2) ** 2 + (lead / (2 * pi)) ** 2)
    assert winding_pressure(5.0, width, core, angle) == pytest.approx(5.0 / width * curvature, rel=1e-12)


@pytest.mark.parametrize(
    ("pull", "thickness", "modulus", "ratio", "stretch", "neck"),
    [(3.0, 0.003, 1e6, 0.3, 0.001, 0.0003), (1.0, 0.010, 1e4, 3.0, 0.01, 0.03)],
)
def test_necking_of_webs_under_tension(pull, thickness, modulus, ratio, stretch, neck):
    """Converting Quarterly, "Have you noticed your Nu?": a stiff web at 3 lb/in, 0.003 in and 1,000,000 psi stretches
    0.1 % and necks 0.03 %; a nonwoven at 1 lb/in, 0.010 in and 10,000 psi, ratio 3, stretches 1 % and necks 3 %."""
    width = 10 * INCH
    strain = strip_strain(pull * POUND / INCH * width, width, modulus * PSI * thickness * INCH)
    assert strain == pytest.approx(stretch, rel=1e-6)
    assert narrowing(width, strain, ratio) / width == pytest.approx(neck, rel=1e-6)


@pytest.mark.parametrize("out_of_round", [0.0001, 0.0005, 0.002])
def test_oval_tube_reaches_its_strength_at_the_pressure_given(out_of_round):
    """S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 1961, sec. 7.5 (from memory): ring stress plus
    bending 6 p R w₀/(t²(1 − p/p_cr)), put together here without the quadratic."""
    wall, outside, strength = 1.5e-3, 44e-3, 30e6
    radius = (outside - wall) / 2
    folding = buckling_pressure(1.4e9, 0.42, wall, outside)
    pressure = oval_pressure(folding, strength, wall, outside, out_of_round)
    bending = 6 * pressure * radius * (out_of_round / 4) / (wall**2 * (1 - pressure / folding))
    assert hoop_stress(pressure, wall, outside) + bending == pytest.approx(strength, rel=1e-9)
    assert pressure < folding


def test_shrinkage_is_hoop_strain_times_diameter():
    """Thin ring, Hooke: ΔD = D σ/E with σ = pR/t."""
    stress = hoop_stress(20e3, 1.5e-3, 44e-3)
    assert shrinkage(20e3, 1.4e9, 1.5e-3, 44e-3) == pytest.approx(42.5e-3 * stress / 1.4e9, rel=1e-12)


@pytest.mark.parametrize("forming", [50.0, 62.0, 75.0])
def test_forming_angle_of_spiral_pipe(forming):
    """Spiral welded pipe: cos α = B/(πD), α between the strip and the axis of the pipe, usually 50° to 75° (makers'
    public notes on forming angles). Our angle is measured from the plane across."""
    diameter = 0.610
    strip = pi * diameter * cos(radians(forming))
    assert degrees(winding_angle(diameter, strip)) == pytest.approx(90 - forming, abs=1e-9)


def test_strip_cut_square_covers_the_tube_to_both_ends():
    """Points of the tube laid flat, tried one by one: the run of strip given covers all, a hair less does not."""
    core, width, tube = 0.044, 0.073, 0.5
    around, angle = pi * core, winding_angle(core, width)
    sine, cosine = sqrt(1 - cos(angle) ** 2), cos(angle)
    whole = strip_length(tube, angle) + covering_run(core, width)

    def covered(run: float, x: float, y: float) -> bool:
        for turn in range(-8, 9):
            along = x * sine + (y + turn * around) * cosine
            across = x * cosine - (y + turn * around) * sine
            if -1e-9 <= across <= width + 1e-9 and -1e-9 <= along + width * cosine / sine <= run + 1e-9:
                return True
        return False

    points = [(tube * i / 100, around * j / 200) for i in range(101) for j in range(200)]
    assert all(covered(whole, x, y) for x, y in points)
    assert not all(covered(whole - 0.004, x, y) for x, y in points)


def test_pile_thins_as_annuli_grow():
    """Area of a cylinder grows with its radius: as many fibres on more area."""
    assert pile_thinning(0.040, 0.010) == pytest.approx((2 * pi * 0.020) / (2 * pi * 0.030))
