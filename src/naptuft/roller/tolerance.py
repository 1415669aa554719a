"""How tolerances add up along a chain of dimensions: worst case, root sum of squares, share outside the limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erfc, inf, sqrt

from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity, rows, text
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault

_SHIGLEY = "Budynas and Nisbett, Shigley's Mechanical Engineering Design, 8th ed., sec. 1-13 and example 1-3"
_SCHOLZ = "Scholz, Tolerance Stack Analysis Methods, 1995: statistical tolerancing with an inflation factor"
_BENDER = "Bender, Statistical tolerancing as it relates to quality control and the designer, SAE 1968 (from memory)"


@dataclass(frozen=True)
class Link:
    """One dimension of a chain: what a unit of it adds to the gap, its size and how far it may stray."""

    name: str = text("what the dimension is", example="shoulder to clip groove")
    sense: float = quantity("", "what a unit of it adds to the gap: 1 opens it, -1 closes it", low=-100, high=100)
    nominal: float = quantity("mm", "size on the drawing", low=-1e5, high=1e5, example="229 mm")
    plus: float = quantity("mm", "most above it", low=0, high=1e4, example="0.3 mm")
    minus: float | None = quantity("mm", "most below it; leave out for the same", low=0, high=1e4, default=None)

    @property
    def below(self) -> float:
        """Most below the nominal. [m]"""
        return self.plus if self.minus is None else self.minus

    @property
    def middle(self) -> float:
        """Middle of the tolerance zone. [m]"""
        return self.nominal + (self.plus - self.below) / 2

    @property
    def half_width(self) -> float:
        """Half the tolerance zone. [m]"""
        return (self.plus + self.below) / 2


@dataclass(frozen=True)
class Stack:
    """The gap at the end of a chain.

    middle      of the gap [m]
    worst       most it can stray when every dimension is at its limit [m]
    statistical root sum of squares, times the inflation factor [m]
    """

    middle: float
    worst: float
    statistical: float


def stack_up(links: Sequence[Link], inflation: float = 1.0) -> Stack:
    """The gap of a chain, its worst case and its root sum of squares.

    middle Σ aᵢmᵢ; worst Σ |aᵢ|tᵢ; statistical c·√Σ (aᵢtᵢ)², aᵢ the sense and tᵢ half the zone of each.
    links: at least one; inflation c: 1 for centred normal parts, 1.5 for what shops make.
    Source: Shigley's Mechanical Engineering Design, example 1-3; Scholz, 1995; Bender, 1968 (from memory).

    >>> chain = [Link(name="bolt", sense=1, nominal=0.010, plus=3e-4), Link(name="nut", sense=-1, nominal=0.006, plus=4e-4)]
    >>> gap = stack_up(chain)
    >>> round(gap.middle * 1e3, 3), round(gap.worst * 1e3, 3), round(gap.statistical * 1e3, 3)
    (4.0, 0.7, 0.5)
    """
    strays = [abs(link.sense) * link.half_width for link in links]
    return Stack(
        middle=sum(link.sense * link.middle for link in links),
        worst=sum(strays),
        statistical=inflation * sqrt(sum(stray**2 for stray in strays)),
    )


def share_outside(middle: float, spread: float, low: float, high: float, sigmas: float = 3.0) -> float:
    """Share of gaps outside their limits when they scatter normally and `spread` holds so many sigmas. [1]

    middle, spread, low, high [m]; low and high may be infinite.
    Source: normal distribution; NIST/SEMATECH e-Handbook 1.3.6.6.1.

    >>> round(share_outside(0.0, 3.0, -3.0, 3.0) * 1e6)
    2700
    """
    sigma = spread / sigmas
    if sigma <= 0:
        return 0.0 if low <= middle <= high else 1.0
    return (erfc((middle - low) / sigma / sqrt(2)) + erfc((high - middle) / sigma / sqrt(2))) / 2


@dataclass(frozen=True)
class ChainDesign:
    """A chain of dimensions and what the gap at its end may be."""

    links: tuple[Link, ...] = rows(
        Link,
        "dimensions of the chain: name, sense, nominal, plus, minus (none: the same)",
        example="shoulder to clip groove | 1 | 229 mm | 0.3 mm; cage over its end caps | -1 | 225 mm | 0.4 mm; "
        "washer | -1 | 1.5 mm | 0.1 mm; clip | -1 | 1.0 mm | 0.05 mm",
    )
    least_gap: float | None = quantity("mm", "least gap allowed", low=-1e4, high=1e4, default=None, example="0.2 mm")
    widest_gap: float | None = quantity("mm", "widest gap allowed", low=-1e4, high=1e4, default=None, example="1/8 in")
    inflation: float = quantity(
        "", "by what the root sum of squares is widened for parts off centre", low=1, high=3, default=1.5, example="1.5"
    )
    sigmas: float = quantity("", "standard deviations in half a tolerance zone", low=1, high=6, default=3, example="3")

    def __post_init__(self) -> None:
        faults = []
        if not self.links:
            faults.append(Fault("links", self.links, "at least one dimension", "write the dimensions of the chain"))
        for number, link in enumerate(self.links, start=1):
            if not link.sense:
                faults.append(
                    Fault(
                        f"links, row {number}, sense", "0", "a number that is not 0", "write 1 or -1, or leave it out"
                    )
                )
        if self.least_gap is not None and self.widest_gap is not None and self.least_gap >= self.widest_gap:
            faults.append(
                Fault(
                    "widest gap",
                    f"{self.widest_gap * 1e3:g} mm",
                    f"above {self.least_gap * 1e3:g} mm, the least gap",
                    "exchange the two limits",
                )
            )
        if faults:
            raise DesignError(*faults)


def _work_out(design: ChainDesign) -> Result:
    gap = stack_up(design.links, design.inflation)
    plain = gap.statistical / design.inflation
    low = -inf if design.least_gap is None else design.least_gap
    high = inf if design.widest_gap is None else design.widest_gap
    outside = share_outside(gap.middle, gap.statistical, low, high, design.sigmas)
    checks = []
    for words, stray, source, mend in (
        ("worst case", gap.worst, _SHIGLEY, "move a nominal, or narrow the widest tolerance"),
        ("root sum of squares", gap.statistical, f"{_SCHOLZ}; factor after {_BENDER}", "move a nominal to the middle"),
    ):
        if design.least_gap is not None:
            checks.append(
                Check(f"least gap, {words}", gap.middle - stray, design.least_gap, "at least", "mm", source, mend)
            )
        if design.widest_gap is not None:
            checks.append(
                Check(f"widest gap, {words}", gap.middle + stray, design.widest_gap, "at most", "mm", source, mend)
            )
    ranked = sorted(design.links, key=lambda link: -abs(link.sense) * link.half_width)
    total = sum((link.sense * link.half_width) ** 2 for link in design.links)
    remarks = [
        f"{link.name}: {(link.sense * link.half_width) ** 2 / total:.0%} of the scatter (±{link.half_width * 1e3:g} mm)."
        for link in ranked
        if total
    ]
    return Result(
        values=(
            Value("gap", "gap in the middle of all zones", gap.middle, "mm"),
            Value("worst_low", "least gap, worst case", gap.middle - gap.worst, "mm"),
            Value("worst_high", "widest gap, worst case", gap.middle + gap.worst, "mm"),
            Value("worst", "stray, worst case", gap.worst, "mm"),
            Value("rss", "stray, root sum of squares, centred parts", plain, "mm"),
            Value("rss_low", "least gap, root sum of squares widened", gap.middle - gap.statistical, "mm"),
            Value("rss_high", "widest gap, root sum of squares widened", gap.middle + gap.statistical, "mm"),
            Value("outside", "assemblies outside the limits", outside, "ppm"),
        ),
        checks=tuple(checks),
        steps=(
            Step("gap", "Σ aᵢmᵢ", gap.middle, "mm", _SHIGLEY),
            Step("stray, worst case", "Σ |aᵢ|tᵢ", gap.worst, "mm", _SHIGLEY),
            Step("stray, root sum of squares", "√Σ (aᵢtᵢ)²", plain, "mm", _SCHOLZ),
            Step("widened for parts off centre", "c·√Σ (aᵢtᵢ)²", gap.statistical, "mm", _BENDER),
            Step("outside", "Φ((l − m)/σ) + Φ((m − h)/σ)", outside, "ppm", "normal distribution, NIST e-Handbook"),
        ),
        remarks=tuple(remarks),
    )


def draw_chain(design: ChainDesign, result: Result) -> str:
    """The chain as arrows to scale, one below the other, and the gap that is left."""
    drawing = Drawing(f"chain of {len(design.links)} dimensions, gap {result['gap'] * 1e3:.3g} mm", width=180)
    ends, here = [], 0.0
    for link in design.links:
        ends.append((here, here + link.sense * link.middle * 1e3))
        here = ends[-1][1]
    span = max(max(pair) for pair in (*ends, (0, 0))) - min(min(pair) for pair in (*ends, (0, 0)))
    step, head = max(span, 1e-6) / 18, max(span, 1e-6) / 90
    for row, (link, (start, end)) in enumerate(zip(design.links, ends, strict=True)):
        y, way = row * step, 1 if end >= start else -1
        tip = min(head, abs(end - start))
        drawing.line((start, y), (end, y), "detail", hint=link.name)
        drawing.path([(end - way * tip, y - tip / 2), (end, y), (end - way * tip, y + tip / 2)], "detail")
        drawing.line((end, y), (end, y + step), "dimension")
        words = f"{link.name}  {link.sense * link.nominal * 1e3:+g}  (+{link.plus * 1e3:g} −{link.below * 1e3:g})"
        narrow = abs(end - start) < 0.4 * span
        at = (max(start, end) + head, y + step / 8) if narrow else ((start + end) / 2, y - step / 6)
        drawing.text(at, words, size=2.6, anchor="start" if narrow else "middle")
    y = len(design.links) * step
    drawing.line((0, 0), (0, y), "dimension")
    drawing.line((0, y), (here, y), "accent", hint="gap")
    worst = f"gap {result['worst_low'] * 1e3:.3g} to {result['worst_high'] * 1e3:.3g} mm, worst case"
    drawing.text((max(here, 0.0) + head, y + step / 8), worst, size=2.8, anchor="start")
    return drawing.svg()


TOLERANCE = Calculation(
    name="tolerance-stack",
    title="Tolerances along a chain",
    line="roller",
    about="What a gap can come to when every dimension of a chain strays: worst case, root sum of squares, and how many fail.",
    inputs=ChainDesign,
    run=_work_out,
    draw=draw_chain,
)
