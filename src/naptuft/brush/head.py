"""The whole brush head: from shape and filling to count, weights, stiffness and margins."""

from __future__ import annotations

from dataclasses import dataclass
from math import tan
from typing import Literal

from naptuft.brush import fill, setting
from naptuft.brush.cautions import BRISTLE_CAUTION, EPOXY_CAUTION, FILAMENT_CAUTION, TRIMMING_CAUTION
from naptuft.brush.filament import FORMS, Form, Section, tip_stiffness
from naptuft.brush.fill import HEXAGONAL_PACKING, SHAPES, Cavity, Shape
from naptuft.brush.suitability import against, rank_fillings
from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.errors import DesignError, Fault
from naptuft.materials.adhesive import EPOXY_NAMES, epoxy
from naptuft.materials.filament import (
    FILAMENT_NAMES,
    MEDIA,
    FilamentMaterial,
    Medium,
    filament_material,
    stoutness,
)
from naptuft.materials.property import COMMON_PRACTICE

COMMON_SETTING_DEPTH = 0.005
ROOM = 293.15
LEAST_UNDER_TRIM = 0.015
Trim = Literal["flat", "chisel", "angular"]
TRIMS: tuple[Trim, ...] = ("flat", "chisel", "angular")
LOOSE_PACKING, TIGHT_PACKING = 0.45, 0.78


@dataclass(frozen=True)
class BrushDesign:
    """A brush head as the engineer chooses it."""

    shape: Shape = choice(SHAPES, "cross-section of the ferrule", default="flat", example="flat")
    width: float = quantity("mm", "greatest inside width of the ferrule", low=4, high=250, example="100 mm")
    thickness: float | None = quantity(
        "mm", "least inside thickness; leave out for a round ferrule", low=2, high=150, default=None, example="16 mm"
    )
    clear_length: float = quantity(
        "mm", "length out: from the ferrule's edge to the tip", low=8, high=200, example="70 mm"
    )
    filling: str = choice(FILAMENT_NAMES, "what the filling is made of", example="PBT")
    diameter: float = quantity("mm", "diameter of a filament at its butt", low=0.03, high=0.6, example="0.2 mm")
    form: Form = choice(FORMS, "form of a filament's section", default="round", example="round")
    inner: float = quantity(
        "mm", "bore of a hollow filament, lobe height of a trilobal, bar width of a cross", low=0, high=0.5, default=0
    )
    tip_diameter: float | None = quantity(
        "mm", "diameter at the tip; left out: the usual taper of the filling", low=0.01, high=0.6, default=None
    )
    packing: float = quantity(
        "", "filling area over open area at the butts", low=0.2, high=0.95, default=0.62, example="0.62"
    )
    centrepieces: int = whole("plugs side by side in the butts", low=0, high=4, default=1, example="1")
    centrepiece_width: float = quantity(
        "mm", "width of one plug, across the brush", low=0, high=240, default=0, example="70 mm"
    )
    centrepiece_thickness: float = quantity("mm", "thickness of one plug", low=0, high=100, default=0, example="5 mm")
    ferrule_depth: float = quantity("mm", "height of the ferrule", low=8, high=120, default=38, example="38 mm")
    setting_depth: float = quantity(
        "mm", "length of the butts held in the glue", low=1, high=60, default=5, example="5 mm"
    )
    epoxy: str = choice(EPOXY_NAMES, "epoxy that holds the butts", default="polyamine epoxy", example="polyamine epoxy")
    epoxy_cap: float = quantity("mm", "glue standing over the butts", low=0, high=20, default=1, example="1 mm")
    epoxy_loss: float = quantity("%", "glue left in cups and mixer", low=0, high=60, default=5, example="5 %")
    trim_loss: float = quantity(
        "%",
        "share of the filling lost in picking, combing and evening the tips",
        low=0,
        high=40,
        default=3,
        example="3 %",
    )
    trim: Trim = choice(TRIMS, "form of the tips: flat, chisel (a ridge) or angular (a sash)", default="flat")
    trim_angle: float = quantity(
        "deg", "of a chisel's faces or an angular trim, against flat", low=0, high=60, default=0
    )
    medium: Medium = choice(MEDIA, "paint it will work in", default="water-borne", example="water-borne")

    def __post_init__(self) -> None:
        faults = []
        if self.thickness is None and self.shape != "round":
            faults.append(Fault("thickness", "", f"a length, for a {self.shape} ferrule", "give the inside thickness"))
        if self.tip_diameter is not None and self.tip_diameter > self.diameter:
            faults.append(
                Fault(
                    "tip diameter",
                    self.tip_diameter,
                    f"at most the butt's {self.diameter:g} m",
                    "a filament is set at its wider end: swap the two",
                )
            )
        if (self.trim == "flat") != (self.trim_angle == 0):
            faults.append(
                Fault("trim angle", self.trim_angle, "0 for a flat trim, else above 0", "give the angle or choose flat")
            )
        if self.clear_length - self.trim_drop < LEAST_UNDER_TRIM:
            faults.append(
                Fault(
                    "clear length",
                    self.clear_length,
                    f"the trim's drop of {self.trim_drop:.4g} m and {LEAST_UNDER_TRIM:g} m more",
                    "a longer filling or a smaller trim angle",
                )
            )
        if self.setting_depth + self.epoxy_cap >= self.ferrule_depth:
            faults.append(
                Fault(
                    "setting depth",
                    self.setting_depth,
                    f"with the cap, below the ferrule's {self.ferrule_depth:g} m",
                    "leave room for the handle: a deeper ferrule or a shallower setting",
                )
            )
        if faults:
            raise DesignError(*faults)
        _ = self.open_area, self.section

    @property
    def cavity(self) -> Cavity:
        """The inside of the ferrule."""
        return Cavity(self.shape, self.width, self.width if self.thickness is None else self.thickness)

    @property
    def plugs(self) -> int:
        """Centrepieces that have a size; one without is none."""
        return self.centrepieces if self.centrepiece_width > 0 or self.centrepiece_thickness > 0 else 0

    @property
    def open_area(self) -> float:
        """Area left for the filling. [m**2]"""
        return fill.open_area(self.cavity, self.centrepiece_width, self.centrepiece_thickness, self.plugs)

    @property
    def material(self) -> FilamentMaterial:
        """The filling material."""
        return filament_material(self.filling)

    @property
    def section(self) -> Section:
        """Section of a filament at its butt."""
        return Section(self.form, self.diameter, self.inner)

    @property
    def tip_ratio(self) -> float:
        """Tip over butt diameter of one filament."""
        if self.tip_diameter is not None:
            return self.tip_diameter / self.diameter
        return float(self.material.tip_ratio)

    @property
    def trim_drop(self) -> float:
        """How much shorter the shortest filament is than the longest. [m]

        Chisel: half the thickness times tan; angular: the width times tan; flat: none.
        """
        across = {"flat": 0.0, "chisel": (self.thickness or self.width) / 2, "angular": self.width}
        return across[self.trim] * tan(self.trim_angle)

    @property
    def filament_length(self) -> float:
        """Butt to tip: clear length + setting depth. [m]"""
        return self.clear_length + self.setting_depth


def filament_volume(design: BrushDesign) -> float:
    """Solid volume of one filament, butt to tip. [m**3]

    >>> brush, _ = BRUSH.read(BRUSH.example())
    >>> round(filament_volume(brush) * 1e9, 3)
    1.539
    """
    ratio = design.tip_ratio
    return design.section.area * design.filament_length * (1 + ratio + ratio**2) / 3


def trimmed_share(tip_ratio: float, length: float, drop: float) -> float:
    """Share of the filling's volume a sloped trim cuts off, lengths spread evenly over the drop. [1]

    tip_ratio: tip over butt diameter; length: of the longest filament, drop: of the trim [m].
    Source: geometry (frustum, averaged over the slope).

    >>> round(trimmed_share(1.0, 0.075, 0.015), 9), round(trimmed_share(0.5, 0.075, 0.015), 4)
    (0.1, 0.0489)
    """
    if drop == 0:
        return 0.0
    if tip_ratio == 1:
        return drop / (2 * length)
    slope = 1 - tip_ratio
    at_drop = tip_ratio + slope * drop / length
    mean = length * (at_drop**4 - tip_ratio**4) / (12 * slope**2 * drop) - tip_ratio**3 / (3 * slope)
    return mean / ((1 + tip_ratio + tip_ratio**2) / 3)


def filament_tip_stiffness(design: BrushDesign, retained: float) -> float:
    """Tip stiffness of one filament of the head with a share of its modulus retained. [N/m]

    The filament is held at the ferrule's edge, so its clear length bends.
    """
    modulus = float(design.material.modulus) * retained
    narrowed = 1 - (1 - design.tip_ratio) * design.setting_depth / design.filament_length
    at_edge = Section(design.form, design.diameter * narrowed, design.inner * narrowed)
    return tip_stiffness(modulus, at_edge, design.tip_ratio / narrowed, design.clear_length)


def _work_out(design: BrushDesign) -> Result:
    material, glue = design.material, epoxy(design.epoxy)
    area = design.open_area
    count = fill.filament_count(area, design.packing, design.diameter)
    volume = filament_volume(design)
    whole_weight = fill.fill_weight(count, volume, float(material.density))
    trimmed = trimmed_share(design.tip_ratio, design.filament_length, design.trim_drop)
    finished = whole_weight * (1 - trimmed)
    weight = whole_weight / (1 - design.trim_loss)
    void = setting.void_volume(area, design.packing, design.setting_depth)
    cap = area * design.epoxy_cap
    dose = setting.epoxy_dose(void, cap, float(glue.density), design.epoxy_loss)
    phr = setting.hardener_phr(float(glue.amine_equivalent), float(glue.epoxide_equivalent))
    retained = float(material.stiffness_in(design.medium))
    single = filament_tip_stiffness(design, retained)
    dry, wet = count * filament_tip_stiffness(design, 1.0), count * single
    per_width = wet / design.width
    return Result(
        values=(
            Value("filament_count", "filaments", count, "pcs"),
            Value("fill_weight", "fill weight", weight, "g"),
            Value("finished_fill_weight", "filling in the finished head", finished, "g"),
            Value("trimmed_share", "cut off by the sloped trim", trimmed, "%"),
            Value("trim_drop", "longest over shortest filament", design.trim_drop, "mm"),
            Value("epoxy_dose", "epoxy dose", dose, "g"),
            Value("hardener_phr", "hardener per 100 of resin", phr, ""),
            Value("head_stiffness", "head stiffness in the paint", wet, "N/m"),
            Value("dry_head_stiffness", "head stiffness dry", dry, "N/m"),
            Value("stiffness_per_width", "head stiffness by width", per_width, "N/m**2"),
            Value("filament_length", "filament length", design.filament_length, "mm"),
            Value("open_area", "open area", area, "mm**2"),
            Value("packing", "packing", design.packing, ""),
            Value("void_share", "room for glue and paint", 1 - design.packing, "%"),
        ),
        checks=_checks(design, area),
        steps=(
            Step("cavity", _AREAS[design.shape], design.cavity.area, "mm**2", "geometry"),
            Step("open area", "cavity − centrepieces", area, "mm**2", "geometry"),
            Step("filaments", "packing · open area / (πd²/4)", count, "pcs", "packing by ASTM D7801 terms, geometry"),
            Step("one filament", "section · L(1 + r + r²)/3, r = tip over butt", volume, "mm**3", "geometry"),
            Step(
                "fill weight",
                "count · volume · density / (1 − trim loss), before the sloped trim",
                weight,
                "g",
                material.density.source,
            ),
            Step("glue among butts", "open area · (1 − packing) · setting depth", void, "mm**3", "geometry"),
            Step("epoxy dose", "density · (void + cap) / (1 − loss)", dose, "g", glue.density.source),
            Step("hardener", "100 · AHEW / EEW", phr, "", "stoichiometry, one amine hydrogen to one epoxide"),
            Step("modulus kept in the paint", "E_wet / E", retained, "%", material.stiffness_in(design.medium).source),
            Step("one tip", "3EI·r / L³", single, "N/m", "Roark, cantilevers (from memory)"),
            Step("head stiffness", "count · one tip, filaments sliding freely", wet, "N/m", "lower bound: no friction"),
        ),
        cautions=(
            EPOXY_CAUTION,
            FILAMENT_CAUTION if material.nature == "synthetic" else BRISTLE_CAUTION,
            TRIMMING_CAUTION,
        ),
        remarks=_remarks(design, material),
    )


_AREAS: dict[Shape, str] = {"flat": "(w − t)t + πt²/4", "oval": "πwt/4", "round": "πd²/4"}


def _checks(design: BrushDesign, area: float) -> tuple[Check, ...]:
    plug_share = 1 - area / design.cavity.area
    return (
        Check(
            "packing, against shedding",
            design.packing,
            LOOSE_PACKING,
            "at least",
            "",
            f"{COMMON_PRACTICE}: a looser fill sheds and holds too much glue",
            "put more filling in or a larger centrepiece",
        ),
        Check(
            "packing, against splitting the seam",
            design.packing,
            TIGHT_PACKING,
            "at most",
            "",
            "close packing of equal discs at random is 0.82 to 0.86 (Brouwers, Soft Matter 2023); "
            f"hexagonal {HEXAGONAL_PACKING:.4f}; a margin for driving is {COMMON_PRACTICE}",
            "take filling out, or choose a wider ferrule",
        ),
        Check(
            "setting depth",
            design.setting_depth,
            COMMON_SETTING_DEPTH,
            "at least",
            "mm",
            f"{COMMON_PRACTICE}: about 5 mm of the filling is held inside the ferrule",
            "set the butts deeper",
        ),
        Check(
            "room for the handle",
            design.ferrule_depth - design.setting_depth - design.epoxy_cap,
            0.4 * design.ferrule_depth,
            "at least",
            "mm",
            f"{COMMON_PRACTICE}: the handle takes two fifths of the ferrule or more",
            "choose a deeper ferrule",
        ),
        Check(
            "share of the cavity taken by centrepieces",
            plug_share,
            0.45,
            "at most",
            "%",
            f"{COMMON_PRACTICE}: a larger plug leaves a hollow head",
            "choose a smaller centrepiece",
        ),
        Check(
            "slenderness of a filament, length over diameter",
            design.clear_length / design.diameter,
            20.0,
            "at least",
            "",
            "beam theory without shear holds above 20 (Timoshenko, from memory)",
            "choose a longer or finer filling",
        ),
    )


def _remarks(design: BrushDesign, material: FilamentMaterial) -> tuple[str, ...]:
    remarks = [
        "Head stiffness is the lower bound: filaments slide over each other without friction. Bound together they "
        "would be far stiffer."
    ]
    if design.diameter not in material.diameter:
        low, high = material.diameter.low or 0.0, material.diameter.high or 0.0
        remarks.append(
            f"{material.name} is usually sold at {low * 1e3:.2f} to {high * 1e3:.2f} mm; "
            f"{design.diameter * 1e3:.3g} mm is outside."
        )
    retained = float(material.stiffness_in(design.medium))
    if retained < 0.7:
        remarks.append(
            f"{material.name} keeps only {retained:.0%} of its stiffness in {design.medium} paint; "
            "choose another filling where the head must stay firm."
        )
    reason = against(material, design.medium)
    if reason:
        best = rank_fillings(design.medium, ROOM)[0].material.name
        remarks.append(f"Against this filling: {reason}. {best} would be the first choice for this paint.")
    if material.name == "hog bristle" and stoutness(design.diameter):
        remarks.append(f"This is {stoutness(design.diameter)} bristle.")
    if material.nature != "synthetic":
        remarks.append("No published table for hog bristle or brush hair was found: keratin values stand in.")
    if design.setting_depth < COMMON_SETTING_DEPTH:
        remarks.append("The setting is shallower than the 5 mm of common practice.")
    return tuple(remarks)


def draw_head(design: BrushDesign, result: Result) -> str:
    """The end section of the head to scale, with a patch of its filaments enlarged, as SVG."""
    from naptuft.brush.sheet import draw_end_section

    return draw_end_section(design, result)


def butt_spacing(design: BrushDesign) -> float:
    """Distance between the middles of neighbouring butts, spread evenly as a triangular lattice. [m]

    d·√(π/(2√3·packing)): equal to the diameter at the hexagonal limit. Source: geometry.
    """
    return design.diameter * (HEXAGONAL_PACKING / design.packing) ** 0.5


BRUSH = Calculation(
    name="brush",
    title="Brush head",
    line="brush",
    about="A whole brush head: filaments, fill weight, glue dose, stiffness and margins, from its shape and filling.",
    inputs=BrushDesign,
    run=_work_out,
    draw=draw_head,
)
