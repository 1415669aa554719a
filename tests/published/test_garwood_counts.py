"""Limits of rare counts. Garwood, Biometrika 28 (1936) 437 (from memory); binomial: NIST/SEMATECH e-Handbook 7.2.4.1."""

import pytest

from naptuft.roller import SHEDDING
from naptuft.roller.shedding import count_limits, ratio_limits


@pytest.mark.parametrize(
    ("count", "low", "high"),
    [(0, 0.0, 3.69), (1, 0.0253, 5.57), (5, 1.62, 11.67), (10, 4.80, 18.39), (50, 37.11, 65.92)],
)
def test_limits_at_95_per_cent_are_those_tabled(count, low, high):
    assert count_limits(count) == pytest.approx((low, high), abs=0.006)


def test_ratio_of_two_counts_rests_on_the_exact_binomial_limits():
    """4 defectives in 20, 90 %: 0.071354 to 0.401029 (from memory of the page); as a ratio of counts p/(1 − p)."""
    low, high = ratio_limits(4, 16, 1.0, 0.90)
    assert low / (1 + low) == pytest.approx(0.071354, abs=2e-6)
    assert high / (1 + high) == pytest.approx(0.401029, abs=2e-6)


def test_a_larger_control_panel_counts_for_more():
    assert ratio_limits(10, 20, 2.0)[0] == pytest.approx(2 * ratio_limits(10, 20, 1.0)[0])


def test_few_fibres_do_not_tell_two_refills_apart():
    """ASTM D7804 is for comparison within one plant: the answer says when it cannot compare."""
    few = SHEDDING.answer({"fibres": "3", "control_fibres": "5"})
    many = SHEDDING.answer({"fibres": "300", "control_fibres": "500"})
    assert few["index"] == many["index"] == pytest.approx(0.6)
    assert any("cannot tell" in remark for remark in few.remarks)
    assert any("sheds less than the control" in remark for remark in many.remarks)


def test_a_control_without_fibres_gives_no_index():
    result = SHEDDING.answer({"fibres": "3", "control_fibres": "0"})
    assert "index" not in result
    assert any("give a control that sheds" in remark for remark in result.remarks)
