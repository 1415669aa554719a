"""The brush in outline: from shape, width and paint to every size, each left out one by a stated rule."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, radians, sqrt
from typing import Literal

from naptuft.brush.filament import FORMS, Form, Section
from naptuft.brush.fill import Shape
from naptuft.brush.head import COMMON_SETTING_DEPTH, TRIMS, Trim
from naptuft.brush.joining import STOCKS, Stock
from naptuft.brush.setting_bench import BOND_MARGIN, bond_length
from naptuft.brush.suitability import rank_fillings
from naptuft.calculation import Calculation, Result, Step, Value, choice, quantity, whole
from naptuft.errors import DesignError, Fault
from naptuft.materials.adhesive import EPOXY_NAMES, epoxy
from naptuft.materials.filament import FILAMENT_NAMES, MEDIA, Medium, filament_material
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.strip import STRIP_NAMES

Outline = Literal["flat", "angled sash", "oval", "round"]
OUTLINES: tuple[Outline, ...] = ("flat", "angled sash", "oval", "round")
Grade = Literal["trade", "household"]
GRADES: tuple[Grade, ...] = ("trade", "household")
PAINTS: tuple[Medium, ...] = tuple(medium for medium in MEDIA if medium != "dry")
RECOMMEND, USUAL = "recommend", "usual"
HOTTEST = 333.15
QUARTER_INCH = 6.35e-3
WIDE = 0.075

_UFC = "UFC 3-190-06 (MIL-HDBK-1110), 7.5.2"
_FULLNESS: dict[Grade, tuple[float, float]] = {"trade": (1.8, 0.62), "household": (1.4, 0.58)}


@dataclass(frozen=True)
class BrushChoice:
    """What is chosen of a whole brush; what is left out follows by rule, see `settled`."""

    shape: Outline = choice(OUTLINES, "form of the brush", example="flat")
    width: float = quantity("mm", "greatest inside width of the ferrule", low=6, high=200, example="100 mm")
    medium: Medium = choice(PAINTS, "paint it will work in", example="water-borne")
    grade: Grade = choice(GRADES, "how full the brush is made", default="trade", example="trade")
    filling: str = choice(
        (RECOMMEND, *FILAMENT_NAMES), "what it is filled with, or recommend", default=RECOMMEND, example=RECOMMEND
    )
    thickness: float | None = quantity(
        "mm", "inside thickness of the ferrule; left out: by width and grade", low=2, high=150, default=None
    )
    clear_length: float | None = quantity(
        "mm", "length out, ferrule to tip; left out: by width", low=8, high=200, default=None
    )
    diameter: float | None = quantity(
        "mm", "filament at its butt; left out: as the filling is usually sold", low=0.03, high=0.6, default=None
    )
    tip_diameter: float | None = quantity(
        "mm", "filament at its tip; left out: the usual taper of the filling", low=0.01, high=0.6, default=None
    )
    form: Form = choice(FORMS, "form of a filament's section", default="round", example="round")
    inner: float = quantity(
        "mm", "bore of a hollow filament, lobe height of a trilobal, bar width of a cross", low=0, high=0.5, default=0
    )
    packing: float | None = quantity(
        "", "filling area over open area; left out: by grade", low=0.2, high=0.95, default=None
    )
    centrepieces: int | None = whole("plugs side by side; left out: by width", low=0, high=4, default=None)
    centrepiece_width: float | None = quantity(
        "mm", "width of one plug; left out: by the cavity", low=0, high=240, default=None
    )
    centrepiece_thickness: float | None = quantity(
        "mm", "thickness of one plug; left out: by the cavity", low=0, high=100, default=None
    )
    trim: Literal["usual", "flat", "chisel", "angular"] = choice(
        (USUAL, *TRIMS), "form of the tips; usual: by shape and width", default=USUAL, example=USUAL
    )
    trim_angle: float | None = quantity(
        "deg", "of a chisel's faces or an angular trim; left out: by the trim", low=0, high=60, default=None
    )
    ferrule_metal: str = choice(
        (RECOMMEND, *STRIP_NAMES), "metal of the ferrule, or recommend", default=RECOMMEND, example=RECOMMEND
    )
    ferrule_depth: float | None = quantity(
        "mm", "height of the ferrule; left out: by width", low=8, high=120, default=None
    )
    gauge: float = quantity("mm", "thickness of the strip", low=0.1, high=1.5, default=0.3)
    setting_depth: float | None = quantity(
        "mm", "butts held in the glue; left out: enough to hold each filament", low=1, high=60, default=None
    )
    epoxy: str = choice(EPOXY_NAMES, "epoxy that holds the butts", default="polyamine epoxy", example="polyamine epoxy")
    handle: Stock = choice(STOCKS, "what the handle is made of", default="wood", example="wood")
    nails: int = whole("nails through the ferrule, half on each broad side", low=2, high=12, default=4, example="4")
    volume_per_week: int = whole(
        "brushes made in a week", low=1, high=1_000_000, default=6000, example="6000", label="volume per week"
    )

    def __post_init__(self) -> None:
        faults = []
        if self.shape == "round" and self.thickness not in (None, self.width):
            faults.append(Fault("thickness", self.thickness, "nothing, for a round brush", "leave it out"))
        if self.shape == "angled sash" and self.trim not in (USUAL, "angular"):
            faults.append(Fault("trim", self.trim, "angular, for an angled sash", "choose angular or another shape"))
        if self.diameter and self.tip_diameter and self.tip_diameter > self.diameter:
            faults.append(
                Fault(
                    "tip diameter",
                    self.tip_diameter,
                    f"at most the butt's {self.diameter:g} m",
                    "a filament is set at its wider end: swap the two",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def cavity_shape(self) -> Shape:
        """Cross-section of the ferrule: an angled sash is flat, its trim makes the angle."""
        return "flat" if self.shape == "angled sash" else self.shape


def usual_thickness(shape: Outline, width: float, grade: Grade) -> float:
    """Inside thickness of a ferrule of that width, to the millimetre. [m]

    Flat: 1.8√w (trade) or 1.4√w (household), in mm; oval 0.45w; round w. Source: common practice; the household
    sizes lie within the 6, 10 and 14 mm of flat brushes 25 to 100 mm wide in GOST 10597-87 (from memory).

    >>> [round(usual_thickness("flat", w / 1e3, "trade") * 1e3) for w in (25, 38, 50, 100)]
    [9, 11, 13, 18]
    """
    if shape == "round":
        return width
    if shape == "oval":
        return max(1, round(0.45 * width * 1e3)) / 1e3
    return min(width, max(2, round(_FULLNESS[grade][0] * sqrt(width * 1e3))) / 1e3)


def usual_filling_length(shape: Outline, width: float, setting_depth: float) -> float:
    """Length of filling, butt to tip, for a brush of that width, in steps of a quarter of an inch. [m]

    The step nearest to 27 mm + 3.8√w (round: 24 mm + 0.9w) and the setting, to the mm as it is sold. Source: common
    practice.

    >>> [round(usual_filling_length("flat", w / 1e3, 0.006) * 1e3) for w in (25, 38, 50, 75, 100)]
    [51, 57, 57, 64, 70]
    """
    wanted = 24e-3 + 0.9 * width if shape == "round" else 27e-3 + 3.8e-3 * sqrt(width * 1e3)
    return round(round((wanted + setting_depth) / QUARTER_INCH) * QUARTER_INCH, 3)


def usual_setting_depth(filling: str, section: Section, glue: str) -> float:
    """Depth of setting at which each filament breaks before it draws out, with a margin of two. [m]

    At least the 5 mm of common practice; to the half millimetre above. Source: σA/(τπd), equilibrium.

    >>> usual_setting_depth("PET", Section("round", 0.2e-3), "polyamine epoxy")
    0.006
    """
    material = filament_material(filling)
    needed = BOND_MARGIN * bond_length(
        float(material.strength), section.diameter, section.area, float(epoxy(glue).shear_strength)
    )
    return max(COMMON_SETTING_DEPTH, ceil(needed / 0.5e-3 - 1e-9) * 0.5e-3)


def settled(chosen: BrushChoice) -> BrushChoice:
    """The same brush with every size and material given. What was chosen is kept.

    >>> brush = settled(BrushChoice(shape="flat", width=0.100, medium="water-borne"))
    >>> brush.filling, brush.thickness, round(brush.clear_length, 6), brush.centrepieces, brush.trim
    ('PET', 0.018, 0.064, 2, 'flat')
    """
    filling = rank_fillings(chosen.medium, HOTTEST)[0].material.name if chosen.filling == RECOMMEND else chosen.filling
    diameter = float(filament_material(filling).diameter) if chosen.diameter is None else chosen.diameter
    thickness = usual_thickness(chosen.shape, chosen.width, chosen.grade)
    thickness = thickness if chosen.thickness is None else chosen.thickness
    setting = chosen.setting_depth
    if setting is None:
        setting = usual_setting_depth(filling, Section(chosen.form, diameter, chosen.inner), chosen.epoxy)
    clear = chosen.clear_length
    if clear is None:
        clear = round(usual_filling_length(chosen.shape, chosen.width, setting) - setting, 6)
    plugs, plug_width, plug_thickness = _plugs(chosen, thickness)
    trim = _trim(chosen)
    metal = "stainless steel" if chosen.medium == "water-borne" else "nickel-plated steel"
    return replace(
        chosen,
        filling=filling,
        diameter=diameter,
        thickness=None if chosen.shape == "round" else thickness,
        setting_depth=setting,
        clear_length=clear,
        packing=_FULLNESS[chosen.grade][1] if chosen.packing is None else chosen.packing,
        centrepieces=plugs,
        centrepiece_width=plug_width,
        centrepiece_thickness=plug_thickness,
        trim=trim,
        trim_angle=_TRIM_ANGLES[trim] if chosen.trim_angle is None else chosen.trim_angle,
        ferrule_metal=metal if chosen.ferrule_metal == RECOMMEND else chosen.ferrule_metal,
        ferrule_depth=chosen.ferrule_depth or (0.038 if chosen.width >= 0.045 else 0.032),
    )


_TRIM_ANGLES: dict[Trim, float] = {"flat": 0.0, "chisel": radians(25), "angular": radians(20)}


def _trim(chosen: BrushChoice) -> Trim:
    if chosen.trim != USUAL:
        return chosen.trim
    if chosen.shape == "angled sash":
        return "angular"
    return "flat" if chosen.shape == "round" or chosen.width >= WIDE else "chisel"


def _plugs(chosen: BrushChoice, thickness: float) -> tuple[int, float, float]:
    """Number, width and thickness of the centrepieces: two from 90 mm wide, none in a round brush."""
    count = chosen.centrepieces
    if count is None:
        count = 0 if chosen.shape == "round" or thickness < 7e-3 else 2 if chosen.width >= 0.090 else 1
    if count == 0:
        return 0, 0.0, 0.0
    taken = 0.48 if chosen.shape in ("oval", "round") else 0.66
    width = round(taken * chosen.width / count, 3) if chosen.centrepiece_width is None else chosen.centrepiece_width
    thick = chosen.centrepiece_thickness
    return count, width, round(0.3 * thickness, 3) if thick is None else thick


@dataclass(frozen=True)
class _Rule:
    """How one size is derived when it is left out, and where the rule comes from."""

    label: str
    unit: str
    words: str
    source: str = COMMON_PRACTICE


_RULES: dict[str, _Rule] = {
    "thickness": _Rule(
        "thickness",
        "mm",
        "flat 1.8√w (trade) or 1.4√w (household), oval 0.45w, to the mm",
        f"{COMMON_PRACTICE}; GOST 10597-87: flat brushes of 25 to 100 mm are 6, 10 or 14 mm thick (from memory)",
    ),
    "diameter": _Rule("filament at its butt", "mm", "as the filling is usually sold"),
    "packing": _Rule("packing", "", "0.62 (trade) or 0.58 (household)"),
    "setting_depth": _Rule(
        "setting depth",
        "mm",
        "the greater of 5 mm and twice σA/(τπd), to the half mm",
        f"equilibrium; 5 mm is {COMMON_PRACTICE}",
    ),
    "clear_length": _Rule(
        "clear length", "mm", "27 mm + 3.8√w (round 24 mm + 0.9w), of filling sold in steps of a quarter of an inch"
    ),
    "centrepieces": _Rule("centrepieces", "pcs", "two from 90 mm wide, one below, none in a round or thin brush"),
    "centrepiece_width": _Rule("width of a centrepiece", "mm", "0.66w over their number; oval 0.48w"),
    "centrepiece_thickness": _Rule("thickness of a centrepiece", "mm", "0.3 of the brush's"),
    "trim_angle": _Rule(
        "trim angle",
        "deg",
        "angled sash 20°; chisel 25° below 75 mm wide; flat otherwise",
        f"{COMMON_PRACTICE}; {_UFC}: sash and trim brushes may be chisel or slash-shaped",
    ),
    "ferrule_depth": _Rule(
        "ferrule depth", "mm", "38 mm from 45 mm wide, 32 mm below", f"{COMMON_PRACTICE}: strip of 30 to 40 mm"
    ),
}


def _work_out(chosen: BrushChoice) -> Result:
    brush = settled(chosen)
    known = [(name, rule, getattr(brush, name)) for name, rule in _RULES.items() if getattr(brush, name) is not None]
    return Result(
        values=(
            Value("width", "width", brush.width, "mm"),
            *(Value(name, rule.label, float(size), rule.unit) for name, rule, size in known),
        ),
        steps=tuple(
            Step(rule.label, rule.words, float(size), rule.unit, rule.source)
            if getattr(chosen, name) is None
            else Step(rule.label, "as chosen", float(size), rule.unit, "the choice")
            for name, rule, size in known
        ),
        remarks=_remarks(chosen, brush),
    )


def _remarks(chosen: BrushChoice, brush: BrushChoice) -> tuple[str, ...]:
    remarks = []
    if chosen.filling == RECOMMEND:
        remarks.append(f"Filling: {brush.filling}, the first choice for {brush.medium} paint ({_UFC}).")
    if chosen.ferrule_metal == RECOMMEND:
        why = "it does not rust in water" if brush.ferrule_metal == "stainless steel" else "water hardly reaches it"
        remarks.append(f"Ferrule: {brush.ferrule_metal}, as {why} ({COMMON_PRACTICE}).")
    if chosen.trim == USUAL:
        remarks.append(f"Trim: {brush.trim}, usual for this shape and width ({COMMON_PRACTICE}).")
    return tuple(remarks)


OUTLINE = Calculation(
    name="brush-outline",
    title="Brush in outline",
    line="brush",
    about="Every size of a brush from its shape, width and paint; what is left out follows by a stated rule.",
    inputs=BrushChoice,
    run=_work_out,
)
