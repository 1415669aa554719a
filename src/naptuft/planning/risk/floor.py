"""One replay of a plan after another, as machine code. Loaded only when replays are run.

Operations stand in the order of the plan's starts. Each keeps its place on its machine and among the work
before it, and starts as soon as it can: when what it waits for is over, its machine is free and changed
over, its calendar is open and its racks have room. Whoever starts it knows only the planned minutes, so work
that may not pause starts where those fit, and runs over closing time where it takes longer. Racks and crews go to the work that starts first in the plan, and to other
work where that leaves them their stay; operations together in one machine start together.

Random numbers: xorshift64*, S. Vigna, ACM Trans. Math. Software 42 (2016) 30, after G. Marsaglia, J. Statistical
Software 8 (2003) 14. Each replay has a generator of its own, started from seed and number of the replay by
the mixer of Steele, Lea and Flood, OOPSLA 2014, so that replay 700 is the same wherever it is run.
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
MACHINE, PAUSES, BEFORE_FROM, BEFORE_TO, GOODS_FROM, GOODS_TO, HELD_FROM, HELD_TO, TIME_SPREAD, YIELD_SPREAD = range(10)
# its calendar, the crews it needs, and the operation it is together with in one machine (-1: none before it)
CALENDAR, CREWS_FROM, CREWS_TO, LEADER = range(10, 14)
WIDTH = 16
# figures of an operation; LAST_SHARE: minutes for the last transfer batch it gets (-1: it gets all at once)
MINUTES, CHANGEOVER, NOT_BEFORE, GOOD_SHARE, LONGEST_WAIT, LAST_SHARE = range(6)
FIGURES = 8
# holdings of a store before those that are over are let go
MANY_HELD = 12
# cells of a table of a spread, and those at either end where the formula is used instead
CELLS, TAIL = 512, 8
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
def _uniform(x: Any) -> float:
    """The number above 0 and below 1 of a state."""
    whole = (x * np.uint64(0x2545F4914F6CDD1D)) >> np.uint64(12)
    return (np.float64(np.int64(whole)) + 0.5) * 2.220446049250313e-16


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
def quick(spreads: Table, table: Table, number: Any, state: Any) -> float:
    """As `drawn`, for the share of a state: read from the table between its middle shares, by formula in the tails."""
    word = state * np.uint64(0x2545F4914F6CDD1D)
    cell = np.int64(word >> np.uint64(55))
    if cell < TAIL or cell >= CELLS - TAIL:
        return drawn(spreads, number, _uniform(state))
    low = table[number, cell]
    part = np.float64(np.int64((word >> np.uint64(3)) & np.uint64(0xFFFFFFFFFFFFF))) * 2.220446049250313e-16
    return low + part * (table[number, cell + 1] - low)


@njit(cache=True, nogil=True)
def _room(holdings: Table, store: int, count: int, capacity: float, units: float, start: float, end: float) -> float:
    """`start` where a store has room for so much until `end`; else the first end of a holding to try next."""
    overlapping = 0.0
    for k in range(count):
        over = (holdings[store, k, 0] < end) & (holdings[store, k, 1] > start)
        overlapping += holdings[store, k, 2] if over else 0.0
    if overlapping + units <= capacity:
        return start
    full = False
    for k in range(-1, count):
        at = start if k < 0 else holdings[store, k, 0]
        if at < start or at >= end:
            continue
        held = 0.0
        for n in range(count):
            if holdings[store, n, 0] <= at < holdings[store, n, 1]:
                held += holdings[store, n, 2]
        if held + units > capacity:
            full = True
            break
    if not full:
        return start
    later = math.inf
    for k in range(count):
        if holdings[store, k, 1] > start and holdings[store, k, 0] < end:
            later = min(later, holdings[store, k, 1])
    return later


@njit(cache=True, nogil=True)
def _start(calendar: Table, stretch: int, last: int, start: float, minutes: float, pauses: int) -> tuple[float, int]:
    """When a calendar lets work start that is planned to take so long, and the stretch it starts in."""
    if pauses:
        while stretch < last and calendar[stretch, 1] <= start:
            stretch += 1
    else:
        while stretch < last:
            opens = calendar[stretch, 0]
            begin = start if start > opens else opens
            if begin + minutes <= calendar[stretch, 1]:
                return begin, stretch
            stretch += 1
    if stretch < last:
        opens = calendar[stretch, 0]
        start = start if start > opens else opens
    return start, stretch


@njit(cache=True, nogil=True)
def _end(calendar: Table, stretch: int, last: int, start: float, minutes: float, pauses: int) -> tuple[float, int]:
    """When work ends that starts in a stretch; beyond the last stretch it goes on without closing."""
    end = start + minutes
    if pauses and stretch < last:
        while stretch + 1 < last and end > calendar[stretch, 1]:
            end = calendar[stretch + 1, 0] + (end - calendar[stretch, 1])
            stretch += 1
    return end, stretch


@njit(cache=True, nogil=True, inline="always")
def _within(calendar: Table, stretch: int, last: int, start: float, end: float, is_last: bool) -> tuple[float, float]:
    """The part of a run from start to end that lies in one stretch of its calendar; the last runs on to its end."""
    if stretch >= last:
        return start, end
    since = max(start, calendar[stretch, 0])
    return since, end if is_last else min(end, calendar[stretch, 1])


@njit(cache=True, nogil=True, inline="always")
def _holder(holdings: Table, store: int, count: int, until: float, cause: int) -> Any:
    """The operation whose holding ends at a minute; else the cause known."""
    for n in range(count):
        if holdings[store, n, 1] == until:
            return np.int64(holdings[store, n, 3])
    return cause


@njit(cache=True, nogil=True)
def _forget(
    holdings: Table, count: int, store: int, users: Table, user_machines: Table, left: Table, free: Table
) -> int:
    """Let go of holdings that are over before any machine that still needs the store can begin again; how many stay."""
    since = math.inf
    for n in range(users[store, 0], users[store, 1]):
        if left[n] > 0:
            freed = free[user_machines[n, 0]]
            since = freed if freed < since else since
    kept = 0
    for n in range(count):
        for m in range(4):
            holdings[store, kept, m] = holdings[store, n, m]
        kept += 1 if holdings[store, kept, 1] > since else 0
    return kept


@njit(cache=True, nogil=True, inline="always")
def _hold(holdings: Table, counts: Table, store: int, since: float, until: float, units: float, operation: int) -> None:
    """Enter a holding."""
    count = counts[store]
    if until > since and count < holdings.shape[1]:
        holdings[store, count, 0] = since
        holdings[store, count, 1] = until
        holdings[store, count, 2] = units
        holdings[store, count, 3] = operation
        counts[store] = count + 1


@njit(cache=True, nogil=True)
def replay(
    whole: Table,
    figures: Table,
    before: Table,
    lags: Table,
    shares: Table,
    goods_of: Table,
    goods: Table,
    held: Table,
    held_figures: Table,
    crews: Table,
    crew_figures: Table,
    capacity: Table,
    users: Table,
    user_machines: Table,
    calendar: Table,
    calendars: Table,
    stops: Table,
    spreads: Table,
    targets: Table,
    target_ends: Table,
    target_lags: Table,
    target_goods: Table,
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

    waits_broken    for each operation, how often its longest wait was outrun; added to
    starts, ends    each operation of each replay; no rows where they are not wanted
    causes          as these: what each operation waited for last: an operation, BY_PLAN or BY_GOODS
    planned_starts  where not empty, each operation waits for its own, and `figures` is told of it where it could
                    have started earlier
    """
    operations = whole.shape[0]
    machines = stops.shape[0]
    stores = capacity.shape[0]
    free: Table = np.empty(machines, np.float64)
    last_on: Table = np.empty(machines, np.int64)
    stretch_of: Table = np.empty(calendars.shape[0], np.int64)
    until_stop: Table = np.empty(machines, np.float64)
    state_of: Table = np.empty(machines, np.uint64)
    start_at: Table = np.empty(operations, np.float64)
    end_at: Table = np.empty(operations, np.float64)
    arrived: Table = np.empty(goods.shape[0], np.float64)
    cause_at: Table = np.empty(operations, np.int64)
    left: Table = np.empty(user_machines.shape[0], np.int64)
    holdings: Table = np.empty((stores, 4 * (held.shape[0] + crews.shape[0]) + 64, 4), np.float64)
    counts: Table = np.empty(stores, np.int64)
    table: Table = tabled(spreads)
    for row in range(finish.shape[0]):
        state = _started(seed, first + row)
        for machine in range(machines):
            free[machine] = 0.0
            last_on[machine] = BY_PLAN
            if stops[machine, 0] > 0.0:
                own = _stepped(_mixed(state + np.uint64(machine + 1) * np.uint64(0x9E3779B97F4A7C15)) | np.uint64(1))
                until_stop[machine] = quick(spreads, table, np.int64(stops[machine, 1]), own)
                state_of[machine] = own
        for number in range(calendars.shape[0]):
            stretch_of[number] = calendars[number, 0]
        for n in range(user_machines.shape[0]):
            left[n] = user_machines[n, 1]
        for store in range(stores):
            counts[store] = 0
        for k in range(goods.shape[0]):
            arrived[k] = goods[k, 0]
            if goods[k, 1] >= 0.0:
                state = _stepped(state)
                arrived[k] = max(0.0, arrived[k] + quick(spreads, table, np.int64(goods[k, 1]), state))
        for k in range(operations):
            leader = whole[k, LEADER]
            if leader >= 0:
                start_at[k] = start_at[leader]
                end_at[k] = end_at[leader]
                cause_at[k] = cause_at[leader]
            else:
                machine = whole[k, MACHINE]
                planned = figures[k, MINUTES]
                pauses = whole[k, PAUSES]
                minutes = planned
                if whole[k, TIME_SPREAD] >= 0:
                    state = _stepped(state)
                    minutes *= quick(spreads, table, whole[k, TIME_SPREAD], state)
                if whole[k, YIELD_SPREAD] >= 0:
                    state = _stepped(state)
                    minutes *= max(1.0, figures[k, GOOD_SHARE] / quick(spreads, table, whole[k, YIELD_SPREAD], state))
                if stops[machine, 0] > 0.0:
                    until_stop[machine] -= minutes
                    while until_stop[machine] < 0.0:
                        own = _stepped(state_of[machine])
                        minutes += quick(spreads, table, np.int64(stops[machine, 2]), own)
                        own = _stepped(own)
                        until_stop[machine] += quick(spreads, table, np.int64(stops[machine, 1]), own)
                        state_of[machine] = own
                start = figures[k, NOT_BEFORE]
                cause = BY_PLAN
                for n in range(whole[k, BEFORE_FROM], whole[k, BEFORE_TO]):
                    other = before[n]
                    ready = start_at[other] + shares[n] * (end_at[other] - start_at[other]) + lags[n]
                    later = ready > start
                    cause = other if later else cause
                    start = ready if later else start
                for n in range(whole[k, GOODS_FROM], whole[k, GOODS_TO]):
                    if arrived[goods_of[n]] > start:
                        start = arrived[goods_of[n]]
                        cause = BY_GOODS
                ready = free[machine] + figures[k, CHANGEOVER]
                other = last_on[machine]
                later = ready > start
                cause = other if later else cause
                start = ready if later else start
                own_calendar = whole[k, CALENDAR]
                last = calendars[own_calendar, 1]
                no_sooner = 0.0
                if figures[k, LAST_SHARE] >= 0.0:
                    other = before[whole[k, BEFORE_FROM]]
                    no_sooner = end_at[other] + lags[whole[k, BEFORE_FROM]] + figures[k, LAST_SHARE]
                start, stretch = _start(calendar, stretch_of[own_calendar], last, start, planned, pauses)
                end, stretch_after = _end(calendar, stretch, last, start, minutes, pauses)
                end = no_sooner if no_sooner > end else end
                hold_from = whole[k, HELD_FROM]
                hold_to = whole[k, HELD_TO]
                crew_from = whole[k, CREWS_FROM]
                crew_to = whole[k, CREWS_TO]
                changeover = figures[k, CHANGEOVER]
                settled = hold_to == hold_from and crew_to == crew_from
                while not settled:
                    try_at = start
                    for h in range(hold_from, hold_to):
                        if try_at == start:
                            store = held[h, 0]
                            try_at = _room(
                                holdings,
                                store,
                                counts[store],
                                capacity[store],
                                held_figures[h, 0],
                                start,
                                end + held_figures[h, 1],
                            )
                            cause = _holder(holdings, store, counts[store], try_at, cause) if try_at > start else cause
                    for h in range(crew_from, crew_to):
                        crew = crews[h, 0]
                        people = crew_figures[h]
                        if try_at == start and crews[h, 2] > 0 and changeover > 0.0:
                            since = start - changeover
                            found = _room(holdings, crew, counts[crew], capacity[crew], people, since, start)
                            try_at = found + changeover if found > since else try_at
                            cause = _holder(holdings, crew, counts[crew], found, cause) if found > since else cause
                        for n in range(stretch, stretch_after + 1):
                            if try_at == start:
                                since, until = _within(calendar, n, last, start, end, n == stretch_after)
                                found = _room(holdings, crew, counts[crew], capacity[crew], people, since, until)
                                try_at = found if found > since else try_at
                                cause = _holder(holdings, crew, counts[crew], found, cause) if found > since else cause
                    settled = try_at == start
                    if not settled:
                        start, stretch = _start(calendar, stretch, last, try_at, planned, pauses)
                        end, stretch_after = _end(calendar, stretch, last, start, minutes, pauses)
                        end = no_sooner if no_sooner > end else end
                if planned_starts.shape[0] > 0 and start < planned_starts[k] - 1e-6:
                    figures[k, NOT_BEFORE] = planned_starts[k]
                    start, stretch = _start(calendar, stretch, last, planned_starts[k], planned, pauses)
                    end, stretch_after = _end(calendar, stretch, last, start, minutes, pauses)
                    end = no_sooner if no_sooner > end else end
                free[machine] = end
                for h in range(hold_from, hold_to):
                    store = held[h, 0]
                    left[held[h, 1]] -= 1
                    if counts[store] >= MANY_HELD:
                        counts[store] = _forget(holdings, counts[store], store, users, user_machines, left, free)
                    _hold(holdings, counts, store, start, end + held_figures[h, 1], held_figures[h, 0], k)
                for h in range(crew_from, crew_to):
                    crew = crews[h, 0]
                    left[crews[h, 1]] -= 1
                    if counts[crew] >= MANY_HELD:
                        counts[crew] = _forget(holdings, counts[crew], crew, users, user_machines, left, free)
                    if crews[h, 2] > 0 and changeover > 0.0:
                        _hold(holdings, counts, crew, start - changeover, start, crew_figures[h], k)
                    for n in range(stretch, stretch_after + 1):
                        since, until = _within(calendar, n, last, start, end, n == stretch_after)
                        _hold(holdings, counts, crew, since, until, crew_figures[h], k)
                last_on[machine] = k
                stretch_of[own_calendar] = stretch_after
                start_at[k] = start
                end_at[k] = end
                cause_at[k] = cause
            # the longest wait stands with the operation that follows it
            longest = figures[k, LONGEST_WAIT]
            if longest >= 0.0 and start_at[k] > end_at[before[whole[k, BEFORE_FROM]]] + longest + 1e-6:
                waits_broken[k] += 1
            if causes.shape[0] > 0:
                causes[row, k] = cause_at[k]
                starts[row, k] = start_at[k]
                ends[row, k] = end_at[k]
        for target in range(targets.shape[0]):
            latest = 0.0
            for n in range(targets[target, 0], targets[target, 1]):
                latest = max(latest, end_at[target_ends[n]] + target_lags[n])
            for n in range(targets[target, 2], targets[target, 3]):
                latest = max(latest, arrived[target_goods[n]])
            finish[row, target] = latest
