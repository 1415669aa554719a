"""Plastic fed back again and again: how often it has been through, and what a mix keeps of a property."""

from __future__ import annotations

from naptuft.errors import DesignError, Fault

LOOP_SOURCE = "geometric series of a steady loop; Throne, Plastics Process Engineering, 1979, regrind (from memory)"


def share_by_passes(regrind: float, passes: int) -> float:
    """Share of the steady mix that has gone through a number of times, the present pass included.

    (1 - r) r^(n - 1)
    regrind  r, share of the feed, 0 to below 1; passes n, at least 1
    Raises DesignError outside those ranges.
    Source: geometric series.

    >>> [round(share_by_passes(0.2, n), 4) for n in (1, 2, 3)]
    [0.8, 0.16, 0.032]
    """
    if not 0 <= regrind < 1 or passes < 1:
        raise DesignError(
            Fault("regrind share", regrind, "at least 0 and below 100 %, passes at least 1", "feed fresh resin too")
        )
    return (1 - regrind) * regrind ** (passes - 1)


def mean_passes(regrind: float) -> float:
    """Mean number of passes of the steady mix. 1/(1 - r)

    >>> mean_passes(0.2)
    1.25
    """
    return 1 / (1 - regrind)


def steady_property(regrind: float, kept: float) -> float:
    """Share of the fresh property in the moulded mix once the loop is steady.

    sum over n of (1 - r) r^(n - 1) p^n = p (1 - r)/(1 - r p), properties mixing by mass
    regrind  r; kept p, share kept each pass
    Source: geometric series.

    >>> round(steady_property(0.2, 0.95), 4)
    0.9383
    """
    return kept * (1 - regrind) / (1 - regrind * kept)


def largest_regrind(kept: float, least: float) -> float:
    """Largest share of regrind that keeps a property: steady_property solved for r.

    r = (p - least)/(p (1 - least)); 0 where even fresh resin falls below, at most 1.

    >>> round(largest_regrind(0.95, steady_property(0.2, 0.95)), 9)
    0.2
    """
    if least >= 1:
        return 0.0
    return min(1.0, max(0.0, (kept - least) / (kept * (1 - least))))
