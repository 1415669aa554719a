"""Winding pile strip on a core: the helix, what it takes of strip and glue, and how long it lasts."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, hypot, isfinite, pi, sin, tan

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES, FABRIC_NAMES, core_material, pile_fabric
from naptuft.materials.property import COMMON_PRACTICE

HELIX = "unrolled helix, geometry"
_SHELL = "Timoshenko and Gere, Theory of Elastic Stability, 2nd ed. 1961, sec. 7.5 (from memory)"
CAUTIONS = (
    Caution(
        "Running nip between strip, core and spindle",
        "guard the spindle and feed rolls, bind hair and sleeves, stop and lock out before clearing a wrap",
        "29 CFR 1910.212 and 1910.147",
    ),
    Caution(
        "Hot or solvent-borne glue",
        "wear heat-proof gloves and eye protection, extract fumes at the applicator",
        "29 CFR 1910.94 and 1910.1200",
    ),
)


def strip_lead(core_diameter: float, strip_width: float, seam_gap: float = 0.0) -> float:
    """Advance per turn of a strip wound with a given gap between neighbouring edges. [m]

    p = (w + g)/√(1 − ((w + g)/(πD))²)
    core_diameter [m] outside; strip_width [m]; seam_gap [m] across the seam, below 0 for an overlap;
    width and gap together above 0 and below π times the diameter.
    Raises DesignError outside that range. Source: unrolled helix.

    >>> round(strip_lead(0.040, 0.070), 4)
    0.0843
    """
    return core_diameter * pi * tan(winding_angle(core_diameter, strip_width, seam_gap))


def winding_angle(core_diameter: float, strip_width: float, seam_gap: float = 0.0) -> float:
    """Angle between the strip's edge and a plane across the core, arcsin((w + g)/(πD)). [rad]

    Parameters and errors as for `strip_lead`.

    >>> from math import degrees
    >>> round(degrees(winding_angle(0.040, 0.070)), 2)
    33.85
    """
    share = (strip_width + seam_gap) / (pi * core_diameter)
    if not (isfinite(share) and 0 < share < 1):
        raise DesignError(
            Fault(
                "strip width",
                strip_width,
                f"with its gap above 0 and below {pi * core_diameter * 1e3:.1f} mm, the way round the core",
                "choose a narrower strip or a thicker core",
            )
        )
    return asin(share)


def seam_gap_at(core_diameter: float, strip_width: float, lead: float) -> float:
    """Gap between neighbouring edges when the carriage advances by `lead` per turn; below 0 an overlap. [m]

    g = πD·p/√(p² + (πD)²) − w, the inverse of `strip_lead`.

    >>> round(seam_gap_at(0.040, 0.070, strip_lead(0.040, 0.070, 0.001)), 6)
    0.001
    """
    around = pi * core_diameter
    return around * lead / hypot(lead, around) - strip_width


def strip_length(tube_length: float, angle: float) -> float:
    """Strip wound on the straight part of a tube, L/sin α. [m]

    Source: unrolled helix: the strip's area less its gaps is the area of the core.

    >>> round(strip_length(1.8, winding_angle(0.040, 0.070)), 3)
    3.231
    """
    return tube_length / sin(angle)


def seam_opening(core_diameter: float, lead: float, height: float) -> float:
    """How far the seam stands more open at a height above the core than at the core. [m]

    p(cos α_r − cos α), with tan α_r = p/(2πr): the lead is the same at each radius, the angle is not.
    This is what parts the pile over the seam. height [m].

    >>> round(seam_opening(0.044, 0.085, 0.012) * 1e3, 2)
    6.57
    """
    inner, outer = pi * core_diameter, pi * (core_diameter + 2 * height)
    return lead * (outer / hypot(lead, outer) - inner / hypot(lead, inner))


def gap_spread(
    core_diameter: float,
    lead: float,
    width_tolerance: float,
    lead_tolerance: float,
    diameter_tolerance: float = 0.0,
) -> float:
    """Most the seam gap can stray when strip width, lead and core diameter stray together. [m]

    δw + cos³α·δp + π sin³α·δD, the first-order change of g = πD sin α − w.

    >>> round(gap_spread(0.044, 0.085, 0.5e-3, 0.3e-3) * 1e3, 3)
    0.685
    """
    angle = atan2(lead, pi * core_diameter)
    return width_tolerance + cos(angle) ** 3 * lead_tolerance + pi * sin(angle) ** 3 * diameter_tolerance


def winding_pressure(tension: float, strip_width: float, core_diameter: float, angle: float) -> float:
    """Pressure of a strip under tension on the core, T cos²α/(w R). [Pa]

    cos²α/R is the curvature of a helix on a cylinder. tension [N] over the whole width.
    Source: thin band on a cylinder, statics.

    >>> round(winding_pressure(20.0, 0.070, 0.040, 0.0))
    14286
    """
    return tension * cos(angle) ** 2 / (strip_width * core_diameter / 2)


def buckling_pressure(modulus: float, poisson: float, wall: float, outside_diameter: float) -> float:
    """Outside pressure at which a long thin tube folds in, E t³/(4(1 − ν²)R³), R to mid-wall. [Pa]

    Source: Timoshenko and Gere, Theory of Elastic Stability, 2nd ed. 1961, sec. 7.5 (from memory).

    >>> round(buckling_pressure(1.4e9, 0.42, 1.5e-3, 44e-3) / 1e3)
    149
    """
    radius = (outside_diameter - wall) / 2
    return modulus * wall**3 / (4 * (1 - poisson**2) * radius**3)


@dataclass(frozen=True)
class TubeDesign:
    """A stock tube: core, strip, glue and the winder's setting."""

    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    core_wall: float = quantity("mm", "wall of the core", low=0.2, high=15, default=1.5, example="1.5 mm")
    core: str = choice(CORE_NAMES, "what the core is made of", default="polypropylene", example="polypropylene")
    tube_length: float = quantity(
        "mm", "length of core wound in one go", low=100, high=6000, default=1800, example="1800 mm"
    )
    strip_width: float = quantity("mm", "width of the pile strip", low=10, high=400, example="73 mm")
    fabric: str = choice(
        FABRIC_NAMES, "pile fabric of the strip", default="knitted polyester", example="knitted polyester"
    )
    pile_height: float = quantity("mm", "height of the pile", low=1, high=40, default=12, example="12 mm")
    seam_gap: float = quantity(
        "mm", "gap wanted across the seam; below 0 for an overlap", low=-20, high=20, default=0, example="0 mm"
    )
    lead: float | None = quantity(
        "mm",
        "advance per turn set on the winder; leave out to let the gap decide",
        low=5,
        high=1000,
        default=None,
    )
    width_tolerance: float = quantity(
        "mm", "most the strip's width strays", low=0, high=10, default=0.5, example="0.5 mm"
    )
    lead_tolerance: float = quantity("mm", "most the lead strays", low=0, high=10, default=0.3, example="0.3 mm")
    widest_gap: float = quantity(
        "mm", "widest seam gap that does not show in the pile", low=0, high=20, default=1, example="1 mm"
    )
    widest_overlap: float = quantity(
        "mm", "widest overlap that does not make a ridge", low=0, high=20, default=1, example="1 mm"
    )
    tails: float = quantity(
        "mm", "strip taped down or cut off at both ends of a tube, together", low=0, high=2000, default=150
    )
    glue_spread: float = quantity(
        "g/m**2", "glue laid on the core", low=5, high=1000, default=180, example="180 g/m**2"
    )
    spindle_speed: float = quantity("1/min", "turns of the spindle", low=1, high=2000, default=90, example="90 1/min")
    handling_time: float = quantity(
        "s", "loading, taping, cutting off and unloading a tube", low=0, high=3600, default=40, example="40 s"
    )
    tension: float = quantity("N", "pull in the strip", low=0, high=2000, default=5, example="5 N")

    def __post_init__(self) -> None:
        faults = []
        around = pi * self.core_diameter
        if self.strip_width + self.seam_gap >= around or self.strip_width + self.seam_gap <= 0:
            faults.append(
                Fault(
                    "strip width",
                    f"{self.strip_width * 1e3:g} mm",
                    f"with its gap above 0 mm and below {around * 1e3:.1f} mm, the way round the core",
                    "choose a narrower strip or a thicker core",
                )
            )
        if 2 * self.core_wall >= self.core_diameter:
            faults.append(
                Fault(
                    "core wall",
                    f"{self.core_wall * 1e3:g} mm",
                    f"below {self.core_diameter * 5e2:g} mm, half the core diameter",
                    "give the wall, not the bore",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def set_lead(self) -> float:
        """The lead wound with. [m]"""
        return self.lead or strip_lead(self.core_diameter, self.strip_width, self.seam_gap)


def _work_out(design: TubeDesign) -> Result:
    core, fabric = core_material(design.core), pile_fabric(design.fabric)
    around = pi * design.core_diameter
    lead = design.set_lead
    angle = atan2(lead, around)
    gap = seam_gap_at(design.core_diameter, design.strip_width, lead) if design.lead else design.seam_gap
    spread = gap_spread(design.core_diameter, lead, design.width_tolerance, design.lead_tolerance)
    wound = strip_length(design.tube_length, angle)
    length = wound + design.tails
    turns = design.tube_length / lead
    winding_time = turns / design.spindle_speed
    glue = around * design.tube_length * design.glue_spread
    opening = seam_opening(design.core_diameter, lead, float(fabric.backing_thickness) + design.pile_height)
    strain = design.tension / (design.strip_width * float(fabric.stiffness))
    narrowed = design.strip_width * strain * float(fabric.narrowing)
    pressure = winding_pressure(design.tension, design.strip_width, design.core_diameter, angle)
    folding = buckling_pressure(float(core.modulus), float(core.poisson), design.core_wall, design.core_diameter)
    strip_speed = design.spindle_speed * around / cos(angle)
    bore = design.core_diameter - 2 * design.core_wall
    core_mass = pi / 4 * (design.core_diameter**2 - bore**2) * design.tube_length * float(core.density)
    low, high = fabric.pile_height.low, fabric.pile_height.high
    remarks = []
    if design.pile_height not in fabric.pile_height and low and high:
        remarks.append(
            f"{fabric.name} is usually made with {low * 1e3:g} to {high * 1e3:g} mm of pile ({COMMON_PRACTICE})."
        )
    if not 0.9 <= lead / design.strip_width <= 2.0:
        remarks.append("The strip stands steep on the core: a narrower one lies flatter at the seam.")
    return Result(
        values=(
            Value("lead", "lead, advance per turn", lead, "mm"),
            Value("winding_angle", "winding angle", angle, "deg"),
            Value("turns", "turns on a tube", turns),
            Value("seam_gap", "seam gap (below 0: overlap)", gap, "mm"),
            Value("seam_opening", "seam opening at the pile tips", opening, "mm"),
            Value("strip_length", "strip for one tube", length, "m"),
            Value("strip_area", "strip area for one tube", length * design.strip_width, "m**2"),
            Value("glue_mass", "glue for one tube", glue, "g"),
            Value("core_length", "core for one tube", design.tube_length, "m"),
            Value("core_mass", "mass of the core", core_mass, "g"),
            Value("winding_time", "time for one tube", winding_time + design.handling_time, "s"),
            Value("carriage_speed", "carriage feed", design.spindle_speed * lead, "mm/s"),
            Value("strip_speed", "strip feed", strip_speed, "m/min"),
            Value("glue_rate", "glue feed while winding", glue / winding_time, "g/min"),
            Value("strip_strain", "stretch of the strip under tension", strain, "%"),
            Value("narrowing", "narrowing of the strip under tension", narrowed, "mm"),
            Value("winding_pressure", "pressure on the core", pressure, "kPa"),
        ),
        checks=(
            Check(
                "widest seam gap",
                gap + spread + narrowed,
                design.widest_gap,
                "at most",
                "mm",
                f"{HELIX}; worst case of width and lead, strip narrowed by its tension; limit given",
                "set a shorter lead, slit the strip closer or pull it less",
            ),
            Check(
                "widest overlap",
                spread - gap,
                design.widest_overlap,
                "at most",
                "mm",
                f"{HELIX}; worst case of width and lead; limit given",
                "set a longer lead or slit the strip closer",
            ),
            Check(
                "pressure on the core against folding",
                pressure,
                folding / 3,
                "at most",
                "kPa",
                f"{_SHELL}; a third of it, for a tube out of round ({COMMON_PRACTICE})",
                "lower the tension or use a thicker core",
            ),
        ),
        steps=(
            Step("winding angle", "α = arctan(p / πD)", angle, "deg", HELIX),
            Step("lead", "p = (w + g)/√(1 − ((w + g)/πD)²)", lead, "mm", HELIX),
            Step("seam gap", "g = πD·p/√(p² + (πD)²) − w", gap, "mm", HELIX),
            Step("stray of the gap", "δw + cos³α·δp", spread, "mm", f"{HELIX}, first order"),
            Step("seam opening at the tips", "p(cos α_r − cos α), tan α_r = p/(2πr)", opening, "mm", HELIX),
            Step("strip wound", "L / sin α", wound, "m", HELIX),
            Step("turns", "L / p", turns, "", HELIX),
            Step("glue", "πD·L·m″", glue, "g", "area of the core times the spread given"),
            Step("pressure on the core", "T cos²α / (w·R)", pressure, "kPa", "thin band on a cylinder, statics"),
            Step("pressure that folds the core", "E t³/(4(1 − ν²)R³)", folding, "kPa", _SHELL),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def draw_development(design: TubeDesign, result: Result) -> str:
    """The surface of the core laid flat, to scale, with the edges of the strip."""
    around = pi * design.core_diameter * 1e3
    lead = result["lead"] * 1e3
    shown = min(design.tube_length * 1e3, max(4.2 * lead, 1.6 * around))
    axial_width = design.strip_width * 1e3 / cos(result["winding_angle"])
    drawing = Drawing(
        f"core laid flat: way round {around:.1f} mm, first {shown:.0f} mm of {design.tube_length * 1e3:.0f} mm"
    )
    first = -int(around / lead) - 2
    for turn in range(first, int(shown / lead) + 2):
        edge = _clipped(turn * lead, lead, axial_width, around, shown)
        if edge:
            drawing.path(edge, "detail", closed=True, hatch="diagonal" if turn == 0 else "", hint=f"turn {turn + 1}")
    drawing.rectangle(0, 0, shown, around, "outline")
    drawing.dimension((0, around), (0, 0), f"{around:.1f} mm around", offset=-6)
    drawing.dimension((lead, around), (2 * lead, around), f"lead {lead:.2f} mm", offset=5)
    drawing.text((shown, -5 * shown / 138), f"winding angle {result['winding_angle'] * 180 / pi:.2f}°", anchor="end")
    return drawing.svg()


def _clipped(start: float, lead: float, width: float, around: float, shown: float) -> list[tuple[float, float]]:
    """The parallelogram of one turn, cut to the part of the tube that is drawn."""
    corners = [(start, around), (start + width, around), (start + width + lead, 0.0), (start + lead, 0.0)]
    for limit, keep in ((0.0, 1), (shown, -1)):
        kept: list[tuple[float, float]] = []
        for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
            inside_1, inside_2 = (x1 - limit) * keep >= 0, (x2 - limit) * keep >= 0
            if inside_1:
                kept.append((x1, y1))
            if inside_1 != inside_2:
                share = (limit - x1) / (x2 - x1)
                kept.append((limit, y1 + share * (y2 - y1)))
        corners = kept
        if not corners:
            return []
    return corners


STOCK_TUBE = Calculation(
    name="stock-tube",
    title="Stock tube",
    line="roller",
    about="The winder's setting for a strip on a core: lead, angle and seam, with the strip, glue and time of a tube.",
    inputs=TubeDesign,
    run=_work_out,
    draw=draw_development,
)
