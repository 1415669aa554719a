"""The clip that holds the cage on its axle: a snap arm, its strain, the force to close it and to pull it open."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, degrees, inf, pi, tan

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity, whole
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE, Property

GUIDE = "Snap-Fit Joints for Plastics, a design guide: cantilever snap arm (example from memory)"
_LONG = "long cantilever, as the guide: at least five times as long as thick"
CAUTIONS = (
    Caution(
        "Clips and rods that spring off at assembly",
        "press with a fixture, wear eye protection, keep fingers out of the line of the rod",
        "29 CFR 1910.212 and 1910.133",
    ),
)


@dataclass(frozen=True)
class ClipResin:
    """What a clip is moulded of.

    modulus  secant modulus at the strain of closing [Pa]
    strain   short strain borne once
    friction on steel
    """

    name: str
    modulus: Property
    strain: Property
    friction: Property


def _resin(name: str, modulus: float, strain: float, friction: float) -> ClipResin:
    source = "snap-fit tables for moulded resins, from memory: test a moulding"
    return ClipResin(
        name,
        Property(modulus, "Pa", source),
        Property(strain, "", source),
        Property(friction, "", source),
    )


CLIP_RESINS: dict[str, ClipResin] = {
    resin.name: resin
    for resin in (
        _resin("PP", 1.0e9, 0.08, 0.27),
        _resin("HDPE", 0.7e9, 0.08, 0.22),
        _resin("POM", 2.1e9, 0.06, 0.25),
        _resin("PA66, moist", 1.2e9, 0.06, 0.35),
        _resin("ABS", 1.9e9, 0.025, 0.55),
        _resin("PC", 1.8e9, 0.04, 0.50),
        _resin("PS", 3.0e9, 0.015, 0.45),
    )
}
TAPERS = ("level", "half as thick at the tip")
_TAPER_FACTOR = {"level": 2 / 3, "half as thick at the tip": 1.09}


def clip_deflection(strain: float, length: float, thickness: float, taper: str = "level") -> float:
    """How far a snap arm may be bent aside, 0.67 εl²/h, or 1.09 εl²/h when it thins to half. [m]

    strain at the root; length, thickness at the root [m]; taper: one of TAPERS.
    Source: Snap-Fit Joints for Plastics, a design guide; 2/3 follows from the cantilever.

    >>> round(clip_deflection(0.02, 0.019, 3.28e-3, "half as thick at the tip") * 1e3, 2)
    2.4
    """
    return _TAPER_FACTOR[taper] * strain * length**2 / thickness


def clip_force(width: float, thickness: float, length: float, modulus: float, strain: float) -> float:
    """Side force that bends a snap arm to a strain at its root, bh²/6 · Eε/l. [N]

    width, thickness at the root, length [m]; modulus: secant [Pa].
    Source: Snap-Fit Joints for Plastics, a design guide.

    >>> round(clip_force(9.5e-3, 3.28e-3, 19e-3, 1.815e9, 0.02), 1)
    32.5
    """
    return width * thickness**2 / 6 * modulus * strain / length


def slope_factor(friction: float, angle: float) -> float:
    """Force along the axle over the side force on a slope, (μ + tan α)/(1 − μ tan α). [1]

    angle of the slope against the axle [rad]. Infinite where the slope locks: μ tan α at least 1.
    Source: Snap-Fit Joints for Plastics, a design guide; equilibrium on a rough slope.

    >>> from math import radians
    >>> round(slope_factor(0.6, radians(30)), 1), slope_factor(0.3, radians(90))
    (1.8, inf)
    """
    grade = tan(angle) if angle < pi / 2 - 1e-9 else inf
    below = 1 - friction * grade
    return (friction + grade) / below if below > 0 else inf


@dataclass(frozen=True)
class ClipDesign:
    """Snap arms that close over a groove of the axle."""

    resin: str = choice(tuple(CLIP_RESINS), "what the clip is moulded of", default="POM", example="POM")
    arms: int = whole("snap arms", low=1, high=12, default=2, example="2")
    length: float = quantity("mm", "length of an arm", low=2, high=80, example="9 mm")
    width: float = quantity("mm", "width of an arm", low=1, high=40, example="5 mm")
    thickness: float = quantity("mm", "thickness of an arm at its root", low=0.3, high=10, example="1.5 mm")
    taper: str = choice(TAPERS, "thickness along the arm", default="level", example="level")
    undercut: float = quantity("mm", "depth of the groove the hook falls in", low=0.05, high=10, example="0.8 mm")
    lead_angle: float = quantity(
        "deg", "slope of the hook going on, against the axle", low=5, high=80, default=30, example="30 deg"
    )
    return_angle: float = quantity(
        "deg", "slope of the hook coming off, against the axle", low=10, high=90, default=80, example="80 deg"
    )
    strain_share: float = quantity(
        "%", "share of the strain borne once that is used", low=10, high=100, default=60, example="60 %"
    )
    least_hold: float = quantity("N", "pull the clip must withstand", low=0, high=5000, default=60, example="60 N")
    most_push: float = quantity("N", "push allowed to close it", low=0.1, high=5000, default=120, example="120 N")
    tear_strength: float = quantity(
        "MPa", "shear strength of the resin at the hook", low=1, high=200, default=25, example="25 MPa"
    )

    def __post_init__(self) -> None:
        faults = []
        if self.thickness > self.length / 2:
            faults.append(
                Fault(
                    "thickness",
                    f"{self.thickness * 1e3:g} mm",
                    f"at most {self.length * 5e2:g} mm, half the length",
                    "lengthen the arm: so stout a one shears instead of bending",
                )
            )
        if slope_factor(float(CLIP_RESINS[self.resin].friction), self.lead_angle) == inf:
            jams = degrees(atan2(1, float(CLIP_RESINS[self.resin].friction)))
            faults.append(
                Fault(
                    "lead angle",
                    f"{degrees(self.lead_angle):g}°",
                    f"below {jams:.0f}°, where {self.resin} jams on steel",
                    "flatten the slope going on: 20° to 35° is usual",
                )
            )
        if faults:
            raise DesignError(*faults)


def _work_out(design: ClipDesign) -> Result:
    resin = CLIP_RESINS[design.resin]
    strain = design.undercut * design.thickness / (_TAPER_FACTOR[design.taper] * design.length**2)
    permitted = float(resin.strain) * design.strain_share
    depth = clip_deflection(permitted, design.length, design.thickness, design.taper)
    side = clip_force(design.width, design.thickness, design.length, float(resin.modulus), strain)
    push = design.arms * side * slope_factor(float(resin.friction), design.lead_angle)
    tear = design.arms * design.width * min(design.thickness, 2 * design.undercut) * design.tear_strength
    sliding = design.arms * side * slope_factor(float(resin.friction), design.return_angle)
    hold = min(sliding, tear)
    remarks = [
        f"Held until the hooks shear at {tear:.0f} N: the slope coming off locks by friction."
        if sliding > tear
        else "Pulls off over the slope of the hooks before they shear: the clip can be opened again."
    ]
    if design.length < 5 * design.thickness:
        remarks.append(f"The arm is short and stout; strain is reckoned as for a {_LONG}.")
    return Result(
        values=(
            Value("strain", "strain at the root while it closes", strain, "%"),
            Value("deepest", "deepest groove for the strain allowed", depth, "mm"),
            Value("side_force", "side force on one arm", side, "N"),
            Value("push", "push to close", push, "N"),
            Value("hold", "pull that opens it", hold, "N"),
            Value("tear", "pull that shears the hooks", tear, "N"),
        ),
        checks=(
            Check(
                "strain at the root",
                strain,
                permitted,
                "at most",
                "%",
                f"{GUIDE}; strain: {resin.strain.source}; share of it: {COMMON_PRACTICE}",
                "lengthen or thin the arm, or make the groove shallower",
            ),
            Check(
                "pull that opens it", hold, design.least_hold, "at least", "N", GUIDE, "steepen the slope coming off"
            ),
            Check("push to close", push, design.most_push, "at most", "N", GUIDE, "flatten the slope going on"),
        ),
        steps=(
            Step("strain at the root", "y·h / (k·l²), k = 0.67 level, 1.09 tapered", strain, "%", GUIDE),
            Step("side force", "b·h²/6 · E·ε/l", side, "N", GUIDE),
            Step("push to close", "n·P(μ + tan α)/(1 − μ tan α)", push, "N", GUIDE),
            Step("pull that opens it", "least of n·P(μ + tan β)/(1 − μ tan β) and shear", hold, "N", GUIDE),
            Step("shear of the hooks", "n·b·t·τ", tear, "N", "direct shear, statics"),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def draw_clip(design: ClipDesign, result: Result) -> str:
    """One arm of the clip from the side, at rest and bent, to scale."""
    length, thick, deep = design.length * 1e3, design.thickness * 1e3, design.undercut * 1e3
    tip = thick / 2 if design.taper != "level" else thick
    drawing = Drawing(f"snap arm {length:.4g} × {thick:.3g} mm, groove {deep:.3g} mm", width=150)
    lead = deep / tan(design.lead_angle)
    back = deep / tan(design.return_angle) if design.return_angle < pi / 2 - 1e-9 else 0.0
    flat = 0.4 * thick
    hook = [
        (0.0, 0.0),
        (length, thick - tip),
        (length + lead + flat + back, thick - tip),
        (length + back + flat + lead, thick),
        (length + back + flat, thick + deep),
        (length + back, thick + deep),
        (length, thick),
        (0.0, thick),
    ]
    drawing.path(hook, "outline", closed=True, hatch="diagonal", hint=f"arm of {design.resin}")
    drawing.rectangle(-0.35 * length, -thick, 0.35 * length, 3 * thick, "detail", hatch="diagonal", hint="end cap")
    line = [(length * k / 24, -deep * (3 * (k / 24) ** 2 - (k / 24) ** 3) / 2) for k in range(25)]
    rise = 1.5 * deep / length
    end = length + lead + flat + back
    beyond = [(x, y - deep - rise * (x - length)) for x, y in ((end, thick - tip), *hook[3:7])]
    drawing.path([*((x, y) for x, y in line), *beyond], "second", hint="arm while it closes")
    drawing.dimension((0, thick + 1.6 * deep), (length, thick + 1.6 * deep), f"{length:.4g} mm", offset=9)
    drawing.dimension((end, thick + deep), (end, thick), f"{deep:.3g} mm", offset=9)
    drawing.dimension((-0.35 * length, 0), (-0.35 * length, thick), f"{thick:.3g} mm", offset=6)
    drawing.text((0.5 * length, -1.8 * thick), f"strain at the root {result['strain'] * 100:.2g} %", size=2.8)
    return drawing.svg()


CLIP = Calculation(
    name="clip",
    title="Clip on the axle",
    line="roller",
    about="The snap arms that hold the cage: strain while closing, the push to close and the pull that opens them.",
    inputs=ClipDesign,
    run=_work_out,
    draw=draw_clip,
)
