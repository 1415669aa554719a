"""Lamé's thick cylinder: a shaft pressed into a hub, worked example and limits.

Example (AI Calculator, "Press fit calculator", same metal): 50 mm shaft in a hub of 80 mm, 40 mm long, interference 0.04 mm,
E 210 GPa, friction 0.12: holds about 38.6 kN. There p = (E·δ/2d)·(D² − d²)/D². Rigid shaft, wide hub: E·δ/(d(1 + ν)).
"""

from math import pi, sqrt

import pytest

from naptuft.brush import JOINING
from naptuft.brush.joining import interference_hold, interference_pressure


def _hub(modulus, poisson, interference, diameter, outer):
    """Pressure of a rigid shaft in a hub of finite size: δ/d = p/E·[(D² + d²)/(D² − d²) + ν]."""
    ratio = (outer**2 + diameter**2) / (outer**2 - diameter**2)
    return modulus * interference / diameter / (ratio + poisson)


def test_the_worked_example_holds_as_printed():
    pressure = 210e9 * 0.04e-3 / (2 * 0.050) * (1 - (50 / 80) ** 2)
    assert interference_hold(0.12, pressure, 0.050, 0.040) == pytest.approx(38.6e3, rel=2e-3)


def test_a_wide_body_is_the_limit_of_lames_hub():
    modulus, poisson, interference, diameter = 1.3e9, 0.4, 0.015e-3, 1.4e-3
    wide = interference_pressure(modulus, poisson, interference, diameter)
    assert wide == pytest.approx(_hub(modulus, poisson, interference, diameter, 200 * diameter), rel=1e-4)
    assert wide > _hub(modulus, poisson, interference, diameter, 3 * diameter)


def test_a_plastic_handle_yields_where_shear_reaches_the_limit_of_von_mises():
    """At a hole in a wide body hoop and radial stress are +p and −p: √3·p = σ_y."""
    result = JOINING.answer({**JOINING.example(), "stock": "plastic"})
    limit = next(check for check in result.checks if check.label == "pressure beside a nail").limit
    assert limit == pytest.approx(30e6 / sqrt(3))
    assert result["withdrawal"] == pytest.approx(0.25 * 1.3e9 * 0.015e-3 / 1.4 * pi * 7e-3)
