"""Coatings for handles, and the solvents they give off: flow, solids, drying and the limits of vapour in air."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from naptuft.materials.property import COMMON_PRACTICE, Property

FLOW = f"{COMMON_PRACTICE}; dipping viscosity at 20 °C, to be measured on the vat"
PRACTICE = f"{COMMON_PRACTICE}; the maker's sheet decides"
VAPOUR = "NFPA 325 figures as quoted in the ACGIH Industrial Ventilation appendix, from memory"
MOLAR = "standard atomic masses"


@dataclass(frozen=True)
class Solvent:
    """One solvent's vapour.

    molar_mass   [kg/mol]; density of the liquid [kg/m**3]
    lower_limit  lower explosive limit as a volume share of air
    flash_point  closed cup [K]
    """

    name: str
    molar_mass: Property
    density: Property
    lower_limit: Property
    flash_point: Property


def _solvent(name: str, grams: float, density: float, percent: tuple[float, float], flash_celsius: float) -> Solvent:
    low, high = percent
    return Solvent(
        name,
        Property(grams / 1000, "kg/mol", MOLAR),
        Property(density, "kg/m**3", "handbook value at 20 °C, from memory"),
        Property(low / 100, "", VAPOUR, low=low / 100, high=high / 100),
        Property(flash_celsius + 273.15, "K", VAPOUR),
    )


SOLVENTS: Mapping[str, Solvent] = MappingProxyType(
    {
        solvent.name: solvent
        for solvent in (
            _solvent("toluene", 92.14, 867.0, (1.1, 1.2), 4.0),
            _solvent("xylene", 106.17, 865.0, (0.9, 1.1), 27.0),
            _solvent("acetone", 58.08, 791.0, (2.5, 2.6), -20.0),
            _solvent("n-butyl acetate", 116.16, 882.0, (1.7, 1.7), 22.0),
            _solvent("methyl ethyl ketone", 72.11, 805.0, (1.4, 1.8), -9.0),
            _solvent("ethanol", 46.07, 789.0, (3.3, 3.3), 13.0),
            _solvent("white spirit", 140.0, 780.0, (0.6, 1.0), 38.0),
        )
    }
)
SOLVENT_NAMES = tuple(SOLVENTS)


@dataclass(frozen=True)
class Coating:
    """One coating as it stands in the vat.

    density          wet [kg/m**3]
    viscosity        at low shear, at 20 °C [Pa s]
    flow_index       n of the power law; 1 flows like oil, below 1 thins under shear
    surface_tension  [N/m]
    solids_volume    dry volume left by a wet volume, a share
    solids_mass      dry mass left by a wet mass, a share
    solvent          name in SOLVENTS of what it gives off; "" for water
    flash_off        time to touch-dry between coats at 20 °C and moving air [s]
    cure             time from the last coat to packing at 20 °C [s]
    """

    name: str
    density: Property
    viscosity: Property
    flow_index: Property
    surface_tension: Property
    solids_volume: Property
    solids_mass: Property
    solvent: str
    flash_off: Property
    cure: Property


def _coating(
    name: str,
    *,
    density: float,
    viscosity: tuple[float, float, float],
    flow_index: float,
    tension: float,
    solids_volume: float,
    solids_mass: float,
    solvent: str,
    flash_minutes: tuple[float, float, float],
    cure_hours: tuple[float, float, float],
) -> Coating:
    return Coating(
        name,
        Property(density, "kg/m**3", PRACTICE),
        Property(viscosity[1], "Pa*s", FLOW, low=viscosity[0], high=viscosity[2]),
        Property(flow_index, "", FLOW, low=0.6, high=1.0),
        Property(tension, "N/m", PRACTICE, low=0.022, high=0.045),
        Property(solids_volume, "", PRACTICE, low=0.1, high=0.7),
        Property(solids_mass, "", PRACTICE, low=0.15, high=0.85),
        solvent,
        Property(flash_minutes[1] * 60.0, "s", PRACTICE, low=flash_minutes[0] * 60, high=flash_minutes[2] * 60),
        Property(cure_hours[1] * 3600.0, "s", PRACTICE, low=cure_hours[0] * 3600, high=cure_hours[2] * 3600),
    )


COATINGS: Mapping[str, Coating] = MappingProxyType(
    {
        coating.name: coating
        for coating in (
            _coating(
                "nitrocellulose lacquer",
                density=950.0,
                viscosity=(0.05, 0.12, 0.40),
                flow_index=1.0,
                tension=0.026,
                solids_volume=0.22,
                solids_mass=0.30,
                solvent="n-butyl acetate",
                flash_minutes=(5, 15, 40),
                cure_hours=(2, 8, 24),
            ),
            _coating(
                "alkyd enamel",
                density=1150.0,
                viscosity=(0.10, 0.25, 0.80),
                flow_index=0.9,
                tension=0.028,
                solids_volume=0.45,
                solids_mass=0.62,
                solvent="white spirit",
                flash_minutes=(30, 120, 360),
                cure_hours=(8, 24, 72),
            ),
            _coating(
                "polyurethane lacquer",
                density=980.0,
                viscosity=(0.06, 0.15, 0.40),
                flow_index=1.0,
                tension=0.028,
                solids_volume=0.35,
                solids_mass=0.42,
                solvent="xylene",
                flash_minutes=(10, 40, 120),
                cure_hours=(6, 16, 48),
            ),
            _coating(
                "water-borne acrylic",
                density=1060.0,
                viscosity=(0.08, 0.20, 0.80),
                flow_index=0.8,
                tension=0.034,
                solids_volume=0.35,
                solids_mass=0.42,
                solvent="",
                flash_minutes=(15, 45, 120),
                cure_hours=(4, 16, 48),
            ),
        )
    }
)
COATING_NAMES = tuple(COATINGS)
