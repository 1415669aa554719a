"""A moulded part of any kind, worked out: masses, cooling, cycle and clamp; grips, bearings, cage ends."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing
from naptuft.handle.moulding import (
    CLAMP_SOURCE,
    CYLINDER_SOURCE,
    PLATE_SOURCE,
    SECTION_SOURCE,
    cavities_for,
    clamp_force,
    cycle_time,
    cylinder_cooling_time,
    gate_freeze_time,
    plate_cooling_time,
    press_energy,
    section_cooling_time,
    shot,
)
from naptuft.handle.setting import USUAL_FILL, USUAL_PACK, MouldSetting, mould_faults, raise_any
from naptuft.materials.conduction import water_flow
from naptuft.materials.property import COMMON_PRACTICE, Property
from naptuft.materials.resin import RESINS, ZERO_CELSIUS, Resin, melt_heat

REGRIND_LIMIT = 0.25
ROOM = 293.15

PRESS_CAUTIONS = (
    Caution(
        "closing mould and clamp",
        "gates and guards interlocked with the clamp; lock out before reaching in",
        "ANSI/PLASTICS B151.1, 29 CFR 1910.212 and 1910.147",
    ),
    Caution(
        "melt above 170 °C, under pressure at the nozzle",
        "face shield, gloves and sleeves when purging; nobody in line with the nozzle",
        "ANSI/PLASTICS B151.1, 29 CFR 1910.132",
    ),
)
PVC_CAUTION = Caution(
    "PVC that stands hot gives off hydrogen chloride",
    "keep the residence time short, purge before stopping, extract at the nozzle",
    "29 CFR 1910.1000 and 1910.94",
)


@dataclass(frozen=True)
class Cooling:
    """The section that cools last: a plate, a cylinder, or a solid bar between them."""

    kind: Literal["plate", "cylinder", "bar"]
    thickness: float
    width: float = 0.0

    def time(self, diffusivity: float, melt: float, mould: float, ejection: float, *, mean: bool) -> float:
        """Cooling time to the ejection temperature. [s]"""
        match self.kind:
            case "plate":
                return plate_cooling_time(self.thickness, diffusivity, melt, mould, ejection, mean=mean)
            case "cylinder":
                return cylinder_cooling_time(self.thickness, diffusivity, melt, mould, ejection, mean=mean)
            case "bar":
                return section_cooling_time(self.thickness, self.width, diffusivity, melt, mould, ejection, mean=mean)

    def formula(self, *, mean: bool) -> tuple[str, str]:
        """The formula as printed, and its source."""
        plate = "8/π²" if mean else "4/π"
        match self.kind:
            case "plate":
                return f"s²/(π²a) ln({plate} (Tm−Tw)/(Te−Tw)), s the full thickness", PLATE_SOURCE
            case "cylinder":
                factor = "0.692" if mean else "1.602"
                return f"D²/(23.14 a) ln({factor} (Tm−Tw)/(Te−Tw))", CYLINDER_SOURCE
            case "bar":
                return f"ln({plate} (Tm−Tw)/(Te−Tw)) / (a (π²/s² + 13.27/w²))", SECTION_SOURCE


@dataclass(frozen=True)
class MouldedPart(MouldSetting):
    """A part moulded by itself: a frame grip, a bearing, a cage end."""

    part_volume: float = quantity("cm**3", "of one part, without runner", low=0.05, high=2000, example="14 cm**3")
    cooling_thickness: float = quantity(
        "mm", "full thickness of the thickest wall, or the diameter of a solid rod", low=0.4, high=80, example="3.2 mm"
    )
    cooling_shape: str = choice(["plate", "cylinder"], "what the thickest place is like", default="plate")
    projected_area: float = quantity(
        "cm**2", "one part, seen in the direction the mould opens", low=0.05, high=3000, example="30 cm**2"
    )
    demand_per_hour: float | None = quantity(
        "1/hour", "good parts wanted an hour, to judge the cavities; may be left empty", low=1, high=1e6, default=None
    )

    def __post_init__(self) -> None:
        raise_any(mould_faults(self))


def mould_answer(
    setting: MouldSetting,
    part_volume: float,
    projected_area: float,
    cooling: Cooling,
    *,
    demand: float | None = None,
) -> Result:
    """Masses, cooling, cycle and clamp of a part in its mould.

    part_volume     one part [m**3]; projected_area one part [m**2]; cooling the section that cools last
    demand          good parts a second; None: cavities are not judged
    """
    resin = RESINS[setting.resin]
    melt, mould, ejection = setting.temperatures
    mean = setting.ejection_rule == "mean"
    masses = shot(part_volume, setting.cavities, setting.runner_volume, float(resin.density), setting.reground_share)
    cooled = cooling.time(float(resin.diffusivity), melt, mould, ejection, mean=mean)
    slowest, fastest = (
        cooling.time(end, melt, mould, ejection, mean=mean)
        for end in (resin.diffusivity.low, resin.diffusivity.high)
        if end is not None
    )
    frozen = _gate_freeze(setting, resin)
    fill, pack = _fill(setting, masses.total / float(resin.melt_density)), _pack(setting, frozen)
    cycle = cycle_time(fill, pack, cooled, setting.open_time)
    area = projected_area * setting.cavities + setting.runner_area
    clamp = clamp_force(area, setting.pressure, 1 + setting.clamp_margin)
    formula, source = cooling.formula(mean=mean)
    heat_in = masses.total * melt_heat(resin, ROOM, melt)
    heat_out = masses.total * melt_heat(resin, ejection, melt)
    water = water_flow(heat_out / cycle, setting.water_rise)
    energy = press_energy(heat_in, setting.press_efficiency) / setting.cavities
    values = [
        Value("resin_mass", "resin from stock, each", masses.resin_per_part, "g"),
        Value("regrind_mass", "runner reground, each", masses.regrind_per_part, "g"),
        Value("part_mass", "part", masses.part, "g"),
        Value("shot_mass", "shot", masses.total, "g"),
        Value("runner_share", "runner share of the shot", masses.runner_share, "%"),
        Value("regrind_share", "regrind in the feed", masses.regrind_in_feed, "%"),
        Value("fill_time", "fill", fill, "s"),
        Value("pack_time", "hold the pressure", pack, "s"),
        Value("cooling_time", "cooling time", cooled, "s"),
        Value("cycle_time", "cycle, shot to shot", cycle, "s"),
        Value("moulding_time", "press time, each", cycle / setting.cavities, "s"),
        Value("clamp_force", "clamp force with margin", clamp, "kN"),
        Value("heat_out", "heat the mould carries away, each", heat_out / setting.cavities, "kJ"),
        Value("water_flow", "cooling water for the mould", water, "l/min"),
        Value("water_each", "cooling water that runs, each", water * cycle / setting.cavities, "l"),
        Value("energy", "electricity of the press, each", energy, "kWh"),
    ]
    checks = list(_press_checks(setting, resin, masses.total, masses.regrind_in_feed, clamp, demand, cycle))
    if frozen is not None:
        values.append(Value("gate_freeze_time", "until the gate has set", frozen, "s"))
        checks.append(
            Check(
                "pack time, until the gate has set",
                pack,
                frozen,
                "at least",
                "s",
                PLATE_SOURCE,
                "hold the pressure longer, or thin the gate",
            )
        )
    if demand is not None:
        values.append(Value("cavities_needed", "cavities that keep pace", float(cavities_for(demand, cycle)), ""))
    steps = (
        Step("part", "volume × density", masses.part, "g", resin.density.source),
        Step("shot", "cavities × part + runner", masses.total, "g", "mass balance"),
        Step("cooling time", formula, cooled, "s", source),
        Step("fill", "shot as melt / injection rate, where given", fill, "s", "volume balance"),
        Step("cycle", "fill + max(pack, cooling) + open, eject, close", cycle, "s", COMMON_PRACTICE),
        Step("cooling water", "shot × heat / cycle / (ρ c ΔT)", water, "l/min", "energy balance"),
        Step("electricity", "shot × heat from 20 °C / efficiency / cavities", energy, "kWh", COMMON_PRACTICE),
        Step("clamp", "(cavities × area + runner) × pressure × (1 + margin)", clamp, "kN", CLAMP_SOURCE),
    )
    remarks = [
        f"Cooling takes {fastest:.3g} to {slowest:.3g} s over the range of the resin's diffusivity "
        f"({resin.diffusivity.source})."
    ]
    remarks += _temperature_remarks(setting, resin)
    return Result(
        tuple(values),
        tuple(checks),
        steps,
        (*PRESS_CAUTIONS, PVC_CAUTION) if resin.name == "PVC" else PRESS_CAUTIONS,
        tuple(remarks),
    )


def _fill(setting: MouldSetting, volume: float) -> float:
    if setting.fill_time is not None:
        return setting.fill_time
    return USUAL_FILL if setting.injection_rate is None else volume / setting.injection_rate


def _gate_freeze(setting: MouldSetting, resin: Resin) -> float | None:
    melt, mould, _ = setting.temperatures
    solid = float(resin.solid_temperature)
    if setting.gate_thickness is None or not mould < solid < melt:
        return None
    return gate_freeze_time(setting.gate_thickness, float(resin.diffusivity), melt, mould, solid)


def _pack(setting: MouldSetting, frozen: float | None) -> float:
    if setting.pack_time is not None:
        return setting.pack_time
    return USUAL_PACK if frozen is None else frozen


def _press_checks(
    setting: MouldSetting,
    resin: Resin,
    shot_mass: float,
    regrind: float,
    clamp: float,
    demand: float | None,
    cycle: float,
) -> tuple[Check, ...]:
    checks = [
        Check(
            "regrind in the feed",
            regrind,
            REGRIND_LIMIT,
            "at most",
            "%",
            COMMON_PRACTICE,
            "shorten the runner, add cavities or sell part of the regrind",
        )
    ]
    if setting.press_clamp is not None:
        checks.append(
            Check(
                "clamp force against the press",
                clamp,
                setting.press_clamp,
                "at most",
                "kN",
                CLAMP_SOURCE,
                "use a larger press or fewer cavities",
            )
        )
    if setting.press_shot is not None:
        checks.append(
            Check(
                "shot against the press",
                shot_mass / float(resin.melt_density),
                0.8 * setting.press_shot,
                "at most",
                "cm**3",
                f"{COMMON_PRACTICE}: at most 80 % of the largest shot",
                "use a larger barrel or fewer cavities",
            )
        )
    if demand is not None:
        checks.append(
            Check(
                "cavities against demand",
                float(setting.cavities),
                float(cavities_for(demand, cycle)),
                "at least",
                "",
                f"{COMMON_PRACTICE}: 85 % of the time makes good shots",
                "add cavities or shorten the cooling",
            )
        )
    return tuple(checks)


def _temperature_remarks(setting: MouldSetting, resin: Resin) -> list[str]:
    usual: tuple[tuple[str, float, Property], ...] = (
        ("melt temperature", setting.temperatures[0], resin.melt_temperature),
        ("mould temperature", setting.temperatures[1], resin.mould_temperature),
        ("ejection temperature", setting.temperatures[2], resin.ejection_temperature),
        ("cavity pressure", setting.pressure, resin.cavity_pressure),
    )
    remarks = []
    for name, value, known in usual:
        if value not in known and known.low is not None and known.high is not None:
            shift, scale, unit = (ZERO_CELSIUS, 1.0, "°C") if known.unit == "K" else (0.0, 1e6, "MPa")
            remarks.append(
                f"The {name} of {(value - shift) / scale:.4g} {unit} is outside the usual "
                f"{(known.low - shift) / scale:.4g} to {(known.high - shift) / scale:.4g} {unit} of {resin.name} "
                f"({known.source})."
            )
    return remarks


def run_part(part: MouldedPart) -> Result:
    """Work out a plain moulded part."""
    cooling = Cooling("cylinder" if part.cooling_shape == "cylinder" else "plate", part.cooling_thickness)
    return mould_answer(part, part.part_volume, part.projected_area, cooling, demand=part.demand_per_hour)


def draw_part(part: MouldedPart, result: Result) -> str:
    """The part as a square of its projected area, its thickest place in section, and runner and sprue, to scale."""
    side, thickness = part.projected_area**0.5 * 1e3, part.cooling_thickness * 1e3
    drawing = Drawing(f"moulded part, {result['part_mass'] * 1e3:.3g} g", width=150, height=90)
    drawing.rectangle(0, 0, side, side, hint=f"{result['part_mass'] * 1e3:.3g} g")
    drawing.dimension((0, 0), (side, 0), f"{side:.3g} mm", offset=-5)
    drawing.text((side / 2, side / 2), f"{part.projected_area * 1e4:.3g} cm²")
    drawing.text((side / 2, side * 1.1), "drawn as a square")
    start, words = side * 1.35, f"cooling {result['cooling_time']:.3g} s"
    if part.cooling_shape == "cylinder":
        drawing.circle((start + thickness / 2, side / 2), thickness / 2, hatch="diagonal", hint=words)
    else:
        drawing.rectangle(start, 0, thickness, side, hatch="diagonal", hint=words)
    top = side / 2 - thickness / 2 if part.cooling_shape == "cylinder" else 0.0
    drawing.dimension((start, top), (start + thickness, top), f"{thickness:g} mm", offset=-5)
    drawing.text((start + thickness / 2, side * 1.1), words)
    if part.runner_area:
        runner = part.runner_area**0.5 * 1e3
        left = start + thickness + 0.35 * side
        drawing.rectangle(left, (side - runner) / 2, runner, runner, "second", hint="runner and sprue, one shot")
        drawing.text((left + runner / 2, side * 1.1), f"runner {part.runner_area * 1e4:.3g} cm²")
    return drawing.svg()


MOULDED_PART = Calculation(
    name="moulded-part",
    title="Moulded part",
    line="handle",
    about="Resin, regrind, cooling, cycle and clamp of a plain moulded part: a frame grip, a bearing, a cage end.",
    inputs=MouldedPart,
    run=run_part,
    draw=draw_part,
)
