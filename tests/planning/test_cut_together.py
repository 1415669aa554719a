"""Refills cut together where the tubes it saves are worth more than the pieces that wait."""

import datetime
from decimal import Decimal
from itertools import combinations, pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.book.demo import demo_folder
from naptuft.papers.cutting import cut_part
from naptuft.planning.cut_together import Piece, Prices, cut_together
from naptuft.planning.weeks import plan_weeks
from naptuft.roller.cutting import CutDemand, cut_list
from naptuft.services import read_book

FIRST = datetime.datetime(2026, 12, 1, 14)
STOCK = 1.5


def due(day: int) -> datetime.datetime:
    return FIRST + datetime.timedelta(days=day)


def cost_of(groups: list[list[Piece]], prices: Prices) -> Decimal:
    total = Decimal(0)
    for group in groups:
        first = min(piece.due for piece in group)
        listed = cut_list(STOCK, [CutDemand(p.consumer, p.length, p.quantity) for p in group], kerf=0.002)
        waiting = sum(piece.quantity * (piece.due - first).days for piece in group)
        total += listed.rolls * prices.tube + waiting * prices.waiting + prices.setting_up
    return total


pieces = st.lists(
    st.tuples(st.integers(0, 9), st.sampled_from([0.19, 0.24, 0.31, 0.46]), st.integers(1, 9)), min_size=1, max_size=6
)


@settings(max_examples=30, deadline=None)
@given(pieces, st.sampled_from(["0", "0.01", "0.2"]), st.sampled_from(["0", "1", "6"]), st.integers(1, 8))
def test_no_other_way_to_part_the_due_days_costs_less(asked, waiting, setting_up, longest):
    prices = Prices(Decimal(3), Decimal(waiting), Decimal(setting_up))
    all_pieces = [Piece(f"P{k}", length, count, due(day)) for k, (day, length, count) in enumerate(asked)]

    found = cut_together(STOCK, all_pieces, prices, longest_wait=longest, kerf=0.002)

    assert sorted(name for group in found for name in group.consumers) == sorted(p.consumer for p in all_pieces)
    groups = [[p for p in all_pieces if p.consumer in group.consumers] for group in found]
    for told, group in zip(found, groups, strict=True):
        first = min(piece.due for piece in group)
        assert (max(piece.due for piece in group) - first).days < longest
        assert told.piece_days == sum(piece.quantity * (piece.due - first).days for piece in group)
    days = sorted({piece.due for piece in all_pieces})
    others = []
    for count in range(len(days)):
        for cuts in combinations(range(1, len(days)), count):
            ends = [0, *cuts, len(days)]
            runs = [days[a:b] for a, b in pairwise(ends)]
            if all((run[-1] - run[0]).days < longest for run in runs):
                others.append(cost_of([[p for p in all_pieces if p.due in run] for run in runs], prices))
    assert cost_of(groups, prices) <= min(others)


def test_the_demo_s_cut_lists_tell_what_they_save_and_what_waits_for_it():
    book = read_book(demo_folder())
    plan = plan_weeks(book, effort=1)
    joined = [found for found in plan.cut_lists if found.piece_days > 0]
    assert joined
    for found in joined:
        assert found.rolls < found.rolls_apart
        words = cut_part(book, plan, found)["balance"]
        assert f"{found.rolls_apart - found.rolls:,} tubes fewer than day by day" in words
        assert f"{found.piece_days:,} piece-days of waiting" in words
