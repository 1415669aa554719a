"""Times estimated three ways, and sums of triangular times.

B. W. Taylor, Introduction to Management Science, ch. 8, example problem solution: expected 24 on the path of
activities 1, 3, 5, 7; ready within 28 with probability 0.9633.
F. S. Hillier and G. J. Lieberman, Introduction to Operations Research, Reliable Construction: 44 weeks, variance 9 on
the longest path (from memory).
Triangular: mean (a + b + c)/3, variance (a² + b² + c² − ab − ac − bc)/18: Evans, Hastings and Peacock (from memory).
NIST/SEMATECH e-Handbook 1.3.6.6.8 and 1.3.6.6.9: Weibull and lognormal.
"""

from __future__ import annotations

from math import exp, gamma, log, sqrt
from statistics import NormalDist

import pytest

from naptuft.planning.problem import Job, Machine, Mode, Operation, Placement, Problem
from naptuft.planning.risk.model import Scatter, model_of
from naptuft.planning.risk.replays import replays
from naptuft.plant.spread import Spread, lognormal, pert_mean, pert_variance, triangular, weibull

TAYLOR = {1: (5, 8, 17), 2: (7, 10, 13), 3: (3, 5, 7), 4: (1, 3, 5), 5: (4, 6, 8), 6: (3, 3, 3), 7: (3, 4, 5)}
RELIABLE = {
    "A": (1, 2, 3), "B": (2, 3.5, 8), "C": (6, 9, 18), "E": (1, 4.5, 5), "F": (4, 4, 10), "J": (3, 9, 9),
    "L": (1, 5.5, 7), "N": (5, 5.5, 9),
}  # fmt: skip


def test_taylors_path_is_expected_in_24_and_within_28_with_0_9633():
    path = [TAYLOR[number] for number in (1, 3, 5, 7)]
    mean = sum(pert_mean(*times) for times in path)
    variance = sum(pert_variance(a, b) for a, _, b in path)
    assert mean == pytest.approx(24)
    assert variance == pytest.approx(5)
    assert NormalDist(mean, sqrt(variance)).cdf(28) == pytest.approx(0.9633, abs=2e-4)


def test_reliable_constructions_longest_path_is_44_weeks_with_variance_9():
    assert sum(pert_mean(*times) for times in RELIABLE.values()) == pytest.approx(44)
    assert sum(pert_variance(a, b) for a, _, b in RELIABLE.values()) == pytest.approx(9)


def path_of(spreads: list[Spread]) -> tuple[float, float, int]:
    """Mean and variance of the end of steps one after the other in the replayer, and how many replays."""
    count = 20_000
    steps = tuple(Operation((Mode(0, 1),)) for _ in spreads)
    problem = Problem((Machine("bench"),), (Job("path", steps, due=0),))
    placements = [Placement(0, k, 0, k, k + 1) for k in range(len(spreads))]
    model = model_of(problem, placements, Scatter(times={(0, k): spread for k, spread in enumerate(spreads)}))
    finish = replays(model, count, seed=3).finish[:, 0]
    return float(finish.mean()), float(finish.var(ddof=1)), count


def test_replayed_triangular_times_add_up_to_the_sums_of_means_and_variances():
    """The path of Taylor's example with triangular times: the sum of (a + m + b)/3, and of the variances."""
    path = [triangular(*TAYLOR[number]) for number in (1, 3, 5, 7)]
    mean, variance, count = path_of(path)
    wanted = sum((a + m + b) / 3 for a, m, b in (TAYLOR[number] for number in (1, 3, 5, 7)))
    spread = sum(s.variance for s in path)
    assert spread == pytest.approx(6.5 + 2 / 3 + 2 / 3 + 1 / 6)
    assert abs(mean - wanted) < 4 * (spread / count) ** 0.5
    assert variance == pytest.approx(spread, rel=0.05)


@pytest.mark.parametrize(
    ("spread", "mean", "variance"),
    [
        (lognormal(12.0, 0.4), 12.0, (0.4 * 12) ** 2),
        (weibull(12.0, 1.0), 12.0, 144.0),
        (weibull(10 * gamma(1.5), 2.0), 10 * gamma(1.5), 100 * (1 - gamma(1.5) ** 2)),
    ],
)
def test_replayed_lognormal_and_weibull_times_have_their_mean_and_variance(spread, mean, variance):
    """Exponential: variance = mean². Weibull of scale 10, shape 2: 10 Γ(1.5), 100 (Γ(2) − Γ(1.5)²)."""
    found, var, count = path_of([spread])
    assert abs(found - mean) < 4 * (variance / count) ** 0.5
    assert var == pytest.approx(variance, rel=0.1)


def test_lognormal_and_weibull_quantiles_follow_their_distribution_functions():
    """F(x) = Φ((ln x − mu)/sigma) and 1 − exp(−(x/scale)^shape)."""
    spread = lognormal(5.0, 0.8)
    for share in (0.001, 0.02, 0.5, 0.9, 0.9995):
        value = spread.quantile(share)
        sigma = sqrt(log(1 + 0.64))
        assert NormalDist(log(5.0) - sigma**2 / 2, sigma).cdf(log(value)) == pytest.approx(share, rel=1e-9)
        other = weibull(7.0, 1.7).quantile(share)
        assert 1 - exp(-((other / (7.0 / gamma(1 + 1 / 1.7))) ** 1.7)) == pytest.approx(share, rel=1e-9)
