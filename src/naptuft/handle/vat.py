"""The vat: how far handles raise it, what each bar takes out, when to top up, how it thickens."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.handle.coats import VAPOUR_CAUTION, WET_CAUTION
from naptuft.materials.coating import COATING_NAMES, COATINGS, SOLVENTS
from naptuft.materials.property import COMMON_PRACTICE

BALANCE = "volume and mass balance"
LEAST_LOSS = 1e-9
FOOT_ROOM = 0.020


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
    dipped_length: float | None = quantity(
        "mm", "of a handle below the surface, to judge the depth; may be left empty", low=5, high=600, default=None
    )
    handle_width: float = quantity("mm", "of a handle, for the drawing", low=3, high=200, default=30)
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
    if vat.dipped_length is not None:
        checks += (
            Check(
                "dipped length against the depth",
                vat.dipped_length,
                vat.level - vat.level_band - FOOT_ROOM,
                "at most",
                "mm",
                f"{COMMON_PRACTICE}: at the lowest level 20 mm stay below the handles for what settles",
                "fill higher, top up sooner or use a deeper vat",
            ),
        )
    remarks = ()
    if coating.solvent:
        limit = float(SOLVENTS[coating.solvent].lower_limit) * 100
        remarks = (f"Cover the vat when it stands; {coating.solvent} burns from {limit:.2g} % in air.",)
    cautions = (VAPOUR_CAUTION, WET_CAUTION) if coating.solvent else (WET_CAUTION,)
    return Result(tuple(values), checks, tuple(steps), cautions, remarks)


def draw_vat(vat: Vat, result: Result) -> str:
    """Long section of the vat with a bar of handles under, to scale."""
    length, level, rise = vat.length * 1e3, vat.level * 1e3, result["level_rise"] * 1e3
    deep = level + vat.freeboard * 1e3
    drawing = Drawing(f"vat with a bar of {vat.bar_handles} handles", width=170, height=110)
    drawing.path([(0, -deep), (0, 0), (length, 0), (length, -deep)], hint="vat")
    drawing.rectangle(0, -level, length, level, "hatch", hatch="dots", hint=f"{result['coating_held']:.3g} kg")
    drawing.line((0, -level - rise), (length, -level - rise), "accent", hint=f"rises {rise:.2f} mm with the bar under")
    drawing.line((0, -level + vat.level_band * 1e3), (length, -level + vat.level_band * 1e3), "second", hint="top up")
    dipped = vat.dipped_length * 1e3 if vat.dipped_length is not None else 0.7 * level
    surface = -level - rise
    wide = vat.handle_width * 1e3
    shown = max(1, min(vat.bar_handles, int(0.94 * length / (1.15 * wide))))
    pitch = 0.94 * length / shown
    bar = surface - 45
    drawing.rectangle(0.02 * length, bar - 8, 0.96 * length, 8, "detail", hint="bar")
    for k in range(shown):
        x = 0.03 * length + (k + 0.5) * pitch
        drawing.rectangle(x - wide / 2, bar, wide, surface + dipped - bar, "detail", fill="#FCFAF5", hint="handle")
    drawing.dimension((0, 0), (length, 0), f"{length:g} mm inside", offset=6)
    drawing.dimension((length, 0), (length, -level), f"{level:g} mm", offset=6)
    rows = -(-vat.bar_handles // shown)
    words = f"{vat.bar_handles} handles" + (f" in {rows} rows" if rows > 1 else "")
    drawing.text((length / 2, bar - 0.02 * length - 10), f"{words}; the level rises {rise:.1f} mm")
    return drawing.svg()


VAT = Calculation(
    name="vat",
    title="Vat level and top-up",
    line="handle",
    about="How far a bar of handles raises the vat, what it takes out, when to top up and when to thin.",
    inputs=Vat,
    run=run_vat,
    draw=draw_vat,
)
