"""The single filament: its section and how stiff its tip is.

Small deflection: the tip moves by less than about a tenth of the length; for more see `elastica`.
"""

from __future__ import annotations

from math import pi

from naptuft.errors import DesignError, Fault


def section_area(diameter: float, bore: float = 0.0) -> float:
    """Area of a round section, solid or hollow. [m**2]

    diameter [m] outside; bore [m] inside, below the diameter (0: solid).
    Raises DesignError outside that. Source: geometry.

    >>> round(section_area(0.2e-3) * 1e6, 5)
    0.03142
    """
    _check_section(diameter, bore)
    return pi / 4 * (diameter**2 - bore**2)


def second_moment(diameter: float, bore: float = 0.0) -> float:
    """Second moment of area of a round section, π(D⁴ − d⁴)/64. [m**4]

    diameter [m] outside; bore [m] inside (0: solid).
    Raises DesignError when the bore is not inside the diameter. Source: Roark, table of sections (from memory).

    >>> f"{second_moment(0.2e-3):.3e}"
    '7.854e-17'
    """
    _check_section(diameter, bore)
    return pi / 64 * (diameter**4 - bore**4)


def _check_section(diameter: float, bore: float) -> None:
    if diameter <= 0 or not 0 <= bore < diameter:
        raise DesignError(
            Fault("filament section", (diameter, bore), "0 <= bore < diameter [m]", "correct the diameter or the bore")
        )


def level_tip_stiffness(modulus: float, moment: float, length: float) -> float:
    """Force at the tip of a level filament per tip movement, 3EI/L³. [N/m]

    modulus [Pa]; moment: second moment of area [m**4]; length [m] from its fixing.
    Valid for small deflection. Source: Roark's Formulas for Stress and Strain, cantilever with end load (from memory).

    >>> round(level_tip_stiffness(4e9, second_moment(0.2e-3), 0.05), 5)
    0.00754
    """
    return 3 * modulus * moment / length**3


def tapered_tip_stiffness(modulus: float, butt_diameter: float, tip_diameter: float, length: float) -> float:
    """Force at the tip of a linearly tapered solid round filament per tip movement. [N/m]

    3πE·d_butt³·d_tip / (64 L³): exact for the linear taper; equal ends give the level filament.
    modulus [Pa]; diameters [m]; length [m].
    Raises DesignError when the tip is wider than the butt or not above 0.
    Source: Roark's Formulas for Stress and Strain, tapered beams (from memory); follows from ∫ x²/EI(x) dx.

    >>> round(tapered_tip_stiffness(4e9, 0.2e-3, 0.1e-3, 0.05), 5)
    0.00377
    """
    if not 0 < tip_diameter <= butt_diameter:
        raise DesignError(
            Fault(
                "tip diameter",
                tip_diameter,
                f"above 0 and at most the butt's {butt_diameter:g} m",
                "a filament is fixed at its wider end: swap the diameters or correct the taper",
            )
        )
    return 3 * pi * modulus * butt_diameter**3 * tip_diameter / (64 * length**3)


def tapered_volume(butt_diameter: float, tip_diameter: float, length: float) -> float:
    """Volume of a linearly tapered solid round filament, πL(d_b² + d_b·d_t + d_t²)/12. [m**3]

    Source: geometry (frustum of a cone).

    >>> level = section_area(0.2e-3) * 0.055
    >>> round(tapered_volume(0.2e-3, 0.2e-3, 0.055) / level, 12)
    1.0
    """
    return pi * length * (butt_diameter**2 + butt_diameter * tip_diameter + tip_diameter**2) / 12


def root_stress(force: float, length: float, diameter: float) -> float:
    """Bending stress at the fixing of a solid round filament with a force across its tip, 32FL/πd³. [Pa]

    Source: Roark, flexure formula (from memory).

    >>> round(root_stress(1e-3, 0.05, 0.2e-3) / 1e6, 2)
    63.66
    """
    return 32 * force * length / (pi * diameter**3)
