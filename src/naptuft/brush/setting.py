"""Setting the butts in epoxy: how much hardener to how much resin, and how much of both."""

from __future__ import annotations

from collections.abc import Sequence

from naptuft.errors import DesignError, Fault


def hardener_phr(amine_equivalent: float, epoxide_equivalent: float) -> float:
    """Hardener in parts by mass to a hundred of resin, 100·AHEW/EEW. [1]

    amine_equivalent: hardener mass per active hydrogen [kg/mol]; epoxide_equivalent: resin mass per
    epoxide group [kg/mol]. Source: stoichiometry, one amine hydrogen to one epoxide group.

    >>> round(hardener_phr(0.0206, 0.200), 1)
    10.3
    """
    return 100 * amine_equivalent / epoxide_equivalent


def blended_equivalent(parts: Sequence[tuple[float, float | None]]) -> float:
    """Epoxide equivalent of a mix of resins and fillers, W / Σ(Wi/EEWi). [kg/mol]

    parts: (mass, epoxide equivalent [kg/mol]); None for what holds no epoxide (a filler).
    Raises DesignError when nothing in it holds epoxide.

    >>> round(blended_equivalent([(80, 0.189), (10, 0.183), (10, None)]), 3)
    0.209
    """
    groups = sum(mass / equivalent for mass, equivalent in parts if equivalent is not None)
    if groups <= 0:
        raise DesignError(Fault("resin", parts, "at least one part with epoxide groups", "add the resin"))
    return sum(mass for mass, _ in parts) / groups


def void_volume(area: float, packing: float, depth: float) -> float:
    """Room among the butts that glue fills, A(1 − V)·depth. [m**3]

    area: open area [m**2]; packing; depth of the setting [m].

    >>> round(void_volume(514e-6, 0.62, 0.005) * 1e6, 3)
    0.977
    """
    return area * (1 - packing) * depth


def epoxy_dose(void: float, cap: float, density: float, loss: float) -> float:
    """Mass of mixed epoxy put into one brush. [kg]

    density × (void among the butts + cap above them), over 1 − loss.
    void, cap [m**3]; density [kg/m**3]; loss: share left in cups, mixers and on the bench, below 1.

    >>> round(epoxy_dose(0.977e-6, 0.6e-6, 1120, 0.05) * 1e3, 2)
    1.86
    """
    return density * (void + cap) / (1 - loss)


def split_dose(dose: float, phr: float) -> tuple[float, float]:
    """The dose as resin and hardener. [kg], [kg]

    >>> resin, hardener = split_dose(1.103, 10.3)
    >>> round(resin, 6), round(hardener, 6)
    (1.0, 0.103)
    """
    resin = dose / (1 + phr / 100)
    return resin, dose - resin
