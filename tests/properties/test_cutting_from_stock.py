"""Cut lists from several lengths: nothing lost, nothing short, nothing cut over a spoiled span; small ones by trial."""

from decimal import Decimal
from functools import cache
from itertools import pairwise, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.errors import DesignError, Infeasible
from naptuft.roller.cutting import CutDemand, StockList, StockPiece, cut_from_stock

GRID = 1e-9


@st.composite
def stock_piece(draw, number: int) -> StockPiece:
    length = draw(st.integers(200, 1800))
    spans = []
    for _ in range(draw(st.integers(0, 2))):
        low = draw(st.integers(0, length - 2))
        spans.append((low / 1e3, draw(st.integers(low + 1, min(length, low + 120))) / 1e3))
    available = draw(st.none() | st.integers(0, 6))
    return StockPiece(f"sort {number}", length / 1e3, available, Decimal(draw(st.integers(0, 900))) / 100, tuple(spans))


stocks = st.integers(1, 4).flatmap(lambda count: st.tuples(*(stock_piece(number) for number in range(count))))
pieces = st.lists(st.tuples(st.integers(40, 700), st.integers(1, 12)), min_size=1, max_size=5)


def balanced(made: StockList, stock: tuple[StockPiece, ...], demands: list[CutDemand]) -> None:
    """Every stock piece from its left end to its right, to a thousandth of a micrometre."""
    cut: dict[tuple[str, float], int] = {}
    used: dict[str, int] = {}
    waste = kept = 0.0
    for entry in made.cuts:
        assert entry.count >= 1
        piece = entry.stock
        used[piece.name] = used.get(piece.name, 0) + entry.count
        marks = sorted(entry.placed, key=lambda placed: placed.start)
        for placed in marks:
            name = (placed.name, round(placed.end - placed.start, 9))
            cut[name] = cut.get(name, 0) + entry.count
            assert placed.start >= made.end_trim - GRID
            assert placed.end <= piece.length - made.end_trim + GRID
            for low, high in piece.spoiled:
                assert placed.end <= low + GRID or placed.start >= high - GRID
        for before, after in pairwise(marks):
            assert after.start - before.end >= made.kerf - GRID
        taken = sum(placed.end - placed.start for placed in marks)
        back = 0.0
        for low, high in entry.leftover:
            for placed in marks:
                assert placed.end + made.kerf <= low + GRID or placed.start >= high - GRID
            for spoiled_low, spoiled_high in piece.spoiled:
                assert high <= spoiled_low + GRID or low >= spoiled_high - GRID
            if high - low >= made.min_offcut - GRID and high > low:
                back += high - low
        kept += entry.count * back
        waste += entry.count * (piece.length - taken - back)
    assert cut == {(d.name, round(d.length, 9)): d.quantity for d in demands}
    for piece in stock:
        assert piece.available is None or used.get(piece.name, 0) <= piece.available
    assert made.waste == pytest.approx(waste, abs=1e-7)
    assert made.offcut_length == pytest.approx(kept, abs=1e-7)
    assert made.stock_used == pytest.approx(made.pieces_length + made.offcut_length + made.waste, abs=1e-9)
    assert made.bound <= made.cost + 1e-9
    measure = {
        "stock pieces": made.rolls,
        "length": made.stock_used,
        "price": float(sum((entry.stock.price or 0) * entry.count for entry in made.cuts)),
    }
    assert made.cost == pytest.approx(measure[made.aim], abs=1e-9)


@settings(deadline=None, max_examples=60)
@given(
    stocks,
    pieces,
    st.sampled_from([0, 2, 3.175]),
    st.sampled_from([0, 5]),
    st.sampled_from([50, 150]),
    st.sampled_from(["stock pieces", "price", "length"]),
    st.none() | st.integers(1, 4),
)
def test_every_stock_piece_balances_and_no_piece_lies_over_a_spoiled_span(stock, rows, kerf, trim, kept, aim, most):
    demands = [CutDemand(f"{place}: {length}", length / 1e3, n) for place, (length, n) in enumerate(rows)]
    try:
        made = cut_from_stock(
            stock,
            demands,
            kerf=kerf / 1e3,
            end_trim=trim / 1e3,
            min_offcut=kept / 1e3,
            aim=aim,
            most_patterns=most,
            seconds=60.0,
        )
    except (Infeasible, DesignError) as error:
        refused = error.faults
    else:
        refused = ()
        balanced(made, stock, demands)
    assert all(fault.mend and fault.place.startswith(("stock", "pieces", "end trim")) for fault in refused)


small_stock = st.lists(
    st.tuples(st.integers(3, 12), st.integers(0, 3), st.integers(1, 9), st.none() | st.integers(1, 9)),
    min_size=1,
    max_size=3,
)


def least_by_trial(stock: list[StockPiece], costs: list[int], lengths: tuple[int, ...], wanted: tuple[int, ...]):
    """Least cost by trying every stock piece in turn, and every set of pieces it can hold; None when none will do."""
    rooms = [[(high - low) // 10**9 for low, high in piece.stretches(0.0, 0.0)] for piece in stock]
    choices = list(product(*(range(n + 1) for n in wanted)))

    @cache
    def holds(kind: int) -> tuple[tuple[int, ...], ...]:
        held = {(0,) * len(wanted)}
        for room in rooms[kind]:
            fits = [c for c in choices if sum(n * length for n, length in zip(c, lengths, strict=True)) <= room]
            held = {tuple(min(a + b, n) for a, b, n in zip(x, y, wanted, strict=True)) for x in held for y in fits}
        return tuple(held)

    @cache
    def least(kind: int, copies: int, left: tuple[int, ...]) -> int | None:
        if not any(left):
            return 0
        if kind == len(stock):
            return None
        found = [least(kind + 1, 0, left)]
        if copies < (stock[kind].available or 0):
            for held in holds(kind):
                rest = tuple(max(0, n - h) for n, h in zip(left, held, strict=True))
                if rest != left:
                    more = least(kind, copies + 1, rest)
                    found.append(None if more is None else more + costs[kind])
        known = [value for value in found if value is not None]
        return min(known) if known else None

    return least(0, 0, wanted)


@settings(deadline=None, max_examples=60)
@given(
    small_stock,
    st.lists(st.tuples(st.integers(1, 6), st.integers(1, 3)), min_size=1, max_size=3, unique_by=lambda row: row[0]),
    st.sampled_from(["stock pieces", "price", "length"]),
)
def test_no_list_is_cheaper_when_every_way_is_tried(sorts, rows, aim):
    stock = [
        StockPiece(
            f"sort {place}",
            float(length),
            available,
            Decimal(price),
            ((float(spoiled), spoiled + 1.0),) if spoiled is not None and spoiled < length else (),
        )
        for place, (length, available, price, spoiled) in enumerate(sorts)
    ]
    costs = [{"stock pieces": 1, "price": price, "length": length}[aim] for length, _, price, _ in sorts]
    lengths, wanted = tuple(row[0] for row in rows), tuple(row[1] for row in rows)
    least = least_by_trial(stock, costs, lengths, wanted)
    demands = [CutDemand(str(length), float(length), n) for length, n in rows]
    try:
        made = cut_from_stock(stock, demands, aim=aim, seconds=60.0)
    except Infeasible:
        assert least is None
        return
    except DesignError:
        assert least is None
        return
    assert least is not None
    assert made.cost == least
    assert made.proven_optimal


@settings(deadline=None, max_examples=30)
@given(st.lists(st.tuples(st.integers(2, 9), st.integers(1, 4)), min_size=1, max_size=3, unique_by=lambda row: row[0]))
def test_patterns_called_the_fewest_are_the_fewest(rows):
    """Fewest different patterns at the least number of stock pieces of 10, by trying every mix."""
    lengths, wanted = [row[0] for row in rows], tuple(row[1] for row in rows)
    made = cut_from_stock(
        [StockPiece("a", 10.0, 99), StockPiece("b", 7.0, 0)], [CutDemand(str(v), float(v), n) for v, n in rows]
    )
    fits = [
        c
        for c in product(*(range(n + 1) for n in wanted))
        if any(c) and sum(n * length for n, length in zip(c, lengths, strict=True)) <= 10
    ]

    @cache
    def fewest(first: int, left: tuple[int, ...], rolls: int) -> int:
        if not any(left):
            return 0
        if first == len(fits) or not rolls:
            return 99
        best = fewest(first + 1, left, rolls)
        for times in range(1, rolls + 1):
            rest = tuple(n - times * c for n, c in zip(left, fits[first], strict=True))
            if min(rest) < 0:
                break
            best = min(best, 1 + fewest(first + 1, rest, rolls - times))
        return best

    least = fewest(0, wanted, made.rolls)
    assert made.patterns >= least
    if made.fewest_patterns_proven:
        assert made.patterns == least


def test_several_lengths_repeat_exactly():
    stock = [StockPiece("long", 1.8, 30), StockPiece("short", 1.2, 12, spoiled=((0.5, 0.53),))]
    demands = [CutDemand(str(v), v / 1e3, 7 + v % 11) for v in (120, 190, 240, 310)]
    assert cut_from_stock(stock, demands, kerf=0.002) == cut_from_stock(stock, demands, kerf=0.002)
