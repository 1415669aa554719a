"""How the cage runs on its axle: bearing fit through heat and cold, drag, the cage under a push, and the grip's bond."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.drawing import PAPER, Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES, core_material
from naptuft.materials.property import COMMON_PRACTICE, Property
from naptuft.materials.resin import RESINS
from naptuft.roller.core import wall_faults

ITEM = "US commercial item description A-A-2851C, Paint Roller, 3.1"
_ROOM = 293.15
_STEEL, _STEEL_EXPANSION = 205e9, 12e-6
_HANDBOOK = "polymer handbooks, from memory"
_BEAM = "Timoshenko, Strength of Materials, part I: beam on two supports, even load (from memory)"
_WEAR = f"{COMMON_PRACTICE}: dry moulded bearings, p and pv limits from memory"
GRIP_TORQUE = 8 * 0.0254 * 4.4482216152605
CAP_STRENGTH = 2000 * 6894.757293168


@dataclass(frozen=True)
class BearingResin:
    """What an end cap with its bearing is moulded of.

    expansion  linear, by temperature [1/K]
    strength   tensile, at yield [Pa]
    friction   dry, on steel
    pressure   most on a dry bearing [Pa]
    wear_limit most pressure times speed, dry [Pa m/s]
    """

    name: str
    expansion: Property
    strength: Property
    friction: Property
    pressure: Property
    wear_limit: Property


def _resin(name: str, expansion: float, strength: float, friction: float, pressure: float, pv: float) -> BearingResin:
    return BearingResin(
        name,
        Property(expansion, "1/K", _HANDBOOK),
        Property(strength, "Pa", _HANDBOOK),
        Property(friction, "", _HANDBOOK),
        Property(pressure, "Pa", _WEAR),
        Property(pv, "Pa*m/s", _WEAR),
    )


BEARING_RESINS: dict[str, BearingResin] = {
    resin.name: resin
    for resin in (
        _resin("PP", 110e-6, 32e6, 0.27, 4e6, 0.03e6),
        _resin("HDPE", 150e-6, 25e6, 0.22, 3e6, 0.03e6),
        _resin("PA66", 80e-6, 60e6, 0.35, 7e6, 0.10e6),
        _resin("ABS", 85e-6, 42e6, 0.45, 4e6, 0.02e6),
        _resin("PS", 75e-6, 40e6, 0.45, 3e6, 0.015e6),
    )
}


def moulded_bore(pin: float, shrinkage: float) -> float:
    """Bore left by a core pin when the part has shrunk, d(1 − S). [m]

    pin: diameter of the core pin [m]; shrinkage as a share.
    Source: ISO 294-4, moulding shrinkage (from memory).

    >>> round(moulded_bore(8.30e-3, 0.016) * 1e3, 3)
    8.167
    """
    return pin * (1 - shrinkage)


def bore_at(bore: float, wall: float, warmer: float, expansion: float, held: bool = False) -> float:
    """Bore of a bearing warmer by so many kelvin than when it was measured. [m]

    Free: d(1 + αΔT). Held from outside so that it can only grow inward: d − 2·wall·α·ΔT.
    bore, wall [m]; expansion [1/K]. Source: linear expansion; bearing makers' sizing rule for a held bush.

    >>> round(bore_at(8.2e-3, 2e-3, 30.0, 110e-6) * 1e3, 3)
    8.227
    >>> round((8.2e-3 - bore_at(8.2e-3, 2e-3, 30.0, 110e-6, held=True)) * 1e3, 4)
    0.0132
    """
    return bore - 2 * wall * expansion * warmer if held else bore * (1 + expansion * warmer)


def bearing_torque(load: float, friction: float, diameter: float) -> float:
    """Torque that turns a loaded plain bearing, μWd/2. [N m]

    load [N]; diameter of the axle [m]. Source: dry friction on a journal, statics.

    >>> bearing_torque(40.0, 0.25, 0.008)
    0.04
    """
    return friction * load * diameter / 2


def cap_loads(load: float, place: float, span: float) -> tuple[float, float]:
    """What two end caps carry of a load that stands `place` from the first, W(1 − a/L) and Wa/L. [N]

    place a, span L [m]. Source: statics.

    >>> cap_loads(40.0, 0.05, 0.20)
    (30.0, 10.0)
    """
    second = load * place / span
    return load - second, second


@dataclass(frozen=True)
class FitDesign:
    """Rod, bearings, cage and core of a frame, and the push and weather it meets."""

    rod_diameter: float = quantity("mm", "diameter of the rod", low=2, high=16, default=7.94, example="5/16 in")
    rod_tolerance: float = quantity("mm", "most the rod strays either way", low=0, high=2, default=0.05)
    resin: str = choice(tuple(BEARING_RESINS), "what the end caps are moulded of", default="PP", example="PP")
    pin_diameter: float = quantity("mm", "core pin that moulds the bearing", low=2, high=20, example="8.35 mm")
    pin_tolerance: float = quantity("mm", "most the pin strays or wears", low=0, high=1, default=0.02)
    bearing_length: float = quantity("mm", "length of each bearing on the rod", low=1, high=60, example="10 mm")
    bearing_wall: float = quantity("mm", "wall of the bearing around the rod", low=0.5, high=20, default=2)
    held: str = choice(
        ("free", "held"), "free to grow, or held from outside by something stiff", default="free", example="free"
    )
    coldest: float = quantity("degC", "coldest it is used", low=-40, high=60, default=0, example="0 degC")
    hottest: float = quantity("degC", "hottest it is used", low=0, high=100, default=45, example="45 degC")
    least_clearance: float = quantity("mm", "least running clearance", low=0, high=2, default=0.03)
    widest_clearance: float = quantity("mm", "widest running clearance before it wobbles", low=0, high=5, default=0.6)
    span: float = quantity("mm", "between the middles of the two bearings", low=10, high=1000, example="215 mm")
    wires: int = whole("wires of the cage", low=2, high=12, default=5, example="5")
    wire_diameter: float = quantity("mm", "diameter of a cage wire", low=0.5, high=6, default=2.5, example="2.5 mm")
    core: str = choice(CORE_NAMES, "what the refill's core is made of", default="polypropylene")
    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    core_wall: float = quantity("mm", "wall of the core", low=0.2, high=15, default=1.5, example="1.5 mm")
    outside_diameter: float = quantity("mm", "over the pile of the refill", low=9, high=250, example="69.8 mm")
    push: float = quantity("N", "force on the wall", low=0.1, high=500, default=40, example="40 N")
    off_middle: float = quantity(
        "mm", "how far off the middle of the cage the push may stand", low=0, high=500, default=30, example="30 mm"
    )
    side_push: float = quantity("N", "push along the axle", low=0, high=200, default=8, example="8 N")
    thrust_diameter: float = quantity("mm", "outside of the shoulder the cage runs against", low=3, high=60, default=14)
    wall_friction: float = quantity("", "friction of wet pile on the wall", low=0.02, high=1, default=0.3)
    roll_speed: float = quantity("m/s", "speed over the wall", low=0.01, high=5, default=0.6, example="0.6 m/s")
    most_bend: float = quantity("mm", "most the cage may bow", low=0.05, high=20, default=0.5, example="0.5 mm")
    grip_length: float = quantity("mm", "length of rod inside the grip", low=5, high=400, default=80, example="80 mm")
    grip_bond: float = quantity("MPa", "shear the bond of grip and rod bears", low=0.01, high=50, default=0.4)

    def __post_init__(self) -> None:
        faults = [*wall_faults(self.core_diameter, self.core_wall)]
        if self.outside_diameter <= self.core_diameter:
            faults.append(
                Fault(
                    "outside diameter",
                    f"{self.outside_diameter * 1e3:g} mm",
                    f"above {self.core_diameter * 1e3:g} mm, the core",
                    "measure over the pile",
                )
            )
        if self.coldest >= self.hottest:
            faults.append(
                Fault(
                    "coldest",
                    f"{self.coldest - 273.15:g} °C",
                    f"below {self.hottest - 273.15:g} °C, the hottest",
                    "exchange the two",
                )
            )
        if self.off_middle > self.span / 2:
            faults.append(
                Fault(
                    "off middle",
                    f"{self.off_middle * 1e3:g} mm",
                    f"at most {self.span * 5e2:g} mm, half the span",
                    "keep the push between the bearings",
                )
            )
        if self.thrust_diameter <= self.rod_diameter:
            faults.append(
                Fault(
                    "thrust diameter",
                    f"{self.thrust_diameter * 1e3:g} mm",
                    f"above {self.rod_diameter * 1e3:g} mm, the rod",
                    "give the outside of the shoulder or washer",
                )
            )
        if faults:
            raise DesignError(*faults)


def clearances(design: FitDesign) -> tuple[float, float]:
    """Least and widest running clearance over shrinkage, tolerances and temperature, on the diameter. [m]"""
    resin, shrinkage = BEARING_RESINS[design.resin], RESINS[design.resin].shrinkage
    low = float(shrinkage) if shrinkage.low is None else shrinkage.low
    high = float(shrinkage) if shrinkage.high is None else shrinkage.high
    found = []
    for stray, share in ((-1, high), (1, low)):
        bore = moulded_bore(design.pin_diameter + stray * design.pin_tolerance, share)
        rod = design.rod_diameter - stray * design.rod_tolerance
        for temperature in (design.coldest, design.hottest):
            warmer = temperature - _ROOM
            hole = bore_at(bore, design.bearing_wall, warmer, float(resin.expansion), design.held == "held")
            found.append(hole - rod * (1 + _STEEL_EXPANSION * warmer))
    return min(found), max(found)


def _work_out(design: FitDesign) -> Result:
    resin, core = BEARING_RESINS[design.resin], core_material(design.core)
    least, widest = clearances(design)
    bore = moulded_bore(design.pin_diameter, float(RESINS[design.resin].shrinkage))
    heavy, light = cap_loads(design.push, design.span / 2 - design.off_middle, design.span)
    pressure = heavy / (design.rod_diameter * design.bearing_length)
    sliding = design.roll_speed * design.rod_diameter / design.outside_diameter
    mean = (design.rod_diameter + design.thrust_diameter) / 2
    turning = bearing_torque(heavy + light, float(resin.friction), design.rod_diameter)
    thrust = bearing_torque(design.side_push, float(resin.friction), mean)
    drag = 2 * (turning + thrust) / design.outside_diameter
    core_stiffness = (
        float(core.modulus) * pi / 64 * (design.core_diameter**4 - (design.core_diameter - 2 * design.core_wall) ** 4)
    )
    wire_stiffness = design.wires * _STEEL * pi / 64 * design.wire_diameter**4
    stiffness = core_stiffness + wire_stiffness
    bow = 5 * design.push * design.span**3 / (384 * stiffness)
    curvature = design.push * design.span / 8 / stiffness
    core_stress = float(core.modulus) * curvature * design.core_diameter / 2
    wire_stress = _STEEL * curvature * design.wire_diameter / 2
    shoulder = design.side_push / (pi / 4 * (design.thrust_diameter**2 - design.rod_diameter**2))
    grip = design.grip_bond * pi * design.rod_diameter**2 / 2 * design.grip_length
    remarks = [
        f"{design.resin} may shrink by {RESINS[design.resin].shrinkage.low or 0:.1%} to "
        f"{RESINS[design.resin].shrinkage.high or 0:.1%}: mould a trial and measure before the pin is finished."
    ]
    if design.resin == "PA66":
        remarks.append("Nylon swells as it takes up moisture: leave a further 0.5 % of the bore (common practice).")
    return Result(
        values=(
            Value("bore", "bore at the usual shrinkage, at 20 °C", bore, "mm"),
            Value("clearance_least", "least running clearance", least, "mm"),
            Value("clearance_widest", "widest running clearance", widest, "mm"),
            Value("cap_load", "load on the nearer end cap", heavy, "N"),
            Value("far_cap_load", "load on the further end cap", light, "N"),
            Value("pressure", "pressure in that bearing", pressure, "MPa"),
            Value("wear", "pressure times speed", pressure * sliding, "MPa*m/s"),
            Value("drag_torque", "torque that turns the refill", turning + thrust, "N*mm"),
            Value("drag", "drag at the pile", drag, "N"),
            Value("bow", "bow of cage and core under the push", bow, "mm"),
            Value("core_stress", "bending stress in the core", core_stress, "MPa"),
            Value("wire_stress", "bending stress in the cage wires", wire_stress, "MPa"),
            Value("shoulder", "pressure on the shoulder", shoulder, "MPa"),
            Value("grip_torque", "torque the grip's bond bears", grip, "N*m"),
        ),
        checks=(
            Check(
                "least running clearance",
                least,
                design.least_clearance,
                "at least",
                "mm",
                f"shrinkage: {RESINS[design.resin].shrinkage.source}; limit given ({COMMON_PRACTICE})",
                "use a thicker core pin",
            ),
            Check(
                "widest running clearance",
                widest,
                design.widest_clearance,
                "at most",
                "mm",
                f"shrinkage: {RESINS[design.resin].shrinkage.source}; limit given ({COMMON_PRACTICE})",
                "choose a resin that shrinks less unevenly, or narrow the tolerances",
            ),
            Check("pressure in the bearing", pressure, float(resin.pressure), "at most", "MPa", _WEAR, "lengthen it"),
            Check(
                "pressure times speed",
                pressure * sliding,
                float(resin.wear_limit),
                "at most",
                "MPa*m/s",
                _WEAR,
                "lengthen the bearing or choose a resin for bearings",
            ),
            Check(
                "drag against the grip of the pile on the wall",
                drag,
                design.wall_friction * design.push / 2,
                "at most",
                "N",
                f"the refill must roll, not skid; half the friction ({COMMON_PRACTICE})",
                "use a resin of less friction or a thinner axle",
            ),
            Check(
                "bow of the cage", bow, design.most_bend, "at most", "mm", _BEAM, "use thicker wires or a stiffer core"
            ),
            Check(
                "bending stress in the core",
                core_stress,
                float(core.strength) / 4,
                "at most",
                "MPa",
                f"{_BEAM}; a quarter of its strength ({COMMON_PRACTICE})",
                "use a thicker core",
            ),
            Check(
                "pressure on the shoulder",
                shoulder,
                float(resin.pressure),
                "at most",
                "MPa",
                _WEAR,
                "fit a wider washer",
            ),
            Check(
                "strength of the end caps",
                float(resin.strength),
                CAP_STRENGTH,
                "at least",
                "MPa",
                f"{ITEM}.3.1: 2,000 lbf/in²",
                "choose a stronger resin",
            ),
            Check(
                "torque the grip's bond bears",
                grip,
                GRIP_TORQUE,
                "at least",
                "N*m",
                f"{ITEM}.1: 8 in·lbf",
                "press the grip further on, or key the rod",
            ),
        ),
        steps=(
            Step("bore", "d_pin(1 − S)", bore, "mm", "ISO 294-4 (from memory)"),
            Step(
                "least running clearance",
                "(d_pin − t)(1 − S_high)(1 + αΔT) − (d + t)(1 + α_sΔT), at the worse temperature",
                least,
                "mm",
                f"linear expansion; α: {resin.expansion.source}",
            ),
            Step("load on the nearer end cap", "W(½ + a/L)", heavy, "N", "statics"),
            Step(
                "torque that turns the refill",
                "μWd/2 + μF(d + d_t)/4",
                turning + thrust,
                "N*mm",
                "dry friction, statics",
            ),
            Step("drag at the pile", "2T/D", drag, "N", "statics"),
            Step("bow", "5PL³/(384(EI_core + n·EI_wire))", bow, "mm", _BEAM),
            Step("bending stress in the core", "E·PL/8/(ΣEI)·D/2", core_stress, "MPa", _BEAM),
            Step("torque the grip bears", "τ·πd·l·d/2", grip, "N*m", "statics"),
        ),
        remarks=tuple(remarks),
    )


def draw_fit(design: FitDesign, result: Result) -> str:
    """Cage and core on the axle in lengthwise section, to scale, with the push and what each end cap carries."""
    span, rod = design.span * 1e3, design.rod_diameter * 1e3
    long = design.bearing_length * 1e3
    outer, wall = design.core_diameter * 5e2, design.core_wall * 1e3
    inside, wire, tip = outer - wall, design.wire_diameter * 1e3, design.outside_diameter * 5e2
    over = long
    drawing = Drawing(f"cage of {span:g} mm between bearings on a rod ⌀ {rod:.2f} mm", width=180)
    ends = (-over, span + over)
    for side in (-1, 1):
        drawing.rectangle(
            ends[0], min(side * outer, side * tip), ends[1] - ends[0], tip - outer, "detail", hatch="dots"
        )
        drawing.rectangle(
            ends[0], min(side * inside, side * outer), ends[1] - ends[0], wall, "outline", hatch="diagonal", hint="core"
        )
        drawing.rectangle(
            0, min(side * inside, side * (inside - wire)), span, wire, "detail", fill=PAPER, hint="cage wire"
        )
    bore = result["bore"] * 1e3
    for middle in (0.0, span):
        for side in (-1, 1):
            drawing.rectangle(
                middle - long / 2,
                min(side * bore / 2, side * inside),
                long,
                inside - bore / 2,
                "detail",
                hatch="cross",
                hint=f"end cap of {design.resin}",
            )
    drawing.rectangle(
        ends[0] - 2 * over, -rod / 2, ends[1] - ends[0] + 2 * over + 0.4 * long, rod, "outline", fill=PAPER
    )
    place = span / 2 - design.off_middle * 1e3
    for x, force, words, way in (
        (place, design.push, f"push {design.push:g} N", 1),
        (0.0, result["cap_load"], f"{result['cap_load']:.3g} N", -1),
        (span, result["far_cap_load"], f"{result['far_cap_load']:.3g} N", -1),
    ):
        long_arrow = 0.55 * outer * max(0.25, force / design.push)
        tail = -way * (tip + long_arrow)
        head = -way * tip
        drawing.line((x, tail), (x, head), "accent", hint=words)
        drawing.path([(x - 1.2, head - way * 2.4), (x, head), (x + 1.2, head - way * 2.4)], "accent")
        drawing.text((x + 2, tail + (-1 if way > 0 else 3)), words, size=2.8, anchor="start")
    drawing.dimension((0, 0.6 * inside), (span, 0.6 * inside), f"{span:g} mm", offset=0.0)
    drawing.dimension((ends[1], -outer), (ends[1], outer), f"core ⌀ {2 * outer:g} mm", offset=-7)
    clear = f"clearance {result['clearance_least'] * 1e3:.2f} to {result['clearance_widest'] * 1e3:.2f} mm"
    drawing.text((span / 2, tip + 0.3 * outer), clear, size=2.8)
    return drawing.svg()


FRAME_FIT = Calculation(
    name="frame-fit",
    title="Fit of the frame",
    line="roller",
    about="Running clearance of the cage through shrinkage and weather, its drag, bow and loads, and the grip's bond.",
    inputs=FitDesign,
    run=_work_out,
    draw=draw_fit,
)
