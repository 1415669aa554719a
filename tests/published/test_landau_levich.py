"""Landau and Levich, Acta Physicochimica URSS 17 (1942) 42: film drawn from a bath (from memory)."""

import pytest

from naptuft.handle.finishing import LANDAU_LEVICH, withdrawn_film


def test_the_factor_is_the_curvature_of_the_film_equation():
    """H''' = (1 - H)/H^3 run from the flat film: far curvature x 3^(2/3) / sqrt 2 = 0.9458 (printed 0.94)."""
    from scipy.integrate import solve_ivp

    small = 1e-6
    start = [1 + small, small, small]
    run = solve_ivp(lambda _, h: [h[1], h[2], (h[0] - 1) / h[0] ** 3], (0, 60), start, rtol=1e-10, atol=1e-12)
    far = run.y[2, -1] * 3 ** (2 / 3) / 2**0.5
    assert far == pytest.approx(LANDAU_LEVICH, abs=5e-4)
    assert round(LANDAU_LEVICH, 2) in (0.94, 0.95)


def test_twice_the_speed_gives_1_587_of_the_film():
    """h goes with U^(2/3)."""
    slow, fast = (withdrawn_film(0.05, speed, 0.03, 1000.0) for speed in (0.0005, 0.001))
    assert fast / slow == pytest.approx(1.587, abs=5e-4)


def test_the_film_in_capillary_lengths():
    """h = 0.946 l Ca^(2/3) with l = sqrt(gamma/(rho g)); Quere, Annual Review of Fluid Mechanics 31 (1999) 347."""
    length = (0.03 / (1000.0 * 9.80665)) ** 0.5
    capillary = 0.05 * 0.001 / 0.03
    assert withdrawn_film(0.05, 0.001, 0.03, 1000.0) == pytest.approx(0.946 * length * capillary ** (2 / 3), rel=5e-4)
