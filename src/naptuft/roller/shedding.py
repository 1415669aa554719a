"""Lint in the film: fibres a refill sheds on a panel, against a control, with what so few counts can tell."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt

from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity, whole
from naptuft.drawing import Drawing
from naptuft.materials.property import COMMON_PRACTICE

MOST_MARKS = 400
_GOLDEN = (sqrt(5) - 1) / 2
_METHOD = "ASTM D7804-12(2017), fibre shedding of paint roller covers: for comparison within one plant and operator"
_GARWOOD = "Garwood, Biometrika 28 (1936) 437: exact limits of a Poisson count (from memory)"
_RATIO = "Clopper and Pearson, Biometrika 26 (1934) 404, on one count given both (from memory)"


def count_limits(count: int, confidence: float = 0.95) -> tuple[float, float]:
    """Least and greatest mean that a count of rare fibres allows, χ²/2 with 2n and 2n + 2 degrees of freedom. [1]

    count at least 0; confidence between 0 and 1.
    Source: Garwood, Biometrika 28 (1936) 437.

    >>> [round(limit, 2) for limit in count_limits(10)]
    [4.8, 18.39]
    """
    from scipy.special import gammaincinv

    tail = (1 - confidence) / 2
    low = float(gammaincinv(count, tail)) if count else 0.0
    return low, float(gammaincinv(count + 1, 1 - tail))


def ratio_limits(count: int, control: int, share: float, confidence: float = 0.95) -> tuple[float, float]:
    """Least and greatest ratio of two rates that two counts allow. [1]

    share: area behind `control` over the area behind `count`; of count + control fibres, `count` are binomial.
    The upper limit is infinite where the control has none.
    Source: Clopper and Pearson, Biometrika 26 (1934) 404.

    >>> low, high = ratio_limits(20, 20, 1.0)
    >>> low < 1 < high
    True
    """
    from scipy.special import betaincinv

    tail = (1 - confidence) / 2
    low = float(betaincinv(count, control + 1, tail)) if count else 0.0
    high = float(betaincinv(count + 1, control, 1 - tail)) if control else 1.0
    return share * low / (1 - low), share * high / (1 - high) if high < 1 else inf


@dataclass(frozen=True)
class SheddingTest:
    """Fibres counted in the films of a refill and of the control rolled beside it."""

    fibres: int = whole("fibres counted in the film of the refill", low=0, high=1_000_000, example="9")
    area: float = quantity("m**2", "film judged", low=0.001, high=1000, default=1.0, example="1.0 m**2")
    control_fibres: int = whole("fibres counted in the film of the control", low=0, high=1_000_000, example="26")
    control_area: float = quantity("m**2", "its film judged", low=0.001, high=1000, default=1.0, example="1.0 m**2")
    confidence: float = quantity("%", "confidence of the limits", low=50, high=99.99, default=95, example="95 %")
    most_index: float = quantity(
        "", "most fibres allowed, as a multiple of the control's", low=0.01, high=100, default=1, example="1"
    )


def _work_out(test: SheddingTest) -> Result:
    rate, control = test.fibres / test.area, test.control_fibres / test.control_area
    low, high = (limit / test.area for limit in count_limits(test.fibres, test.confidence))
    share = test.control_area / test.area
    least, most = ratio_limits(test.fibres, test.control_fibres, share, test.confidence)
    index = rate / control if control else (inf if rate else 1.0)
    values = [
        Value("rate", "fibres shed by area", rate, "1/m**2"),
        Value("rate_low", "at least", low, "1/m**2"),
        Value("rate_high", "at most", high, "1/m**2"),
        Value("control_rate", "fibres shed by the control", control, "1/m**2"),
    ]
    remarks = ["Compare only films rolled in one plant by one operator with one paint (ASTM D7804)."]
    checks: tuple[Check, ...] = ()
    if control:
        values += [
            Value("index", "shedding index, refill over control", index),
            Value("index_low", "index, at least", least),
            Value("index_high", "index, at most", most),
        ]
        checks = (
            Check(
                "shedding index",
                index,
                test.most_index,
                "at most",
                "",
                f"{_METHOD}; limit given ({COMMON_PRACTICE})",
                "brush and spin longer, extract harder, or bind the pile better",
            ),
        )
        if least <= 1 <= most:
            remarks.append("So few fibres cannot tell the two apart: roll more panels.")
        else:
            remarks.append(f"The refill sheds {'less' if most < 1 else 'more'} than the control, by more than chance.")
    else:
        remarks.append("The control shed none: give a control that sheds, or a larger film, for an index.")
    return Result(
        values=tuple(values),
        checks=checks,
        steps=(
            Step("fibres shed by area", "n / A", rate, "1/m**2", _METHOD),
            Step("at least", "χ²(tail; 2n) / 2A", low, "1/m**2", _GARWOOD),
            Step("at most", "χ²(1 − tail; 2n + 2) / 2A", high, "1/m**2", _GARWOOD),
            *(
                (
                    Step("shedding index", "(n/A) / (n_c/A_c)", index, "", _METHOD),
                    Step("index, at least", "p/(1 − p) · A_c/A, p binomial", least, "", _RATIO),
                )
                if control
                else ()
            ),
        ),
        remarks=tuple(remarks),
    )


def draw_shedding(test: SheddingTest, result: Result) -> str:
    """Both films as squares to scale, with as many marks as fibres; where they lie is not known."""
    drawing = Drawing(f"{test.fibres} fibres shed, {test.control_fibres} by the control", width=170)
    here = 0.0
    for words, fibres, area in (
        ("refill", test.fibres, test.area),
        ("control", test.control_fibres, test.control_area),
    ):
        side = sqrt(area) * 1e3
        drawing.rectangle(here, 0, side, side, "outline", hint=f"film of the {words}")
        shown = min(fibres, MOST_MARKS)
        for n in range(shown):
            x, y = here + side * (0.02 + 0.96 * ((0.5 + n * _GOLDEN) % 1)), side * ((n + 0.5) / shown)
            drawing.line((x - side / 90, y), (x + side / 90, y - side / 140), "accent", hint="fibre")
        few = "" if shown == fibres else f", {shown} shown"
        drawing.text((here + side / 2, side * 1.05), f"{words}: {fibres} on {area:g} m²{few}", size=2.8)
        here += 1.15 * side
    if "index" in result:
        drawing.text((here / 2.15, -0.04 * here), f"index {result['index']:.2f}", size=3.2)
    return drawing.svg()


SHEDDING = Calculation(
    name="shedding",
    title="Fibres shed by a refill",
    line="roller",
    about="Fibres counted in the film of a refill against a control: rate, index and how sure they are.",
    inputs=SheddingTest,
    run=_work_out,
    draw=draw_shedding,
)
