"""Carslaw and Jaeger, 2nd ed. 1959, section 2.4, with the error function of Abramowitz and Stegun, table 7.1."""

from math import sqrt

import pytest

from naptuft.materials.conduction import set_depth


@pytest.mark.parametrize(("x", "erf"), [(0.5, 0.5204998778), (1.0, 0.8427007929), (1.5, 0.9661051465)])
def test_the_skin_reaches_where_the_tabled_error_function_says(x, erf):
    """erf 0.5, 1.0, 1.5 as tabled to ten digits: depth 2 x sqrt(a t) where the step has fallen to erf(x)."""
    diffusivity, time = 0.1e-6, 4.0
    depth = set_depth(diffusivity, time, 500.0, 300.0, 300.0 + 200.0 * erf)
    assert depth == pytest.approx(2 * x * sqrt(diffusivity * time), rel=1e-8)
