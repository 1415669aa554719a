"""What a blender gets: lots and grams, or the target that cannot be met."""

import itertools
import pickle
import random
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from scipy.optimize import linprog

from naptuft.brush import BLEND
from naptuft.brush.blend import (
    BlendLot,
    BlendOrder,
    FillingTarget,
    LengthAsked,
    blend_lots,
    blend_week,
    combed,
    stiffness_frontier,
)
from naptuft.errors import DesignError, Infeasible

LENGTHS = (0.076, 0.070, 0.064)


def target(shares=(0.4, 0.4, 0.2), tolerance=0.05, **facts):
    rows = tuple(
        LengthAsked(length=length, share=share, tolerance=tolerance)
        for length, share in zip(LENGTHS, shares, strict=True)
    )
    return FillingTarget(profile=rows, **facts)


def random_lots(seed, count):
    draw = random.Random(seed)
    lots = []
    for number in range(count):
        middle = draw.choice(LENGTHS)
        weights = {length: draw.random() * (4 if length == middle else 1) for length in (*LENGTHS, 0.050)}
        total = sum(weights.values())
        lots.append(
            BlendLot(
                f"B-{number}",
                round(draw.uniform(2, 9), 3),
                Decimal(str(round(draw.uniform(30, 80), 2))),
                tuple((length, weight / total) for length, weight in weights.items()),
                draw.uniform(0.15e-3, 0.21e-3),
                draw.uniform(0.10, 0.15),
                draw.uniform(0.0, 0.15),
            )
        )
    return lots


def cheapest_by_trying_everything(asked, lots, mass):
    """Least cost over every set of lots, by a linear programme each: no mixed-integer solver."""
    best = None
    for chosen in itertools.combinations(lots, min(asked.max_lots, len(lots))):
        left = [combed(asked, lot) for lot in chosen]
        above, below = [], []
        for k, row in enumerate(asked.profile):
            above.append([y.dry * (y.classes[k] - row.share - row.tolerance) for y in left])
            below.append([y.dry * (row.share - row.tolerance - y.classes[k]) for y in left])
        stray = [[y.dry * (y.stray - asked.stray) for y in left]]
        answer = linprog(
            [float(lot.price_per_kg) for lot in chosen],
            A_ub=np.array(above + below + stray),
            b_ub=np.zeros(2 * len(asked.profile) + 1),
            A_eq=[[y.share for y in left]],
            b_eq=[mass],
            bounds=[(0, lot.available) for lot in chosen],
        )
        if answer.status == 0 and (best is None or answer.fun < best):
            best = answer.fun
    return best


@pytest.mark.parametrize("seed", range(8))
def test_the_blend_costs_what_trying_every_set_of_lots_costs(seed):
    lots, asked = random_lots(seed, 8), target(max_lots=3, tolerance=0.12)
    best = cheapest_by_trying_everything(asked, lots, 8.0)
    if best is None:
        with pytest.raises(Infeasible):
            blend_lots(asked, lots, 8.0)
        return
    blend = blend_lots(asked, lots, 8.0)
    assert blend.proven_optimal
    assert float(blend.cost) == pytest.approx(best, rel=1e-3)
    assert float(blend.bound) <= best * (1 + 1e-5)


def test_no_more_lots_are_mixed_than_allowed():
    lots = random_lots(3, 12)
    costs = [float(blend_lots(target(max_lots=most, tolerance=0.15), lots, 6.0).cost) for most in (3, 5)]
    assert len(blend_lots(target(max_lots=3, tolerance=0.15), lots, 6.0).lots) <= 3
    assert costs[1] <= costs[0]


def test_a_target_no_lot_can_reach_is_named_with_the_nearest_blend():
    lots = [BlendLot("B-1", 50, 40, ((0.070, 0.6), (0.064, 0.4)), 0.18e-3)]
    with pytest.raises(Infeasible) as caught:
        blend_lots(target(), lots, 5.0)
    places = {fault.place for fault in caught.value.faults}
    assert "share at 76 mm" in places
    assert "B-1" in caught.value.faults[0].mend
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


def test_short_stock_is_said_with_what_there_is():
    lots = [BlendLot("B-1", 3, 40, ((0.070, 1.0),), 0.18e-3, curl=0.1)]
    with pytest.raises(Infeasible, match="2\\.673 kg"):
        blend_lots(target(), lots, 5.0)


def test_wet_hair_is_taken_up_by_more_mass_when_dry_weight_counts():
    def blend(moisture):
        lot = BlendLot("B-1", 50, 40, ((0.076, 0.4), (0.070, 0.4), (0.064, 0.2)), 0.18e-3, moisture=moisture)
        return blend_lots(target(moisture=0.12, combing_loss=0.0), [lot], 10.0)

    assert blend(0.12).mass == pytest.approx(10.0, abs=0.001)
    assert blend(0.20).mass == pytest.approx(10.0 * 0.88 / 0.80, abs=0.001)
    assert blend(0.20).dry_mass == pytest.approx(8.8, abs=0.001)


def test_curled_and_short_hair_goes_to_the_combings():
    lot = BlendLot("B-1", 50, 40, ((0.076, 0.4), (0.070, 0.3), (0.064, 0.2), (0.045, 0.1)), 0.18e-3, curl=0.08)
    blend = blend_lots(target(tolerance=0.08, combing_loss=0.0), [lot], 9.0)
    assert blend.taken == pytest.approx(9.0 / (0.9 * 0.92), abs=0.002)
    assert blend.combings == pytest.approx(blend.taken - 9.0, abs=0.002)


def test_planted_bad_lots_are_refused_by_name():
    with pytest.raises(DesignError, match="lot B-9, lengths"):
        BlendLot("B-9", 10, 40, (), 0.18e-3)
    with pytest.raises(DesignError) as caught:
        BlendLot("B-9", -1, 40, ((0.07, 0.5),), 0.0, moisture=1.2)
    assert len(caught.value.faults) == 4
    lot = BlendLot("B-2", 10, 40, ((0.07, 1.0),), 0.18e-3)
    with pytest.raises(DesignError, match="each lot code once"):
        blend_lots(target(), [lot, lot], 1.0)


def test_diameter_limits_hold():
    lots = random_lots(5, 14)
    free = blend_lots(target(tolerance=0.15), lots, 6.0)
    limit = free.mean_diameter * 0.97
    fine = blend_lots(target(tolerance=0.15, most_mean_diameter=limit), lots, 6.0)
    assert fine.mean_diameter <= limit * (1 + 1e-9)
    assert fine.cost >= free.cost


def test_the_form_reports_every_share_inside_its_tolerance():
    result = BLEND.answer(BLEND.example())
    assert result.passed
    assert result["combings"] > 0
    record, _ = BLEND.read(BLEND.example())
    assert BLEND.draw is not None
    assert "76 mm" in BLEND.draw(record, BLEND.run(record))


def test_a_misspelt_length_profile_is_explained():
    given = {**BLEND.example(), "lots": "B-1 | 5 kg | 40 | 76 mm 100 % | 0.18 mm"}
    with pytest.raises(DesignError, match="76 mm: 60 %"):
        BLEND.answer(given)


def bundled_lots():
    return [
        BlendLot("B-1", 20, 60, ((0.076, 0.7), (0.070, 0.3)), 0.19e-3, flag=0.9, bundle=2.0, length_error=0.03),
        BlendLot("B-2", 20, 45, ((0.070, 0.8), (0.064, 0.2)), 0.18e-3, flag=0.7, bundle=1.5, length_error=0.03),
        BlendLot("B-3", 20, 35, ((0.064, 1.0),), 0.17e-3, flag=0.5, bundle=1.0, length_error=0.03),
        BlendLot("B-4", 20, 52, ((0.076, 0.4), (0.070, 0.4), (0.064, 0.2)), 0.20e-3, flag=0.8, length_error=0.03),
    ]


def test_whole_bundles_are_not_broken():
    blend = blend_lots(target(tolerance=0.12, bundles="whole", surplus=0.3), bundled_lots()[:3], 10.0)
    for (_, taken), size in zip(sorted(blend.lots), (2.0, 1.5, 1.0), strict=True):
        assert taken / size == pytest.approx(round(taken / size), abs=1e-6)
    assert 10.0 - 0.001 <= blend.mass <= 13.001


def test_a_profile_that_must_hold_within_the_measuring_error_costs_more_and_keeps_its_distance():
    bold = blend_lots(target(tolerance=0.08), bundled_lots(), 10.0)
    safe = blend_lots(target(tolerance=0.08, standard_errors=2.0), bundled_lots(), 10.0)
    assert safe.cost >= bold.cost
    for (_, asked, got), error in zip(safe.profile, safe.profile_error, strict=True):
        assert abs(got - asked) + 2 * error <= 0.08 + 1e-4


def test_an_error_larger_than_the_tolerance_is_named():
    with pytest.raises(Infeasible, match="within 3 standard errors"):
        blend_lots(target(tolerance=0.03, standard_errors=3.0), bundled_lots(), 10.0)


def test_flag_and_stiffness_targets_hold():
    blend = blend_lots(target(tolerance=0.12, least_flag=0.8, stiff_as=0.19e-3), bundled_lots(), 10.0)
    assert blend.flag >= 0.8 - 1e-9
    assert blend.stiff_as >= 0.19e-3 * (1 - 1e-9)
    with pytest.raises(Infeasible, match="flagged hair"):
        blend_lots(target(tolerance=0.12, least_flag=0.95), bundled_lots(), 10.0)


def test_stiffer_blends_cost_more_along_the_frontier():
    frontier = stiffness_frontier(target(tolerance=0.15), bundled_lots(), 8.0, points=4)
    assert all(a.cost <= b.cost and a.stiff_as <= b.stiff_as for a, b in itertools.pairwise(frontier))


def test_a_week_shares_scarce_long_hair_without_overdrawing_a_lot():
    lots = [
        BlendLot("B-long", 6.0, 60, ((0.076, 1.0),), 0.19e-3),
        BlendLot("B-mixed", 12.0, 45, ((0.076, 0.3), (0.070, 0.5), (0.064, 0.2)), 0.18e-3),
        BlendLot("B-short", 12.0, 30, ((0.064, 0.6), (0.070, 0.4)), 0.17e-3),
    ]
    orders = [
        BlendOrder("W-1", target((0.6, 0.3, 0.1), 0.08), 6.0),
        BlendOrder("W-2", target((0.4, 0.4, 0.2), 0.08), 6.0),
        BlendOrder("W-3", target((0.1, 0.4, 0.5), 0.10), 8.0),
    ]
    week = blend_week(orders, lots)
    for lot in lots:
        drawn = sum(kg for _, blend in week.blends for code, kg in blend.lots if code == lot.code)
        assert drawn <= lot.available + 1e-9
    made = {name: blend.mass for name, blend in week.blends}
    missing = dict(week.short)
    for order in orders:
        assert made.get(order.name, 0.0) + missing.get(order.name, 0.0) == pytest.approx(order.mass, abs=0.01)


def test_first_come_first_served_is_never_better_than_sharing_the_week():
    lots = random_lots(11, 10)
    orders = [
        BlendOrder(f"W-{i}", target(shares, 0.12), 5.0) for i, shares in enumerate([(0.5, 0.3, 0.2), (0.3, 0.4, 0.3)])
    ]
    week = blend_week(orders, lots)
    if week.short:
        return
    first = blend_lots(orders[0].target, lots, 5.0)
    taken = dict(first.lots)
    left = [replace(lot, available=round(lot.available - taken.get(lot.code, 0.0), 3)) for lot in lots]
    try:
        second = blend_lots(orders[1].target, left, 5.0)
    except Infeasible:
        return
    assert float(week.cost) <= float(first.cost + second.cost) * 1.002
