"""The wait for glue to cure on wound tubes: how long by temperature, and the racks it takes."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity, rows, whole
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE

_RULE = f"rate by ten degrees, measured on the glue; twice in ten is {COMMON_PRACTICE}"
_LITTLE = "Little, A Proof for the Queuing Formula L = λW, Operations Research 9 (1961) 383-387 (from memory)"
_DAY = 86_400.0
CAUTIONS = (
    Caution(
        "Vapour from glue that dries in racks",
        "extract air from the curing place, keep ignition sources away from solvent glue, never warm it over a flame",
        "29 CFR 1910.1200, 1910.94 and 1910.106",
    ),
    Caution(
        "Tall loaded racks and carried tubes",
        "load the bottom first, lock the castors, stay within lifting limits",
        "29 CFR 1910.22",
    ),
)


def cure_time(time: float, reference: float, temperature: float, factor: float = 2.0) -> float:
    """Time a glue needs at a temperature, t·k^((T₀ − T)/10). [s]

    time         needed at the reference temperature [s]
    reference    T₀ [K]; temperature T [K]
    factor       k, how many times as fast it goes for each ten kelvin
    Valid for:   some 15 K about the reference; a factor of 2 is the activation energy 51 kJ/mol at 25 °C.

    >>> round(cure_time(8 * 3600, 293.15, 303.15) / 3600, 6)
    4.0
    """
    return time * factor ** ((reference - temperature) / 10)


def cured_share(stretches: tuple[tuple[float, float], ...], time: float, reference: float, factor: float) -> float:
    """Share of the cure done over stretches at different temperatures, Σ Δt/t(T).

    stretches  (temperature [K], how long [s]), in order; other parameters as for `cure_time`
    Source: additive shares, as in Miner's rule.

    >>> cured_share(((293.15, 4 * 3600.0), (303.15, 2 * 3600.0)), 8 * 3600, 293.15, 2.0)
    1.0
    """
    return sum(length / cure_time(time, reference, temperature, factor) for temperature, length in stretches)


def time_to_cure(
    stretches: tuple[tuple[float, float], ...], time: float, reference: float, factor: float, start: float = 0.0
) -> float:
    """Wait until cured when the stretches of temperature repeat without end, from `start` on. [s]

    start  how far into the stretches the wait begins [s]

    >>> round(time_to_cure(((293.15, 43200.0), (283.15, 43200.0)), 8 * 3600, 293.15, 2.0, 36000.0) / 3600, 6)
    14.0
    """
    round_trip = sum(length for _, length in stretches)
    whole_share = cured_share(stretches, time, reference, factor)
    turns = int(1 / whole_share)
    left, waited = 1 - turns * whole_share, turns * round_trip
    into = start % round_trip
    for temperature, length in stretches + stretches:
        here = length - into
        if here <= 0:
            into -= length
            continue
        needed = left * cure_time(time, reference, temperature, factor)
        if needed <= here:
            return waited + needed
        left -= here / cure_time(time, reference, temperature, factor)
        waited += here
        into = 0.0
    return waited


def tubes_across(width: float, diameter: float, clearance: float) -> int:
    """Tubes side by side in a width, a clearance between neighbours, ⌊(W + c)/(d + c)⌋.

    >>> tubes_across(0.60, 0.070, 0.010)
    7
    """
    return int((width + clearance) / (diameter + clearance) + 1e-9)


def winding_within(held: float, winding: float) -> float:
    """Most winding that falls into a stretch of so long, when each day winds so long at a go. [s]

    held     length of the stretch [s]
    winding  winding in each day [s]

    >>> winding_within(10 * 3600, 16 * 3600) / 3600, winding_within(30 * 3600, 16 * 3600) / 3600
    (10.0, 22.0)
    """
    days, rest = divmod(held, _DAY)
    return days * winding + min(rest, winding)


def mean_held(rate: float, held: float) -> float:
    """Tubes held at a time, L = λW.

    rate  tubes by time, over the whole day [1/s]; held  time each is held [s]

    >>> mean_held(45 / 3600, 8 * 3600)
    360.0
    """
    return rate * held


@dataclass(frozen=True)
class Warmth:
    """A stretch of the day at one temperature."""

    temperature: float = quantity("degC", "temperature of the curing place", low=-10, high=90, example="20 degC")
    duration: float = quantity("h", "how long it stays so", low=0.1, high=24, example="16 h")


@dataclass(frozen=True)
class CureRack:
    """Glue, curing place, racks and the winder that fills them."""

    cure_time: float = quantity(
        "h", "time the glue needs at its reference temperature", low=0.01, high=200, default=8, example="8 h"
    )
    reference: float = quantity(
        "degC", "temperature that time is given for", low=-10, high=90, default=20, label="reference temperature"
    )
    factor: float = quantity(
        "", "how many times as fast for each ten degrees warmer", low=1, high=5, default=2, label="rate by ten degrees"
    )
    coldest: float = quantity(
        "degC", "coldest the glue may cure at; dispersions do not form a film below", low=-20, high=60, default=10
    )
    hottest: float = quantity("degC", "hottest the core and glue may be kept at", low=0, high=120, default=60)
    day: tuple[Warmth, ...] = rows(
        Warmth,
        "how warm the curing place is through the day, from the start of winding",
        example="20 degC | 16 h; 15 degC | 8 h",
    )
    output: float = quantity("1/h", "tubes wound in an hour", low=0.1, high=5000, example="40 1/h")
    winding_hours: float = quantity(
        "h", "hours of winding in a day", low=0.1, high=24, default=16, example="16 h", label="winding time in a day"
    )
    tube_diameter: float = quantity("mm", "outside diameter of a tube with its pile", low=5, high=300, example="70 mm")
    clearance: float = quantity("mm", "air between neighbouring tubes", low=0, high=200, default=10, example="10 mm")
    rack_width: float = quantity("mm", "clear width of a shelf", low=20, high=5000, example="640 mm")
    shelves: int = whole("shelves of a rack", low=1, high=100, example="6")
    racks: int = whole("racks there are", low=1, high=10_000, example="14")
    unloading_time: float = quantity(
        "min", "from the end of the cure until a rack is empty and back", low=0, high=1440, default=20
    )

    def __post_init__(self) -> None:
        faults = []
        total = sum(part.duration for part in self.day)
        if abs(total - _DAY) > 1.0:
            faults.append(
                Fault(
                    "day",
                    f"{total / 3600:g} h",
                    "24 h in all",
                    "add a stretch, or make one longer or shorter",
                )
            )
        if tubes_across(self.rack_width, self.tube_diameter, self.clearance) < 1:
            faults.append(
                Fault(
                    "rack width",
                    f"{self.rack_width * 1e3:g} mm",
                    f"at least {self.tube_diameter * 1e3:g} mm, one tube",
                    "use a wider rack",
                )
            )
        if self.coldest >= self.hottest:
            faults.append(
                Fault("coldest", f"{self.coldest - 273.15:g} °C", "below the hottest", "exchange or correct the limits")
            )
        if faults:
            raise DesignError(*faults)

    @property
    def stretches(self) -> tuple[tuple[float, float], ...]:
        """The day as (temperature [K], how long [s])."""
        return tuple((part.temperature, part.duration) for part in self.day)


def _longest(design: CureRack) -> float:
    """The longest wait of any tube wound in the day.

    The wait is piecewise linear in its start, with corners only where it begins or ends at a change of warmth.
    """
    stretches = design.stretches
    edges = [sum(length for _, length in stretches[:place]) for place in range(len(stretches))]
    backwards = stretches[::-1]
    starts = [0.0, design.winding_hours, *edges]
    for edge in edges:
        before = time_to_cure(backwards, design.cure_time, design.reference, design.factor, _DAY - edge)
        starts.append((edge - before) % _DAY)
    return max(
        time_to_cure(stretches, design.cure_time, design.reference, design.factor, start)
        for start in starts
        if start <= design.winding_hours
    )


def _work_out(design: CureRack) -> Result:
    per_rack = tubes_across(design.rack_width, design.tube_diameter, design.clearance) * design.shelves
    wait = _longest(design)
    filling = per_rack / design.output
    held = filling + wait + design.unloading_time
    tubes = design.output * winding_within(held, design.winding_hours)
    racks = ceil(tubes / per_rack - 1e-9)
    cold, hot = min(t for t, _ in design.stretches), max(t for t, _ in design.stretches)
    return Result(
        values=(
            Value("cure_wait", "longest wait of any tube", wait, "h"),
            Value(
                "cure_steady",
                "wait at the reference temperature",
                design.cure_time,
                "h",
            ),
            Value("cured_in_a_day", "cures a day of this warmth could do", _day_share(design)),
            Value("per_rack", "tubes on a rack", per_rack),
            Value("filling_time", "time to fill a rack", filling, "min"),
            Value("held_time", "time a rack is taken up", held, "h"),
            Value("tubes_held", "most tubes' worth of racks taken up at a time", tubes),
            Value("racks_needed", "racks needed, the one being filled among them", racks),
            Value("tubes_a_day", "tubes wound in a day", design.output * design.winding_hours),
            Value(
                "mean_held",
                "tubes on racks, mean over the day",
                mean_held(design.output * design.winding_hours / _DAY, held),
            ),
        ),
        checks=(
            Check("racks", design.racks, racks, "at least", "", _LITTLE, "add racks, warm the place or wind less"),
            Check(
                "coldest of the day",
                cold,
                design.coldest,
                "at least",
                "degC",
                "limit given",
                "warm the curing place",
            ),
            Check("hottest of the day", hot, design.hottest, "at most", "degC", "limit given", "cool the place"),
        ),
        steps=(
            Step("wait at the coldest", "t·k^((T₀ − T)/10)", _steady(design, cold), "h", _RULE),
            Step("wait at the hottest", "t·k^((T₀ − T)/10)", _steady(design, hot), "h", _RULE),
            Step("longest wait", "until Σ Δt/t(T) = 1, from the worst start", wait, "h", "additive shares of cure"),
            Step("tubes on a rack", "⌊(W + c)/(d + c)⌋·shelves", per_rack, "", "geometry"),
            Step("time a rack is taken up", "fill + wait + unload", held, "h", "time balance of a rack"),
            Step("tubes' worth of racks at the busiest", "λ · (winding within W)", tubes, "", _LITTLE),
            Step("racks", "⌈tubes / per rack⌉", racks, "", _LITTLE),
        ),
        cautions=CAUTIONS,
        remarks=_remarks(design, wait),
    )


def _steady(design: CureRack, temperature: float) -> float:
    return cure_time(design.cure_time, design.reference, temperature, design.factor)


def _day_share(design: CureRack) -> float:
    return cured_share(design.stretches, design.cure_time, design.reference, design.factor)


def _remarks(design: CureRack, wait: float) -> tuple[str, ...]:
    remarks = []
    if wait < 8 * 3600 - 1:
        remarks.append(f"Eight hours in the rack is {COMMON_PRACTICE}; this is {wait / 3600:.1f} h.")
    far = max(abs(temperature - design.reference) for temperature, _ in design.stretches)
    if far > 15:
        remarks.append(f"The rate by ten degrees is stretched over {far:.0f} K; measure the glue at that temperature.")
    return tuple(remarks)


def draw_cure(design: CureRack, result: Result) -> str:
    """A rack seen from its end, to scale, with its tubes."""
    width, tube, gap = design.rack_width * 1e3, design.tube_diameter * 1e3, design.clearance * 1e3
    pitch = tube + max(gap, tube / 4)
    across = tubes_across(design.rack_width, design.tube_diameter, design.clearance)
    drawing = Drawing(f"a rack of {result['per_rack']:g} tubes", height=120)
    start = (width - across * tube - (across - 1) * gap) / 2
    for shelf in range(design.shelves):
        y = shelf * pitch
        drawing.line((0, y + tube), (width, y + tube), "outline")
        for place in range(across):
            x = start + place * (tube + gap) + tube / 2
            drawing.circle((x, y + tube / 2), tube / 2, "detail", hatch="dots")
    foot = (design.shelves - 1) * pitch + tube
    drawing.line((0, -tube / 4), (0, foot), "outline")
    drawing.line((width, -tube / 4), (width, foot), "outline")
    drawing.dimension((0, foot), (width, foot), f"{width:g} mm", offset=6)
    drawing.dimension((width, 0), (width, tube), f"{tube:g} mm", offset=-6)
    return drawing.svg()


CURE_RACK = Calculation(
    name="cure-racks",
    title="Cure and racks",
    line="roller",
    about="How long wound tubes wait for their glue by the warmth of the day, and the racks that takes.",
    inputs=CureRack,
    run=_work_out,
    draw=draw_cure,
)
