"""Cut lists from what lies in the rack, as the setter and the planner read them."""

import pytest

from naptuft.errors import DesignError, Infeasible
from naptuft.roller import CUT_LIST, CUT_RUNS
from naptuft.roller.cutting import CutDemand, StockPiece, cut_from_stock


def test_pieces_are_cut_around_a_spoiled_span():
    """A metre spoiled from 390 to 410 mm holds one piece of 350 mm before it and one after, not two and a half."""
    made = cut_from_stock([StockPiece("rod", 1.0, 3, spoiled=((0.39, 0.41),))], [CutDemand("a", 0.35, 4)])
    assert made.rolls == made.bound == 2
    for cut in made.cuts:
        assert [(piece.start, piece.end) for piece in cut.placed] == [(0.0, 0.35), (0.41, 0.76)]


def test_a_leftover_in_the_rack_is_used_before_a_new_tube_when_length_counts():
    stock = [StockPiece("tube", 1.8), StockPiece("leftover", 0.6, 1)]
    made = cut_from_stock(stock, [CutDemand("a", 0.29, 2)], aim="length")
    assert [cut.stock.name for cut in made.cuts] == ["leftover"]


def test_what_is_left_goes_back_to_stock_and_can_be_cut_again():
    first = cut_from_stock([StockPiece("tube", 1.8, 5)], [CutDemand("a", 0.4, 6)], min_offcut=0.15)
    back = [StockPiece("leftover", length, number) for length, number in first.offcuts]
    assert back
    second = cut_from_stock(back, [CutDemand("b", 0.15, 1)])
    assert second.rolls == 1


def test_stock_that_runs_short_says_why_and_how_much_more_would_do():
    with pytest.raises(Infeasible) as caught:
        cut_from_stock([StockPiece("tube", 1.0, 2)], [CutDemand("a", 0.4, 9)])
    (fault,) = caught.value.faults
    assert fault.value == "2 of tube"
    assert fault.allowed == "room for 9 pieces of 400 mm and longer; it has room for 4"
    assert "3 more of tube" in fault.mend


def test_stock_with_enough_length_but_no_way_to_cut_it_is_refused():
    """0.7 + 0.7 m is less than two pieces of 1 m hold by length with 0.6 m, but no two of them go together."""
    with pytest.raises(Infeasible, match=r"room for 3 pieces of 600 mm and longer; it has room for 2"):
        cut_from_stock([StockPiece("rod", 1.0, 2)], [CutDemand("a", 0.7, 2), CutDemand("b", 0.6, 1)])


def test_only_whole_numbers_forbid_it_and_the_message_says_so():
    """Three pieces of 0.5, 0.3 and 0.2 m fill a metre; two of each fill two, but not with three of 0.4 m instead."""
    demands = [CutDemand("a", 0.55, 2), CutDemand("b", 0.45, 1), CutDemand("c", 0.28, 3)]
    with pytest.raises(Infeasible) as caught:
        cut_from_stock([StockPiece("rod", 1.0, 2), StockPiece("short", 0.5, 1)], demands)
    assert all("add" in fault.mend for fault in caught.value.faults)


def test_a_limit_on_patterns_may_cost_stock_and_is_told():
    """2 of 230, 4 of 250 and 7 of 300 mm: four rods in three patterns; two patterns take nine, as trying all shows."""
    demands = [CutDemand(str(v), v / 1e3, n) for v, n in ((230, 2), (250, 4), (300, 7))]
    free = cut_from_stock([StockPiece("rod", 1.0)], demands)
    few = cut_from_stock([StockPiece("rod", 1.0)], demands, most_patterns=2)
    assert (free.rolls, free.patterns) == (4, 3)
    assert (few.rolls, few.patterns, few.bound) == (9, 2, 4)
    assert few.status == "few patterns at the price of more stock"
    assert not few.proven_optimal


def test_a_limit_no_list_keeps_fails_a_check_with_its_mend():
    given = {
        **CUT_LIST.example(),
        "stock": "1 m",
        "pieces": "450 mm | 97; 360 mm | 61; 310 mm | 39",
        "most_patterns": 1,
    }
    failed = [check for check in CUT_LIST.answer(given).checks if not check.passed]
    assert "different patterns" in [check.label for check in failed]


def test_the_cheapest_stock_is_chosen_when_price_counts():
    stock = "2 m | | 5.00; 1 m | | 2.00"
    result = CUT_LIST.answer({"stock": stock, "pieces": "0.9 m | 4", "aim": "price"})
    assert result["stock_price"] == result["cost"] == 8.0
    assert result["rolls"] == 4


def test_price_as_aim_without_a_price_names_the_row():
    with pytest.raises(DesignError, match=r"stock, row 2 .*price"):
        CUT_LIST.answer({"stock": "2 m | | 5.00; 1 m", "pieces": "0.9 m | 4", "aim": "price"})


def test_a_spoiled_span_outside_its_piece_is_refused_at_its_row():
    with pytest.raises(DesignError, match="row 2, spoiled"):
        CUT_LIST.answer({"stock": "2 m; 1 m | 3 | | 900 mm to 1100 mm", "pieces": "0.9 m | 4"})


@pytest.mark.parametrize("goods", ["tube", "steel strip", "cardboard", "fabric"])
def test_each_kind_of_goods_has_its_own_caution(goods):
    result = CUT_LIST.answer({**CUT_LIST.example(), "goods": goods})
    assert all("Follow local codes and licensed practice." in str(caution) for caution in result.cautions)


def test_the_drawing_shows_spoiled_spans_and_every_piece():
    record, _ = CUT_LIST.read(
        {"stock": "1 m | 1 | | 390 mm to 410 mm | rod", "pieces": "350 mm | 2 | handle", "aim": "length"}
    )
    assert CUT_LIST.draw is not None
    drawing = CUT_LIST.draw(record, CUT_LIST.run(record))
    assert drawing.count("handle, 350 mm") == 2
    assert "spoiled from 390 to 410 mm" in drawing


def test_waiting_that_costs_nothing_joins_all_dates_and_dear_waiting_parts_them():
    free, dear = (CUT_RUNS.answer({**CUT_RUNS.example(), "wait_cost": cost, "longest_wait": 30}) for cost in (0, 100))
    assert free["runs"] < dear["runs"] == 4
    assert free["rolls"] <= dear["rolls"] == dear["apart"]
    assert dear["piece_days"] == 0


def test_no_piece_waits_longer_than_allowed():
    result = CUT_RUNS.answer({**CUT_RUNS.example(), "wait_cost": 0, "longest_wait": 1})
    assert result["runs"] >= 3
