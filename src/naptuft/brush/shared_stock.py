"""Many blends from one stock, as one mixed-integer programme solved twice: least short, then least cost."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from naptuft.brush.blend import Blend, BlendLot, BlendOrder, WeekOfBlends
from naptuft.brush.least_cost import Mixture, mixture, weighed
from naptuft.errors import DesignError, Fault
from naptuft.programme import UNBOUNDED, Answer, Programme

_LEAST_MADE, _WEIGHING, _LEAST_SHORT = 0.001, 0.002, 0.005
_NODES = 5_000


def _programme(
    mixes: Sequence[Mixture],
    counts: Sequence[float],
    lots: Sequence[BlendLot],
    most_short: float,
    *,
    least_short: bool,
) -> Programme:
    """For each order its lots' shares, then used or not, then its share made; lots limited over all orders.

    counts      what each order counts when it is left out: its mass times its urgency
    most_short  how much of that may be left out in all
    """
    sizes = [len(mix.lots) for mix in mixes]
    starts = np.concatenate([[0], np.cumsum([2 * size + 1 for size in sizes])])
    cost, high, whole = (np.zeros(starts[-1]) for _ in range(3))
    for mix, count, size, start in zip(mixes, counts, sizes, starts, strict=False):
        cost[start : start + size] = 0.0 if least_short else mix.cost
        high[start : start + size] = mix.most
        high[start + size : start + 2 * size + 1] = 1.0
        whole[start + size : start + 2 * size] = 1.0
        cost[start + 2 * size] = -count if least_short else 0.0
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
            held = _WEIGHING * len(columns) if lot.available > 1 else 0.0
            made.row(columns, kilograms, 0.0, lot.available - held)
    made_columns = [int(start) + 2 * size for start, size in zip(starts, sizes, strict=False)]
    made.row(made_columns, counts, sum(counts) - most_short, UNBOUNDED)
    return made


def share_stock(
    orders: Sequence[BlendOrder], lots: Sequence[BlendLot], seconds: float, within: float = 1e-6
) -> WeekOfBlends:
    """See `naptuft.brush.blend.blend_week`.

    within  of what is proven possible, as a share: near enough for the mass met and for the cost
    """
    mixes = [
        mixture(
            order.target,
            [lot for lot in lots if order.may_use is None or lot.code in order.may_use],
            order.mass,
        )
        for order in orders
    ]
    counts = [order.mass * order.urgency for order in orders]
    answer = _programme(mixes, counts, lots, 0.0, least_short=False).solve(seconds / 2, _NODES, within)
    if answer.values is not None:
        return _read_week(orders, mixes, answer, answer.status == "optimal")
    everything = sum(counts)
    shortest = _programme(mixes, counts, lots, everything, least_short=True).solve(seconds / 4, _NODES, within)
    if shortest.values is None:
        raise DesignError(Fault("seconds", seconds, "time enough to share the stock", "allow more seconds"))
    short = max(0.0, everything + shortest.objective)
    answer = _programme(mixes, counts, lots, short + 1e-7 * everything, least_short=False).solve(
        seconds / 4, _NODES, within
    )
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
        missing = order.mass * (1 - part)
        if part * order.mass < _LEAST_MADE:
            short.append((order.name, order.mass))
            continue
        made = order.mass * part if missing >= _LEAST_SHORT else order.mass
        smaller = mixture(order.target, mix.lots, made)
        blends.append((order.name, weighed(smaller, shares / part, 0.0, False)))
        if missing >= _LEAST_SHORT:
            short.append((order.name, round(missing, 3)))
    return WeekOfBlends(tuple(blends), tuple(short), proven)
