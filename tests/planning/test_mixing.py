"""The fillings of a week from one stock: who gets the scarce long hair."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.designs import filling_target
from naptuft.book.files import read_book
from naptuft.brush.blend import BlendLot, FillingTarget, LengthAsked
from naptuft.planning.mixing import BlendAsked, mix_week, mixed_together

LONG, MIDDLE, SHORT = 0.076, 0.064, 0.051
DAY = datetime.datetime(2026, 11, 30)


def target(tolerance=0.1, **shares):
    lengths = {"long": LONG, "middle": MIDDLE, "short": SHORT}
    rows = tuple(LengthAsked(length=lengths[n], share=s, tolerance=tolerance) for n, s in shares.items())
    return FillingTarget(profile=rows, combing_loss=0.0, stray=0.05)


LOTS = (
    BlendLot("B-LONG", 4.0, 60, ((LONG, 0.9), (MIDDLE, 0.1)), 0.19e-3),
    BlendLot("B-MIDDLE", 30.0, 58, ((MIDDLE, 0.9), (LONG, 0.1)), 0.18e-3),
    BlendLot("B-SHORT", 30.0, 55, ((SHORT, 1.0),), 0.17e-3),
)


def taken(mixed, code):
    return sum(dict(one.blend.lots).get(code, 0.0) for one in mixed.values() if one.blend)


def test_scarce_long_hair_goes_to_the_filling_that_cannot_do_without_it():
    """The first order can do with little long hair, the second needs most of it: one by one the second goes short."""
    easy = BlendAsked("W-1", target(0.45, long=0.5, middle=0.5), 5.0, (replace(LOTS[0], price_per_kg=20), *LOTS[1:]))
    hard = BlendAsked("W-2", target(0.05, long=0.7, middle=0.3), 4.0, easy.stock)
    alone = mix_week([easy])["W-1"].blend
    assert alone is not None
    assert dict(alone.lots)["B-LONG"] > 3.9
    both = mix_week([easy, hard])
    assert [one.share for one in both.values()] == [1.0, 1.0]
    assert taken(both, "B-LONG") <= 4.0 + 1e-9


def test_blends_that_do_not_compete_are_as_cheap_as_alone_and_proven():
    asked = [
        BlendAsked("W-1", target(0.1, long=0.2, middle=0.8), 3.0, LOTS),
        BlendAsked("W-2", target(0.1, short=0.9, middle=0.1), 3.0, LOTS),
    ]
    together = mix_week(asked)
    for one in asked:
        assert together[one.name] == mix_week([one])[one.name]
        blend = together[one.name].blend
        assert blend is not None
        assert blend.proven_optimal


def test_every_shared_blend_keeps_its_profile_mass_and_number_of_lots():
    asked = [BlendAsked(f"W-{n}", target(0.08, long=0.3, middle=0.7), 3.0 + n, LOTS) for n in range(3)]
    mixed = mix_week(asked)
    for one in asked:
        blend = mixed[one.name].blend
        assert blend is not None
        assert blend.mass == pytest.approx(one.mass * mixed[one.name].share, abs=0.003)
        assert blend.taken == pytest.approx(blend.mass + blend.combings, abs=1e-9)
        assert all(abs(got - wanted) <= 0.08 + 2e-3 for _, wanted, got in blend.profile)
    assert all(taken(mixed, lot.code) <= lot.available + 1e-9 for lot in LOTS)


def test_where_stock_is_short_the_more_urgent_filling_is_made_first():
    asked = [
        BlendAsked("W-1", target(0.05, long=0.9, middle=0.1), 4.0, LOTS, urgency=1.0),
        BlendAsked("W-2", target(0.05, long=0.9, middle=0.1), 3.0, LOTS, urgency=2.0),
    ]
    mixed = mix_week(asked)
    assert mixed["W-2"].share == 1.0
    assert 0.0 < mixed["W-1"].share < 0.5
    assert "lots" in mixed["W-1"].why or "share" in mixed["W-1"].why


def test_what_stock_lacks_is_mixed_from_lots_to_be_bought():
    bought = BlendLot("LONG HAIR", 1e6, 70, ((LONG, 1.0),), 0.19e-3)
    asked = [BlendAsked(f"W-{n}", target(0.05, long=0.9, middle=0.1), 3.0, LOTS, (bought,)) for n in range(2)]
    mixed = mix_week(asked)
    assert [one.share for one in mixed.values()] == [1.0, 1.0]
    assert taken(mixed, "LONG HAIR") > 0
    assert taken(mixed, "B-LONG") <= 4.0 + 1e-9


def test_a_filling_no_lot_can_make_gets_nothing_and_says_why():
    none = mix_week([BlendAsked("W-1", target(0.01, long=1.0), 1.0, LOTS[2:])])["W-1"]
    assert none.blend is None
    assert none.share == 0.0
    assert none.why


def test_fillings_that_share_no_lot_are_never_mixed_together():
    due = {"W-1": DAY, "W-2": DAY, "W-3": DAY}
    lots = {"W-1": frozenset("a"), "W-2": frozenset("b"), "W-3": frozenset("ab")}
    week = datetime.timedelta(days=7)
    assert mixed_together(due, {**lots, "W-3": frozenset("c")}, week) == (("W-1",), ("W-2",), ("W-3",))
    assert mixed_together(due, lots, week) == (("W-1", "W-2", "W-3"),)


def test_many_fillings_of_many_lots_are_shared_week_by_week():
    lots = frozenset(f"L-{n}" for n in range(30))
    due = {f"W-{n}": DAY + datetime.timedelta(days=3 * n) for n in range(5)}
    groups = mixed_together(due, dict.fromkeys(due, lots), datetime.timedelta(days=7))
    assert groups == (("W-0", "W-1", "W-2"), ("W-3", "W-4"))


def test_bristle_counts_at_its_conditioned_moisture_and_filament_as_it_comes():
    """Conditioned keratin holds about 13 % of water (Morton & Hearle, from memory)."""
    book = read_book(demo_folder())
    assert filling_target(book, "F-HOG57").moisture == pytest.approx(0.13)
    assert filling_target(book, "F-SYN70").moisture is None
    assert filling_target(book, "F-MIX57").moisture is None
    dry = replace(book.designs["F-HOG57"], moisture=0.10)
    assert filling_target(replace(book, designs={**book.designs, "F-HOG57": dry}), "F-HOG57").moisture == 0.10
