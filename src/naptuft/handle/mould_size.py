"""Shrinkage: how large the mould is cut, how much the part then varies, and where a sink will show."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing, Graph, stacked
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.resin import RESIN_NAMES, RESINS

SHRINKAGE_SOURCE = "ISO 294-4, moulding shrinkage (mould - part)/mould (from memory)"
RIB_LIMIT = 0.6


@dataclass(frozen=True)
class MouldSize:
    """A dimension of the part, its tolerance, and the ribs behind a visible face."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    part_length: float = quantity("mm", "wanted on the part, cold", low=0.5, high=2000, example="32 mm")
    tolerance: float = quantity("mm", "either way", low=0.005, high=50, example="0.3 mm")
    shrinkage_low: float | None = quantity("%", "least; left empty, the table's", low=0, high=10, default=None)
    shrinkage_high: float | None = quantity("%", "most; left empty, the table's", low=0, high=10, default=None)
    wall: float = quantity("mm", "wall of the visible face", low=0.3, high=40, default=2.5)
    rib: float = quantity("mm", "thickest rib or boss that joins it; 0: none", low=0, high=40, default=1.2)

    def __post_init__(self) -> None:
        low, high = self.shrinkage
        if low > high:
            raise DesignError(
                Fault("shrinkage low", f"{low * 100:g} %", f"at most {high * 100:g} %", "give the smaller one first")
            )

    @property
    def shrinkage(self) -> tuple[float, float]:
        """Least and most shrinkage used."""
        table = RESINS[self.resin].shrinkage
        assert table.low is not None
        assert table.high is not None
        low = table.low if self.shrinkage_low is None else self.shrinkage_low
        high = table.high if self.shrinkage_high is None else self.shrinkage_high
        return low, high


def mould_length(part_length: float, shrinkage: float) -> float:
    """Length of the mould for a part that shrinks. [m]

    L = l/(1 - S), S = (L - l)/L
    part_length  [m]; shrinkage a share of the mould
    Source: ISO 294-4 (from memory).

    >>> round(mould_length(0.0985, 0.015) * 1e3, 6)
    100.0
    """
    return part_length / (1 - shrinkage)


def least_spread_shrinkage(low: float, high: float) -> float:
    """The shrinkage to cut the mould by, so that the part errs as little at one end as at the other.

    >>> round(least_spread_shrinkage(0.01, 0.02), 9)
    0.015
    """
    return (low + high) / 2


def inscribed_circle(wall: float, rib: float) -> float:
    """Diameter of the largest circle where a rib joins a wall at right angles, without a fillet. [m]

    d = t + b^2/(4 t): it touches the face and both inner corners; never less than the wall or more than allowed
    by a rib so wide that the circle reaches into it, then the rib's own
    wall t, rib b  thicknesses [m]
    Source: geometry (Heuvers' circle of casting practice, from memory).

    >>> round(inscribed_circle(2.5e-3, 1.25e-3) * 1e3, 4)
    2.6562
    """
    return max(wall, rib) if rib >= 2 * wall else wall + rib**2 / (4 * wall)


def run_size(size: MouldSize) -> Result:
    """Work out the mould's dimension."""
    low, high = size.shrinkage
    middle = least_spread_shrinkage(low, high)
    mould = mould_length(size.part_length, middle)
    longest, shortest = mould * (1 - low), mould * (1 - high)
    spread = max(longest - size.part_length, size.part_length - shortest)
    ratio = size.rib / size.wall
    values = (
        Value("mould_length", "mould, cold", mould, "mm"),
        Value("part_longest", "part at least shrinkage", longest, "mm"),
        Value("part_shortest", "part at most shrinkage", shortest, "mm"),
        Value("error", "largest error of the part", spread, "mm"),
        Value("rib_ratio", "rib to wall", ratio, "%"),
        Value("thick_spot", "largest circle where they join", inscribed_circle(size.wall, size.rib), "mm"),
        Value("thick_spot_cooling", "it cools slower than the wall by", _slower(size), "%"),
    )
    source = RESINS[size.resin].shrinkage.source
    steps = (
        Step("shrinkage cut for", "(least + most)/2", middle, "%", source),
        Step("mould", "l/(1−S)", mould, "mm", SHRINKAGE_SOURCE),
        Step("thick spot", "t + b²/(4t)", inscribed_circle(size.wall, size.rib), "mm", "geometry"),
    )
    checks = (
        Check("error against tolerance", spread, size.tolerance, "at most", "mm", SHRINKAGE_SOURCE, MEND),
        Check(
            "sink behind ribs, rib to wall",
            ratio,
            RIB_LIMIT,
            "at most",
            "%",
            f"{COMMON_PRACTICE}: ribs of at most 60 % of the wall",
            "thin the rib, core the boss out or texture the face",
        ),
    )
    remarks = (f"Shrinkage of {size.resin} is a range, {low * 100:.3g} to {high * 100:.3g} % ({source}).",)
    return Result(values, checks, steps, (TRIAL_CAUTION,), remarks)


def _slower(size: MouldSize) -> float:
    return (inscribed_circle(size.wall, size.rib) / size.wall) ** 2 - 1


def draw_size(size: MouldSize, result: Result) -> str:
    """The part at most and least shrinkage in its mould, lengths across, and the rib where it joins the wall."""
    graph = _draw_range(size, result)
    if not size.rib:
        return graph
    wall, rib, spot = size.wall * 1e3, size.rib * 1e3, result["thick_spot"] * 1e3
    drawing = Drawing("rib and wall", width=150, height=70)
    reach, tall = 5 * wall, 3 * wall
    drawing.path(
        [
            (-reach, 0),
            (reach, 0),
            (reach, -wall),
            (rib / 2, -wall),
            (rib / 2, -wall - tall),
            (-rib / 2, -wall - tall),
            (-rib / 2, -wall),
            (-reach, -wall),
        ],
        closed=True,
        hatch="diagonal",
        hint="wall and rib",
    )
    drawing.circle((0, -spot / 2), spot / 2, "accent", fill="#FCFAF5", hint=f"thick spot {spot:.2f} mm")
    drawing.dimension((reach, 0), (reach, -wall), f"{wall:g} mm", offset=6)
    drawing.dimension((-rib / 2, -wall - tall), (rib / 2, -wall - tall), f"{rib:g} mm", offset=-4)
    drawing.text((0, 0.9 * wall), f"visible face; thick spot {spot:.2f} mm sinks first")
    return stacked("mould size and rib", graph, drawing.svg())


def _draw_range(size: MouldSize, result: Result) -> str:
    graph = Graph("part length against shrinkage", "shrinkage, %", "part, mm", height=76)
    low, high = size.shrinkage
    mould = result["mould_length"]
    pad = max(0.2 * (high - low), 1e-4)
    ends = (max(0.0, low - pad), high + pad)
    graph.band((size.part_length - size.tolerance) * 1e3, (size.part_length + size.tolerance) * 1e3, "tolerance")
    graph.curve([(share * 100, mould * (1 - share) * 1e3) for share in ends], "part", "detail")
    graph.curve([(share * 100, mould * (1 - share) * 1e3) for share in (low, high)], "", "outline")
    graph.level(size.part_length * 1e3, "wanted")
    return graph.svg()


MEND = "cut the mould steel-safe and correct it after a trial, or narrow the shrinkage by test"
TRIAL_CAUTION = Caution(
    "handling a mould: weight, pinch and heat",
    "rated lifting eyes and hoist, mould halves strapped together, cool before handling",
    "29 CFR 1910.184 and 1910.212",
)

MOULD_SIZE = Calculation(
    name="mould-size",
    title="Mould size and sink",
    line="handle",
    about="How large to cut the mould for a part that shrinks by a range, the error that leaves, and ribs that sink.",
    inputs=MouldSize,
    run=run_size,
    draw=draw_size,
)
