"""The cut list as the tube cutter's setter sees it."""

import pytest

from naptuft.errors import DesignError
from naptuft.roller import CUT_LIST
from naptuft.roller.cutting import CutDemand, cut_list


@pytest.mark.parametrize("stock", [1.75, 1.80])
@pytest.mark.parametrize(("length", "pieces"), [(0.190, 9), (0.240, 7)])
def test_a_stock_tube_gives_nine_short_or_seven_long_refills(stock, length, pieces):
    """Common practice: nine of 190 mm or seven of 240 mm from a tube of about 1.75 to 1.8 m."""
    made = cut_list(stock, [CutDemand("refill", length, pieces * 10)], kerf=0.002, end_trim=0.005)
    assert made.rolls == 10
    assert made.proven_optimal
    assert made.patterns[0].pieces == (("refill", length, pieces),)


def test_an_exact_fit_counts_as_a_fit():
    made = cut_list(1.0, [CutDemand("third", 1 / 4, 8)])
    assert made.rolls == 2
    assert made.patterns[0].offcut == 0


def test_inches_fit_exactly_too():
    inch = 0.0254
    made = cut_list(72 * inch, [CutDemand("cover", 9 * inch, 80)])
    assert made.rolls == 10
    assert made.waste == 0


def test_equal_lengths_keep_their_own_names():
    made = cut_list(1.0, [CutDemand("blue", 0.3, 4), CutDemand("green", 0.3, 5)])
    assert made.rolls == 3
    cut = {}
    for pattern in made.patterns:
        for name, _, number in pattern.pieces:
            cut[name] = cut.get(name, 0) + number * pattern.count
    assert cut == {"blue": 4, "green": 5}


def test_few_patterns_are_preferred_at_no_cost_in_tubes():
    """27 of 190 mm and 14 of 240 mm fit five tubes of one length each."""
    made = cut_list(1.8, [CutDemand("a", 0.19, 27), CutDemand("b", 0.24, 14)])
    assert made.rolls == 5
    assert len(made.patterns) == 2
    assert made.fewest_patterns_proven


def test_leftover_worth_keeping_is_gathered():
    """Seven of 300 mm from tubes of 2 m: 6 + 1, 5 + 2 and 4 + 3 all take two tubes; 6 + 1 leaves one of 1.7 m."""
    made = cut_list(2.0, [CutDemand("a", 0.3, 7)], min_offcut=1.0)
    assert made.rolls == 2
    assert made.offcuts == ((1.7, 1),)


def test_the_sheet_names_each_pattern_and_the_proof():
    result = CUT_LIST.answer(CUT_LIST.example())
    assert result.passed
    assert result["rolls"] == result["lower_bound"]
    assert any("190 mm" in remark for remark in result.remarks)


def test_a_row_without_quantity_is_named():
    with pytest.raises(DesignError, match="row 2, quantity"):
        CUT_LIST.answer({"stock": "1.8 m", "pieces": "190 mm | 3; 240 mm"})
