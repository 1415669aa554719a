"""The finishing line as a whole: racks full of waiting handles, solvent given off, air it needs, drying by weather."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, exp, sqrt

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.drawing import Graph, stacked
from naptuft.errors import DesignError, Fault
from naptuft.handle.coats import VAPOUR_CAUTION, WET_CAUTION
from naptuft.handle.drying_air import GAS_CONSTANT, dilution_air
from naptuft.handle.drying_air import SOURCE as AIR_SOURCE
from naptuft.handle.finishing import racks_waiting, volatile_mass
from naptuft.materials.coating import COATING_NAMES, COATINGS, SOLVENTS
from naptuft.materials.property import COMMON_PRACTICE

ROOM = 293.15
STILL_AIR = 0.1
REFERENCE_AIR = 0.5
LITTLE = "Little, Operations Research 9 (1961) 383: L = λW"
WEATHER = (
    "vapour pressure by Clausius and Clapeyron; film transfer with the root of air speed, laminar plate (from memory)"
)
# Heat of evaporation, kJ/mol at 25 degC; CRC Handbook of Chemistry and Physics (from memory). Water 44.0.
EVAPORATION = {
    "toluene": 38.0,
    "xylene": 42.4,
    "acetone": 31.0,
    "n-butyl acetate": 43.6,
    "methyl ethyl ketone": 34.8,
    "ethanol": 42.3,
    "white spirit": 46.0,
    "": 44.0,
}


@dataclass(frozen=True)
class CoatLine:
    """A line that coats handles several times and hangs them to dry in between."""

    coating: str = choice(COATING_NAMES, "what is in the vats", default="nitrocellulose lacquer")
    handles_per_hour: float = quantity("1/hour", "handles finished", low=1, high=1e5, example="600")
    coats: int = whole("number of coats", low=1, high=8, default=3, example="3")
    coating_each: float = quantity(
        "g", "wet coating on one handle, all coats, drips left out", low=0.05, high=500, default=2.3
    )
    flash_off: float | None = quantity(
        "min", "between coats at 20 °C; left empty, the table's", low=0.5, high=1440, default=None
    )
    cure: float | None = quantity(
        "hour", "after the last coat at 20 °C; left empty, the table's", low=0.1, high=240, default=None
    )
    air_temperature: float = quantity("degC", "where handles hang", low=5, high=80, default=20)
    air_speed: float = quantity("m/s", "past the handles", low=0, high=5, default=0.5)
    humidity: float = quantity("%", "relative, slows water only", low=0, high=95, default=50)
    rack_handles: int = whole("handles a rack", low=1, high=2000, default=30, example="30")
    racks: int = whole("racks there are", low=1, high=100000, default=400, example="400")
    safety_factor: float = quantity("", "times below the lower explosive limit", low=4, high=100, default=10)
    air_given: float | None = quantity(
        "m**3/hour", "extraction there is; may be left empty", low=1, high=1e6, default=None
    )


def drying_speed(heat_per_mol: float, temperature: float, air_speed: float) -> float:
    """How much faster a film dries than at 20 degC in air moving at 0.5 m/s.

    exp[-(L/R)(1/T - 1/293.15)] sqrt(v/0.5), still air counted as 0.1 m/s
    heat_per_mol  heat of evaporation L [J/mol]; temperature [K]; air_speed v [m/s]
    Valid for: the first, wet part of drying, which flash-off is; not for cure.
    Source: Clausius and Clapeyron; laminar transfer on a plate.

    >>> round(drying_speed(43.6e3, 303.15, 0.5), 2)
    1.8
    """
    return exp(-heat_per_mol / GAS_CONSTANT * (1 / temperature - 1 / ROOM)) * sqrt(
        max(air_speed, STILL_AIR) / REFERENCE_AIR
    )


def flash_off_time(reference: float, solvent: str, temperature: float, air_speed: float, humidity: float) -> float:
    """Wait between coats in the air there is. [s]

    reference  at 20 degC, air at 0.5 m/s, half-humid [s]
    solvent    its name; "" for water, whose drying also goes with (1 - humidity)/(1 - 0.5)
    Raises DesignError for water in air too humid to take any.

    >>> flash_off_time(900.0, "n-butyl acetate", 293.15, 0.5, 0.5)
    900.0
    """
    speed = drying_speed(EVAPORATION[solvent] * 1e3, temperature, air_speed)
    if not solvent:
        if humidity >= 0.95:
            raise DesignError(Fault("humidity", humidity, "below 95 % for water-borne coats", "dry or warm the air"))
        speed *= (1 - humidity) / 0.5
    return reference / speed


def run_line(line: CoatLine) -> Result:
    """Work out racks, drying and air of a finishing line."""
    coating = COATINGS[line.coating]
    rate = line.handles_per_hour
    reference = float(coating.flash_off) if line.flash_off is None else line.flash_off
    flash = flash_off_time(reference, coating.solvent, line.air_temperature, line.air_speed, line.humidity)
    cure = float(coating.cure) if line.cure is None else line.cure
    hanging = (line.coats - 1) * flash + cure
    racks = racks_waiting(rate, hanging, line.rack_handles)
    most = line.racks * line.rack_handles / hanging
    solvent_rate = rate * volatile_mass(line.coating_each, float(coating.solids_mass))
    values = [
        Value("flash_off_time", "wait between coats, in this air", flash, "min"),
        Value("hanging_time", "hanging in all", hanging, "hour"),
        Value("racks_needed", "racks in use", float(racks), ""),
        Value("most_handles", "handles an hour the racks allow", most, "1/hour"),
        Value("trips", "rack loadings an hour", ceil(rate * 3600 * line.coats / line.rack_handles) / 3600, "1/hour"),
        Value("volatile_rate", "given off as coats dry", solvent_rate, "kg/hour"),
    ]
    steps = [
        Step("wait between coats", "table / (p(T)/p(20 °C) √(v/0.5))", flash, "min", WEATHER),
        Step("racks", "rate × hanging time / handles a rack", float(racks), "", LITTLE),
    ]
    checks = [
        Check(
            "racks in use",
            float(racks),
            float(line.racks),
            "at most",
            "",
            LITTLE,
            "hang fewer handles an hour, warm the air or add racks",
        )
    ]
    if coating.solvent:
        vapour = SOLVENTS[coating.solvent]
        air = dilution_air(
            solvent_rate,
            float(vapour.molar_mass),
            float(vapour.lower_limit),
            line.safety_factor,
            line.air_temperature,
            flow_temperature=line.air_temperature,
        )
        values.append(Value("air_flow", "air needed against fire", air, "m**3/hour"))
        steps.append(Step("air", "V · C/(LEL · B)", air, "m**3/hour", AIR_SOURCE))
        if line.air_given is not None:
            checks.append(
                Check(
                    "air flow", line.air_given, air, "at least", "m**3/hour", AIR_SOURCE, "extract more or coat slower"
                )
            )
    remarks = (
        f"Cure is left at its 20 °C figure whatever the air: {COMMON_PRACTICE}; test it warm before counting on less.",
    )
    cautions = (VAPOUR_CAUTION, WET_CAUTION) if coating.solvent else (WET_CAUTION,)
    return Result(tuple(values), tuple(checks), tuple(steps), cautions, remarks)


def draw_line(line: CoatLine, result: Result) -> str:
    """A handle's way through the line, coat by coat, and how the wait between coats goes with the air's warmth."""
    coating = COATINGS[line.coating]
    reference = float(coating.flash_off) if line.flash_off is None else line.flash_off
    warmth = Graph("wait between coats", "air where handles hang, °C", "wait between coats, min", height=76)
    celsius = sorted({*range(10, 61, 2), line.air_temperature - 273.15})
    for speed, style in ((line.air_speed, "outline"), (2 * max(line.air_speed, STILL_AIR), "second")):
        warmth.curve(
            [(c, flash_off_time(reference, coating.solvent, c + 273.15, speed, line.humidity) / 60) for c in celsius],
            f"air at {speed:.2g} m/s",
            style,
        )
    warmth.upright(line.air_temperature - 273.15, f"{result['flash_off_time'] / 60:.1f} min")
    needed = Graph("racks against output", "handles an hour", "racks in use", height=70)
    hanging = result["hanging_time"]
    most = 1.6 * max(line.handles_per_hour, result["most_handles"])
    points = [most * k / 40 for k in range(41)]
    needed.curve([(rate * 3600, rate * hanging / line.rack_handles) for rate in points], "needed")
    needed.level(float(line.racks), "there are")
    needed.upright(line.handles_per_hour * 3600, f"{line.handles_per_hour * 3600:.0f} an hour")
    return stacked("finishing line", warmth.svg(), needed.svg())


COAT_LINE = Calculation(
    name="coat-line",
    title="Finishing line",
    line="handle",
    about="Racks a finishing line fills, how weather changes the wait between coats, solvent given off and air it needs.",
    inputs=CoatLine,
    run=run_line,
    draw=draw_line,
)
