"""Thickest drawn film and what stays of a draining one.

Derjaguin, Comptes Rendus (Doklady) 39 (1943) 13: sqrt(eta U/(rho g)) with gravity alone; Bird, Stewart and Lightfoot,
Transport Phenomena, problem 2D.2, drainage of liquids (both from memory)."""

from math import sqrt

import pytest

from naptuft.handle.drainage import Drainage, draining_film, mean_film
from naptuft.handle.finishing import film_with_gravity, withdrawn_film

GRAVITY = 9.80665


@pytest.mark.parametrize("speed", [0.5, 5.0])
def test_a_fast_drawn_film_is_held_by_gravity_alone(speed):
    """Large capillary number: the film nears sqrt(eta U/(rho g)) from below and never passes it."""
    most = sqrt(1.0 * speed / (1000 * GRAVITY))
    assert withdrawn_film(1.0, speed, 0.03, 1000.0) == pytest.approx(most)
    assert 0.7 * most < film_with_gravity(1.0, speed, 0.03, 1000.0) < most


def test_two_thirds_of_the_film_at_the_foot_is_the_mean():
    """What stays on a drained wall: 2/3 of L sqrt(eta L/(rho g t)) for each metre of width."""
    drainage = Drainage(coated_length=0.2, set_time=600.0, withdrawal_speed=0.01)
    foot = draining_film(0.2, 600.0, drainage.consistency, 1.0, 950.0)
    assert mean_film(drainage, 1.0, steps=2000) == pytest.approx(2 / 3 * foot, rel=2e-3)


def test_four_times_as_long_leaves_half_the_film():
    """Falls with the root of time."""
    films = [draining_film(0.1, time, 0.12, 1.0, 950.0) for time in (60.0, 240.0)]
    assert films[0] / films[1] == pytest.approx(2.0)
