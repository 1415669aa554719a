"""What fillings are made of: natural bristle and hair, and synthetic filament.

Stiffness in a paint is the conditioned modulus times the share retained in that medium. Where no source
for a particular hair was found, the value of keratin (wool, horn) stands in and its source says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from naptuft.calculation import nearest
from naptuft.errors import Fault, NotFound
from naptuft.materials.property import COMMON_PRACTICE, Property

Medium = Literal["dry", "water-borne", "oil or alkyd", "strong solvent"]
MEDIA: tuple[Medium, ...] = ("dry", "water-borne", "oil or alkyd", "strong solvent")

_MAKER = "a filament maker's public table of level filaments"
_KERATIN = "Morton & Hearle, Physical Properties of Textile Fibres, keratin (wool) standing in; from memory"
_WET_KERATIN = "Feughelman, Textile Research Journal 29 (1959), wool keratin standing in; from memory"
_PIG = "Mohan, Debnath, Sarma & Talukdar, physical characteristics of fibres of crossbred pigs (2015), abstract"
_HANDBOOK = "polymer handbook value, from memory"


@dataclass(frozen=True)
class FilamentMaterial:
    """One kind of filling material, as it stands at about 20 °C and 65 % relative humidity.

    name           what it is called
    nature         natural, synthetic or mixed of both
    density        [kg/m**3]
    modulus        in bending, conditioned [Pa]
    retained       share of that modulus left after an hour in a medium; `dry` is 1
    strength       tensile [Pa]
    moisture       water in the conditioned material, as a share of its whole mass
    bend_recovery  share of a sharp bend that springs back
    relaxation     share of a held force lost in each tenfold of time
    diameter       usual, with the range sold [m]
    tip_ratio      tip diameter over butt diameter; 1 is level
    heat_limit     hottest it should meet in washing, drying or curing [K]
    """

    name: str
    nature: Literal["natural", "synthetic", "mixed"]
    density: Property
    modulus: Property
    retained: tuple[tuple[Medium, Property], ...]
    strength: Property
    moisture: Property
    bend_recovery: Property
    relaxation: Property
    diameter: Property
    tip_ratio: Property
    heat_limit: Property

    def stiffness_in(self, medium: Medium) -> Property:
        """Share of the conditioned modulus left in a medium.

        >>> float(filament_material("nylon 6.6").stiffness_in("dry"))
        1.0
        """
        if medium == "dry":
            return Property(1.0, "", "by definition")
        return dict(self.retained)[medium]


def _retained(water: Property, oil: Property, solvent: Property) -> tuple[tuple[Medium, Property], ...]:
    return (("water-borne", water), ("oil or alkyd", oil), ("strong solvent", solvent))


def _share(value: float, source: str, low: float | None = None, high: float | None = None) -> Property:
    return Property(value, "", source, low, high)


_HAIR_RETAINED = _retained(
    _share(0.5, _WET_KERATIN, 0.35, 0.6),
    _share(1.0, f"{COMMON_PRACTICE}: oil does not soften keratin", 0.95, 1.0),
    _share(0.95, f"{COMMON_PRACTICE}: organic solvents hardly swell keratin", 0.85, 1.0),
)


def _hair(name: str, diameter: Property, tip_ratio: Property, strength: Property | None = None) -> FilamentMaterial:
    return FilamentMaterial(
        name=name,
        nature="natural",
        density=Property(1310.0, "kg/m**3", _KERATIN, 1290.0, 1330.0),
        modulus=Property(4.0e9, "Pa", _WET_KERATIN, 3.0e9, 5.5e9),
        retained=_HAIR_RETAINED,
        strength=strength or Property(190e6, "Pa", _KERATIN, 140e6, 260e6),
        moisture=_share(0.13, _KERATIN, 0.10, 0.15),
        bend_recovery=_share(0.95, _KERATIN, 0.85, 0.99),
        relaxation=_share(0.07, _KERATIN, 0.04, 0.12),
        diameter=diameter,
        tip_ratio=tip_ratio,
        heat_limit=Property(403.15, "K", f"{COMMON_PRACTICE}: keratin yellows and embrittles above 130 °C"),
    )


def _polymer(
    name: str,
    density: float,
    modulus: Property,
    strength: Property,
    bend_recovery: Property,
    relaxation: float,
    moisture: Property,
    heat_limit_celsius: float,
    retained: tuple[tuple[Medium, Property], ...],
) -> FilamentMaterial:
    return FilamentMaterial(
        name=name,
        nature="synthetic",
        density=Property(density, "kg/m**3", _MAKER if name != "PET" else _HANDBOOK),
        modulus=modulus,
        retained=retained,
        strength=strength,
        moisture=moisture,
        bend_recovery=bend_recovery,
        relaxation=_share(relaxation, _HANDBOOK, relaxation / 2, 2 * relaxation),
        diameter=Property(0.20e-3, "m", COMMON_PRACTICE, 0.05e-3, 0.50e-3),
        tip_ratio=_share(0.6, f"{COMMON_PRACTICE}: tapered filament; 1 is level", 0.3, 1.0),
        heat_limit=Property(heat_limit_celsius + 273.15, "K", f"{COMMON_PRACTICE}: well below the melting point"),
    )


_PLAIN: tuple[FilamentMaterial, ...] = (
    _hair(
        "hog bristle",
        Property(0.18e-3, "m", COMMON_PRACTICE, 0.10e-3, 0.32e-3),
        _share(0.68, f"{_PIG}: 268 µm at mid-shaft, 319 µm at the root, taken as a straight taper", 0.35, 0.8),
        Property(207e6, "Pa", f"{_PIG}: 15.81 cN/tex at 1.31 g/cm³", 195e6, 220e6),
    ),
    _hair(
        "ox hair",
        Property(0.10e-3, "m", COMMON_PRACTICE, 0.05e-3, 0.16e-3),
        _share(0.35, COMMON_PRACTICE, 0.2, 0.6),
    ),
    _hair(
        "horsehair",
        Property(0.15e-3, "m", COMMON_PRACTICE, 0.08e-3, 0.25e-3),
        _share(0.8, COMMON_PRACTICE, 0.6, 1.0),
    ),
    _polymer(
        "nylon 6.6",
        1140.0,
        Property(3.59e9, "Pa", _MAKER, 3.0e9, 4.2e9),
        Property(331e6, "Pa", _MAKER),
        _share(0.97, _MAKER),
        0.07,
        _share(0.041, "Morton & Hearle, regain of nylon at 65 % relative humidity, from memory", 0.03, 0.05),
        120.0,
        _retained(
            _share(0.35, f"{_HANDBOOK}: saturated against dry; no table for filament was found", 0.25, 0.5),
            _share(0.95, f"{COMMON_PRACTICE}: nylon is not softened by oils or white spirit", 0.9, 1.0),
            _share(0.7, f"{COMMON_PRACTICE}: alcohols soften nylon; ketones and aromatics hardly", 0.4, 0.9),
        ),
    ),
    _polymer(
        "nylon 6.10",
        1080.0,
        Property(3.3e9, "Pa", _HANDBOOK, 2.7e9, 3.9e9),
        Property(290e6, "Pa", _HANDBOOK, 240e6, 340e6),
        _share(0.94, _HANDBOOK, 0.9, 0.97),
        0.06,
        _share(0.018, _HANDBOOK, 0.014, 0.022),
        110.0,
        _retained(
            _share(0.6, _HANDBOOK, 0.5, 0.7),
            _share(0.95, f"{COMMON_PRACTICE}: nylon is not softened by oils or white spirit", 0.9, 1.0),
            _share(0.75, f"{COMMON_PRACTICE}: alcohols soften nylon; ketones and aromatics hardly", 0.5, 0.9),
        ),
    ),
    _polymer(
        "nylon 6.12",
        1060.0,
        Property(3.31e9, "Pa", _MAKER, 2.8e9, 3.9e9),
        Property(290e6, "Pa", _MAKER),
        _share(0.93, _MAKER),
        0.06,
        _share(0.015, _HANDBOOK, 0.012, 0.02),
        110.0,
        _retained(
            _share(0.65, _HANDBOOK, 0.55, 0.8),
            _share(0.95, f"{COMMON_PRACTICE}: nylon is not softened by oils or white spirit", 0.9, 1.0),
            _share(0.75, f"{COMMON_PRACTICE}: alcohols soften nylon; ketones and aromatics hardly", 0.5, 0.9),
        ),
    ),
    _polymer(
        "PBT",
        1310.0,
        Property(3.07e9, "Pa", _MAKER, 2.5e9, 3.6e9),
        Property(214e6, "Pa", _MAKER),
        _share(0.92, _MAKER),
        0.05,
        _share(0.001, _HANDBOOK, 0.0, 0.003),
        110.0,
        _retained(
            _share(0.97, _HANDBOOK, 0.93, 1.0),
            _share(0.97, COMMON_PRACTICE, 0.9, 1.0),
            _share(0.85, f"{COMMON_PRACTICE}: chlorinated solvents and hot ketones swell polyesters", 0.6, 1.0),
        ),
    ),
    _polymer(
        "PET",
        1380.0,
        Property(4.5e9, "Pa", _HANDBOOK, 3.0e9, 8.0e9),
        Property(350e6, "Pa", _HANDBOOK, 250e6, 500e6),
        _share(0.88, _HANDBOOK, 0.8, 0.93),
        0.04,
        _share(0.004, "Morton & Hearle, regain of polyester at 65 % relative humidity, from memory", 0.002, 0.006),
        120.0,
        _retained(
            _share(0.98, _HANDBOOK, 0.95, 1.0),
            _share(0.98, COMMON_PRACTICE, 0.93, 1.0),
            _share(0.9, f"{COMMON_PRACTICE}: chlorinated solvents and hot ketones swell polyesters", 0.7, 1.0),
        ),
    ),
    _polymer(
        "PP",
        905.0,
        Property(5.10e9, "Pa", _MAKER, 3.5e9, 6.0e9),
        Property(365e6, "Pa", _MAKER),
        _share(0.75, _MAKER),
        0.1,
        _share(0.0, f"{_HANDBOOK}: takes up no water"),
        80.0,
        _retained(
            _share(1.0, f"{_HANDBOOK}: takes up no water"),
            _share(0.85, f"{COMMON_PRACTICE}: white spirit swells polypropylene slowly", 0.7, 0.95),
            _share(0.6, f"{COMMON_PRACTICE}: aromatics swell polypropylene", 0.4, 0.8),
        ),
    ),
)


def mixed_filling(name: str, parts: tuple[tuple[str, float], ...]) -> FilamentMaterial:
    """A filling mixed of others, filaments of one size, by the rule of mixtures.

    name   what the mix is called
    parts  (filling, share by volume) of each; shares add up to 1

    Density, modulus and moisture are means; what is kept in a paint, bend recovery and relaxation are means by
    stiffness. The strongest filament sets the bond, the one least fit for heat the limit.
    Raises NotFound for a filling that is not known.

    >>> mix = mixed_filling("half and half", (("hog bristle", 0.5), ("PET", 0.5)))
    >>> float(mix.density), round(float(mix.stiffness_in("water-borne")), 3)
    (1345.0, 0.754)
    """
    of = [(_find(_PLAIN, filling), share) for filling, share in parts]
    natures = {material.nature for material, _ in of}
    words = " and ".join(f"{share:.0%} {filling}" for filling, share in parts)
    by_volume = f"rule of mixtures: {words}, by volume"
    stiff = [(material, share * float(material.modulus)) for material, share in of]
    whole_modulus = sum(weight for _, weight in stiff)
    density = sum(share * float(material.density) for material, share in of)

    def by_stiffness(kind: str) -> Property:
        value = sum(weight * float(getattr(material, kind)) for material, weight in stiff) / whole_modulus
        return Property(value, "", f"{by_volume}, weighed by stiffness")

    first = of[0][0]
    water = sum(share * float(material.density) * float(material.moisture) for material, share in of) / density
    return FilamentMaterial(
        name=name,
        nature=of[0][0].nature if len(natures) == 1 else "mixed",
        density=Property(density, "kg/m**3", by_volume),
        modulus=Property(whole_modulus, "Pa", by_volume),
        retained=tuple(
            (
                medium,
                Property(
                    sum(weight * float(material.stiffness_in(medium)) for material, weight in stiff) / whole_modulus,
                    "",
                    f"{by_volume}, weighed by stiffness",
                ),
            )
            for medium in MEDIA[1:]
        ),
        strength=max((material.strength for material, _ in of), key=float),
        moisture=Property(water, "", by_volume),
        bend_recovery=by_stiffness("bend_recovery"),
        relaxation=by_stiffness("relaxation"),
        diameter=first.diameter,
        tip_ratio=Property(sum(share * float(material.tip_ratio) for material, share in of), "", by_volume),
        heat_limit=min((material.heat_limit for material, _ in of), key=float),
    )


STOUTNESS: tuple[tuple[str, float, float], ...] = (
    ("fine", 0.10e-3, 0.15e-3),
    ("medium", 0.15e-3, 0.20e-3),
    ("stout", 0.20e-3, 0.26e-3),
    ("extra stout", 0.26e-3, 0.32e-3),
)
"""Hog bristle by stoutness: word, least and greatest mean diameter [m] (common practice; no standard was found)."""


def stoutness(diameter: float) -> str:
    """What hog bristle of a mean diameter [m] is called; "" outside what is sold. Source: common practice.

    >>> stoutness(0.18e-3), stoutness(0.24e-3), stoutness(0.5e-3)
    ('medium', 'stout', '')
    """
    return next((word for word, low, high in STOUTNESS if low <= diameter < high), "")


def _find(among: tuple[FilamentMaterial, ...], name: str) -> FilamentMaterial:
    for material in among:
        if material.name == name:
            return material
    names = [material.name for material in among]
    raise NotFound(Fault("filling", name, "one of " + ", ".join(names), nearest(name, names)))


FILAMENTS: tuple[FilamentMaterial, ...] = (
    *_PLAIN,
    mixed_filling("hog bristle and PET", (("hog bristle", 0.5), ("PET", 0.5))),
    mixed_filling("nylon 6.12 and PET", (("nylon 6.12", 0.5), ("PET", 0.5))),
)
FILAMENT_NAMES: tuple[str, ...] = tuple(material.name for material in FILAMENTS)


def filament_material(name: str) -> FilamentMaterial:
    """The filling material of that name. Raises NotFound with the nearest name.

    >>> float(filament_material("PBT").density)
    1310.0
    """
    return _find(FILAMENTS, name)
