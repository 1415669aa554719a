"""Ghosh and Hamilton, Metallurgical Transactions A 11 (1980) 1915: sheet blown into a long box (from memory)."""

from math import pi

import pytest

from naptuft.tray.forming import corner_wall


def test_a_square_corner_thins_with_the_power_four_over_pi_less_one():
    """t/t1 = (r/r1)^(4/pi - 1), exponent 0.273."""
    assert corner_wall(1.0, 0.050, 0.005, pi / 2) == pytest.approx(0.1 ** (4 / pi - 1))
    assert 4 / pi - 1 == pytest.approx(0.273, abs=5e-4)
