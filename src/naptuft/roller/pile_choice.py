"""Which pile for which surface and paint: height by the surface, fibre by the paint, ranked with the reasons."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin
from typing import Literal

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import FABRIC_NAMES, FABRICS, PileFabric
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.roller.refill import REFILL, RefillDesign

_UFC = "UFC 3-190-06 (MIL-HDBK-1110), Protective Coatings and Paints, 7.5.3"
_TB = "TB 43-0144, Painting of Watercraft, 4-4"
_GOST = "GOST 10831-87, 1.2.1: pile of 8 to 25 mm"
_STEPS = f"{_UFC}: 0.25 to 1.25 in, longer on rougher surfaces; steps between: {COMMON_PRACTICE}"
INCH = 0.0254

Paint = Literal["water-borne", "solvent-borne", "strong solvent"]
PAINTS: tuple[Paint, ...] = ("water-borne", "solvent-borne", "strong solvent")
SHEENS = ("gloss", "satin", "matt")


@dataclass(frozen=True)
class Surface:
    """A surface: the pile it wants, how deep its relief goes, and what is such a surface. Lengths in [m]."""

    name: str
    low: float
    high: float
    relief: float
    such_as: str


SURFACES: dict[str, Surface] = {
    each.name: each
    for each in (
        Surface("very smooth", 3 / 16 * INCH, 1 / 4 * INCH, 0.05e-3, "metal doors, sanded trim, hardboard"),
        Surface("smooth", 1 / 4 * INCH, 3 / 8 * INCH, 0.2e-3, "plaster, drywall"),
        Surface("semi-smooth", 3 / 8 * INCH, 1 / 2 * INCH, 1.0e-3, "blasted metal, sawn wood, light texture"),
        Surface("semi-rough", 1 / 2 * INCH, 3 / 4 * INCH, 3.0e-3, "concrete, light stucco, acoustic tile"),
        Surface("rough", 3 / 4 * INCH, 5 / 4 * INCH, 8.0e-3, "brick, block, heavy stucco, chain link"),
    )
}


def against(fabric: PileFabric, paint: Paint) -> str:
    """Why a pile does not suit a paint; "" when it does.

    Source: TB 43-0144, 4-4: wool mats badly in water; acrylic in strong solvents: common practice.

    >>> from naptuft.materials.fabric import pile_fabric
    >>> against(pile_fabric("lambswool"), "water-borne")
    'wool mats badly in water'
    """
    if paint == "water-borne" and fabric.fibre == "wool":
        return "wool mats badly in water"
    if paint == "strong solvent" and fabric.fibre == "acrylic":
        return "strong solvents may soften acrylic: soak a sample"
    return ""


def second_choice(fabric: PileFabric, paint: Paint) -> bool:
    """True where another fibre is preferred: natural for solvent-based paint.

    Source: UFC 3-190-06, 7.5.3: natural fibre for solvent-based, synthetic for latex paints.

    >>> from naptuft.materials.fabric import pile_fabric
    >>> second_choice(pile_fabric("knitted polyester"), "solvent-borne")
    True
    """
    return paint != "water-borne" and fabric.fibre != "wool"


def sheds_little(fabric: PileFabric) -> bool:
    """True for cloth whose pile is bound in by weaving, or that is of endless microfibre. Common practice."""
    return fabric.name.startswith("woven") or fabric.name == "microfibre"


def pile_height(surface: Surface, sheen: str, fabric: PileFabric) -> float | None:
    """Pile height for a surface in a fabric, None where it is not made so: gloss short, matt long. [m]

    The shorter end of the surface's range for gloss, the middle for satin, the longer end for matt, moved into
    the heights the fabric is made in. Source: UFC 3-190-06, 7.5.3; by sheen: common practice.

    >>> from naptuft.materials.fabric import pile_fabric
    >>> round((pile_height(SURFACES["smooth"], "gloss", pile_fabric("microfibre")) or 0) * 1e3, 2)
    6.35
    """
    made_low = fabric.pile_height.low or 0.0
    made_high = fabric.pile_height.high or surface.high
    low, high = max(surface.low, made_low), min(surface.high, made_high)
    if low > high:
        return None
    wanted = surface.low + {"gloss": 0.0, "satin": 0.5, "matt": 1.0}[sheen] * (surface.high - surface.low)
    return min(max(wanted, low), high)


@dataclass(frozen=True)
class Judged:
    """One fabric for the job: its pile height [m], the area of a load [m**2], and why not; "" where it suits."""

    fabric: PileFabric
    height: float
    area: float
    reason: str
    second: bool


@dataclass(frozen=True)
class PileUse:
    """The surface, the paint and the refill the pile is for."""

    surface: str = choice(tuple(SURFACES), "surface to be painted", example="smooth")
    paint: Paint = choice(PAINTS, "what the paint is thinned with", example="water-borne")
    sheen: str = choice(SHEENS, "sheen the film should have", default="satin", example="matt")
    length: float = quantity("mm", "length of the refill", low=20, high=1000, default=240, example="240 mm")
    core_diameter: float = quantity("mm", "outside diameter of its core", low=8, high=150, default=44, example="44 mm")
    film: float = quantity("um", "wet film wanted", low=10, high=1000, default=100, example="100 um")
    own_fabric: str = choice(
        ("none", *FABRIC_NAMES), "a pile of your own to judge", default="none", example="knitted polyester"
    )
    own_pile: float | None = quantity("mm", "its height", low=1, high=40, default=None, example="9 mm")

    def __post_init__(self) -> None:
        if (self.own_fabric == "none") != (self.own_pile is None):
            raise DesignError(
                Fault(
                    "own pile",
                    "" if self.own_pile is None else f"{self.own_pile * 1e3:g} mm",
                    "given together with the own fabric, or neither",
                    "give both own fabric and own pile to have one judged",
                )
            )


def rank_piles(use: PileUse) -> tuple[Judged, ...]:
    """Every fabric for the job, the best first.

    Those that suit come first, preferred fibres before others; for gloss those that shed least, then by area of
    a load, largest first.

    >>> use = PileUse(surface="smooth", paint="water-borne", sheen="gloss")
    >>> [judged.fabric.name for judged in rank_piles(use)][:2]
    ['woven polyester', 'woven polyamide']
    """
    surface, found = SURFACES[use.surface], []
    for fabric in FABRICS:
        height = pile_height(surface, use.sheen, fabric)
        reason = against(fabric, use.paint)
        if height is None:
            low, high = (fabric.pile_height.low or 0.0) * 1e3, (fabric.pile_height.high or 0.0) * 1e3
            unmade = (
                f"made with {low:g} to {high:g} mm of pile, not {surface.low * 1e3:.3g} to {surface.high * 1e3:.3g} mm"
            )
            reason = f"{reason}; {unmade}" if reason else unmade
            height = float(fabric.pile_height)
        area = _in_use(use, fabric.name, height)["area_per_load"]
        found.append(Judged(fabric, height, area, reason, second_choice(fabric, use.paint)))
    return tuple(
        sorted(
            found,
            key=lambda one: (
                bool(one.reason),
                one.second,
                use.sheen == "gloss" and not sheds_little(one.fabric),
                -one.area,
            ),
        )
    )


def _in_use(use: PileUse, fabric: str, height: float) -> Result:
    return REFILL.run(
        RefillDesign(
            length=use.length,
            core_diameter=use.core_diameter,
            core_wall=min(1.5e-3, use.core_diameter / 8),
            fabric=fabric,
            pile_height=height,
            bevel=min(10e-3, use.length / 4),
            bevel_cut=height / 2,
            film=use.film,
        )
    )


def _work_out(use: PileUse) -> Result:
    surface, ranked = SURFACES[use.surface], rank_piles(use)
    best = ranked[0]
    in_use = _in_use(use, best.fabric.name, best.height)
    remarks = [
        f"First choice: {best.fabric.name}, {best.height * 1e3:.3g} mm: {_why(use, best)}."
        if not best.reason
        else f"None suits without reserve; the least bad is {best.fabric.name}: {best.reason}."
    ]
    for place, one in enumerate(ranked[1:], start=2):
        words = one.reason or _why(use, one)
        remarks.append(f"{place}. {one.fabric.name}, {one.height * 1e3:.3g} mm: {words}.")
    if not 8e-3 <= best.height <= 25e-3:
        remarks.append(f"{_GOST}; the first choice lies outside it.")
    remarks.append(
        "Measure the area of a load on a cover saturated before (ASTM D5069): a dry one keeps its first load."
    )
    checks = [
        Check(
            "paint held up in the pile of the first choice",
            in_use["capillary_height"],
            best.height,
            "at least",
            "mm",
            "Jurin's law with the hydraulic radius of the gaps; OpenStax College Physics, ch. 11",
            "choose a denser pile, or expect dripping",
        )
    ]
    if use.own_pile is not None:
        own = next(fabric for fabric in FABRICS if fabric.name == use.own_fabric)
        reason = against(own, use.paint)
        checks += [
            Check(
                "own pile, least for this surface", use.own_pile, surface.low, "at least", "mm", _STEPS, "take longer"
            ),
            Check(
                "own pile, most for this surface", use.own_pile, surface.high, "at most", "mm", _STEPS, "take shorter"
            ),
        ]
        if reason:
            checks.append(
                Check(f"own pile in {use.paint} paint, objections", 1, 0, "at most", "", f"{_TB}; {_UFC}", reason)
            )
    return Result(
        values=(
            Value("low", "shortest pile for the surface", surface.low, "mm"),
            Value("high", "longest pile for the surface", surface.high, "mm"),
            Value("pile", "pile of the first choice", best.height, "mm"),
            Value("paint_held", "paint it holds", in_use["paint_held"], "cm**3"),
            *(
                Value(
                    "area_" + one.fabric.name.replace(" ", "_"), f"area of a load, {one.fabric.name}", one.area, "m**2"
                )
                for one in ranked
            ),
        ),
        checks=tuple(checks),
        steps=(
            Step("shortest pile", f"for {surface.name}: {surface.such_as}", surface.low, "mm", _STEPS),
            Step("longest pile", f"for {surface.name}: {surface.such_as}", surface.high, "mm", _STEPS),
            Step("pile within it", f"by the sheen: {use.sheen}", best.height, "mm", COMMON_PRACTICE),
            *(
                Step(f"area of a load, {one.fabric.name}", "held × share released / film", one.area, "m**2", _UFC)
                for one in ranked
            ),
        ),
        remarks=tuple(remarks),
    )


def _why(use: PileUse, one: Judged) -> str:
    words = [f"{one.area:.2f} m² a load"]
    if use.paint != "water-borne":
        words.append("natural fibre, preferred in solvent" if not one.second else "synthetic, second to natural fibre")
    elif one.fabric.fibre != "wool":
        words.append("synthetic, as latex paints want")
    if use.sheen == "gloss":
        words.append("sheds little" if sheds_little(one.fabric) else "sheds more than woven cloth")
    return ", ".join(words)


def draw_piles(use: PileUse, result: Result) -> str:
    """Each fabric's pile standing on the relief of the surface, the best first, to scale."""
    surface, ranked = SURFACES[use.surface], rank_piles(use)
    loads = {one.fabric.name: result["area_" + one.fabric.name.replace(" ", "_")] for one in ranked}
    wide, gap = 12.0, 10.0
    drawing = Drawing(f"pile on a {surface.name} surface, best first: {ranked[0].fabric.name}", width=180)
    tallest = max(one.height for one in ranked) * 1e3
    end = len(ranked) * (wide + gap) - gap
    relief = surface.relief * 1e3

    def wall(x: float) -> float:
        return relief / 2 * (1 - sin(2 * pi * x / 9.0) * 0.6 - sin(2 * pi * x / 3.7) * 0.4)

    steps = int(end * 2)
    line = [(end * k / steps, wall(end * k / steps)) for k in range(steps + 1)]
    drawing.path(
        [*line, (end, relief + 4), (0, relief + 4)], "outline", closed=True, hatch="diagonal", hint=surface.name
    )
    for place, one in enumerate(ranked):
        left, high = place * (wide + gap), one.height * 1e3
        backing = float(one.fabric.backing_thickness) * 1e3
        drawing.rectangle(left, -high - backing, wide, backing, "detail", hatch="cross", hint="ground cloth")
        for k in range(13):
            x = left + wide * k / 12
            drawing.line((x, -high), (x, 0), "accent" if place == 0 else "hatch", hint=one.fabric.name)
        drawing.dimension((left + wide, -high), (left + wide, 0), f"{high:.3g} mm", offset=-3)
        first, _, last = one.fabric.name.partition(" ")
        drawing.text((left + wide / 2, -tallest - 6), f"{place + 1}. {first}", size=2.8)
        drawing.text((left + wide / 2, -tallest - 3.5), last or " ", size=2.8)
        verdict = "suits" if not one.reason else "does not suit"
        drawing.text((left + wide / 2, relief + 7), verdict, size=2.6)
        drawing.text((left + wide / 2, relief + 10), f"{loads[one.fabric.name]:.2f} m² a load", size=2.6)
    drawing.line((0, relief + 10.5), (end, relief + 10.5), "dimension")
    return drawing.svg()


PILE_CHOICE = Calculation(
    name="pile-choice",
    title="Choice of pile",
    line="roller",
    about="Which pile, how long and of which fibre, suits a surface and a paint: ranked, with the reason for each.",
    inputs=PileUse,
    run=_work_out,
    draw=draw_piles,
)
