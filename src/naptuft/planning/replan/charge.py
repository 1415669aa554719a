"""What moving planned work counts against the late minutes it saves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from naptuft.planning.problem import Placement

HALVES = 1440.0


class Cost(NamedTuple):
    """What a changed plan counts; of two, the first of these that differs decides.

    expired  jobs that start after the last day of a lot they take of
    beyond   operations moved beyond those that may move
    minutes  late and changeover minutes, what the moves count, and so much for each beyond
    """

    expired: int
    beyond: int
    minutes: float

    @property
    def walked(self) -> tuple[int, float]:
        """What a search goes by, so that it may pass through plans in which too many move."""
        return self.expired, self.minutes


@dataclass(frozen=True)
class Charge:
    """What moving an operation counts, in weighted late minutes.

    now        for one that was to start at once; it halves with every day until the planned start
    least      for one however far ahead
    beyond     each operation moved beyond those that may, while a plan in which fewer move is looked for
    tolerance  a start less than this many minutes off counts in proportion, on the same machine
    """

    now: float = 240.0
    least: float = 30.0
    tolerance: float = 30.0
    beyond: float = 400.0

    def of(self, minutes_ahead: float) -> float:
        """What moving an operation counts that was to start in so many minutes.

        >>> Charge(100.0, 5.0).of(1440.0)
        50.0
        """
        return max(self.least, self.now * 0.5 ** (max(0.0, minutes_ahead) / HALVES))

    def counts(self, before: Placement, after: Placement, at: int) -> float:
        """What it counts that an operation stands elsewhere than planned, the plan being changed at a minute.

        >>> planned = Placement(0, 0, 0, 1440, 1500)
        >>> Charge(100.0, 5.0, 30.0).counts(planned, Placement(0, 0, 0, 1455, 1515), 0)
        25.0
        """
        if not has_moved(before, after):
            return 0.0
        share = 1.0 if before.machine != after.machine else min(1.0, abs(after.start - before.start) / self.tolerance)
        return share * self.of(before.start - at)


def has_moved(before: Placement, after: Placement) -> bool:
    """Whether an operation is no longer where and when it was planned."""
    return (before.machine, before.start) != (after.machine, after.start)
