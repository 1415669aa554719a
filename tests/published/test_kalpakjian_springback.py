"""Kalpakjian & Schmid, Manufacturing Engineering and Technology, sec. 16.5: springback of a bend (from memory)."""

from math import radians

import numpy as np
import pytest
from scipy.integrate import quad

from naptuft.brush.forming import bend_kept, springback_figure, sprung_radius


def test_the_worked_example_springs_to_the_printed_radius():
    """20-gauge steel, 0.0359 in, R 0.5 in, Y 40,000 psi, E 29e6 psi: x 0.0192, Ri/Rf 0.942, Rf 0.531 in."""
    figure = springback_figure(0.5, 40_000, 29e6, 0.0359)
    assert figure == pytest.approx(0.0192, abs=5e-5)
    sprung = sprung_radius(0.5, figure)
    assert sprung is not None
    assert 0.5 / sprung == pytest.approx(0.942, abs=5e-4)
    assert sprung == pytest.approx(0.531, abs=5e-4)


@pytest.mark.parametrize("figure", [0.05, 0.15, 0.3, 0.45])
def test_the_cubic_is_the_unloading_of_an_elastic_plastic_strip(figure):
    """Moment of stress min(Ez/R, Y) through the thickness, taken off elastically: 1/R − M/(EI) left of 1/R."""
    modulus, strength, gauge = 200e9, 250e6, 1e-3
    radius = figure * modulus * gauge / strength
    moment = 2 * quad(lambda z: min(modulus * z / radius, strength) * z, 0, gauge / 2, points=[figure * gauge])[0]
    left = 1 / radius - moment / (modulus * gauge**3 / 12)
    sprung = sprung_radius(radius, figure)
    assert sprung is not None
    assert radius / sprung == pytest.approx(left * radius, rel=1e-6)


def test_a_bend_that_never_yields_springs_flat():
    """At x = 1/2 the outer fibre just reaches yield: nothing stays."""
    assert sprung_radius(1.0, 0.5) is None
    nearly = sprung_radius(1.0, 0.4999)
    assert nearly is not None
    assert nearly > 1e6


def test_a_bend_keeps_the_length_of_its_middle_layer():
    """K_s = αf/αi = (2Ri/t + 1)/(2Rf/t + 1): the same arc, wider."""
    radius, sprung, gauge, angle = 8e-3, 8.86e-3, 0.3e-3, radians(180)
    kept = bend_kept(radius, sprung, gauge)
    assert kept * angle * (sprung + gauge / 2) == pytest.approx(angle * (radius + gauge / 2))
    assert np.isclose(kept, (2 * radius / gauge + 1) / (2 * sprung / gauge + 1))
