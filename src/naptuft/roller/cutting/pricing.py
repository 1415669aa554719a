"""The most valuable pattern that fits one stock piece: the bounded knapsack behind column generation.

Values and weights are whole numbers, so that the bound drawn from them is exact. The states are kept as
a list of (weight, value) in which every heavier state is worth more; the same list is built by numpy for
a handful of lengths and by numba for many, where compiling pays.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np

MANY_LENGTHS = 36


def best_patterns(
    values: np.ndarray,
    weights: np.ndarray,
    bounds: np.ndarray,
    capacity: int,
    threshold: int,
    most: int = 1,
    *,
    often: bool = False,
) -> list[np.ndarray]:
    """Patterns worth more than `threshold`, the most valuable first; none when no pattern is.

    values     int64, shape (m,), at least 0
    weights    int64, shape (m,), above 0
    bounds     int64, shape (m,), the most pieces of each length in one pattern
    capacity   greatest total weight
    most       how many patterns to return at most
    often      asked so many times that compiling pays for few lengths too

    The first one returned is a maximum; an empty answer proves that no pattern exceeds `threshold`.
    Source: dynamic programming with lists, S. Martello and P. Toth, Knapsack Problems, 1990, section 2.6
    (from memory).

    >>> from numpy import array
    >>> best_patterns(array([6, 5]), array([4, 3]), array([2, 3]), 10, 0)[0].tolist()
    [1, 2]
    """
    usable = np.flatnonzero((values > 0) & (bounds > 0) & (weights <= capacity))
    if not len(usable):
        return []
    order = usable[np.argsort(-(values[usable] / weights[usable]), kind="stable")]
    item, count = _split(order, np.minimum(bounds[order], capacity // weights[order]))
    v, w = values[item] * count, weights[item] * count
    kernel = _compiled() if often or len(values) >= MANY_LENGTHS else _by_numpy
    chosen = kernel(v, w, int(capacity), int(threshold), int(most))
    patterns = []
    for row in chosen:
        pattern = np.zeros(len(values), dtype=np.int64)
        taken = np.asarray(row, dtype=bool)
        np.add.at(pattern, item[taken], count[taken])
        patterns.append(pattern)
    return patterns


def compile_for(lengths: int, *, often: bool = False) -> None:
    """Compile what `lengths` different lengths will need, so that no later search waits for it."""
    one = np.ones(1, dtype=np.int64)
    if often or lengths >= MANY_LENGTHS:
        _compiled()(one, one, 1, 0, 1)
    if lengths >= MANY_LENGTHS:
        _compiled_walk()(one, one, one, 1, 0, 1, True)


def _split(order: np.ndarray, bounds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Bundles of 1, 2, 4, … pieces from which every number up to the bound can be made."""
    places, counts = [], []
    left, bundle = bounds.copy(), 1
    place = np.arange(len(order))
    while len(place):
        take = np.minimum(left[place], bundle)
        places.append(place)
        counts.append(take)
        left[place] -= take
        place = place[left[place] > 0]
        bundle *= 2
    joined = np.concatenate(places)
    ranked = np.argsort(joined, kind="stable")
    return order[joined[ranked]], np.concatenate(counts)[ranked]


def _by_numpy(v: np.ndarray, w: np.ndarray, capacity: int, threshold: int, most: int) -> list[np.ndarray]:
    weight, value = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    parents: list[np.ndarray] = []
    for stage in range(len(v)):
        fits = int(np.searchsorted(weight, capacity - w[stage], side="right"))
        both_w = np.concatenate((weight, weight[:fits] + w[stage]))
        both_v = np.concatenate((value, value[:fits] + v[stage]))
        source = np.concatenate((np.arange(len(weight)), ~np.arange(fits)))
        order = np.lexsort((-both_v, both_w))
        both_w, both_v, source = both_w[order], both_v[order], source[order]
        keep = np.ones(len(both_v), dtype=bool)
        keep[1:] = both_v[1:] > np.maximum.accumulate(both_v)[:-1]
        if stage + 1 < len(v):
            room = capacity - both_w
            keep &= both_v * w[stage + 1] + v[stage + 1] * room > threshold * w[stage + 1]
        weight, value = both_w[keep], both_v[keep]
        parents.append(source[keep])
        if not len(weight):
            return []
    chosen = []
    for state in range(len(value) - 1, max(-1, len(value) - 1 - most), -1):
        if value[state] <= threshold:
            break
        taken = np.zeros(len(v), dtype=bool)
        at = state
        for stage in range(len(v) - 1, -1, -1):
            at = int(parents[stage][at])
            if at < 0:
                taken[stage] = True
                at = ~at
        chosen.append(taken)
    return chosen


@lru_cache(maxsize=1)
def _compiled() -> Callable[..., np.ndarray]:
    from numba import njit

    return njit(cache=True)(_by_merging)


def _by_merging(v, w, capacity, threshold, most):  # pragma: no cover - compiled
    stages = len(v)
    weight = np.zeros(64, dtype=np.int64)
    value = np.zeros(64, dtype=np.int64)
    new_weight = np.zeros(64, dtype=np.int64)
    new_value = np.zeros(64, dtype=np.int64)
    size = 1
    parents = np.zeros(4096, dtype=np.int32)
    starts = np.zeros(stages + 1, dtype=np.int64)
    for stage in range(stages):
        wi, vi = w[stage], v[stage]
        begin = starts[stage]
        if begin + 2 * size > len(parents):
            larger = np.zeros(2 * (begin + 2 * size), dtype=np.int32)
            larger[:begin] = parents[:begin]
            parents = larger
        if 2 * size > len(new_weight):
            new_weight = np.zeros(4 * size, dtype=np.int64)
            new_value = np.zeros(4 * size, dtype=np.int64)
        last = stage + 1 == stages
        wn, vn = (1, 0) if last else (w[stage + 1], v[stage + 1])
        floor_value = threshold if not last else -1
        a = b = made = 0
        best = np.int64(-1)
        while a < size or (b < size and weight[b] + wi <= capacity):
            open_b = b < size and weight[b] + wi <= capacity
            if a < size and (
                not open_b or weight[a] < weight[b] + wi or (weight[a] == weight[b] + wi and value[a] >= value[b] + vi)
            ):
                cw, cv, parent = weight[a], value[a], a
                a += 1
            else:
                cw, cv, parent = weight[b] + wi, value[b] + vi, ~b
                b += 1
            if cv <= best:
                continue
            best = cv
            if last or cv * wn + vn * (capacity - cw) > floor_value * wn:
                new_weight[made] = cw
                new_value[made] = cv
                parents[begin + made] = parent
                made += 1
        weight, new_weight = new_weight, weight
        value, new_value = new_value, value
        size = made
        starts[stage + 1] = begin + made
        if size == 0:
            return np.zeros((0, stages), dtype=np.bool_)
    found = 0
    while found < most and found < size and value[size - 1 - found] > threshold:
        found += 1
    chosen = np.zeros((found, stages), dtype=np.bool_)
    for rank in range(found):
        at = size - 1 - rank
        for stage in range(stages - 1, -1, -1):
            at = parents[starts[stage] + at]
            if at < 0:
                chosen[rank, stage] = True
                at = ~at
    return chosen


def patterns_within(
    values: np.ndarray,
    weights: np.ndarray,
    bounds: np.ndarray,
    capacity: int,
    least: int,
    limit: int,
    only_full: bool = True,
) -> np.ndarray | None:
    """Every pattern of at least one piece worth at least `least`, shape (n, m); None when there are more than `limit`.

    only_full  leave out patterns in which a further piece fits: where surplus pieces are allowed, every
               list of patterns can be made of full ones, so this loses nothing

    >>> from numpy import array
    >>> patterns_within(array([6, 5]), array([4, 3]), array([2, 3]), 10, 15, 100).tolist()
    [[0, 3], [1, 2]]
    """
    usable = np.flatnonzero((bounds > 0) & (weights <= capacity))
    if not len(usable):
        return np.zeros((0, len(values)), dtype=np.int64)
    order = usable[np.argsort(-(values[usable] / weights[usable]), kind="stable")]
    kernel = _compiled_walk() if len(values) >= MANY_LENGTHS else _by_walking
    found = kernel(values[order], weights[order], bounds[order], int(capacity), int(least), int(limit), only_full)
    if len(found) > limit:
        return None
    patterns = np.zeros((len(found), len(values)), dtype=np.int64)
    patterns[:, order] = found
    return patterns[patterns.any(axis=1)]


@lru_cache(maxsize=1)
def _compiled_walk() -> Callable[..., np.ndarray]:
    from numba import njit

    return njit(cache=True)(_by_walking)


def _by_walking(v, w, bound, capacity, least, limit, only_full):
    m = len(v)
    counts = np.zeros(m, dtype=np.int64)
    found = np.zeros((64, m), dtype=np.int64)
    number = 0
    lightest = w.copy()
    for i in range(m - 2, -1, -1):
        lightest[i] = min(lightest[i], lightest[i + 1])
    room, value, i, down, tried = capacity, 0, 0, True, 0
    while True:
        if down:
            tried += 1
            if i == m or room < lightest[i]:
                full = value >= least
                for j in range(m):
                    if not full or not only_full:
                        break
                    full = counts[j] == bound[j] or w[j] > room
                if full:
                    if number == len(found):
                        larger = np.zeros((2 * number, m), dtype=np.int64)
                        larger[:number] = found
                        found = larger
                    found[number] = counts
                    number += 1
                down = False
                i -= 1
            elif value * w[i] + v[i] * room < least * w[i]:
                down = False
                i -= 1
            else:
                take = min(bound[i], room // w[i])
                counts[i] = take
                room -= take * w[i]
                value += take * v[i]
                i += 1
            if number > limit or tried > 200 * limit:
                return np.zeros((limit + 1, m), dtype=np.int64)
        else:
            while i >= 0 and counts[i] == 0:
                i -= 1
            if i < 0:
                return found[:number]
            counts[i] -= 1
            room += w[i]
            value -= v[i]
            i += 1
            down = True
