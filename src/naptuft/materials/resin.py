"""Moulding resins: density, heat, temperatures and shrinkage, each value with its range and source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from naptuft.materials.property import COMMON_PRACTICE, Property

TABLE = "Crawford, Plastics Engineering, 3rd ed. 1998, table 1.8"
GUIDE = "general processing guidelines for injection moulding, a public trade table (degF)"
EFFECTIVE = (
    "effective value between melt and ejection, Menges and Mohren, How to Make Injection Molds, chapter on cooling, "
    "from memory; upper end k/(density x specific heat) of Crawford, table 1.8"
)
SHRINKAGE = f"{GUIDE}; widened by what handbooks give"
MEMORY = "moulding handbooks, from memory"
ZERO_CELSIUS = 273.15


@dataclass(frozen=True)
class Resin:
    """One moulding resin. All values are Properties in SI; temperatures in kelvin.

    density               solid, at room temperature [kg/m**3]
    melt_density          at melt temperature [kg/m**3]
    conductivity          thermal, solid [W/m/K]
    specific_heat         solid, at room temperature [J/kg/K]
    fusion_heat           latent heat of the crystalline part [J/kg]
    diffusivity           effective between melt and ejection, crystallisation included [m**2/s]
    melt_temperature      usual, with the range of the guide [K]
    mould_temperature     usual, with the range of the guide [K]
    solid_temperature     below it the resin has set: it freezes there or turns to glass [K]
    ejection_temperature  at which a part is stiff enough to be pushed out [K]
    cavity_pressure       mean pressure in the cavity for the clamp [Pa]
    shrinkage             linear, mould to part; a range, never a point
    residence_limit       longest stay in the barrel at melt temperature [s]
    gate_shear_limit      largest shear rate in the gate before the resin suffers [1/s]
    flow_ratio            flow length over wall that a mould of ordinary pressure still fills
    """

    name: str
    density: Property
    melt_density: Property
    conductivity: Property
    specific_heat: Property
    fusion_heat: Property
    diffusivity: Property
    melt_temperature: Property
    mould_temperature: Property
    solid_temperature: Property
    ejection_temperature: Property
    cavity_pressure: Property
    shrinkage: Property
    residence_limit: Property
    gate_shear_limit: Property
    flow_ratio: Property


def _celsius(value: float, source: str, low: float, high: float) -> Property:
    return Property(value + ZERO_CELSIUS, "K", source, low=low + ZERO_CELSIUS, high=high + ZERO_CELSIUS)


def _resin(
    name: str,
    *,
    density: float,
    melt_density: float,
    conductivity: float,
    specific_heat: float,
    fusion_heat: float,
    diffusivity: tuple[float, float, float],
    melt: tuple[float, float, float],
    mould: tuple[float, float, float],
    solid: float,
    ejection: tuple[float, float, float],
    residence_minutes: float,
    cavity_mpa: tuple[float, float, float],
    shrinkage_percent: tuple[float, float, float],
    gate_shear: float,
    flow_ratio: tuple[float, float, float],
    temperatures: str = GUIDE,
) -> Resin:
    low_a, usual_a, high_a = diffusivity
    low_p, usual_p, high_p = cavity_mpa
    low_s, usual_s, high_s = shrinkage_percent
    return Resin(
        name,
        density=Property(float(density), "kg/m**3", TABLE),
        melt_density=Property(float(melt_density), "kg/m**3", MEMORY),
        conductivity=Property(conductivity, "W/m/K", TABLE),
        specific_heat=Property(float(specific_heat), "J/kg/K", TABLE),
        fusion_heat=Property(float(fusion_heat), "J/kg", MEMORY),
        diffusivity=Property(usual_a * 1e-6, "m**2/s", EFFECTIVE, low=low_a * 1e-6, high=high_a * 1e-6),
        melt_temperature=_celsius(melt[1], temperatures, melt[0], melt[2]),
        mould_temperature=_celsius(mould[1], temperatures, mould[0], mould[2]),
        solid_temperature=Property(solid + ZERO_CELSIUS, "K", MEMORY),
        ejection_temperature=_celsius(ejection[1], f"{COMMON_PRACTICE}; {MEMORY}", ejection[0], ejection[2]),
        cavity_pressure=Property(
            usual_p * 1e6, "Pa", f"{COMMON_PRACTICE}; {MEMORY}", low=low_p * 1e6, high=high_p * 1e6
        ),
        shrinkage=Property(usual_s / 100, "", SHRINKAGE, low=low_s / 100, high=high_s / 100),
        residence_limit=Property(residence_minutes * 60.0, "s", f"{COMMON_PRACTICE}; {MEMORY}"),
        gate_shear_limit=Property(float(gate_shear), "1/s", f"{COMMON_PRACTICE}; {MEMORY}"),
        flow_ratio=Property(
            flow_ratio[1], "", f"walls of 2 to 3 mm; {COMMON_PRACTICE}; {MEMORY}", low=flow_ratio[0], high=flow_ratio[2]
        ),
    )


RESINS: Mapping[str, Resin] = MappingProxyType(
    {
        resin.name: resin
        for resin in (
            _resin(
                "PP",
                density=905,
                melt_density=750,
                conductivity=0.20,
                specific_heat=2000,
                fusion_heat=100e3,
                diffusivity=(0.065, 0.085, 0.110),
                melt=(204, 220, 260),
                mould=(21, 40, 49),
                solid=115,
                residence_minutes=12,
                ejection=(70, 90, 110),
                cavity_mpa=(20, 30, 50),
                shrinkage_percent=(1.0, 1.6, 2.5),
                gate_shear=100000,
                flow_ratio=(150.0, 220.0, 320.0),
            ),
            _resin(
                "HDPE",
                density=950,
                melt_density=760,
                conductivity=0.25,
                specific_heat=2200,
                fusion_heat=200e3,
                diffusivity=(0.070, 0.090, 0.120),
                melt=(182, 220, 274),
                mould=(16, 30, 43),
                solid=115,
                residence_minutes=12,
                ejection=(60, 80, 95),
                cavity_mpa=(20, 30, 50),
                shrinkage_percent=(1.5, 2.5, 6.0),
                gate_shear=40_000.0,
                flow_ratio=(120.0, 180.0, 260.0),
            ),
            _resin(
                "PS",
                density=1050,
                melt_density=970,
                conductivity=0.15,
                specific_heat=1300,
                fusion_heat=0,
                diffusivity=(0.060, 0.085, 0.110),
                melt=(204, 220, 249),
                mould=(21, 40, 49),
                solid=95,
                residence_minutes=10,
                ejection=(60, 75, 85),
                cavity_mpa=(25, 35, 50),
                shrinkage_percent=(0.3, 0.5, 0.7),
                gate_shear=40_000.0,
                flow_ratio=(120.0, 180.0, 250.0),
            ),
            _resin(
                "ABS",
                density=1040,
                melt_density=950,
                conductivity=0.25,
                specific_heat=1300,
                fusion_heat=0,
                diffusivity=(0.080, 0.100, 0.185),
                melt=(199, 235, 282),
                mould=(38, 60, 82),
                solid=105,
                residence_minutes=8,
                ejection=(70, 85, 100),
                cavity_mpa=(25, 40, 60),
                shrinkage_percent=(0.4, 0.6, 0.9),
                gate_shear=50_000.0,
                flow_ratio=(90.0, 130.0, 190.0),
            ),
            _resin(
                "PVC",
                density=1400,
                melt_density=1250,
                conductivity=0.16,
                specific_heat=900,
                fusion_heat=0,
                diffusivity=(0.070, 0.085, 0.127),
                melt=(170, 190, 210),
                mould=(20, 35, 60),
                solid=80,
                residence_minutes=5,
                ejection=(55, 65, 75),
                cavity_mpa=(25, 40, 60),
                shrinkage_percent=(0.2, 0.4, 0.6),
                gate_shear=20_000.0,
                flow_ratio=(60.0, 90.0, 160.0),
                temperatures=MEMORY,
            ),
            _resin(
                "PET",
                density=1360,
                melt_density=1160,
                conductivity=0.20,
                specific_heat=1000,
                fusion_heat=50e3,
                diffusivity=(0.080, 0.100, 0.147),
                melt=(271, 280, 310),
                mould=(15, 100, 121),
                solid=210,
                residence_minutes=6,
                ejection=(60, 140, 160),
                cavity_mpa=(30, 45, 70),
                shrinkage_percent=(0.1, 1.5, 2.3),
                gate_shear=50_000.0,
                flow_ratio=(100.0, 150.0, 220.0),
                temperatures=f"{GUIDE}; the cold end of the mould for amorphous parts, from memory",
            ),
            _resin(
                "PA66",
                density=1140,
                melt_density=980,
                conductivity=0.24,
                specific_heat=1700,
                fusion_heat=75e3,
                diffusivity=(0.075, 0.090, 0.124),
                melt=(271, 285, 304),
                mould=(71, 80, 116),
                solid=235,
                residence_minutes=8,
                ejection=(100, 140, 180),
                cavity_mpa=(30, 45, 70),
                shrinkage_percent=(0.8, 1.7, 2.2),
                gate_shear=60_000.0,
                flow_ratio=(120.0, 180.0, 300.0),
            ),
        )
    }
)

RESIN_NAMES = tuple(RESINS)


def melt_heat(resin: Resin, start: float, end: float) -> float:
    """Heat that takes a resin from solid at `start` to melt at `end`, or gives back as it cools. [J/kg]

    c (T_end - T_start) + heat of fusion; a first estimate, the specific heat taken as constant.
    start, end  temperatures [K]
    Source: energy balance; property values as the table says.

    >>> round(melt_heat(RESINS["PP"], 293.15, 493.15) / 1e3)
    500
    """
    return float(resin.specific_heat) * (end - start) + float(resin.fusion_heat)
