"""One filament bent in a paint: force, deflection, strain, and what an hour does to it."""

from __future__ import annotations

from dataclasses import dataclass
from math import log10

from naptuft.brush.elastica import Bend, bend_to, level_bend, tapered_bend
from naptuft.brush.filament import FORMS, Form, Section, tip_stiffness
from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity
from naptuft.errors import DesignError, Fault
from naptuft.materials.filament import FILAMENT_NAMES, MEDIA, FilamentMaterial, Medium, filament_material
from naptuft.materials.property import COMMON_PRACTICE

HOUR = 3600.0
_STROKE = 1.0


@dataclass(frozen=True)
class FilamentBending:
    """A filament fixed at one end, pushed across at its tip by a force or to a deflection."""

    filling: str = choice(FILAMENT_NAMES, "what the filament is made of", example="PBT")
    form: Form = choice(FORMS, "form of its section", default="round", example="round")
    diameter: float = quantity("mm", "diameter around the section at the butt", low=0.03, high=1, example="0.2 mm")
    inner: float = quantity(
        "mm", "bore of a hollow filament, lobe height of a trilobal, bar width of a cross", low=0, high=1, default=0
    )
    tip_diameter: float | None = quantity(
        "mm", "diameter at the tip; left out: the usual taper of the filling", low=0.01, high=1, default=None
    )
    length: float = quantity("mm", "from its fixing to the tip", low=3, high=300, example="70 mm")
    medium: Medium = choice(MEDIA, "what it stands in", default="water-borne", example="water-borne")
    force: float | None = quantity("mN", "force across the tip; or give the deflection", low=0, high=1e5, default=None)
    deflection: float | None = quantity(
        "mm", "how far the tip moves across; or give the force", low=0, high=240, default=None, example="20 mm"
    )

    def __post_init__(self) -> None:
        faults = []
        if (self.force is None) == (self.deflection is None):
            faults.append(
                Fault("force", self.force, "a force or a deflection, not both", "give one and leave the other out")
            )
        if self.tip_diameter is not None and not 0.2 * self.diameter <= self.tip_diameter <= self.diameter:
            faults.append(
                Fault(
                    "tip diameter",
                    self.tip_diameter,
                    f"a fifth of the butt's {self.diameter:g} m, up to all of it",
                    "a filament is fixed at its wider end: swap the two",
                )
            )
        if self.deflection is not None and self.deflection > 0.8 * self.length:
            faults.append(
                Fault("deflection", self.deflection, f"at most {0.8 * self.length:g} m, four fifths", "bend it less")
            )
        if faults:
            raise DesignError(*faults)
        _ = self.section

    @property
    def section(self) -> Section:
        """The section at the butt."""
        return Section(self.form, self.diameter, self.inner)

    @property
    def material(self) -> FilamentMaterial:
        """The filling material."""
        return filament_material(self.filling)

    @property
    def tip_ratio(self) -> float:
        """Tip over butt diameter."""
        if self.tip_diameter is not None:
            return self.tip_diameter / self.diameter
        return float(self.material.tip_ratio)


def force_left(relaxation: float, seconds: float) -> float:
    """Share of the force still there when a filament is held bent, 1 − r·log10(t/1 s). [1]

    relaxation: share lost in each tenfold of time; seconds: held, at least 1. Source: common practice, the
    straight line on logarithmic time of polymers well below yield.

    >>> round(force_left(0.06, 3600), 4)
    0.7866
    """
    return max(0.0, 1 - relaxation * log10(max(seconds, _STROKE) / _STROKE))


def _work_out(given: FilamentBending) -> Result:
    material, section = given.material, given.section
    kept = material.stiffness_in(given.medium)
    modulus = float(material.modulus) * float(kept)
    stiffness = modulus * section.second_moment
    if given.force is not None:
        load = given.force * given.length**2 / stiffness
        bend = level_bend(load) if given.tip_ratio == 1 else tapered_bend(load, given.tip_ratio)
    else:
        bend = bend_to((given.deflection or 0.0) / given.length, given.tip_ratio)
    force = bend.load * stiffness / given.length**2
    small = tip_stiffness(modulus, section, given.tip_ratio, given.length)
    strain = _greatest_strain(bend, given)
    left = force_left(float(material.relaxation), HOUR)
    remarks = [f"{note}." for note in (_moisture_note(material, given.medium),) if note]
    if strain > 0.02:
        remarks.append(
            f"The greatest strain is {strain:.1%}: beyond about 2 % a filament yields a little, so the force is the most."
        )
    return Result(
        values=(
            Value("force", "force across the tip", force, "mN"),
            Value("deflection", "movement of the tip across", bend.deflection * given.length, "mm"),
            Value("shortening", "movement of the tip toward the fixing", bend.shortening * given.length, "mm"),
            Value("tip_angle", "slope at the tip", bend.tip_angle, "deg"),
            Value("stiffness", "stiffness at small bending", small, "N/m"),
            Value("strain", "greatest strain", strain, "%"),
            Value("force_after_hour", "force after an hour held bent", force * left, "mN"),
            Value("bend_recovery", "share of a sharp bend that springs back", float(material.bend_recovery), "%"),
            Value("modulus", "modulus in the medium", modulus, "GPa"),
            Value("second_moment", "second moment of area at the butt", section.second_moment, "mm**4"),
        ),
        checks=(
            Check(
                "greatest stress",
                strain * modulus,
                float(material.strength) / 2,
                "at most",
                "MPa",
                f"{material.strength.source}; half of it is {COMMON_PRACTICE}",
                "a longer or finer filament, or less bending",
            ),
            Check(
                "stiffness kept in the medium",
                float(kept),
                0.6,
                "at least",
                "%",
                kept.source,
                "choose a filling that takes up less of this medium",
            ),
        ),
        steps=(
            Step("modulus", "E · share kept", modulus, "GPa", f"{material.modulus.source}; {kept.source}"),
            Step("second moment", _MOMENTS[given.form], section.second_moment, "mm**4", "geometry"),
            Step("load", "a = PL²/EI", bend.load, "", "Bisshopp & Drucker (1945)"),
            Step(
                "deflection",
                "elliptic integrals (level) or d(EIκ)/ds = −P cos θ (tapered)",
                bend.deflection * given.length,
                "mm",
                "Bisshopp & Drucker, Quarterly of Applied Mathematics 3 (1945) 272",
            ),
            Step(
                "by the small-deflection formula",
                "P·L³/(3EI·r)",
                force / small,
                "mm",
                "Roark, cantilevers (from memory)",
            ),
            Step("greatest strain", "κ · d/2", strain, "%", "beam theory"),
            Step("springs back", "of a sharp bend", float(material.bend_recovery), "%", material.bend_recovery.source),
            Step("left after an hour", "1 − r·log10(3600)", left, "%", material.relaxation.source),
        ),
        remarks=tuple(remarks),
    )


_MOMENTS: dict[Form, str] = {
    "round": "πd⁴/64",
    "hollow": "π(D⁴ − d⁴)/64",
    "trilobal": "πR⁴(1 + 3a² + 3a⁴/8)/4",
    "cross": "(Db³ + bD³ − b⁴)/12",
}


def _greatest_strain(bend: Bend, given: FilamentBending) -> float:
    """Greatest curvature times half the diameter; the wider butt makes this the most it can be."""
    return bend.sharpest / given.length * given.diameter / 2


def _moisture_note(material: FilamentMaterial, medium: Medium) -> str:
    kept = float(material.stiffness_in(medium))
    return f"{material.name} keeps {kept:.0%} of its stiffness in {medium} paint" if kept < 0.9 else ""


FLEX = Calculation(
    name="filament-bend",
    title="Filament bending",
    line="brush",
    about="A single filament bent far in a paint: force, deflection, strain and what is left after an hour.",
    inputs=FilamentBending,
    run=_work_out,
)
