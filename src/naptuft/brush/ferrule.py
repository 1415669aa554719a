"""The ferrule: its blank, its seam, the strip it takes and the force that cuts it."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, pi
from typing import Literal

from naptuft.brush.cautions import PRESS_CAUTION
from naptuft.brush.fill import SHAPES, Cavity, Shape
from naptuft.calculation import (
    Calculation,
    Check,
    Result,
    Step,
    Value,
    choice,
    quantity,
    whole,
)
from naptuft.errors import DesignError, Fault
from naptuft.materials.bending import neutral_factor
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.strip import STRIP_NAMES, strip_metal

Seam = Literal["lock", "lap", "butt"]
SEAMS: tuple[Seam, ...] = ("lock", "lap", "butt")
_SEAM_WIDTHS: dict[Seam, float] = {"lock": 3.0, "lap": 1.0, "butt": 0.0}
NAIL_ROW = 0.3
"""Where nail holes stand along a ferrule, as a share of its height from the handle's end (common practice)."""

_STEELWORKER = "US Navy, Steelworker manual, vol. 2, edge and seam allowances"
_GROOVER = "Groover, Fundamentals of Modern Manufacturing, ch. 20 (from memory)"


def seam_allowance(seam: Seam, width: float) -> float:
    """Extra blank length for the seam: lock 3W, lap W, butt (soldered or welded) 0. [m]

    width: finished width of the seam [m]. Source: US Navy, Steelworker manual, vol. 2.

    >>> round(seam_allowance("lock", 3e-3), 6)
    0.009
    """
    return _SEAM_WIDTHS[seam] * width


def developed_length(cavity: Cavity, gauge: float) -> float:
    """Length of the unstretched layer once around a ferrule, inside perimeter + 2πKt. [m]

    Exact for any closed shape that bulges outwards, since its bends add up to one turn.
    The sharpest bend of the shape sets K. cavity: the inside; gauge [m].

    >>> round(developed_length(Cavity("round", 0.020, 0.020), 0.3e-3) * 1e3, 3)
    63.774
    """
    return cavity.perimeter + 2 * pi * neutral_factor(sharpest_radius(cavity), gauge) * gauge


def sharpest_radius(cavity: Cavity) -> float:
    """Least radius of curvature of the inside of a ferrule. [m]

    Flat and round: half the thickness; oval: b²/a at the ends of its width.

    >>> sharpest_radius(Cavity("oval", 0.020, 0.010))
    0.0025
    """
    if cavity.shape == "oval":
        return cavity.thickness**2 / (2 * cavity.width)
    return cavity.thickness / 2


def blanking_force(shear_strength: float, gauge: float, edge: float) -> float:
    """Greatest force to shear a length of edge at once, S·t·L. [N]

    shear_strength [Pa]; gauge [m]; edge: length cut [m].
    Source: Groover, Fundamentals of Modern Manufacturing, sec. 20.1 (from memory).

    >>> round(blanking_force(310e6, 3.2e-3, pi * 0.150))
    467469
    """
    return shear_strength * gauge * edge


@dataclass(frozen=True)
class FerruleDesign:
    """A ferrule and the strip it is cut from."""

    shape: Shape = choice(SHAPES, "cross-section of the ferrule", example="flat")
    width: float = quantity("mm", "greatest inside width", low=4, high=250, example="100 mm")
    thickness: float | None = quantity(
        "mm", "least inside thickness; leave out for a round ferrule", low=2, high=150, default=None, example="16 mm"
    )
    depth: float = quantity("mm", "height of the ferrule, along the handle", low=8, high=120, example="38 mm")
    metal: str = choice(STRIP_NAMES, "metal of the strip", default="nickel-plated steel", example="nickel-plated steel")
    gauge: float = quantity("mm", "thickness of the strip", low=0.1, high=1.5, default=0.3, example="0.3 mm")
    seam: Seam = choice(SEAMS, "how the blank is closed", default="lock", example="lock")
    seam_width: float = quantity("mm", "finished width of the seam", low=1, high=10, default=3, example="3 mm")
    beads: int = whole("beads rolled around the ferrule", low=0, high=6, default=2, example="2")
    bead_depth: float = quantity("mm", "how far a bead stands out", low=0.1, high=4, default=0.8, example="0.8 mm")
    slug: float = quantity("mm", "strip lost between two blanks; 0 where a shear parts them", low=0, high=10, default=0)
    nail_holes: int = whole("holes pierced for nails", low=0, high=12, default=4, example="4")
    nail_diameter: float = quantity("mm", "diameter of a nail hole", low=0.5, high=4, default=1.4, example="1.4 mm")
    press_force: float = quantity("kN", "force the press may give", low=1, high=5000, default=63, example="63 kN")

    def __post_init__(self) -> None:
        if self.thickness is None and self.shape != "round":
            raise DesignError(
                Fault("thickness", "", f"a length, for a {self.shape} ferrule", "give the inside thickness")
            )
        _ = self.cavity

    @property
    def cavity(self) -> Cavity:
        """The inside of the ferrule."""
        return Cavity(self.shape, self.width, self.width if self.thickness is None else self.thickness)


def bead_allowance(bead_depth: float, bead_width: float) -> float:
    """Extra height of blank a bead takes in: its arc less its chord. [m]

    A bead is a circular arc standing bead_depth out over a chord of bead_width [m]. Source: geometry.
    Where the metal stretches into the bead instead, less is taken in: this is the most.

    >>> round(bead_allowance(0.8e-3, 3.2e-3) * 1e3, 3)
    0.509
    """
    radius = (bead_width**2 / 4 + bead_depth**2) / (2 * bead_depth)
    return 2 * radius * asin(bead_width / (2 * radius)) - bead_width


def bead_rows(beads: int) -> tuple[float, ...]:
    """Where beads stand along a ferrule, as shares of its height from the handle's end: between nails and mouth.

    >>> [round(row, 2) for row in bead_rows(2)]
    [0.54, 0.72]
    """
    return tuple(0.45 + 0.36 * (bead + 0.5) / beads for bead in range(beads))


def _work_out(design: FerruleDesign) -> Result:
    cavity, metal = design.cavity, strip_metal(design.metal)
    around = developed_length(cavity, design.gauge)
    seam = seam_allowance(design.seam, design.seam_width)
    blank = around + seam
    pitch = blank + design.slug
    beads = design.beads * bead_allowance(design.bead_depth, 4 * design.bead_depth)
    strip_width = design.depth + beads
    strip_mass = pitch * strip_width * design.gauge * float(metal.density)
    parted = strip_width * (2 if design.slug > 0 else 1)
    pierced = design.nail_holes * pi * design.nail_diameter
    force = blanking_force(float(metal.shear_strength), design.gauge, parted + pierced)
    net = blank * strip_width - design.nail_holes * pi / 4 * design.nail_diameter**2
    strip_yield = net / (pitch * strip_width)
    radius = sharpest_radius(cavity)
    factor = neutral_factor(radius, design.gauge)
    remarks = []
    if not 0.030 <= strip_width <= 0.040:
        remarks.append(
            f"The strip is {strip_width * 1e3:.1f} mm wide; 30 to 40 mm is common practice for wall brushes."
        )
    if design.shape == "oval":
        remarks.append("The sharpest curvature of the oval sets K for the whole way round, which is slightly short.")
    return Result(
        values=(
            Value("blank_length", "blank length", blank, "mm"),
            Value("strip_length", "strip used by one ferrule", pitch, "mm"),
            Value("strip_width", "strip width", strip_width, "mm"),
            Value("strip_mass", "strip mass of one ferrule", strip_mass, "g"),
            Value("blanking_force", "blanking force", force, "kN"),
            Value("strip_yield", "share of the strip in the ferrule", strip_yield, "%"),
        ),
        checks=(
            Check(
                "inside bend radius",
                radius,
                float(metal.least_radius) * design.gauge,
                "at least",
                "mm",
                metal.least_radius.source,
                "choose a thicker ferrule, a thinner strip or a softer metal",
            ),
            Check(
                "blanking force",
                force,
                0.8 * design.press_force,
                "at most",
                "kN",
                f"{COMMON_PRACTICE}: four fifths of the press",
                "shear the punch edge, cut in two strokes or choose a larger press",
            ),
        ),
        steps=(
            Step("inside perimeter", _PERIMETERS[design.shape], cavity.perimeter, "mm", "geometry"),
            Step("place of the unstretched layer", "K = 0.33 below R = 2t, else 0.50", factor, "", _GROOVER),
            Step("once around", "perimeter + 2πKt", around, "mm", _GROOVER),
            Step("seam", f"{_SEAM_WIDTHS[design.seam]:g} W", seam, "mm", _STEELWORKER),
            Step("blank length", "once around + seam", blank, "mm", "sum"),
            Step("strip length", "blank length + slug", pitch, "mm", "sum"),
            Step(
                "strip width",
                "depth + beads · (arc − chord), a bead being four times as wide as deep",
                strip_width,
                "mm",
                COMMON_PRACTICE,
            ),
            Step("strip mass", "strip length · width · gauge · density", strip_mass, "g", metal.density.source),
            Step("blanking force", "S·t·L, parting and piercing at one stroke", force, "kN", _GROOVER),
        ),
        cautions=(PRESS_CAUTION,),
        remarks=tuple(remarks),
    )


_PERIMETERS: dict[Shape, str] = {"flat": "2(w − t) + πt", "oval": "4a·E(m)", "round": "πd"}


def draw_blank(design: FerruleDesign, result: Result) -> str:
    """The flat blank to scale with its seam edges and nail holes, and the closed ferrule above it, as SVG."""
    from naptuft.drawing import Drawing
    from naptuft.quantity import show

    mm = 1e3
    blank, height = result["blank_length"] * mm, result["strip_width"] * mm
    seam = seam_allowance(design.seam, design.seam_width) * mm
    drawing = Drawing(f"ferrule blank, {design.shape}, {show(design.width, 'mm')}", width=190)
    drawing.rectangle(0, 0, blank, height, hint="blank, flat")
    if seam:
        left, right = (seam / 3, 2 * seam / 3) if design.seam == "lock" else (0.0, seam)
        for x in (left, blank - right):
            if 0 < x < blank:
                drawing.line((x, 0), (x, height), "dimension", hint="seam fold")
        for x, wide in ((0.0, left), (blank - right, right)):
            if wide:
                drawing.rectangle(x, 0, wide, height, "detail", hatch="diagonal", hint="seam allowance")
    for row in bead_rows(design.beads):
        y = height * row
        drawing.line((0, y), (blank, y), "second", hint="bead")
    for hole in range(design.nail_holes):
        x = seam / 2 + (blank - seam) * (hole + 0.5) / design.nail_holes
        drawing.circle((x, height * NAIL_ROW), design.nail_diameter * mm / 2, "detail", hint="nail hole")
    drawing.dimension((0, height), (blank, height), show(result["blank_length"], "mm"), offset=7)
    drawing.dimension((0, height), (0, 0), show(result["strip_width"], "mm"), offset=-7)
    middle = blank / 2
    top = -(design.cavity.thickness * mm) - 8
    for grow, style in ((design.gauge, "outline"), (0.0, "detail")):
        edge = [
            (middle + x * mm, top + design.cavity.thickness * mm / 2 + y * mm) for x, y in design.cavity.outline(grow)
        ]
        drawing.path(edge, style, closed=True, hint="the ferrule, closed")
    half = design.width * mm / 2
    drawing.dimension((middle - half, top), (middle + half, top), show(design.width, "mm"), offset=-4)
    return drawing.svg()


FERRULE = Calculation(
    name="ferrule-blank",
    title="Ferrule blank",
    line="brush",
    about="The flat blank a ferrule is folded from, the strip it takes and the force that cuts it.",
    inputs=FerruleDesign,
    run=_work_out,
    draw=draw_blank,
)
