"""A filament bent far: the elastica, for a force across the tip that keeps its direction.

Level filament: Legendre's elliptic integrals. Tapered filament: the same equation integrated along the
length from the tip, where the moment is nil, to the fixing, where the slope must be nil.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import asin, ceil, cos, pi, sin, sqrt
from typing import TYPE_CHECKING

from naptuft.errors import DesignError, Fault

if TYPE_CHECKING:
    import numpy as np

_STEPS = 96
_POINTS, _STAGE, _NEWTON = 40, 0.2, 30
_STEEPEST = pi / 2 - 1e-9


@dataclass(frozen=True)
class Bend:
    """How a filament stands under a load, in shares of its length.

    load          a = P·L²/(E·I at the butt)
    deflection    of the tip, across, over the length
    shortening    by which the tip comes nearer the fixing, over the length
    tip_angle     [rad] from the unbent line
    root_moment   moment at the fixing over E·I/L there
    sharpest      greatest curvature times the length
    """

    load: float
    deflection: float
    shortening: float
    tip_angle: float
    root_moment: float
    sharpest: float


def level_bend(load: float) -> Bend:
    """A level filament under a load a = PL²/EI, by elliptic integrals.

    √a = K(p) − F(p, θ), w/L = 1 − 2[E(p) − E(p, θ)]/√a, (L − x)/L = 1 − √(2 sin φ/a),
    with p² = (1 + sin φ)/2 and sin θ = 1/(p√2), φ the slope at the tip.
    load: 0 to 1e6. Raises DesignError outside.
    Source: Bisshopp & Drucker, Quarterly of Applied Mathematics 3 (1945) 272.

    >>> bend = level_bend(1.0)
    >>> round(bend.deflection, 5), round(bend.shortening, 5), round(bend.tip_angle, 5)
    (0.30172, 0.05643, 0.46135)
    """
    from scipy.special import ellipe, ellipeinc, ellipk, ellipkinc

    _check_load(load)
    if load < 1e-9:
        return Bend(load, load / 3, load**2 / 15, load / 2, load, load)

    def modulus(slope: float) -> tuple[float, float]:
        p2 = (1 + sin(slope)) / 2
        return p2, asin(min(1.0, 1 / sqrt(2 * p2)))

    def excess(slope: float) -> float:
        p2, theta = modulus(slope)
        return float(ellipk(p2) - ellipkinc(theta, p2)) - sqrt(load)

    slope = _rising_root(excess, 0.0, _STEEPEST)
    p2, theta = modulus(slope)
    deflection = 1 - 2 / sqrt(load) * float(ellipe(p2) - ellipeinc(theta, p2))
    reach = sqrt(2 * sin(slope) / load)
    return Bend(load, deflection, 1 - reach, slope, load * reach, load * reach)


def tapered_bend(load: float, tip_ratio: float) -> Bend:
    """A linearly tapered filament under a load a = PL²/(E·I at the butt).

    d(EIκ)/ds = −P cos θ from the tip (κ = 0) to the fixing (θ = 0); fourth-order Runge-Kutta, the slope at
    the tip found by bisection. The section keeps its form, so I falls as the fourth power of the diameter.
    tip_ratio: tip over butt diameter, 0.2 to 1. Raises DesignError outside.
    Source: Bernoulli-Euler elastica; checked against `level_bend` at a ratio of 1.

    >>> round(tapered_bend(1.0, 1.0).deflection, 5)
    0.30172
    """
    _check_load(load)
    if not 0.2 <= tip_ratio <= 1:
        raise DesignError(Fault("tip ratio", tip_ratio, "0.2 to 1", "a filament is fixed at its wider end"))
    if load < 1e-9:
        return Bend(load, load / (3 * tip_ratio), 0.0, 0.0, load, load)
    slope = _rising_root(lambda tip: _march(load, tip_ratio, tip)[0], 0.0, _STEEPEST)
    _, across, along, moment, sharpest = _march(load, tip_ratio, slope)
    return Bend(load, across, 1 - along, slope, moment, sharpest)


def _march(load: float, tip_ratio: float, tip_angle: float) -> tuple[float, float, float, float, float]:
    """From the tip inward: slope left at the fixing, reach across and along, moment there, greatest curvature.

    The stations crowd toward the tip, where a tapered filament is most easily bent.
    """

    def rates(u: float, angle: float, moment: float) -> tuple[float, float]:
        s = u * u
        width = tip_ratio + (1 - tip_ratio) * s
        return 2 * u * (-moment / width**4), 2 * u * load * cos(angle)

    angle, moment, across, along, sharpest = tip_angle, 0.0, 0.0, 0.0, 0.0
    step = 1.0 / _STEPS
    for number in range(_STEPS):
        u = number * step
        a1, m1 = rates(u, angle, moment)
        a2, m2 = rates(u + step / 2, angle + step / 2 * a1, moment + step / 2 * m1)
        a3, m3 = rates(u + step / 2, angle + step / 2 * a2, moment + step / 2 * m2)
        a4, m4 = rates(u + step, angle + step * a3, moment + step * m3)
        middle = angle + step / 2 * (a1 + a2) / 2
        after = angle + step * (a1 + 2 * a2 + 2 * a3 + a4) / 6
        mid_u, end_u = u + step / 2, u + step
        across += step * (2 * u * sin(angle) + 8 * mid_u * sin(middle) + 2 * end_u * sin(after)) / 6
        along += step * (2 * u * cos(angle) + 8 * mid_u * cos(middle) + 2 * end_u * cos(after)) / 6
        angle, moment = after, moment + step * (m1 + 2 * m2 + 2 * m3 + m4) / 6
        sharpest = max(sharpest, moment / (tip_ratio + (1 - tip_ratio) * end_u**2) ** 4)
        if angle < -pi:
            return angle, across, along, moment, sharpest
    return angle, across, along, moment, sharpest


def bend_to(deflection: float, tip_ratio: float = 1.0) -> Bend:
    """The bend whose tip moves across by a share of the length.

    deflection: 0 to 0.8. Raises DesignError outside.

    >>> round(bend_to(0.30172).load, 3)
    1.0
    """
    if not 0 <= deflection <= 0.8:
        raise DesignError(
            Fault("deflection", deflection, "0 to 0.8 of the length", "a tip pushed across cannot go further")
        )
    if deflection == 0:
        return Bend(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)

    if tip_ratio != 1.0:
        return _tapered_to(round(deflection, 12), round(tip_ratio, 12))
    high = 3 * deflection
    while level_bend(high).deflection < deflection:
        high *= 2
    return level_bend(_rising_root(lambda load: level_bend(load).deflection - deflection, 0.0, high))


@lru_cache(maxsize=1024)
def _tapered_to(deflection: float, tip_ratio: float) -> Bend:
    """Load and shape found together by collocation at Chebyshev's points, the deflection raised in stages.

    The same equation as `_march`, with slope, moment and load all unknown at once: where a slender tip lies along
    the load, marching from it is ill-conditioned and this is not. Kept, as one stroke bends every filament of a
    design, and every design of its study, to the same form.
    """
    import numpy as np

    u, derive, weigh = _chebyshev()
    count = len(u)
    bending = 2 * u / (tip_ratio + (1 - tip_ratio) * u**2) ** 4
    matrix, right = np.zeros((2 * count + 1, 2 * count + 1)), np.zeros(2 * count + 1)
    first = min(deflection, _STAGE)
    slope, moment, load = 1.5 * first * (1 - u**4), 3 * tip_ratio * first * u**2, 3 * tip_ratio * first
    stages = max(1, ceil(deflection / _STAGE))
    for number in range(1, stages + 1):
        stage = deflection * number / stages
        for _ in range(_NEWTON):
            turned, leant = np.cos(slope), np.sin(slope)
            matrix[:] = 0.0
            matrix[:count, :count], matrix[count:-1, count:-1] = derive, derive
            matrix[:count, count:-1] += np.diag(bending)
            matrix[count:-1, :count] += np.diag(2 * u * load * leant)
            matrix[count:-1, -1] = -2 * u * turned
            matrix[-1, :count] = weigh * 2 * u * turned
            right[:count] = derive @ slope + bending * moment
            right[count:-1] = derive @ moment - 2 * u * load * turned
            right[-1] = weigh @ (2 * u * leant) - stage
            for row, column, value in ((count - 1, count - 1, slope[-1]), (count, count, moment[0])):
                matrix[row], matrix[row, column], right[row] = 0.0, 1.0, value
            change = np.linalg.solve(matrix, right)
            slope, moment, load = slope - change[:count], moment - change[count:-1], load - change[-1]
            if np.abs(change).max() < 1e-9 * (1 + load):
                break
    along = float(weigh @ (2 * u * np.cos(slope)))
    sharpest = float((bending[1:] * moment[1:] / (2 * u[1:])).max())
    return Bend(float(load), deflection, 1 - along, float(slope[0]), float(moment[-1]), sharpest)


@lru_cache(maxsize=1)
def _chebyshev() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Chebyshev's points on 0 to 1, the matrix that derives at them, and the weights that integrate.

    Source: Trefethen, Spectral Methods in MATLAB, ch. 6 and 12 (from memory).
    """
    import numpy as np

    angle = np.pi * np.arange(_POINTS + 1) / _POINTS
    x = -np.cos(angle)
    ends = np.ones(_POINTS + 1)
    ends[[0, -1]] = 2.0
    ends *= (-1.0) ** np.arange(_POINTS + 1)
    apart = x[:, None] - x[None, :] + np.eye(_POINTS + 1)
    derive = np.outer(ends, 1 / ends) / apart
    derive -= np.diag(derive.sum(axis=1))
    even = np.arange(2, _POINTS + 1, 2)
    factors = np.where(even == _POINTS, 1.0, 2.0) / (1 - even**2.0)
    weigh = 2 / _POINTS * (1 + np.cos(np.outer(angle, even)) @ factors)
    weigh[[0, -1]] /= 2
    return (x + 1) / 2, 2 * derive, weigh / 2


def _check_load(load: float) -> None:
    if not 0 <= load <= 1e6:
        raise DesignError(Fault("load PL²/EI", load, "0 to 1,000,000", "check the force, the length and the modulus"))


def _rising_root(function: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses nil between low and high (Brent)."""
    from scipy.optimize import root_scalar

    if function(high) <= 0:
        return high
    return float(root_scalar(function, bracket=(low, high), method="brentq", xtol=1e-11).root)
