"""Handles: mass in is mass out, and what grows with what."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.handle.drying_air import dilution_air
from naptuft.handle.finishing import coat_mass, dry_film, speed_for_film, volatile_mass, withdrawn_film
from naptuft.handle.moulding import (
    clamp_force,
    cylinder_cooling_time,
    plate_cooling_time,
    section_cooling_time,
    shot,
)
from naptuft.handle.shape import HandleShape

share = st.floats(0, 1)
TEMPERATURES = (493.15, 313.15, 363.15)


@settings(deadline=None)
@given(st.floats(1e-7, 1e-3), st.integers(1, 64), st.floats(0, 1e-3), st.floats(800, 1500), share)
def test_a_shot_loses_no_gram(volume, cavities, runner, density, reground):
    masses = shot(volume, cavities, runner, density, reground)
    out = cavities * (masses.resin_per_part + masses.regrind_per_part)
    assert out == pytest.approx(masses.total, rel=1e-12)
    assert masses.lost + masses.reground == pytest.approx(masses.runner, rel=1e-12, abs=1e-18)


@settings(deadline=None)
@given(st.floats(0.5e-3, 0.06), st.floats(1.0, 3.0))
def test_a_thicker_section_cools_longer(thickness, wider):
    thin = plate_cooling_time(thickness, 0.08e-6, *TEMPERATURES)
    assert plate_cooling_time(thickness * wider, 0.08e-6, *TEMPERATURES) >= thin


@settings(deadline=None)
@given(st.floats(2e-3, 0.05), st.floats(1.0, 20.0), st.booleans())
def test_a_bar_cools_between_the_cylinder_and_the_plate(thickness, aspect, mean):
    bar = section_cooling_time(thickness, thickness * aspect, 0.08e-6, *TEMPERATURES, mean=mean)
    plate = plate_cooling_time(thickness, 0.08e-6, *TEMPERATURES, mean=mean)
    rod = cylinder_cooling_time(thickness, 0.08e-6, *TEMPERATURES, mean=mean)
    assert bar >= rod * 0.999
    assert bar <= plate * 1.2


def test_the_bar_is_on_the_safe_side_of_a_solved_ellipse():
    """Finite differences on an 18 by 36 mm ellipse: the true mean is no warmer than the formula says."""
    small, large, cells = 0.018, 0.036, 61
    time = section_cooling_time(small, large, 0.08e-6, *TEMPERATURES, mean=True)
    x = np.linspace(-large / 2, large / 2, 2 * cells - 1)
    y = np.linspace(-small / 2, small / 2, cells)
    inside = (x[None, :] / (large / 2)) ** 2 + (y[:, None] / (small / 2)) ** 2 < 1
    step = y[1] - y[0]
    heat = np.where(inside, 1.0, 0.0)
    tick = 0.2 * step**2 / 0.08e-6
    for _ in range(round(time / tick)):
        spread = np.zeros_like(heat)
        spread[1:-1, 1:-1] = heat[2:, 1:-1] + heat[:-2, 1:-1] + heat[1:-1, 2:] + heat[1:-1, :-2] - 4 * heat[1:-1, 1:-1]
        heat = np.where(inside, heat + 0.2 * spread, 0.0)
    wanted = (TEMPERATURES[2] - TEMPERATURES[1]) / (TEMPERATURES[0] - TEMPERATURES[1])
    assert 0.5 * wanted < heat[inside].mean() <= wanted


@settings(deadline=None)
@given(st.floats(1e-4, 1.0), st.floats(1e6, 1e8), st.floats(1.0, 2.0))
def test_clamp_force_is_proportional(area, pressure, margin):
    assert clamp_force(2 * area, pressure, margin) == pytest.approx(2 * clamp_force(area, pressure, margin))


@settings(deadline=None)
@given(st.floats(5e-3, 1.0), st.floats(1e-5, 0.05), st.floats(0.02, 0.05), st.floats(700, 1400))
def test_film_and_speed_are_each_others_inverse(viscosity, speed, tension, density):
    film = withdrawn_film(viscosity, speed, tension, density)
    if viscosity * speed / tension < 0.1:
        assert speed_for_film(film, viscosity, tension, density) == pytest.approx(speed, rel=1e-9)
    assert film <= math.sqrt(viscosity * speed / (density * 9.80665)) * (1 + 1e-12)


@settings(deadline=None)
@given(st.floats(1e-6, 5e-4), st.floats(1e-3, 0.1), st.floats(700, 1400), st.floats(0, 0.6), share)
def test_wet_coating_is_film_and_drips_and_film_is_solids_and_vapour(film, area, density, drips, solids):
    used = coat_mass(film, area, density, drips)
    kept = used * (1 - drips)
    assert kept == pytest.approx(film * area * density, rel=1e-9)
    assert volatile_mass(kept, solids) + kept * solids == pytest.approx(kept, rel=1e-12)
    assert dry_film(film, solids) <= film


@settings(deadline=None)
@given(st.floats(1e-6, 1.0), st.floats(0.03, 0.2), st.floats(0.005, 0.1), st.floats(4, 20))
def test_twice_the_solvent_wants_twice_the_air(rate, molar, limit, safety):
    once = dilution_air(rate, molar, limit, safety)
    assert dilution_air(2 * rate, molar, limit, safety) == pytest.approx(2 * once)
    assert dilution_air(rate, molar, limit, safety, 450.0) == pytest.approx(once / 0.7)


@settings(deadline=None)
@given(st.floats(0.005, 0.03))
def test_a_straight_round_handle_has_the_volume_of_its_parts(radius):
    """Cylinder to the widest place, then half an ellipsoid of revolution."""
    length, head = 0.2, 0.02
    shape = HandleShape(length, 2 * radius, 2 * radius, head, 2 * radius, 2 * radius, 2 * radius, "round")
    grip = head + 0.78 * (length - head)
    exact = math.pi * radius**2 * (grip + 2 / 3 * (length - grip))
    assert shape.volume() == pytest.approx(exact, rel=1e-3)
