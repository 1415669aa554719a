"""The whole handle: moulded, then coated, with its drawing."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

from naptuft.calculation import Calculation, Result, quantity
from naptuft.drawing import Drawing
from naptuft.handle.coats import coat_answer
from naptuft.handle.part import Cooling, mould_answer
from naptuft.handle.setting import CoatSetting, HandleOutline, MouldSetting, mould_faults, outline_faults, raise_any
from naptuft.handle.shape import section_area


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
    draw=draw_handle,
)
