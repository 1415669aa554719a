"""Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959: series of 3.3 and 7.6, freezing of 11.2."""

from math import erf, exp, pi, sqrt

import numpy as np
import pytest
from scipy.optimize import brentq

from naptuft.materials.conduction import (
    cylinder_centre_ratio,
    cylinder_mean_ratio,
    plate_mean_ratio,
    plate_ratio,
)
from naptuft.materials.transient import HELD, Face, HeatContent, conduct

COLD = Face(film=HELD, surroundings=300.0)
PLAIN = HeatContent(1000.0, 2000.0)


@pytest.mark.parametrize("fourier", [0.02, 0.05, 0.1, 0.3, 0.6])
def test_the_plate_as_it_happens_follows_the_series(fourier):
    """Middle and mean of a plate held cold on both faces, section 3.3: within 0.1 % of the step."""
    end = fourier * 0.01**2 / 1e-7
    run = conduct(0.01, 0.2, PLAIN, 400.0, (COLD, COLD), end)
    assert (run.middle[-1] - 300) / 100 == pytest.approx(plate_ratio(0.5, fourier), abs=1e-3)
    assert (run.mean[-1] - 300) / 100 == pytest.approx(plate_mean_ratio(fourier), abs=1e-3)


@pytest.mark.parametrize("fourier", [0.02, 0.05, 0.1, 0.2])
def test_the_cylinder_as_it_happens_follows_the_bessel_series(fourier):
    """Axis and mean of a long cylinder held cold, section 7.6."""
    end = fourier * 0.01**2 / 1e-7
    run = conduct(0.01, 0.2, PLAIN, 400.0, (COLD, COLD), end, shape="cylinder")
    assert (run.temperatures[-1, 0] - 300) / 100 == pytest.approx(cylinder_centre_ratio(fourier), abs=2e-3)
    assert (run.mean[-1] - 300) / 100 == pytest.approx(cylinder_mean_ratio(fourier), abs=1e-3)


def test_a_film_on_both_faces_follows_the_heisler_solution():
    """Bi = 1, half thickness L, Fo = 1: 1.1191 exp(-0.8603^2) = 0.534 of the step is left in the middle."""
    half = 0.005
    film = Face(film=0.2 / half, surroundings=300.0)
    run = conduct(2 * half, 0.2, PLAIN, 400.0, (film, film), half**2 / 1e-7)
    assert (run.middle[-1] - 300) / 100 == pytest.approx(1.1191 * exp(-(0.8603**2)), abs=1.5e-3)


def test_freezing_advances_with_the_root_of_time():
    """Neumann's solution, melt at its freezing point: x = 2 m sqrt(a t), sqrt(pi) m exp(m^2) erf(m) = c dT/L."""
    conductivity, density, heat, fusion = 0.2, 1000.0, 2000.0, 200e3
    freezing, cold = 400.0, 340.0
    content = HeatContent(density, heat, fusion, freezing, fusion_width=2.0)
    stefan = heat * (freezing - cold) / fusion
    root = float(brentq(lambda m: sqrt(pi) * m * exp(m * m) * erf(m) - stefan, 1e-3, 2.0))  # type: ignore[arg-type]
    seconds = 60.0
    printed = 2 * root * sqrt(conductivity / (density * heat) * seconds)
    face = Face(film=HELD, surroundings=cold)
    run = conduct(0.02, conductivity, content, freezing + 1.0, (face, Face()), seconds, cells=160, steps=600)
    row = run.temperatures[-1]
    k = int(np.argmax(row > freezing))
    found = run.places[k - 1] + (freezing - row[k - 1]) / (row[k] - row[k - 1]) * (run.places[k] - run.places[k - 1])
    assert found == pytest.approx(printed, rel=0.03)


def test_no_heat_is_lost_on_the_way():
    """An insulated face and a steady flux in: the heat held rises by flux x time, freezing or not."""
    content = HeatContent(905.0, 1800.0, 100e3, 388.0)
    hot = Face(film=0.01, surroundings=300_300.0)
    run = conduct(0.002, 0.2, content, 300.0, (hot, Face()), 100.0)
    held = float(((content.of(run.temperatures[-1]) - content.of(run.temperatures[0])) * run.shares).sum()) * 0.002
    taken = float(np.trapezoid(0.01 * (300_300.0 - run.temperatures[:, 0]), run.times))
    assert held == pytest.approx(taken, rel=2e-3)
