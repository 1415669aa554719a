"""What a user notices when a boxed set and its carton are worked out."""

import pytest

from naptuft.boxing import BOXED_SET
from naptuft.boxing.carton import arrange, blank_area
from naptuft.errors import DesignError


def answer(**given):
    return BOXED_SET.answer({**BOXED_SET.example(), **given})


def test_the_carton_weighs_its_boxes_and_its_board():
    result = answer()
    whole = result["pieces_per_carton"] * result["box_mass"] + result["carton_board_mass"]
    assert result["carton_mass"] == pytest.approx(whole, rel=1e-12)
    contents = 0.080 + 0.190 + 2 * 0.055 + 0.105
    assert result["box_mass"] == pytest.approx(contents + result["box_board_mass"], rel=1e-12)


def test_too_many_boxes_break_the_lifting_limit():
    assert answer().passed
    heavy = answer(boxes_per_carton="36")
    assert heavy.limiting is not None
    assert heavy.limiting.label == "carton against the lifting limit"
    assert not heavy.passed


def test_an_item_too_long_for_the_box_is_named_with_its_row():
    with pytest.raises(DesignError, match=r"pieces, row 1.*long brush"):
        answer(pieces="long brush | 1 | 900 mm | 60 mm | 20 mm | 100 g")


def test_a_wrong_code_and_a_wrong_item_are_both_told():
    with pytest.raises(DesignError) as raised:
        answer(pieces="long brush | 1 | 900 mm | 60 mm | 20 mm | 100 g", item_code="6291041500218")
    assert len(raised.value.faults) == 2


def test_the_least_board_for_many_small_cubes_is_two_to_one_to_two():
    """A slotted carton takes least board at length : width : height = 2 : 1 : 2 (calculus on the blank's area)."""
    laid = arrange((0.01, 0.01, 0.01), 2 * 1 * 2 * 8**3, 0.0)
    length, width, height = laid.inside
    assert length / width == pytest.approx(2, rel=0.15)
    assert height / width == pytest.approx(2, rel=0.15)


def test_every_way_to_lay_the_boxes_holds_them_all():
    laid = arrange((0.3, 0.2, 0.1), 24, 0.004)
    assert laid.counts[0] * laid.counts[1] * laid.counts[2] == 24
    volume = laid.inside[0] * laid.inside[1] * laid.inside[2]
    assert volume == pytest.approx(24 * 0.3 * 0.2 * 0.1)
    assert laid.board == blank_area(laid.inside, 0.004)


def test_the_drawing_shows_every_box_of_a_layer():
    record, _ = BOXED_SET.read({**BOXED_SET.example(), "boxes_per_carton": "12"})
    assert BOXED_SET.draw is not None
    picture = BOXED_SET.draw(record, BOXED_SET.run(record))
    assert picture.count("<title>boxed set</title>") == 2 * 3 + 2 * 2
