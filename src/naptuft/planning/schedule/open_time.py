"""Open stretches of minutes: where a run fits, and what two calendars share."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import TypeAlias

Stretches: TypeAlias = Sequence[tuple[int, int]] | None


def end_of_run(stretches: Stretches, minutes: int, pauses: bool, start: int) -> int | None:
    """When a run that starts at a minute ends; None: it cannot start there. [minute]

    >>> day = ((0, 480), (1440, 1920))
    >>> end_of_run(day, 90, True, 420), end_of_run(day, 90, False, 420), end_of_run(day, 90, False, 500)
    (1470, None, None)
    """
    if stretches is None:
        return start + minutes
    left = minutes
    first = bisect_right(stretches, start, key=lambda times: times[1])
    if first and not minutes and stretches[first - 1][1] == start:
        return start
    for opens, closes in stretches[first:]:
        begun = left < minutes
        if not begun and not opens <= start:
            return None
        if max(start, opens) + left <= closes:
            return max(start, opens) + left
        if not pauses:
            return None
        left -= closes - max(start, opens)
    return None


def run_of(stretches: Stretches, minutes: int, pauses: bool, ready: int) -> tuple[int, int] | None:
    """Start and end of the first run that starts no sooner than it is ready; None: there is no room. [minute]

    >>> run_of(((0, 480), (1440, 1920)), 90, False, 420)
    (1440, 1530)
    """
    if stretches is None:
        return ready, ready + minutes
    for opens, closes in stretches[bisect_right(stretches, ready, key=lambda times: times[1]) :]:
        start = max(ready, opens)
        if start < closes and (end := end_of_run(stretches, minutes, pauses, start)) is not None:
            return start, end
    return None


def open_between(stretches: Stretches, since: int, until: int) -> int:
    """Open minutes between two moments.

    >>> open_between(((0, 480), (1440, 1920)), 470, 1500)
    70
    """
    if stretches is None:
        return until - since
    return sum(max(0, min(until, closes) - max(since, opens)) for opens, closes in stretches)


def shared(first: Stretches, second: Stretches) -> tuple[tuple[int, int], ...] | None:
    """When both are open.

    >>> shared(((0, 480), (1440, 1920)), ((60, 1500),))
    ((60, 480), (1440, 1500))
    """
    if first is None or second is None:
        both = second if first is None else first
        return None if both is None else tuple(both)
    found = []
    a = b = 0
    while a < len(first) and b < len(second):
        opens, closes = max(first[a][0], second[b][0]), min(first[a][1], second[b][1])
        if opens < closes:
            found.append((opens, closes))
        if first[a][1] <= second[b][1]:
            a += 1
        else:
            b += 1
    return tuple(found)


def joined(stretches: Sequence[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Stretches that touch made one.

    >>> joined(((0, 480), (480, 960), (1440, 1920)))
    ((0, 960), (1440, 1920))
    """
    found: list[tuple[int, int]] = []
    for opens, closes in stretches:
        if found and found[-1][1] == opens:
            found[-1] = (found[-1][0], closes)
        else:
            found.append((opens, closes))
    return tuple(found)


def last_run_of(stretches: Stretches, minutes: int, pauses: bool, until: int) -> int | None:
    """Start of the last run that ends by a minute; None: there is no room. [minute]

    >>> day = ((0, 480), (1440, 1920))
    >>> last_run_of(day, 90, True, 1500), last_run_of(day, 90, False, 1500)
    (450, 390)
    """
    if stretches is None:
        return until - minutes
    left = minutes
    for opens, closes in reversed(stretches[: bisect_left(stretches, until, key=lambda times: times[0])]):
        room = min(closes, until) - opens
        if room >= left:
            return opens + room - left
        if pauses:
            left -= room
    return None
