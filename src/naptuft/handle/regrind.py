"""Regrind fed back shot after shot: how old the resin gets and what it keeps of its strength."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity, whole
from naptuft.drawing import Graph, stacked
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.reground import LOOP_SOURCE, largest_regrind, mean_passes, share_by_passes, steady_property


@dataclass(frozen=True)
class RegrindLoop:
    """A steady loop: each shot takes a share of regrind from the shots before."""

    regrind_share: float = quantity("%", "regrind in the feed", low=0, high=95, example="20 %")
    kept_each_pass: float = quantity(
        "%", "of a property kept each time it goes through the barrel, by test", low=20, high=100, example="95 %"
    )
    least_kept: float = quantity("%", "of the fresh property the mix must keep", low=1, high=100, default=90)
    many_passes: int = whole("passes counted as many", low=2, high=50, default=4)


def run_regrind(loop: RegrindLoop) -> Result:
    """Work out a steady regrind loop."""
    r, p = loop.regrind_share, loop.kept_each_pass
    kept, most = steady_property(r, p), largest_regrind(p, loop.least_kept)
    old = r**loop.many_passes if r else 0.0
    settle = 1.0 if r == 0 else log(0.01) / log(r)
    values = (
        Value("property_kept", "property of the mix, of fresh resin", kept, "%"),
        Value("mean_passes", "mean passes", mean_passes(r), ""),
        Value("fresh_share", "through for the first time", share_by_passes(r, 1), "%"),
        Value("old_share", f"through more than {loop.many_passes} times", old, "%"),
        Value("largest_regrind", "largest regrind that keeps the property", most, "%"),
        Value("passes_to_settle", "passes until the mix is steady to 1 %", settle, ""),
    )
    steps = (
        Step("through n times", "(1−r) rⁿ⁻¹", share_by_passes(r, 1), "%", LOOP_SOURCE),
        Step("property kept", "p (1−r)/(1−rp)", kept, "%", LOOP_SOURCE),
        Step("largest regrind", "(p−least)/(p(1−least))", most, "%", LOOP_SOURCE),
    )
    checks = (
        Check(
            "property of the mix",
            kept,
            loop.least_kept,
            "at least",
            "%",
            COMMON_PRACTICE,
            f"feed at most {most * 100:.3g} % regrind, or dry and filter it better",
        ),
    )
    cautions = (
        Caution(
            "granulator knives; dust and noise of grinding",
            "lock out before clearing, hearing protection, extract the fines",
            "29 CFR 1910.212, 1910.147 and 1910.95",
        ),
    )
    return Result(values, checks, steps, cautions)


def draw_regrind(loop: RegrindLoop, result: Result) -> str:
    """What a mix keeps as the loop runs in, for the share given, and steady for every share."""
    r, p = loop.regrind_share, loop.kept_each_pass
    steady = Graph("property kept against regrind", "regrind in the feed, %", "property kept, %", height=76)
    top = max(0.6, min(0.95, r + 0.2))
    steady.curve(
        [(share * 100, steady_property(share, p) * 100) for share in (top * k / 60 for k in range(61))], "steady mix"
    )
    steady.level(loop.least_kept * 100, "least kept")
    steady.upright(r * 100, f"{r * 100:.3g} % fed")
    course = Graph("property as the loop runs in", "shots fed back", "property kept, %", height=70)
    mix, run = p, []
    for turn in range(13):
        run.append((float(turn), mix * 100))
        mix = p * ((1 - r) + r * mix)
    course.curve(run, "mix")
    course.level(result["property_kept"] * 100, "steady", "second")
    return stacked("regrind fed back", steady.svg(), course.svg())


REGRIND = Calculation(
    name="regrind-loop",
    title="Regrind fed back",
    line="handle",
    about="How many times the resin has been through when regrind is fed back, what property it keeps, how much may be fed.",
    inputs=RegrindLoop,
    run=run_regrind,
    draw=draw_regrind,
)
