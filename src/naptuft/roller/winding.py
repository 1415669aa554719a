"""Winding pile strip on a core: the helix, what it takes of strip and glue, and how long it lasts."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, hypot, isfinite, pi, sin, tan

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES, FABRIC_NAMES, core_material, pile_fabric
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.roller.development import draw_development
from naptuft.roller.wound_pressure import (
    ROARK_TUBE,
    SHELL,
    THIN_FROM,
    THIN_RING,
    buckling_pressure,
    hoop_stress,
    long_from,
    mid_radius,
    narrowing,
    oval_pressure,
    shrinkage,
    strip_strain,
    winding_pressure,
)

HELIX = "unrolled helix, geometry"
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
    """Most the pile can part over the seam at a height above the core, when each strip's pile clings together. [m]

    p(cos α_r − cos α), with tan α_r = p/(2πr): the lead is the same at each radius, the angle is not. Pile that
    splays evenly closes this, and only stands thinner (`pile_thinning`). height [m].

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
    return sum(gap_strays(core_diameter, lead, width_tolerance, lead_tolerance, diameter_tolerance))


def gap_strays(
    core_diameter: float, lead: float, width_tolerance: float, lead_tolerance: float, diameter_tolerance: float
) -> tuple[float, float, float]:
    """What each error alone does to the seam gap: strip width δw, lead cos³α·δp, core π sin³α·δD. [m]

    >>> [round(stray * 1e3, 3) for stray in gap_strays(0.044, 0.085, 0.5e-3, 0.3e-3, 0.1e-3)]
    [0.5, 0.185, 0.045]
    """
    angle = atan2(lead, pi * core_diameter)
    return width_tolerance, cos(angle) ** 3 * lead_tolerance, pi * sin(angle) ** 3 * diameter_tolerance


def covering_run(core_diameter: float, strip_width: float, seam_gap: float = 0.0) -> float:
    """Strip beyond L/sin α that a strip cut square needs to cover a tube up to both its ends, w/tan α. [m]

    A square end leaves a wedge of bare core at each end of the tube; half of this runs past each.
    Source: unrolled helix.

    >>> round(covering_run(0.044, 0.073) * 1e3, 1)
    117.4
    """
    return strip_width / tan(winding_angle(core_diameter, strip_width, seam_gap))


def pile_thinning(core_diameter: float, height: float) -> float:
    """Fibres by area at a height above the core, as a share of those at the core, D/(D + 2h).

    The pile stands out from a round core, so its tips have more room than its roots.

    >>> round(pile_thinning(0.044, 0.012), 3)
    0.647
    """
    return core_diameter / (core_diameter + 2 * height)


def spindle_speed_for(output: float, turns: float, handling_time: float) -> float:
    """Turns of the spindle by time that give an output, n/(1/q − t). [1/s]

    output         tubes by time, below one in each handling time [1/s]
    turns          turns wound on a tube
    handling_time  between two tubes, the spindle at rest [s]
    Raises DesignError when handling alone takes longer than a tube may.

    >>> round(spindle_speed_for(45 / 3600, 21.0, 40.0) * 60, 1)
    31.5
    """
    left = 1 / output - handling_time
    if left <= 0:
        raise DesignError(
            Fault(
                "output",
                f"{output * 3600:g} tubes an hour",
                f"below {3600 / handling_time:.1f} tubes an hour, when all the time goes into handling",
                "shorten the handling or wind on a second spindle",
            )
        )
    return turns / left


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
    tension: float = quantity("N", "pull in the strip", low=0, high=2000, default=3, example="3 N")
    diameter_tolerance: float = quantity(
        "mm", "most the core's outside diameter strays", low=0, high=5, default=0.1, example="0.1 mm"
    )
    out_of_round: float = quantity(
        "mm", "greatest outside diameter of the core less its least", low=0, high=10, default=0.3, example="0.3 mm"
    )
    taped_lead: float = quantity("mm", "strip under the tape at the start", low=0, high=500, default=15)
    taped_tail: float = quantity("mm", "strip under the tape at the end", low=0, high=500, default=15)
    output: float | None = quantity(
        "1/h",
        "tubes wanted in an hour; the winder then runs at the speed this needs, the spindle speed being its fastest",
        low=0.1,
        high=2000,
        default=None,
    )

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
        if self.out_of_round >= self.core_diameter / 4:
            faults.append(
                Fault(
                    "out of round",
                    f"{self.out_of_round * 1e3:g} mm",
                    f"below {self.core_diameter * 250:g} mm, a quarter of the core diameter",
                    "give the difference of two diameters, not a diameter",
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
    strays = gap_strays(
        design.core_diameter, lead, design.width_tolerance, design.lead_tolerance, design.diameter_tolerance
    )
    spread = sum(strays)
    wound = strip_length(design.tube_length, angle)
    length = wound + design.tails
    covering = covering_run(design.core_diameter, design.strip_width, gap)
    turns = design.tube_length / lead
    speed = spindle_speed_for(design.output, turns, design.handling_time) if design.output else design.spindle_speed
    winding_time = turns / speed
    tube_time = winding_time + design.handling_time
    glue = around * design.tube_length * design.glue_spread
    height = float(fabric.backing_thickness) + design.pile_height
    opening = seam_opening(design.core_diameter, lead, height)
    strain = strip_strain(design.tension, design.strip_width, float(fabric.stiffness))
    narrowed = narrowing(design.strip_width, strain, float(fabric.narrowing))
    strip_speed = speed * around / cos(angle)
    bore = design.core_diameter - 2 * design.core_wall
    core_mass = pi / 4 * (design.core_diameter**2 - bore**2) * design.tube_length * float(core.density)
    pressure = winding_pressure(design.tension, design.strip_width, design.core_diameter, angle)
    folding = buckling_pressure(float(core.modulus), float(core.poisson), design.core_wall, design.core_diameter)
    oval = oval_pressure(folding, float(core.strength), design.core_wall, design.core_diameter, design.out_of_round)
    shrunk = shrinkage(pressure, float(core.modulus), design.core_wall, design.core_diameter)
    checks = [
        Check(
            "widest seam gap",
            gap + spread + narrowed,
            design.widest_gap,
            "at most",
            "mm",
            f"{HELIX}; worst case of width, lead and core, strip narrowed by its tension; limit given",
            "set a shorter lead, slit the strip closer or pull it less",
        ),
        Check(
            "widest overlap",
            spread - gap,
            design.widest_overlap,
            "at most",
            "mm",
            f"{HELIX}; worst case of width, lead and core; limit given",
            "set a longer lead or slit the strip closer",
        ),
        Check(
            "pressure on the core against folding",
            pressure,
            oval / 2,
            "at most",
            "kPa",
            f"{SHELL}, the core as far out of round as given; half of it ({COMMON_PRACTICE})",
            "lower the tension, or use a thicker or rounder core",
        ),
        Check(
            "strip past the ends of the tube",
            design.tails,
            covering + design.taped_lead + design.taped_tail,
            "at least",
            "mm",
            f"{HELIX}; both ends of the strip cut square and taped",
            "leave longer tails or tape less of them",
        ),
    ]
    if design.output:
        checks.append(
            Check(
                "spindle speed for the output",
                speed,
                design.spindle_speed,
                "at most",
                "1/min",
                "turns on a tube over the time left for winding; limit given",
                "shorten the handling, run the spindle faster or ask for less an hour",
            )
        )
    return Result(
        values=(
            Value("lead", "lead, advance per turn", lead, "mm"),
            Value("winding_angle", "winding angle", angle, "deg"),
            Value("turns", "turns on a tube", turns),
            Value("seam_gap", "seam gap (below 0: overlap)", gap, "mm"),
            Value("gap_spread", "most the seam gap strays either way", spread, "mm"),
            Value("gap_spread_usual", "what the seam gap strays when errors are independent", hypot(*strays), "mm"),
            Value("seam_opening", "most the pile parts over the seam at its tips", opening, "mm"),
            Value("pile_thinning", "fibres by area at the tips over those at the core", _thinned(design, height), "%"),
            Value("strip_length", "strip for one tube", length, "m"),
            Value("strip_area", "strip area for one tube", length * design.strip_width, "m**2"),
            Value("covering_run", "strip past the ends that covers them, cut square", covering, "mm"),
            Value("glue_mass", "glue for one tube", glue, "g"),
            Value("core_length", "core for one tube", design.tube_length, "m"),
            Value("core_mass", "mass of the core", core_mass, "g"),
            Value("winding_time", "time for one tube", tube_time, "s"),
            Value("tubes_per_hour", "tubes in an hour", 1 / tube_time, "1/h"),
            Value("spindle_speed", "spindle speed", speed, "1/min"),
            Value("carriage_speed", "carriage feed", speed * lead, "mm/s"),
            Value("strip_speed", "strip feed", strip_speed, "m/min"),
            Value("glue_rate", "glue feed while winding", glue / winding_time, "g/min"),
            Value("strip_per_hour", "strip used in an hour", length / tube_time, "m/h"),
            Value("glue_per_hour", "glue used in an hour", glue / tube_time, "kg/h"),
            Value("strip_strain", "stretch of the strip under tension", strain, "%"),
            Value("narrowing", "narrowing of the strip under tension", narrowed, "mm"),
            Value("winding_pressure", "pressure on the core", pressure, "kPa"),
            Value(
                "hoop_stress",
                "compression around the wall of the core",
                hoop_stress(pressure, design.core_wall, design.core_diameter),
                "MPa",
            ),
            Value("core_shrinkage", "core smaller in diameter by", shrunk, "um"),
        ),
        checks=tuple(checks),
        steps=(
            Step("winding angle", "α = arctan(p / πD)", angle, "deg", HELIX),
            Step("lead", "p = (w + g)/√(1 − ((w + g)/πD)²)", lead, "mm", HELIX),
            Step("seam gap", "g = πD·p/√(p² + (πD)²) − w", gap, "mm", HELIX),
            Step("stray of the gap", "δw + cos³α·δp + π sin³α·δD", spread, "mm", f"{HELIX}, first order"),
            Step("parting of the pile", "p(cos α_r − cos α), tan α_r = p/(2πr)", opening, "mm", HELIX),
            Step("strip wound", "L / sin α", wound, "m", HELIX),
            Step("strip past the ends", "w / tan α", covering, "mm", f"{HELIX}, ends cut square"),
            Step("turns", "L / p", turns, "", HELIX),
            Step("spindle speed", "n/(1/q − t) for an output q, or as given", speed, "1/min", "time balance of a tube"),
            Step("glue", "πD·L·m″", glue, "g", "area of the core times the spread given"),
            Step("stretch of the strip", "T / (w·k)", strain, "%", fabric.stiffness.source),
            Step("narrowing of the strip", "w·ε·ν", narrowed, "mm", fabric.narrowing.source),
            Step("pressure on the core", "T cos²α / (w·R)", pressure, "kPa", "thin band on a cylinder, statics"),
            Step("core smaller by", "2 p R² / (E t)", shrunk, "um", THIN_RING),
            Step("pressure that folds a round core", "E t³/(4(1 − ν²)R³)", folding, "kPa", f"{SHELL}; {ROARK_TUBE}"),
            Step(
                "pressure that spoils a core out of round",
                "p² − [σ/m + (1 + 6mn)p_cr]p + σ p_cr/m = 0, m = R/t, n = w₀/R",
                oval,
                "kPa",
                SHELL,
            ),
        ),
        cautions=CAUTIONS,
        remarks=_remarks(design, lead),
    )


def _thinned(design: TubeDesign, height: float) -> float:
    return pile_thinning(design.core_diameter, height)


def _remarks(design: TubeDesign, lead: float) -> tuple[str, ...]:
    fabric = pile_fabric(design.fabric)
    low, high = fabric.pile_height.low, fabric.pile_height.high
    remarks = []
    if design.pile_height not in fabric.pile_height and low and high:
        remarks.append(
            f"{fabric.name} is usually made with {low * 1e3:g} to {high * 1e3:g} mm of pile ({COMMON_PRACTICE})."
        )
    if not 0.9 <= lead / design.strip_width <= 2.0:
        remarks.append("The strip stands steep on the core: a narrower one lies flatter at the seam.")
    ratio = mid_radius(design.core_wall, design.core_diameter) / design.core_wall
    if ratio < THIN_FROM:
        remarks.append(
            f"The core's radius is {ratio:.1f} times its wall; the folding formula is for {THIN_FROM:g} and more, "
            "and a thicker wall stands somewhat less than it says."
        )
    if design.tube_length < long_from(design.core_wall, design.core_diameter):
        remarks.append("The tube is short enough for held ends to stiffen it: it stands more than the formula says.")
    return tuple(remarks)


def draw_tube(design: TubeDesign, result: Result) -> str:
    """The surface of the core laid flat, to scale, with the edges of the strip, its gap and the taped start."""
    return draw_development(
        core_diameter=design.core_diameter,
        tube_length=design.tube_length,
        strip_width=design.strip_width,
        taped_lead=design.taped_lead,
        lead=result["lead"],
        angle=result["winding_angle"],
        gap=result["seam_gap"],
        spread=result["gap_spread"],
    )


STOCK_TUBE = Calculation(
    name="stock-tube",
    title="Stock tube",
    line="roller",
    about="The winder's setting for a strip on a core: lead, angle and seam, with the strip, glue and time of a tube.",
    inputs=TubeDesign,
    run=_work_out,
    draw=draw_tube,
)
