"""Regrind, colours, vats, presses and shrinkage: what must hold whatever is given."""

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from naptuft.handle.colour_order import least_order, wash_time
from naptuft.handle.mould_size import mould_length
from naptuft.handle.press import residence_time
from naptuft.handle.runner import Runner, channels, mould_plan
from naptuft.handle.vat import bars_between_top_ups, level_rise, thickening_time
from naptuft.materials.conduction import section_roundness, set_depth
from naptuft.materials.reground import largest_regrind, mean_passes, share_by_passes, steady_property


@settings(deadline=None)
@given(st.floats(0, 0.9), st.floats(0.5, 1.0))
def test_a_loop_run_for_long_settles_where_the_series_says(regrind, kept):
    """Shot after shot: the mix of fresh resin and last shot's regrind, each losing its share in the barrel."""
    mix = 1.0
    for _ in range(400):
        mix = kept * ((1 - regrind) + regrind * mix)
    assert steady_property(regrind, kept) == pytest.approx(mix, rel=1e-9)


@settings(deadline=None)
@given(st.floats(0, 0.8))
def test_passes_add_up_to_the_whole_mix(regrind):
    shares = [share_by_passes(regrind, n) for n in range(1, 400)]
    assert sum(shares) == pytest.approx(1.0, abs=1e-9)
    assert sum(n * share for n, share in enumerate(shares, start=1)) == pytest.approx(mean_passes(regrind), rel=1e-6)


@settings(deadline=None)
@given(st.floats(0.6, 0.999), st.floats(0.3, 0.99))
def test_the_largest_regrind_just_keeps_the_property(kept, least):
    most = largest_regrind(kept, least)
    assert 0 <= most <= 1
    if 0 < most < 1:
        assert steady_property(most, kept) == pytest.approx(least, rel=1e-9)


@settings(deadline=None)
@given(st.lists(st.floats(0, 100), min_size=1, max_size=6))
def test_no_order_of_colours_washes_out_less(lightness):
    def total(way):
        return sum(wash_time(lightness[a], lightness[b], 900.0, 480.0) for a, b in pairwise(way))

    found = least_order(tuple(lightness))
    assert sorted(found) == list(range(len(lightness)))
    assert found[0] == 0
    least = min(total((0, *rest)) for rest in permutations(range(1, len(lightness))))
    assert total(found) == pytest.approx(least, rel=1e-9, abs=1e-6)


@settings(deadline=None)
@given(st.floats(1e-4, 0.1), st.floats(0.2, 3.0), st.floats(0.1, 1.0))
def test_the_vat_rises_by_what_goes_under(volume, length, width):
    rise = level_rise(volume, length, width)
    assert rise * length * width == pytest.approx(volume)
    bars = bars_between_top_ups(rise, length, width, volume / 7.5)
    assert bars == 7


@settings(deadline=None)
@given(st.floats(1, 500), st.floats(0.1, 0.7), st.floats(0.001, 0.1), st.floats(1e-6, 1e-2))
def test_solids_rise_by_just_what_was_allowed(mass, solids, rise, rate):
    left = mass - rate * thickening_time(mass, solids, rise, rate)
    assert mass * solids / left == pytest.approx(solids + rise, rel=1e-9)


@settings(deadline=None)
@given(st.floats(1e-6, 1e-3), st.floats(1.0, 5.0), st.floats(5, 300))
def test_a_larger_barrel_keeps_the_resin_longer(shot, larger, cycle):
    assert residence_time(shot, shot * larger, cycle) >= residence_time(shot, shot, cycle)


@settings(deadline=None)
@given(st.floats(1e-3, 1.0), st.floats(0, 0.08))
def test_mould_and_part_are_each_others_inverse(part, shrinkage):
    assert mould_length(part, shrinkage) * (1 - shrinkage) == pytest.approx(part)


@settings(deadline=None)
@given(st.floats(1e-3, 0.05), st.floats(1.0, 30.0), st.floats(1.0, 3.0))
def test_a_wider_section_is_less_round(thickness, aspect, wider):
    narrow, wide = (section_roundness(thickness, thickness * a) for a in (aspect, aspect * wider))
    assert 0 <= wide <= narrow + 1e-9 <= 1 + 1e-9


@settings(deadline=None)
@given(st.floats(0.1, 600.0), st.floats(1.1, 5.0))
def test_the_skin_grows_with_the_root_of_time(time, longer):
    first, later = (set_depth(0.085e-6, t, 493.15, 313.15, 388.15) for t in (time, time * longer))
    assert later / first == pytest.approx(longer**0.5)


@settings(deadline=None)
@given(st.integers(1, 16), st.floats(1e-6, 3e-4), st.floats(0.02, 0.3), st.floats(0.01, 0.1))
def test_more_cavities_want_more_runner_and_a_longer_mould(pairs, volume, length, width):
    def mould(cavities: int):
        runner = Runner(cavities=cavities, part_volume=volume, part_length=length, part_width=width)
        return channels(runner).volume, mould_plan(runner)[0]

    few, many = mould(2 * pairs), mould(2 * pairs + 2)
    assert many[0] > few[0]
    assert many[1] > few[1]
