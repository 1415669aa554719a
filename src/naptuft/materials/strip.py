"""Metal strip that ferrules are made of."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import nearest
from naptuft.errors import Fault, NotFound
from naptuft.materials.property import Property

_HANDBOOK = "mechanical engineers' handbook value, from memory"


@dataclass(frozen=True)
class StripMetal:
    """One metal, in the temper ferrules are formed from.

    density         [kg/m**3]
    modulus         Young's [Pa]
    yield_strength  [Pa]
    shear_strength  resistance to blanking [Pa]
    least_radius    least inside bend radius over thickness, to form without cracking
    """

    name: str
    density: Property
    modulus: Property
    yield_strength: Property
    shear_strength: Property
    least_radius: Property


def _metal(
    name: str, density: float, modulus: float, yields: tuple[float, float, float], shear: float, radius: float
) -> StripMetal:
    typical, low, high = yields
    return StripMetal(
        name,
        Property(density, "kg/m**3", _HANDBOOK),
        Property(modulus, "Pa", _HANDBOOK),
        Property(typical, "Pa", _HANDBOOK, low, high),
        Property(shear, "Pa", _HANDBOOK),
        Property(radius, "", _HANDBOOK),
    )


STRIPS: tuple[StripMetal, ...] = (
    _metal("tinplate", 7850.0, 205e9, (275e6, 220e6, 415e6), 310e6, 0.5),
    _metal("stainless steel", 7930.0, 193e9, (290e6, 205e6, 520e6), 480e6, 0.5),
    _metal("brass", 8530.0, 110e9, (200e6, 110e6, 430e6), 240e6, 0.3),
    _metal("copper", 8940.0, 117e9, (150e6, 70e6, 330e6), 170e6, 0.3),
    _metal("nickel-plated steel", 7850.0, 205e9, (250e6, 200e6, 400e6), 300e6, 0.5),
)
STRIP_NAMES: tuple[str, ...] = tuple(strip.name for strip in STRIPS)


def strip_metal(name: str) -> StripMetal:
    """The strip of that name. Raises NotFound with the nearest name.

    >>> float(strip_metal("brass").density)
    8530.0
    """
    for metal in STRIPS:
        if metal.name == name:
            return metal
    raise NotFound(Fault("ferrule metal", name, "one of " + ", ".join(STRIP_NAMES), nearest(name, STRIP_NAMES)))
