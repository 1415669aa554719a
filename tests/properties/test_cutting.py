"""Cut lists: nothing is lost, nothing is short, and small ones are as good as trying everything."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.errors import DesignError
from naptuft.roller.cutting import CutDemand, cut_list, pricing
from naptuft.roller.cutting.pricing import best_patterns, patterns_within

millimetres = st.integers(30, 900)
small = st.lists(st.tuples(millimetres, st.integers(1, 60)), min_size=1, max_size=6, unique_by=lambda row: row[0])


@settings(deadline=None, max_examples=40)
@given(small, st.sampled_from([0, 1, 2.5, 3.175]), st.sampled_from([0, 5, 12.7]), st.sampled_from([0, 100, 300]))
def test_every_piece_is_cut_and_every_millimetre_accounted_for(rows, kerf, trim, kept):
    demands = [CutDemand(f"piece {length}", length / 1e3, quantity) for length, quantity in rows]
    made = cut_list(1.0, demands, kerf=kerf / 1e3, end_trim=trim / 1e3, min_offcut=kept / 1e3)
    cut: dict[str, int] = {}
    waste = 0.0
    for pattern in made.patterns:
        at = trim
        saw_cuts = pattern.number - 1
        for name, length, number in pattern.pieces:
            cut[name] = cut.get(name, 0) + number * pattern.count
            at += number * length * 1e3
        rest = 1000 - trim - at - saw_cuts * kerf
        assert rest >= -1e-6
        last_cut = min(kerf, rest)
        assert pattern.offcut * 1e3 == pytest.approx(rest - last_cut, abs=1e-6)
        short = 0 if pattern.offcut * 1e3 >= kept and pattern.offcut > 0 else rest - last_cut
        waste += pattern.count * (2 * trim + saw_cuts * kerf + last_cut + short)
    assert cut == {demand.name: demand.quantity for demand in demands}
    assert made.waste * 1e3 == pytest.approx(waste, abs=1e-6)
    assert made.stock_used == pytest.approx(made.pieces_length + made.offcut_length + made.waste, abs=1e-12)
    assert made.rolls == sum(pattern.count for pattern in made.patterns)
    assert made.lower_bound <= made.rolls
    assert made.proven_optimal == (made.lower_bound == made.rolls)


@settings(deadline=None, max_examples=25)
@given(st.lists(st.integers(2, 10), min_size=1, max_size=7))
def test_no_list_beats_it_when_every_way_is_tried(lengths):
    """Fewest boxes of 10 by dynamic programming over all subsets."""
    full = (1 << len(lengths)) - 1
    fits = [s for s in range(1, full + 1) if sum(v for i, v in enumerate(lengths) if s >> i & 1) <= 10]
    least = {0: 0}
    for chosen in range(1, full + 1):
        least[chosen] = min(least[chosen & ~s] + 1 for s in fits if s & chosen == s)
    wanted = [CutDemand(str(v), v / 10, lengths.count(v)) for v in sorted(set(lengths))]
    made = cut_list(1.0, wanted)
    assert made.rolls == least[full]
    assert made.proven_optimal


@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(st.integers(1, 40), st.integers(3, 30), st.integers(1, 3)), min_size=1, max_size=5),
    st.integers(10, 60),
)
def test_pricing_finds_the_best_pattern_by_both_ways(items, capacity):
    values, weights, bounds = (np.array(column, dtype=np.int64) for column in zip(*items, strict=True))
    every = [
        pattern
        for pattern in product(*(range(int(bound) + 1) for bound in bounds))
        if np.dot(pattern, weights) <= capacity
    ]
    best = max(int(np.dot(pattern, values)) for pattern in every)
    for most_lengths in (0, 1000):
        before = pricing.MANY_LENGTHS
        pricing.MANY_LENGTHS = most_lengths
        try:
            found = best_patterns(values, weights, bounds, capacity, 0)
            listed = patterns_within(values, weights, bounds, capacity, best - 3, 10_000, only_full=False)
        finally:
            pricing.MANY_LENGTHS = before
        assert (int(found[0] @ values) if found else 0) == best
        assert listed is not None
        wanted = {pattern for pattern in every if any(pattern) and np.dot(pattern, values) >= best - 3}
        assert {tuple(row) for row in listed.tolist()} == wanted


def test_the_same_demand_gives_the_same_list():
    demands = [CutDemand(str(v), v / 1e3, 17 + v % 13) for v in (120, 150, 190, 230, 240, 310)]
    assert cut_list(1.8, demands, kerf=0.002) == cut_list(1.8, demands, kerf=0.002)


def test_more_work_never_gives_more_rolls():
    demands = [CutDemand(str(v), v / 1e3, 1 + v % 3) for v in range(250, 500, 7)]
    few = cut_list(1.0, demands, nodes=1).rolls
    assert cut_list(1.0, demands, nodes=200).rolls <= few


def test_all_faults_of_a_request_are_named_at_once():
    with pytest.raises(DesignError) as caught:
        cut_list(1.0, [CutDemand("long", 1.2, 3), CutDemand("none", 0.2, 0), CutDemand("back", -0.1, 2)])
    places = [fault.place for fault in caught.value.faults]
    assert places == ["pieces, row 1 (long), length", "pieces, row 2 (none), quantity", "pieces, row 3 (back), length"]
