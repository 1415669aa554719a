"""What a strip wound under tension does to its core: pressure, stress, shrinkage, and folding of a thin wall.

Tension also stretches the strip and narrows it, which opens the seam.
"""

from __future__ import annotations

from math import cos, sqrt

SHELL = "Timoshenko and Gere, Theory of Elastic Stability, 2nd ed. 1961, sec. 7.5 (from memory)"
ROARK_TUBE = "Young, Roark's Formulas for Stress and Strain, 6th ed. 1989, table 35, case 19a"
THIN_RING = "thin ring, statics"
THIN_FROM = 10.0


def winding_pressure(tension: float, strip_width: float, core_diameter: float, angle: float) -> float:
    """Pressure of a strip under tension on the core, T cos²α/(w R). [Pa]

    cos²α/R is the curvature of a helix on a cylinder. tension [N] over the whole width.
    Source: thin band on a cylinder, statics.

    >>> round(winding_pressure(20.0, 0.070, 0.040, 0.0))
    14286
    """
    return tension * cos(angle) ** 2 / (strip_width * core_diameter / 2)


def strip_strain(tension: float, strip_width: float, stiffness: float) -> float:
    """Stretch of a strip under tension, T/(w k). [share of its length]

    stiffness  force for a strain of 1, by width [N/m]

    >>> strip_strain(3.6, 0.072, 10e3)
    0.005
    """
    return tension / (strip_width * stiffness)


def narrowing(strip_width: float, strain: float, ratio: float) -> float:
    """How much narrower a stretched strip becomes, w ε ν. [m]

    ratio  width strain over length strain: about 0.3 for film and paper, above 1 for some loose cloths

    >>> round(narrowing(0.073, 0.01, 0.5) * 1e3, 3)
    0.365
    """
    return strip_width * strain * ratio


def buckling_pressure(modulus: float, poisson: float, wall: float, outside_diameter: float) -> float:
    """Outside pressure at which a long thin tube folds in, E t³/(4(1 − ν²)R³), R to mid-wall. [Pa]

    Valid for: R/t above 10 and a tube longer than `long_from`; a shorter one stands more.
    Source: Timoshenko and Gere, Theory of Elastic Stability, 2nd ed. 1961, sec. 7.5 (from memory);
    Young, Roark's Formulas for Stress and Strain, 6th ed. 1989, table 35, case 19a.

    >>> round(buckling_pressure(1.4e9, 0.42, 1.5e-3, 44e-3) / 1e3)
    149
    """
    radius = mid_radius(wall, outside_diameter)
    return modulus * wall**3 / (4 * (1 - poisson**2) * radius**3)


def mid_radius(wall: float, outside_diameter: float) -> float:
    """Radius to the middle of the wall. [m]

    >>> round(mid_radius(0.002, 0.044), 6)
    0.021
    """
    return (outside_diameter - wall) / 2


def long_from(wall: float, outside_diameter: float) -> float:
    """Length above which held ends no longer stiffen a tube against folding, 4.90 R √(R/t). [m]

    Source: Young, Roark's Formulas for Stress and Strain, 6th ed. 1989, table 35, case 19a.

    >>> round(long_from(1.5e-3, 44e-3), 3)
    0.392
    """
    radius = mid_radius(wall, outside_diameter)
    return 4.90 * radius * sqrt(radius / wall)


def hoop_stress(pressure: float, wall: float, outside_diameter: float) -> float:
    """Compression around a thin wall under outside pressure, p R/t. [Pa]

    >>> round(hoop_stress(10e3, 1.5e-3, 44e-3) / 1e3, 1)
    141.7
    """
    return pressure * mid_radius(wall, outside_diameter) / wall


def shrinkage(pressure: float, modulus: float, wall: float, outside_diameter: float) -> float:
    """How much smaller in diameter a thin open tube becomes under outside pressure, 2 p R²/(E t). [m]

    Source: Young, Roark's Formulas for Stress and Strain, 6th ed. 1989, table 28, case 1b (from memory).

    >>> round(shrinkage(10e3, 1.4e9, 1.5e-3, 44e-3) * 1e6, 2)
    4.3
    """
    return 2 * pressure * mid_radius(wall, outside_diameter) ** 2 / (modulus * wall)


def oval_pressure(folding: float, strength: float, wall: float, outside_diameter: float, out_of_round: float) -> float:
    """Outside pressure at which the wall of a tube that is not quite round reaches its strength. [Pa]

    The lesser root of p² − [σ/m + (1 + 6 m n) p_cr] p + σ p_cr/m = 0, with m = R/t and n = w₀/R. A round tube gives
    the lesser of p_cr and σ t/R.

    folding       pressure that folds the round tube [Pa]
    strength      of the wall, around the tube [Pa]
    out_of_round  greatest outside diameter less least, 4 w₀ for an oval [m]
    Source: Timoshenko and Gere, Theory of Elastic Stability, 2nd ed. 1961, sec. 7.5 (from memory).

    >>> round(oval_pressure(149e3, 30e6, 1.5e-3, 44e-3, 0.0) / 1e3)
    149
    >>> round(oval_pressure(149e3, 30e6, 1.5e-3, 44e-3, 0.5e-3) / 1e3)
    144
    """
    radius = mid_radius(wall, outside_diameter)
    ratio, share = radius / wall, out_of_round / 4 / radius
    crush = strength / ratio
    middle = crush + (1 + 6 * ratio * share) * folding
    return 2 * crush * folding / (middle + sqrt(middle**2 - 4 * crush * folding))
