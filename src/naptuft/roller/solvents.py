"""Solvent-proof refills: which cores, glues and fibres stand a paint's solvents."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin, sqrt

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, nearest, quantity, rows, text
from naptuft.drawing import Graph
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.solvent import PAINT_SOLVENT_NAMES, PAINT_SOLVENTS, POLYMERS, Solubility, relative_distance

_SOURCE = "Hansen, 1967; Hansen Solubility Parameters: A User's Handbook (from memory)"
_GIVEN = "given with the solvent"
_UNIT = "MPa**0.5"
_PARTS = ("dispersion", "polar", "hydrogen")
CAUTION = Caution(
    "Vapour of paint solvents",
    "test refills under extraction, keep ignition sources away, wear gloves that stand the solvent",
    "29 CFR 1910.122-.126 and 1910.1200",
)
USED_FOR = {
    "polypropylene": "core",
    "polyethylene, high density": "core",
    "polystyrene": "core",
    "rigid PVC": "core",
    "solid epoxy resin, not cured": "glue",
    "polyester (PET)": "pile",
}
_BY_TRIAL = {
    "phenolic paper": "phenolic paper is cross-linked and does not dissolve, but its cut ends wick: soak one for a day",
    "cardboard": "cardboard soaks up any paint and softens: not for a solvent-proof refill",
}


@dataclass(frozen=True)
class SolventPart:
    """One solvent of a paint and its part by volume; its Hansen parameters where the table does not have it."""

    solvent: str = text("solvent in the paint", example="xylene")
    volume: float = quantity("%", "its part of the solvents, by volume", low=0, above=True, high=100, example="70 %")
    dispersion: float | None = quantity(
        _UNIT,
        "dispersion part of its solubility parameter; only for one not in the table",
        low=0,
        high=60,
        default=None,
    )
    polar: float | None = quantity(_UNIT, "polar part of it", low=0, high=60, default=None)
    hydrogen: float | None = quantity(_UNIT, "hydrogen-bond part of it", low=0, high=60, default=None)


@dataclass(frozen=True)
class SolventDesign:
    """The solvents of a paint, and the core meant to stand them."""

    solvents: tuple[SolventPart, ...] = rows(
        SolventPart,
        "solvents of the paint: name, volume; then dispersion, polar, hydrogen-bond part for one not in the table",
        example="xylene | 70 %; n-butyl acetate | 30 %",
    )
    core: str = choice(("any", *CORE_NAMES), "core to be judged", default="any", example="rigid PVC")
    least_distance: float = quantity(
        "", "least relative distance (RED) held to be safe", low=1, high=5, default=1.2, example="1.2"
    )

    def __post_init__(self) -> None:
        faults = [
            fault for number, part in enumerate(self.solvents, start=1) for fault in _missing(part, number) if fault
        ]
        if faults:
            raise DesignError(*faults)

    @property
    def parts(self) -> tuple[tuple[Solubility, float], ...]:
        """Each solvent with its parameters, and its volume."""
        return tuple((_solubility(part), part.volume) for part in self.solvents)


def _known(name: str) -> Solubility | None:
    return next((each for known, each in PAINT_SOLVENTS.items() if known.casefold() == name.casefold()), None)


def _missing(part: SolventPart, number: int) -> tuple[Fault, ...]:
    """What a row lacks: every parameter of a solvent that is not in the table and not given."""
    lacking = [name for name in _PARTS if getattr(part, name) is None]
    if not lacking or (_known(part.solvent) and len(lacking) == len(_PARTS)):
        return ()
    words = ", ".join("hydrogen-bond" if name == "hydrogen" else name for name in lacking)
    close = nearest(part.solvent, PAINT_SOLVENT_NAMES)
    hint = f"{close} Else write" if close.startswith("did you mean") else "write"
    if _known(part.solvent):
        hint = "leave all three out, as the table has this solvent, or write"
    return (
        Fault(
            f"solvents, row {number}, solvent",
            part.solvent,
            f"a solvent of the table ({', '.join(PAINT_SOLVENT_NAMES)}), or any other with its three parameters",
            f"missing: {words} part, in MPa^½; {hint} it as '{part.solvent} | {part.volume * 100:g} % | dispersion | "
            "polar | hydrogen-bond', from its maker's sheet or Hansen's handbook",
        ),
    )


def _solubility(part: SolventPart) -> Solubility:
    known = _known(part.solvent)
    if part.dispersion is None or part.polar is None or part.hydrogen is None:
        assert known is not None
        return known
    return Solubility(part.solvent, part.dispersion, part.polar, part.hydrogen, _GIVEN)


def mixture(parts: Sequence[tuple[Solubility, float]]) -> Solubility:
    """The solvent that a mixture acts as: parameters weighed by volume.

    parts: each solvent and its volume, in any one unit, above 0.
    Source: Hansen Solubility Parameters: A User's Handbook (from memory).

    >>> both = mixture([(PAINT_SOLVENTS["acetone"], 1.0), (PAINT_SOLVENTS["toluene"], 1.0)])
    >>> both.dispersion, round(both.polar, 6)
    (16750.0, 5900.0)
    """
    total = sum(volume for _, volume in parts)

    def mean(name: str) -> float:
        return sum(getattr(solvent, name) * volume for solvent, volume in parts) / total

    return Solubility(
        " + ".join(solvent.name for solvent, _ in parts),
        mean("dispersion"),
        mean("polar"),
        mean("hydrogen"),
        "; ".join(dict.fromkeys(solvent.source for solvent, _ in parts)),
    )


def _key(polymer: Solubility) -> str:
    return "red_" + "_".join(re.findall("[a-z]+", polymer.name.lower()))


def _work_out(design: SolventDesign) -> Result:
    mixed = mixture(design.parts)
    ranked = sorted(POLYMERS.values(), key=lambda polymer: -relative_distance(polymer, mixed))
    values, steps, remarks = [], [], []
    for polymer in ranked:
        red = relative_distance(polymer, mixed)
        values.append(Value(_key(polymer), f"RED of {polymer.name}", red))
        steps.append(
            Step(f"RED of {polymer.name}", "√(4ΔD² + ΔP² + ΔH²) / R0", red, "", f"{_SOURCE}; values: {polymer.source}")
        )
        word = "stands it" if red >= design.least_distance else "doubtful: soak a sample" if red > 1 else polymer.solid
        remarks.append(f"{polymer.name}: {word} (RED {red:.2f}; used for the {USED_FOR[polymer.name]}).")
    safe = [
        polymer.name
        for polymer in ranked
        if USED_FOR[polymer.name] == "core" and relative_distance(polymer, mixed) >= design.least_distance
    ]
    remarks.insert(
        0,
        f"Cores that stand these solvents, safest first: {', '.join(safe)}."
        if safe
        else "No core of the table stands these solvents for sure: soak phenolic paper, or change the paint.",
    )
    remarks.append(
        "Phenolic paper and cured epoxy are cross-linked: they do not dissolve, but soak a sample for a day."
    )
    remarks.append(
        "Polypropylene and polyethylene are partly crystalline: solvents swell rather than dissolve them when cold, even "
        "where RED is below 1; a soaked sample decides."
    )
    remarks.append("Wool, acrylic and polyamide pile: no parameters in the table; soak a sample for a day.")
    checks: tuple[Check, ...] = ()
    if design.core in POLYMERS:
        checks = (
            Check(
                f"relative distance of the core, {design.core}",
                relative_distance(POLYMERS[design.core], mixed),
                design.least_distance,
                "at least",
                "",
                f"{_SOURCE}; margin over 1: {COMMON_PRACTICE}",
                f"use {safe[0]}" if safe else "soak a core of phenolic paper in the paint for a day",
            ),
        )
    elif design.core in _BY_TRIAL:
        remarks.insert(0, f"Core: {_BY_TRIAL[design.core]}.")
    return Result(values=tuple(values), checks=checks, steps=tuple(steps), cautions=(CAUTION,), remarks=tuple(remarks))


def draw_solvents(design: SolventDesign, result: Result) -> str:
    """Polar against hydrogen-bond part: each polymer's circle of danger where the paint's dispersion part cuts it."""
    mixed = mixture(design.parts)
    graph = Graph(
        "paint solvents and what they soften",
        "polar part, MPa^½",
        f"hydrogen-bond part, MPa^½ (cut at dispersion {mixed.dispersion / 1e3:.1f})",
        height=120,
    )
    for polymer in POLYMERS.values():
        square = polymer.radius**2 - 4 * (polymer.dispersion - mixed.dispersion) ** 2
        if square <= 0:
            continue
        radius = sqrt(square) / 1e3
        ring = [
            (polymer.polar / 1e3 + radius * cos(k * pi / 30), polymer.hydrogen / 1e3 + radius * sin(k * pi / 30))
            for k in range(61)
        ]
        used = USED_FOR[polymer.name]
        words = f"{polymer.name.split(',')[0]}, RED {result[_key(polymer)]:.2f}"
        graph.curve(ring, words, "second" if used == "core" else "detail")
    x, y = mixed.polar / 1e3, mixed.hydrogen / 1e3
    mark = [(x - 0.5, y), (x + 0.5, y), (x, y), (x, y + 0.5), (x, y - 0.5), (x, y)]
    graph.curve(mark, "the paint", "accent")
    return graph.svg()


SOLVENT_PROOF = Calculation(
    name="solvent-proof",
    title="Solvent-proof refill",
    line="roller",
    about="Which cores, glues and fibres stand the solvents of a paint, safest first, by their Hansen distance.",
    inputs=SolventDesign,
    run=_work_out,
    draw=draw_solvents,
)
