"""The blend worked through on one form: the lots as measured, the blend to mix today, and what a stiffer one costs."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from naptuft.brush.blend import (
    BlendLot,
    FillingTarget,
    LengthAsked,
    blend_lots,
    read_length_profile,
    stiffness_frontier,
)
from naptuft.brush.cautions import BRISTLE_CAUTION, TRIMMING_CAUTION
from naptuft.calculation import Calculation, Check, Result, Step, Value, money, quantity, rows, text, whole
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.quantity import show, show_number


@dataclass(frozen=True)
class LotRow:
    """A lot as a row of a form or a sheet; its lengths as text."""

    code: str = text("lot code", example="B-101")
    available: float = quantity("kg", "mass in stock, as weighed", low=0, high=100000, example="12 kg")
    price_per_kg: Decimal = money("price of a kg as weighed", example="48.50")
    lengths: str = text("measured lengths and shares", example="76 mm: 80 %, 70 mm: 20 %")
    diameter: float = quantity("mm", "mean diameter", low=0.03, high=0.6, example="0.18 mm")
    moisture: float | None = quantity(
        "%", "water, as a share of the mass as weighed; left out: taken as dry", low=0, high=60, default=None
    )
    curl: float | None = quantity("%", "share of curled hair; left out: none", low=0, high=90, default=None)
    flag: float | None = quantity("%", "share of hair with a flag; left out: none", low=0, high=100, default=None)
    bundle: float = quantity("kg", "mass of a bundle; 0 when loose", low=0, high=1000, default=0)
    length_error: float = quantity("%", "standard error of each measured share", low=0, high=40, default=0)

    def __post_init__(self) -> None:
        _ = self.lot

    @property
    def lot(self) -> BlendLot:
        """The lot as the blender reads it."""
        return BlendLot(
            self.code,
            self.available,
            self.price_per_kg,
            read_length_profile(self.lengths, f"lot {self.code}, lengths"),
            self.diameter,
            self.moisture or 0.0,
            self.curl or 0.0,
            self.flag or 0.0,
            self.bundle,
            self.length_error,
        )


_EXAMPLE_LOTS = (
    "B-101 | 14 kg | 61.00 | 76 mm: 70 %, 70 mm: 30 % | 0.19 mm | 12 % | 4 %; "
    "B-102 | 9 kg | 47.50 | 70 mm: 75 %, 64 mm: 20 %, 50 mm: 5 % | 0.18 mm | 13 % | 6 %; "
    "B-103 | 30 kg | 36.00 | 64 mm: 80 %, 57 mm: 20 % | 0.17 mm | 12 % | 5 %; "
    "B-104 | 6 kg | 39.00 | 76 mm: 30 %, 70 mm: 40 %, 64 mm: 30 % | 0.18 mm | 14 % | 15 %"
)


@dataclass(frozen=True)
class BlendRequest(FillingTarget):
    """A blend to find: the target, the mass and the lots."""

    mass: float = quantity("kg", "mass of the blend asked", low=0.01, high=5000, example="10 kg")
    lots: tuple[LotRow, ...] = rows(LotRow, "lots that may be used", example=_EXAMPLE_LOTS)
    seconds: float = quantity("s", "time the solver may take", low=0.1, high=600, default=10)


def _work_out(request: BlendRequest) -> Result:
    blend = blend_lots(request, [row.lot for row in request.lots], request.mass, seconds=request.seconds)
    gap = float(blend.cost - blend.bound) / float(blend.cost) if blend.cost else 0.0
    said = "proven least" if blend.proven_optimal else f"not proven least: at most {gap:.2%} could be saved"
    checks = [
        check
        for row, (length, _, got) in zip(request.profile, blend.profile, strict=True)
        for check in _share_checks(row, length, got)
    ]
    checks.append(Check("other lengths", blend.stray, request.stray, "at most", "%", "the target", "use cleaner lots"))
    if request.least_mean_diameter is not None:
        checks.append(
            Check("mean diameter", blend.mean_diameter, request.least_mean_diameter, "at least", "mm", "the target")
        )
    if request.most_mean_diameter is not None:
        checks.append(
            Check("mean diameter", blend.mean_diameter, request.most_mean_diameter, "at most", "mm", "the target")
        )
    if request.least_flag is not None:
        checks.append(Check("flagged hair", blend.flag, request.least_flag, "at least", "%", "the target"))
    if request.stiff_as is not None:
        checks.append(Check("as stiff as hair of", blend.stiff_as, request.stiff_as, "at least", "mm", "the target"))
    return Result(
        values=(
            *(Value(f"take {code}", f"take from {code}", mass, "kg") for code, mass in blend.lots),
            Value("blend_mass", "blend", blend.mass, "kg"),
            Value("combings", "combings", blend.combings, "kg"),
            Value("cost", "cost of the lots taken", float(blend.cost), ""),
            Value("bound", "least cost proven possible", float(blend.bound), ""),
            Value("mean_diameter", "mean diameter", blend.mean_diameter, "mm"),
            Value("stiff_as", "head as stiff as hair of", blend.stiff_as, "mm"),
            Value("flag", "flagged hair", blend.flag, "%"),
        ),
        checks=tuple(checks),
        steps=(
            Step("taken", "Σ lots = blend + combings, to the gram", blend.taken, "kg", "mass balance"),
            Step(
                "left after combing",
                "(1 − short ends)(1 − curl)(1 − combing loss), lot by lot",
                blend.mass / blend.taken,
                "%",
                COMMON_PRACTICE,
            ),
            Step("dry mass", "Σ blend · (1 − moisture)", blend.dry_mass, "kg", "mass balance"),
            *(
                Step(f"share at {show(length, 'mm')}", f"asked {show(asked, '%')}", got, "%", "by dry mass")
                for length, asked, got in blend.profile
            ),
            Step("lots", "mixed-integer programme, at most so many lots", len(blend.lots), "pcs", said),
        ),
        cautions=(BRISTLE_CAUTION, TRIMMING_CAUTION),
        remarks=(f"The cost is {said}.", *_assumed(request), *(f"Refused: {fault}." for fault in blend.refused)),
    )


def _assumed(request: BlendRequest) -> tuple[str, ...]:
    """What was not measured, lot by lot, and what was taken for it."""
    remarks = []
    for name, taken in (("moisture", "dry"), ("curl", "free of curled hair"), ("flag", "without flags")):
        codes = [row.code for row in request.lots if getattr(row, name) is None]
        if codes:
            remarks.append(f"No {name} was given for {', '.join(codes)}: taken as {taken}.")
    if request.moisture is None and any(row.moisture for row in request.lots):
        remarks.append("The mass asked counts as the lots come; give a moisture for dry weight to count.")
    return tuple(remarks)


def _share_checks(row: LengthAsked, length: float, got: float) -> tuple[Check, Check]:
    label, mend = f"share at {show(length, 'mm')}", "widen the tolerance or add lots of other lengths"
    return (
        Check(label, got, max(0.0, row.share - row.tolerance), "at least", "%", "the target", mend),
        Check(label, got, row.share + row.tolerance, "at most", "%", "the target", mend),
    )


def draw_blend(request: BlendRequest, result: Result) -> str:
    """The length profile asked (with its tolerance) and got, hair drawn to scale, as SVG."""
    from naptuft.drawing import Drawing

    shares = {step.label: step.value for step in result.steps}
    longest = max(row.length for row in request.profile) * 1e3
    step, bar = longest * 0.32, longest * 0.22
    drawing = Drawing("length profile asked and got", width=150)
    drawing.line((-0.3 * step, 0), (len(request.profile) * step, 0), "outline", hint="butts")
    for number, row in enumerate(sorted(request.profile, key=lambda row: row.length)):
        got = shares[f"share at {show(row.length, 'mm')}"]
        x, height = number * step, row.length * 1e3
        hairs = max(1, round(got * 40))
        for hair in range(hairs):
            at = x + bar * (hair + 0.5) / hairs
            drawing.line((at, 0), (at, -height), "detail", hint=f"{show_number(got * 100)} % got")
        drawing.dimension((x, 0), (x, -height), show(row.length, "mm"), offset=-3)
        drawing.text((x + bar / 2, longest * 0.09), f"{got:.1%} got")
        drawing.text((x + bar / 2, longest * 0.17), f"{row.share:.0%} ± {row.tolerance:.0%} asked", size=2.6)
    return drawing.svg()


BLEND = Calculation(
    name="bristle-blend",
    title="Bristle blend",
    line="brush",
    about="Which lots of bristle to mix, and how much of each, for a length profile at least cost.",
    inputs=BlendRequest,
    run=_work_out,
    draw=draw_blend,
)


@dataclass(frozen=True)
class FrontierRequest(BlendRequest):
    """A blend to find at several stiffnesses."""

    points: int = whole("blends along the way from the cheapest to the stiffest", low=2, high=12, default=5)


def _work_out_frontier(request: FrontierRequest) -> Result:
    frontier = stiffness_frontier(
        request, [row.lot for row in request.lots], request.mass, points=request.points, seconds=request.seconds
    )
    cheapest, stiffest = frontier[0], frontier[-1]
    gained = (stiffest.stiff_as / cheapest.stiff_as) ** 2 - 1
    dearer = float(stiffest.cost / cheapest.cost) - 1 if cheapest.cost else 0.0
    numbered = tuple(enumerate(frontier, start=1))
    return Result(
        values=(
            *(Value(f"cost {n}", f"blend {n}, cost of the lots taken", float(b.cost), "") for n, b in numbered),
            *(Value(f"stiff_as {n}", f"blend {n}, as stiff as hair of", b.stiff_as, "mm") for n, b in numbered),
            Value("stiffer", "stiffest over cheapest, stiffness gained", gained, "%"),
            Value("dearer", "stiffest over cheapest, cost added", dearer, "%"),
        ),
        checks=(
            Check(
                "blends proven least in cost",
                sum(blend.proven_optimal for blend in frontier),
                len(frontier),
                "at least",
                "pcs",
                "the solver's bound",
                "allow more seconds",
            ),
        ),
        steps=(
            Step(
                "stiffness gained", "(d/d0)² − 1, at the same packing", gained, "%", "Roark, cantilevers (from memory)"
            ),
            Step("cost added", "cost/cost0 − 1", dearer, "%", "mixed-integer programme, each blend least in cost"),
        ),
        cautions=(BRISTLE_CAUTION, TRIMMING_CAUTION),
        remarks=tuple(f"Blend {n}: {blend}." for n, blend in numbered),
    )


def draw_frontier(request: FrontierRequest, result: Result) -> str:
    """Cost against the hair a blend is as stiff as, from the cheapest to the stiffest, as SVG."""
    from naptuft.drawing import Graph

    graph = Graph("cost against stiffness", "as stiff a head as hair of, mm", "cost of the lots taken")
    points = [(result[f"stiff_as {n}"] * 1e3, result[f"cost {n}"]) for n in range(1, request.points + 1)]
    graph.curve(points, "least cost")
    return graph.svg()


FRONTIER = Calculation(
    name="blend-frontier",
    title="Cost against stiffness of a blend",
    line="brush",
    about="The cheapest blends of ever stiffer heads, from the cheapest of all to the stiffest the lots allow.",
    inputs=FrontierRequest,
    run=_work_out_frontier,
    draw=draw_frontier,
)
