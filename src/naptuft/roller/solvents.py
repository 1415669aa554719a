"""Solvent-proof refills: which cores, glues and fibres stand a paint's solvents."""

from __future__ import annotations

import re
from dataclasses import dataclass

from naptuft.calculation import Calculation, Caution, Result, Step, Value, choice, quantity, rows
from naptuft.materials.solvent import PAINT_SOLVENT_NAMES, POLYMERS, blend, relative_distance

_SOURCE = "Hansen, 1967; Hansen Solubility Parameters: A User's Handbook (from memory)"
CAUTION = Caution(
    "Vapour of paint solvents",
    "test refills under extraction, keep ignition sources away, wear gloves that stand the solvent",
    "29 CFR 1910.122-.126 and 1910.1200",
)


@dataclass(frozen=True)
class SolventPart:
    """One solvent of a paint and its part by volume."""

    solvent: str = choice(PAINT_SOLVENT_NAMES, "solvent in the paint", example="xylene")
    volume: float = quantity("%", "its part of the solvents, by volume", low=0, above=True, high=100, example="70 %")


@dataclass(frozen=True)
class SolventDesign:
    """The solvents of a paint."""

    solvents: tuple[SolventPart, ...] = rows(
        SolventPart, "solvents of the paint", example="xylene | 70 %; n-butyl acetate | 30 %"
    )


def _work_out(design: SolventDesign) -> Result:
    parts = [(part.solvent, part.volume) for part in design.solvents]
    mixed = blend(parts)
    ranked = sorted(POLYMERS.values(), key=lambda polymer: -relative_distance(polymer, mixed))
    values, steps, remarks = [], [], []
    for polymer in ranked:
        red = relative_distance(polymer, mixed)
        key = "red_" + "_".join(re.findall("[a-z]+", polymer.name.lower()))
        values.append(Value(key, f"RED of {polymer.name}", red))
        steps.append(
            Step(f"RED of {polymer.name}", "√(4ΔD² + ΔP² + ΔH²) / R0", red, "", f"{_SOURCE}; values: {polymer.source}")
        )
        word = "stands it" if red > 1.2 else "doubtful: soak a sample" if red > 1 else polymer.solid
        remarks.append(f"{polymer.name}: {word} (RED {red:.2f}).")
    remarks.append(
        "Phenolic paper and cured epoxy are cross-linked: they do not dissolve, but soak a sample for a day."
    )
    return Result(values=tuple(values), steps=tuple(steps), cautions=(CAUTION,), remarks=tuple(remarks))


SOLVENT_PROOF = Calculation(
    name="solvent-proof",
    title="Solvent-proof refill",
    line="roller",
    about="Which cores, glues and fibres stand the solvents of a paint, safest first, by their Hansen distance.",
    inputs=SolventDesign,
    run=_work_out,
)
