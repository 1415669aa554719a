"""Brushing the pile of a refill up with a wire brush, and bevelling its ends; the lint of both."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, pi, sin, sqrt

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import PAPER, Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import FABRIC_NAMES, pile_fabric
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.roller.finishing import HOOD, duct_diameter, hood_flow, hood_remarks, transport_check
from naptuft.roller.refill import SHAPE, bevel_faults, bevel_fibre_share

STEEL = 205e9
_BEAM = "Timoshenko, Strength of Materials, part I: cantilever with end load (from memory)"
CAUTIONS = (
    Caution(
        "Wires thrown from a turning brush, hands and sleeves drawn in",
        "never above the speed marked on the brush; guard all but the place of contact; wear a face shield, no gloves "
        "or loose cuffs; lock out to change the brush",
        "29 CFR 1910.212, 1910.147 and ANSI B165.1",
    ),
    Caution(
        "Sharp cutter at the bevel",
        "feed by a carriage behind a guard, not by hand; lock out to change the knife",
        "29 CFR 1910.212 and 1910.147",
    ),
    Caution(
        "Lint, which burns fast and explodes when stirred up",
        "extract at brush and cutter, keep sparks and hot surfaces away, bond the duct to earth, clean up before it "
        "settles thick",
        "NFPA 652 on combustible dust and 29 CFR 1910.22",
    ),
)


def contact_length(brush_radius: float, refill_radius: float, depth: float) -> float:
    """Length over which brush and refill overlap, the common chord of two circles. [m]

    brush_radius, refill_radius [m]; depth of the wires in the pile [m].

    >>> round(contact_length(0.100, 0.035, 0.003) * 1e3, 2)
    24.63
    """
    apart = brush_radius + refill_radius - depth
    foot = (apart**2 + refill_radius**2 - brush_radius**2) / (2 * apart)
    return 2 * sqrt(max(0.0, refill_radius**2 - foot**2))


def strokes_per_turn(
    tips_per_area: float, capture_width: float, sliding_speed: float, contact: float, refill_speed: float
) -> float:
    """Wires that stroke one fibre while it passes under the brush once, N·w·v·a/u. [1]

    tips_per_area N: wire ends by face of the brush [1/m**2]; capture_width w: of a wire and a fibre [m]
    sliding_speed v: of wires past the pile; refill_speed u: of the pile [m/s]; contact a [m].
    Source: kinematics.

    >>> round(strokes_per_turn(3e5, 170e-6, 16.8, 0.025, 1.1), 1)
    19.5
    """
    return tips_per_area * capture_width * sliding_speed * contact / refill_speed


def wire_force(diameter: float, length: float, depth: float, modulus: float = STEEL) -> float:
    """Side force of a wire bent until its end has come in by `depth`, 3EIδ/L³ with δ = √(5eL/3). [N]

    A cantilever bent sideways by δ at its end is shorter by e = 3δ²/5L. Holds while e is small beside L.
    diameter, length of the wire [m]; depth e [m]; modulus [Pa].
    Source: Timoshenko, Strength of Materials, part I (from memory).

    >>> round(wire_force(0.15e-3, 0.030, 0.003) * 1e3, 2)
    6.93
    """
    aside = sqrt(5 * depth * length / 3)
    return 3 * modulus * pi * diameter**4 / 64 * aside / length**3


def bevel_angle(length: float, cut: float) -> float:
    """Angle of the bevel against the axis, arctan(c/b). [rad]

    length b along the axis, cut c off the tips at the very edge [m].

    >>> from math import degrees
    >>> round(degrees(bevel_angle(0.010, 0.010)), 1)
    45.0
    """
    return atan2(cut, length) if cut else 0.0


@dataclass(frozen=True)
class FluffDesign:
    """A refill, the wire brush that raises its pile, the bevel at its ends and the air that takes the lint."""

    length: float = quantity("mm", "finished length of the refill", low=20, high=1000, example="240 mm")
    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    fabric: str = choice(FABRIC_NAMES, "pile fabric", default="knitted polyester", example="knitted polyester")
    pile_height: float = quantity("mm", "height of the pile", low=1, high=40, example="12 mm")
    fibre_diameter: float = quantity("um", "diameter of a pile fibre", low=3, high=200, default=20, example="20 um")
    fibre_strength: float = quantity(
        "MPa", "tensile strength of a pile fibre", low=20, high=2000, default=150, example="300 MPa"
    )
    refill_speed: float = quantity("1/min", "turns of the refill", low=1, high=5000, default=300, example="300 1/min")
    turns: float = quantity("", "turns of the refill under the brush", low=1, high=1000, default=12, example="12")
    brush_diameter: float = quantity("mm", "diameter of the wire brush", low=30, high=600, default=200)
    brush_speed: float = quantity("1/min", "turns of the brush", low=1, high=20000, default=1400, example="1400 1/min")
    marked_speed: float = quantity("1/min", "highest speed marked on the brush", low=1, high=30000, default=3600)
    sense: str = choice(("against", "with"), "how brush and pile run where they meet", default="against")
    depth: float = quantity("mm", "depth of the wires in the pile", low=0.1, high=30, default=3, example="3 mm")
    wire_diameter: float = quantity("mm", "diameter of a wire", low=0.03, high=1, default=0.15, example="0.15 mm")
    wire_length: float = quantity("mm", "free length of a wire", low=5, high=150, default=30, example="30 mm")
    wire_tips: float = quantity("1/cm**2", "wire ends by face of the brush", low=0.5, high=500, default=30)
    strokes_wanted: float = quantity(
        "", "wire strokes each fibre should get, by your own trial", low=1, high=10000, default=100, example="100"
    )
    bevel: float = quantity("mm", "length of the bevel at each end", low=0, high=60, default=10, example="10 mm")
    bevel_cut: float = quantity("mm", "pile taken off at the very edge", low=0, high=40, default=6, example="6 mm")
    bevel_feed: float = quantity("mm", "advance of the cutter per turn", low=0.05, high=20, default=1, example="1 mm")
    brushed_out: float = quantity("%", "pile fibre that the brush pulls out", low=0, high=20, default=0.5)
    handling_time: float = quantity("s", "putting on and taking off", low=0, high=600, default=4, example="4 s")
    hood_distance: float = quantity("mm", "from the hood to brush and cutter", low=0, high=2000, default=100)
    hood_area: float = quantity("cm**2", "opening of the hood", low=1, high=20000, default=600)
    capture_speed: float = quantity("m/s", "air speed wanted at the pile", low=0.1, high=10, default=2.5)
    duct_speed: float = quantity("m/s", "air speed in the lint duct", low=1, high=40, default=14, example="14 m/s")
    least_explosible: float = quantity(
        "g/m**3", "lint in air that can explode, at least", low=5, high=2000, default=30, example="30 g/m**3"
    )

    def __post_init__(self) -> None:
        faults = []
        if self.depth >= self.pile_height:
            faults.append(
                Fault(
                    "depth",
                    f"{self.depth * 1e3:g} mm",
                    f"below {self.pile_height * 1e3:g} mm, the pile height",
                    "draw the brush back: wires in the ground cloth tear it",
                )
            )
        if self.depth > 0.2 * self.wire_length:
            faults.append(
                Fault(
                    "wire length",
                    f"{self.wire_length * 1e3:g} mm",
                    f"at least {self.depth * 5e3:g} mm, five times the depth",
                    "use a longer wire or a smaller depth",
                )
            )
        faults += bevel_faults(self.length, self.bevel, self.bevel_cut, self.pile_height)
        if faults:
            raise DesignError(*faults)

    @property
    def tip_radius(self) -> float:
        """Radius over the pile. [m]"""
        return self.core_diameter / 2 + float(pile_fabric(self.fabric).backing_thickness) + self.pile_height


def _work_out(design: FluffDesign) -> Result:
    fabric = pile_fabric(design.fabric)
    pile = pi * design.core_diameter * design.length * float(fabric.pile_mass) * design.pile_height
    share = bevel_fibre_share(design.pile_height, design.length, design.bevel, design.bevel_cut)
    cut_away, pulled = pile * share, pile * (1 - share) * design.brushed_out
    surface = 2 * pi * design.tip_radius * design.refill_speed
    tip = pi * design.brush_diameter * design.brush_speed
    sliding = tip + surface if design.sense == "against" else abs(tip - surface)
    contact = contact_length(design.brush_diameter / 2, design.tip_radius, design.depth)
    each = strokes_per_turn(design.wire_tips, design.wire_diameter + design.fibre_diameter, sliding, contact, surface)
    strokes = each * design.turns
    force = wire_force(design.wire_diameter, design.wire_length, design.depth)
    strength = design.fibre_strength * pi * design.fibre_diameter**2 / 4
    bevel_turns = design.bevel / design.bevel_feed
    cycle = (design.turns + bevel_turns) / design.refill_speed + design.handling_time
    lint = (cut_away + pulled) / cycle
    air = hood_flow(design.capture_speed, design.hood_distance, design.hood_area)
    thick = lint / air
    angle = bevel_angle(design.bevel, design.bevel_cut)
    slope = hypot(design.bevel, design.bevel_cut)
    remarks = [*hood_remarks(design.hood_distance, design.hood_area)]
    if design.bevel_cut and angle < pi / 12:
        remarks.append("A bevel flatter than 15° hardly keeps the edge from laying down a fat line (common practice).")
    return Result(
        values=(
            Value("tip_speed", "speed of the wire ends", tip, "m/s"),
            Value("sliding", "speed of wires past the pile", sliding, "m/s"),
            Value("contact", "length of contact", contact, "mm"),
            Value("strokes", "wire strokes on each fibre", strokes),
            Value("wire_force", "side force of a wire", force, "mN"),
            Value("bevel_angle", "angle of the bevel against the axis", angle, "deg"),
            Value("bevel_slope", "length of the bevelled face", slope, "mm"),
            Value("edge_pile", "pile left at the very edge", design.pile_height - design.bevel_cut, "mm"),
            Value("cut_away", "fibre cut away at both bevels", cut_away, "g"),
            Value("pulled", "fibre brushed out", pulled, "g"),
            Value("kept", "pile fibre kept", pile - cut_away - pulled, "g"),
            Value("cycle", "time for one refill", cycle, "s"),
            Value("per_hour", "refills an hour", 3600 / cycle),
            Value("lint", "lint an hour", lint, "g/h"),
            Value("air", "air drawn for lint", air, "m**3/h"),
            Value("duct", "inside diameter of the lint duct", duct_diameter(air, design.duct_speed), "mm"),
            Value("lint_in_air", "lint in the duct's air", thick, "g/m**3"),
        ),
        checks=(
            Check(
                "speed of the brush against its mark",
                design.brush_speed,
                design.marked_speed,
                "at most",
                "1/min",
                "ANSI B165.1 (from memory); mark given",
                "slow the brush or fit one marked for more",
            ),
            Check(
                "wire strokes on each fibre",
                strokes,
                design.strokes_wanted,
                "at least",
                "",
                f"kinematics; strokes wanted given ({COMMON_PRACTICE})",
                "give it more turns, a faster brush or a denser one",
            ),
            Check(
                "side force of a wire against the strength of a fibre",
                force,
                strength / 4,
                "at most",
                "mN",
                f"{_BEAM}; a quarter of the fibre's strength ({COMMON_PRACTICE})",
                "use finer or longer wires, or a smaller depth",
            ),
            Check(
                "lint in the duct's air",
                thick,
                design.least_explosible / 4,
                "at most",
                "g/m**3",
                "a quarter of the least explosible concentration, NFPA 652 and 69 (from memory)",
                "draw more air",
            ),
            transport_check(design.duct_speed),
        ),
        steps=(
            Step("length of contact", "common chord of brush and refill", contact, "mm", "geometry"),
            Step("strokes on each fibre", "N·w·v·a/u · turns", strokes, "", "kinematics"),
            Step("side force of a wire", "3EI√(5eL/3)/L³", force, "mN", _BEAM),
            Step("angle of the bevel", "arctan(c/b)", angle, "deg", "geometry"),
            Step("fibre cut away", "πDL·m″·bc/(hL)", cut_away, "g", SHAPE),
            Step("fibre brushed out", "(πDL·m″ − cut)·share", pulled, "g", f"share: {COMMON_PRACTICE}, weigh a refill"),
            Step("time for one refill", "(turns + b/f)/n + handling", cycle, "s", "arithmetic"),
            Step("air for lint", "V(10X² + A)", air, "m**3/h", HOOD),
            Step("lint in the air", "lint / air", thick, "g/m**3", "mass balance"),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def draw_fluff(design: FluffDesign, result: Result) -> str:
    """Brush against refill seen from the end, and the bevelled end in section, both to one scale."""
    tip, foot = design.tip_radius * 1e3, (design.tip_radius - design.pile_height) * 1e3
    outer, brush = design.core_diameter * 5e2, design.brush_diameter * 5e2
    inner = max(brush - design.wire_length * 1e3, 0.2 * brush)
    drawing = Drawing(f"wire brush ⌀ {2 * brush:g} mm in a refill ⌀ {2 * tip:.1f} mm", width=180)
    drawing.circle((0, 0), tip, "outline", hatch="dots", hint=f"pile, {design.fabric}")
    drawing.circle((0, 0), foot, "detail", fill=PAPER, hint="ground cloth")
    drawing.circle((0, 0), outer, "detail", hint="core")
    x = tip + brush - design.depth * 1e3
    drawing.circle((x, 0), brush, "second", hint="ends of the wires")
    drawing.circle((x, 0), inner, "detail", fill=PAPER, hint="hub of the brush")
    for k in range(72):
        turn = 2 * pi * k / 72
        drawing.line(
            (x + inner * cos(turn), inner * sin(turn)),
            (x + brush * cos(turn), brush * sin(turn)),
            "hatch",
            hint="wires",
        )
    drawing.text((0, 0), f"{design.refill_speed * 60:.0f} 1/min", size=2.8)
    drawing.text((x, 0), f"{design.brush_speed * 60:,.0f} 1/min, {design.sense} the pile", size=2.8)
    drawing.text((tip, tip + 0.25 * brush), f"{design.depth * 1e3:g} mm deep", size=2.8, anchor="end")
    shown = max(1.6 * design.bevel, 1.2 * design.pile_height) * 1e3
    left, base = x + brush + 0.7 * tip, 0.5 * tip
    pile, cut, bevel = design.pile_height * 1e3, design.bevel_cut * 1e3, design.bevel * 1e3
    grow = max(1, round(brush / max(shown, 2 * pile)))

    def at(along: float, up: float) -> tuple[float, float]:
        return left + along * grow, base - up * grow

    drawing.path(
        [at(0, 0), at(0, pile - cut), at(bevel, pile), at(shown, pile), at(shown, 0)],
        "outline",
        closed=True,
        hatch="dots",
        hint="pile at the end of the refill",
    )
    drawing.path([at(0, pile - cut), at(0, pile), at(bevel, pile)], "accent", hint="cut away")
    drawing.dimension(at(0, pile), at(bevel, pile), f"{bevel:g} mm", offset=-5)
    drawing.dimension(at(0, 0), at(0, pile - cut), f"{pile - cut:g} mm", offset=-5)
    drawing.dimension(at(shown, 0), at(shown, pile), f"{pile:g} mm", offset=6)
    angle = result["bevel_angle"] * 180 / pi
    drawing.text(at(shown / 2, -0.25 * pile), f"bevel {angle:.0f}°, drawn {grow} times larger", size=2.8)
    return drawing.svg()


FLUFF = Calculation(
    name="brush-and-bevel",
    title="Brushing and bevelling a refill",
    line="roller",
    about="Raise the pile with a wire brush and bevel the ends: strokes, bevel, fibre lost, time and the air for lint.",
    inputs=FluffDesign,
    run=_work_out,
    draw=draw_fluff,
)
