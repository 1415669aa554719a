"""Sheets for thermoforming: density, heat, forming window and how far each may be drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from naptuft.materials.property import COMMON_PRACTICE, Property
from naptuft.materials.resin import MEMORY, TABLE, ZERO_CELSIUS

WINDOW = f"Throne, Technology of Thermoforming, 1996, {MEMORY}"


@dataclass(frozen=True)
class Sheet:
    """One sheet material. Values are Properties in SI; temperatures in kelvin.

    density               [kg/m**3]
    conductivity          [W/m/K]; specific_heat mean from room to forming temperature [J/kg/K]
    diffusivity           [m**2/s]
    forming_temperature   usual, with the window it may lie in [K]
    set_temperature       at which the part keeps its shape off the mould [K]
    mould_temperature     [K]
    areal_draw            largest drawn area over open area
    modulus               elastic modulus at the forming temperature, for the sag [Pa]
    emissivity            of the sheet in the infrared
    """

    name: str
    density: Property
    conductivity: Property
    specific_heat: Property
    diffusivity: Property
    forming_temperature: Property
    set_temperature: Property
    mould_temperature: Property
    areal_draw: Property
    modulus: Property
    emissivity: Property


def _sheet(
    name: str,
    *,
    density: float,
    conductivity: float,
    specific_heat: float,
    forming: tuple[float, float, float],
    set_celsius: float,
    mould_celsius: float,
    areal_draw: float,
    modulus: tuple[float, float, float],
) -> Sheet:
    return Sheet(
        name,
        density=Property(density, "kg/m**3", TABLE),
        conductivity=Property(conductivity, "W/m/K", TABLE),
        specific_heat=Property(specific_heat, "J/kg/K", f"mean up to forming, {WINDOW}"),
        diffusivity=Property(
            conductivity / (density * specific_heat), "m**2/s", "conductivity / (density x specific heat)"
        ),
        forming_temperature=Property(
            forming[1] + ZERO_CELSIUS, "K", WINDOW, low=forming[0] + ZERO_CELSIUS, high=forming[2] + ZERO_CELSIUS
        ),
        set_temperature=Property(set_celsius + ZERO_CELSIUS, "K", WINDOW),
        mould_temperature=Property(mould_celsius + ZERO_CELSIUS, "K", WINDOW),
        areal_draw=Property(areal_draw, "", f"{COMMON_PRACTICE}; straight vacuum forming"),
        modulus=Property(modulus[1], "Pa", f"order of magnitude, {WINDOW}", low=modulus[0], high=modulus[2]),
        emissivity=Property(0.90, "", WINDOW, low=0.85, high=0.95),
    )


SHEETS: Mapping[str, Sheet] = MappingProxyType(
    {
        sheet.name: sheet
        for sheet in (
            _sheet(
                "HIPS",
                density=1050.0,
                conductivity=0.15,
                specific_heat=1800.0,
                forming=(125, 150, 180),
                set_celsius=85,
                mould_celsius=50,
                areal_draw=3.0,
                modulus=(2e5, 1.5e6, 1e7),
            ),
            _sheet(
                "PET",
                density=1360.0,
                conductivity=0.20,
                specific_heat=1400.0,
                forming=(110, 130, 165),
                set_celsius=70,
                mould_celsius=25,
                areal_draw=3.0,
                modulus=(5e5, 3e6, 2e7),
            ),
            _sheet(
                "PP",
                density=905.0,
                conductivity=0.20,
                specific_heat=2700.0,
                forming=(143, 158, 166),
                set_celsius=90,
                mould_celsius=35,
                areal_draw=2.5,
                modulus=(3e5, 2e6, 1e7),
            ),
        )
    }
)
SHEET_NAMES = tuple(SHEETS)
