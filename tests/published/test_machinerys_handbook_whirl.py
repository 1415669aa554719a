"""Machinery's Handbook, 31st ed. 2020, p. 205, critical speeds of steel shafts, first critical speed, inches and pounds.

The table gives E as 29,000,000 and rounds its constants to three or four figures: they agree with the formula to 2 %.
"""

from math import pi

import pytest

from naptuft.roller.finishing import whirl_speed

INCH, POUND_FORCE = 0.0254, 4.4482216152605
STEEL = 29e6 * POUND_FORCE / INCH**2
WEIGHT = 0.283 * POUND_FORCE / INCH**3
GRAVITY = 9.80665


def stiffness(diameter):
    return STEEL * pi * diameter**4 / 64


@pytest.mark.parametrize(("diameter", "length"), [(1.0, 24.0), (0.25, 20.0), (3.0, 96.0)])
def test_shaft_alone_on_two_bearings(diameter, length):
    """N1 = 4,760,000 d/l²."""
    mass = WEIGHT / GRAVITY * pi / 4 * (diameter * INCH) ** 2
    speed = 60 * whirl_speed(length * INCH, stiffness(diameter * INCH), mass)
    assert speed == pytest.approx(4_760_000 * diameter / length**2, rel=0.02)


@pytest.mark.parametrize(("diameter", "length", "load"), [(1.0, 24.0, 50.0), (0.5, 30.0, 4.0)])
def test_even_load_on_a_shaft_that_weighs_nothing(diameter, length, load):
    """N = 2,232,500 d²/(l√(Wl)), the total load W spread evenly: as the wet pile on a core."""
    mass = load * POUND_FORCE / GRAVITY / (length * INCH)
    speed = 60 * whirl_speed(length * INCH, stiffness(diameter * INCH), mass)
    assert speed == pytest.approx(2_232_500 * diameter**2 / (length * (load * length) ** 0.5), rel=0.015)
