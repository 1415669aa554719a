"""A formed wall cooling against its mould as it happens, and how the time goes with the mould's temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Graph
from naptuft.errors import DesignError, Fault
from naptuft.materials.conduction import water_flow
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.resin import ZERO_CELSIUS
from naptuft.materials.sheet import SHEET_NAMES, SHEETS
from naptuft.tray.design import CAUTIONS
from naptuft.tray.forming import one_side_cooling_time

if TYPE_CHECKING:
    from naptuft.materials.transient import Course

LONGER = 6
TRANSIENT_SOURCE = "finite volumes, contact on one face and air on the other, Patankar 1980 (from memory)"


@dataclass(frozen=True)
class TrayCooling:
    """A drawn wall on its mould."""

    sheet: str = choice(SHEET_NAMES, "sheet material", default="HIPS")
    wall: float = quantity("mm", "thickest wall on the mould, often the rim", low=0.05, high=12, example="1.2 mm")
    sheet_temperature: float | None = quantity(
        "degC", "as it meets the mould; left empty, the table's", low=60, high=260, default=None
    )
    mould_temperature: float | None = quantity("degC", "left empty, the table's", low=0, high=140, default=None)
    release_temperature: float | None = quantity(
        "degC", "mean, at which it keeps its shape; left empty, the table's", low=20, high=200, default=None
    )
    contact: float = quantity("W/m**2/K", "heat transfer into the mould", low=20, high=1e5, default=800)
    air_film: float = quantity(
        "W/m**2/K", "heat transfer into the air: still 10, blown 30, with mist 100", low=1, high=400, default=25
    )
    air_temperature: float = quantity("degC", "of the air", low=-10, high=80, default=25)
    shot_mass: float = quantity("g", "sheet of one shot, to work out the water", low=1, high=20000, example="480 g")
    cycle_time: float = quantity("s", "shot to shot", low=1, high=600, example="38 s")
    water_rise: float = quantity("K", "rise of the cooling water", low=0.5, high=30, default=3)

    @property
    def temperatures(self) -> tuple[float, float, float]:
        """Sheet, mould and release temperature used. [K]"""
        sheet = SHEETS[self.sheet]
        given = (self.sheet_temperature, self.mould_temperature, self.release_temperature)
        usual = (sheet.forming_temperature, sheet.mould_temperature, sheet.set_temperature)
        return tuple(float(u) if g is None else g for g, u in zip(given, usual, strict=True))  # type: ignore[return-value]

    def __post_init__(self) -> None:
        hot, mould, release = self.temperatures
        if not mould < release < hot:
            raise DesignError(
                Fault(
                    "release temperature",
                    f"{release - ZERO_CELSIUS:g} °C",
                    f"between the mould ({mould - ZERO_CELSIUS:g} °C) and the sheet ({hot - ZERO_CELSIUS:g} °C)",
                    "cool the mould further or release warmer",
                )
            )


def cooling_course(cooling: TrayCooling, mould: float, end_time: float) -> Course:
    """Temperatures through the wall, the face on the mould first."""
    from naptuft.materials.transient import Face, HeatContent, conduct

    sheet = SHEETS[cooling.sheet]
    return conduct(
        cooling.wall,
        float(sheet.conductivity),
        HeatContent(float(sheet.density), float(sheet.specific_heat)),
        cooling.temperatures[0],
        (Face(cooling.contact, mould), Face(cooling.air_film, cooling.air_temperature)),
        end_time,
        cells=20,
        steps=60,
    )


def release_time(cooling: TrayCooling, mould: float) -> tuple[float, Course]:
    """When the mean wall is at its release temperature, and the course until then.

    Raises DesignError when the air holds it warmer than that for good.
    """
    sheet = SHEETS[cooling.sheet]
    hot, _, release = cooling.temperatures
    film = cooling.wall * float(sheet.density) * float(sheet.specific_heat) / cooling.contact
    end = 2 * one_side_cooling_time(cooling.wall, float(sheet.diffusivity), hot, mould, release) + 3 * film
    for _ in range(LONGER):
        course = cooling_course(cooling, mould, end)
        time = course.when(course.mean, release)
        if time is not None:
            return time, course
        end *= 3
    raise DesignError(
        Fault("contact", cooling.contact, "enough to cool the wall", "press the sheet firmer on, or cool the air")
    )


def run_cooling(cooling: TrayCooling) -> Result:
    """Work out the cooling of a formed wall."""
    sheet = SHEETS[cooling.sheet]
    hot, mould, release = cooling.temperatures
    time, course = release_time(cooling, mould)
    printed = one_side_cooling_time(cooling.wall, float(sheet.diffusivity), hot, mould, release)
    import numpy as np

    on_mould, free = (float(np.interp(time, course.times, course.temperatures[:, end])) for end in (0, -1))
    heat = cooling.shot_mass * float(sheet.specific_heat) * (hot - release)
    water = water_flow(heat / cooling.cycle_time, cooling.water_rise)
    cooler = release_time(cooling, mould - 10)[0]
    values = [
        Value("cooling_time", "until the mean may leave the mould", time, "s"),
        Value("handbook_time", "series, perfect contact, free face insulated", printed, "s"),
        Value("mould_face", "face on the mould then", on_mould, "degC"),
        Value("free_face", "free face then", free, "degC"),
        Value("cooler_mould_time", "with the mould 10 K cooler", cooler, "s"),
        Value("heat_out", "heat of one shot", heat, "kJ"),
        Value("water_flow", "cooling water for the mould", water, "l/min"),
    ]
    steps = (
        Step("cooling, as it happens", "ρc ∂T/∂t = k ∂²T/∂x², contact and air films", time, "s", TRANSIENT_SOURCE),
        Step("series", "4h²/(π²a) ln(8/π² (T0−Tw)/(Te−Tw))", printed, "s", "Carslaw and Jaeger 1959, section 3.3"),
        Step("heat", "mass × c × (T0 − Te)", heat, "kJ", "energy balance"),
        Step("water", "heat / cycle / (ρ c ΔT)", water, "l/min", "energy balance"),
    )
    checks = (
        Check(
            "free face when released",
            free,
            float(sheet.forming_temperature.low or hot),
            "at most",
            "degC",
            f"{COMMON_PRACTICE}: below the forming window, or it warps as it comes off",
            "cool longer or blow air on the free face",
        ),
        Check(
            "cooling inside the cycle",
            time,
            cooling.cycle_time,
            "at most",
            "s",
            "kinematics",
            "cool the mould further, or lengthen the cycle",
        ),
    )
    return Result(tuple(values), checks, steps, (*CAUTIONS, HOT_SHEET), ())


HOT_SHEET = Caution(
    "trays come off hot, and so do the mould's edges",
    "gloves and sleeves at the take-off; let the stack cool before packing",
    "29 CFR 1910.132",
)


def draw_cooling(cooling: TrayCooling, result: Result) -> str:
    """Cooling time against the temperature of the mould."""
    hot, mould, release = cooling.temperatures
    graph = Graph("cooling time against mould temperature", "mould, °C", "cooling, s")
    top = min(release - 6, hot - 6)
    low = min(mould, max(ZERO_CELSIUS + 5, release - 75))
    warmths = sorted({low + (top - low) * k / 6 for k in range(7)} | ({mould} if mould <= top else set()))
    graph.curve([(t - ZERO_CELSIUS, release_time(cooling, t)[0]) for t in warmths], "as it happens")
    sheet = SHEETS[cooling.sheet]
    printed = [
        (t - ZERO_CELSIUS, one_side_cooling_time(cooling.wall, float(sheet.diffusivity), hot, t, release))
        for t in warmths
    ]
    graph.curve(printed, "series", "second")
    graph.upright(mould - ZERO_CELSIUS, f"{result['cooling_time']:.1f} s")
    return graph.svg()


TRAY_COOLING = Calculation(
    name="tray-cooling",
    title="Cooling of a tray on its mould",
    line="tray",
    about="How long a formed tray stays on its mould, against the mould's temperature, contact and air, and the water it wants.",
    inputs=TrayCooling,
    run=run_cooling,
    draw=draw_cooling,
)
