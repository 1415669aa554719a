"""The single filament: its section and how stiff its tip is.

Small deflection: the tip moves by less than about a tenth of the length; for more see `elastica`.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Literal

from naptuft.errors import DesignError, Fault

Form = Literal["round", "hollow", "trilobal", "cross"]
FORMS: tuple[Form, ...] = ("round", "hollow", "trilobal", "cross")


@dataclass(frozen=True)
class Section:
    """The cross-section of a filament at its butt.

    form      round, hollow, trilobal (three lobes) or cross (an X of two bars)
    diameter  of the circle around it [m]
    inner     bore of a hollow one, lobe height of a trilobal one, bar width of a cross [m]; round: 0

    Bending is the same about every axis, as each form has three or more turns of symmetry.
    Raises DesignError when the inner measure does not fit the form.

    >>> round(Section("cross", 0.4e-3, 0.1e-3).area / Section("round", 0.4e-3).area, 3)
    0.557
    """

    form: Form
    diameter: float
    inner: float = 0.0

    def __post_init__(self) -> None:
        faults = []
        if self.diameter <= 0:
            faults.append(Fault("diameter", self.diameter, "above 0 m", "give the filament's diameter"))
        if self.form == "round" and self.inner != 0:
            faults.append(Fault("inner measure", self.inner, "left out for a solid round filament", "choose hollow"))
        most = {"round": 0.0, "hollow": self.diameter, "trilobal": self.diameter / 4, "cross": self.diameter * 0.7}
        if self.form != "round" and not 0 < self.inner < most[self.form]:
            faults.append(
                Fault(
                    _INNER[self.form],
                    self.inner,
                    f"above 0 and below {most[self.form]:g} m",
                    f"measure the {self.form} filament and correct it",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def area(self) -> float:
        """Area of material. [m**2] Round πD²/4; hollow π(D² − d²)/4; trilobal πR²(1 + a²/2); cross 2Db − b²."""
        match self.form:
            case "cross":
                return 2 * self.diameter * self.inner - self.inner**2
            case "trilobal":
                radius, wave = self._lobes
                return pi * radius**2 * (1 + wave**2 / 2)
            case _:
                return section_area(self.diameter, self.inner)

    @property
    def second_moment(self) -> float:
        """Second moment of area about any axis through the middle. [m**4]

        Round and hollow π(D⁴ − d⁴)/64; trilobal, edge r = R(1 + a·cos 3φ): πR⁴(1 + 3a² + 3a⁴/8)/4;
        cross (Db³ + bD³ − b⁴)/12. Source: geometry.
        """
        match self.form:
            case "cross":
                d, b = self.diameter, self.inner
                return (d * b**3 + b * d**3 - b**4) / 12
            case "trilobal":
                radius, wave = self._lobes
                return pi / 4 * radius**4 * (1 + 3 * wave**2 + 3 * wave**4 / 8)
            case _:
                return second_moment(self.diameter, self.inner)

    @property
    def _lobes(self) -> tuple[float, float]:
        radius = (self.diameter - self.inner) / 2
        return radius, self.inner / 2 / radius


_INNER: dict[Form, str] = {"hollow": "bore", "trilobal": "lobe height", "cross": "bar width"}


def tip_stiffness(modulus: float, section: Section, tip_ratio: float, length: float) -> float:
    """Force at the tip per tip movement for any section that narrows in proportion to the tip. [N/m]

    3E·I_butt·r/L³, r = tip over butt diameter: the section keeps its form, so I falls with its fourth power.
    modulus [Pa]; length [m]. Raises DesignError when the ratio is not above 0 and at most 1.
    Source: Roark, tapered beams (from memory).

    >>> same = tapered_tip_stiffness(4e9, 0.2e-3, 0.1e-3, 0.05)
    >>> round(tip_stiffness(4e9, Section("round", 0.2e-3), 0.5, 0.05) / same, 12)
    1.0
    """
    if not 0 < tip_ratio <= 1:
        raise DesignError(
            Fault("tip ratio", tip_ratio, "above 0 and at most 1", "a filament is fixed at its wider end: swap them")
        )
    return level_tip_stiffness(modulus, section.second_moment, length) * tip_ratio


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


def root_stress(force: float, length: float, diameter: float) -> float:
    """Bending stress at the fixing of a solid round filament with a force across its tip, 32FL/πd³. [Pa]

    Source: Roark, flexure formula (from memory).

    >>> round(root_stress(1e-3, 0.05, 0.2e-3) / 1e6, 2)
    63.66
    """
    return 32 * force * length / (pi * diameter**3)
