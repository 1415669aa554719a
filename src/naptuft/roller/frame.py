"""The roller frame: its rod laid out straight, its fit in the refill, and what a push does to it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, pi, sin, sqrt

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity, rows, yes
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.bending import bend_allowance
from naptuft.materials.property import COMMON_PRACTICE

_GROOVER = "Groover, Fundamentals of Modern Manufacturing, sec. 20.2 (from memory)"
_BEAM = "Timoshenko, Strength of Materials, part I: unit-load method and combined bending and torsion (from memory)"
_ITEM = "US commercial item description A-A-2851C, Paint Roller, 3.1.2"
ITEM_ROD, ITEM_STRAY = 5 / 16 * 0.0254, 0.030 * 0.0254
ITEM_CENTRE, ITEM_PLAY, ITEM_SQUARE = 0.5 * 0.0254, 0.0254 / 8, pi / 36
CAUTIONS = (
    Caution(
        "Wire bending and spring-back of rod",
        "guard the bender, stay out of the sweep of the rod, wear eye protection, deburr cut ends",
        "29 CFR 1910.212",
    ),
)


@dataclass(frozen=True)
class Leg:
    """A straight stretch of rod and the bend that follows it."""

    straight: float = quantity("mm", "straight length between bends", low=0, high=2000, example="60 mm")
    bend: float = quantity("deg", "bend after it, positive to the left, 0 for none", low=-170, high=170, default=0)
    radius: float = quantity("mm", "inside radius of the bend", low=1, high=300, default=12)


def rod_length(legs: tuple[Leg, ...], diameter: float) -> float:
    """Length of rod before bending: the straights and the bends' unstretched layer. [m]

    Σ straights + Σ α(R + Kd). diameter of the rod [m].
    Source: Groover, Fundamentals of Modern Manufacturing, sec. 20.2 (from memory).

    >>> from math import radians
    >>> rod = (Leg(straight=0.038, bend=radians(60), radius=4.75e-3), Leg(straight=0.025))
    >>> round(rod_length(rod, 3.2e-3) * 1e3, 2)
    69.08
    """
    return sum(leg.straight + bend_allowance(abs(leg.bend), leg.radius, diameter) for leg in legs)


def rod_path(legs: tuple[Leg, ...], diameter: float, step: float = 0.5e-3) -> list[tuple[float, float]]:
    """Points along the middle of the rod, from the grip on, the first leg running along x. [m]

    diameter of the rod [m]; step: greatest distance between points [m].

    >>> [round(v, 3) for v in rod_path((Leg(straight=0.05, bend=1.5708, radius=0.01),), 0.008)[-1]]
    [0.064, 0.014]
    """
    x = y = heading = 0.0
    points = [(x, y)]
    for leg in legs:
        pieces = max(1, int(leg.straight / step + 0.5)) if leg.straight else 0
        for _ in range(pieces):
            x += leg.straight / pieces * cos(heading)
            y += leg.straight / pieces * sin(heading)
            points.append((x, y))
        if leg.bend:
            middle = leg.radius + diameter / 2
            pieces = max(2, int(abs(leg.bend) * middle / step + 0.5))
            turn = leg.bend / pieces
            chord = 2 * middle * sin(abs(turn) / 2)
            for _ in range(pieces):
                x += chord * cos(heading + turn / 2)
                y += chord * sin(heading + turn / 2)
                heading += turn
                points.append((x, y))
    return points


@dataclass(frozen=True)
class RodLoad:
    """What a push on the refill does to the rod.

    stress      greatest combined stress [Pa]
    place       where, as length along the rod from the grip [m]
    deflection  of the loaded point, along the push [m]
    """

    stress: float
    place: float
    deflection: float


def rod_under_push(
    path: list[tuple[float, float]],
    load_at: tuple[float, float],
    push: float,
    tilt: float,
    diameter: float,
    modulus: float,
) -> RodLoad:
    """Stress and deflection of a flat bent rod, held at its first point and pushed at `load_at`.

    path      points along the rod in its plane [m]; load_at: where the refill is pressed, in that plane [m]
    push      force on the wall [N]; tilt: angle between the plane of the frame and the wall [rad]
    diameter  of the rod [m]; modulus: of elasticity [Pa]

    The push has a part along the grip, P sin tilt, which bends the rod in its plane, and a part across the
    plane, P cos tilt, which bends and twists it. σ = √((32M/πd³)² + 3(16T/πd³)²); deflection by the unit load.
    Source: Timoshenko, Strength of Materials, part I (from memory). Curvature of the bends is neglected.

    >>> straight = [(i * 0.001, 0.0) for i in range(101)]
    >>> load = rod_under_push(straight, (0.1, 0.0), 10.0, 0.0, 0.008, 205e9)
    >>> round(load.stress / 1e6, 2), round(load.deflection * 1e6, 1)
    (19.89, 80.9)
    """
    along, across = -push * sin(tilt), push * cos(tilt)
    inertia = pi * diameter**4 / 64
    bend_stiffness, twist_stiffness = modulus * inertia, modulus / 2.6 * 2 * inertia
    worst, place, travelled, energy = 0.0, 0.0, 0.0, 0.0
    for (x1, y1), (x2, y2) in pairwise(path):
        length = hypot(x2 - x1, y2 - y1)
        ex, ey = (x2 - x1) / length, (y2 - y1) / length
        for share, weight in ((0.0, 1 / 6), (0.5, 4 / 6), (1.0, 1 / 6)):
            rx, ry = load_at[0] - x1 - share * (x2 - x1), load_at[1] - y1 - share * (y2 - y1)
            in_plane = -ry * along
            over, twist = across * (rx * ex + ry * ey), across * (rx * ey - ry * ex)
            moment = hypot(in_plane, over)
            stress = sqrt((32 * moment) ** 2 + 3 * (16 * twist) ** 2) / (pi * diameter**3)
            if stress > worst:
                worst, place = stress, travelled + share * length
            energy += weight * length * (moment**2 / bend_stiffness + twist**2 / twist_stiffness)
        travelled += length
    return RodLoad(worst, place, energy / push if push else 0.0)


@dataclass(frozen=True)
class FrameDesign:
    """A frame: rod from the grip to the end of the axle, cage, and the refill it carries."""

    rod_diameter: float = quantity("mm", "diameter of the rod", low=2, high=16, default=7.94, example="5/16 in")
    legs: tuple[Leg, ...] = rows(
        Leg,
        "rod from the grip to the end of the axle: straight, bend, inside radius",
        example="150 mm | -90 deg | 14 mm; 105 mm | 90 deg | 14 mm; 50 mm | 90 deg | 14 mm; 235 mm | 0 deg | 14 mm",
    )
    refill_length: float = quantity("mm", "length of the refill", low=20, high=1000, example="240 mm")
    core_bore: float = quantity("mm", "inside diameter of the refill's core", low=5, high=140, example="41 mm")
    cage_diameter: float = quantity("mm", "diameter of the free cage", low=5, high=150, example="42 mm")
    cage_length: float = quantity("mm", "length of the cage", low=10, high=1000, example="225 mm")
    cage_stiffness: float = quantity(
        "N/mm", "force that closes the cage's diameter by 1 mm", low=0.1, high=1000, default=15, example="15 N/mm"
    )
    friction: float = quantity("", "friction of cage on core", low=0.02, high=1, default=0.25, example="0.25")
    side_play: float = quantity("mm", "play of the cage along the axle", low=0, high=20, default=1.5, example="1.5 mm")
    push: float = quantity("N", "force on the wall", low=0, high=500, default=40, example="40 N")
    handle_angle: float = quantity("deg", "angle between handle and wall", low=0, high=90, default=45, example="45 deg")
    to_item: bool = yes("hold the rod to A-A-2851C: 5/16 in ±0.030 in", default=False, example="no")
    density: float = quantity("kg/m**3", "density of the rod", low=1000, high=9000, default=7850)
    modulus: float = quantity("GPa", "modulus of elasticity of the rod", low=1, high=250, default=205)
    yield_strength: float = quantity("MPa", "stress at which the rod stays bent", low=50, high=2000, default=450)

    def __post_init__(self) -> None:
        faults = []
        if self.cage_length > self.refill_length:
            faults.append(
                Fault(
                    "cage length",
                    f"{self.cage_length * 1e3:g} mm",
                    f"at most {self.refill_length * 1e3:g} mm, the refill",
                    "use a shorter cage",
                )
            )
        if self.cage_diameter <= self.rod_diameter:
            faults.append(
                Fault(
                    "cage diameter",
                    f"{self.cage_diameter * 1e3:g} mm",
                    f"above {self.rod_diameter * 1e3:g} mm, the rod",
                    "give the diameter over the cage wires",
                )
            )
        if self.legs[-1].bend:
            faults.append(
                Fault(
                    "legs, last row, bend", f"{self.legs[-1].bend * 180 / pi:g}°", "0°", "end with the axle, straight"
                )
            )
        elif self.legs[-1].straight < self.cage_length:
            faults.append(
                Fault(
                    "legs, last row, straight",
                    f"{self.legs[-1].straight * 1e3:g} mm",
                    f"at least {self.cage_length * 1e3:g} mm, the cage",
                    "lengthen the axle or shorten the cage",
                )
            )
        if faults:
            raise DesignError(*faults)


def _load_point(design: FrameDesign, path: list[tuple[float, float]]) -> tuple[float, float]:
    """Middle of the refill on the axle; the cage ends flush with the rod."""
    (x1, y1), (x2, y2) = path[-2], path[-1]
    length = hypot(x2 - x1, y2 - y1)
    back = design.cage_length / 2
    return x2 - (x2 - x1) / length * back, y2 - (y2 - y1) / length * back


def cage_angle(legs: tuple[Leg, ...]) -> float:
    """Angle between the handle's line and the axle, 0 to π. [rad]

    >>> from math import degrees, radians
    >>> rod = (Leg(straight=0.1, bend=radians(-90)), Leg(straight=0.1, bend=radians(90)), Leg(straight=0.05, bend=radians(85)))
    >>> round(degrees(cage_angle((*rod, Leg(straight=0.2)))), 6)
    85.0
    """
    turned = abs(sum(leg.bend for leg in legs)) % (2 * pi)
    return min(turned, 2 * pi - turned)


def _work_out(design: FrameDesign) -> Result:
    length = rod_length(design.legs, design.rod_diameter)
    mass = pi / 4 * design.rod_diameter**2 * length * design.density
    path = rod_path(design.legs, design.rod_diameter)
    load_at = _load_point(design, path)
    load = rod_under_push(path, load_at, design.push, design.handle_angle, design.rod_diameter, design.modulus)
    grip = design.cage_diameter - design.core_bore
    grip_force = max(0.0, grip) * design.cage_stiffness
    pull = grip_force * design.friction
    refill_offset, angle = abs(load_at[1]), cage_angle(design.legs)
    smallest = min((leg.radius for leg in design.legs if leg.bend), default=None)
    checks = [
        Check(
            "stress in the rod",
            load.stress,
            design.yield_strength / 1.5,
            "at most",
            "MPa",
            f"{_BEAM}; 1.5 below yield ({COMMON_PRACTICE})",
            "use a thicker rod, shorter legs or a stronger steel",
        ),
        Check("cage wider than the bore", grip, 0.2e-3, "at least", "mm", COMMON_PRACTICE, "open the cage wires"),
        Check("side play of the cage", design.side_play, ITEM_PLAY, "at most", "mm", _ITEM, "set the clip closer"),
        Check(
            "cage's middle off the handle's line", refill_offset, ITEM_CENTRE, "at most", "mm", _ITEM, "bend it back"
        ),
        Check(
            "cage out of square with the handle",
            abs(angle - pi / 2),
            ITEM_SQUARE,
            "at most",
            "deg",
            _ITEM,
            "correct the bends to 90°",
        ),
    ]
    if design.to_item:
        stray = abs(design.rod_diameter - ITEM_ROD)
        checks.append(Check("rod off 5/16 in", stray, ITEM_STRAY, "at most", "mm", _ITEM, "use a rod of 5/16 in"))
    if smallest is not None:
        checks.append(
            Check(
                "inside bend radius",
                smallest,
                design.rod_diameter,
                "at least",
                "mm",
                f"one diameter for cold-drawn low-carbon rod ({COMMON_PRACTICE})",
                "bend on a larger mandrel",
            )
        )
    remarks = []
    if not design.to_item and abs(design.rod_diameter - ITEM_ROD) > ITEM_STRAY:
        remarks.append(f"{_ITEM} wants a rod of 5/16 in ±0.030 in (7.18 to 8.70 mm) for a full-size frame.")
    remarks.append(
        "The cage is checked for its grip on the core; how freely it runs on the rod: see the fit of the frame."
    )
    return Result(
        values=(
            Value("wire_length", "length of rod for one frame", length, "mm"),
            Value("wire_mass", "mass of that rod", mass, "g"),
            Value("offset", "refill's middle off the handle's line", refill_offset, "mm"),
            Value("reach", "from grip to the axle", abs(load_at[0]), "mm"),
            Value("cage_angle", "angle of the cage to the handle", angle, "deg"),
            Value("stress", "greatest stress in the rod", load.stress, "MPa"),
            Value("stress_place", "where, along the rod from the grip", load.place, "mm"),
            Value("deflection", "give of the refill under the push", load.deflection, "mm"),
            Value("grip", "cage diameter over bore", grip, "mm"),
            Value("pull_off", "force that pulls the refill off", pull, "N"),
        ),
        checks=tuple(checks),
        steps=(
            Step("length of rod", "Σ straights + Σ α(R + Kd)", length, "mm", _GROOVER),
            Step("mass of rod", "π/4·d²·L·ρ", mass, "g", "geometry"),
            Step("stress", "√((32M/πd³)² + 3(16T/πd³)²)", load.stress, "MPa", _BEAM),
            Step("give", "∫(M·m/EI + T·t/GJ) ds", load.deflection, "mm", _BEAM),
            Step("pull that frees the refill", "μ·k·(D_cage − D_bore)", pull, "N", "dry friction, statics"),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def draw_frame(design: FrameDesign, result: Result) -> str:
    """The rod as bent, with cage and refill, to scale."""
    d = design.rod_diameter * 1e3
    path = [(x * 1e3, y * 1e3) for x, y in rod_path(design.legs, design.rod_diameter)]
    drawing = Drawing(f"frame, rod ⌀ {d:.2f} mm, {result['wire_length'] * 1e3:.1f} mm long")
    sides = []
    for hand in (-1, 1):
        side = []
        for (x1, y1), (x2, y2) in pairwise(path):
            length = hypot(x2 - x1, y2 - y1)
            nx, ny = -(y2 - y1) / length * hand * d / 2, (x2 - x1) / length * hand * d / 2
            side += [(x1 + nx, y1 + ny), (x2 + nx, y2 + ny)]
        sides.append(side)
    drawing.path(sides[0] + sides[1][::-1], "outline", closed=True, hint=f"rod ⌀ {d:.2f} mm")
    (x1, y1), (x2, y2) = path[-2], path[-1]
    length = hypot(x2 - x1, y2 - y1)
    ex, ey = (x2 - x1) / length, (y2 - y1) / length
    middle = (x2 - ex * design.cage_length * 5e2, y2 - ey * design.cage_length * 5e2)

    def box(long: float, across: float) -> list[tuple[float, float]]:
        return [
            (middle[0] + s * ex * long / 2 - t * ey * across / 2, middle[1] + s * ey * long / 2 + t * ex * across / 2)
            for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))
        ]

    drawing.path(box(design.cage_length * 1e3, design.cage_diameter * 1e3), "second", closed=True, hint="cage")
    refill = box(design.refill_length * 1e3, design.core_bore * 1e3)
    drawing.path(refill, "detail", closed=True, hint="bore of the refill")
    drawing.dimension(refill[1], refill[0], f"refill {design.refill_length * 1e3:g} mm", offset=8)
    drawing.dimension((0, 0), (middle[0], 0), f"reach {middle[0]:.0f} mm", offset=8)
    _label_legs(drawing, design)
    _side_view(drawing, design, (0.18 * middle[0], max(y for _, y in refill) - 0.16 * middle[0]), middle[0])
    return drawing.svg()


def _label_legs(drawing: Drawing, design: FrameDesign) -> None:
    """Straight length beside each leg, and the radius of each bend."""
    x = y = heading = 0.0
    for leg in design.legs[:-1]:
        aside = 0.9 * design.rod_diameter * 1e3
        half = leg.straight * 5e2
        at = (x + half * cos(heading) + aside * sin(heading), y + half * sin(heading) - aside * cos(heading))
        upright = abs(sin(heading)) > 0.7
        if leg.straight:
            side = ("end" if sin(heading) < 0 else "start") if upright else "middle"
            drawing.text(at, f"{leg.straight * 1e3:g}", size=2.8, anchor=side)
        x, y = x + 2 * half * cos(heading), y + 2 * half * sin(heading)
        if leg.bend:
            middle = (leg.radius + design.rod_diameter / 2) * 1e3
            turn = 1 if leg.bend > 0 else -1
            centre = (x - turn * middle * sin(heading), y + turn * middle * cos(heading))
            drawing.text(centre, f"R {leg.radius * 1e3:g}", size=2.6)
            heading += leg.bend
            x, y = centre[0] + turn * middle * sin(heading), centre[1] - turn * middle * cos(heading)


def _side_view(drawing: Drawing, design: FrameDesign, axle: tuple[float, float], reach: float) -> None:
    """Looking along the axle: the cage in the core on the wall, the handle at its angle, and the push."""
    x, y = axle
    outer = max(design.core_bore, design.cage_diameter) * 5e2
    wall = x - outer
    drawing.rectangle(
        wall - 0.02 * reach, y - 1.6 * outer, 0.02 * reach, 3.2 * outer, "detail", hatch="diagonal", hint="wall"
    )
    drawing.circle(axle, design.core_bore * 5e2, "detail", hint="bore of the refill")
    drawing.circle(axle, design.cage_diameter * 5e2, "second", hint="cage")
    drawing.circle(axle, design.rod_diameter * 5e2, "outline", hint="axle")
    run, rise, half = sin(design.handle_angle), cos(design.handle_angle), design.rod_diameter * 5e2
    start, end = outer * 0.0, 0.3 * reach
    for side in (-1, 1):
        drawing.line(
            (x + run * start - side * rise * half, y + rise * start + side * run * half),
            (x + run * end - side * rise * half, y + rise * end + side * run * half),
            "detail",
            hint="handle",
        )
    drawing.line((x + outer + 0.09 * reach, y), (x + outer, y), "accent", hint=f"push {design.push:g} N")
    drawing.path([(x + outer + 3, y - 1.5), (x + outer, y), (x + outer + 3, y + 1.5)], "accent")
    drawing.text((x + outer + 0.1 * reach, y), f"push {design.push:g} N", size=2.8, anchor="start")
    words = f"handle {design.handle_angle * 180 / pi:.0f}° to the wall"
    drawing.text((x + run * end + 6, y + rise * end), words, size=2.8, anchor="start")


FRAME = Calculation(
    name="frame",
    title="Roller frame",
    line="roller",
    about="The rod of a roller frame cut to length, the refill's fit on its cage, and the rod under a painter's push.",
    inputs=FrameDesign,
    run=_work_out,
    draw=draw_frame,
)
