"""Filling and packing a mould: how fast the melt goes in, how far it reaches, when the gate has set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.errors import DesignError, Fault
from naptuft.handle.moulding import PLATE_SOURCE, gate_freeze_time
from naptuft.handle.part import PRESS_CAUTIONS, PVC_CAUTION
from naptuft.materials.conduction import set_depth
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.resin import RESIN_NAMES, RESINS, ZERO_CELSIUS

if TYPE_CHECKING:
    from naptuft.materials.resin import Resin

SET_LIMIT = 0.30
SKIN_SOURCE = "Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 2.4"
SHEAR_SOURCE = "flow between parallel faces, 6Q/(w h²); Bird, Stewart and Lightfoot, Transport Phenomena (from memory)"


@dataclass(frozen=True)
class Filling:
    """A shot on its way into the cavities."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    cavities: int = whole("in the mould", low=1, high=128, example="4")
    shot_volume: float = quantity("cm**3", "of melt, parts and runner", low=0.1, high=50000, example="330 cm**3")
    injection_rate: float = quantity("cm**3/s", "of the press, at the speed set", low=1, high=5000, default=120)
    flow_length: float = quantity("mm", "from the gate to the end of the flow", low=2, high=2000, example="180 mm")
    wall: float = quantity("mm", "the thinnest wall the melt passes", low=0.3, high=80, example="14 mm")
    gate_thickness: float = quantity("mm", "of the gate", low=0.2, high=20, default=2)
    gate_width: float = quantity("mm", "of the gate", low=0.3, high=80, default=6)
    melt_temperature: float | None = quantity("degC", "left empty, the table's", low=120, high=350, default=None)
    mould_temperature: float | None = quantity("degC", "left empty, the table's", low=0, high=160, default=None)
    pack_time: float | None = quantity(
        "s", "pressure held; left empty, until the gate has set", low=0, high=240, default=None
    )

    def __post_init__(self) -> None:
        melt, mould = self.temperatures
        solid = float(RESINS[self.resin].solid_temperature)
        if not mould < solid < melt:
            raise DesignError(
                Fault(
                    "melt temperature",
                    f"{melt - ZERO_CELSIUS:g} °C over a mould of {mould - ZERO_CELSIUS:g} °C",
                    f"mould below and melt above the {solid - ZERO_CELSIUS:g} °C at which {self.resin} sets",
                    "correct the temperatures",
                )
            )

    @property
    def temperatures(self) -> tuple[float, float]:
        """Melt and mould temperature used. [K]"""
        resin = RESINS[self.resin]
        melt = float(resin.melt_temperature) if self.melt_temperature is None else self.melt_temperature
        mould = float(resin.mould_temperature) if self.mould_temperature is None else self.mould_temperature
        return melt, mould


def fill_time(volume: float, rate: float) -> float:
    """Time to fill at a steady rate. [s]

    volume [m**3]; rate [m**3/s]
    Source: volume balance.

    >>> round(fill_time(300e-6, 100e-6), 9)
    3.0
    """
    return volume / rate


def gate_shear_rate(rate: float, width: float, thickness: float) -> float:
    """Shear rate at the wall of a flat gate. [1/s]

    6 Q/(w h^2)
    rate Q through one gate [m**3/s]; width w and thickness h [m]
    Source: flow between parallel faces, Newtonian.

    >>> round(gate_shear_rate(30e-6, 6e-3, 2e-3))
    7500
    """
    return 6 * rate / (width * thickness**2)


def pressure_held(resin: Resin, gate: float, melt: float, mould: float) -> float:
    """Time the gate leaves for packing: until its middle has set. [s]"""
    return gate_freeze_time(gate, float(resin.diffusivity), melt, mould, float(resin.solid_temperature))


def run_filling(filling: Filling) -> Result:
    """Work out how a mould fills and packs."""
    resin = RESINS[filling.resin]
    melt, mould = filling.temperatures
    fill = fill_time(filling.shot_volume, filling.injection_rate)
    skin = set_depth(float(resin.diffusivity), fill, melt, mould, float(resin.solid_temperature))
    taken = min(1.0, 2 * skin / filling.wall)
    reach = filling.flow_length / filling.wall
    shear = gate_shear_rate(filling.injection_rate / filling.cavities, filling.gate_width, filling.gate_thickness)
    frozen = pressure_held(resin, filling.gate_thickness, melt, mould)
    pack = frozen if filling.pack_time is None else filling.pack_time
    slowest = (SET_LIMIT * filling.wall / 2 / skin) ** 2 * fill
    values = (
        Value("fill_time", "to fill", fill, "s"),
        Value("longest_fill", "longest fill before the skin is too thick", slowest, "s"),
        Value("skin", "skin set on each face when full", skin, "mm"),
        Value("skin_share", "of the thinnest wall, both faces", taken, "%"),
        Value("flow_ratio", "flow length over wall", reach, ""),
        Value("gate_shear", "shear rate in the gate", shear, "1/s"),
        Value("gate_freeze_time", "until the gate has set", frozen, "s"),
        Value("pack_time", "hold the pressure", pack, "s"),
    )
    steps = (
        Step("fill", "shot as melt / injection rate", fill, "s", "volume balance"),
        Step("skin", "x where erf(x/2√(at)) = (Ts−Tw)/(Tm−Tw)", skin, "mm", SKIN_SOURCE),
        Step("gate shear", "6 Q/(w h²), Q of one gate", shear, "1/s", SHEAR_SOURCE),
        Step("pack", "h²/(π²a) ln(4/π (Tm−Tw)/(Ts−Tw)), h of the gate", frozen, "s", PLATE_SOURCE),
    )
    checks = (
        Check(
            "wall set before it is full",
            taken,
            SET_LIMIT,
            "at most",
            "%",
            f"{COMMON_PRACTICE}: most of the wall still flows",
            "inject faster, thicken the wall or warm the mould",
        ),
        Check(
            "flow length over wall",
            reach,
            float(resin.flow_ratio),
            "at most",
            "",
            resin.flow_ratio.source,
            "place a second gate, thicken the wall or use an easier flowing grade",
        ),
        Check(
            "shear rate in the gate",
            shear,
            float(resin.gate_shear_limit),
            "at most",
            "1/s",
            resin.gate_shear_limit.source,
            "widen or thicken the gate, or inject slower",
        ),
        Check(
            "pack until the gate has set",
            pack,
            frozen,
            "at least",
            "s",
            PLATE_SOURCE,
            "hold the pressure longer, or thin the gate",
        ),
    )
    remarks = ()
    if pack > 1.5 * frozen:
        remarks = (f"Holding beyond {frozen:.2g} s does nothing: the gate has set.",)
    cautions = (*PRESS_CAUTIONS, PVC_CAUTION) if filling.resin == "PVC" else PRESS_CAUTIONS
    return Result(values, checks, steps, cautions, remarks)


FILLING = Calculation(
    name="fill-and-pack",
    title="Filling and packing",
    line="handle",
    about="How long a shot takes to fill, how much of the wall sets meanwhile, and how long the pressure is worth holding.",
    inputs=Filling,
    run=run_filling,
)
