"""Planted bad lots: each is refused by name, with what to do; nothing is taken for granted in silence."""

import pytest

from naptuft.brush import BLEND, FRONTIER
from naptuft.brush.blend import BlendLot, FillingTarget, LengthAsked, blend_lots
from naptuft.errors import DesignError, Infeasible

PROFILE = ((0.076, 0.4), (0.070, 0.4), (0.064, 0.2))


def target(**facts):
    rows = tuple(LengthAsked(length=length, share=share, tolerance=0.05) for length, share in PROFILE)
    return FillingTarget(profile=rows, **facts)


def lot(code="B-1", lengths=PROFILE, diameter=0.18e-3, available=50.0, **facts):
    return BlendLot(code, available, 40, lengths, diameter, **facts)


@pytest.mark.parametrize(
    ("facts", "place"),
    [
        ({"lengths": ((0.076, 0.7), (0.064, 0.2))}, "lot B-9, lengths"),
        ({"lengths": ((0.076, 1.4), (0.064, -0.4))}, "lot B-9, lengths"),
        ({"lengths": ((76.0, 1.0),)}, "lot B-9, lengths"),
        ({"lengths": ()}, "lot B-9, lengths"),
        ({"diameter": 0.0}, "lot B-9, diameter"),
        ({"diameter": 0.18}, "lot B-9, diameter"),
        ({"moisture": 1.2}, "lot B-9, moisture"),
        ({"curl": -0.1}, "lot B-9, curl"),
        ({"flag": 1.5}, "lot B-9, flag"),
        ({"available": -1.0}, "lot B-9, available"),
    ],
)
def test_a_lot_that_cannot_be_is_refused_where_it_is_wrong(facts, place):
    with pytest.raises(DesignError) as caught:
        lot("B-9", **facts)
    assert {fault.place for fault in caught.value.faults} == {place}
    assert all(fault.mend for fault in caught.value.faults)


def test_a_wet_lot_is_left_out_and_said_so():
    blend = blend_lots(target(), [lot("B-wet", moisture=0.31), lot("B-dry", moisture=0.12)], 10.0)
    assert [code for code, _ in blend.lots] == ["B-dry"]
    assert [fault.place for fault in blend.refused] == ["lot B-wet, moisture"]
    assert "dry the lot" in blend.refused[0].mend


def test_nothing_but_wet_lots_is_refused_with_each_named():
    with pytest.raises(Infeasible) as caught:
        blend_lots(target(most_moisture=0.16), [lot("B-1", moisture=0.2), lot("B-2", moisture=0.3)], 10.0)
    assert [fault.place for fault in caught.value.faults] == ["lot B-1, moisture", "lot B-2, moisture"]


def test_stock_that_is_short_without_its_wet_lots_names_both():
    lots = [lot("B-1", available=3.0, moisture=0.12), lot("B-2", moisture=0.4)]
    with pytest.raises(Infeasible) as caught:
        blend_lots(target(), lots, 10.0)
    assert [fault.place for fault in caught.value.faults] == ["stock", "lot B-2, moisture"]


def test_what_was_not_measured_is_listed_lot_by_lot():
    given = {**BLEND.example(), "lots": "B-1 | 20 kg | 40 | 76 mm: 40 %, 70 mm: 40 %, 64 mm: 20 % | 0.18 mm | 12 %"}
    remarks = " ".join(BLEND.answer(given).remarks)
    assert "No curl was given for B-1" in remarks
    assert "No flag was given for B-1" in remarks
    assert "No moisture" not in remarks
    assert "as the lots come" in remarks


def test_a_length_in_the_wrong_unit_names_the_lot():
    given = {**BLEND.example(), "lots": "B-1 | 20 kg | 40 | 76 kg: 100 % | 0.18 mm"}
    with pytest.raises(DesignError, match="lot B-1, lengths"):
        BLEND.answer(given)


def test_the_frontier_goes_from_the_cheapest_to_the_stiffest_blend():
    result = FRONTIER.answer({**FRONTIER.example(), "points": "3"})
    cheapest = BLEND.answer(BLEND.example())
    assert result["cost 1"] == pytest.approx(cheapest["cost"])
    assert result["cost 1"] <= result["cost 2"] <= result["cost 3"]
    assert result["stiff_as 1"] < result["stiff_as 2"] < result["stiff_as 3"]
