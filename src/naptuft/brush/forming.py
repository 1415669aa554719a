"""Forming the ferrule and cutting it from the coil: springback, squareness, beads, coil yield."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, pi, sin, tan

from naptuft.brush.cautions import NOISE_CAUTION, PRESS_CAUTION
from naptuft.brush.ferrule import FERRULE, FerruleDesign, developed_length, sharpest_radius
from naptuft.brush.fill import Cavity
from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity, whole
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.strip import strip_metal

BEAD_WIDTH = 4.0
"""Chord of a bead over its depth (common practice)."""

_KALPAKJIAN = "Kalpakjian & Schmid, Manufacturing Engineering and Technology, sec. 16.5 (from memory)"
_ROARK = "Roark's Formulas for Stress and Strain, sections: thin circular arc (from memory)"


def springback_figure(radius: float, yield_strength: float, modulus: float, gauge: float) -> float:
    """How far a bend springs, x = R·Y/(E·t): nil does not, a half springs flat. [1]

    radius: inside, in the tool [m]; yield_strength, modulus [Pa]; gauge [m].

    >>> round(springback_figure(0.5, 40_000.0, 29e6, 0.0359), 4)
    0.0192
    """
    return radius * yield_strength / (modulus * gauge)


def sprung_radius(radius: float, figure: float) -> float | None:
    """Inside radius a bend springs back to, R/(4x³ − 3x + 1); None where it springs flat. [m]

    radius: inside, in the tool [m]; figure x: see `springback_figure`; from a half on nothing stays bent.
    Source: Kalpakjian & Schmid, Manufacturing Engineering and Technology, sec. 16.5 (from memory).

    >>> round(sprung_radius(0.5, 0.0192), 3), sprung_radius(0.5, 0.6)
    (0.531, None)
    """
    left = 4 * figure**3 - 3 * figure + 1 if figure < 0.5 else 0.0
    return radius / left if left > 0 else None


def bend_kept(radius: float, sprung: float | None, gauge: float) -> float:
    """Share of the angle of a bend that is left after it springs, (2R/t + 1)/(2Rs/t + 1). [1]

    radius: inside, in the tool; sprung: inside, after; gauge [m]. The middle layer keeps its length.
    Source: Kalpakjian & Schmid, sec. 16.5, K_s (from memory).

    >>> round(bend_kept(5e-3, 5.3e-3, 0.5e-3), 3)
    0.946
    """
    return 0.0 if sprung is None else (2 * radius + gauge) / (2 * sprung + gauge)


def flattest_radius(cavity: Cavity) -> float:
    """Widest radius of curvature among the bends of a ferrule, the one that springs most. [m]

    Flat and round: half the thickness; oval: a²/b in the middle of its width.

    >>> flattest_radius(Cavity("oval", 0.020, 0.010))
    0.02
    """
    if cavity.shape == "oval":
        return cavity.width**2 / (2 * cavity.thickness)
    return cavity.thickness / 2


def seam_step(around: float, out_of_square: float) -> float:
    """Step between the two edges at the seam of a blank cut out of square, L·tan α. [m]

    around: length once around [m]; out_of_square: of the cut against the strip's edge [rad]; the blank is folded
    parallel to its cut end. Source: geometry of a helix.

    >>> round(seam_step(0.2188, 0.001) * 1e3, 2)
    0.22
    """
    return around * tan(out_of_square)


def arc_moment(radius: float, half_angle: float, gauge: float) -> tuple[float, float, float]:
    """Area, height of the middle above the circle's own, and second moment about that of a thin arc. [m**2, m, m**4]

    2Rαt; R sin α/α; R³t(α + sin α cos α − 2 sin²α/α). radius of the middle layer [m]; half_angle [rad].
    Source: Roark's Formulas for Stress and Strain, sections: thin circular arc (from memory).

    >>> area, middle, moment = arc_moment(1.0, pi / 2, 0.01)
    >>> round(middle, 4), round(moment / 0.01, 4)
    (0.6366, 0.2976)
    """
    area = 2 * radius * half_angle * gauge
    middle = radius * sin(half_angle) / half_angle
    moment = (
        radius**3 * gauge * (half_angle + sin(half_angle) * cos(half_angle) - 2 * sin(half_angle) ** 2 / half_angle)
    )
    return area, middle, moment


def beaded_moment(gauge: float, height: float, beads: int, depth: float) -> float:
    """Second moment of the wall's section about its own middle, bent as the wall bows outward. [m**4]

    The section runs along the ferrule's height [m]: flat, with beads that are arcs standing `depth` out over a
    chord four times as wide; each piece by its own moment, its thickness counted, and its distance (Steiner).
    gauge, depth [m].

    >>> round(beaded_moment(0.3e-3, 38e-3, 2, 0.8e-3) / beaded_moment(0.3e-3, 38e-3, 0, 0.8e-3), 1)
    8.3
    """
    chord = BEAD_WIDTH * depth
    flat = height - beads * chord
    own = flat * gauge**3 / 12
    if not beads:
        return own
    half_angle = 2 * atan(2 * depth / chord)
    radius = chord / (2 * sin(half_angle))
    area, middle, moment = arc_moment(radius, half_angle, gauge)
    moment += radius * gauge**3 / 12 * (half_angle + sin(half_angle) * cos(half_angle))
    up = middle - (radius - depth)
    total = flat * gauge + beads * area
    mean = beads * area * up / total
    return own + beads * (moment + area * (up - mean) ** 2) + flat * gauge * mean**2


def corrugated_moment(gauge: float, depth: float, pitch: float) -> float:
    """Second moment of a wall beaded from edge to edge, a sine wave, by unit width. [m**3]

    t·h²/8·(1 + (πh/p)²/8) + t³/12: gauge t, depth h of the wave, pitch p [m], waves less steep than they are long.
    Source: mean square of a sine of height h/2 along its own length, geometry.

    >>> round(corrugated_moment(0.3e-3, 0.8e-3, 6e-3) / (0.3e-3**3 / 12), 1)
    11.9
    """
    slope = pi * depth / pitch
    return gauge * depth**2 / 8 * (1 + slope**2 / 8) + gauge**3 / 12


def coil_length(outer: float, inner: float, gauge: float) -> float:
    """Strip on a coil, π(Do² − Di²)/(4t). [m]

    outer, inner: diameters of the coil [m]; gauge [m]. Source: area of the coil's side.

    >>> round(coil_length(0.9, 0.4, 0.3e-3))
    1702
    """
    return pi * (outer**2 - inner**2) / (4 * gauge)


@dataclass(frozen=True)
class FormingDesign(FerruleDesign):
    """A ferrule, how true its blank is cut, and the coil it comes from."""

    out_of_square: float = quantity("deg", "of the cut end against the strip's edge", low=0, high=5, default=0.1)
    step_allowed: float = quantity("mm", "step between the edges at the seam", low=0.01, high=5, default=0.5)
    coil_outer: float = quantity(
        "mm", "outside diameter of the coil", low=100, high=2000, default=700, example="700 mm"
    )
    coil_inner: float = quantity("mm", "inside diameter of the coil", low=50, high=1000, default=400, example="400 mm")
    coil_ends: float = quantity("mm", "lost at both ends of a coil", low=0, high=20000, default=1500)
    edge_trim: float = quantity("mm", "coil wider than the blank, both edges together", low=0, high=30, default=0)
    ferrules_asked: int = whole("ferrules the order needs", low=1, high=10_000_000, default=2000, example="1200")
    reject_share: float = quantity("%", "ferrules rejected", low=0, high=50, default=1)

    def __post_init__(self) -> None:
        super().__post_init__()
        faults = []
        if self.coil_inner >= self.coil_outer:
            faults.append(
                Fault("coil inner", self.coil_inner, f"below the outside, {self.coil_outer:g} m", "swap the two")
            )
        if self.beads * BEAD_WIDTH * self.bead_depth > 0.8 * self.depth:
            faults.append(
                Fault(
                    "beads",
                    self.beads,
                    f"beads {BEAD_WIDTH:g} times as wide as deep that take four fifths of {self.depth:g} m or less",
                    "fewer or shallower beads, or a deeper ferrule",
                )
            )
        if faults:
            raise DesignError(*faults)


def _work_out(design: FormingDesign) -> Result:
    blank, metal, cavity, gauge = FERRULE.run(design), strip_metal(design.metal), design.cavity, design.gauge
    strength, modulus = float(metal.yield_strength), float(metal.modulus)
    sharp, wide = sharpest_radius(cavity), flattest_radius(cavity)
    figure, widest = (springback_figure(radius, strength, modulus, gauge) for radius in (sharp, wide))
    sprung = sprung_radius(sharp, figure)
    kept = bend_kept(sharp, sprung, gauge)
    flat = beaded_moment(gauge, design.depth, 0, design.bead_depth)
    stiffer = beaded_moment(gauge, design.depth, design.beads, design.bead_depth) / flat
    around = developed_length(cavity, gauge)
    step = seam_step(around, design.out_of_square)
    strip, width = blank["strip_length"], blank["strip_width"] + design.edge_trim
    length = coil_length(design.coil_outer, design.coil_inner, gauge)
    good_length = max(0.0, length - design.coil_ends)
    cut = int(good_length / strip)
    good = int(cut * (1 - design.reject_share))
    holes = design.nail_holes * pi / 4 * design.nail_diameter**2
    net = blank["blank_length"] * blank["strip_width"] - holes
    skeleton = 1 - net / (strip * width)
    share = good * net / (length * width)
    mass = length * width * gauge * float(metal.density)
    coils = -(-design.ferrules_asked // good) if good else 0
    bent = [Value("bend_kept", "angle of the bend left after springing", kept, "%")]
    if sprung is not None:
        bent.insert(0, Value("sprung_radius", "inside radius it springs back to", sprung, "mm"))
    if kept > 0.5:
        bent.append(Value("overbend", "overbend, beyond half a turn", pi / kept - pi, "deg"))
    remarks = ["Keep the burr to the inside of the ferrule: outside it cuts hands; inside it is covered by the glue."]
    if widest >= 0.5:
        remarks.append(
            "The flattest part of this ferrule springs back whole: close it on a mandrel and let the seam hold it."
        )
    return Result(
        values=(
            Value("springback_figure", "springback figure of the sharpest bend", figure, ""),
            *bent,
            Value("seam_step", "step at the seam from a blank out of square", step, "mm"),
            Value("mouth_tilt", "tilt of the mouth across the width", cavity.width * tan(design.out_of_square), "mm"),
            Value("bead_stiffening", "beaded wall over flat wall", stiffer, ""),
            Value("beaded_moment", "second moment of the beaded wall", stiffer * flat, "mm**4"),
            Value("strip_width", "strip width", blank["strip_width"], "mm"),
            Value("coil_length", "strip on the coil", length, "m"),
            Value("coil_mass", "mass of the coil", mass, "kg"),
            Value("ferrules_from_coil", "good ferrules from a coil", good, "pcs"),
            Value("skeleton_share", "skeleton: slugs, edges and holes", skeleton, "%"),
            Value("coil_yield", "share of the coil in good ferrules", share, "%"),
            Value("coils", "coils for the order", coils, "pcs"),
        ),
        checks=(
            Check(
                "springback figure of the sharpest bend",
                figure,
                0.2,
                "at most",
                "",
                f"{_KALPAKJIAN}; the limit is {COMMON_PRACTICE}",
                "a softer or thicker strip, or size the ferrule on a mandrel",
            ),
            Check(
                "step at the seam",
                step,
                design.step_allowed,
                "at most",
                "mm",
                "geometry; the limit is what was asked",
                "true the shear against the strip's edge",
            ),
            Check("ferrules from one coil", good, 1, "at least", "pcs", "arithmetic", "a larger coil"),
            Check(
                "share of the coil in good ferrules",
                share,
                0.75,
                "at least",
                "%",
                f"{COMMON_PRACTICE}: three quarters of a coil or more",
                "slit the coil to the blank's width, part the blanks with a shear, or buy longer coils",
            ),
        ),
        steps=(
            Step("springback figure", "x = R·Y/(E·t)", figure, "", metal.yield_strength.source),
            Step("angle kept", "(2R/t + 1)/(2Rs/t + 1), Rs = R/(4x³ − 3x + 1)", kept, "%", _KALPAKJIAN),
            Step("flattest bend", "x = R·Y/(E·t) at the widest radius", widest, "", metal.yield_strength.source),
            Step("step at the seam", "once around · tan α", step, "mm", "geometry of a helix"),
            Step("flat wall", "H·t³/12", flat, "mm**4", "geometry"),
            Step("beaded wall over flat", "Σ(own + area · distance²) over flat", stiffer, "", _ROARK),
            Step("strip on the coil", "π(Do² − Di²)/(4t)", length, "m", "area of the coil's side"),
            Step("good ferrules", "(length − ends)/strip length · (1 − rejects)", good, "pcs", "arithmetic"),
            Step("skeleton", "1 − (blank − holes)/(strip length · coil width)", skeleton, "%", "areas"),
        ),
        cautions=(PRESS_CAUTION, NOISE_CAUTION),
        remarks=(*remarks, *strip_width_remark(blank["strip_width"])),
    )


def strip_width_remark(strip_width: float) -> tuple[str, ...]:
    """What to say of a strip outside the 30 to 40 mm of common practice.

    >>> strip_width_remark(0.035), len(strip_width_remark(0.060))
    ((), 1)
    """
    if 0.030 <= strip_width <= 0.040:
        return ()
    return (f"Strip of 30 to 40 mm is common practice; this ferrule takes {strip_width * 1e3:.1f} mm.",)


FORMING = Calculation(
    name="ferrule-forming",
    title="Forming ferrules from the coil",
    line="brush",
    about="Springback, squareness, stiffening by beads, ferrules from a coil and the share of it that ends in them.",
    inputs=FormingDesign,
    run=_work_out,
)
