"""Refills and tubes: what goes in comes out, and what grows with what."""

from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.errors import DesignError
from naptuft.roller import REFILL, STOCK_TUBE
from naptuft.roller.cutting import CutDemand, cut_list
from naptuft.roller.refill import bevel_fibre_share, pieces_per_stock, pile_volume
from naptuft.roller.winding import (
    gap_spread,
    seam_gap_at,
    seam_opening,
    strip_lead,
    strip_length,
    winding_angle,
)

diameter = st.floats(0.02, 0.08)
share = st.floats(0.1, 0.9)


@given(diameter, share, st.floats(0.2, 4))
def test_strip_wound_edge_to_edge_covers_the_core_exactly(core, part, length):
    width = part * pi * core
    wound = strip_length(length, winding_angle(core, width))
    assert wound * width == pytest.approx(pi * core * length, rel=1e-12)


@given(diameter, share, st.floats(-0.003, 0.003))
def test_gap_and_lead_answer_each_other(core, part, gap):
    width = part * pi * core
    assert seam_gap_at(core, width, strip_lead(core, width, gap)) == pytest.approx(gap, abs=1e-9)


@given(diameter, share, st.floats(1e-6, 1e-4), st.floats(1e-6, 1e-4))
def test_the_gap_strays_no_further_than_said(core, part, off_width, off_lead):
    width = part * pi * core
    lead = strip_lead(core, width)
    worst = abs(seam_gap_at(core, width - off_width, lead + off_lead))
    assert worst == pytest.approx(gap_spread(core, lead, off_width, off_lead), rel=0.02)


@given(diameter, share, st.floats(0.001, 0.01), st.floats(1.1, 3))
def test_higher_pile_parts_further_at_the_seam(core, part, pile, more):
    lead = strip_lead(core, part * pi * core)
    assert 0 < seam_opening(core, lead, pile) < seam_opening(core, lead, pile * more)


@settings(deadline=None, max_examples=30)
@given(st.integers(50, 900), st.sampled_from([0, 1, 2.5]), st.sampled_from([0, 10]))
def test_pieces_from_a_tube_agree_with_the_cut_list(length, kerf, trim):
    number = pieces_per_stock(1.0, length / 1e3, kerf / 1e3, trim / 1e3)
    made = cut_list(1.0, [CutDemand("one", length / 1e3, number)], kerf=kerf / 1e3, end_trim=trim / 1e3)
    assert made.rolls == 1
    more = cut_list(1.0, [CutDemand("one", length / 1e3, number + 1)], kerf=kerf / 1e3, end_trim=trim / 1e3)
    assert more.rolls == 2


@given(st.floats(0.01, 0.04), st.floats(0.004, 0.02), share, share)
def test_room_of_the_pile_agrees_with_slicing_it(radius, pile, cut_part, bevel_part):
    length, cut = 0.2, cut_part * pile
    bevel = bevel_part * length / 2
    slices = 20_000
    room = fibre = 0.0
    for n in range(slices):
        x = (n + 0.5) * length / slices
        edge = min(x, length - x)
        height = pile - (cut * (1 - edge / bevel) if edge < bevel else 0.0)
        room += pi * ((radius + height) ** 2 - radius**2) * length / slices
        fibre += height / pile / slices
    assert pile_volume(radius, pile, length, bevel, cut) == pytest.approx(room, rel=1e-5)
    assert 1 - bevel_fibre_share(pile, length, bevel, cut) == pytest.approx(fibre, rel=1e-5)


def test_a_longer_bevel_holds_less_paint_and_loses_more_fibre():
    short, long = (REFILL.answer({**REFILL.example(), "bevel": f"{b} mm"}) for b in (5, 20))
    assert long["paint_held"] < short["paint_held"]
    assert long["bevel_loss"] > short["bevel_loss"]


def test_all_faults_of_a_refill_are_named_at_once():
    given_ = {**REFILL.example(), "core_wall": "15 mm", "core_diameter": "20 mm", "bevel": "60 mm", "length": "100 mm"}
    with pytest.raises(DesignError) as caught:
        REFILL.answer({**given_, "bevel_cut": "13 mm"})
    assert {fault.place for fault in caught.value.faults} == {"core wall", "bevel", "bevel cut"}


def test_a_strip_wider_than_the_way_round_is_refused():
    with pytest.raises(DesignError, match="the way round the core"):
        STOCK_TUBE.answer({**STOCK_TUBE.example(), "strip_width": "140 mm"})


def test_a_loose_lead_fails_the_seam_and_says_how_to_mend_it():
    result = STOCK_TUBE.answer({**STOCK_TUBE.example(), "lead": "90 mm"})
    failed = [check for check in result.checks if not check.passed]
    assert [check.label for check in failed] == ["widest seam gap"]
    assert "shorter lead" in failed[0].mend
