"""The whole handle: moulded, then coated, with its drawing."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

from naptuft.calculation import Calculation, Caution, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing
from naptuft.handle.coats import coat_answer
from naptuft.handle.part import Cooling, mould_answer
from naptuft.handle.setting import CoatSetting, HandleOutline, MouldSetting, mould_faults, outline_faults, raise_any
from naptuft.handle.shape import section_area
from naptuft.materials.resin import RESIN_NAMES, RESINS


@dataclass(frozen=True)
class HandleForm(HandleOutline):
    """A handle's outline and what it is moulded of."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")


@dataclass(frozen=True)
class HandleMoulding(MouldSetting, HandleOutline):
    """A handle's outline, its resin, mould and press."""

    demand_per_hour: float | None = quantity(
        "1/hour", "good handles wanted an hour, to judge the cavities; may be left empty", low=1, high=1e6, default=None
    )

    def __post_init__(self) -> None:
        raise_any(outline_faults(self) + mould_faults(self))


@dataclass(frozen=True)
class HandleDesign(CoatSetting, MouldSetting, HandleOutline):
    """A handle from resin to the last coat."""

    def __post_init__(self) -> None:
        raise_any(outline_faults(self) + mould_faults(self))


def handle_volume(outline: HandleOutline) -> float:
    """Resin in one handle: the solid, less what a hollow one leaves out and the hole. [m**3]

    >>> solid = HandleOutline(length=0.18, head_width=0.048, neck_width=0.02, grip_width=0.03, grip_depth=0.018)
    >>> 60e-6 < handle_volume(solid) < 70e-6
    True
    """
    shape = outline.shape
    solid = shape.volume()
    if outline.wall is not None:
        steps = 200
        step = shape.length / steps
        for k in range(steps):
            x = (k + 0.5) * step
            width, depth = shape.width(x) - 2 * outline.wall, shape.depth(x) - 2 * outline.wall
            if width > 0 and depth > 0 and x < shape.length - outline.wall:
                solid -= section_area(width, depth, shape.section) * step
        through = 2 * outline.wall
    else:
        through = shape.depth(0.93 * shape.length)
    return solid - pi / 4 * outline.hole_diameter**2 * through


def handle_cooling(outline: HandleOutline) -> Cooling:
    """The section of a handle that cools last."""
    if outline.wall is not None:
        return Cooling("plate", outline.wall)
    thickness, width = outline.shape.thickest()
    return Cooling("cylinder", thickness) if outline.section == "round" else Cooling("bar", thickness, width)


def _moulded(outline: HandleOutline, setting: MouldSetting, demand: float | None = None) -> Result:
    area = outline.shape.projected_area() - pi / 4 * outline.hole_diameter**2
    return mould_answer(setting, handle_volume(outline), area, handle_cooling(outline), demand=demand)


def run_moulding(handle: HandleMoulding) -> Result:
    """Work out the moulding of a handle."""
    return _moulded(handle, handle, handle.demand_per_hour)


def run_handle(handle: HandleDesign) -> Result:
    """Work out a handle from resin to the last coat."""
    moulded, coated = _moulded(handle, handle), coat_answer(handle, handle.shape)
    return Result(
        moulded.values + coated.values,
        moulded.checks + coated.checks,
        moulded.steps + coated.steps,
        moulded.cautions + coated.cautions,
        moulded.remarks + coated.remarks,
    )


def balance_point(outline: HandleOutline) -> float:
    """Distance of the centre of mass of the solid outline from the end in the ferrule. [m]

    >>> even = HandleOutline(length=0.2, head_width=0.02, neck_width=0.02, grip_width=0.02, grip_depth=0.014)
    >>> 0.08 < balance_point(even) < 0.1
    True
    """
    shape, steps = outline.shape, 200
    places = [(k + 0.5) * shape.length / steps for k in range(steps)]
    areas = [shape.section_area(x) for x in places]
    return sum(x * area for x, area in zip(places, areas, strict=True)) / sum(areas)


def run_shape(handle: HandleForm) -> Result:
    """Work out volume, mass, surface and thickest place of a handle."""
    shape, resin = handle.shape, RESINS[handle.resin]
    volume = handle_volume(handle)
    thickness, width = shape.thickest()
    dipped = shape.length - shape.head_length
    values = (
        Value("volume", "resin in it", volume, "cm**3"),
        Value("mass", "mass", volume * float(resin.density), "g"),
        Value("coated_area", "surface behind the ferrule line", shape.surface(shape.head_length), "cm**2"),
        Value("projected_area", "seen as the mould opens", shape.projected_area(), "cm**2"),
        Value("thickness", "thickest place", thickness, "mm"),
        Value("width", "its width", width, "mm"),
        Value("balance", "balances at, from the ferrule end", balance_point(handle), "mm"),
        Value("dipped_length", "behind the ferrule line", dipped, "mm"),
        Value("dipped_volume", "volume behind it, to the outside", dipped_volume(handle), "cm**3"),
    )
    steps = (
        Step("volume", "∫ section dx, less hollow and hole", volume, "cm**3", "geometry, Simpson's rule"),
        Step("mass", "volume × density", volume * float(resin.density), "g", resin.density.source),
        Step("surface", "∫ girth dx", values[2].value, "cm**2", "geometry; girth of an oval after Ramanujan"),
    )
    return Result(values, (), steps, (FORM_CAUTION,))


FORM_CAUTION = Caution(
    "a handle with sharp parting lines or flash cuts the hand",
    "trim the flash before coating; gloves at the trimming bench",
    "29 CFR 1910.138",
)


def dipped_volume(outline: HandleOutline) -> float:
    """Outside volume behind the ferrule line, which is what raises a vat. [m**3]"""
    shape, steps = outline.shape, 200
    step = (shape.length - shape.head_length) / steps
    return sum(shape.section_area(shape.head_length + (k + 0.5) * step) for k in range(steps)) * step


def draw_cycle(handle: HandleMoulding, result: Result) -> str:
    """The cycle as it runs: fill, pack, cool on, open and eject, each as long as it takes."""
    fill, pack, cool = result["fill_time"], result["pack_time"], result["cooling_time"]
    whole = result["cycle_time"]
    spans = [
        ("fill", 0.0, fill, "diagonal"),
        ("pack", fill, pack, "cross"),
        ("cool", fill + pack, max(0.0, cool - pack), "dots"),
        ("open, eject", whole - handle.open_time, handle.open_time, ""),
    ]
    tall = 0.06 * whole
    drawing = Drawing(f"cycle of {whole:.0f} s", width=170, bar=False)
    for row, (words, start, length, hatch) in enumerate(spans):
        if length > 0:
            top = row * 1.5 * tall
            drawing.rectangle(start, top, length, tall, hatch=hatch, hint=f"{words} {length:.1f} s")
            late = start + length > 0.75 * whole
            at = (
                (start - 0.01 * whole, top + 0.75 * tall)
                if late
                else (start + length + 0.01 * whole, top + 0.75 * tall)
            )
            drawing.text(at, f"{words} {length:.1f} s", anchor="end" if late else "start")
    low = 4 * 1.5 * tall
    drawing.dimension((0, low), (whole, low), f"cycle {whole:.1f} s, {handle.cavities} handles", offset=5)
    return drawing.svg()


def draw_handle(handle: HandleOutline, result: Result) -> str:
    """Plan, edge view and thickest section of a handle, to scale."""
    shape = handle.shape
    length = shape.length * 1e3
    drawing = Drawing(f"handle, {length:g} mm long", width=170)
    stations = [shape.length * sin(pi / 2 * k / 160) for k in range(161)]
    widest = max(shape.width(x) for x in stations) * 1e3
    deepest = max(shape.depth(x) for x in stations) * 1e3
    cooled = f"cooling {result['cooling_time']:.0f} s" if "cooling_time" in result else ""
    film = f"dry film {result['dry_build'] * 1e6:.0f} µm" if "dry_build" in result else ""
    _outline(drawing, [(x * 1e3, shape.width(x) * 500) for x in stations], 0.0, film or "plan")
    edge_at = widest / 2 + deepest / 2 + 22
    _outline(drawing, [(x * 1e3, shape.depth(x) * 500) for x in stations], edge_at, "edge view")
    line = shape.head_length * 1e3
    drawing.line(
        (line, -shape.width(shape.head_length) * 500 - 3), (line, edge_at + deepest / 2), "accent", hint="ferrule line"
    )
    drawing.circle((0.93 * length, 0.0), handle.hole_diameter * 500, "detail", hint="hole")
    drawing.dimension((0.0, -widest / 2), (length, -widest / 2), f"{length:g} mm", offset=-8, hint="over all")
    drawing.dimension((0.0, widest / 2), (line, widest / 2), f"{line:g} mm", offset=5, hint="in the ferrule")
    drawing.dimension((0.0, widest / 2), (0.0, -widest / 2), f"{shape.head_width * 1e3:g} mm", offset=-6)
    thickness, width = (value * 1e3 for value in shape.thickest())
    centre = (length + width / 2 + 14, 0.0)
    _section(drawing, handle, centre, width, thickness, cooled)
    drawing.dimension(
        (centre[0] - width / 2, thickness / 2), (centre[0] + width / 2, thickness / 2), f"{width:.3g} mm", offset=6
    )
    drawing.text((centre[0], -thickness / 2 - 5), "thickest section")
    drawing.text((centre[0], edge_at), cooled)
    return drawing.svg()


def _outline(drawing: Drawing, halves: list[tuple[float, float]], middle: float, hint: str) -> None:
    upper = [(x, middle - half) for x, half in halves]
    lower = [(x, middle + half) for x, half in reversed(halves)]
    drawing.path(upper + lower, closed=True, hint=hint)


def _section(
    drawing: Drawing, handle: HandleOutline, centre: tuple[float, float], width: float, depth: float, hint: str
) -> None:
    drawing.path(_ring(handle.section, centre, width, depth), closed=True, hatch="diagonal", hint=hint)
    if handle.wall is not None:
        inner = (width - 2e3 * handle.wall, depth - 2e3 * handle.wall)
        drawing.path(_ring(handle.section, centre, *inner), closed=True, fill="#FCFAF5", hint="hollow")


def _ring(section: str, centre: tuple[float, float], width: float, depth: float) -> list[tuple[float, float]]:
    points = []
    for k in range(72):
        angle = 2 * pi * k / 72
        if section == "flat":
            reach = (width - depth) / 2
            x = depth / 2 * cos(angle) + (reach if cos(angle) >= 0 else -reach)
            points.append((centre[0] + x, centre[1] + depth / 2 * sin(angle)))
        else:
            points.append((centre[0] + width / 2 * cos(angle), centre[1] + depth / 2 * sin(angle)))
    return points


HANDLE_SHAPE = Calculation(
    name="handle-shape",
    title="Shape of a handle",
    line="handle",
    about="Volume, mass, surface, balance and thickest place of a handle from its outline, with the drawing.",
    inputs=HandleForm,
    run=run_shape,
    draw=draw_handle,
)
HANDLE = Calculation(
    name="handle",
    title="Handle, moulded and coated",
    line="handle",
    about="A brush handle from resin to the last coat: masses, cooling, cycle, clamp, film, coating, waits and racks.",
    inputs=HandleDesign,
    run=run_handle,
    draw=draw_handle,
)
HANDLE_MOULDING = Calculation(
    name="handle-moulding",
    title="Handle moulding",
    line="handle",
    about="Shot, cooling, cycle and clamp of a brush handle, and the cavities that keep pace with a demand.",
    inputs=HandleMoulding,
    run=run_moulding,
    draw=draw_cycle,
)
