"""Epoxies that hold the butts: resin and hardener, and what they become."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import nearest
from naptuft.errors import Fault, NotFound
from naptuft.materials.property import COMMON_PRACTICE, Property

_DATASHEET = "usual datasheet value of liquid bisphenol-A epoxy, from memory"


@dataclass(frozen=True)
class Epoxy:
    """A two-part setting epoxy.

    epoxide_equivalent  resin, per epoxide group [kg/mol]
    amine_equivalent    hardener, per active hydrogen [kg/mol]
    density             mixed, uncured [kg/m**3]
    viscosity           mixed, at 25 °C [Pa*s]
    gel_time            of a thin film at 25 °C [s]
    pot_life            of a 100 g mass at 25 °C [s]
    handling_time       until the brush may be handled, at 25 °C [s]
    activation_energy   of cure [J/mol]
    flow_energy         by which viscosity falls with heat [J/mol]
    surface_tension     mixed [N/m]
    heat_of_cure        [J/kg] of mix
    specific_heat       [J/kg/K] of mix
    shear_strength      of the bond to filament [Pa]
    """

    name: str
    epoxide_equivalent: Property
    amine_equivalent: Property
    density: Property
    viscosity: Property
    gel_time: Property
    pot_life: Property
    handling_time: Property
    activation_energy: Property
    flow_energy: Property
    surface_tension: Property
    heat_of_cure: Property
    specific_heat: Property
    shear_strength: Property


def _epoxy(
    name: str,
    amine: float,
    viscosity: float,
    gel_minutes: float,
    pot_minutes: float,
    handling_hours: float,
    amine_source: str,
) -> Epoxy:
    return Epoxy(
        name=name,
        epoxide_equivalent=Property(0.189, "kg/mol", _DATASHEET, 0.182, 0.195),
        amine_equivalent=Property(amine, "kg/mol", amine_source),
        density=Property(1120.0, "kg/m**3", _DATASHEET, 1080.0, 1180.0),
        viscosity=Property(viscosity, "Pa*s", f"{COMMON_PRACTICE}: state the datasheet value", 0.2, 12.0),
        gel_time=Property(gel_minutes * 60, "s", f"{COMMON_PRACTICE}: state the datasheet value"),
        pot_life=Property(pot_minutes * 60, "s", f"{COMMON_PRACTICE}: state the datasheet value"),
        handling_time=Property(handling_hours * 3600, "s", f"{COMMON_PRACTICE}: state the datasheet value"),
        flow_energy=Property(60_000.0, "J/mol", "liquid epoxy between 20 and 50 °C, from memory", 50e3, 75e3),
        specific_heat=Property(1800.0, "J/kg/K", "liquid epoxy, from memory", 1600.0, 2000.0),
        activation_energy=Property(55_000.0, "J/mol", "epoxy-amine cure, literature range, from memory", 45e3, 65e3),
        surface_tension=Property(0.042, "N/m", _DATASHEET, 0.035, 0.047),
        heat_of_cure=Property(400e3, "J/kg", "epoxy-amine cure, literature range, from memory", 300e3, 550e3),
        shear_strength=Property(6e6, "Pa", f"{COMMON_PRACTICE}: clean, dry butts; measure it", 2e6, 12e6),
    )


EPOXIES: tuple[Epoxy, ...] = (
    _epoxy(
        "DETA epoxy",
        0.0206,
        0.9,
        40.0,
        25.0,
        6.0,
        "diethylenetriamine, molar mass 103.17 g/mol over 5 active hydrogens",
    ),
    _epoxy("polyamine epoxy", 0.043, 1.5, 60.0, 35.0, 8.0, _DATASHEET),
    _epoxy("polyamide epoxy", 0.095, 4.0, 150.0, 90.0, 16.0, _DATASHEET),
)
EPOXY_NAMES: tuple[str, ...] = tuple(epoxy.name for epoxy in EPOXIES)


def epoxy(name: str) -> Epoxy:
    """The epoxy of that name. Raises NotFound with the nearest name.

    >>> float(epoxy("DETA epoxy").amine_equivalent)
    0.0206
    """
    for known in EPOXIES:
        if known.name == name:
            return known
    raise NotFound(Fault("epoxy", name, "one of " + ", ".join(EPOXY_NAMES), nearest(name, EPOXY_NAMES)))
