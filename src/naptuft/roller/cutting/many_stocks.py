"""The cheapest stock pieces of several kinds for a demand given in whole steps of a grid.

A kind of stock piece gives one or more usable stretches: one where it is sound, more where spoiled spans part it.
Stretches of equal length form a class; pieces are cut from stretches, stretches come with stock pieces, and the
stock on hand may run out. Relaxation by column generation, one bounded knapsack a class of stretch; then whole
numbers over every pattern that a better answer could use.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, gcd
from time import monotonic

import numpy as np

from naptuft.roller.cutting.linear import add_columns, add_rows, quiet_solver
from naptuft.roller.cutting.pricing import best_patterns, patterns_within
from naptuft.roller.cutting.search import Effort

MOST_SCALE = 10**9
MANY_PRICES = 100
MOST_PRODUCT = 4 * 10**18
MOST_PATTERNS = 12_000
MOST_TIDIED = 2_000
ROUND_OFF = 100
PRICINGS = 3


def many_prices(lengths: int, classes: int) -> bool:
    """True when so many lengths are priced for so many classes of stretch that compiling pays.

    >>> many_prices(5, 8), many_prices(20, 8)
    (False, True)
    """
    return lengths * classes >= MANY_PRICES


@dataclass(frozen=True)
class GridStock:
    """A kind of stock piece, in grid steps.

    stretches  room of each usable stretch: its length and one saw cut, which the last piece does not need
    available  how many there are; None: as many as wanted
    cost       whole number, at least 0
    """

    stretches: tuple[int, ...]
    available: int | None
    cost: int


@dataclass(frozen=True)
class StockAnswer:
    """Stock pieces and how each is cut.

    used        (kind, pattern of each stretch in its order), one entry a stock piece
    cost        of all of them; bound proven least cost
    candidates  (room of a stretch, pattern): every pattern an answer of this cost could use; None: too many to list
    """

    used: tuple[tuple[int, tuple[tuple[int, ...], ...]], ...]
    cost: int
    bound: int
    candidates: tuple[tuple[int, tuple[int, ...]], ...] | None = None


@dataclass(frozen=True)
class Bound:
    """A proven bound with the prices that prove it, all in whole numbers of 1/scale of a unit of cost.

    value   what every answer costs at least; prices worth of each length, shape (m,)
    rooms   worth of a stretch of each class: no pattern in it is worth more, shape (classes,)
    """

    value: int
    scale: int
    prices: np.ndarray
    rooms: tuple[int, ...]

    @property
    def cost(self) -> int:
        """The least whole cost this proves."""
        return -(-self.value // self.scale)


class StockMaster:
    """Patterns found so far over classes of stretch, and the linear programme over them and the stock."""

    def __init__(self, weights: np.ndarray, demand: np.ndarray, kinds: Sequence[GridStock]):
        self.weights, self.demand, self.kinds = weights, demand, tuple(kinds)
        least = int(weights.min())
        self.rooms = sorted({room for kind in kinds for room in kind.stretches if room >= least}, reverse=True)
        self.gives = np.array(
            [[sum(room == each for room in kind.stretches) for each in self.rooms] for kind in kinds], dtype=np.int64
        ).reshape(len(kinds), len(self.rooms))
        self.most = np.array(
            [int(demand.sum()) if kind.available is None else kind.available for kind in kinds], dtype=np.int64
        )
        self.often = many_prices(len(weights), len(self.rooms))
        self.columns: list[tuple[int, np.ndarray]] = []
        self.left = demand.copy()
        self._known: set[tuple[int, bytes]] = set()
        lengths, kind_count, classes = len(weights), len(kinds), len(self.rooms)
        self._model = quiet_solver(presolve="off", solver="simplex")
        add_rows(self._model, np.append(demand.astype(float), np.zeros(classes)), np.full(lengths + classes, np.inf))
        stock = np.hstack((np.zeros((kind_count, lengths)), self.gives))
        add_columns(self._model, stock, np.zeros(kind_count), self.most.astype(float))
        short = np.hstack((np.eye(lengths), np.zeros((lengths, classes))))
        add_columns(self._model, short, np.ones(lengths), np.full(lengths, np.inf))
        for place, room in enumerate(self.rooms):
            self.add(place, np.diag(np.minimum(demand, room // weights)))

    def add(self, place: int, patterns: Sequence[np.ndarray] | np.ndarray) -> int:
        """Add patterns of a class of stretch that are not yet known; returns how many were new."""
        new = []
        for pattern in patterns:
            key = (place, np.ascontiguousarray(pattern).tobytes())
            if key not in self._known and pattern.any():
                self._known.add(key)
                new.append(np.array(pattern, dtype=np.int64))
        if new:
            used = np.zeros((len(new), len(self.rooms)), dtype=np.int64)
            used[:, place] = -1
            top = np.where((np.array(new) <= self.left).all(axis=1), np.inf, 0.0)
            add_columns(self._model, np.hstack((np.array(new), used)), np.zeros(len(new)), top)
            self.columns += [(place, pattern) for pattern in new]
        return len(new)

    def price_stock(self, costs: np.ndarray, short_cost: float) -> None:
        """Set what stock costs, and a missing piece; a missing piece without cost is not allowed at all."""
        kinds, lengths = len(self.kinds), len(self.weights)
        every = np.arange(kinds + lengths, dtype=np.int32)
        self._model.changeColsCost(len(every), every, np.append(costs.astype(float), np.full(lengths, short_cost)))
        self._model.changeColsBounds(
            lengths, every[kinds:], np.zeros(lengths), np.full(lengths, np.inf if short_cost else 0.0)
        )

    def ask(self, left: np.ndarray, taken: np.ndarray) -> None:
        """Ask only for what is left, so many stretches of each class being taken; patterns that hold more are shut."""
        self.left = left
        for row, number in enumerate([*left.tolist(), *taken.tolist()]):
            self._model.changeRowBounds(row, float(number), np.inf)
        start, count = len(self.kinds) + len(self.weights), len(self.columns)
        top = np.array([np.inf if (pattern <= left).all() else 0.0 for _, pattern in self.columns])
        every = np.arange(start, start + count, dtype=np.int32)
        self._model.changeColsBounds(count, every, np.zeros(count), top)

    def solve(self) -> bool:
        """Solve over the patterns known; False when what is asked cannot be had from them."""
        import highspy

        self._model.run()
        return self._model.getModelStatus() == highspy.HighsModelStatus.kOptimal

    def price_once(self, costs: np.ndarray, most: int) -> tuple[Bound, int]:
        """Price patterns for what is left, once: the bound these prices prove, and how many patterns are new."""
        lengths = len(self.weights)
        duals = np.maximum(np.array(self._model.getSolution().row_dual), 0.0)
        widest = max(self.rooms, default=1) + 1
        fullest = float((duals[:lengths] / self.weights).max()) * widest
        dearest = max(fullest, float(duals[lengths:].max(initial=0.0)), float(costs.max(initial=1)), 1.0)
        fine = MOST_PRODUCT / widest / dearest
        scale = max(1, min(MOST_SCALE, int(fine)))
        duals *= min(1.0, fine)
        prices = np.floor(duals[:lengths] * scale).astype(np.int64)
        rooms, new = [], 0
        for place, room in enumerate(self.rooms):
            threshold = ceil(duals[lengths + place] * scale) + ROUND_OFF
            found = best_patterns(prices, self.weights, self.left, room, threshold, most, often=self.often)
            rooms.append(int(found[0] @ prices) if found else threshold)
            new += self.add(place, found)
        return self.bound(costs, prices, tuple(rooms), scale), new

    def relax(self, costs: np.ndarray, enough: float, deadline: float) -> Bound:
        """Solve the relaxation, pricing new patterns in; the best bound proven, and what proves it.

        enough    stop as soon as the bound is at least this
        deadline  reading of the steady clock at which to stop with the bound found so far
        """
        best: Bound | None = None
        while True:
            self._model.run()
            bound, new = self.price_once(costs, 3)
            if best is None or bound.value * best.scale > best.value * bound.scale:
                best = bound
            if not new or best.cost >= enough or monotonic() > deadline:
                return best

    def bound(self, costs: np.ndarray, prices: np.ndarray, rooms: tuple[int, ...], scale: int) -> Bound:
        """What every answer costs at least, by whole-number prices of the lengths (Lagrange)."""
        value = sum(int(price) * int(wanted) for price, wanted in zip(prices, self.demand, strict=True))
        for gives, cost, most in zip(self.gives.tolist(), costs.tolist(), self.most.tolist(), strict=True):
            gain = cost * scale - sum(number * room for number, room in zip(gives, rooms, strict=True))
            value += min(0, gain) * most
        return Bound(value, scale, prices, rooms)

    def usage(self) -> tuple[np.ndarray, np.ndarray]:
        """Relaxed use of stock by kind, and of each pattern."""
        values = np.array(self._model.getSolution().col_value)
        start = len(self.kinds)
        return values[:start], values[start + len(self.weights) :]

    def whole(
        self,
        columns: list[tuple[int, np.ndarray]],
        costs: np.ndarray,
        at_most: int | None,
        nodes: int,
        seconds: float,
        target: int | None = None,
    ) -> tuple[tuple[np.ndarray, list[tuple[int, np.ndarray, int]]] | None, bool]:
        """Whole stock pieces and patterns out of `columns` that hold the demand, by branch and cut.

        at_most  cost not to be passed; target: cost at which to stop looking

        Returns stock pieces by kind with (class, pattern, times), or None; and whether it is settled: nothing
        cheaper can be made of these columns.
        """
        import highspy

        if seconds <= 0:
            return None, False
        lengths, classes = len(self.weights), len(self.rooms)
        options: dict[str, float] = {} if target is None else {"objective_target": target + 0.5}
        model = quiet_solver(mip_max_nodes=nodes, time_limit=seconds, mip_rel_gap=0.0, mip_abs_gap=0.5, **options)
        top = np.inf if at_most is None else float(at_most)
        add_rows(
            model,
            np.concatenate((self.demand, np.zeros(classes), [-np.inf])),
            np.append(np.full(lengths + classes, np.inf), top),
        )
        stock = np.hstack((np.zeros((len(self.kinds), lengths)), self.gives, costs.reshape(-1, 1)))
        add_columns(model, stock, costs.astype(float), self.most.astype(float), whole=True)
        block = np.zeros((len(columns), lengths + classes + 1))
        for row, (place, pattern) in enumerate(columns):
            block[row, :lengths] = pattern
            block[row, lengths + place] = -1
        each = block[:, :lengths]
        times = np.where(each > 0, np.ceil(self.demand / np.maximum(each, 1)), 0).max(axis=1)
        add_columns(model, block, np.zeros(len(columns)), times, whole=True)
        model.run()
        status, kinds = model.getModelStatus(), highspy.HighsModelStatus
        if model.getInfo().primal_solution_status != 2:
            return None, status == kinds.kInfeasible
        values = np.rint(np.array(model.getSolution().col_value)).astype(np.int64)
        used, uses = values[: len(self.kinds)], values[len(self.kinds) :]
        chosen = [(*columns[row], int(uses[row])) for row in np.flatnonzero(uses)]
        held = np.sum([pattern * times for _, pattern, times in chosen], axis=0) if chosen else 0 * self.demand
        taken = np.zeros(classes, dtype=np.int64)
        for place, _, number in chosen:
            taken[place] += number
        if (held < self.demand).any() or (taken > used @ self.gives).any() or (used > self.most).any():
            return None, False
        return (used, chosen), status == kinds.kOptimal

    def every_pattern(
        self, bound: Bound, at_most: int, limit: int = MOST_PATTERNS, *, only_full: bool = True
    ) -> list[tuple[int, np.ndarray]] | None:
        """Every pattern that an answer of at most this cost could use; None when there are more than `limit`.

        only_full  leave out patterns in which a further piece fits
        """
        slack = at_most * bound.scale - bound.value
        columns: list[tuple[int, np.ndarray]] = []
        for place, room in enumerate(self.rooms):
            least = bound.rooms[place] - slack
            left = limit - len(columns)
            found = patterns_within(bound.prices, self.weights, self.demand, room, least, left, only_full)
            if found is None:
                return None
            columns += [(place, pattern) for pattern in found]
        return columns


def cheapest_stock(
    weights: np.ndarray, demand: np.ndarray, kinds: Sequence[GridStock], effort: Effort
) -> StockAnswer | int | None:
    """Stock pieces of least cost for the whole demand, with the cost proven to be needed.

    weights  int64, shape (m,): piece and saw cut; demand int64, shape (m,)

    Returns an int where it is proven that the stock cannot hold the demand: pieces it must leave uncut at least
    (0 where only whole numbers forbid it). None where no answer was found, nor proven not to exist.

    >>> from numpy import array
    >>> kinds = [GridStock((5,), None, 6), GridStock((6,), None, 7), GridStock((9,), None, 10)]
    >>> answer = cheapest_stock(array([4, 3, 2]), array([20, 10, 20]), kinds, Effort(500, monotonic() + 10))
    >>> answer.cost, answer.bound
    (170, 170)
    """
    costs = np.array([kind.cost for kind in kinds], dtype=np.int64)
    step = gcd(*costs.tolist()) or 1
    costs //= step
    master = StockMaster(weights, demand, kinds)
    if not _plenty(master):
        master.price_stock(0 * costs, 1.0)
        missing = master.relax(0 * costs, 1, effort.deadline)
        if missing.cost > 0:
            return missing.cost
    master.price_stock(costs, 0.0)
    bound = master.relax(costs, np.inf, effort.deadline)
    found = _dive(master, costs, effort)
    best = _least(found, costs)
    if found is None or best > bound.cost:
        top = None if found is None else best - 1
        seconds = effort.deadline - monotonic()
        better, _ = master.whole(master.columns, costs, top, effort.nodes // 4, seconds, bound.cost)
        if better is not None:
            found, best = better, _least(better, costs)
    least = bound.cost
    while found is None or best > least:
        top = best - 1 if found is not None else int(costs @ master.most)
        columns = master.every_pattern(bound, top)
        if columns is None or effort.spent():
            break
        better, settled = master.whole(columns, costs, top, 50 * effort.nodes, effort.deadline - monotonic(), least)
        if better is not None:
            found, best = better, _least(better, costs)
            if settled:
                least = best
        elif settled:
            if found is None:
                return 0
            least = best
        else:
            break
    if found is None:
        return None
    tight = master.every_pattern(bound, best, MOST_TIDIED, only_full=False)
    candidates = None
    if tight is not None:
        candidates = tuple((master.rooms[place], tuple(pattern.tolist())) for place, pattern in tight)
    return StockAnswer(_assembled(master, *found), best * step, least * step, candidates)


def _plenty(master: StockMaster) -> bool:
    """True when stock without limit holds every length."""
    open_rooms = [max(kind.stretches, default=0) for kind in master.kinds if kind.available is None]
    return bool(open_rooms) and max(open_rooms) >= int(master.weights.max())


def _least(found: tuple[np.ndarray, list] | None, costs: np.ndarray) -> int:
    return int(found[0] @ costs) if found is not None else 0


def _dive(
    master: StockMaster, costs: np.ndarray, effort: Effort
) -> tuple[np.ndarray, list[tuple[int, np.ndarray, int]]] | None:
    """Whole patterns by fixing what the relaxation favours and asking it again for the rest; None when it gets stuck."""
    left, taken = master.demand.copy(), np.zeros(len(master.rooms), dtype=np.int64)
    fixed: dict[tuple[int, bytes], tuple[int, np.ndarray, int]] = {}
    unit = np.eye(len(master.weights), dtype=np.int64)
    for place, room in enumerate(master.rooms):
        master.add(place, unit[master.weights <= room])
    stuck = False
    while left.any() and not stuck and not effort.spent():
        master.ask(left, taken)
        stuck = not master.solve()
        for _ in range(PRICINGS):
            if stuck or not master.price_once(costs, 2)[1]:
                break
            stuck = not master.solve()
        if stuck:
            break
        _, usage = master.usage()
        whole = np.floor(usage + 1e-6).astype(np.int64)
        if not whole.any():
            whole[int(np.argmax(usage))] = 1
        for index in np.flatnonzero(whole).tolist():
            place, pattern = master.columns[index]
            times = min(int(whole[index]), int((left[pattern > 0] // pattern[pattern > 0]).min()))
            if times:
                key = (place, pattern.tobytes())
                fixed[key] = (place, pattern, times + (fixed[key][2] if key in fixed else 0))
                left, taken[place] = left - times * pattern, taken[place] + times
    master.ask(master.demand, 0 * taken)
    master.solve()
    if left.any():
        return None
    made = [(place, pattern) for place, pattern, _ in fixed.values()]
    return master.whole(made, costs, None, effort.nodes, effort.deadline - monotonic())[0]


def _assembled(
    master: StockMaster, used: np.ndarray, chosen: list[tuple[int, np.ndarray, int]]
) -> tuple[tuple[int, tuple[tuple[int, ...], ...]], ...]:
    """Patterns laid into the stretches of the stock pieces used; surplus pieces and unused stock left out."""
    surplus = np.sum([pattern * times for _, pattern, times in chosen], axis=0) - master.demand
    waiting: dict[int, list[np.ndarray]] = {place: [] for place in range(len(master.rooms))}
    for place, pattern, times in sorted(chosen, key=lambda item: (-item[2], [-n for n in item[1]])):
        for _ in range(times):
            drop = np.minimum(pattern, surplus)
            surplus = surplus - drop
            waiting[place].append(pattern - drop)
    for patterns in waiting.values():
        patterns.sort(key=lambda pattern: (-int(pattern.any()), [-n for n in pattern]))
    classes = {room: place for place, room in enumerate(master.rooms)}
    none = (0,) * len(master.weights)
    made = []
    for index in np.argsort([kind.cost for kind in master.kinds], kind="stable").tolist():
        for _ in range(int(used[index])):
            cut = []
            for room in master.kinds[index].stretches:
                ready = waiting.get(classes.get(room, -1), [])
                cut.append(tuple(int(n) for n in ready.pop(0)) if ready else none)
            if any(any(pattern) for pattern in cut):
                made.append((index, tuple(cut)))
    return tuple(made)
