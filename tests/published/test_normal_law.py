"""Normal probabilities against the simulated brushes: tables of the normal distribution, binomial error.

NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, cumulative normal: 0.68268, 0.95450, 0.99730 within one,
two and three standard deviations; 1.96 for 95 % (from memory). A six-sigma tolerance with its mean 1.5 off: 3.4 ppm.
"""

from math import sqrt

import pytest

from naptuft.brush import TOLERANCE
from naptuft.brush.tolerance import inside_normal, try_brushes

ROUND = {
    **{name: value for name, value in TOLERANCE.example().items() if name != "thickness"},
    "shape": "round",
    "width": "30 mm",
    "centrepieces": "0",
    "centrepiece_width": "0",
    "centrepiece_thickness": "0",
    "thickness_scatter": "0",
}


def study(**given):
    return TOLERANCE.read({**ROUND, **given})[0]


@pytest.mark.parametrize(("reach", "share"), [(1, 0.68269), (2, 0.95450), (3, 0.99730), (1.96, 0.95)])
def test_shares_within_so_many_standard_deviations_are_those_of_the_table(reach, share):
    assert inside_normal(1.0, reach) == pytest.approx(share, abs=6e-6)


def test_six_sigma_with_a_shifted_mean_leaves_three_point_four_in_a_million():
    assert 1 - inside_normal(1.0, 6.0, 1.5) == pytest.approx(3.4e-6, abs=0.05e-6)


@pytest.mark.parametrize(("scatter", "allowed"), [("2 %", "2 %"), ("2 %", "4 %"), ("3 %", "4 %")])
def test_brushes_tried_fall_inside_the_weight_tolerance_as_the_law_says(scatter, allowed):
    """100,000 brushes: within four standard errors, √(p(1 − p)/n), of the closed form."""
    given = study(weight_scatter=scatter, weight_tolerance=allowed)
    share = inside_normal(given.weight_scatter, given.weight_tolerance)
    tried = try_brushes(given)
    got = float((abs(tried.weight - 1) <= given.weight_tolerance).mean())
    assert got == pytest.approx(share, abs=4 * sqrt(share * (1 - share) / given.brushes))


def test_packing_in_a_ferrule_of_fixed_size_scatters_as_the_weight():
    """Packing is weight over a fixed area: normal about its nominal, limits in closed form."""
    given = study(width_scatter="0 %", weight_scatter="4 %", least_packing="0.59", most_packing="0.64")
    packing = try_brushes(given).packing
    spread = given.weight_scatter * given.packing
    share = inside_normal(spread, 0.025, given.packing - 0.615)
    got = float(((packing >= given.least_packing) & (packing <= given.most_packing)).mean())
    assert got == pytest.approx(share, abs=4 * sqrt(share * (1 - share) / given.brushes))


def test_packing_of_a_round_ferrule_follows_the_square_of_its_width():
    """Propagation of error: σ² = σ_w² + (2σ_d)²; the mean is raised by 3σ_d² (second order)."""
    given = study(width_scatter="1 %", weight_scatter="2 %")
    ratio = try_brushes(given).packing / given.packing
    assert float(ratio.std()) == pytest.approx(sqrt(0.02**2 + (2 * 0.01) ** 2), rel=0.01)
    assert float(ratio.mean()) == pytest.approx(1 + 3 * 0.01**2, abs=4 * 0.0283 / sqrt(given.brushes))


def test_stiffness_scatters_as_weight_and_twice_the_diameter():
    """Count falls as d², stiffness of one rises as d⁴ (Roark, from memory): weight · d², to first order."""
    given = study(weight_scatter="2 %", diameter_scatter="1 %")
    spread = float(try_brushes(given).stiffness.std())
    assert spread == pytest.approx(sqrt(0.02**2 + (2 * 0.01) ** 2), rel=0.01)
