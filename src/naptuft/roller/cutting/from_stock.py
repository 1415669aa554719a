"""Cut lists from stock of several lengths: what there is of each, what it costs, and where it is spoiled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import gcd, isfinite
from time import monotonic
from typing import TYPE_CHECKING, Literal

from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.roller.cutting.listing import CutDemand, cut_list, demand_faults, handed_out, names_waiting
from naptuft.roller.cutting.stock import GRID_PER_METRE, StockPiece, in_metres, on_grid, stock_faults
from naptuft.roller.cutting.used import Used

if TYPE_CHECKING:
    import numpy as np

    from naptuft.roller.cutting.many_stocks import GridStock
    from naptuft.roller.cutting.search import Effort
    from naptuft.roller.cutting.tidy import Shape

Aim = Literal["stock pieces", "price", "length"]
AIMS: tuple[Aim, ...] = ("stock pieces", "price", "length")
MOST_COST = 10**6


@dataclass(frozen=True)
class Placed:
    """A piece and where it lies in its stock piece, from the left end. [m]"""

    name: str
    start: float
    end: float


@dataclass(frozen=True)
class StockCut:
    """One way to cut one sort of stock piece, and how often.

    placed    pieces in cutting order from the left end
    leftover  (from, to) of what is left of each sound stretch after its last saw cut [m]
    """

    stock: StockPiece
    count: int
    placed: tuple[Placed, ...]
    leftover: tuple[tuple[float, float], ...]

    @property
    def pieces(self) -> tuple[tuple[str, float, int], ...]:
        """(name, length [m], how many) from one stock piece, in cutting order."""
        runs: dict[tuple[str, float], int] = {}
        for piece in self.placed:
            key = (piece.name, in_metres(on_grid(piece.end) - on_grid(piece.start)))
            runs[key] = runs.get(key, 0) + 1
        return tuple((name, length, number) for (name, length), number in runs.items())


@dataclass(frozen=True)
class StockList(Used):
    """How to cut a demand from the stock there is.

    aim     what is least: stock pieces, their price or their length
    cost    of the list in that measure: pieces, money, or metres; bound the least proven to be needed
    cuts    most used first
    status  "optimal" when cost and bound agree, otherwise why the search stopped
    fewest_patterns_proven  True when no list of that cost has fewer patterns
    """

    aim: Aim
    kerf: float
    end_trim: float
    min_offcut: float
    cost: float
    bound: float
    cuts: tuple[StockCut, ...]
    status: str
    fewest_patterns_proven: bool = False

    @property
    def proven_optimal(self) -> bool:
        """True when no list is cheaper."""
        return self.cost <= self.bound

    @property
    def gap(self) -> float:
        """How far the cost may be above the least, as a share of it."""
        return max(0.0, self.cost / self.bound - 1) if self.bound else 0.0

    @property
    def rolls(self) -> int:
        """Stock pieces used."""
        return sum(cut.count for cut in self.cuts)

    @property
    def patterns(self) -> int:
        """Different ways of cutting, a change of the stops before each."""
        return len({(cut.stock, tuple((p.start, p.end) for p in cut.placed)) for cut in self.cuts})

    @property
    def stock_used(self) -> float:
        """Length of all stock pieces used. [m]"""
        return in_metres(sum(on_grid(cut.stock.length) * cut.count for cut in self.cuts))

    @property
    def pieces_length(self) -> float:
        """Length of all pieces cut. [m]"""
        return in_metres(sum(cut.count * (on_grid(p.end) - on_grid(p.start)) for cut in self.cuts for p in cut.placed))

    @property
    def offcuts(self) -> tuple[tuple[float, int], ...]:
        """Leftovers long enough to go back to stock: (length [m], how many), longest first."""
        kept: dict[int, int] = {}
        for cut in self.cuts:
            for start, end in cut.leftover:
                length = on_grid(end) - on_grid(start)
                if 0 < length >= on_grid(self.min_offcut):
                    kept[length] = kept.get(length, 0) + cut.count
        return tuple((in_metres(length), number) for length, number in sorted(kept.items(), reverse=True))

    @property
    def stop_moves(self) -> int:
        """Moves of a single length stop through the whole list, each stock piece cut with equal lengths together.

        The next stock piece is begun with the length the last one ended with wherever it holds that length.
        """
        moves, stop = 0, -1
        for cut in self.cuts:
            lengths = {on_grid(length) for _, length, _ in cut.pieces}
            for _ in range(cut.count):
                moves += len(lengths) - (stop in lengths)
                stop = next(iter(sorted(lengths - {stop}) or sorted(lengths)), stop)
        return moves


def cut_from_stock(
    stock: Sequence[StockPiece],
    demands: Sequence[CutDemand],
    *,
    kerf: float = 0.0,
    end_trim: float = 0.0,
    min_offcut: float = 0.0,
    aim: Aim = "stock pieces",
    most_patterns: int | None = None,
    nodes: int = 400,
    seconds: float = 10.0,
) -> StockList:
    """Cut the demand from the stock there is, at the least cost; then few patterns, then most useful leftover.

    stock          sorts of stock piece; leftovers of earlier lists are sorts of their own
    demands        pieces wanted; equal lengths are cut together
    kerf           width of the saw or knife cut [m]
    end_trim       lost at each end of every stock piece, its own cut included [m]
    min_offcut     shortest leftover that goes back to stock [m]
    aim            what to use least of: stock pieces, their price, or their length
    most_patterns  different patterns wanted at most, if need be at a higher cost
    nodes          work the search may spend: the same input gives the same list; seconds the last limit

    Raises DesignError naming every fault of the request, and Infeasible saying why the stock cannot hold the demand
    and what more would.
    Method: column generation over several stock lengths, P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961)
    849-859; every pattern within the gap, then branch and cut.

    >>> tubes = [StockPiece("tube", 1.8, 2), StockPiece("leftover", 0.61, 1, spoiled=((0.2, 0.21),))]
    >>> made = cut_from_stock(tubes, [CutDemand("refill", 0.19, 20)])
    >>> made.rolls, made.proven_optimal
    (3, True)
    """
    _refuse(stock, demands, kerf, end_trim, min_offcut, aim, most_patterns)
    only = stock[0]
    if len(stock) == 1 and not only.spoiled:
        made = _from_one_sort(only, demands, kerf, end_trim, min_offcut, aim, most_patterns, nodes, seconds)
        if only.available is None or made.rolls <= only.available:
            return made
    from naptuft.roller.cutting.tidy import Shape, tidied

    lengths, quantities = _wanted(demands)
    costs, scale = _costs(stock, aim)
    rooms = [piece.stretches(end_trim, kerf) for piece in stock]
    weights, demand, kinds = _coarse(lengths, quantities, stock, rooms, costs, on_grid(kerf))
    from naptuft.roller.cutting.many_stocks import StockAnswer, cheapest_stock, many_prices
    from naptuft.roller.cutting.pricing import compile_for
    from naptuft.roller.cutting.search import Effort

    compile_for(len(lengths), often=many_prices(len(lengths), len({room for kind in kinds for room in kind.stretches})))
    effort = Effort(nodes, monotonic() + seconds)
    answer = cheapest_stock(weights, demand, kinds, effort)
    if not isinstance(answer, StockAnswer):
        raise Infeasible(*_why(stock, kinds, weights, demand, lengths, answer, effort))
    shape = Shape(rooms, lengths, on_grid(kerf), on_grid(min_offcut))
    tidy = tidied(answer, weights, kinds, most_patterns, shape, effort)
    return StockList(
        aim,
        kerf,
        end_trim,
        min_offcut,
        tidy.cost / scale,
        answer.bound / scale,
        tuple(_cuts(stock, shape, tidy.used, demands)),
        _status(tidy.cost, answer.bound, answer.cost, effort.out_of_time),
        tidy.fewest_proven,
    )


def _status(cost: int, bound: int, least_found: int, out_of_time: bool) -> str:
    if cost <= bound:
        return "optimal"
    if cost > least_found:
        return "few patterns at the price of more stock"
    return f"stopped at the {'time' if out_of_time else 'work'} limit"


def _wanted(demands: Sequence[CutDemand]) -> tuple[list[int], list[int]]:
    wanted: dict[int, int] = {}
    for demand in demands:
        wanted[on_grid(demand.length)] = wanted.get(on_grid(demand.length), 0) + demand.quantity
    lengths = sorted(wanted, reverse=True)
    return lengths, [wanted[length] for length in lengths]


def _costs(stock: Sequence[StockPiece], aim: Aim) -> tuple[list[int], float]:
    """Whole-number cost of each sort, and how many make one piece, one unit of money, or one metre.

    Lengths count to a tenth of a millimetre and money to four places, more coarsely past a million of these.
    """
    if aim == "stock pieces":
        return [1] * len(stock), 1.0
    lengths = [Decimal(on_grid(piece.length)) / GRID_PER_METRE for piece in stock]
    amounts = lengths if aim == "length" else [piece.price or Decimal(0) for piece in stock]
    places = max(max(0, -int(amount.normalize().as_tuple().exponent)) for amount in amounts)
    places = min(places, 4)
    while places > 0 and max(amounts).scaleb(places) > MOST_COST:
        places -= 1
    return [int(amount.scaleb(places).to_integral_value()) for amount in amounts], float(10**places)


def _coarse(
    lengths: list[int],
    quantities: list[int],
    stock: Sequence[StockPiece],
    rooms: Sequence[Sequence[tuple[int, int]]],
    costs: list[int],
    kerf: int,
) -> tuple[np.ndarray, np.ndarray, list[GridStock]]:
    """Pieces and stretches in the coarsest steps that lose nothing; each takes one saw cut with it."""
    import numpy as np

    from naptuft.roller.cutting.fewest import MOST_STEPS
    from naptuft.roller.cutting.many_stocks import GridStock

    heavy = [length + kerf for length in lengths]
    widest = max((end - start for stretches in rooms for start, end in stretches), default=0) + kerf
    step = max(gcd(*heavy), -(-widest // MOST_STEPS))
    kinds = [
        GridStock(tuple((end - start + kerf) // step for start, end in stretches), piece.available, cost)
        for piece, stretches, cost in zip(stock, rooms, costs, strict=True)
    ]
    weights = np.array([-(-each // step) for each in heavy], dtype=np.int64)
    return weights, np.array(quantities, dtype=np.int64), kinds


def _from_one_sort(
    piece: StockPiece,
    demands: Sequence[CutDemand],
    kerf: float,
    end_trim: float,
    min_offcut: float,
    aim: Aim,
    most_patterns: int | None,
    nodes: int,
    seconds: float,
) -> StockList:
    made = cut_list(
        piece.length,
        demands,
        kerf=kerf,
        end_trim=end_trim,
        min_offcut=min_offcut,
        most_patterns=most_patterns,
        nodes=nodes,
        seconds=seconds,
    )
    costs, scale = _costs([piece], aim)
    start, end, saw = on_grid(end_trim), on_grid(piece.length) - on_grid(end_trim), on_grid(kerf)
    cuts = []
    for pattern in made.patterns:
        placed, at = [], start
        for name, length, number in pattern.pieces:
            for _ in range(number):
                placed.append(Placed(name, in_metres(at), in_metres(at + on_grid(length))))
                at += on_grid(length) + saw
        leftover = ((in_metres(at), in_metres(end)),) if at < end else ()
        cuts.append(StockCut(piece, pattern.count, tuple(placed), leftover))
    return StockList(
        aim,
        kerf,
        end_trim,
        min_offcut,
        made.rolls * costs[0] / scale,
        made.lower_bound * costs[0] / scale,
        tuple(cuts),
        made.status,
        made.fewest_patterns_proven,
    )


def _cuts(
    stock: Sequence[StockPiece], shape: Shape, used: Sequence, demands: Sequence[CutDemand]
) -> Iterator[StockCut]:
    """The stock pieces used, named and laid out, most used pattern first."""
    alike: dict[tuple, int] = {}
    for entry in used:
        alike[entry] = alike.get(entry, 0) + 1
    queues = names_waiting(demands)
    for (kind, patterns), count in sorted(alike.items(), key=lambda item: -item[1]):
        numbers = [sum(column) for column in zip(*patterns, strict=True)]
        for shares, run in handed_out(shape.lengths, numbers, count, queues):
            names = [[name for name, _, number in share for _ in range(number)] for share in shares]
            placed, leftover = [], []
            for (start, end), pattern in zip(shape.rooms[kind], patterns, strict=True):
                at = start
                for place, number in enumerate(pattern):
                    for _ in range(number):
                        name, length = names[place].pop(0), shape.lengths[place]
                        placed.append(Placed(name, in_metres(at), in_metres(at + length)))
                        at += length + shape.kerf
                if at < end:
                    leftover.append((in_metres(at), in_metres(end)))
            yield StockCut(stock[kind], run, tuple(placed), tuple(leftover))


def _why(
    stock: Sequence[StockPiece],
    kinds: Sequence[GridStock],
    weights: np.ndarray,
    demand: np.ndarray,
    lengths: list[int],
    answer: int | None,
    effort: Effort,
) -> list[Fault]:
    """Why the stock cannot hold the demand, and what more would."""
    mend = f"add {_more(stock, kinds, weights, demand, effort)}, or ask for fewer pieces"
    on_hand = ", ".join(f"{piece.available} of {piece.name}" for piece in stock)
    faults = []
    for place, weight in enumerate(weights.tolist()):
        asked = int(demand[: place + 1].sum())
        room = sum(
            (kind.available or 0) * sum(stretch // weight for stretch in kind.stretches)
            for kind in kinds
            if kind.available is not None
        )
        if room < asked and all(kind.available is not None for kind in kinds):
            length = f"{in_metres(lengths[place]) * 1e3:g} mm"
            faults.append(
                Fault("stock", on_hand, f"room for {asked} pieces of {length} and longer; it has room for {room}", mend)
            )
            break
    if not faults:
        total = sum(weight * number for weight, number in zip(weights.tolist(), demand.tolist(), strict=True))
        held = sum((kind.available or 0) * sum(kind.stretches) for kind in kinds)
        if total > held and all(kind.available is not None for kind in kinds):
            faults.append(
                Fault(
                    "stock", on_hand, f"{total / held - 1:.1%} more usable length than it has" if held else "some", mend
                )
            )
    if not faults:
        words = {
            None: "stock that holds every piece; none was found to fit within the work allowed, nor proven not to",
            0: "stock that holds every piece; no way of cutting fits them all",
        }
        faults.append(
            Fault("stock", on_hand, words.get(answer, f"stock for every piece; at least {answer} stay uncut"), mend)
        )
    return faults


def _more(
    stock: Sequence[StockPiece],
    kinds: Sequence[GridStock],
    weights: np.ndarray,
    demand: np.ndarray,
    effort: Effort,
) -> str:
    """How many more of the roomiest sort would do, in words."""
    from naptuft.roller.cutting.many_stocks import GridStock, StockAnswer, cheapest_stock

    best = max(range(len(stock)), key=lambda index: max(kinds[index].stretches, default=0))
    free = [GridStock(kind.stretches, kind.available, 0) for kind in kinds]
    more = cheapest_stock(weights, demand, [*free, GridStock(kinds[best].stretches, None, 1)], effort)
    if not isinstance(more, StockAnswer):
        return f"more of {stock[best].name}"
    least = "" if more.cost == more.bound else f" (at least {more.bound})"
    return f"{more.cost} more of {stock[best].name}{least}"


def _refuse(
    stock: Sequence[StockPiece],
    demands: Sequence[CutDemand],
    kerf: float,
    end_trim: float,
    min_offcut: float,
    aim: str,
    most_patterns: int | None,
) -> None:
    faults = []
    for label, value in (("kerf", kerf), ("end trim", end_trim), ("shortest offcut kept", min_offcut)):
        if not isfinite(value) or value < 0:
            faults.append(Fault(label, value, "a length of at least 0 m", f"give the {label} as a length"))
    if aim not in AIMS:
        faults.append(Fault("aim", aim, "one of " + ", ".join(AIMS), "choose what to use least of"))
    if most_patterns is not None and most_patterns < 1:
        faults.append(Fault("most patterns", most_patterns, "at least 1", "allow one pattern, or leave it out"))
    if not stock:
        faults.append(Fault("stock", 0, "at least one sort of stock piece", "give a length and how many there are"))
    for row, piece in enumerate(stock, start=1):
        place = f"stock, row {row} ({piece.name})"
        faults += stock_faults(piece, place)
        if aim == "price" and piece.price is None:
            faults.append(Fault(f"{place}, price", "", "a price", "give the price of one, or aim at something else"))
    if faults:
        raise DesignError(*faults)
    stretches = [stretch for piece in stock for stretch in piece.stretches(end_trim, kerf)]
    longest = max((end - start for start, end in stretches), default=0)
    if longest <= 0:
        faults.append(Fault("end trim", end_trim, "less than half a stock piece", "nothing sound is left: trim less"))
    faults += demand_faults(demands, longest)
    if faults:
        raise DesignError(*faults)
