"""Which due dates to cut in one run: fewer stock pieces against pieces that wait.

Pieces due at different dates waste less when they are cut together, but those due later lie about until then. A run
takes neighbouring dates and is cut for the first of them.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from naptuft.calculation import (
    Calculation,
    Check,
    Result,
    Step,
    Value,
    date,
    money,
    quantity,
    rows,
    text,
    whole,
)
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.roller.cutting.from_stock import StockList, cut_from_stock
from naptuft.roller.cutting.listing import CutDemand, cut_list, demand_faults
from naptuft.roller.cutting.sheet import CAUTIONS, draw_bars
from naptuft.roller.cutting.stock import StockPiece, on_grid

_BELLMAN = "dynamic programming over runs of neighbouring dates, Bellman 1957"
MOST_DATES = 20


@dataclass(frozen=True)
class DatedDemand:
    """Pieces of one length due on one day.

    day  counted from any first day
    """

    name: str
    length: float
    quantity: int
    day: int


@dataclass(frozen=True)
class Run:
    """Due dates cut together.

    days        first and last due day in it
    demands     pieces cut in it
    rolls       stock pieces it takes; bound the least proven to be needed
    piece_days  Σ pieces × days they wait for their due day
    """

    days: tuple[int, int]
    demands: tuple[DatedDemand, ...]
    rolls: int
    bound: int
    piece_days: int


@dataclass(frozen=True)
class Runs:
    """The cheapest way to part due dates into runs.

    cost          stock, setting up and waiting; bound: least cost proven
    apart_by_day  stock pieces of each due day when it is cut by itself
    """

    runs: tuple[Run, ...]
    cost: Decimal
    bound: Decimal
    apart_by_day: tuple[tuple[int, int], ...]

    @property
    def apart(self) -> int:
        """Stock pieces when every date is cut by itself."""
        return sum(rolls for _, rolls in self.apart_by_day)

    @property
    def rolls(self) -> int:
        """Stock pieces of all runs."""
        return sum(run.rolls for run in self.runs)

    @property
    def piece_days(self) -> int:
        """Σ pieces × days they wait."""
        return sum(run.piece_days for run in self.runs)


def cheapest_runs(
    stock_length: float,
    demands: Sequence[DatedDemand],
    *,
    price: Decimal,
    wait_cost: Decimal,
    longest_wait: int,
    set_up: Decimal = Decimal(0),
    kerf: float = 0.0,
    end_trim: float = 0.0,
) -> Runs:
    """Part the due dates into runs at the least cost of stock and waiting.

    price         of a stock piece; wait_cost of one piece waiting one day; set_up of a run
    longest_wait  most days a piece may wait for its due day

    Raises DesignError for a piece that cannot be cut, or more than 20 due dates.
    Method: a cut list for each stretch of neighbouring dates, then dynamic programming.

    >>> due = [DatedDemand("a", 0.6, 1, 0), DatedDemand("b", 0.3, 3, 1), DatedDemand("c", 0.6, 1, 9)]
    >>> made = cheapest_runs(1.0, due, price=Decimal("3"), wait_cost=Decimal("0.1"), longest_wait=5)
    >>> [run.days for run in made.runs], made.rolls, made.apart, made.cost
    ([(0, 0), (1, 1), (9, 9)], 3, 3, Decimal('9.0'))
    """
    days = sorted({demand.day for demand in demands})
    faults = demand_faults(
        [CutDemand(d.name, d.length, d.quantity) for d in demands], on_grid(stock_length) - 2 * on_grid(end_trim)
    )
    if len(days) > MOST_DATES:
        faults.append(Fault("pieces", f"{len(days)} due dates", f"at most {MOST_DATES}", "cut fewer dates at a time"))
    if faults:
        raise DesignError(*faults)
    found: dict[tuple[int, int], Run] = {}
    for first in range(len(days)):
        for last in range(first, len(days)):
            if days[last] - days[first] > longest_wait:
                break
            found[first, last] = _run(stock_length, demands, days[first], days[last], kerf, end_trim)

    def least(pieces: str) -> list[tuple[Decimal, int]]:
        best = [(Decimal("0.0"), -1)]
        for end in range(1, len(days) + 1):
            best.append(
                min(
                    (
                        best[first][0]
                        + getattr(found[first, end - 1], pieces) * price
                        + found[first, end - 1].piece_days * wait_cost
                        + set_up,
                        first,
                    )
                    for first in range(end)
                    if (first, end - 1) in found
                )
            )
        return best

    best = least("rolls")
    runs, end = [], len(days)
    while end:
        first = best[end][1]
        runs.append(found[first, end - 1])
        end = first
    apart = tuple((day, found[place, place].rolls) for place, day in enumerate(days))
    return Runs(tuple(reversed(runs)), best[-1][0], least("bound")[-1][0], apart)


def _run(
    stock_length: float, demands: Sequence[DatedDemand], first: int, last: int, kerf: float, end_trim: float
) -> Run:
    inside = tuple(demand for demand in demands if first <= demand.day <= last)
    wanted = [CutDemand(d.name, d.length, d.quantity) for d in inside]
    made = cut_list(stock_length, wanted, kerf=kerf, end_trim=end_trim, tidy=False)
    waiting = sum(demand.quantity * (demand.day - first) for demand in inside)
    return Run((first, last), inside, made.rolls, made.lower_bound, waiting)


@dataclass(frozen=True)
class DueRow:
    """So many pieces of one length due on a day."""

    due: datetime.date = date("day the pieces are wanted")
    length: float = quantity("mm", "finished length", low=1, high=1e6, example="190 mm")
    quantity: int = whole("pieces wanted", low=1, high=1_000_000, example="40")
    name: str = text("what the piece is for", default="", example="refill 190")


@dataclass(frozen=True)
class RunRequest:
    """Stock of one length, pieces with due dates, and what stock and waiting cost."""

    stock_length: float = quantity("mm", "length of a stock piece", low=10, high=1e7, example="1800 mm")
    price: Decimal = money("price of a stock piece", example="3.20")
    wait_cost: Decimal = money(
        "cost of one piece that waits one day: space, handling, money tied up", example="0.01", label="cost of waiting"
    )
    longest_wait: int = whole("most days a piece may wait for its due day", low=0, high=366, default=7, unit="")
    kerf: float = quantity("mm", "width lost at each cut", low=0, high=100, default=0, example="2 mm")
    end_trim: float = quantity("mm", "cut off each end of a stock piece", low=0, high=1e6, default=0, example="5 mm")
    min_offcut: float = quantity(
        "mm", "shortest leftover that goes back to stock", low=0, high=1e6, default=150, label="shortest leftover kept"
    )
    set_up: Decimal = money("cost of setting up a run", default=Decimal(0), example="4.50", label="setting up")
    pieces: tuple[DueRow, ...] = rows(
        DueRow,
        "lengths wanted and when",
        example="2026-12-01 | 190 mm | 32 | a; 2026-12-02 | 240 mm | 25 | b; 2026-12-04 | 310 mm | 13 | c; "
        "2026-12-09 | 190 mm | 44 | d",
    )

    @property
    def demands(self) -> tuple[DatedDemand, ...]:
        """The rows as the search reads them."""
        return tuple(
            DatedDemand(row.name or f"{row.length * 1e3:g} mm", row.length, row.quantity, row.due.toordinal())
            for row in self.pieces
        )


def _runs(request: RunRequest) -> Runs:
    return cheapest_runs(
        request.stock_length,
        request.demands,
        price=request.price,
        wait_cost=request.wait_cost,
        longest_wait=request.longest_wait,
        set_up=request.set_up,
        kerf=request.kerf,
        end_trim=request.end_trim,
    )


def _lists(request: RunRequest, made: Runs) -> list[StockList]:
    stock = [StockPiece(f"{request.stock_length * 1e3:g} mm", request.stock_length)]
    return [
        cut_from_stock(
            stock,
            [CutDemand(d.name, d.length, d.quantity) for d in run.demands],
            kerf=request.kerf,
            end_trim=request.end_trim,
            min_offcut=request.min_offcut,
        )
        for run in made.runs
    ]


def _work_out(request: RunRequest) -> Result:
    made = _runs(request)
    remarks = [
        f"cut for {_day(run.days[0])}: {sum(d.quantity for d in run.demands)} pieces due up to {_day(run.days[1])}, "
        f"{run.rolls} stock pieces, {run.piece_days} piece-days of waiting"
        for run in made.runs
    ]
    remarks.append("Leftovers of one run are not counted on by the next.")
    saved = made.apart - made.rolls
    return Result(
        values=(
            Value("runs", "runs", len(made.runs)),
            Value("rolls", "stock pieces", made.rolls),
            Value("apart", "stock pieces with every date by itself", made.apart),
            Value("saved", "stock pieces saved", saved),
            Value("piece_days", "pieces × days they wait", made.piece_days),
            Value("waiting", "cost of waiting", float(made.piece_days * request.wait_cost)),
            Value("setting_up", "cost of setting up", float(len(made.runs) * request.set_up)),
            Value("cost", "cost of stock, setting up and waiting", float(made.cost)),
            Value("bound", "least cost proven", float(made.bound)),
        ),
        checks=(
            Check(
                "cost against the bound",
                float(made.cost),
                float(made.bound),
                "at most",
                "",
                _BELLMAN,
                "cut fewer dates at a time",
            ),
        ),
        steps=(
            Step("stock saved", "Σ apart − Σ together", float(saved * request.price), "", "arithmetic"),
            Step("waiting", "Σ nᵢ (dueᵢ − first due of the run)", made.piece_days, "", "arithmetic"),
            Step(
                "least cost",
                "f(j) = min over i of f(i) + rolls(i…j)·price + waiting(i…j)·cost + setting up",
                float(made.cost),
                "",
                _BELLMAN,
            ),
        ),
        cautions=CAUTIONS["tube"],
        remarks=tuple(remarks),
    )


def _day(number: int) -> str:
    return datetime.date.fromordinal(number).isoformat()


def draw_runs(request: RunRequest, result: Result) -> str:
    """The cut list of each run, one below the other, to scale."""
    made = _runs(request)
    drawing = Drawing(f"{result['runs']:g} runs, {result['rolls']:g} stock pieces")
    longest, top = request.stock_length * 1e3, 0.0
    for run, cuts in zip(made.runs, _lists(request, made), strict=True):
        drawing.text((0, top - longest / 25), f"cut for {_day(run.days[0])}", anchor="start")
        top = draw_bars(drawing, cuts, longest, top) + longest / 12
    return drawing.svg()


CUT_RUNS = Calculation(
    name="cut-runs",
    title="Runs of due dates",
    line="roller",
    about="Which due dates to cut together: stock pieces saved against pieces that wait, with the cut list of each run.",
    inputs=RunRequest,
    run=_work_out,
    draw=draw_runs,
)
