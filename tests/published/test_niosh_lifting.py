"""NIOSH, Applications Manual for the Revised Lifting Equation, 94-110 (figures from memory where marked)."""

import pytest

from naptuft.boxing.lifting import LOAD_CONSTANT, coupling_multiplier, frequency_multiplier, recommended_weight

INCH, POUND = 0.0254, 0.45359237


def test_loading_punch_press_stock():
    """Example 1 (from memory): H 23 in, V 15 in to 63 in, fair grip, seldom: 16.3 lb at the start, 14.5 lb at the end.

    Printed with US constants (51 lb, 10 in) and HM rounded up to 0.44; the metric form (23 kg, 25 cm) lies up to 5 % below.
    """
    start = recommended_weight(23 * INCH, 15 * INCH, 48 * INCH, coupling=coupling_multiplier(0.38, "fair"))
    end = recommended_weight(23 * INCH, 63 * INCH, 48 * INCH, coupling=coupling_multiplier(1.6, "fair"))
    assert start / POUND == pytest.approx(16.3, rel=0.05)
    assert end / POUND == pytest.approx(14.5, rel=0.05)


def test_compact_loads_between_two_shelves():
    """A textbook exercise on the equation: H 25, V 55, D 95 cm, 3 a minute for 45 min, fair: 15.7 kg, index 0.76 at 12 kg."""
    limit = recommended_weight(
        0.25,
        0.55,
        0.95,
        frequency=frequency_multiplier(3, "1 hour"),
        coupling=coupling_multiplier(0.55, "fair"),
    )
    assert limit == pytest.approx(15.7, abs=0.05)
    assert int(12 / limit * 100) / 100 == 0.76


def test_the_best_lift_allows_the_load_constant():
    """Hands at 75 cm, close to the body, no travel, no twist: 23 kg (51 lb)."""
    assert recommended_weight(0.25, 0.75, 0.25) == pytest.approx(LOAD_CONSTANT)
    assert round(LOAD_CONSTANT / POUND) == 51
