"""Budynas and Nisbett, Shigley's Mechanical Engineering Design, 8th ed., sec. 1-13, and what else is printed of stacks."""

import pytest

from naptuft.roller import TOLERANCE
from naptuft.roller.tolerance import Link, share_outside, stack_up

INCH = 0.0254


def links(*rows):
    return [Link(name=name, sense=sense, nominal=size * INCH, plus=t * INCH) for name, sense, size, t in rows]


def test_sleeves_on_a_shouldered_screw():
    """Example 1-3: 1.750 ± 0.003, 0.750 ± 0.001, 0.120 ± 0.005, 0.875 ± 0.001 in: gap 0.005 ± 0.010 in."""
    chain = links(("a", 1, 1.750, 0.003), ("b", -1, 0.750, 0.001), ("c", -1, 0.120, 0.005), ("d", -1, 0.875, 0.001))
    gap = stack_up(chain)
    assert gap.middle / INCH == pytest.approx(0.005, abs=1e-9)
    assert gap.worst / INCH == pytest.approx(0.010, abs=1e-9)
    assert gap.statistical < gap.worst


def test_size_that_leaves_the_gap_asked():
    """The same example, part b: a gap of at least 0.003 in wants d = 0.867 in."""
    chain = links(("a", 1, 1.750, 0.003), ("b", -1, 0.750, 0.001), ("c", -1, 0.120, 0.005), ("d", -1, 0.867, 0.001))
    gap = stack_up(chain)
    assert (gap.middle - gap.worst) / INCH == pytest.approx(0.003, abs=1e-9)


def test_pin_through_three_links():
    """Shigley, problem on a pin grip: 6.520 ± 0.010 less 1.500 ± 0.001, 2.000 ± 0.003, 3.000 ± 0.004: 0.020 ± 0.018."""
    chain = links(("d", 1, 6.520, 0.010), ("a", -1, 1.5, 0.001), ("b", -1, 2.0, 0.003), ("c", -1, 3.0, 0.004))
    gap = stack_up(chain)
    assert gap.middle / INCH == pytest.approx(0.020, abs=1e-9)
    assert gap.worst / INCH == pytest.approx(0.018, abs=1e-9)


def test_ten_like_parts_stray_by_the_root_of_ten():
    """Ten parts of ±0.1 mm: ±1.0 mm at worst, ±0.316 mm by root sum of squares (printed in guides to both)."""
    gap = stack_up([Link(name=str(n), sense=1, nominal=0.01, plus=1e-4) for n in range(10)])
    assert gap.worst == pytest.approx(1.0e-3)
    assert gap.statistical == pytest.approx(0.316e-3, abs=0.0005e-3)


@pytest.mark.parametrize(("sigmas", "outside"), [(3, 0.0027), (4, 64e-6), (5, 0.6e-6), (6, 2e-9)])
def test_share_outside_is_that_of_the_capability_table(sigmas, outside):
    """NIST/SEMATECH e-Handbook 6.1.6: limits 6, 8, 10, 12 sigma apart reject 0.27 %, 64 ppm, 0.6 ppm, 2 ppb."""
    assert share_outside(0.0, sigmas, -sigmas, sigmas, sigmas) == pytest.approx(outside, rel=0.06)


def test_a_mean_off_by_one_and_a_half_sigma():
    """The 3.4 in a million of six-sigma practice: limits at six sigma, mean off by 1.5 (from memory)."""
    assert share_outside(1.5, 1.0, -6.0, 6.0, sigmas=1.0) == pytest.approx(3.4e-6, abs=0.05e-6)


def test_the_screw_that_binds_fails_and_names_the_widest_tolerance():
    rows = "a | 1 | 1.750 in | 0.003 in; b | -1 | 0.750 in | 0.001 in; c | -1 | 0.120 in | 0.005 in; d | -1 | 0.875 in | 0.001 in"
    result = TOLERANCE.answer({"links": rows, "least_gap": "0.003 in"})
    assert not result.passed
    assert result.remarks[0].startswith("c: 69%")
