"""What refills are made of: pile fabrics and core tubes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

from naptuft.calculation import nearest
from naptuft.errors import Fault, NotFound
from naptuft.materials.property import COMMON_PRACTICE, Property

T = TypeVar("T")
_FIBRE = "textile fibre handbooks, from memory"
_FABRIC = f"{COMMON_PRACTICE}: weigh a sample of the lot"
_POLYMER = "polymer handbook value, from memory"


@dataclass(frozen=True)
class PileFabric:
    """A pile fabric, before it is wound.

    fibre              what the pile is of
    fibre_density      [kg/m**3]
    pile_mass          mass of pile fibre by fabric area, for each metre of pile height [kg/m**3]
    backing_mass       mass of the ground cloth by area [kg/m**2]
    backing_thickness  [m]
    pile_height        heights it is made in [m]
    stiffness          force to stretch a strip, by width [N/m for a strain of 1]
    narrowing          width strain over length strain when stretched
    """

    name: str
    fibre: str
    fibre_density: Property
    pile_mass: Property
    backing_mass: Property
    backing_thickness: Property
    pile_height: Property
    stiffness: Property
    narrowing: Property


def _fabric(
    name: str,
    fibre: str,
    density: float,
    pile_mass: tuple[float, float, float],
    height_mm: tuple[float, float, float],
    stiffness: tuple[float, float, float],
    narrowing: float,
) -> PileFabric:
    usual, low, high = pile_mass
    height, least, most = height_mm
    stiff, soft, stiffest = stiffness
    return PileFabric(
        name,
        fibre,
        fibre_density=Property(density, "kg/m**3", _FIBRE),
        pile_mass=Property(usual, "kg/m**3", _FABRIC, low, high),
        backing_mass=Property(0.18, "kg/m**2", _FABRIC, 0.10, 0.35),
        backing_thickness=Property(0.9e-3, "m", _FABRIC, 0.5e-3, 2.0e-3),
        pile_height=Property(height / 1e3, "m", _FABRIC, least / 1e3, most / 1e3),
        stiffness=Property(stiff, "N/m", _FABRIC, soft, stiffest),
        narrowing=Property(narrowing, "", _FABRIC, 0.1, 0.8),
    )


FABRICS: tuple[PileFabric, ...] = (
    _fabric("knitted polyester", "polyester", 1380.0, (52.0, 30.0, 80.0), (12, 6, 20), (9e3, 4e3, 20e3), 0.5),
    _fabric("woven polyester", "polyester", 1380.0, (60.0, 35.0, 90.0), (10, 5, 14), (40e3, 20e3, 90e3), 0.25),
    _fabric("woven polyamide", "polyamide 6.6", 1140.0, (60.0, 35.0, 90.0), (12, 6, 18), (35e3, 15e3, 80e3), 0.25),
    _fabric("knitted acrylic", "acrylic", 1170.0, (45.0, 28.0, 70.0), (18, 12, 25), (7e3, 3e3, 15e3), 0.5),
    _fabric("microfibre", "polyester", 1380.0, (85.0, 50.0, 120.0), (9, 4, 13), (12e3, 5e3, 25e3), 0.45),
    _fabric("lambswool", "wool", 1310.0, (40.0, 24.0, 65.0), (20, 12, 32), (6e3, 3e3, 15e3), 0.5),
)
FABRIC_NAMES: tuple[str, ...] = tuple(fabric.name for fabric in FABRICS)


def pile_fabric(name: str) -> PileFabric:
    """The pile fabric of that name. Raises NotFound with the nearest name.

    >>> pile_fabric("microfibre").fibre
    'polyester'
    """
    return _named("pile fabric", name, {fabric.name: fabric for fabric in FABRICS})


@dataclass(frozen=True)
class CoreMaterial:
    """What a core tube is made of.

    density    [kg/m**3]
    modulus    of the wall, around the tube [Pa]
    strength   tensile, around the tube [Pa]
    poisson    ratio of Poisson
    expansion  linear, by temperature [1/K]
    """

    name: str
    density: Property
    modulus: Property
    strength: Property
    poisson: Property
    expansion: Property


def _core(
    name: str, density: float, modulus: tuple[float, float, float], strength: float, poisson: float, expansion: float
) -> CoreMaterial:
    usual, low, high = modulus
    return CoreMaterial(
        name,
        Property(density, "kg/m**3", _POLYMER),
        Property(usual, "Pa", _POLYMER, low, high),
        Property(strength, "Pa", _POLYMER),
        Property(poisson, "", _POLYMER),
        Property(expansion, "", _POLYMER),
    )


CORES: tuple[CoreMaterial, ...] = (
    _core("polypropylene", 905.0, (1.4e9, 1.1e9, 1.8e9), 30e6, 0.42, 110e-6),
    _core("phenolic paper", 1250.0, (6.0e9, 4.0e9, 9.0e9), 60e6, 0.30, 25e-6),
    _core("polyethylene, high density", 955.0, (1.0e9, 0.7e9, 1.4e9), 25e6, 0.42, 150e-6),
    _core("polystyrene", 1050.0, (3.2e9, 2.8e9, 3.5e9), 40e6, 0.35, 75e-6),
    _core("rigid PVC", 1400.0, (2.9e9, 2.4e9, 3.3e9), 50e6, 0.38, 70e-6),
    _core("cardboard", 750.0, (2.5e9, 1.5e9, 4.0e9), 15e6, 0.30, 15e-6),
)
CORE_NAMES: tuple[str, ...] = tuple(core.name for core in CORES)


def core_material(name: str) -> CoreMaterial:
    """The core material of that name. Raises NotFound with the nearest name.

    >>> float(core_material("phenolic paper").density)
    1250.0
    """
    return _named("core material", name, {core.name: core for core in CORES})


def _named(what: str, name: str, known: dict[str, T]) -> T:
    if name not in known:
        raise NotFound(Fault(what, name, "one of " + ", ".join(known), nearest(name, known)))
    return known[name]
