"""Which filling suits which paint, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from naptuft.brush.cautions import SOLVENT_CAUTION
from naptuft.brush.flex import HOUR, force_left
from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity
from naptuft.materials.filament import FILAMENTS, MEDIA, FilamentMaterial, Medium
from naptuft.materials.property import COMMON_PRACTICE

_UFC = "UFC 3-190-06 (MIL-HDBK-1110), Protective Coatings and Paints, 7.5.2"
_TM = "TM 43-0139, Painting Instructions for Army Materiel, 5-11"
LEAST_KEPT, LEAST_RECOVERY = 0.6, 0.85
UNSATISFACTORY = ("horsehair",)
Job = Literal["wall", "sash and trim", "enamel or varnish"]
JOBS: tuple[Job, ...] = ("wall", "sash and trim", "enamel or varnish")
_SHAPE_FOR: dict[Job, str] = {
    "wall": f"For walls: a wide flat brush with long, soft filling ({_TM}), tapered from side to centre ({_UFC}).",
    "sash and trim": f"For sash and trim: a chisel or slash-shaped (angular) trim ({_UFC}).",
    "enamel or varnish": f"For enamel and varnish: shorter filling ({_UFC}), moderately soft and fine, with a chisel "
    f"point ({_TM}).",
}


def against(material: FilamentMaterial, medium: Medium) -> str:
    """Why a filling does not suit a paint; "" when it does.

    Source: UFC 3-190-06, 7.5.2: synthetic for latex paints, natural where strong solvents soften synthetics;
    horsehair is an unsatisfactory substitute for hog hair.

    >>> from naptuft.materials.filament import filament_material
    >>> against(filament_material("hog bristle"), "water-borne")
    'hog bristle takes up water and goes limp in water-borne paint'
    >>> against(filament_material("hog bristle"), "strong solvent")
    ''
    """
    if medium == "water-borne" and material.nature != "synthetic":
        who = material.name if material.nature == "natural" else f"the hair in {material.name}"
        return f"{who} takes up water and goes limp in water-borne paint"
    if material.name in UNSATISFACTORY:
        return f"{material.name} is an unsatisfactory substitute for hog bristle (UFC 3-190-06)"
    kept = float(material.stiffness_in(medium))
    if kept < LEAST_KEPT:
        return f"{material.name} keeps only {kept:.0%} of its stiffness in {medium} paint"
    if float(material.bend_recovery) < LEAST_RECOVERY:
        return f"{material.name} recovers only {float(material.bend_recovery):.0%} of a sharp bend and takes a set"
    if medium == "strong solvent" and material.nature != "natural":
        return f"strong solvents may soften {material.name}; try it in the paint first"
    return ""


@dataclass(frozen=True)
class Suitability:
    """One filling judged for a paint.

    modulus   what it has in the paint after a stroke held for a second [Pa]
    in_an_hour  what is left of that when held bent for an hour [Pa]
    reason    why it does not suit; "" when it does
    """

    material: FilamentMaterial
    modulus: float
    in_an_hour: float
    reason: str


def rank_fillings(medium: Medium, hottest: float) -> tuple[Suitability, ...]:
    """Every filling for a paint, the best first: those that suit, by stiffness in use times bend recovery.

    hottest: temperature the brush meets in washing, drying or cure [K].

    >>> [judged.material.name for judged in rank_fillings("water-borne", 313.15)][:3]
    ['PET', 'nylon 6.12 and PET', 'PBT']
    """
    judged = []
    for material in FILAMENTS:
        modulus = float(material.modulus) * float(material.stiffness_in(medium))
        reason = against(material, medium)
        if hottest > float(material.heat_limit):
            hot = f"{material.name} should not meet more than {float(material.heat_limit) - 273.15:.0f} °C"
            reason = f"{reason}; {hot}" if reason else hot
        judged.append(Suitability(material, modulus, modulus * force_left(float(material.relaxation), HOUR), reason))
    return tuple(
        sorted(judged, key=lambda one: (bool(one.reason), -one.in_an_hour * float(one.material.bend_recovery)))
    )


@dataclass(frozen=True)
class Use:
    """What the brush is for."""

    medium: Medium = choice(MEDIA, "paint it will work in", example="water-borne")
    job: Job | None = choice(JOBS, "what is painted with it; left out: not said", default=None, example="wall")
    hottest: float = quantity(
        "degC", "hottest it meets in washing, drying or cure", low=0, high=250, default=60, example="60 degC"
    )


def _work_out(use: Use) -> Result:
    ranked = rank_fillings(use.medium, use.hottest)
    best = ranked[0]
    kept = best.material.stiffness_in(use.medium)
    remarks = [
        f"First choice: {best.material.name}; it keeps {float(kept):.0%} of its stiffness and recovers "
        f"{float(best.material.bend_recovery):.0%} of a sharp bend."
        if not best.reason
        else f"None suits without reserve; the least bad is {best.material.name}: {best.reason}."
    ]
    remarks += [f"Against: {one.reason}." for one in ranked if one.reason and one is not best]
    if use.job is not None:
        remarks.append(_SHAPE_FOR[use.job])
    remarks.append(
        "Take flagged (split) tips: they carry more paint and leave finer marks; avoid filling without flags (UFC "
        "3-190-06)."
    )
    if use.medium == "strong solvent":
        remarks.append("Natural bristle is preferred for paints with strong solvents (UFC 3-190-06).")
    return Result(
        values=tuple(
            Value(f"modulus of {one.material.name}", f"{one.material.name} in this paint", one.modulus, "GPa")
            for one in ranked
        ),
        checks=(
            Check(f"stiffness {best.material.name} keeps", float(kept), LEAST_KEPT, "at least", "%", kept.source),
            Check(
                f"bend recovery of {best.material.name}",
                float(best.material.bend_recovery),
                LEAST_RECOVERY,
                "at least",
                "%",
                f"{best.material.bend_recovery.source}; the limit is {COMMON_PRACTICE}",
                "choose a filling that springs back better",
            ),
            Check(
                f"heat {best.material.name} bears",
                float(best.material.heat_limit),
                use.hottest,
                "at least",
                "degC",
                best.material.heat_limit.source,
                "wash, dry and cure cooler",
            ),
        ),
        steps=tuple(
            Step(
                f"{one.material.name} after an hour",
                "E · share kept · (1 − r·log10(3600))",
                one.in_an_hour,
                "GPa",
                one.reason or _UFC,
            )
            for one in ranked
        ),
        cautions=() if use.medium in ("dry", "water-borne") else (SOLVENT_CAUTION,),
        remarks=tuple(remarks),
    )


SUITABILITY = Calculation(
    name="filling-choice",
    title="Choice of filling",
    line="brush",
    about="Which filling suits a paint, the best first, with the reason against each of the others.",
    inputs=Use,
    run=_work_out,
)
