"""Whole bundles against every way of counting them out: no solver in the check."""

import itertools
import random
from decimal import Decimal

import pytest

from naptuft.brush.blend import BlendLot, FillingTarget, LengthAsked, blend_lots, combed
from naptuft.errors import Infeasible

LENGTHS = (0.076, 0.070, 0.064)


def bundles(seed):
    draw = random.Random(seed)
    lots = []
    for number in range(4):
        weights = [draw.random() + (2.0 if k == number % 3 else 0.0) for k in range(3)]
        lots.append(
            BlendLot(
                f"B-{number}",
                float(draw.randint(4, 8)),
                Decimal(draw.randint(3000, 8000)) / 100,
                tuple((length, weight / sum(weights)) for length, weight in zip(LENGTHS, weights, strict=True)),
                draw.uniform(0.16e-3, 0.20e-3),
                moisture=draw.uniform(0.1, 0.14),
                curl=draw.uniform(0.0, 0.1),
                bundle=draw.choice((1.0, 1.5, 2.0)),
            )
        )
    return lots


def cheapest_count(target, lots, mass):
    """Least cost over every number of bundles of every lot."""
    left = [combed(target, lot) for lot in lots]
    best = None
    for counts in itertools.product(*(range(int(lot.available / lot.bundle) + 1) for lot in lots)):
        taken = [count * lot.bundle for count, lot in zip(counts, lots, strict=True)]
        blend = sum(kg * y.share for kg, y in zip(taken, left, strict=True))
        dry = sum(kg * y.dry for kg, y in zip(taken, left, strict=True))
        used = sum(count > 0 for count in counts)
        if used > target.max_lots or not mass - 1e-9 <= blend <= mass * (1 + target.surplus) + 1e-9:
            continue
        shares = [sum(kg * y.dry * y.classes[k] for kg, y in zip(taken, left, strict=True)) / dry for k in range(3)]
        if any(abs(got - row.share) > row.tolerance + 1e-9 for got, row in zip(shares, target.profile, strict=True)):
            continue
        cost = sum(kg * float(lot.price) for kg, lot in zip(taken, lots, strict=True))
        best = cost if best is None else min(best, cost)
    return best


@pytest.mark.parametrize("seed", range(10))
def test_whole_bundles_cost_what_counting_them_out_every_way_costs(seed):
    shares = (0.35, 0.35, 0.30)
    rows = tuple(
        LengthAsked(length=length, share=share, tolerance=0.10) for length, share in zip(LENGTHS, shares, strict=True)
    )
    target = FillingTarget(profile=rows, max_lots=3, bundles="whole", surplus=0.2)
    lots = bundles(seed)
    best = cheapest_count(target, lots, 8.0)
    if best is None:
        with pytest.raises(Infeasible):
            blend_lots(target, lots, 8.0)
        return
    blend = blend_lots(target, lots, 8.0)
    assert blend.proven_optimal
    assert float(blend.cost) == pytest.approx(best, abs=0.011)
