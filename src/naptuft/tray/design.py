"""A paint tray or liner: its shape, how the sheet is drawn and heated, and how trays lie on the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from math import tan

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity, whole
from naptuft.drawing import Drawing
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.sheet import SHEETS, Sheet
from naptuft.tray.forming import (
    areal_draw_ratio,
    cycle_time,
    exchange_emissivity,
    heating_biot,
    heating_time,
    linear_draw_ratio,
    mean_wall,
    one_side_cooling_time,
)
from naptuft.tray.layout import Layout, best_layout
from naptuft.tray.setting import TrayForm
from naptuft.tray.wall_map import MAP_SOURCE, wall_map

LONGEST_CYCLE, SHORTEST_CYCLE = 50.0, 30.0
LINEAR_DRAW_LIMIT = 0.75
HEATER_EMISSIVITY = 0.90

CAUTIONS = (
    Caution(
        "mould and clamp frame close; the trim blade cuts",
        "interlocked guards, two-hand control where parts are taken by hand, lock out before reaching in",
        "29 CFR 1910.212, 1910.217 and 1910.147",
    ),
    Caution(
        "heaters above 300 °C; a sheet left under them sags and burns",
        "withdraw the heaters when the line stops, keep fire watch and extinguisher at hand",
        "29 CFR 1910.212 and 1910.157",
    ),
)


@dataclass(frozen=True)
class TrayDesign(TrayForm):
    """A tray, its sheet and how it is formed."""

    sheet_width: float = quantity("mm", "of the roll or sheet", low=80, high=3000, default=560)
    mould_length: float = quantity("mm", "longest index the mould allows", low=80, high=3000, default=720)
    gap: float = quantity("mm", "between trays", low=0, high=100, default=10)
    edge: float = quantity("mm", "sheet held on each side", low=0, high=150, default=20)
    sheet_temperature: float | None = quantity(
        "degC", "when it is formed; left empty, the table's usual value", low=80, high=260, default=None
    )
    mould_temperature: float | None = quantity(
        "degC", "left empty, the table's usual value", low=0, high=140, default=None
    )
    heater_temperature: float = quantity("degC", "of the heaters above and below", low=150, high=800, default=400)
    forming_time: float = quantity("s", "clamp, vacuum, release", low=0.2, high=60, default=5)
    index_time: float = quantity("s", "move the sheet and close", low=0.2, high=60, default=6)
    heating_stations: int = whole(
        "heating places before the mould; 0: heated in the mould's own", low=0, high=10, default=0
    )


def tray_layout(tray: TrayDesign) -> tuple[Layout, bool]:
    """Trays of one shot on the sheet, and whether they lie turned. Raises DesignError when none fits."""
    return best_layout((tray.length, tray.width), tray.sheet_width, tray.mould_length, tray.gap, tray.edge)


def run_tray(tray: TrayDesign) -> Result:
    """Work out a tray."""
    sheet, shape = SHEETS[tray.sheet], tray.shape
    layout, turned = tray_layout(tray)
    hot = float(sheet.forming_temperature) if tray.sheet_temperature is None else tray.sheet_temperature
    mould = float(sheet.mould_temperature) if tray.mould_temperature is None else tray.mould_temperature
    areal_mass = tray.sheet_thickness * float(sheet.density)
    sheet_mass = layout.sheet_area / layout.trays * areal_mass
    tray_mass = shape.footprint * areal_mass
    opening = shape.opening[0] * shape.opening[1]
    drawn = shape.surface() - (shape.footprint - opening)
    areal, linear = areal_draw_ratio(drawn, opening), linear_draw_ratio(tray.well_depth, min(shape.opening))
    walls = wall_map(shape, tray.corner_radius)
    well = {place.name: place.share * tray.sheet_thickness for place in walls.places()}
    wall, thinnest = mean_wall(tray.sheet_thickness, areal), walls.corner.share * tray.sheet_thickness
    emissivity = exchange_emissivity(float(sheet.emissivity), HEATER_EMISSIVITY)
    heating = heating_time(
        tray.sheet_thickness,
        float(sheet.density),
        float(sheet.specific_heat),
        293.15,
        hot,
        tray.heater_temperature,
        emissivity,
    )
    biot = heating_biot(tray.sheet_thickness, float(sheet.conductivity), tray.heater_temperature, hot, emissivity)
    cooling = one_side_cooling_time(
        tray.sheet_thickness, float(sheet.diffusivity), hot, mould, float(sheet.set_temperature)
    )
    cycle = cycle_time(heating, tray.forming_time, cooling, tray.index_time, tray.heating_stations)
    values = (
        Value("sheet_mass", "sheet, each, web included", sheet_mass, "g"),
        Value("sheet_length", "sheet length, each", layout.index / layout.trays, "mm"),
        Value("tray_mass", "tray", tray_mass, "g"),
        Value("web_mass", "web, each", sheet_mass - tray_mass, "g"),
        Value("web_share", "web share of the sheet", layout.web_share, "%"),
        Value("trays_per_shot", "trays a shot", float(layout.trays), ""),
        Value("index", "index", layout.index, "mm"),
        Value("areal_draw", "areal draw ratio", areal, ""),
        Value("linear_draw", "depth over width", linear, ""),
        Value("mean_wall", "mean wall, drawn part", wall, "mm"),
        Value("thinnest_wall", "thinnest wall, estimate", thinnest, "mm"),
        Value("side_wall", "side wall, half way down", well["well, side"], "mm"),
        Value("floor_wall", "middle of the floor", well["well, middle"], "mm"),
        Value("heating_time", "heating", heating, "s"),
        Value("cooling_time", "cooling, at the rim's thickness", cooling, "s"),
        Value("cycle_time", "cycle, shot to shot", cycle, "s"),
        Value("forming_time", "machine time, each", cycle / layout.trays, "s"),
        Value("volume", "holds to the rim", shape.volume(), "l"),
    )
    steps = (
        Step("sheet", "width × index / trays × thickness × density", sheet_mass, "g", "mass balance"),
        Step("tray", "footprint × thickness × density", tray_mass, "g", "mass balance"),
        Step("areal draw", "drawn area / open area", areal, "", "geometry"),
        Step("mean wall", "thickness / areal draw", wall, "mm", "volume of the sheet stays"),
        Step(
            "thinnest wall",
            "thickness × share lengthways × share across × scale",
            thinnest,
            "mm",
            MAP_SOURCE,
        ),
        Step("heating", "ρch ∫ dT / 2[εσ(Th⁴−T⁴) + f(Ta−T)]", heating, "s", "Stefan–Boltzmann energy balance"),
        Step(
            "cooling",
            "4h²/(π²a) ln(8/π² (T0−Tw)/(Te−Tw)), h the full wall, one face cooled",
            cooling,
            "s",
            "plate series",
        ),
    )
    return Result(
        values, _checks(tray, sheet, areal, linear, thinnest, hot), steps, CAUTIONS, _remarks(cycle, biot, turned)
    )


def _checks(
    tray: TrayDesign, sheet: Sheet, areal: float, linear: float, thinnest: float, hot: float
) -> tuple[Check, ...]:
    low, high = sheet.forming_temperature.low, sheet.forming_temperature.high
    assert low is not None
    assert high is not None
    window = sheet.forming_temperature.source
    return (
        Check(
            "areal draw ratio",
            areal,
            float(sheet.areal_draw),
            "at most",
            "",
            sheet.areal_draw.source,
            "make the well shallower or lean the walls more",
        ),
        Check(
            "depth over width",
            linear,
            LINEAR_DRAW_LIMIT,
            "at most",
            "",
            f"{COMMON_PRACTICE}; without a plug",
            "make the well shallower or wider, or help with a plug",
        ),
        Check(
            "thinnest wall",
            thinnest,
            tray.least_wall,
            "at least",
            "mm",
            MAP_SOURCE,
            "use a thicker sheet, a larger corner radius or more draft",
        ),
        Check(
            "sheet temperature, upper end",
            hot,
            high,
            "at most",
            "degC",
            window,
            "heat the sheet less",
        ),
        Check("sheet temperature, lower end", hot, low, "at least", "degC", window, "heat the sheet further"),
    )


def _remarks(cycle: float, biot: float, turned: bool) -> tuple[str, ...]:
    remarks = []
    if not SHORTEST_CYCLE <= cycle <= LONGEST_CYCLE:
        remarks.append(
            f"A cycle of {cycle:.3g} s is outside the 30 to 50 s that trays take by sheet thickness ({COMMON_PRACTICE})."
        )
    if biot > 0.2:
        remarks.append(f"The middle of the sheet lags its faces (Biot number {biot:.2g}): heat it slower.")
    if turned:
        remarks.append("Trays lie with their length across the sheet: that leaves the least web.")
    return tuple(remarks)


def draw_tray(tray: TrayDesign, result: Result) -> str:
    """Section along the tray and the layout on the sheet, to scale."""
    layout, turned = tray_layout(tray)
    width, index = layout.sheet_width * 1e3, layout.index * 1e3
    drawing = Drawing(f"tray, {layout.trays} a shot, web {layout.web_share * 100:.1f} %", width=170)
    drawing.rectangle(0, 0, index, width, hatch="cross", hint=f"web {result['web_mass'] * 1e3:.1f} g each")
    used = layout.across * layout.piece_across + (layout.across - 1) * layout.gap
    start = (layout.sheet_width - used) / 2
    for row in range(layout.across):
        for column in range(layout.along):
            x = (column * (layout.piece_along + layout.gap) + layout.gap / 2) * 1e3
            y = (start + row * (layout.piece_across + layout.gap)) * 1e3
            _plan(drawing, tray, x, y, turned)
    drawing.dimension((0, 0), (index, 0), f"index {index:.4g} mm", offset=-6)
    drawing.dimension((0, width), (0, 0), f"{width:.4g} mm", offset=-6)
    _side(drawing, tray, width + 60, result)
    return drawing.svg()


def _plan(drawing: Drawing, tray: TrayDesign, x: float, y: float, turned: bool) -> None:
    length, width, rim = tray.length * 1e3, tray.width * 1e3, tray.rim * 1e3
    size = (width, length) if turned else (length, width)
    drawing.rectangle(x, y, *size, fill="#FCFAF5", hint="cut line")
    drawing.rectangle(x + rim, y + rim, size[0] - 2 * rim, size[1] - 2 * rim, "detail", hint="inside of the rim")
    for along, depth in tray.shape.profile()[1:4]:
        inset, along = depth * tan(tray.draft) * 1e3, along * 1e3
        ends = ((rim + along, rim + inset), (rim + along, width - rim - inset))
        if turned:
            ends = tuple((across, down) for down, across in ends)
        drawing.line((x + ends[0][0], y + ends[0][1]), (x + ends[1][0], y + ends[1][1]), "hatch")


def _side(drawing: Drawing, tray: TrayDesign, top: float, result: Result) -> None:
    rim = tray.rim * 1e3
    inner = [(rim + x * 1e3, top + y * 1e3) for x, y in tray.shape.profile()]
    length, depth = tray.length * 1e3, tray.well_depth * 1e3
    drawing.path([(0.0, top), *inner, (length, top)], hint=f"section; mean wall {result['mean_wall'] * 1e3:.2f} mm")
    drawing.circle(
        inner[1], tray.corner_radius * 1e3, "accent", hint=f"thinnest {result['thinnest_wall'] * 1e3:.2f} mm"
    )
    drawing.dimension((0, top), (length, top), f"{length:g} mm", offset=-6)
    drawing.dimension((length, top + depth), (length, top), f"{depth:g} mm", offset=6)
    drawing.text((length / 2, top + depth + 0.08 * length), f"thinnest about {result['thinnest_wall'] * 1e3:.2f} mm")
    _across(drawing, tray, 1.25 * length, top)


def _across(drawing: Drawing, tray: TrayDesign, start: float, top: float) -> None:
    """Section across the well with the wall at its places."""
    rim, width = tray.rim * 1e3, tray.width * 1e3
    lean = tray.well_depth * tan(tray.draft) * 1e3
    floor = top + tray.well_depth * 1e3
    left, right = start + rim, start + width - rim
    drawing.path(
        [(start, top), (left, top), (left + lean, floor), (right - lean, floor), (right, top), (right + rim, top)],
        hint="section across the well",
    )
    for place in wall_map(tray.shape, tray.corner_radius).places():
        station, _, spot = place.name.partition(", ")
        if station != "well":
            continue
        deep = tray.well_depth * (0.5 if spot == "side" else 1.0)
        at = (left + place.across * 1e3, top + deep * 1e3)
        wall = place.share * tray.sheet_thickness * 1e3
        drawing.circle(at, 0.006 * width, "second", hint=f"{place.name}: {wall:.2f} mm")
        drawing.text((at[0] + 0.012 * width, at[1] - 0.02 * width), f"{wall:.2f}", size=2.6, anchor="start")
    drawing.dimension((start, top), (start + width, top), f"{width:g} mm", offset=-6)


TRAY = Calculation(
    name="tray",
    title="Tray or liner",
    line="tray",
    about="Sheet, web, draw, thinnest wall, heating, cooling and cycle of a thermoformed paint tray or liner.",
    inputs=TrayDesign,
    run=run_tray,
    draw=draw_tray,
)
