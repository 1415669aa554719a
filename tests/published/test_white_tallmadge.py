"""White and Tallmadge 1965, as set as a problem in Deen, Introduction to Chemical Engineering Fluid Mechanics."""

from math import sqrt

import pytest

from naptuft.handle.finishing import capillary_number, film_with_gravity, withdrawn_film


@pytest.mark.parametrize(("speed", "viscosity"), [(0.004, 0.3), (0.03, 2.0), (0.01, 1.0)])
def test_the_film_satisfies_the_printed_equation(speed, viscosity):
    """H(rho g/gamma)^1/2 = 0.944 Ca^2/3 (1 - H^2 rho g/(mu V))^2/3 at 900 kg/m3 and 30 mN/m, V 0.4 to 3 cm/s."""
    film = film_with_gravity(viscosity, speed, 0.030, 900.0)
    weight = 900.0 * 9.80665
    capillary = capillary_number(viscosity, speed, 0.030)
    right = 0.944 * capillary ** (2 / 3) * (1 - film**2 * weight / (viscosity * speed)) ** (2 / 3)
    assert film * sqrt(weight / 0.030) == pytest.approx(right, rel=3e-3)


def test_the_films_printed_range_is_met():
    """Representative values printed there: films of 0.02 to 0.2 cm for 0.4 to 3 cm/s and 0.3 to 2 Pa s."""
    assert film_with_gravity(0.3, 0.004, 0.030, 900.0) == pytest.approx(0.02e-2, rel=0.3)
    assert film_with_gravity(2.0, 0.03, 0.030, 900.0) == pytest.approx(0.2e-2, rel=0.3)


def test_at_a_small_capillary_number_it_is_landau_and_levich():
    slow = film_with_gravity(0.01, 1e-5, 0.03, 1000.0)
    assert slow == pytest.approx(withdrawn_film(0.01, 1e-5, 0.03, 1000.0), rel=0.02)
    quick = film_with_gravity(1.0, 1.0, 0.03, 1000.0)
    assert quick < withdrawn_film(1.0, 1.0, 0.03, 1000.0)
