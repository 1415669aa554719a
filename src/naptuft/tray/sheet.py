"""A tray on one sheet: from its shape and the stock there is to heating, walls, cooling, web, stack and carton."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from naptuft.calculation import fields_of, money, quantity, rows, whole
from naptuft.design_sheet import DesignSheet, Part, worked
from naptuft.errors import DesignError
from naptuft.tray.cooling import TRAY_COOLING
from naptuft.tray.design import TRAY
from naptuft.tray.heating import SHEET_HEATING
from naptuft.tray.setting import TrayForm, shape_faults
from naptuft.tray.stack import TRAY_STACK
from naptuft.tray.stock import TRAY_STOCK, SheetStock
from naptuft.tray.thickness import TRAY_WALLS
from naptuft.tray.web import TRAY_WEB


@dataclass(frozen=True)
class TrayChoice(TrayForm):
    """What is wanted of a tray, and what the plant has to make it with."""

    stock: tuple[SheetStock, ...] = rows(
        SheetStock,
        "rolls and cut sheets there are",
        example="roll 560 | 560 mm | 0 mm; roll 700 | 700 mm | 0 mm; sheet 620 | 620 mm | 1040 mm",
    )
    mould_length: float = quantity(
        "mm", "longest index the mould allows", low=80, high=3000, default=720, example="720 mm"
    )
    gap: float = quantity("mm", "between trays", low=0, high=100, default=10)
    edge: float = quantity("mm", "sheet held on each side", low=0, high=150, default=20)
    heater_temperature: float = quantity("degC", "of the heaters above and below", low=150, high=800, default=400)
    heating_stations: int = whole("heating places before the mould; 0: the mould's own", low=0, high=10, default=0)
    sheet_temperature: float | None = quantity(
        "degC", "mean, when it is formed; left empty, the table's", low=80, high=260, default=None
    )
    mould_temperature: float | None = quantity("degC", "left empty, the table's", low=0, high=140, default=None)
    sheet_price_per_kg: Decimal = money("price of a kilogram of sheet", default=Decimal("2.60"), example="2.60")
    web_price_per_kg: Decimal = money("worth of a kilogram of ground web", default=Decimal("1.10"), example="1.10")
    kept_each_pass: float = quantity(
        "%", "of the impact strength kept each time it is extruded and formed, by test", low=20, high=100, default=96
    )
    carton_length: float = quantity("mm", "inside", low=50, high=2000, default=520, example="520 mm")
    carton_width: float = quantity("mm", "inside", low=50, high=2000, default=340, example="340 mm")
    carton_height: float = quantity("mm", "inside", low=30, high=2000, default=320, example="320 mm")

    def __post_init__(self) -> None:
        faults = shape_faults(self)
        if faults:
            raise DesignError(*faults)


def form_of(tray: TrayChoice) -> dict[str, object]:
    """The inputs of the tray's sheet and shape by name."""
    return {field.name: getattr(tray, field.name) for field in fields_of(TrayForm)}


def compose_tray(tray: TrayChoice) -> tuple[Part, ...]:
    """Work out a tray from its top-level choice. Raises DesignError with the part named.

    Stock: the roll or sheet that leaves the least web. Cooling: the rim, which keeps the sheet's thickness.
    Nesting: the thickest side or end wall of the map.
    """
    layout = worked(
        "Layout",
        TRAY_STOCK,
        length=tray.length,
        width=tray.width,
        gap=tray.gap,
        edge=tray.edge,
        mould_length=tray.mould_length,
        stock=tray.stock,
    )
    index, free = layout["index"], layout["sheet_width"] - 2 * tray.edge
    heating = worked(
        "Heating",
        SHEET_HEATING,
        sheet=tray.sheet,
        sheet_thickness=tray.sheet_thickness,
        clamped_length=max(index, free),
        clamped_width=min(index, free),
        upper_heater=tray.heater_temperature,
        lower_heater=tray.heater_temperature,
        sheet_temperature=tray.sheet_temperature,
    )
    forming = worked(
        "Forming",
        TRAY,
        **form_of(tray),
        sheet_width=layout["sheet_width"],
        mould_length=tray.mould_length,
        gap=tray.gap,
        edge=tray.edge,
        sheet_temperature=tray.sheet_temperature,
        mould_temperature=tray.mould_temperature,
        heater_temperature=tray.heater_temperature,
        heating_stations=tray.heating_stations,
    )
    walls = worked("Walls", TRAY_WALLS, **form_of(tray))
    sheet_mass = layout["sheet_area"] * forming["tray_mass"] / (tray.length * tray.width)
    cooling = worked(
        "Cooling",
        TRAY_COOLING,
        sheet=tray.sheet,
        wall=tray.sheet_thickness,
        sheet_temperature=tray.sheet_temperature,
        mould_temperature=tray.mould_temperature,
        shot_mass=sheet_mass * layout["trays_per_shot"],
        cycle_time=forming["cycle_time"],
    )
    web = worked(
        "Web",
        TRAY_WEB,
        sheet_mass=sheet_mass,
        tray_mass=forming["tray_mass"],
        sheet_price_per_kg=tray.sheet_price_per_kg,
        web_price_per_kg=tray.web_price_per_kg,
        kept_each_pass=tray.kept_each_pass,
    )
    sides = [
        value.value for value in walls.result.values if value.name.endswith(("_side_wall", "end_wall_middle_wall"))
    ]
    stack = worked(
        "Stack and carton",
        TRAY_STACK,
        tray_length=tray.length,
        tray_width=tray.width,
        tray_depth=tray.well_depth + tray.sheet_thickness,
        tray_mass=forming["tray_mass"],
        side_wall=max(sides),
        rim_thickness=tray.sheet_thickness,
        draft=tray.draft,
        carton_length=tray.carton_length,
        carton_width=tray.carton_width,
        carton_height=tray.carton_height,
    )
    return layout, heating, forming, walls, cooling, web, stack


TRAY_SHEET = DesignSheet(
    name="tray",
    title="Tray, from sheet to carton",
    line="tray",
    about=(
        "A tray or liner from its shape and the sheet there is: layout with the least web, heating and sag, draw, "
        "walls place by place, cooling on the mould, web and its credit, nested stack and carton."
    ),
    inputs=TrayChoice,
    compose=compose_tray,
    headline=(
        ("Forming", "tray_mass"),
        ("Layout", "trays_per_shot"),
        ("Layout", "web_share"),
        ("Heating", "heating_time"),
        ("Heating", "sag"),
        ("Forming", "areal_draw"),
        ("Walls", "thinnest_corner"),
        ("Cooling", "cooling_time"),
        ("Forming", "cycle_time"),
        ("Forming", "forming_time"),
        ("Web", "net_material"),
        ("Stack and carton", "trays_per_carton"),
    ),
)
