"""Heating a sheet between radiant heaters as it happens, and how far it sags before it is formed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing, Graph, stacked
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.sheet import SHEET_NAMES, SHEETS
from naptuft.tray.design import CAUTIONS, HEATER_EMISSIVITY
from naptuft.tray.forming import exchange_emissivity, heating_time

if TYPE_CHECKING:
    from naptuft.materials.transient import Course

GRAVITY = 9.80665
ROOM = 293.15
SAG_LIMIT = 0.10
SAG_SOURCE = "shallow parabola under its own weight, elastic; Throne, Technology of Thermoforming, 1996 (from memory)"
TRANSIENT_SOURCE = "finite volumes with radiation and film on both faces, Patankar 1980 (from memory)"


@dataclass(frozen=True)
class SheetHeating:
    """A sheet in its oven."""

    sheet: str = choice(SHEET_NAMES, "sheet material", default="HIPS")
    sheet_thickness: float = quantity("mm", "before forming", low=0.2, high=12, example="1.2 mm")
    clamped_length: float = quantity("mm", "longer free side between the clamps", low=50, high=3000, example="680 mm")
    clamped_width: float = quantity("mm", "shorter free side between the clamps", low=50, high=3000, example="520 mm")
    upper_heater: float = quantity("degC", "temperature of the heaters above", low=100, high=900, default=400)
    lower_heater: float = quantity("degC", "temperature of the heaters below", low=100, high=900, default=400)
    oven_air: float = quantity("degC", "air beside the sheet", low=0, high=300, default=60)
    air_film: float = quantity("W/m**2/K", "heat transfer by the air", low=1, high=100, default=10)
    start_temperature: float = quantity("degC", "of the sheet as it comes", low=-10, high=120, default=20)
    sheet_temperature: float | None = quantity(
        "degC", "mean, when it is to be formed; left empty, the table's usual value", low=60, high=260, default=None
    )
    hot_modulus: float | None = quantity(
        "MPa",
        "of the hot sheet, for the sag; left empty, the table's order of magnitude",
        low=0.01,
        high=1000,
        default=None,
    )

    @property
    def formed_at(self) -> float:
        """Mean temperature wanted. [K]"""
        usual = float(SHEETS[self.sheet].forming_temperature)
        return usual if self.sheet_temperature is None else self.sheet_temperature

    def __post_init__(self) -> None:
        faults = []
        if not self.start_temperature < self.formed_at:
            faults.append(
                Fault(
                    "sheet temperature",
                    f"{self.formed_at - 273.15:g} °C",
                    f"above the {self.start_temperature - 273.15:g} °C it starts from",
                    "correct the temperatures",
                )
            )
        if max(self.upper_heater, self.lower_heater) <= self.formed_at + 20:
            faults.append(
                Fault(
                    "upper heater",
                    f"{self.upper_heater - 273.15:g} °C",
                    f"at least 20 K above the sheet's {self.formed_at - 273.15:g} °C, above or below",
                    "raise a heater",
                )
            )
        if self.clamped_width > self.clamped_length:
            faults.append(
                Fault(
                    "clamped width",
                    f"{self.clamped_width * 1e3:g} mm",
                    f"at most the clamped length, {self.clamped_length * 1e3:g} mm",
                    "give the shorter side as width",
                )
            )
        if faults:
            raise DesignError(*faults)


def sag_share(span: float, density: float, modulus: float) -> float:
    """Sag of a hot sheet over its free span; the thickness drops out.

    d/L = (3 rho g L/(64 E))^(1/3): tension rho g L^2/(8 d) against E times the stretch 8/3 (d/L)^2
    span L, the shorter one [m]; density [kg/m**3]; modulus E of the hot sheet [Pa]
    Valid for: shallow sag, below about a fifth; the sheet creeps further with time.
    Source: shallow parabola, elastic; Throne 1996 (from memory).

    >>> round(sag_share(0.52, 1050.0, 1.5e6), 4)
    0.0551
    """
    return (3 * density * GRAVITY * span / (64 * modulus)) ** (1 / 3)


def heating_course(heating: SheetHeating, end_time: float) -> Course:
    """Temperatures through the sheet, the upper face first."""
    from naptuft.materials.transient import Face, HeatContent, conduct

    sheet = SHEETS[heating.sheet]
    emissivity = exchange_emissivity(float(sheet.emissivity), HEATER_EMISSIVITY)
    upper, lower = (
        Face(heating.air_film, heating.oven_air, emissivity, heater)
        for heater in (heating.upper_heater, heating.lower_heater)
    )
    return conduct(
        heating.sheet_thickness,
        float(sheet.conductivity),
        HeatContent(float(sheet.density), float(sheet.specific_heat)),
        heating.start_temperature,
        (upper, lower),
        end_time,
    )


def run_heating(heating: SheetHeating) -> Result:
    """Work out the heating of a sheet."""
    import numpy as np

    sheet = SHEETS[heating.sheet]
    low, high = sheet.forming_temperature.low, sheet.forming_temperature.high
    assert low is not None
    assert high is not None
    thin = _lumped(heating)
    course = heating_course(heating, 4 * thin)
    time = course.when(course.mean, heating.formed_at)
    if time is None:
        raise DesignError(
            Fault("upper heater", heating.upper_heater - 273.15, "hot enough for the sheet", "raise both heaters")
        )
    upper, middle, lower = (
        float(np.interp(time, course.times, temperatures))
        for temperatures in (course.temperatures[:, 0], course.middle, course.temperatures[:, -1])
    )
    face, cold = max(upper, lower), min(upper, middle, lower)
    modulus = float(sheet.modulus) if heating.hot_modulus is None else heating.hot_modulus
    share = sag_share(heating.clamped_width, float(sheet.density), modulus)
    values = (
        Value("heating_time", "until the mean is at the forming temperature", time, "s"),
        Value("thin_sheet_time", "taken as one temperature throughout", thin, "s"),
        Value("upper_face", "upper face then", upper, "degC"),
        Value("middle", "middle then", middle, "degC"),
        Value("lower_face", "lower face then", lower, "degC"),
        Value("spread", "hottest less coldest", face - cold, "K"),
        Value("sag", "sag, first estimate", share * heating.clamped_width, "mm"),
        Value("sag_share", "sag over the shorter free side", share, "%"),
    )
    steps = (
        Step("heating", "ρc ∂T/∂t = k ∂²T/∂x², εσ(Th⁴−T⁴) + f(Ta−T) at each face", time, "s", TRANSIENT_SOURCE),
        Step("thin sheet", "ρch ∫ dT / Σ[εσ(Th⁴−T⁴) + f(Ta−T)]", thin, "s", "Stefan–Boltzmann energy balance"),
        Step("sag", "L (3ρgL/(64E))^⅓", share * heating.clamped_width, "mm", SAG_SOURCE),
    )
    window = sheet.forming_temperature.source
    checks = (
        Check("hottest place", face, high, "at most", "degC", window, "lower the heaters and heat longer"),
        Check("coldest place", cold, low, "at least", "degC", window, "heat longer, or nearer alike from both sides"),
        Check(
            "sag over the free side",
            share,
            SAG_LIMIT,
            "at most",
            "%",
            COMMON_PRACTICE,
            "form cooler, clamp a smaller span or use a stiffer grade",
        ),
    )
    remarks = (f"The hot modulus is an order of magnitude only ({sheet.modulus.source}): measure the sag on the line.",)
    return Result(values, checks, steps, CAUTIONS, remarks)


def _lumped(heating: SheetHeating) -> float:
    """Heating time with one temperature through the sheet, both heaters counted by their mean fourth power. [s]"""
    sheet = SHEETS[heating.sheet]
    emissivity = exchange_emissivity(float(sheet.emissivity), HEATER_EMISSIVITY)
    heater = ((heating.upper_heater**4 + heating.lower_heater**4) / 2) ** 0.25
    return heating_time(
        heating.sheet_thickness,
        float(sheet.density),
        float(sheet.specific_heat),
        heating.start_temperature,
        heating.formed_at,
        heater,
        emissivity,
        heating.air_film,
        heating.oven_air,
    )


def draw_heating(heating: SheetHeating, result: Result) -> str:
    """Temperatures of the sheet against its forming window, and its sag between the clamps, to scale."""
    sheet = SHEETS[heating.sheet]
    course = heating_course(heating, 1.25 * result["heating_time"])
    graph = Graph("a sheet between its heaters", "time under the heaters, s", "sheet, °C")
    low, high = sheet.forming_temperature.low, sheet.forming_temperature.high
    assert low is not None
    assert high is not None
    graph.band(low - 273.15, high - 273.15, "forming window")
    faces = [("upper face", course.temperatures[:, 0], "outline"), ("middle", course.middle, "second")]
    if abs(result["upper_face"] - result["lower_face"]) > 1:
        faces.append(("lower face", course.temperatures[:, -1], "detail"))
    for words, of, style in faces:
        graph.curve([(float(t), float(v) - 273.15) for t, v in zip(course.times, of, strict=True)], words, style)
    graph.upright(result["heating_time"], f"form at {result['heating_time']:.1f} s")
    return stacked("heating and sag of a sheet", graph.svg(), _draw_sag(heating, result))


def _draw_sag(heating: SheetHeating, result: Result) -> str:
    span, sag = heating.clamped_width * 1e3, result["sag"] * 1e3
    drawing = Drawing(f"sag {sag:.0f} mm", width=150)
    half = span / 2
    run = [(-half + span * k / 60, sag * (1 - (2 * k / 60 - 1) ** 2)) for k in range(61)]
    drawing.path(run, hint="sheet, hot")
    drawing.line((-half, 0), (half, 0), "hatch", hint="level of the clamps")
    drawing.line((-half, SAG_LIMIT * span), (half, SAG_LIMIT * span), "accent", hint="limit, a tenth of the span")
    for end in (-1, 1):
        drawing.rectangle(
            end * half - (0.04 * span if end < 0 else 0), -0.03 * span, 0.04 * span, 0.06 * span, "detail"
        )
    drawing.dimension((-half, 0), (half, 0), f"{span:g} mm free", offset=-8)
    drawing.text((0, max(sag, SAG_LIMIT * span) + 0.04 * span), f"sag {sag:.0f} mm, limit {SAG_LIMIT * span:.0f} mm")
    return drawing.svg()


SHEET_HEATING = Calculation(
    name="sheet-heating",
    title="Heating and sag of a sheet",
    line="tray",
    about="Temperatures through a sheet between radiant heaters until it may be formed, within its window, and its sag.",
    inputs=SheetHeating,
    run=run_heating,
    draw=draw_heating,
)
