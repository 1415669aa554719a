"""Spinning parts: centrifuge constant, rotating ring, first whirl, plain hood."""

from math import pi, sqrt

import pytest

from naptuft.errors import DesignError
from naptuft.roller import SPIN
from naptuft.roller.finishing import (
    fibre_stress,
    hood_flow,
    relative_centrifugal_force,
    ring_stress,
    spin_limits,
    tube_inertia,
    whirl_speed,
)

INCH, POUND = 0.0254, 0.45359237


def test_relative_centrifugal_force_agrees_with_the_constant_in_use():
    """1.118e-5 · r(cm) · rpm², the constant printed on centrifuge charts: 15 cm, 5,000 rpm: 4,192."""
    assert relative_centrifugal_force(5000 / 60, 0.15) == pytest.approx(1.118e-5 * 15 * 5000**2, rel=5e-4)
    assert pytest.approx(4192, abs=0.6) == 1.118e-5 * 15 * 5000**2


def test_steel_ring_at_a_hundred_metres_a_second():
    """Timoshenko, Strength of Materials, part II, rotating thin ring ρv² (from memory): 7,850 · 100² = 78.5 MPa."""
    assert ring_stress(7850, 100) == pytest.approx(78.5e6)


def test_fibre_tension_agrees_with_summing_its_slices():
    """Source: statics; each slice pulls with its own mass and radius."""
    foot, tip, density, speed = 0.0229, 0.0349, 1380.0, 3500 / 60
    step = (tip - foot) / 100_000
    pulled = sum(density * step * (2 * pi * speed) ** 2 * (foot + (n + 0.5) * step) for n in range(100_000))
    assert fibre_stress(density, speed, foot, tip) == pytest.approx(pulled, rel=1e-9)


def steel_tube():
    """OD 3 in, wall 1/8 in, 4 ft, E 29 Msi, 0.283 lb/in³."""
    inertia = tube_inertia(3 * INCH, INCH / 8)
    modulus = 29e6 * POUND * 9.80665 / INCH**2
    section = pi / 4 * ((3 * INCH) ** 2 - (2.75 * INCH) ** 2)
    return 48 * INCH, modulus * inertia, section * 0.283 * POUND / INCH**3


def test_first_whirl_of_the_steel_tube():
    """Beam on two supports (Timoshenko, Vibration Problems in Engineering, from memory): 8,262 rpm."""
    assert whirl_speed(*steel_tube()) * 60 == pytest.approx(8262, rel=2e-3)


def test_the_whole_mass_at_mid_span_gives_the_wrong_speed_sometimes_printed():
    """5,800 rpm is printed for the same tube: √(48EI/(mL⁴)), as if all its mass hung in the middle."""
    length, stiffness, mass = steel_tube()
    wrong = sqrt(48 * stiffness / (mass * length**4)) / (2 * pi) * 60
    assert wrong == pytest.approx(5800, rel=2e-3)
    assert whirl_speed(length, stiffness, mass) * 60 > 1.4 * wrong


def test_whirl_agrees_with_a_beam_cut_into_elements():
    """Lowest frequency of a finite-difference beam on two supports, no formula used."""
    import numpy as np

    n, length, stiffness, mass = 400, 1.2, 250.0, 0.6
    h = length / n
    second = (np.diag(np.full(n - 1, -2.0)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)) / h**2
    lowest = np.sqrt(np.linalg.eigvalsh(second @ second * stiffness / mass)[0]) / (2 * pi)
    assert whirl_speed(length, stiffness, mass) == pytest.approx(lowest, rel=1e-4)


def test_plain_hood_falls_off_with_the_square_of_distance():
    """DallaValle: with X² = A/10 from the opening the flow doubles (ACGIH Industrial Ventilation, from memory)."""
    assert hood_flow(0.5, sqrt(0.04 / 10), 0.04) == pytest.approx(2 * hood_flow(0.5, 0.0, 0.04))


def test_a_refill_stands_the_speed_of_common_practice():
    """3,500 rpm is common practice for a 240 mm refill."""
    result = SPIN.answer({**SPIN.example(), "speed": "3500 1/min", "eccentricity": "0.05 mm"})
    assert result.passed


def test_too_high_a_speed_is_refused_with_the_safe_one():
    with pytest.raises(DesignError, match="at most 3500 1/min, the highest safe speed") as caught:
        SPIN.answer({**SPIN.example(), "speed": "4000 1/min"})
    assert caught.value.faults[0].place == "speed"


def test_a_long_tube_is_held_down_by_its_whirl():
    given, _ = SPIN.read({**SPIN.example(), "length": "1800 mm", "speed": "100 1/min"})
    limits = spin_limits(given)
    assert limits.highest == limits.by_whirl < 3500 / 60
