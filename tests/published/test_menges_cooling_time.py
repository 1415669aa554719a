"""Menges and Mohren, How to Make Injection Molds, chapter on cooling: plate and cylinder (from memory)."""

from math import exp, pi

import pytest

from naptuft.handle.moulding import cylinder_cooling_time, plate_cooling_time, temperature_ratio
from naptuft.materials.conduction import BESSEL_ZERO, cylinder_mean_ratio, plate_mean_ratio, plate_ratio

MELT, MOULD, EJECTION = 513.15, 333.15, 393.15
DIFFUSIVITY, WALL = 0.10e-6, 0.008


def test_an_eight_millimetre_plate_takes_86_9_seconds_to_120_degrees_in_the_middle():
    """8 mm, 0.10 mm2/s, 240/60/120 degC: s2/(pi2 a) ln(4/pi x 3) = 86.9 s."""
    assert plate_cooling_time(WALL, DIFFUSIVITY, MELT, MOULD, EJECTION) == pytest.approx(86.9, abs=0.05)


def test_the_series_gives_120_degrees_at_that_time():
    """The exact series at 86.9 s: 120.0 degC in the middle."""
    middle = 60 + 180 * plate_ratio(0.5, DIFFUSIVITY * 86.9 / WALL**2)
    assert middle == pytest.approx(120.0, abs=0.05)


def test_the_published_21_7_seconds_is_a_quarter_and_leaves_the_middle_at_220_degrees():
    """A published 21.7 s for the same plate put the full thickness into the half-thickness form."""
    ours = plate_cooling_time(WALL, DIFFUSIVITY, MELT, MOULD, EJECTION)
    assert ours != pytest.approx(21.7, abs=1.0)
    assert ours / 21.7 == pytest.approx(4.0, abs=0.01)
    assert 60 + 180 * plate_ratio(0.5, DIFFUSIVITY * 21.7 / WALL**2) == pytest.approx(220, abs=0.5)


def test_the_mean_of_the_plate_follows_the_series():
    """First term 8/pi2 of the mean; the full series agrees to 0.1 degC."""
    time = plate_cooling_time(WALL, DIFFUSIVITY, MELT, MOULD, EJECTION, mean=True)
    assert 60 + 180 * plate_mean_ratio(DIFFUSIVITY * time / WALL**2) == pytest.approx(120.0, abs=0.1)


def test_the_cylinder_formula_prints_23_14_and_0_692():
    """D2/(23.14 a) ln(0.692 ratio), from the first zero of J0, 2.4048."""
    assert round(4 * BESSEL_ZERO**2, 1) == 23.1
    assert round(4 / BESSEL_ZERO**2, 3) == 0.692
    time = cylinder_cooling_time(0.020, DIFFUSIVITY, MELT, MOULD, EJECTION)
    ratio = temperature_ratio(MELT, MOULD, EJECTION)
    assert exp(time * 23.14 * DIFFUSIVITY / 0.020**2) == pytest.approx(0.692 * ratio, rel=2e-3)
    assert 60 + 180 * cylinder_mean_ratio(DIFFUSIVITY * time / 0.020**2) == pytest.approx(120, abs=1.0)


def test_a_flat_plate_halved_in_thickness_cools_in_a_quarter_of_the_time():
    """Time goes with the square of the thickness."""
    whole = plate_cooling_time(WALL, DIFFUSIVITY, MELT, MOULD, EJECTION)
    assert plate_cooling_time(WALL / 2, DIFFUSIVITY, MELT, MOULD, EJECTION) == pytest.approx(whole / 4)
    assert whole == pytest.approx(WALL**2 / pi**2 / DIFFUSIVITY * 1.3400, rel=1e-3)
