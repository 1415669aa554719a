"""Which tolerance matters most, and what share of brushes will be inside."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, pi, sqrt
from typing import TYPE_CHECKING

from naptuft.brush import fill
from naptuft.brush.head import BRUSH, LOOSE_PACKING, TIGHT_PACKING, BrushDesign
from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity, whole
from naptuft.design_sheet import sensitivities
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE

if TYPE_CHECKING:
    import numpy as np

TOLD = 6
_FIGURES = ("fill_weight", "filament_count", "epoxy_dose", "head_stiffness")


def inside_normal(spread: float, tolerance: float, shift: float = 0.0) -> float:
    """Share of a normal quantity within ± tolerance of where it should be. [1]

    Φ((T − s)/σ) − Φ((−T − s)/σ): spread σ, tolerance T and shift s of its mean in one unit. Source: normal law.

    >>> round(inside_normal(1.0, 1.96), 4), round(inside_normal(0.0, 1.0), 1)
    (0.95, 1.0)
    """
    if spread <= 0:
        return 1.0 if abs(shift) <= tolerance else 0.0
    return (erf((tolerance - shift) / spread / sqrt(2)) - erf((-tolerance - shift) / spread / sqrt(2))) / 2


@dataclass(frozen=True)
class ToleranceStudy(BrushDesign):
    """A brush head, how its making scatters, and what is allowed."""

    weight_scatter: float = quantity(
        "%", "standard deviation of picking weight", low=0, high=30, default=2, example="2 %"
    )
    diameter_scatter: float = quantity(
        "%", "standard deviation of a lot's mean diameter", low=0, high=30, default=3, example="3 %"
    )
    width_scatter: float = quantity("%", "standard deviation of ferrule width", low=0, high=10, default=0.3)
    thickness_scatter: float = quantity("%", "standard deviation of ferrule thickness", low=0, high=10, default=1)
    weight_tolerance: float = quantity("%", "fill weight may be off by, either way", low=0.1, high=50, default=5)
    stiffness_tolerance: float = quantity("%", "stiffness may be off by, either way", low=0.5, high=80, default=15)
    least_packing: float = quantity(
        "", "packing below which it sheds", low=0.2, high=0.9, default=LOOSE_PACKING, example="0.55"
    )
    most_packing: float = quantity(
        "", "packing above which it will not drive in", low=0.3, high=0.9, default=TIGHT_PACKING, example="0.70"
    )
    brushes: int = whole("brushes tried", low=100, high=2_000_000, default=100_000)
    seed: int = whole("start of the random numbers", low=0, high=2**31, default=1)

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.least_packing >= self.most_packing:
            raise DesignError(
                Fault("least packing", self.least_packing, f"below the most, {self.most_packing:g}", "swap the two")
            )


@dataclass(frozen=True)
class Tried:
    """So many brushes, one entry a brush, each array of shape (brushes,).

    weight     fill weight over nominal
    count      filaments over nominal
    packing    filling area over open area
    stiffness  head stiffness over nominal
    """

    weight: np.ndarray
    count: np.ndarray
    packing: np.ndarray
    stiffness: np.ndarray


def try_brushes(study: ToleranceStudy) -> Tried:
    """Pick, size and fill so many brushes at random, with normal scatter; the same seed gives the same brushes.

    Filaments are picked by weight, so the count falls as the square of their diameter; packing follows from
    weight over open area; stiffness goes as count times the fourth power of the diameter. Centrepieces keep
    their size.

    >>> study, _ = TOLERANCE.read({**TOLERANCE.example(), "brushes": "1000"})
    >>> tried = try_brushes(study)
    >>> tried.packing.shape, bool(abs(tried.packing.mean() - study.packing) < 0.005)
    ((1000,), True)
    """
    import numpy as np

    draw = np.random.default_rng(study.seed)
    weight, diameter, width, thickness = (
        np.maximum(0.05, 1 + scatter * draw.standard_normal(study.brushes))
        for scatter in (study.weight_scatter, study.diameter_scatter, study.width_scatter, study.thickness_scatter)
    )
    cavity = study.cavity
    wide, thick = cavity.width * width, cavity.thickness * thickness
    if cavity.shape == "round":
        thick = wide
    area = (wide - thick) * thick + pi / 4 * thick**2 if cavity.shape == "flat" else pi / 4 * wide * thick
    area = np.maximum(area - (cavity.area - study.open_area), 1e-12)
    count = weight / diameter**2
    return Tried(weight, count, study.packing * weight * study.open_area / area, count * diameter**4)


def _work_out(study: ToleranceStudy) -> Result:
    tried = try_brushes(study)
    light = abs(tried.weight - 1) <= study.weight_tolerance
    snug = (tried.packing >= study.least_packing) & (tried.packing <= study.most_packing)
    firm = abs(tried.stiffness - 1) <= study.stiffness_tolerance
    inside = float((light & snug & firm).mean())
    error = sqrt(inside * (1 - inside) / study.brushes)
    nominal = fill.filament_count(study.open_area, study.packing, study.diameter)
    moved = [each for each in sensitivities(study, BRUSH.run) if each.figure in _FIGURES]
    by_name = {field.name: field.label for field in BRUSH.fields}
    labels = {value.name: value.label for value in BRUSH.run(study).values}
    foremost = moved[0]
    return Result(
        values=(
            Value("inside", "brushes inside every limit", inside, "%"),
            Value("weight_inside", "inside the weight tolerance", float(light.mean()), "%"),
            Value("packing_inside", "inside the packing limits", float(snug.mean()), "%"),
            Value("stiffness_inside", "inside the stiffness tolerance", float(firm.mean()), "%"),
            Value("sampling_error", "standard error of the share inside", error, "%"),
            Value("packing_mean", "packing, mean", float(tried.packing.mean()), ""),
            Value("packing_spread", "packing, standard deviation", float(tried.packing.std(ddof=1)), ""),
            Value("count_spread", "filaments, standard deviation", float(tried.count.std(ddof=1)) * nominal, "pcs"),
            Value("stiffness_spread", "stiffness, standard deviation", float(tried.stiffness.std(ddof=1)), "%"),
            *(
                Value(
                    f"{each.input} on {each.figure}",
                    f"{labels[each.figure]} for 1 % of {by_name.get(each.input, each.input)}",
                    each.per_cent / 100,
                    "%",
                )
                for each in moved[:TOLD]
            ),
        ),
        checks=(
            Check(
                "brushes inside",
                inside,
                0.95,
                "at least",
                "%",
                f"{COMMON_PRACTICE}: nineteen in twenty",
                "hold closer what the figures follow most, or allow more",
            ),
        ),
        steps=(
            Step("packing", "weight / open area, brush by brush", float(tried.packing.mean()), "", "normal scatter"),
            Step(
                "inside the weight tolerance, by the normal law",
                "Φ(T/σ) − Φ(−T/σ)",
                inside_normal(study.weight_scatter, study.weight_tolerance),
                "%",
                "normal distribution",
            ),
            Step(
                "stiffness, standard deviation to first order",
                "√(σ_w² + (2σ_d)²), as weight · d²",
                sqrt(study.weight_scatter**2 + (2 * study.diameter_scatter) ** 2),
                "%",
                "propagation of error; Roark, cantilevers (from memory)",
            ),
            Step("standard error", "√(p(1 − p)/n)", error, "%", "binomial distribution"),
        ),
        remarks=(
            f"What matters most: {labels[foremost.figure]} moves {foremost.per_cent:+.1f} % for 1 % of "
            f"{by_name.get(foremost.input, foremost.input)}.",
            f"{study.brushes:,} brushes tried with seed {study.seed}; the same seed gives the same figures.",
        ),
    )


TOLERANCE = Calculation(
    name="brush-tolerance",
    title="Brush tolerances",
    line="brush",
    about="The share of brushes inside weight, packing and stiffness limits, and which tolerance matters most.",
    inputs=ToleranceStudy,
    run=_work_out,
)
