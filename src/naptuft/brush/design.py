"""The whole brush from one choice: filling, head, ferrule, setting, joining, work and tolerances on one sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from naptuft.brush.ferrule import FERRULE, FerruleDesign
from naptuft.brush.flex import FLEX
from naptuft.brush.forming import FORMING
from naptuft.brush.head import BRUSH, BrushDesign
from naptuft.brush.joining import JOINING, Stock
from naptuft.brush.outline import HOTTEST, OUTLINE, BrushChoice, settled
from naptuft.brush.setting_bench import SETTING
from naptuft.brush.suitability import SUITABILITY, Job
from naptuft.brush.tolerance import TOLERANCE
from naptuft.brush.working import WORKING
from naptuft.design_sheet import DesignSheet, Part, View, worked
from naptuft.materials.filament import Medium

WEEK = 75 * 3600.0
STROKE = 0.36
TRIED = 10_000
LEAST_RATE = 0.1 / 60
NAIL_ENGAGED = 0.6
WALL_WIDTH = 0.075
NAIL_EDGE, NARROW = 3.5e-3, 20e-3


@dataclass(frozen=True)
class Paint:
    """A paint a brush is tried with, where none is measured; all common practice.

    density  [kg/m**3]; tension: surface tension [N/m]; wet_film: laid down [m]
    """

    density: float
    tension: float
    wet_film: float


PAINT_OF: dict[Medium, Paint] = {
    "water-borne": Paint(1350.0, 0.035, 100e-6),
    "oil or alkyd": Paint(1100.0, 0.030, 60e-6),
    "strong solvent": Paint(1000.0, 0.026, 50e-6),
}


def compose(chosen: BrushChoice) -> tuple[Part, ...]:
    """The parts of a whole brush in the order of making. Raises DesignError naming the part.

    >>> parts = compose(BrushChoice(shape="flat", width=0.100, medium="water-borne"))
    >>> parts[0].heading, parts[-1].heading, 15_000 < parts[3]["filament_count"] < 40_000
    ('Outline', 'Tolerances', True)
    """
    brush = settled(chosen)
    outline = worked("Outline", OUTLINE, **_given(chosen))
    head = head_inputs(brush)
    paint = PAINT_OF[brush.medium]
    stroke = STROKE * (brush.clear_length or 0.0)
    ferrule = _ferrule(brush)
    return (
        outline,
        worked("Choice of filling", SUITABILITY, medium=brush.medium, hottest=HOTTEST, job=job_of(brush)),
        worked(
            "Filament",
            FLEX,
            filling=brush.filling,
            form=brush.form,
            diameter=brush.diameter,
            inner=brush.inner,
            tip_diameter=brush.tip_diameter,
            length=brush.clear_length,
            medium=brush.medium,
            deflection=stroke,
        ),
        worked("Head", BRUSH, **head),
        worked("Ferrule blank", FERRULE, **ferrule),
        worked("Forming", FORMING, **ferrule, ferrules_asked=brush.volume_per_week),
        worked("Setting", SETTING, **head, line_rate=max(LEAST_RATE, brush.volume_per_week / WEEK)),
        worked("Joining", JOINING, **_joint(brush)),
        worked(
            "At work",
            WORKING,
            **head,
            press=stroke,
            paint_density=paint.density,
            paint_tension=paint.tension,
            wet_film=paint.wet_film,
        ),
        worked("Tolerances", TOLERANCE, **head, brushes=TRIED),
    )


def _given(chosen: BrushChoice) -> dict[str, Any]:
    return {field.name: getattr(chosen, field.name) for field in OUTLINE.fields}


def head_of(chosen: BrushChoice) -> BrushDesign:
    """The head of a whole brush, ready for `BRUSH.run`.

    >>> head_of(BrushChoice(shape="round", width=0.020, medium="oil or alkyd")).shape
    'round'
    """
    return BrushDesign(**head_inputs(settled(chosen)))


def job_of(brush: BrushChoice) -> Job | None:
    """What a brush is likely used for: an angled sash for trim, a wide one for walls, else by its paint (common practice).

    >>> job_of(BrushChoice(shape="flat", width=0.100, medium="water-borne"))
    'wall'
    """
    if brush.shape == "angled sash":
        return "sash and trim"
    if brush.width >= WALL_WIDTH:
        return "wall"
    return "enamel or varnish" if brush.medium == "oil or alkyd" else None


def head_inputs(brush: BrushChoice) -> dict[str, Any]:
    """The inputs of the head of a settled brush, by name."""
    return {
        "shape": brush.cavity_shape,
        "width": brush.width,
        "thickness": brush.thickness,
        "clear_length": brush.clear_length,
        "filling": brush.filling,
        "diameter": brush.diameter,
        "form": brush.form,
        "inner": brush.inner,
        "tip_diameter": brush.tip_diameter,
        "packing": brush.packing,
        "centrepieces": brush.centrepieces,
        "centrepiece_width": brush.centrepiece_width,
        "centrepiece_thickness": brush.centrepiece_thickness,
        "ferrule_depth": brush.ferrule_depth,
        "setting_depth": brush.setting_depth,
        "epoxy": brush.epoxy,
        "trim": brush.trim,
        "trim_angle": brush.trim_angle,
        "medium": brush.medium,
    }


def choice_of(head: BrushDesign, ferrule: FerruleDesign, handle: Stock, volume_per_week: int) -> BrushChoice:
    """The whole brush of a head and a ferrule designed before, every size as it is.

    handle: what it is made of; volume_per_week: brushes made in a week.

    >>> head, ferrule = BRUSH.read(BRUSH.example())[0], FERRULE.read(FERRULE.example())[0]
    >>> head_of(choice_of(head, ferrule, "wood", 500)).clear_length == head.clear_length
    True
    """
    kept = ("width", "medium", "filling", "thickness", "clear_length", "diameter", "tip_diameter", "form", "inner",
            "packing", "centrepiece_width", "centrepiece_thickness", "trim", "trim_angle", "ferrule_depth",
            "setting_depth", "epoxy")  # fmt: skip
    return BrushChoice(
        shape="angled sash" if head.trim == "angular" and head.shape == "flat" else head.shape,
        centrepieces=head.plugs,
        ferrule_metal=ferrule.metal,
        gauge=ferrule.gauge,
        nails=ferrule.nail_holes,
        handle=handle,
        volume_per_week=volume_per_week,
        **{name: getattr(head, name) for name in kept},
    )


def _ferrule(brush: BrushChoice) -> dict[str, Any]:
    return {
        "shape": brush.cavity_shape,
        "width": brush.width,
        "thickness": brush.thickness,
        "depth": brush.ferrule_depth,
        "metal": brush.ferrule_metal,
        "gauge": brush.gauge,
        "nail_holes": brush.nails,
    }


def _joint(brush: BrushChoice) -> dict[str, Any]:
    """A tenon that fills the ferrule above the glue; nails across it, not so deep that the two sides meet.

    A narrow handle is bored for its nails, which may then stand closer (NDS, as in `joining`).

    What the joint must bear (common practice): a pull of 2 N for each mm of width; the same pull 0.15 of the width
    off the middle; half of it twisting at the handle's thickness.
    """
    thickness = brush.width if brush.thickness is None else brush.thickness
    pull = 2e3 * brush.width
    engaged = (brush.ferrule_depth or 0.0) - (brush.setting_depth or 0.0) - 1e-3
    return {
        "shape": brush.cavity_shape,
        "width": brush.width,
        "thickness": brush.thickness,
        "gauge": brush.gauge,
        "stock": brush.handle,
        "nails": brush.nails,
        "engaged": engaged,
        "end_distance": NAIL_ENGAGED * engaged,
        "edge_distance": max(NAIL_EDGE, 0.2 * brush.width),
        "prebored": brush.width < NARROW,
        "penetration": min(14e-3, 0.45 * thickness),
        "pull_asked": pull,
        "moment_asked": pull * 0.15 * brush.width,
        "twist_asked": pull / 2 * thickness,
    }


def draw(_: BrushChoice, parts: tuple[Part, ...]) -> tuple[View, ...]:
    """The brush in plan and cut through its thickness, to one scale."""
    from naptuft.brush.views import draw_plan, draw_side

    records = {part.heading: part.record for part in parts}
    shown = records["Head"], records["Ferrule blank"], records["Joining"]
    return View("Plan", draw_plan(*shown)), View("Side, cut through", draw_side(*shown))


WHOLE_BRUSH = DesignSheet(
    name="brush",
    title="Whole brush",
    line="brush",
    about="A whole brush from shape, width and paint: every part in the order of making, with each margin.",
    inputs=BrushChoice,
    settle=settled,
    compose=compose,
    headline=(
        ("Head", "filament_count"),
        ("Head", "fill_weight"),
        ("At work", "stiffness_free"),
        ("At work", "stiffness_bonded"),
        ("At work", "paint_volume"),
        ("At work", "area"),
        ("Setting", "epoxy_dose"),
        ("Ferrule blank", "blank_length"),
        ("Ferrule blank", "strip_width"),
        ("Joining", "pull_off"),
        ("Tolerances", "inside"),
    ),
    views=draw,
)
