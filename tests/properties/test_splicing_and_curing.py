"""Rolls of strip and racks of tubes: nothing lost, no joint in a refill, no tube taken down too soon."""

from itertools import permutations
from math import floor

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from naptuft.errors import DesignError
from naptuft.roller.curing import CURE_RACK, cured_share, time_to_cure, winding_within
from naptuft.roller.splicing import HAIR, SPLICE, RollRow, SpliceDesign, splice_rolls

some_rolls = st.lists(st.floats(1.0, 40.0), min_size=1, max_size=7)
some_windows = st.tuples(st.floats(0.0, 0.2), st.floats(0.02, 0.6)).map(lambda w: [(0.0, w[0]), (4.0 - w[1], 4.0)])


@settings(deadline=None, max_examples=150)
@given(some_rolls, some_windows, st.floats(0, 0.1), st.none() | st.integers(1, 40))
def test_every_joint_lies_in_its_window_and_every_metre_is_accounted_for(rolls, windows, overlap, wanted):
    plan = splice_rolls(rolls, 4.0, windows, overlap=overlap, wanted=wanted)
    order = [joint.roll for joint in plan.joints]
    assert len(set(order)) == len(order)
    end = 0.0
    for joint in plan.joints[:-1]:
        assert 0 <= joint.cut_off < rolls[joint.roll]
        place = end % 4.0
        end += rolls[joint.roll] - joint.cut_off - (overlap if HAIR < place < 4.0 - HAIR else 0.0)
        at = end % 4.0
        inside = any(low - 10 * HAIR <= at <= high + 10 * HAIR for low, high in windows)
        assert inside or min(at, 4.0 - at) < 10 * HAIR
        assert min(abs(joint.at - at), 4.0 - abs(joint.at - at)) < 10 * HAIR
        assert joint.tube == floor(end / 4.0 + HAIR) + 1
    place = end % 4.0
    end += rolls[order[-1]] - (overlap if HAIR < place < 4.0 - HAIR else 0.0)
    assert plan.joints[-1].cut_off == 0
    assert plan.tubes * 4.0 + plan.leftover == pytest.approx(end, abs=1e-5)
    assert plan.tubes <= plan.bound


@settings(deadline=None, max_examples=40)
@given(st.lists(st.integers(10, 300), min_size=1, max_size=4), st.integers(0, 3), st.integers(1, 12))
def test_no_order_and_no_shortening_makes_more_tubes(tenths, early, late):
    """Every order, and every joint moved to every tenth of a metre: windows on the same tenths lose nothing."""
    cycle, windows = 40, {*range(early + 1), *range(40 - late, 41)}
    best = 0
    for order in permutations(tenths):
        reach = {0}
        for length in order[:-1]:
            ends = {start + left for start in reach for left in range(1, length + 1)}
            reach = {end for end in ends if end % cycle in windows or end % cycle == 0}
        best = max([best, *((end + order[-1]) // cycle for end in reach)])
    plan = splice_rolls([v / 10 for v in tenths], 4.0, [(0.0, early / 10), (4.0 - late / 10, 4.0)])
    assert plan.proven
    assert plan.tubes == best


def test_a_joint_left_in_the_offcut_spoils_no_refill():
    result = SPLICE.answer(SPLICE.example())
    assert result.passed
    record, _ = SPLICE.read(SPLICE.example())
    assert isinstance(record, SpliceDesign)
    for low, high in record.windows:
        assert 0 <= low <= high <= record.strip_per_tube + HAIR


def test_too_little_strip_says_how_many_tubes_it_makes():
    result = SPLICE.answer({**SPLICE.example(), "tubes": "90"})
    failed = [check for check in result.checks if not check.passed]
    assert [check.label for check in failed] == ["tubes from the rolls"]
    assert result["tubes"] < 90


def test_more_rolls_never_make_fewer_tubes():
    few = SpliceDesign(
        rolls=(RollRow(length=30.0), RollRow(length=41.0)),
        core_diameter=0.044,
        strip_width=0.073,
        tube_length=1.8,
        refill_length=0.24,
    )
    base = splice_rolls([30.0, 41.0], few.strip_per_tube, few.windows).tubes
    assert splice_rolls([30.0, 41.0, 12.0], few.strip_per_tube, few.windows).tubes >= base


days = st.lists(st.tuples(st.floats(270, 320), st.floats(3600, 40_000)), min_size=1, max_size=4).map(tuple)


@settings(deadline=None)
@given(days, st.floats(600, 300_000), st.floats(1, 4), st.floats(0, 80_000))
def test_the_cure_is_whole_exactly_when_the_wait_ends(stretches, time, factor, start):
    wait = time_to_cure(stretches, time, 293.15, factor, start)
    assume(wait < 60 * 86_400)
    total = sum(length for _, length in stretches)
    at, done, passed = start % total, 0.0, 0.0
    while passed < wait - 1e-6:
        edge = 0.0
        for temperature, length in stretches:
            if edge <= at < edge + length:
                step = min(edge + length - at, wait - passed)
                done += cured_share(((temperature, step),), time, 293.15, factor)
                at, passed = at + step, passed + step
                break
            edge += length
        at = 0.0 if at >= total - 1e-7 else at
    assert done == pytest.approx(1.0, abs=1e-6)


@given(st.floats(0, 500_000), st.floats(60, 86_400))
def test_winding_in_a_stretch_is_no_more_than_the_stretch_nor_than_the_days_allow(held, winding):
    found = winding_within(held, winding)
    assert found <= held + HAIR
    assert found <= winding * (floor(held / 86_400) + 1) + HAIR


def test_a_colder_place_needs_more_racks():
    warm, cold = (CURE_RACK.answer({**CURE_RACK.example(), "day": f"{t} degC | 24 h"}) for t in (25, 15))
    assert cold["cure_wait"] > warm["cure_wait"]
    assert cold["racks_needed"] > warm["racks_needed"]


def test_racks_replayed_minute_by_minute_are_enough_and_one_less_is_not():
    """A winder that fills rack after rack all day; a rack comes back when its last tube has cured and it is emptied."""
    result = CURE_RACK.answer({**CURE_RACK.example(), "day": "20 degC | 24 h", "winding_hours": "24 h"})
    filling, held = result["filling_time"], result["held_time"]

    def runs_without_waiting(racks: int) -> bool:
        free = [0.0] * racks
        for number in range(200):
            start = number * filling
            ready = min(free)
            if ready > start + HAIR:
                return False
            free[free.index(ready)] = start + held
        return True

    needed = int(result["racks_needed"])
    assert runs_without_waiting(needed)
    assert not runs_without_waiting(needed - 1)


def test_a_day_that_is_not_24_hours_is_refused():
    with pytest.raises(DesignError, match="24 h in all"):
        CURE_RACK.answer({**CURE_RACK.example(), "day": "20 degC | 16 h"})
