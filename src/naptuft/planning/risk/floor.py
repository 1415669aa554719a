"""Replays of a plan, some side by side, as machine code. Loaded only when replays are run.

Operations are gone through in the order of the plan's starts, each in all replays that run side by side. Each keeps its place on its machine and among the work
before it, and starts as soon as it can: when what it waits for is over, its machine is free and changed
over, its calendar is open and its racks have room. Whoever starts it knows only the planned minutes, so work
that may not pause starts where those fit, and runs over closing time where it takes longer. Racks and crews go to the work that starts first in the plan, and to other
work where that leaves them their stay; operations together in one machine start together.

Random numbers: the mixer of Steele, Lea and Flood, OOPSLA 2014, over seed, number of the replay and operation, so
that replay 700 is the same wherever it is run, and an operation draws the same wherever a plan puts it. Stops of a
machine: xorshift64*, S. Vigna, ACM Trans. Math. Software 42 (2016) 30, after G. Marsaglia, J. Statistical Software 8
(2003) 14, a generator for each machine and replay.
Inverse normal: P. J. Acklam's rational approximation, relative error below 1.15e-9 (from memory; checked
in the tests against the standard library).
"""

from __future__ import annotations

import math
from typing import Any, TypeAlias

import numpy as np
from numba import njit

Table: TypeAlias = Any  # an array whose entries are taken for plain numbers

# whole numbers of an operation
MACHINE, PAUSES, BEFORE_FROM, BEFORE_TO, GOODS_FROM, GOODS_TO, NEED_FROM, NEED_TO, TIME_SPREAD, YIELD_SPREAD = range(10)
# its calendar, the crews it needs, and the operation it is together with in one machine (-1: none before it)
CALENDAR, CREWS_FROM, CREWS_TO, LEADER = range(10, 14)
# what it draws by
KEY = 14
WIDTH = 16
# figures of an operation; LAST_SHARE: minutes for the last transfer batch it gets (-1: it gets all at once)
MINUTES, CHANGEOVER, NOT_BEFORE, GOOD_SHARE, LONGEST_WAIT, LAST_SHARE = range(6)
FIGURES = 8
# replays side by side
LANES = 8
# holdings of a store before those that are over are let go
MANY_HELD = 16
# cells of a table of a spread, and those at either end where the formula is used instead
CELLS, TAIL = 2048, 4
# a spread: its form, and three figures of it
TRIANGULAR, LOGNORMAL, WEIBULL = range(3)
# what held an operation back, beside the number of an operation (0 and above)
BY_PLAN, BY_GOODS = -1, -2


@njit(cache=True, nogil=True, inline="always")
def _mixed(x: Any) -> Any:
    """A well-mixed word of 64 bits from another."""
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return x ^ (x >> np.uint64(31))


@njit(cache=True, nogil=True, inline="always")
def _started(seed: Any, number: Any) -> Any:
    """The state a generator begins in; never 0."""
    x = _mixed(
        _mixed(np.uint64(seed) + np.uint64(0x9E3779B97F4A7C15)) + np.uint64(number) * np.uint64(0xD1B54A32D192ED03)
    )
    return x if x != np.uint64(0) else np.uint64(0x9E3779B97F4A7C15)


@njit(cache=True, nogil=True, inline="always")
def _stepped(x: Any) -> Any:
    """The state after one draw."""
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    return x


@njit(cache=True, nogil=True, inline="always")
def _uniform(word: Any) -> float:
    """The number above 0 and below 1 of a word."""
    return (np.float64(np.int64(word >> np.uint64(12))) + 0.5) * 2.220446049250313e-16


@njit(cache=True, nogil=True, inline="always")
def _word(state: Any) -> Any:
    """The word of the state of a generator."""
    return state * np.uint64(0x2545F4914F6CDD1D)


@njit(cache=True, nogil=True)
def _normal(u: float) -> float:
    """The standard normal value a share u of all stays below."""
    if u < 0.02425:
        q = math.sqrt(-2.0 * math.log(u))
        return (
            ((((-7.784894002430293e-03 * q - 3.223964580411365e-01) * q - 2.400758277161838) * q - 2.549732539343734) * q
             + 4.374664141464968) * q + 2.938163982698783
        ) / ((((7.784695709041462e-03 * q + 3.224671290700398e-01) * q + 2.445134137142996) * q + 3.754408661907416) * q + 1.0)  # fmt: skip
    if u > 0.97575:
        return -_normal(1.0 - u)
    q = u - 0.5
    r = q * q
    return (
        ((((-3.969683028665376e01 * r + 2.209460984245205e02) * r - 2.759285104469687e02) * r + 1.383577518672690e02) * r
         - 3.066479806614716e01) * r + 2.506628277459239
    ) * q / (
        ((((-5.447609879822406e01 * r + 1.615858368580409e02) * r - 1.556989798598866e02) * r + 6.680131188771972e01) * r
         - 1.328068155288572e01) * r + 1.0
    )  # fmt: skip


@njit(cache=True, nogil=True)
def drawn(spreads: Table, number: Any, u: float) -> float:
    """The value of a spread that a share u of all draws stays below, by its formula."""
    form, a, b, c = spreads[number, 0], spreads[number, 1], spreads[number, 2], spreads[number, 3]
    if form == TRIANGULAR:
        if u * (c - a) < b - a:
            return a + math.sqrt(u * (c - a) * (b - a))
        return c - math.sqrt((1.0 - u) * (c - a) * (c - b))
    if form == LOGNORMAL:
        return math.exp(a + b * _normal(u))
    return a * math.exp(math.log(-math.log(1.0 - u)) / b)


@njit(cache=True, nogil=True)
def tabled(spreads: Table) -> Table:
    """Values of each spread at CELLS + 1 even shares. Shape (spreads, CELLS + 1)."""
    table: Table = np.empty((spreads.shape[0], CELLS + 1), np.float64)
    for number in range(spreads.shape[0]):
        for k in range(CELLS + 1):
            table[number, k] = drawn(spreads, number, min(max(k / CELLS, 1e-12), 1.0 - 1e-12))
    return table


@njit(cache=True, nogil=True, inline="always")
def quick(spreads: Table, table: Table, number: Any, word: Any) -> float:
    """As `drawn`, for the share of a word: read between two values of the table, by formula in its end cells."""
    cell = np.int64(word >> np.uint64(53))
    if cell < TAIL or cell >= CELLS - TAIL:
        return drawn(spreads, number, _uniform(word))
    low = table[number, cell]
    part = np.float64(np.int64((word >> np.uint64(22)) & np.uint64(0x7FFFFFFF))) * 4.656612873077393e-10
    return low + part * (table[number, cell + 1] - low)


@njit(cache=True, nogil=True)
def draw(spreads: Table, table: Table, number: Any, states: Table, key: Any, found: Table) -> None:
    """The `quick` value of a spread for a key, in every lane."""
    ends = False
    for lane in range(LANES):
        word = _mixed(states[lane] + np.uint64(key) * np.uint64(0x9E3779B97F4A7C15))
        cell = np.int64(word >> np.uint64(53))
        low = table[number, cell]
        part = np.float64(np.int64((word >> np.uint64(22)) & np.uint64(0x7FFFFFFF))) * 4.656612873077393e-10
        found[lane] = low + part * (table[number, cell + 1] - low)
        ends |= (cell < TAIL) | (cell >= CELLS - TAIL)
    if ends:
        for lane in range(LANES):
            word = _mixed(states[lane] + np.uint64(key) * np.uint64(0x9E3779B97F4A7C15))
            found[lane] = quick(spreads, table, number, word)


@njit(cache=True, nogil=True, fastmath={"reassoc", "nsz", "nnan"})
def _room(
    holdings: Any,
    row: int,
    count: int,
    capacity: float,
    units: float,
    start: float,
    end: float,
) -> float:
    """`start` where a store has room for so much until `end`; else the first end of a holding to try next."""
    since, until, held, _ = holdings
    overlapping = 0.0
    for k in range(count):
        overlapping += held[row, k] if (since[row, k] < end) & (until[row, k] > start) else 0.0
    if overlapping + units <= capacity:
        return start
    now, ahead = 0.0, 0
    for k in range(count):
        now += held[row, k] if (since[row, k] <= start) & (until[row, k] > start) else 0.0
        ahead += 1 if (since[row, k] > start) & (since[row, k] < end) else 0
    full = now + units > capacity
    if ahead > 0 and not full:
        for k in range(count):
            at = since[row, k]
            if at > start and at < end:
                then = 0.0
                for n in range(count):
                    then += held[row, n] if (since[row, n] <= at) & (until[row, n] > at) else 0.0
                full |= then + units > capacity
    if not full:
        return start
    later = 1e300
    for k in range(count):
        over = (until[row, k] > start) & (since[row, k] < end)
        later = until[row, k] if over and until[row, k] < later else later
    return later


@njit(cache=True, nogil=True, inline="always")
def _start(calendar: Table, stretch: Any, start: float, minutes: float, pauses: int) -> Any:
    """The stretch of a calendar that lets work start that is planned to take so long; the last one never closes."""
    least = 0.0 if pauses else minutes
    for _ in range(2):
        opens = calendar[stretch, 0]
        begin = start if start > opens else opens
        closed = (begin + least > calendar[stretch, 1]) | ((pauses > 0) & (calendar[stretch, 1] <= start))
        stretch += 1 if closed else 0
    while True:
        opens = calendar[stretch, 0]
        begin = start if start > opens else opens
        if begin + least <= calendar[stretch, 1] and (pauses == 0 or calendar[stretch, 1] > start):
            return stretch
        stretch += 1


@njit(cache=True, nogil=True, inline="always")
def _run(
    calendar: Table, stretch: Any, start: float, planned: float, minutes: float, pauses: int, no_sooner: float
) -> tuple[float, float, Any, Any]:
    """Start and end of work that takes so many minutes, planned to take others, and the stretches they lie in."""
    stretch = _start(calendar, stretch, start, planned, pauses)
    opens = calendar[stretch, 0]
    start = start if start > opens else opens
    end = start + minutes
    last = stretch
    while pauses and end > calendar[last, 1]:
        end = calendar[last + 1, 0] + (end - calendar[last, 1])
        last += 1
    return start, end if end > no_sooner else no_sooner, stretch, last


@njit(cache=True, nogil=True, inline="always")
def _within(calendar: Table, stretch: Any, start: float, end: float, is_last: bool) -> tuple[float, float]:
    """The part of a run from start to end that lies in one stretch of its calendar; the last runs on to its end."""
    since = max(start, calendar[stretch, 0])
    return since, end if is_last else min(end, calendar[stretch, 1])


@njit(cache=True, nogil=True, inline="always")
def _holder(holdings: Any, row: int, count: int, moment: float, cause: int) -> Any:
    """The operation whose holding ends at a minute; else the cause known."""
    _, until, _, holder = holdings
    for n in range(count):
        if until[row, n] == moment:
            return np.int64(holder[row, n])
    return cause


@njit(cache=True, nogil=True)
def _forget(
    holdings: Any,
    row: int,
    count: int,
    store: int,
    users: Table,
    user_machines: Table,
    left: Table,
    free: Table,
    lane: int,
) -> int:
    """Let go of holdings that are over before any machine that still needs the store can begin again; how many stay."""
    since, until, held, holder = holdings
    begins = math.inf
    for n in range(users[store, 0], users[store, 1]):
        if left[n] > 0:
            freed = free[user_machines[n, 0], lane]
            begins = freed if freed < begins else begins
    kept = 0
    for n in range(count):
        since[row, kept] = since[row, n]
        until[row, kept] = until[row, n]
        held[row, kept] = held[row, n]
        holder[row, kept] = holder[row, n]
        kept += 1 if until[row, kept] > begins else 0
    return kept


@njit(cache=True, nogil=True, inline="always")
def _hold(holdings: Any, counts: Table, row: int, a: float, b: float, units: float, k: int) -> None:
    """Enter a holding from minute a to minute b."""
    since, until, held, holder = holdings
    count = counts[row]
    if b > a and count < since.shape[1]:
        since[row, count] = a
        until[row, count] = b
        held[row, count] = units
        holder[row, count] = k
        counts[row] = count + 1


@njit(cache=True, nogil=True, error_model="numpy")
def replay(
    whole: Table,
    figures: Table,
    before: Table,
    lags: Table,
    shares: Table,
    goods_of: Table,
    goods: Table,
    needed: Table,
    needed_figures: Table,
    crews: Table,
    crew_figures: Table,
    capacity: Table,
    users: Table,
    user_machines: Table,
    calendar: Table,
    calendars: Table,
    stops: Table,
    spreads: Table,
    table: Table,
    targets: Table,
    target_ends: Table,
    target_lags: Table,
    target_goods: Table,
    order: Table,
    seed: int,
    first: int,
    finish: Table,
    waits_broken: Table,
    starts: Table,
    ends: Table,
    causes: Table,
    planned_starts: Table,
) -> None:
    """Replays `first`, `first + 1`, … : one row of `finish` each. See `model.Model` for the arrays.

    table           values of the spreads, as `tabled` gives them
    order           operations as they are gone through: each behind all it waits for
    waits_broken    for each operation, how often its longest wait was outrun; added to
    starts, ends    each operation of each replay; None where they are not wanted
    causes          as these: what each operation waited for last: an operation, BY_PLAN or BY_GOODS
    planned_starts  where neither None nor empty, each operation waits for its own, and `figures` is told of it
                    where it could have started earlier
    """
    operations = whole.shape[0]
    machines = stops.shape[0]
    stores = capacity.shape[0]
    states: Table = np.empty(LANES, np.uint64)
    found: Table = np.empty(LANES, np.float64)
    minutes: Table = np.empty(LANES, np.float64)
    start: Table = np.empty(LANES, np.float64)
    no_sooner: Table = np.empty(LANES, np.float64)
    cause: Table = np.empty(LANES, np.int64)
    free: Table = np.empty((machines, LANES), np.float64)
    last_on: Table = np.empty(machines, np.int64)
    stretch_of: Table = np.empty((calendars.shape[0], LANES), np.int64)
    until_stop: Table = np.empty((machines, LANES), np.float64)
    state_of: Table = np.empty((machines, LANES), np.uint64)
    start_at: Table = np.empty((operations, LANES), np.float64)
    end_at: Table = np.empty((operations, LANES), np.float64)
    cause_at: Table = np.empty((operations, LANES), np.int64)
    arrived: Table = np.empty((goods.shape[0], LANES), np.float64)
    left: Table = np.empty(user_machines.shape[0], np.int64)
    most = 4 * (needed.shape[0] + crews.shape[0]) + 64
    since: Table = np.empty((stores * LANES, most), np.float64)
    until: Table = np.empty((stores * LANES, most), np.float64)
    held: Table = np.empty((stores * LANES, most), np.float64)
    holder: Table = np.empty((stores * LANES, most), np.int64)
    holdings = since, until, held, holder
    counts: Table = np.empty(stores * LANES, np.int64)
    limits: Table = np.empty(stores * LANES, np.int64)
    for row in range(0, finish.shape[0], LANES):
        lanes = min(LANES, finish.shape[0] - row)
        for lane in range(LANES):
            states[lane] = _started(seed, first + row + lane)
        for machine in range(machines):
            last_on[machine] = BY_PLAN
            for lane in range(LANES):
                free[machine, lane] = 0.0
                if stops[machine, 0] > 0.0:
                    own = states[lane] ^ np.uint64(machine + 1) * np.uint64(0xD1B54A32D192ED03)
                    own = _stepped(_mixed(own) | np.uint64(1))
                    until_stop[machine, lane] = quick(spreads, table, np.int64(stops[machine, 1]), _word(own))
                    state_of[machine, lane] = own
        for number in range(calendars.shape[0]):
            for lane in range(LANES):
                stretch_of[number, lane] = calendars[number, 0]
        for n in range(user_machines.shape[0]):
            left[n] = user_machines[n, 1]
        for n in range(stores * LANES):
            counts[n] = 0
            limits[n] = MANY_HELD
        for k in range(goods.shape[0]):
            if goods[k, 1] >= 0.0:
                draw(spreads, table, np.int64(goods[k, 1]), states, 3 * k + 3, found)
                for lane in range(LANES):
                    arrived[k, lane] = max(0.0, goods[k, 0] + found[lane])
            else:
                for lane in range(LANES):
                    arrived[k, lane] = goods[k, 0]
        for place in range(operations):
            k = order[place]
            leader = whole[k, LEADER]
            if leader >= 0:
                for lane in range(LANES):
                    start_at[k, lane] = start_at[leader, lane]
                    end_at[k, lane] = end_at[leader, lane]
                if causes is not None:
                    for lane in range(LANES):
                        cause_at[k, lane] = cause_at[leader, lane]
            else:
                machine = whole[k, MACHINE]
                planned = figures[k, MINUTES]
                pauses = whole[k, PAUSES]
                changeover = figures[k, CHANGEOVER]
                earliest = figures[k, NOT_BEFORE]
                for lane in range(LANES):
                    minutes[lane] = planned
                    start[lane] = earliest
                    no_sooner[lane] = 0.0
                    cause[lane] = BY_PLAN
                if whole[k, TIME_SPREAD] >= 0:
                    draw(spreads, table, whole[k, TIME_SPREAD], states, 3 * whole[k, KEY] + 1, found)
                    for lane in range(LANES):
                        minutes[lane] *= found[lane]
                if whole[k, YIELD_SPREAD] >= 0:
                    draw(spreads, table, whole[k, YIELD_SPREAD], states, 3 * whole[k, KEY] + 2, found)
                    for lane in range(LANES):
                        minutes[lane] *= max(1.0, figures[k, GOOD_SHARE] / found[lane])
                if stops[machine, 0] > 0.0:
                    stopped = False
                    for lane in range(LANES):
                        until_stop[machine, lane] -= minutes[lane]
                        stopped |= until_stop[machine, lane] < 0.0
                    if stopped:
                        for lane in range(LANES):
                            while until_stop[machine, lane] < 0.0:
                                own = _stepped(state_of[machine, lane])
                                minutes[lane] += quick(spreads, table, np.int64(stops[machine, 2]), _word(own))
                                own = _stepped(own)
                                until_stop[machine, lane] += quick(
                                    spreads, table, np.int64(stops[machine, 1]), _word(own)
                                )
                                state_of[machine, lane] = own
                for n in range(whole[k, BEFORE_FROM], whole[k, BEFORE_TO]):
                    other = before[n]
                    for lane in range(LANES):
                        handed_on = end_at[other, lane]
                        if shares[n] != 1.0:
                            handed_on = start_at[other, lane] + shares[n] * (handed_on - start_at[other, lane])
                        ready = handed_on + lags[n]
                        if causes is not None and ready > start[lane]:
                            cause[lane] = other
                        start[lane] = max(start[lane], ready)
                for n in range(whole[k, GOODS_FROM], whole[k, GOODS_TO]):
                    for lane in range(LANES):
                        ready = arrived[goods_of[n], lane]
                        if causes is not None and ready > start[lane]:
                            cause[lane] = BY_GOODS
                        start[lane] = max(start[lane], ready)
                for lane in range(LANES):
                    ready = free[machine, lane] + changeover
                    if causes is not None and ready > start[lane]:
                        cause[lane] = last_on[machine]
                    start[lane] = max(start[lane], ready)
                if figures[k, LAST_SHARE] >= 0.0:
                    other = before[whole[k, BEFORE_FROM]]
                    for lane in range(LANES):
                        no_sooner[lane] = end_at[other, lane] + lags[whole[k, BEFORE_FROM]] + figures[k, LAST_SHARE]
                own_calendar = whole[k, CALENDAR]
                need_from = whole[k, NEED_FROM]
                need_to = whole[k, NEED_TO]
                crew_from = whole[k, CREWS_FROM]
                crew_to = whole[k, CREWS_TO]
                for h in range(need_from, need_to):
                    left[needed[h, 1]] -= 1
                for h in range(crew_from, crew_to):
                    left[crews[h, 1]] -= 1
                for lane in range(lanes):
                    at, end, stretch, stretch_after = _run(
                        calendar,
                        stretch_of[own_calendar, lane],
                        start[lane],
                        planned,
                        minutes[lane],
                        pauses,
                        no_sooner[lane],
                    )
                    settled = need_to == need_from and crew_to == crew_from
                    while not settled:
                        try_at = at
                        for h in range(need_from, need_to):
                            if try_at == at:
                                store = needed[h, 0]
                                n = store * LANES + lane
                                leaves = end + needed_figures[h, 1]
                                units = needed_figures[h, 0]
                                try_at = _room(holdings, n, counts[n], capacity[store], units, at, leaves)
                                if causes is not None and try_at > at:
                                    cause[lane] = _holder(holdings, n, counts[n], try_at, cause[lane])
                        for h in range(crew_from, crew_to):
                            crew = crews[h, 0]
                            n = crew * LANES + lane
                            people = crew_figures[h]
                            if try_at == at and crews[h, 2] > 0 and changeover > 0.0:
                                a = at - changeover
                                later = _room(holdings, n, counts[n], capacity[crew], people, a, at)
                                try_at = later + changeover if later > a else try_at
                                if causes is not None and later > a:
                                    cause[lane] = _holder(holdings, n, counts[n], later, cause[lane])
                            for part in range(stretch, stretch_after + 1):
                                if try_at == at:
                                    a, b = _within(calendar, part, at, end, part == stretch_after)
                                    later = _room(holdings, n, counts[n], capacity[crew], people, a, b)
                                    try_at = later if later > a else try_at
                                    if causes is not None and later > a:
                                        cause[lane] = _holder(holdings, n, counts[n], later, cause[lane])
                        settled = try_at == at
                        if not settled:
                            at, end, stretch, stretch_after = _run(
                                calendar, stretch, try_at, planned, minutes[lane], pauses, no_sooner[lane]
                            )
                    if planned_starts is not None and planned_starts.shape[0] > 0 and at < planned_starts[k] - 1e-6:
                        figures[k, NOT_BEFORE] = planned_starts[k]
                        at, end, stretch, stretch_after = _run(
                            calendar, stretch, planned_starts[k], planned, minutes[lane], pauses, no_sooner[lane]
                        )
                    free[machine, lane] = end
                    stretch_of[own_calendar, lane] = stretch_after
                    start_at[k, lane] = at
                    end_at[k, lane] = end
                    for h in range(need_from, need_to):
                        store = needed[h, 0]
                        n = store * LANES + lane
                        if counts[n] >= limits[n]:
                            counts[n] = _forget(holdings, n, counts[n], store, users, user_machines, left, free, lane)
                            limits[n] = max(MANY_HELD, 2 * counts[n])
                        leaves = end + needed_figures[h, 1]
                        _hold(holdings, counts, n, at, leaves, needed_figures[h, 0], k)
                    for h in range(crew_from, crew_to):
                        crew = crews[h, 0]
                        n = crew * LANES + lane
                        if counts[n] >= limits[n]:
                            counts[n] = _forget(holdings, n, counts[n], crew, users, user_machines, left, free, lane)
                            limits[n] = max(MANY_HELD, 2 * counts[n])
                        if crews[h, 2] > 0 and changeover > 0.0:
                            _hold(holdings, counts, n, at - changeover, at, crew_figures[h], k)
                        for part in range(stretch, stretch_after + 1):
                            a, b = _within(calendar, part, at, end, part == stretch_after)
                            _hold(holdings, counts, n, a, b, crew_figures[h], k)
                last_on[machine] = k
                if causes is not None:
                    for lane in range(LANES):
                        cause_at[k, lane] = cause[lane]
            # the longest wait stands with the operation that follows it
            longest = figures[k, LONGEST_WAIT]
            if longest >= 0.0:
                other = before[whole[k, BEFORE_FROM]]
                for lane in range(lanes):
                    waits_broken[k] += 1 if start_at[k, lane] > end_at[other, lane] + longest + 1e-6 else 0
            if causes is not None:
                for lane in range(lanes):
                    causes[row + lane, k] = cause_at[k, lane]
                    starts[row + lane, k] = start_at[k, lane]
                    ends[row + lane, k] = end_at[k, lane]
        for target in range(targets.shape[0]):
            for lane in range(lanes):
                latest = 0.0
                for n in range(targets[target, 0], targets[target, 1]):
                    latest = max(latest, end_at[target_ends[n], lane] + target_lags[n])
                for n in range(targets[target, 2], targets[target, 3]):
                    latest = max(latest, arrived[target_goods[n], lane])
                finish[row + lane, target] = latest
