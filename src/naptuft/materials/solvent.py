"""Hansen parameters of solvents and polymers: which paint softens which core, glue or fibre."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from naptuft.calculation import nearest
from naptuft.errors import DesignError, Fault, NotFound

_HANSEN = "Hansen Solubility Parameters: A User's Handbook, appendix A, from memory"
_BURKE = "Burke, Solubility Parameters: Theory and Application, 1984, after Hansen, from memory"
_LOW = "Hansen-type values of low confidence, from memory: test a sample in the paint"


@dataclass(frozen=True)
class Solubility:
    """Dispersion, polar and hydrogen-bond parts of the solubility parameter, each in [Pa**0.5].

    radius  for a polymer, its radius of interaction [Pa**0.5]; 0 for a solvent
    solid   what being inside the radius means, in words
    """

    name: str
    dispersion: float
    polar: float
    hydrogen: float
    source: str
    radius: float = 0.0
    solid: str = ""


def _of(
    name: str, parts_mpa: tuple[float, float, float], source: str, radius: float = 0.0, solid: str = ""
) -> Solubility:
    d, p, h = (part * 1e3 for part in parts_mpa)
    return Solubility(name, d, p, h, source, radius * 1e3, solid)


PAINT_SOLVENTS: dict[str, Solubility] = {
    each.name: each
    for each in (
        _of("acetone", (15.5, 10.4, 7.0), _HANSEN),
        _of("methyl ethyl ketone", (16.0, 9.0, 5.1), _HANSEN),
        _of("toluene", (18.0, 1.4, 2.0), _HANSEN),
        _of("xylene", (17.8, 1.0, 3.1), _HANSEN),
        _of("n-butyl acetate", (15.8, 3.7, 6.3), _HANSEN),
        _of("ethyl acetate", (15.8, 5.3, 7.2), _HANSEN),
        _of("ethanol", (15.8, 8.8, 19.4), _HANSEN),
        _of("isopropanol", (15.8, 6.1, 16.4), _HANSEN),
        _of("white spirit", (15.8, 0.1, 0.2), _HANSEN),
        _of("water", (15.5, 16.0, 42.3), _HANSEN),
    )
}
PAINT_SOLVENT_NAMES: tuple[str, ...] = tuple(PAINT_SOLVENTS)

POLYMERS: dict[str, Solubility] = {
    each.name: each
    for each in (
        _of("rigid PVC", (18.23, 7.53, 8.35), _BURKE, 3.5, "dissolves"),
        _of("polystyrene", (21.28, 5.75, 4.30), _BURKE, 12.7, "dissolves"),
        _of("solid epoxy resin, not cured", (20.36, 12.03, 11.48), _BURKE, 12.7, "dissolves"),
        _of("polypropylene", (18.0, 0.0, 1.0), _LOW, 6.0, "may swell: soak a sample"),
        _of("polyethylene, high density", (18.0, 3.0, 2.0), _LOW, 2.0, "may swell: soak a sample"),
        _of("polyester (PET)", (19.5, 3.5, 8.6), _LOW, 7.6, "may swell: soak a sample"),
    )
}


def distance(one: Solubility, other: Solubility) -> float:
    """Distance of two materials, √(4ΔD² + ΔP² + ΔH²). [Pa**0.5]

    Source: Hansen, 1967; Hansen Solubility Parameters: A User's Handbook (from memory).

    >>> round(distance(POLYMERS["rigid PVC"], PAINT_SOLVENTS["acetone"]) / 1e3, 2)
    6.31
    """
    return sqrt(
        4 * (one.dispersion - other.dispersion) ** 2
        + (one.polar - other.polar) ** 2
        + (one.hydrogen - other.hydrogen) ** 2
    )


def relative_distance(polymer: Solubility, solvent: Solubility) -> float:
    """Distance over the polymer's radius (RED): below 1 the solvent softens it, above 1 it does not.

    Raises DesignError where the polymer has no radius.

    >>> round(relative_distance(POLYMERS["polystyrene"], PAINT_SOLVENTS["toluene"]), 2)
    0.65
    """
    if polymer.radius <= 0:
        raise DesignError(Fault("polymer", polymer.name, "a polymer with a radius", "give its radius of interaction"))
    return distance(polymer, solvent) / polymer.radius


def blend(parts: Sequence[tuple[str, float]]) -> Solubility:
    """The solvent that a mixture acts as: parts weighed by volume.

    parts  (name, volume) of each solvent; volumes above 0 in any one unit
    Raises NotFound naming every solvent whose parameters are missing; DesignError where volumes are not above 0.
    Source: Hansen Solubility Parameters: A User's Handbook (from memory).

    >>> mixed = blend([("acetone", 1), ("toluene", 1)])
    >>> mixed.dispersion, round(mixed.polar, 6)
    (16750.0, 5900.0)
    """
    missing = [name for name, _ in parts if name not in PAINT_SOLVENTS]
    if missing:
        raise NotFound(
            *(
                Fault(
                    "solvent",
                    name,
                    "a solvent whose dispersion, polar and hydrogen-bond parameters are known",
                    nearest(name, PAINT_SOLVENTS),
                )
                for name in missing
            )
        )
    total = sum(volume for _, volume in parts)
    if not parts or min(volume for _, volume in parts) <= 0:
        raise DesignError(Fault("solvents", parts, "volumes above 0", "leave out what is not in the paint"))
    shares = [(PAINT_SOLVENTS[name], volume / total) for name, volume in parts]
    return Solubility(
        " + ".join(name for name, _ in parts),
        sum(solvent.dispersion * share for solvent, share in shares),
        sum(solvent.polar * share for solvent, share in shares),
        sum(solvent.hydrogen * share for solvent, share in shares),
        _HANSEN,
    )
