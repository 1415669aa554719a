"""The vat: how far handles raise it, what each bar takes out, when to top up, how it thickens."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.errors import DesignError, Fault
from naptuft.handle.coats import VAPOUR_CAUTION, WET_CAUTION
from naptuft.materials.coating import COATING_NAMES, COATINGS, SOLVENTS
from naptuft.materials.property import COMMON_PRACTICE

BALANCE = "volume and mass balance"
LEAST_LOSS = 1e-9


@dataclass(frozen=True)
class Vat:
    """A vat and the bars that go through it."""

    coating: str = choice(COATING_NAMES, "what is in the vat", default="nitrocellulose lacquer")
    length: float = quantity("mm", "inside", low=50, high=10000, example="1400 mm")
    width: float = quantity("mm", "inside", low=30, high=3000, example="260 mm")
    level: float = quantity("mm", "depth of coating when full", low=30, high=2000, example="220 mm")
    freeboard: float = quantity("mm", "from the full level to the edge", low=5, high=500, default=40)
    level_band: float = quantity("mm", "how far the level may fall before topping up", low=0.5, high=200, default=6)
    bar_handles: int = whole("handles dipped at once", low=1, high=2000, default=60, example="60")
    handle_dipped: float = quantity(
        "cm**3", "volume of one handle below the surface", low=0.1, high=2000, example="52 cm**3"
    )
    coat_each: float = quantity("g", "coating one handle takes out in one coat", low=0.01, high=200, example="0.83 g")
    bars_per_hour: float = quantity("1/hour", "bars through the vat", low=0.1, high=2000, default=25)
    evaporation: float = quantity(
        "g/m**2/hour", "solvent lost from the open surface, by weighing a dish", low=0, high=20000, default=400
    )
    solids_rise: float = quantity("%", "rise of solids by mass allowed before thinning", low=0.05, high=20, default=1)


def level_rise(volume: float, length: float, width: float) -> float:
    """How far a volume pushed under raises the level. [m]

    >>> round(level_rise(60 * 52e-6, 1.4, 0.26) * 1e3, 2)
    8.57
    """
    return volume / (length * width)


def bars_between_top_ups(band: float, length: float, width: float, taken: float) -> int:
    """Whole bars until the level has fallen by a band; at least 1.

    band [m]; length, width [m]; taken volume of coating each bar takes out [m**3]

    >>> bars_between_top_ups(0.006, 1.4, 0.26, 52e-6)
    42
    """
    return max(1, floor(band * length * width / taken + 1e-9))


def thickening_time(mass: float, solids: float, rise: float, evaporated: float) -> float:
    """Time until evaporation alone has raised the solids by a share of mass. [s]

    S/(S + rise) = 1 - loss/mass, so t = mass (rise/(solids + rise)) / rate
    mass [kg]; solids a share of mass; rise of that share; evaporated [kg/s]
    Raises DesignError when nothing evaporates.
    Source: mass balance, the solids stay.

    >>> round(thickening_time(100.0, 0.30, 0.01, 1e-4) / 3600, 2)
    8.96
    """
    if not evaporated > 0:
        raise DesignError(Fault("evaporation", evaporated, "above 0", "weigh a dish for an hour"))
    return mass * rise / (solids + rise) / evaporated


def run_vat(vat: Vat) -> Result:
    """Work out a vat."""
    coating = COATINGS[vat.coating]
    density = float(coating.density)
    rise = level_rise(vat.bar_handles * vat.handle_dipped, vat.length, vat.width)
    held = vat.length * vat.width * vat.level * density
    taken = vat.bar_handles * vat.coat_each
    bars = bars_between_top_ups(vat.level_band, vat.length, vat.width, taken / density)
    lost = vat.evaporation * vat.length * vat.width
    values = [
        Value("level_rise", "rise as a bar goes under", rise, "mm"),
        Value("coating_held", "coating in the full vat", held, "kg"),
        Value("bar_takes", "coating a bar takes out", taken, "g"),
        Value("bars_between_top_ups", "bars between top-ups", float(bars), ""),
        Value("top_up", "coating of each top-up", bars * taken, "kg"),
        Value("turnover", "time in which the vat's coating is used up", held / (taken * vat.bars_per_hour), "hour"),
        Value("solvent_lost", "lost from the open surface", lost, "kg/hour"),
    ]
    steps = [
        Step("rise", "handles × volume / surface", rise, "mm", BALANCE),
        Step("bars between top-ups", "band × surface / volume a bar takes", float(bars), "", BALANCE),
    ]
    if lost > LEAST_LOSS:
        thick = thickening_time(held, float(coating.solids_mass), vat.solids_rise, lost)
        values.append(Value("thinning_due", "thinning due after, standing open", thick, "hour"))
        steps.append(Step("thinning", "mass × rise/(solids + rise) / loss", thick, "hour", BALANCE))
    checks = (
        Check(
            "rise against the freeboard",
            rise,
            0.5 * vat.freeboard,
            "at most",
            "mm",
            f"{COMMON_PRACTICE}: half the freeboard",
            "fill less, dip fewer handles or widen the vat",
        ),
    )
    remarks = ()
    if coating.solvent:
        limit = float(SOLVENTS[coating.solvent].lower_limit) * 100
        remarks = (f"Cover the vat when it stands; {coating.solvent} burns from {limit:.2g} % in air.",)
    cautions = (VAPOUR_CAUTION, WET_CAUTION) if coating.solvent else (WET_CAUTION,)
    return Result(tuple(values), checks, tuple(steps), cautions, remarks)


VAT = Calculation(
    name="vat",
    title="Vat level and top-up",
    line="handle",
    about="How far a bar of handles raises the vat, what it takes out, when to top up and when to thin.",
    inputs=Vat,
    run=run_vat,
)
