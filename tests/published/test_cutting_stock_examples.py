"""Worked cutting-stock examples from the literature, each with its printed optimum."""

from decimal import Decimal
from itertools import product

import pytest

from naptuft.roller.cutting import CutDemand, StockPiece, cut_from_stock, cut_list

PAPER = {
    1380: 22,
    1520: 25,
    1560: 12,
    1710: 14,
    1820: 18,
    1880: 18,
    1930: 20,
    2000: 10,
    2050: 12,
    2100: 14,
    2140: 16,
    2150: 18,
    2200: 20,
}


def wanted(lengths: dict[int, int], step: float) -> list[CutDemand]:
    return [CutDemand(str(length), length * step, number) for length, number in lengths.items()]


def test_chvatal_rolls_of_100_inches():
    """V. Chvátal, Linear Programming, 1983, p. 195: rolls of 100 in, 97 of 45, 610 of 36, 395 of 31 and 211 of 14 in.

    The relaxed optimum is 452.25 rolls, the whole one 453.
    """
    made = cut_list(100 * 0.0254, wanted({45: 97, 36: 610, 31: 395, 14: 211}, 0.0254))
    assert made.rolls == made.lower_bound == 453


def test_thirteen_widths_of_paper():
    """Cutting stock problem, Wikipedia, illustration of the one-dimensional problem: 13 widths, master of 5600 mm.

    Printed: 407,160 mm wanted, at least 72.7 rolls, optimum 73 with 0.401 % waste, and at least 10 patterns.
    """
    made = cut_list(5.6, wanted(PAPER, 1e-3))
    assert sum(length * number for length, number in PAPER.items()) == 407_160
    assert made.rolls == made.lower_bound == 73
    assert 1 - made.pieces_length / made.stock_used == pytest.approx(0.00401, abs=5e-6)
    assert len(made.patterns) == 10


def test_thirteen_widths_have_308_patterns():
    """The same source: "there are 308 possible patterns"."""
    import numpy as np

    from naptuft.roller.cutting.pricing import patterns_within

    weights, demand = np.array(list(PAPER)), np.array(list(PAPER.values()))
    found = patterns_within(weights, weights, demand, 5600, 0, 10_000, only_full=False)
    assert found is not None
    assert len(found) == 308


def test_gilmore_gomory_three_stock_lengths():
    """P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849-859, the worked example (from memory):
    stock of 5, 6 and 9 at a cost of 6, 7 and 10; 20 pieces of 2, 10 of 3 and 20 of 4. Least cost 170."""
    stock = [StockPiece(f"{length}", length, None, Decimal(cost)) for length, cost in ((5, 6), (6, 7), (9, 10))]
    made = cut_from_stock(stock, wanted({2: 20, 3: 10, 4: 20}, 1.0), aim="price")
    assert made.cost == made.bound == 170
    assert made.proven_optimal


def test_gilmore_gomory_optimum_proved_by_prices():
    """The same optimum proved by hand: worth 5, 3 and 2 for lengths 4, 3 and 2, no pattern is worth more than its stock
    costs, so every answer costs at least 20·5 + 10·3 + 20·2 = 170 (linear duality)."""
    for length, cost in ((5, 6), (6, 7), (9, 10)):
        for two, three, four in product(range(5), range(4), range(3)):
            if 2 * two + 3 * three + 4 * four <= length:
                assert 2 * two + 3 * three + 5 * four <= cost
    assert 20 * 5 + 10 * 3 + 20 * 2 == 170


@pytest.mark.parametrize(("available", "least"), [(None, 3), (2, 3), (1, 4), (0, 5)])
def test_fewest_pieces_when_the_long_stock_runs_out(available, least):
    """Ten of 0.4 m from stock of 1.6 m (four each) and 0.9 m (two each): 4a + 2b ≥ 10, counted by hand."""
    stock = [StockPiece("long", 1.6, available), StockPiece("short", 0.9)]
    made = cut_from_stock(stock, [CutDemand("piece", 0.4, 10)])
    assert made.rolls == made.bound == least
