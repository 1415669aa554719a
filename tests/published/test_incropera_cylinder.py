"""Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1 and section 5.5 (from memory)."""

from math import exp, pi

import numpy as np
import pytest

from naptuft.materials.transient import Face, HeatContent, conduct

PLAIN = HeatContent(1000.0, 2000.0)


@pytest.mark.parametrize(
    ("biot", "root", "coefficient"),
    [(0.1, 0.4417, 1.0246), (1.0, 1.2558, 1.2071), (10.0, 2.1795, 1.5677), (100.0, 2.3809, 1.6015)],
)
def test_a_rod_cooled_through_a_film_follows_the_printed_roots(biot, root, coefficient):
    """Infinite cylinder, Bi = h r/k: axis at Fo = a t/r2 = 0.4 is C1 exp(-zeta1^2 Fo) of the step."""
    radius = 0.005
    film = Face(film=biot * 0.2 / radius, surroundings=300.0)
    run = conduct(2 * radius, 0.2, PLAIN, 400.0, (film, film), 0.4 * radius**2 / 1e-7, shape="cylinder", cells=80)
    assert (run.temperatures[-1, 0] - 300) / 100 == pytest.approx(coefficient * exp(-(root**2) * 0.4), abs=2e-3)


def warmed_pipe():
    """Example of section 5.5: 40 mm steel wall at -20 degC, oil of 60 degC inside, h 500, insulated outside, 8 min."""
    conductivity, diffusivity = 63.9, 18.8e-6
    content = HeatContent(1.0, conductivity / diffusivity)
    return conduct(0.040, conductivity, content, 253.15, (Face(500.0, 333.15), Face()), 480.0), content


def test_the_outside_of_the_pipe_is_at_43_degrees_after_eight_minutes():
    """Printed: 42.9 degC at the insulated face."""
    run, _ = warmed_pipe()
    assert run.temperatures[-1, -1] - 273.15 == pytest.approx(42.9, abs=0.3)


def test_the_inside_of_the_pipe_still_takes_7400_watts_a_square_metre():
    """Printed: q'' = 500 (45.2 - 60) = -7,400 W/m2, of one term and three digits: 0.1 K more or less is 50 W/m2."""
    run, _ = warmed_pipe()
    cell, half = float(run.temperatures[-1, 0]), 0.040 / 40 / 2
    surface = (500.0 * 333.15 + 63.9 / half * cell) / (500.0 + 63.9 / half)
    assert 500.0 * (surface - 333.15) == pytest.approx(-7400, abs=100)


def test_a_metre_of_the_pipe_has_taken_27_megajoules():
    """Printed: 2.73e7 J/m with a diameter of 1 m."""
    run, content = warmed_pipe()
    held = content.density * content.specific_heat * 0.040 * (run.mean[-1] - 253.15) * pi
    assert held == pytest.approx(2.73e7, rel=5e-3)


def test_a_wall_between_two_fluids_settles_on_its_resistances():
    """Section 3.1: q = (T1 - T2)/(1/h1 + L/k + 1/h2); face temperatures follow."""
    hot, cold = Face(30.0, 400.0), Face(80.0, 300.0)
    run = conduct(0.004, 0.2, PLAIN, 320.0, (hot, cold), 4000.0)
    flux = 100 / (1 / 30 + 0.004 / 0.2 + 1 / 80)
    depth = np.array(run.places)
    assert run.temperatures[-1] == pytest.approx(400 - flux / 30 - flux * depth / 0.2, abs=0.05)
