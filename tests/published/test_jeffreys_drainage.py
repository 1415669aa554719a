"""Jeffreys, Proc. Cambridge Phil. Soc. 26 (1930) 204: the draining of a vertical plate (abstract read; formula from memory)."""

from math import sqrt

import pytest

from naptuft.handle.drainage import Drainage as DrainageInput
from naptuft.handle.drainage import draining_film, drawn_film, film_along, mean_film, thinned_length

GRAVITY = 9.80665


def test_the_wedge_is_the_root_of_viscosity_times_height_over_time():
    """h = sqrt(eta z/(rho g t)): water of 1 mPa s, 0.1 m down, after 10 s: 32 um."""
    assert draining_film(0.1, 10.0, 1e-3, 1.0, 1000.0) == pytest.approx(sqrt(1e-3 * 0.1 / (1000 * GRAVITY * 10)))
    assert draining_film(0.1, 10.0, 1e-3, 1.0, 1000.0) == pytest.approx(32e-6, rel=0.01)


@pytest.mark.parametrize("index", [1.0, 0.8, 0.5])
def test_the_wedge_keeps_its_mass(index):
    """dh/dt + d/dz [n/(2n+1) (rho g/k)^(1/n) h^((2n+1)/n)] = 0, by differences."""
    k, density = 0.2, 1000.0

    def film(z, t):
        return draining_film(z, t, k, index, density)

    def flow(z, t):
        power = (2 * index + 1) / index
        return index / (2 * index + 1) * (density * GRAVITY / k) ** (1 / index) * film(z, t) ** power

    z, t = 0.1, 30.0
    storing = (film(z, t * 1.0001) - film(z, t * 0.9999)) / (2e-4 * t)
    leaving = (flow(z * 1.0001, t) - flow(z * 0.9999, t)) / (2e-4 * z)
    assert storing == pytest.approx(-leaving, rel=1e-4)


def test_draining_never_adds_to_the_film_that_was_drawn():
    drainage = DrainageInput(coated_length=0.16)
    drawn, _ = drawn_film(drainage)
    films = [film_along(drainage, 0.16 * share, drawn) for share in (0.01, 0.05, 0.1, 0.3, 1.0)]
    assert films == sorted(films)
    assert mean_film(drainage, drawn) <= films[-1] == drawn
    reach = thinned_length(drainage, drawn)
    assert film_along(drainage, reach * 1.01, drawn) == drawn
    assert film_along(drainage, reach * 0.9, drawn) < drawn
