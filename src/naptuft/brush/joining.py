"""Joining ferrule and handle: how the handle fits, what the nails hold, what pulls or twists the ferrule off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, hypot, pi, sqrt
from typing import Literal

from naptuft.brush.cautions import NAILING_CAUTION
from naptuft.brush.fill import SHAPES, Cavity, Shape
from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole, yes
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE

Stock = Literal["wood", "plastic"]
STOCKS: tuple[Stock, ...] = ("wood", "plastic")
WOOD_SHARE, PLASTIC_SHARE = 0.2, 0.5
_HANDBOOK = "Forest Products Laboratory, Wood Handbook, FPL-GTR-190, ch. 8, nails in side grain (from memory)"
_MOVEMENT = "Forest Products Laboratory, Wood Handbook, FPL-GTR-190, table 13-5"
_PLACING = "NDS Commentary, table C11.1.5.6, nails through steel side plates (from memory)"
_LAME = "Lamé, thick cylinder without end on a rigid core (Roark, from memory)"
_GRAIN_FULL = 10.0


def nail_withdrawal(specific_gravity: float, diameter: float, penetration: float) -> float:
    """Greatest pull along a bright smooth nail in side grain, 54.12·G^2.5·D·L in N and mm. [N]

    specific_gravity: of the wood, oven-dry weight over volume at 12 % moisture; diameter, penetration [m].
    An average of tests just after driving; a fifth of it may be relied on.
    Source: Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010), ch. 8 (from memory); in pounds and
    inches 7,850·G^2.5·D·L. Research Note FPL-093 (1965) has 6,900 with G by oven-dry volume, which is greater.

    >>> round(nail_withdrawal(0.64, 1.4e-3, 10e-3))
    248
    """
    return 54.12e6 * specific_gravity**2.5 * diameter * penetration


def nail_lateral(specific_gravity: float, diameter: float, penetration: float) -> float:
    """Pull across a nail in side grain at a slip of 0.38 mm, K·D^1.5 in N and mm. [N]

    K 50.04, 69.50, 94.52 for hardwood of specific gravity up to 0.47, to 0.56, above; penetration below ten
    diameters counts in proportion. diameter, penetration [m].
    Source: Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010), ch. 8, before 1991 (from memory).

    >>> round(nail_lateral(0.64, 1.4e-3, 14e-3), 1), round(nail_lateral(0.64, 1.4e-3, 7e-3), 1)
    (156.6, 78.3)
    """
    factor = next(k for most, k in ((0.47, 50.04), (0.56, 69.50), (2.0, 94.52)) if specific_gravity <= most)
    deep = min(1.0, penetration / (_GRAIN_FULL * diameter))
    return factor * (diameter * 1e3) ** 1.5 * deep


def interference_pressure(modulus: float, poisson: float, interference: float, diameter: float) -> float:
    """Pressure on a rigid nail in a wide plastic body, E·δ/(D(1 + ν)). [Pa]

    modulus [Pa] and Poisson's ratio of the plastic; interference: nail over hole diameter [m]; diameter: of the
    nail [m]. Source: Lamé's thick cylinder, outer radius without end, rigid core (Roark, from memory).

    >>> round(interference_pressure(1.5e9, 0.4, 0.05e-3, 1.4e-3) / 1e6, 1)
    38.3
    """
    return modulus * interference / (diameter * (1 + poisson))


def interference_hold(friction: float, pressure: float, diameter: float, penetration: float) -> float:
    """Pull along a nail held by pressure and friction, μ·p·πDL. [N]

    pressure [Pa]; diameter, penetration [m]. Source: friction on the shank's surface.

    >>> round(interference_hold(0.25, 20e6, 1.4e-3, 9e-3))
    198
    """
    return friction * pressure * pi * diameter * penetration


def thin_strength(hole_strength: float, shank_strength: float, diameter: float, gauge: float) -> float:
    """What ferrule and nail themselves bear across a nail, the less of σ·d·t and τ·πd²/4. [N]

    hole_strength: bearing of the ferrule's metal, shank_strength: shear of the nail [Pa]; diameter, gauge [m].
    Source: bearing and shear of a pin, statics.

    >>> round(thin_strength(400e6, 350e6, 1.4e-3, 0.3e-3))
    168
    """
    return min(hole_strength * diameter * gauge, shank_strength * pi / 4 * diameter**2)


def nail_places(width: float, nails: int, edge: float) -> tuple[float, ...]:
    """Where the nails of one broad side stand, from the middle of the brush, even apart. [m]

    width: of the handle in the ferrule [m]; nails: on this side; edge: of the outer nails from its edges [m].

    >>> [round(place, 6) for place in nail_places(0.100, 3, 0.020)]
    [-0.03, 0.0, 0.03]
    """
    if nails == 1:
        return (0.0,)
    reach = width / 2 - edge
    return tuple(-reach + 2 * reach * number / (nails - 1) for number in range(nails))


def group_moment(single: float, places: Sequence[tuple[float, float]]) -> float:
    """Moment a group of nails bears in its plane when the one farthest out bears its most, P·Σr²/r_max. [N*m]

    single: what one nail bears [N]; places: (x, y) of each from any origin [m].
    Source: elastic method for eccentric fastener groups, turning about the centroid, statics.

    >>> round(group_moment(100.0, [(-0.03, 0.0), (0.03, 0.0)]), 9)
    6.0
    """
    x = sum(place[0] for place in places) / len(places)
    y = sum(place[1] for place in places) / len(places)
    arms = [hypot(place[0] - x, place[1] - y) for place in places]
    farthest = max(arms)
    return single * sum(arm**2 for arm in arms) / farthest if farthest > 0 else 0.0


def swelling(size: float, coefficient: float, points: float) -> float:
    """Growth of wood across the grain as it takes up water, D·C·ΔM. [m]

    size [m]; coefficient: change of size for a percentage point of moisture; points: percentage points gained
    (below 0: lost). Valid between 6 and 14 % moisture.
    Source: Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010), sec. 13, table 13-5.

    >>> round(swelling(0.100, 0.00431, 4) * 1e3, 2)
    1.72
    """
    return size * coefficient * points


def rocking(clearance: float, engaged: float) -> float:
    """How far a handle loose in its ferrule can tilt, clearance over length engaged. [rad]

    clearance: cavity less tenon, engaged: length of the tenon in the ferrule [m]. Source: geometry.

    >>> rocking(0.0002, 0.020)
    0.01
    """
    return clearance / engaged


@dataclass(frozen=True)
class JoinDesign:
    """A handle's tenon in its ferrule, and the nails through both."""

    shape: Shape = choice(SHAPES, "cross-section of the ferrule", default="flat", example="flat")
    width: float = quantity("mm", "greatest inside width of the ferrule", low=4, high=250, example="100 mm")
    thickness: float | None = quantity(
        "mm", "least inside thickness; leave out for a round ferrule", low=2, high=150, default=None, example="16 mm"
    )
    engaged: float = quantity("mm", "length of the tenon inside the ferrule", low=5, high=110, default=30)
    gauge: float = quantity("mm", "thickness of the ferrule", low=0.1, high=1.5, default=0.3)
    clearance: float = quantity("mm", "cavity over tenon, when made", low=-1, high=3, default=0.15, example="0.15 mm")
    clearance_scatter: float = quantity("mm", "clearance may be off by, either way", low=0, high=2, default=0.1)
    most_clearance: float = quantity("mm", "beyond which the handle rocks", low=0.01, high=3, default=0.4)
    stock: Stock = choice(STOCKS, "what the handle is made of", example="wood")
    specific_gravity: float = quantity("", "of the wood, oven dry", low=0.2, high=1.1, default=0.64, example="0.64")
    swell: float = quantity(
        "", "growth of the wood across the grain for 1 % of moisture", low=0, high=0.006, default=0.0019
    )
    moisture_gain: float = quantity("", "points of moisture gained after joining", low=-8, high=8, default=2)
    modulus: float = quantity("GPa", "of a plastic handle", low=0.1, high=6, default=1.3)
    poisson: float = quantity("", "Poisson's ratio of the plastic", low=0.2, high=0.49, default=0.4)
    yield_stress: float = quantity("MPa", "of the plastic", low=5, high=120, default=30)
    friction: float = quantity("", "nail on plastic", low=0.05, high=0.8, default=0.25)
    interference: float = quantity("mm", "nail over hole, in plastic", low=0, high=0.5, default=0.015)
    nails: int = whole("nails through the ferrule, half on each broad side", low=2, high=12, default=4, example="4")
    nail_diameter: float = quantity("mm", "of a nail", low=0.5, high=4, default=1.4, example="1.4 mm")
    penetration: float = quantity("mm", "nail in the handle", low=2, high=40, default=7, example="7 mm")
    end_distance: float = quantity("mm", "nail to the end of the tenon", low=1, high=100, default=18)
    edge_distance: float = quantity("mm", "outer nails to the edge of the tenon", low=1, high=100, default=20)
    prebored: bool = yes("whether holes are bored for the nails", default=False)
    hole_strength: float = quantity("MPa", "what the ferrule bears at a hole", low=50, high=900, default=400)
    shank_strength: float = quantity("MPa", "shear strength of a nail", low=100, high=900, default=350)
    pull_asked: float = quantity("N", "pull the ferrule must bear", low=1, high=5000, default=200, example="200 N")
    moment_asked: float = quantity(
        "N*m", "moment in the plane of the brush it must bear", low=0.01, high=200, default=3, example="3 N*m"
    )
    twist_asked: float = quantity(
        "N*m", "twist about the handle it must bear", low=0.01, high=200, default=2, example="2 N*m"
    )

    def __post_init__(self) -> None:
        faults = []
        if self.thickness is None and self.shape != "round":
            faults.append(Fault("thickness", "", f"a length, for a {self.shape} ferrule", "give the inside thickness"))
        if self.stock == "plastic" and self.interference >= self.nail_diameter:
            faults.append(
                Fault("interference", self.interference, f"below the nail's {self.nail_diameter:g} m", "bore wider")
            )
        if self.end_distance >= self.engaged:
            faults.append(
                Fault("end distance", self.end_distance, f"below the tenon's {self.engaged:g} m", "move the nails")
            )
        if self.nails > 3 and 2 * self.edge_distance >= self.width:
            faults.append(
                Fault("edge distance", self.edge_distance, f"below half of {self.width:g} m", "move the nails outward")
            )
        thickness = self.width if self.thickness is None else self.thickness
        if self.penetration >= thickness:
            faults.append(
                Fault("penetration", self.penetration, f"below the handle's {thickness:g} m", "take a shorter nail")
            )
        if faults:
            raise DesignError(*faults)
        _ = self.cavity

    @property
    def cavity(self) -> Cavity:
        """The inside of the ferrule."""
        return Cavity(self.shape, self.width, self.width if self.thickness is None else self.thickness)

    @property
    def places(self) -> tuple[tuple[float, float], ...]:
        """Where the nails stand in the plane of the brush, both broad sides. [m]"""
        front = (self.nails + 1) // 2
        sides = (nail_places(self.width, count, self.edge_distance) for count in (front, self.nails - front))
        return tuple((x, 0.0) for side in sides for x in side)


@dataclass(frozen=True)
class NailHold:
    """What one nail bears.

    withdrawal   pull that draws it [N]; allowed: of it to be relied on [N]
    across       pull across it, the least of handle, ferrule and nail [N]
    pressure     beside a nail in plastic [Pa]; nil in wood
    """

    withdrawal: float
    allowed: float
    across: float
    pressure: float


def nail_hold(design: JoinDesign) -> NailHold:
    """What one nail of a joint bears along and across."""
    d, length = design.nail_diameter, design.penetration
    thin = thin_strength(design.hole_strength, design.shank_strength, d, design.gauge)
    if design.stock == "wood":
        drawn = nail_withdrawal(design.specific_gravity, d, length)
        return NailHold(drawn, drawn * WOOD_SHARE, min(thin, nail_lateral(design.specific_gravity, d, length)), 0.0)
    pressure = interference_pressure(design.modulus, design.poisson, design.interference, d)
    drawn = interference_hold(design.friction, pressure, d, length)
    return NailHold(drawn, drawn * PLASTIC_SHARE, min(thin, design.yield_stress * d * length / 2), pressure)


def _work_out(design: JoinDesign) -> Result:
    hold, wood = nail_hold(design), design.stock == "wood"
    cavity = design.cavity
    grown = swelling(cavity.thickness, design.swell, design.moisture_gain) if wood else 0.0
    loosest = design.clearance + design.clearance_scatter - min(0.0, grown)
    tightest = design.clearance - design.clearance_scatter
    pull = design.nails * hold.across
    moment = group_moment(hold.across, design.places)
    twist = design.nails * hold.across * cavity.thickness / 2
    needed = max(
        2,
        ceil(design.pull_asked / hold.across),
        ceil(design.twist_asked / (hold.across * cavity.thickness / 2)),
    )
    on_side = sorted({x for x, _ in design.places})
    spacing = min((b - a for a, b in pairwise(on_side)), default=design.width)
    return Result(
        values=(
            Value("clearance_loosest", "clearance, loosest", loosest, "mm"),
            Value("clearance_tightest", "clearance, tightest when joined", tightest, "mm"),
            Value("clearance_swollen", "clearance, tightest, after growth with moisture", tightest - grown, "mm"),
            Value("swelling", "growth of the handle's thickness with moisture", grown, "mm"),
            Value("rocking", "tilt of the loosest handle before nailing", rocking(loosest, design.engaged), "deg"),
            Value("withdrawal", "pull that draws one nail", hold.withdrawal, "N"),
            Value("withdrawal_allowed", "of it to be relied on", hold.allowed, "N"),
            Value("across", "what one nail bears across", hold.across, "N"),
            Value("pull_off", "pull that takes the ferrule off", pull, "N"),
            Value("moment_off", "moment in the plane of the brush that loosens it", moment, "N*m"),
            Value("twist_off", "twist about the handle the nails alone bear", twist, "N*m"),
            Value("nails_needed", "nails needed for pull and twist", needed, "pcs"),
            Value("nail_spacing", "nails apart", spacing, "mm"),
            *((Value("bore", "hole to bore for a nail", bore(design), "mm"),) if design.prebored and wood else ()),
        ),
        checks=_checks(design, hold, loosest, tightest, spacing, (pull, moment, twist)),
        steps=(
            Step("clearance, loosest", "made + scatter + shrinkage", loosest, "mm", "sum"),
            Step("growth with moisture", "D·C·ΔM", grown, "mm", _MOVEMENT),
            Step(
                "one nail drawn",
                "54.12·G^2.5·D·L (N, mm)" if wood else "μ·p·πDL, p = E·δ/(D(1 + ν))",
                hold.withdrawal,
                "N",
                _HANDBOOK if wood else _LAME,
            ),
            Step(
                "one nail across",
                "least of K·D^1.5, σ·d·t and τ·πd²/4" if wood else "least of σ_y·d·L/2, σ·d·t and τ·πd²/4",
                hold.across,
                "N",
                _HANDBOOK if wood else "bearing and shear of a pin, statics",
            ),
            Step("pull off", "nails · one nail across", pull, "N", "statics"),
            Step("moment", "P·Σr²/r_max", moment, "N*m", "elastic fastener group, statics"),
            Step("twist", "nails · one nail across · thickness/2", twist, "N*m", "statics"),
        ),
        cautions=(NAILING_CAUTION,),
        remarks=_remarks(design),
    )


def bore(design: JoinDesign) -> float:
    """Hole to bore for a nail in wood: 0.9 of it above a specific gravity of 0.6, else 0.75. [m]

    Source: Merritt & Ricketts, Building Design and Construction Handbook, nails and spikes, after NDS.
    """
    return design.nail_diameter * (0.9 if design.specific_gravity > 0.6 else 0.75)


def _checks(
    design: JoinDesign,
    hold: NailHold,
    loosest: float,
    tightest: float,
    spacing: float,
    borne: tuple[float, float, float],
) -> tuple[Check, ...]:
    wood, d = design.stock == "wood", design.nail_diameter
    end, apart, edge = (5.0, 2.5, 2.5) if design.prebored or not wood else (10.0, 5.0, 2.5)
    placing = _PLACING if wood else f"{COMMON_PRACTICE}: as for prebored wood"
    pull, moment, twist = borne
    checks = [
        Check("pull on the ferrule", pull, design.pull_asked, "at least", "N", "what was asked", "more nails"),
        Check(
            "moment in the plane of the brush",
            moment,
            design.moment_asked,
            "at least",
            "N*m",
            "what was asked",
            "nails further out, or more of them",
        ),
        Check(
            "twist about the handle",
            twist,
            design.twist_asked,
            "at least",
            "N*m",
            "what was asked; the form of a flat or oval tenon bears more",
            "more or thicker nails",
        ),
        Check(
            "handle not too loose",
            loosest,
            design.most_clearance,
            "at most",
            "mm",
            f"{COMMON_PRACTICE}: a looser handle rocks",
            "a fuller tenon, or a closer tolerance",
        ),
        Check(
            "handle goes in",
            tightest,
            -0.02 * design.cavity.thickness,
            "at least",
            "mm",
            f"{COMMON_PRACTICE}: a tenon 2 % over its ferrule can just be pressed in",
            "a slimmer tenon, or a closer tolerance",
        ),
        Check(
            "end distance, against splitting",
            design.end_distance,
            end * d,
            "at least",
            "mm",
            placing,
            "move the nails away from the end, or bore for them",
        ),
        Check(
            "edge distance, against splitting",
            design.edge_distance,
            edge * d,
            "at least",
            "mm",
            placing,
            "move the outer nails inward",
        ),
        Check(
            "nails apart, against splitting",
            spacing,
            apart * d,
            "at least",
            "mm",
            placing,
            "fewer nails, or bore for them",
        ),
    ]
    if not wood:
        checks.append(
            Check(
                "pressure beside a nail",
                hold.pressure,
                design.yield_stress / sqrt(3),
                "at most",
                "MPa",
                "yield at the hole by shear, p = σ/√3 (Lamé and von Mises)",
                "a wider hole, a finer nail or a softer plastic",
            )
        )
    return tuple(checks)


def _remarks(design: JoinDesign) -> tuple[str, ...]:
    if design.stock == "plastic":
        return ("Plastic relaxes: half the first holding force is relied on (common practice).",)
    remarks = ["Withdrawal from wood is an average just after driving; a fifth of it may be relied on."]
    if design.penetration < _GRAIN_FULL * design.nail_diameter:
        remarks.append("The nails go in less than ten diameters: what they bear across is taken in proportion.")
    if not design.prebored and design.specific_gravity > 0.6:
        remarks.append("Wood this dense splits easily: bore for the nails or try them first.")
    if not 0 <= design.moisture_gain <= 6:
        remarks.append("Wood that dries in its ferrule comes loose: join it as dry as it will be used.")
    return tuple(remarks)


JOINING = Calculation(
    name="brush-joining",
    title="Joining ferrule and handle",
    line="brush",
    about="How a handle fits its ferrule, what nails hold in wood or plastic, and what pulls or twists the ferrule off.",
    inputs=JoinDesign,
    run=_work_out,
)
