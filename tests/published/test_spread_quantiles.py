"""Draws of the replayer against the quantiles of SciPy's distributions.

scipy.stats (SciPy reference guide, sections "triang", "lognorm" and "weibull_min"), quantile functions.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from naptuft.planning.risk.floor import CELLS, LANES, TAIL, draw, drawn, tabled
from naptuft.plant.spread import Spread, lognormal, triangular, weibull

SPREADS = (
    triangular(0.9, 1.0, 1.4),
    triangular(1.0, 1.0, 2.0),
    lognormal(1.05, 0.2),
    lognormal(45.0, 0.8),
    weibull(1.05, 5.0),
    weibull(2400.0, 1.3),
)
FORMS = {"triangular": 0, "lognormal": 1, "Weibull": 2}


def same(spread: Spread):
    """The same distribution, by SciPy."""
    a, b, c = spread.a, spread.b, spread.c
    match spread.form:
        case "triangular":
            return stats.triang((b - a) / (c - a), loc=a, scale=c - a)
        case "lognormal":
            return stats.lognorm(b, scale=np.exp(a))
        case "Weibull":
            return stats.weibull_min(b, scale=a)


def rows(spread: Spread) -> np.ndarray:
    """A spread as the replayer reads it."""
    return np.array([(FORMS[spread.form], spread.a, spread.b, spread.c)])


@pytest.mark.parametrize("spread", SPREADS, ids=str)
def test_the_formulas_give_the_quantiles(spread: Spread):
    for share in (1e-6, 0.001, 0.1, 0.5, 0.9, 0.999, 1 - 1e-6):
        assert drawn(rows(spread), 0, share) == pytest.approx(same(spread).ppf(share), rel=1e-6)


@pytest.mark.parametrize("spread", SPREADS, ids=str)
def test_between_two_values_of_the_table_a_straight_line_is_near_enough(spread: Spread):
    table, quantile = tabled(rows(spread))[0], same(spread).ppf
    cells = np.arange(TAIL, CELLS - TAIL)
    for part in (0.25, 0.5, 0.75):
        line = table[cells] + part * (table[cells + 1] - table[cells])
        assert np.abs(line / quantile((cells + part) / CELLS) - 1).max() < 0.003


@pytest.mark.parametrize("spread", SPREADS, ids=str)
def test_many_draws_are_spread_as_they_should_be(spread: Spread):
    """Kolmogorov's test does not tell 400,000 draws from the distribution (p above one in a thousand)."""
    states = np.arange(1, LANES + 1, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    table, found = tabled(rows(spread)), np.empty(LANES)
    draws = np.empty((50_000, LANES))
    for key, row in enumerate(draws):
        draw(rows(spread), table, 0, states, key, found)
        row[:] = found
    assert stats.kstest(draws.ravel(), same(spread).cdf).pvalue > 1e-3
    assert draws.mean() == pytest.approx(spread.mean, abs=4 * spread.variance**0.5 / draws.size**0.5)
