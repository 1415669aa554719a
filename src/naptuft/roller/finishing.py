"""Finishing a refill: spinning it clean, with the loads, the whirl and the highest safe speed; lint extraction."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin, sqrt

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import PAPER, Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES, FABRIC_NAMES, core_material, pile_fabric
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.roller.core import wall_faults

GRAVITY = 9.80665
PRACTICE_SPEED = 3500 / 60
_RING = "Timoshenko, Strength of Materials, part II: rotating thin ring (from memory)"
_WHIRL = "Timoshenko, Vibration Problems in Engineering: beam on two supports, first mode (from memory)"
_BALANCE = "ISO 21940-11, balance quality G = e·ω (from memory)"
HOOD = "DallaValle's plain opening, ACGIH Industrial Ventilation, ch. 3 (from memory)"
TRANSPORT = "ACGIH Industrial Ventilation, 2009, transport velocities: cotton lint 12 to 15 m/s"
LEAST_TRANSPORT = 12.0
CAUTIONS = (
    Caution(
        "Flying refills, fibres and centres at speed",
        "close and interlock the guard until the spindle stands, check the centres' grip before each start, "
        "wear eye protection, never exceed the highest allowed speed",
        "29 CFR 1910.212 and 1910.147",
    ),
    Caution(
        "Lint in the air",
        "extract at the spindle, clean up before fibre settles thick, keep ignition sources away",
        "29 CFR 1910.1000 and NFPA 652 on combustible dust",
    ),
    Caution(
        "Noise of the spindle and its air", "measure the dose, enclose or wear hearing protection", "29 CFR 1910.95"
    ),
)


def relative_centrifugal_force(speed: float, radius: float) -> float:
    """Centrifugal over earthly acceleration, ω²r/g. [1]

    speed [1/s], turns; radius [m].

    >>> round(relative_centrifugal_force(5000 / 60, 0.15))
    4193
    """
    return (2 * pi * speed) ** 2 * radius / GRAVITY


def ring_stress(density: float, rim_speed: float) -> float:
    """Hoop stress of a thin ring from its own mass, ρv². [Pa]

    density [kg/m**3]; rim_speed [m/s] at the middle of the wall.
    Source: Timoshenko, Strength of Materials, part II (from memory).

    >>> ring_stress(7850.0, 100.0) / 1e6
    78.5
    """
    return density * rim_speed**2


def fibre_stress(density: float, speed: float, foot_radius: float, tip_radius: float) -> float:
    """Tension at the foot of a fibre that stands straight out, ρω²(R² − r²)/2. [Pa]

    density [kg/m**3]; speed [1/s], turns; radii [m].
    Source: equilibrium of a rotating rod, statics.

    >>> round(fibre_stress(1380.0, 3500 / 60, 0.0229, 0.0349) / 1e3, 1)
    64.3
    """
    return density * (2 * pi * speed) ** 2 * (tip_radius**2 - foot_radius**2) / 2


def whirl_speed(length: float, bending_stiffness: float, mass_per_length: float) -> float:
    """First whirl of a tube held on two supports, (π/2L²)√(EI/m), as turns. [1/s]

    length [m] between supports; bending_stiffness EI [N m**2]; mass_per_length [kg/m].
    Source: Timoshenko, Vibration Problems in Engineering (from memory).

    >>> round(whirl_speed(1.0, 100.0, 1.0), 2)
    15.71
    """
    return pi / (2 * length**2) * sqrt(bending_stiffness / mass_per_length)


def tube_inertia(outside: float, wall: float) -> float:
    """Second moment of area of a round tube, π(D⁴ − d⁴)/64. [m**4]

    >>> round(tube_inertia(0.044, 0.0015) * 1e12)
    45275
    """
    return pi / 64 * (outside**4 - (outside - 2 * wall) ** 4)


def hood_flow(capture_speed: float, distance: float, area: float) -> float:
    """Air a plain opening must draw to reach a capture speed at a distance, V(10X² + A). [m**3/s]

    capture_speed [m/s]; distance from the opening [m], up to 1.5 of its diameters; area of the opening [m**2].
    Source: DallaValle; ACGIH Industrial Ventilation, ch. 3 (from memory).

    >>> round(hood_flow(0.5, 0.3, 0.04), 3)
    0.47
    """
    return capture_speed * (10 * distance**2 + area)


def duct_diameter(air: float, speed: float) -> float:
    """Inside diameter of a round duct that carries an air flow at a speed, √(4Q/πv). [m]

    air [m**3/s]; speed [m/s], fast enough that lint does not settle. Source: continuity.

    >>> round(duct_diameter(0.184, 14.0) * 1e3)
    129
    """
    return sqrt(4 * air / (pi * speed))


def hood_remarks(distance: float, area: float) -> tuple[str, ...]:
    """What to say of a hood outside the range of `hood_flow`: further off than 1.5 of its diameters.

    >>> hood_remarks(0.1, 0.06), len(hood_remarks(1.0, 0.06))
    ((), 1)
    """
    if distance <= 1.5 * sqrt(4 * area / pi):
        return ()
    return ("The hood stands further off than 1.5 of its diameters: outside the formula's range.",)


def transport_check(speed: float) -> Check:
    """That the air in a lint duct is fast enough to carry cotton lint. speed [m/s]

    >>> transport_check(14.0).passed, transport_check(11.0).passed
    (True, False)
    """
    return Check(
        "air speed in the lint duct", speed, LEAST_TRANSPORT, "at least", "m/s", TRANSPORT, "use a narrower duct"
    )


def permitted_eccentricity(grade: float, speed: float) -> float:
    """How far the centre of mass may lie off the axis, G/ω. [m]

    grade [m/s], the balance quality G; speed [1/s], turns.
    Source: ISO 21940-11 (from memory).

    >>> round(permitted_eccentricity(6.3e-3, 10_000 / 60) * 1e6, 1)
    6.0
    """
    return grade / (2 * pi * speed)


@dataclass(frozen=True)
class SpinDesign:
    """A refill on the spinner."""

    length: float = quantity("mm", "length between the centres", low=20, high=6000, example="240 mm")
    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    core_wall: float = quantity("mm", "wall of the core", low=0.2, high=15, default=1.5, example="1.5 mm")
    core: str = choice(CORE_NAMES, "what the core is made of", default="polypropylene", example="polypropylene")
    fabric: str = choice(FABRIC_NAMES, "pile fabric", default="knitted polyester", example="knitted polyester")
    pile_height: float = quantity("mm", "height of the pile", low=1, high=40, example="12 mm")
    load: float = quantity("g", "water or paint still in the pile", low=0, high=5000, default=0, example="50 g")
    speed: float = quantity("1/min", "speed of the spindle", low=1, high=20000, default=3000, example="3000 1/min")
    whirl_share: float = quantity("%", "most of the first whirl allowed", low=10, high=90, default=70, example="70 %")
    stress_reserve: float = quantity("", "core strength over its stress, at least", low=1, high=20, default=4)
    fibre_strength: float = quantity(
        "MPa", "tensile strength of a pile fibre", low=20, high=2000, default=150, example="300 MPa"
    )
    balance_grade: float = quantity("mm/s", "balance quality G", low=0.4, high=4000, default=40, example="40 mm/s")
    eccentricity: float = quantity("mm", "centre of mass off the axis", low=0, high=5, default=0.1, example="0.1 mm")
    brake_torque: float = quantity("N*m", "torque of the brake", low=0.001, high=1000, default=0.5, example="0.5 N*m")
    longest_stop: float = quantity(
        "s", "longest time to stand still before the guard opens", low=0.1, high=600, default=10
    )
    hood_distance: float = quantity("mm", "from the hood to the refill", low=0, high=2000, default=100)
    hood_area: float = quantity("cm**2", "opening of the hood", low=1, high=20000, default=600)
    capture_speed: float = quantity("m/s", "air speed wanted at the refill", low=0.1, high=10, default=1)
    duct_speed: float = quantity("m/s", "air speed in the lint duct", low=1, high=40, default=14, example="14 m/s")

    def __post_init__(self) -> None:
        faults = wall_faults(self.core_diameter, self.core_wall)
        if faults:
            raise DesignError(*faults)


@dataclass(frozen=True)
class SpinLimits:
    """Highest speeds, in turns [1/s]: by core strength, by whirl; the pile's mass by core length [kg/m]."""

    by_strength: float
    by_whirl: float
    pile_mass: float
    unit_stress: float

    @property
    def highest(self) -> float:
        """The lower of the two, and no more than common practice. [1/s]"""
        return min(self.by_strength, self.by_whirl, PRACTICE_SPEED)


def spin_limits(design: SpinDesign) -> SpinLimits:
    """What holds the speed down.

    The pile and what it holds are taken as a ring at half their height, carried by the core.
    """
    core, fabric = core_material(design.core), pile_fabric(design.fabric)
    middle = (design.core_diameter - design.core_wall) / 2
    foot = design.core_diameter / 2 + float(fabric.backing_thickness)
    area_mass = float(fabric.pile_mass) * design.pile_height + float(fabric.backing_mass)
    pile = pi * design.core_diameter * area_mass + design.load / design.length
    ring = float(core.density) * middle**2
    carried = pile / (2 * pi) * (foot + design.pile_height / 2) / design.core_wall
    unit_stress = ring + carried
    by_strength = sqrt(float(core.strength) / design.stress_reserve / unit_stress) / (2 * pi)
    inertia = tube_inertia(design.core_diameter, design.core_wall)
    section = pi * 2 * middle * design.core_wall
    whirl = whirl_speed(design.length, float(core.modulus) * inertia, section * float(core.density) + pile)
    return SpinLimits(by_strength, design.whirl_share * whirl, pile, unit_stress)


def _work_out(design: SpinDesign) -> Result:
    core, fabric = core_material(design.core), pile_fabric(design.fabric)
    limits = spin_limits(design)
    if design.speed > limits.highest * (1 + 1e-9):
        raise DesignError(
            Fault(
                "speed",
                f"{design.speed * 60:.0f} 1/min",
                f"at most {limits.highest * 60:.0f} 1/min, the highest safe speed of this refill",
                f"set {int(limits.highest * 60 / 50) * 50} 1/min or less, shorten the tube or thicken its core",
            )
        )
    turn = 2 * pi * design.speed
    foot = design.core_diameter / 2 + float(fabric.backing_thickness)
    tip = foot + design.pile_height
    stress = limits.unit_stress * turn**2
    fibre = fibre_stress(float(fabric.fibre_density), design.speed, foot, tip)
    middle = (design.core_diameter - design.core_wall) / 2
    core_mass = 2 * pi * middle * design.core_wall * design.length * float(core.density)
    pile_mass = limits.pile_mass * design.length
    mass = core_mass + pile_mass
    inertia = core_mass * middle**2 + pile_mass * (foot + design.pile_height / 2) ** 2
    shake = mass * design.eccentricity * turn**2
    stop = inertia * turn / design.brake_torque
    air = hood_flow(design.capture_speed, design.hood_distance, design.hood_area)
    whirl = limits.by_whirl / design.whirl_share
    wobble = permitted_eccentricity(design.balance_grade, design.speed)
    remarks = [*hood_remarks(design.hood_distance, design.hood_area)]
    if design.length / design.core_diameter < 8:
        remarks.append("A short thick tube whirls a little lower than the slender-beam formula says.")
    return Result(
        values=(
            Value("highest_speed", "highest allowed speed", limits.highest, "1/min"),
            Value("rim_speed", "speed of the pile tips", turn * tip, "m/s"),
            Value("pull", "centrifugal over earthly pull at the tips", relative_centrifugal_force(design.speed, tip)),
            Value("core_stress", "hoop stress in the core", stress, "MPa"),
            Value("fibre_stress", "tension at the foot of a fibre", fibre, "kPa"),
            Value("whirl", "first whirl", whirl, "1/min"),
            Value("shake", "shaking force", shake, "N"),
            Value("eccentricity", "centre of mass off the axis, at most", wobble, "mm"),
            Value("energy", "energy stored", inertia * turn**2 / 2, "J"),
            Value("stop_time", "time to stop by the brake", stop, "s"),
            Value("air", "air drawn for lint", air, "m**3/h"),
            Value("duct", "inside diameter of the lint duct", duct_diameter(air, design.duct_speed), "mm"),
        ),
        checks=(
            Check(
                "speed against core strength",
                design.speed,
                limits.by_strength,
                "at most",
                "1/min",
                _RING,
                "lower the speed or thicken the core",
            ),
            Check(
                "speed against whirl",
                design.speed,
                limits.by_whirl,
                "at most",
                "1/min",
                _WHIRL,
                "lower the speed or support the tube",
            ),
            Check(
                "speed against common practice",
                design.speed,
                PRACTICE_SPEED,
                "at most",
                "1/min",
                f"3,500 1/min, {COMMON_PRACTICE}",
                "lower the speed",
            ),
            Check(
                "balance",
                design.eccentricity * turn,
                design.balance_grade,
                "at most",
                "mm/s",
                _BALANCE,
                "true the centres or lower the speed",
            ),
            Check(
                "tension in a fibre",
                fibre,
                design.fibre_strength / design.stress_reserve,
                "at most",
                "MPa",
                f"rotating rod, statics; fibre strength and reserve given ({COMMON_PRACTICE})",
                "lower the speed",
            ),
            Check(
                "time to stop",
                stop,
                design.longest_stop,
                "at most",
                "s",
                f"Iω/T, statics; limit given ({COMMON_PRACTICE})",
                "use a stronger brake, or keep the guard locked longer",
            ),
            transport_check(design.duct_speed),
        ),
        steps=(
            Step("hoop stress in the core", "ρω²r² + (m/2π)ω²r_p/t", stress, "MPa", _RING),
            Step("tension at a fibre's foot", "ρω²(R² − r²)/2", fibre, "kPa", "rotating rod, statics"),
            Step("first whirl", "(π/2L²)√(EI/m)", whirl, "1/min", _WHIRL),
            Step("shaking force", "m·e·ω²", shake, "N", "statics"),
            Step("time to stop", "Iω/T", stop, "s", "statics"),
            Step("centre of mass off the axis, at most", "G/ω", wobble, "mm", _BALANCE),
            Step("air for lint", "V(10X² + A)", air, "m**3/h", HOOD),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def draw_spin(design: SpinDesign, result: Result) -> str:
    """The refill between its centres, side and end, to scale; half of it cut open."""
    length, outer = design.length * 1e3, design.core_diameter * 5e2
    bore = outer - design.core_wall * 1e3
    foot = outer + float(pile_fabric(design.fabric).backing_thickness) * 1e3
    tip = foot + design.pile_height * 1e3
    drawing = Drawing(f"refill of {length:g} mm on the spinner, {design.speed * 60:.0f} 1/min", width=180)
    for side in (-1, 1):
        drawing.path(
            [(0, side * bore), (length, side * bore), (length, side * outer), (0, side * outer)],
            "outline",
            closed=True,
            hatch="diagonal",
            hint=f"core, {design.core}",
        )
        drawing.path(
            [(0, side * outer), (length, side * outer), (length, side * tip), (0, side * tip)],
            "detail",
            closed=True,
            hatch="dots",
            hint=f"pile, {design.fabric}",
        )
    deep = 0.45 * bore
    for end, out in ((0.0, -1), (length, 1)):
        cone = [
            (end - out * deep, 0.0),
            (end + out * deep, 1.25 * bore),
            (end + out * 2 * deep, 1.25 * bore),
            (end + out * 2 * deep, -1.25 * bore),
            (end + out * deep, -1.25 * bore),
        ]
        drawing.path(cone, "detail", closed=True, fill=PAPER, hint="centre")
    reach = 2.6 * deep
    drawing.line((-reach, 0), (length + reach, 0), "dimension", hint="axis of the spindle")
    bow = 0.35 * bore
    mode = [(length * k / 40, -bow * sin(pi * k / 40)) for k in range(41)]
    drawing.path(mode, "accent", hint=f"shape of the first whirl at {result['whirl'] * 60:.0f} 1/min, not to scale")
    drawing.dimension((0, tip), (length, tip), f"{length:g} mm between centres", offset=7)
    drawing.text((length / 2, -bow - 0.16 * bore), f"whirls so at {result['whirl'] * 60:,.0f} 1/min", size=2.8)
    middle = length + reach + 1.35 * tip
    for radius, style, hatch in ((tip, "outline", "dots"), (outer, "detail", ""), (bore, "detail", "")):
        drawing.circle((middle, 0), radius, style, hatch=hatch, fill=PAPER)
    swing = [(middle + 0.6 * bore * cos(a / 20), 0.6 * bore * sin(a / 20)) for a in range(-70, 15)]
    drawing.path(swing, "second", hint="sense of turning")
    x, y = swing[-1]
    drawing.path([(x - 0.14 * bore, y - 0.05 * bore), (x, y), (x + 0.12 * bore, y - 0.12 * bore)], "second")
    drawing.text((middle, -1.12 * tip), f"{design.speed * 60:,.0f} 1/min", size=2.8)
    drawing.dimension((middle - tip, tip), (middle + tip, tip), f"⌀ {2 * tip:.1f} mm", offset=7)
    return drawing.svg()


SPIN = Calculation(
    name="spin",
    title="Spinning a refill",
    line="roller",
    about="Loads, whirl and highest safe speed of a refill on the spinner, its stop time, and the air for lint.",
    inputs=SpinDesign,
    run=_work_out,
    draw=draw_spin,
)
