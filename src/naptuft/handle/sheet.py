"""A handle on one sheet: from its outline and output to mould, press, coats, vat, air and racks."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from naptuft.calculation import choice, fields_of, quantity, rows, whole
from naptuft.design_sheet import DesignSheet, Part, worked
from naptuft.errors import Fault
from naptuft.handle.coat_line import COAT_LINE
from naptuft.handle.coats import HANDLE_COATS
from naptuft.handle.cooling import THICK_SECTION
from naptuft.handle.design import HANDLE_MOULDING, HANDLE_SHAPE
from naptuft.handle.drainage import DRAINAGE, ENTRAINMENT_SHARE, entrainment_speed
from naptuft.handle.drying_air import DRYING_AIR
from naptuft.handle.filling import FILLING
from naptuft.handle.finishing import shear_viscosity, speed_for_film
from naptuft.handle.mould_size import MOULD_SIZE
from naptuft.handle.moulding import cavities_for, gate_freeze_time
from naptuft.handle.part import Cooling
from naptuft.handle.press import PRESS_CHOICE, Press, press_faults
from naptuft.handle.regrind import REGRIND
from naptuft.handle.runner import RUNNER
from naptuft.handle.setting import HandleOutline, outline_faults, raise_any
from naptuft.handle.vat import FOOT_ROOM, VAT
from naptuft.materials.coating import COATING_NAMES, COATINGS
from naptuft.materials.resin import RESIN_NAMES, RESINS, ZERO_CELSIUS

BUILD_MARGIN = 1.10
GATE_SHARE, LEAST_GATE, MOST_GATE = 0.6, 0.8e-3, 4e-3
OPEN_TIME = 8.0
USUAL_FILL = 2.0
BAR_ROOM, BAR_PITCH = 0.94, 1.25
SET_SHARE = 0.1
MOST_CAVITIES = 32


@dataclass(frozen=True)
class HandleChoice(HandleOutline):
    """What is wanted of a handle, and what the plant has to make it with."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    handles_per_hour: float = quantity("1/hour", "good handles wanted", low=1, high=1e5, example="90 1/hour")
    tolerance: float = quantity("mm", "of the width that enters the ferrule, either way", low=0.01, high=5, default=0.4)
    melt_temperature: float | None = quantity(
        "degC", "left empty, the table's", low=120, high=350, default=None, example="205 degC"
    )
    kept_each_pass: float = quantity(
        "%", "of the impact strength kept each time through the barrel, by test", low=20, high=100, default=95
    )
    presses: tuple[Press, ...] = rows(
        Press,
        "the presses there are",
        example="press 1 | 1200 kN | 450 cm**3 | 420 mm; press 2 | 2500 kN | 1200 cm**3 | 610 mm",
    )
    injection_rate: float = quantity("cm**3/s", "melt the press injects", low=1, high=5000, default=120)
    coating: str = choice(COATING_NAMES, "what is in the vat", default="nitrocellulose lacquer")
    coats: int = whole("number of coats; three are common practice", low=1, high=8, default=3, example="3")
    build_wanted: float = quantity("um", "dry film of all coats together", low=1, high=1000, default=40)
    vat_length: float = quantity("mm", "inside", low=100, high=10000, default=1400, example="1400 mm")
    vat_width: float = quantity("mm", "inside", low=60, high=3000, default=260, example="260 mm")
    air_temperature: float = quantity("degC", "where handles hang", low=5, high=80, default=22)
    air_speed: float = quantity("m/s", "past the handles", low=0, high=5, default=0.5)
    air_given: float | None = quantity(
        "m**3/hour", "extraction there is; may be left empty", low=1, high=1e6, default=None
    )
    rack_handles: int = whole("handles a rack; thirty are common practice", low=1, high=2000, default=30, example="30")
    racks: int = whole("racks there are", low=1, high=100000, default=60, example="60")

    def __post_init__(self) -> None:
        faults = outline_faults(self)
        resin = RESINS[self.resin]
        least = max(float(resin.solid_temperature), float(resin.ejection_temperature))
        if self.melt_temperature is not None and self.melt_temperature <= least:
            faults.append(
                Fault(
                    "melt temperature",
                    f"{self.melt_temperature - ZERO_CELSIUS:g} °C",
                    f"above the {least - ZERO_CELSIUS:g} °C at which {self.resin} sets",
                    "leave it empty for the table's",
                )
            )
        raise_any(faults)


def outline_of(handle: HandleChoice) -> dict[str, object]:
    """The outline's inputs by name."""
    return {field.name: getattr(handle, field.name) for field in fields_of(HandleOutline)}


def gate_for(thinnest: float) -> float:
    """Thickness of the gate: six tenths of the section it feeds, 0.8 to 4 mm. [m]

    Source: common practice, half to eight tenths of the wall.

    >>> round(gate_for(0.003) * 1e3, 9)
    1.8
    """
    return min(MOST_GATE, max(LEAST_GATE, GATE_SHARE * thinnest))


def even(cavities: int) -> int:
    """The next number of cavities that lies in two rows: 1, or even.

    >>> [even(k) for k in (1, 2, 5, 8)]
    [1, 2, 6, 8]
    """
    return 1 if cavities <= 1 else 2 * ceil(cavities / 2)


def compose_handle(handle: HandleChoice) -> tuple[Part, ...]:
    """Work out a handle from its top-level choice. Raises DesignError with the part named.

    Cavities: the fewest in two rows that keep pace; where no press takes that many, the most that one does.
    Withdrawal: the speed whose film dries to the build wanted and a tenth more. Lowering: free of bubbles.
    """
    shape = worked("Shape", HANDLE_SHAPE, **outline_of(handle), resin=handle.resin)
    size = worked(
        "Mould size",
        MOULD_SIZE,
        resin=handle.resin,
        part_length=handle.head_width,
        tolerance=handle.tolerance,
        wall=handle.wall if handle.wall is not None else min(handle.head_depth, 0.040),
        rib=0.0,
    )
    moulded = _mould(handle, shape)
    return (shape, size, *moulded, *_coat(handle, shape))


def _cooling(handle: HandleChoice, shape: Part) -> tuple[str, float, float | None]:
    if handle.wall is not None:
        return "plate", handle.wall, None
    if handle.section == "round":
        return "cylinder", shape["thickness"], None
    return "oval", shape["thickness"], shape["width"]


def _thinnest(handle: HandleChoice) -> float:
    if handle.wall is not None:
        return handle.wall
    depth = handle.head_width if handle.section == "round" else min(handle.head_depth, handle.grip_depth)
    return min(depth, handle.neck_width)


def _likely_cycle(handle: HandleChoice, shape: Part, gate: float) -> float:
    """Estimate of the cycle before the mould is laid out. [s]"""
    resin = RESINS[handle.resin]
    kind, thickness, width = _cooling(handle, shape)
    cooling = Cooling("bar" if kind == "oval" else kind, thickness, width or 0.0)  # type: ignore[arg-type]
    melt = float(resin.melt_temperature) if handle.melt_temperature is None else handle.melt_temperature
    mould = float(resin.mould_temperature)
    cooled = cooling.time(float(resin.diffusivity), melt, mould, float(resin.ejection_temperature), mean=True)
    pack = gate_freeze_time(gate, float(resin.diffusivity), melt, mould, float(resin.solid_temperature))
    return USUAL_FILL + max(pack, cooled) + OPEN_TIME


def _mould(handle: HandleChoice, shape: Part) -> tuple[Part, ...]:
    gate = gate_for(_thinnest(handle))
    cycle = _likely_cycle(handle, shape, gate)
    needed = min(MOST_CAVITIES, even(cavities_for(handle.handles_per_hour, cycle)))
    runner, filling, moulding, press = _largest_that_fits(handle, shape, gate, needed)
    kind, thickness, width = _cooling(handle, shape)
    cooling = worked(
        "Cooling",
        THICK_SECTION,
        resin=handle.resin,
        section_shape=kind,
        thickness=thickness,
        width=width,
        melt_temperature=handle.melt_temperature,
        pack_time=moulding["pack_time"],
    )
    regrind = worked("Regrind", REGRIND, regrind_share=moulding["regrind_share"], kept_each_pass=handle.kept_each_pass)
    return runner, filling, moulding, cooling, press, regrind


def _largest_that_fits(handle: HandleChoice, shape: Part, gate: float, needed: int) -> tuple[Part, Part, Part, Part]:
    """The mould with the cavities needed, or the most that a press takes; the former where none takes any."""
    wanted = parts = _in_mould(handle, shape, gate, needed)
    cavities = needed
    while not _press_suits(parts[-1]):
        cavities -= 2 if cavities > 2 else 1
        if cavities < 1:
            return wanted
        parts = _in_mould(handle, shape, gate, cavities)
    return parts


def _press_suits(part: Part) -> bool:
    return any(not press_faults(part.record, press) for press in part.record.presses)


def _in_mould(handle: HandleChoice, shape: Part, gate: float, cavities: int) -> tuple[Part, Part, Part, Part]:
    resin = RESINS[handle.resin]
    wide = max(handle.head_width, handle.grip_width)
    runner = worked(
        "Runner",
        RUNNER,
        resin=handle.resin,
        cavities=cavities,
        part_volume=shape["volume"],
        part_length=handle.length,
        part_width=wide,
        gate_thickness=gate,
    )
    mass = cavities * shape["mass"] + runner["runner_mass"]
    filling = worked(
        "Filling",
        FILLING,
        resin=handle.resin,
        cavities=cavities,
        shot_volume=mass / float(resin.melt_density),
        injection_rate=handle.injection_rate,
        flow_length=handle.length,
        wall=_thinnest(handle),
        gate_thickness=gate,
        gate_width=min(3 * gate, 0.5 * handle.head_width),
        melt_temperature=handle.melt_temperature,
    )
    moulding = worked(
        "Moulding",
        HANDLE_MOULDING,
        **outline_of(handle),
        resin=handle.resin,
        cavities=cavities,
        runner_volume=runner["runner_volume"],
        runner_area=runner["runner_area"],
        melt_temperature=handle.melt_temperature,
        gate_thickness=gate,
        injection_rate=handle.injection_rate,
        open_time=OPEN_TIME,
        demand_per_hour=handle.handles_per_hour,
    )
    press = worked(
        "Press",
        PRESS_CHOICE,
        resin=handle.resin,
        shot_mass=moulding["shot_mass"],
        clamp_force=moulding["clamp_force"],
        cycle_time=moulding["cycle_time"],
        mould_width=runner["mould_width"],
        presses=handle.presses,
    )
    return runner, filling, moulding, press


def withdrawal_for(coating: str, coats: int, build: float) -> float:
    """Withdrawal speed whose film, dry and of all coats, is a build and a tenth more. [m/s]

    Landau and Levich solved for the speed at the viscosity of its own shear, by repetition.
    coating  a name of the table; coats; build dry film of all coats [m]

    >>> round(withdrawal_for("nitrocellulose lacquer", 3, 40e-6) * 1e3, 2)
    1.88
    """
    known = COATINGS[coating]
    tension, density = float(known.surface_tension), float(known.density)
    wet = BUILD_MARGIN * build / coats / float(known.solids_volume)
    speed = 1e-3
    for _ in range(40):
        viscosity = shear_viscosity(float(known.viscosity), float(known.flow_index), speed, tension, density)
        speed = speed_for_film(wet, viscosity, tension, density)
    return speed


def _coat(handle: HandleChoice, shape: Part) -> tuple[Part, ...]:
    coating = COATINGS[handle.coating]
    tension, density = float(coating.surface_tension), float(coating.density)
    up = min(0.050, max(5e-5, withdrawal_for(handle.coating, handle.coats, handle.build_wanted)))
    thick = shear_viscosity(float(coating.viscosity), float(coating.flow_index), up, tension, density)
    down = min(0.030, max(0.5e-3, 0.8 * ENTRAINMENT_SHARE * entrainment_speed(thick)))
    wide = max(handle.head_width, handle.grip_width)
    deep = handle.grip_width if handle.section == "round" else max(handle.head_depth, handle.grip_depth)
    beside = max(1, int(BAR_ROOM * handle.vat_length / (BAR_PITCH * wide)))
    lines = max(1, int(BAR_ROOM * handle.vat_width / (2.5 * deep)))
    bar = min(beside * lines, 2000)
    coats = worked(
        "Coats",
        HANDLE_COATS,
        **outline_of(handle),
        coating=handle.coating,
        coats=handle.coats,
        withdrawal_speed=up,
        lowering_speed=down,
        bar_handles=bar,
        build_wanted=handle.build_wanted,
        rack_handles=handle.rack_handles,
    )
    dipped = shape["dipped_length"]
    drainage = worked(
        "Draining",
        DRAINAGE,
        coating=handle.coating,
        coated_length=dipped,
        withdrawal_speed=up,
        lowering_speed=down,
        set_time=max(1.0, SET_SHARE * float(coating.flash_off)),
    )
    band = 0.006
    vat = worked(
        "Vat",
        VAT,
        coating=handle.coating,
        length=handle.vat_length,
        width=handle.vat_width,
        level=dipped + FOOT_ROOM + band + 0.004,
        level_band=band,
        bar_handles=bar,
        handle_dipped=shape["dipped_volume"],
        coat_each=coats["coating_mass"] / handle.coats,
        bars_per_hour=max(0.1 / 3600, handle.handles_per_hour * handle.coats / bar),
        dipped_length=dipped,
        handle_width=min(wide, 0.2),
    )
    line = worked(
        "Coat line",
        COAT_LINE,
        coating=handle.coating,
        handles_per_hour=handle.handles_per_hour,
        coats=handle.coats,
        coating_each=coats["coating_mass"] - coats["drip_mass"],
        air_temperature=handle.air_temperature,
        air_speed=handle.air_speed,
        rack_handles=handle.rack_handles,
        racks=handle.racks,
    )
    if not coating.solvent:
        return coats, drainage, vat, line
    air = worked(
        "Drying air",
        DRYING_AIR,
        solvent=coating.solvent,
        solvent_rate=line["volatile_rate"] + vat["solvent_lost"],
        air_temperature=handle.air_temperature,
        air_given=handle.air_given,
    )
    return coats, drainage, vat, line, air


HANDLE_SHEET = DesignSheet(
    name="handle",
    title="Handle, from resin to the last coat",
    line="handle",
    about=(
        "A handle from its outline and the output wanted: mould, runner, filling, cycle, cooling, press and regrind, "
        "then coats, draining, vat, racks and air. Cavities are the fewest in two rows that keep pace on a press there is."
    ),
    inputs=HandleChoice,
    compose=compose_handle,
    headline=(
        ("Shape", "mass"),
        ("Runner", "runner_mass"),
        ("Moulding", "cooling_time"),
        ("Moulding", "cycle_time"),
        ("Moulding", "cavities_needed"),
        ("Moulding", "clamp_force"),
        ("Press", "clamp"),
        ("Coats", "dry_build"),
        ("Coats", "coating_mass"),
        ("Coat line", "flash_off_time"),
        ("Coat line", "racks_needed"),
        ("Drying air", "air_flow"),
    ),
)
