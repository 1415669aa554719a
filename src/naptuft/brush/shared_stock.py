"""Many blends from one stock, as one mixed-integer programme solved twice: least short, then least cost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from naptuft.brush.blend import Blend, BlendLot, BlendOrder, WeekOfBlends
from naptuft.brush.least_cost import Mixture, mixture, weighed
from naptuft.brush.programme import UNBOUNDED, Answer, Programme
from naptuft.errors import DesignError, Fault

_LEAST_MADE, _WEIGHING = 0.001, 0.002


def _programme(mixes: Sequence[Mixture], lots: Sequence[BlendLot], short_cost: float, most_short: float) -> Programme:
    """For each order its lots' shares, then used or not, then its share made; lots limited over all orders."""
    sizes = [len(mix.lots) for mix in mixes]
    starts = np.concatenate([[0], np.cumsum([2 * size + 1 for size in sizes])])
    cost, high, whole = (np.zeros(starts[-1]) for _ in range(3))
    for mix, size, start in zip(mixes, sizes, starts, strict=False):
        cost[start : start + size] = mix.cost if short_cost == 0 else 0.0
        high[start : start + size] = mix.most
        high[start + size : start + 2 * size + 1] = 1.0
        whole[start + size : start + 2 * size] = 1.0
        cost[start + 2 * size] = -short_cost * mix.mass
    made = Programme(cost, np.zeros(len(cost)), high, whole)
    by_code: dict[str, tuple[list[int], list[float]]] = {lot.code: ([], []) for lot in lots}
    for mix, size, start in zip(mixes, sizes, starts, strict=False):
        f, used = np.arange(start, start + size), np.arange(start + size, start + 2 * size)
        for row in mix.targets:
            made.row(f, row, -UNBOUNDED, 0.0)
        made.rows(np.stack([f, used], axis=1), np.stack([np.ones(size), -mix.most], axis=1), -UNBOUNDED, 0.0)
        made.row(used, np.ones(size), 0.0, float(mix.target.max_lots))
        made.row([*f, start + 2 * size], [*np.ones(size), -1.0], 0.0, 0.0)
        for column, lot, counted in zip(f, mix.lots, mix.counted, strict=True):
            by_code[lot.code][0].append(int(column))
            by_code[lot.code][1].append(mix.mass / counted)
    for lot in lots:
        columns, kilograms = by_code[lot.code]
        if columns:
            made.row(
                columns, kilograms, 0.0, lot.available - 0.002 * len(columns) if lot.available > 1 else lot.available
            )
    made_columns = [int(start) + 2 * size for start, size in zip(starts, sizes, strict=False)]
    masses = [mix.mass for mix in mixes]
    made.row(made_columns, masses, sum(masses) - most_short, UNBOUNDED)
    return made


def share_stock(orders: Sequence[BlendOrder], lots: Sequence[BlendLot], seconds: float) -> WeekOfBlends:
    """See `naptuft.brush.blend.blend_week`."""
    mixes = [mixture(order.target, lots, order.mass) for order in orders]
    whole_week = sum(order.mass for order in orders)
    shortest = _programme(mixes, lots, 1.0, whole_week).solve(seconds / 2)
    if shortest.values is None:
        raise DesignError(Fault("seconds", seconds, "time enough to share the stock", "allow more seconds"))
    short = max(0.0, whole_week + shortest.objective)
    answer = _programme(mixes, lots, 0.0, short + 1e-6 * whole_week).solve(seconds / 2)
    proven = shortest.status == answer.status == "optimal"
    return _read_week(orders, mixes, answer if answer.values is not None else shortest, proven)


def _read_week(orders: Sequence[BlendOrder], mixes: Sequence[Mixture], answer: Answer, proven: bool) -> WeekOfBlends:
    assert answer.values is not None
    blends: list[tuple[str, Blend]] = []
    short: list[tuple[str, float]] = []
    start = 0
    for order, mix in zip(orders, mixes, strict=True):
        size = len(mix.lots)
        shares = answer.values[start : start + size]
        part = float(answer.values[start + 2 * size])
        start += 2 * size + 1
        if part * order.mass < _LEAST_MADE:
            short.append((order.name, order.mass))
            continue
        smaller = mixture(order.target, mix.lots, order.mass * part)
        blends.append((order.name, weighed(smaller, shares / part, 0.0, False)))
        if part < 1 - 1e-6:
            short.append((order.name, round(order.mass * (1 - part), 3)))
    return WeekOfBlends(tuple(blends), tuple(short), proven)
