"""The head at work: how stiff it is between bounds, how it splays, what paint it carries."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi

from naptuft.brush import capillary, fill
from naptuft.brush.cautions import SOLVENT_CAUTION
from naptuft.brush.elastica import bend_to
from naptuft.brush.fill import Cavity
from naptuft.brush.flex import HOUR, force_left
from naptuft.brush.head import BrushDesign, filament_tip_stiffness
from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE

_UFC = "UFC 3-190-06 (MIL-HDBK-1110), 7.5.2: dip half the length"
CLOSING_SHARE = 0.5


@dataclass(frozen=True)
class WorkingHead(BrushDesign):
    """A brush head and the stroke and paint it is tried with."""

    press: float = quantity("mm", "how far the tips are pushed across in a stroke", low=0.5, high=150, default=25)
    dip_share: float = quantity("%", "share of the clear length dipped", low=5, high=100, default=50, example="50 %")
    paint_density: float = quantity("kg/m**3", "of the paint", low=700, high=2500, default=1300)
    paint_tension: float = quantity("N/m", "surface tension of the paint", low=0.015, high=0.08, default=0.035)
    paint_angle: float = quantity("deg", "contact angle of the paint on the filling", low=0, high=80, default=20)
    wet_film: float = quantity("um", "wet film thickness laid down", low=10, high=1000, default=100, example="100 um")
    rubbing: float = quantity("", "friction of filament on filament", low=0, high=1, default=0.3)
    release: float = quantity("%", "share of the paint carried that the head gives up", low=5, high=95, default=60)

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.press > 0.8 * self.clear_length:
            raise DesignError(
                Fault("press", self.press, f"at most {0.8 * self.clear_length:g} m, four fifths", "press it less")
            )


def bundle_second_moment(cavity: Cavity) -> float:
    """Second moment of the whole head's outline, bent across its thickness. [m**4]

    Flat (w − t)t³/12 + πt⁴/64; oval and round πwt³/64. Source: geometry.

    >>> f"{bundle_second_moment(Cavity('round', 0.02, 0.02)):.3e}"
    '7.854e-09'
    """
    if cavity.shape == "flat":
        return (cavity.width - cavity.thickness) * cavity.thickness**3 / 12 + pi * cavity.thickness**4 / 64
    return pi * cavity.width * cavity.thickness**3 / 64


def rubbing_stiffness(free: float, friction: float, thickness: float, length: float) -> float:
    """Stiffness of a head whose filaments rub as they slide, k/(1 − ¾·μT/L). [N/m]

    free: of the filaments sliding freely [N/m]; friction μ; thickness T of the head, length L [m]. The tip is
    pushed on one side, each layer pushes the next, and the friction between them bends the layers back.
    Raises DesignError where they would lock, μT/L from 4/3 on.
    Source: statics of a leaf spring: ΣEIδ = PL³/3 − M0·L²/2, M0 = μPT/2.

    >>> round(rubbing_stiffness(60.0, 0.3, 0.016, 0.070), 2)
    63.25
    """
    held = 0.75 * friction * thickness / length
    if held >= 1:
        raise DesignError(
            Fault("friction", friction, f"below {friction / held:.3g} in a head this thick and short", "lower it")
        )
    return free / (1 - held)


@dataclass(frozen=True)
class PaintCarried:
    """Paint a dipped head holds.

    between    held among the filaments [m**3]
    well       held in the well the centrepieces make [m**3]
    height     to which capillarity holds paint against its weight [m]
    wetted     length of filament that holds paint [m]
    """

    between: float
    well: float
    height: float
    wetted: float

    @property
    def total(self) -> float:
        """All of it. [m**3]"""
        return self.between + self.well


def paint_carried(design: WorkingHead) -> PaintCarried:
    """Paint held after a dip: among the filaments up to Jurin's height, and in the well.

    Filaments narrow to their tips, so the head is looser there: the mean packing of the clear length counts.
    The well is a wedge over half the clear length (common practice), filled as far as the paint reaches.
    Source: Jurin's rule on the bundle's own radius.
    """
    ratio = design.tip_ratio
    packing = design.packing * (1 + ratio + ratio**2) / 3
    mean_diameter = design.diameter * (1 + ratio) / 2
    radius = capillary.bundle_radius(mean_diameter, packing)
    height = capillary.jurin_height(design.paint_tension, design.paint_angle, radius, design.paint_density)
    dipped = design.dip_share * design.clear_length
    wetted = min(dipped, height)
    closing = CLOSING_SHARE * design.clear_length
    filled = min(
        1.0, max(0.0, (min(design.clear_length, max(dipped, height)) - (design.clear_length - closing)) / closing)
    )
    plugs = design.cavity.area - design.open_area
    return PaintCarried(
        between=design.open_area * (1 - packing) * wetted,
        well=plugs * closing / 2 * filled,
        height=height,
        wetted=wetted,
    )


def area_covered(volume: float, film: float) -> float:
    """Area a volume of paint covers at a wet film thickness. [m**2]

    volume [m**3]; film [m]. Source: geometry; a US gallon covers 1,604 square feet at a mil.

    >>> round(area_covered(1e-3, 100e-6), 6)
    10.0
    """
    return volume / film


def drip_limit(design: WorkingHead) -> float:
    """Most paint the head holds without dripping: dipped no deeper than capillarity holds. [m**3]"""
    share = min(1.0, paint_carried(design).height / design.clear_length)
    return paint_carried(replace(design, dip_share=share)).total


def _work_out(design: WorkingHead) -> Result:
    material = design.material
    retained = float(material.stiffness_in(design.medium))
    count = fill.filament_count(design.open_area, design.packing, design.diameter)
    free = count * filament_tip_stiffness(design, retained)
    modulus = float(material.modulus) * retained
    rubbed = rubbing_stiffness(free, design.rubbing, design.cavity.thickness, design.clear_length)
    bonded = 3 * modulus * design.packing * bundle_second_moment(design.cavity) / design.clear_length**3
    bend = bend_to(design.press / design.clear_length, max(0.2, design.tip_ratio))
    narrowed = 1 - (1 - design.tip_ratio) * design.setting_depth / design.filament_length
    rigidity = modulus * design.section.second_moment * narrowed**4
    force = count * bend.load * rigidity / design.clear_length**2
    hour = force * force_left(float(material.relaxation), HOUR)
    strain = bend.sharpest / design.clear_length * design.diameter * narrowed / 2
    splay = design.cavity.thickness * design.tip_ratio + 2 * design.press
    paint = paint_carried(design)
    dipped = design.dip_share * design.clear_length
    limit = drip_limit(design)
    area = area_covered(paint.total * design.release, design.wet_film)
    remarks = [
        "The stiffness lies between filaments that slide freely and filaments bound into one block, which none is; a "
        "head in use lies between sliding and rubbing, a wet one near sliding, as paint lubricates it.",
    ]
    if paint.height < dipped:
        remarks.append("Paint above the height capillarity holds runs back into the can or drips.")
    return Result(
        values=(
            Value("stiffness_free", "head stiffness, filaments sliding (lower bound)", free, "N/m"),
            Value("stiffness_rubbing", "head stiffness, filaments rubbing as they slide", rubbed, "N/m"),
            Value("stiffness_bonded", "head stiffness, filaments bound (upper bound)", bonded, "N/m"),
            Value("press_force", "force to press the tips across", force, "N"),
            Value("press_force_by_width", "the same, by width", force / design.width, "N/m"),
            Value("press_force_hour", "the same after an hour of holding", hour, "N"),
            Value("splay", "spread of the tips when pressed straight down", splay, "mm"),
            Value("paint_volume", "paint carried", paint.total, "ml"),
            Value("drip_limit", "most paint held without dripping", limit, "ml"),
            Value("paint_well", "of it in the well", paint.well, "ml"),
            Value("paint_mass", "mass of paint carried", paint.total * design.paint_density, "g"),
            Value("area", "area covered by one dip", area, "m**2"),
            Value("held_height", "height capillarity holds", paint.height, "mm"),
        ),
        checks=(
            Check(
                "height held, against dripping",
                paint.height,
                dipped,
                "at least",
                "mm",
                "Jurin's rule",
                "finer filaments, tighter packing, or a shallower dip",
            ),
            Check(
                "strain at the ferrule's edge",
                strain,
                0.02,
                "at most",
                "%",
                f"{COMMON_PRACTICE}: below 2 % a filament springs back",
                "a longer or finer filling",
            ),
            Check(
                "stroke force by width, firm enough",
                force / design.width,
                1.0,
                "at least",
                "N/m",
                f"{COMMON_PRACTICE}: a softer head does not spread a wall paint",
                "stouter or shorter filling, or tighter packing",
            ),
            Check(
                "stroke force by width, soft enough",
                force / design.width,
                60.0,
                "at most",
                "N/m",
                f"{COMMON_PRACTICE}: a harder head tires the hand and leaves marks",
                "finer or longer filling",
            ),
        ),
        steps=(
            Step("sliding filaments", "count · 3EI·r/L³", free, "N/m", "Roark, cantilevers (from memory)"),
            Step("rubbing filaments", "sliding / (1 − ¾·μT/L)", rubbed, "N/m", "leaf spring with friction, statics"),
            Step("bound filaments", "3·E·V·I_head/L³", bonded, "N/m", "rule of mixtures; Roark (from memory)"),
            Step("load of one filament", "a = PL²/EI at the press", bend.load, "", "Bisshopp & Drucker (1945)"),
            Step("force", "count · a·EI/L²", force, "N", "sum over the filaments"),
            Step("splay", "tips' own thickness + 2 · press", splay, "mm", f"{COMMON_PRACTICE}: half bend each way"),
            Step("height held", "2γcosθ/(ρgr), r = d(1 − V)/(2V)", paint.height, "mm", "Jurin's rule"),
            Step("among the filaments", "open area · (1 − V) · wetted length", paint.between, "ml", _UFC),
            Step("in the well", "plug area · half the clear length / 2, as filled", paint.well, "ml", COMMON_PRACTICE),
            Step("drip limit", "paint carried at a dip of the height held", limit, "ml", "Jurin's rule"),
            Step("area", "paint · release / wet film", area, "m**2", "mass balance"),
        ),
        cautions=(SOLVENT_CAUTION,),
        remarks=tuple(remarks),
    )


WORKING = Calculation(
    name="brush-working",
    title="Brush head at work",
    line="brush",
    about="Stiffness between bounds, force of a stroke, splay, paint carried and area covered by one dip.",
    inputs=WorkingHead,
    run=_work_out,
)
