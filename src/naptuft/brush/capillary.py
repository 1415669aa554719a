"""Liquid among aligned filaments: how high it stands, how fast it goes in.

A bundle of filaments of diameter d at packing V acts as a tube of radius d(1 − V)/(2V): the same wetted
edge to the same open area.
"""

from __future__ import annotations

from math import cos, exp, log, pi, sqrt
from typing import Literal

from naptuft.errors import DesignError, Fault

GRAVITY = 9.80665
GAS_CONSTANT = 8.314462618

_CLOSEST = {"square": pi / 4, "hexagonal": pi / (2 * sqrt(3))}
_ALONG = {"square": 57.0, "hexagonal": 53.0}
_ACROSS = {"square": 16 / (9 * pi * sqrt(2)), "hexagonal": 16 / (9 * pi * sqrt(6))}


def jurin_height(surface_tension: float, contact_angle: float, radius: float, density: float) -> float:
    """Height a liquid rises, or is held against its weight, in a narrow tube: 2γcosθ/(ρgr). [m]

    surface_tension [N/m]; contact_angle [rad]; radius [m]; density [kg/m**3].
    Raises DesignError for a tube wider than the capillary length, where the formula does not hold.
    Source: Jurin's rule; OpenStax College Physics, ch. 11.

    >>> round(jurin_height(0.0728, 0.0, 0.5e-3, 1000) * 1e3, 1)
    29.7
    """
    if radius >= capillary_length(surface_tension, density):
        raise DesignError(
            Fault(
                "radius",
                radius,
                f"below the capillary length, {capillary_length(surface_tension, density):.2g} m",
                "wide gaps are not held by capillarity: pack the filaments closer",
            )
        )
    return 2 * surface_tension * cos(contact_angle) / (density * GRAVITY * radius)


def capillary_length(surface_tension: float, density: float) -> float:
    """Size at which weight and surface tension match, √(γ/ρg). [m]

    >>> round(capillary_length(0.0728, 1000) * 1e3, 1)
    2.7
    """
    return sqrt(surface_tension / (density * GRAVITY))


def bundle_radius(diameter: float, packing: float) -> float:
    """Radius of the tube a bundle of filaments acts as, d(1 − V)/(2V). [m]

    diameter [m]; packing, above 0 and below 1. Source: twice the open area over the wetted edge; geometry.

    >>> round(bundle_radius(0.2e-3, 0.62) * 1e6, 1)
    61.3
    """
    return diameter * (1 - packing) / (2 * packing)


def washburn_depth(
    surface_tension: float, contact_angle: float, radius: float, viscosity: float, seconds: float
) -> float:
    """Depth a liquid soaks into a narrow tube, √(γ·r·cosθ·t/(2η)), its weight left out. [m]

    surface_tension [N/m]; contact_angle [rad]; radius [m]; viscosity [Pa*s].
    Source: Washburn, Physical Review 17 (1921) 273 (from memory).

    >>> round(washburn_depth(0.0728, 0.0, 1e-6, 1.0e-3, 1.0) * 1e3, 2)
    6.03
    """
    return sqrt(surface_tension * radius * cos(contact_angle) * seconds / (2 * viscosity))


def along_permeability(radius: float, packing: float, lattice: Literal["square", "hexagonal"] = "hexagonal") -> float:
    """Permeability along aligned filaments, (8R²/c)(1 − V)³/V². [m**2]

    radius: of a filament [m]; packing below 1; c = 57 on a square lattice, 53 on a hexagonal one.
    Valid for dense packing: solved for a hexagonal lattice, c is 52 at a packing of 0.85 but 101 at 0.62.
    Source: Gebart, Journal of Composite Materials 26 (1992) 1100 (from memory).

    >>> f"{along_permeability(0.1e-3, 0.62):.3e}"
    '2.155e-10'
    """
    return 8 * radius**2 / _ALONG[lattice] * (1 - packing) ** 3 / packing**2


def open_permeability(radius: float, packing: float) -> float:
    """Permeability along aligned filaments on a hexagonal lattice, R²/(4V)·(−ln V − 1.4979 + 2V − V²/2). [m**2]

    radius: of a filament [m]. Valid up to a packing of about 0.75; too great above.
    Source: Drummond & Tahir, International Journal of Multiphase Flow 10 (1984) 515 (from memory).

    >>> f"{open_permeability(0.1e-3, 0.62):.3e}"
    '1.126e-10'
    """
    return radius**2 / (4 * packing) * (-log(packing) - 1.49791 + 2 * packing - packing**2 / 2)


def bundle_permeability(radius: float, packing: float) -> float:
    """Permeability along a bundle at any packing: the lesser of `open_permeability` and `along_permeability`. [m**2]

    Within a fifth of the flow solved on a hexagonal lattice, packing 0.3 to 0.85.

    >>> bundle_permeability(0.1e-3, 0.62) == open_permeability(0.1e-3, 0.62)
    True
    """
    return min(open_permeability(radius, packing), along_permeability(radius, packing))


def across_permeability(radius: float, packing: float, lattice: Literal["square", "hexagonal"] = "hexagonal") -> float:
    """Permeability across aligned filaments, C(√(Vmax/V) − 1)^2.5·R²; nil when they touch. [m**2]

    C = 16/(9π√2), Vmax = π/4 on a square lattice; 16/(9π√6), π/(2√3) on a hexagonal one.
    Raises DesignError above Vmax. Source: Gebart, Journal of Composite Materials 26 (1992) 1100 (from memory).

    >>> across_permeability(0.1e-3, 0.62) < along_permeability(0.1e-3, 0.62)
    True
    """
    if packing > _CLOSEST[lattice]:
        raise DesignError(
            Fault("packing", packing, f"at most {_CLOSEST[lattice]:.4f} on a {lattice} lattice", "pack it looser")
        )
    return _ACROSS[lattice] * (sqrt(_CLOSEST[lattice] / packing) - 1) ** 2.5 * radius**2


def capillary_pressure(surface_tension: float, contact_angle: float, diameter: float, packing: float) -> float:
    """Pull of the liquid's edge among aligned filaments, 4γcosθ·V/(d(1 − V)). [Pa]

    Source: wetted edge over open area times γcosθ (Young and Laplace).

    >>> round(capillary_pressure(0.042, 0.0, 0.2e-3, 0.62))
    1371
    """
    return 2 * surface_tension * cos(contact_angle) / bundle_radius(diameter, packing)


def soaked_depth(permeability: float, pressure: float, packing: float, fluidity: float) -> float:
    """Depth of the wet front in a bundle, √(2Kp·Φ/(1 − V)). [m]

    permeability [m**2]; pressure [Pa]; fluidity Φ: time over viscosity, ∫dt/η [1/Pa].
    Source: Darcy's law with a sharp front.

    A bundle of tubes, K = r²(1 − V)/8 and p = 2γ/r, gives Washburn's depth:

    >>> r, v = 50e-6, 0.6
    >>> depth = soaked_depth(r**2 * (1 - v) / 8, 2 * 0.04 / r, v, 60 / 1.5)
    >>> round(depth / washburn_depth(0.04, 0.0, r, 1.5, 60), 12)
    1.0
    """
    return sqrt(2 * permeability * pressure * fluidity / (1 - packing))


def tube_depth(diameter: float, packing: float, pressure: float, fluidity: float) -> float:
    """Depth of the wet front were the bundle straight tubes of its own radius r, √(r²·p·Φ/4). [m]

    diameter [m]; packing; pressure [Pa]; fluidity Φ: time over viscosity, ∫dt/η [1/Pa].
    Source: Washburn, Physical Review 17 (1921) 273 (from memory), any pull p in place of 2γcosθ/r.

    >>> r = bundle_radius(0.2e-3, 0.6)
    >>> round(tube_depth(0.2e-3, 0.6, 2 * 0.04 / r, 60 / 1.5) / washburn_depth(0.04, 0.0, r, 1.5, 60), 12)
    1.0
    """
    return bundle_radius(diameter, packing) * sqrt(pressure * fluidity) / 2


def arrhenius_factor(energy: float, temperature: float, reference: float = 298.15) -> float:
    """How much longer (or more viscous) at a temperature than at the reference, exp[E/R·(1/T − 1/Tr)]. [1]

    energy [J/mol]; temperatures [K].

    >>> round(arrhenius_factor(51_240, 293.15, 303.15), 2)
    2.0
    """
    return exp(energy / GAS_CONSTANT * (1 / temperature - 1 / reference))


def fluidity_until(viscosity: float, doubling: float, seconds: float) -> float:
    """∫dt/η of a glue whose viscosity doubles every `doubling` seconds. [1/Pa]

    viscosity: at the start [Pa*s]. Source: exponential thickening up to gel, common practice for epoxies.

    >>> round(fluidity_until(1.0, 600.0, 600.0), 1)
    432.8
    """
    rate = log(2) / doubling
    return (1 - exp(-rate * seconds)) / (rate * viscosity)


def time_for_fluidity(viscosity: float, doubling: float, fluidity: float) -> float | None:
    """Seconds until ∫dt/η reaches a value; None when the glue thickens too soon ever to reach it. [s]

    >>> round(time_for_fluidity(1.0, 600.0, fluidity_until(1.0, 600.0, 300.0)), 6)
    300.0
    """
    rate = log(2) / doubling
    left = 1 - fluidity * rate * viscosity
    return None if left <= 0 else -log(left) / rate
