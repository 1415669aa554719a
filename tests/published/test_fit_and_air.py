"""Small printed figures: held bush, balance grade, duct, two circles, shortening of a bent wire, L-shaped rod."""

from math import pi, sqrt

import pytest

from naptuft.roller import FLUFF, SPIN
from naptuft.roller.beveling import contact_length, wire_force
from naptuft.roller.finishing import duct_diameter, permitted_eccentricity
from naptuft.roller.frame import rod_under_push
from naptuft.roller.frame_fit import bore_at

INCH = 0.0254


def test_held_bush_closes_in_by_twice_its_wall():
    """A composite bearing maker's public sizing note: 2 × 0.250 in × 0.00006/°F × 132 °F = 0.0039 in (0.00396)."""
    closes = 0.5 * INCH - bore_at(0.5 * INCH, 0.250 * INCH, 132.0, 6e-5, held=True)
    assert closes / INCH == pytest.approx(0.0039, abs=0.0001)


def test_rotor_of_two_kilograms_at_ten_thousand_turns():
    """ISO 1940-1 / 21940-11, example printed in a tooling handbook: G 6.3, 2 kg, 10,000 rpm: 12 g·mm."""
    assert 2000 * permitted_eccentricity(6.3e-3, 10_000 / 60) * 1e3 == pytest.approx(12, abs=0.05)


def test_duct_for_390_cubic_feet_a_minute():
    """Ventilation design problem with printed answer: 390 cfm at 4,000 fpm: 4.23 in."""
    air, speed = 390 * (12 * INCH) ** 3 / 60, 4000 * 12 * INCH / 60
    assert duct_diameter(air, speed) / INCH == pytest.approx(4.23, abs=0.005)


@pytest.mark.parametrize("calculation", [SPIN, FLUFF])
def test_lint_needs_twelve_metres_a_second_in_the_duct(calculation):
    """ACGIH Industrial Ventilation, 2009, transport velocities: very fine light dust, cotton lint: 12 to 15 m/s."""
    slow = calculation.answer({**calculation.example(), "duct_speed": "11.5 m/s"})
    assert [check.label for check in slow.checks if not check.passed] == ["air speed in the lint duct"]


@pytest.mark.parametrize(("big", "small", "deep"), [(0.1, 0.035, 0.003), (0.075, 0.02, 0.001), (0.15, 0.04, 0.006)])
def test_common_chord_of_two_circles(big, small, deep):
    """Weisstein, MathWorld, Circle-Circle Intersection, eq. 8: √((−d+r−R)(−d−r+R)(−d+r+R)(d+r+R))/d (from memory)."""
    d, r, R = big + small - deep, small, big
    printed = sqrt((-d + r - R) * (-d - r + R) * (-d + r + R) * (d + r + R)) / d
    assert contact_length(big, small, deep) == pytest.approx(printed, rel=1e-9)


def test_a_bent_wire_shortens_as_the_elastica_says():
    """Bisshopp and Drucker, 1945: PL²/EI = 1: (L − x)/L = 0.05643. The cantilever's 3δ²/5L stays within a tenth of it."""
    diameter, length, modulus = 0.15e-3, 0.030, 205e9
    inertia = pi * diameter**4 / 64
    force = wire_force(diameter, length, 0.05643 * length, modulus)
    assert force * length**2 / (modulus * inertia) == pytest.approx(1.0, rel=0.1)


def test_a_square_corner_in_its_plane():
    """Castigliano on two members (Timoshenko and Young, 1968, sec. 80): PLh³/3EI + P·Lh²·Lv/EI, the column's own
    shortening left out."""
    rod = [(n * 1e-3, 0.0) for n in range(151)] + [(0.150, n * 1e-3) for n in range(1, 101)]
    load = rod_under_push(rod, (0.150, 0.100), 25.0, pi / 2, 0.008, 205e9)
    bend = 205e9 * pi * 0.008**4 / 64
    assert load.deflection == pytest.approx(25 * (0.1**3 / 3 + 0.1**2 * 0.15) / bend, rel=1e-6)
