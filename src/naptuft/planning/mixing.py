"""The fillings of a week mixed from one stock: scarce long hair goes to the blends that cannot do without it.

Each blend is first mixed as if it were alone. Where together they would take more of a lot than there is, the
stock is shared among them at once, and each is then mixed again, proven, from what the others leave it.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import floor

from naptuft.brush.blend import Blend, BlendLot, BlendOrder, FillingTarget, WeekOfBlends, blend_lots
from naptuft.errors import Infeasible

SECONDS = 60.0
SHARED_EXACTLY = 60
WITHIN = 5e-3
NONE_LEFT = 0.001


@dataclass(frozen=True)
class BlendAsked:
    """One filling to mix.

    name     work order
    target   what it must be; mass: of the blend [kg]
    stock    lots it may be mixed from
    buyable  lots yet to be bought, where stock does not do
    urgency  what a gram it goes without counts, against the others
    """

    name: str
    target: FillingTarget
    mass: float
    stock: tuple[BlendLot, ...]
    buyable: tuple[BlendLot, ...] = ()
    urgency: float = 1.0


@dataclass(frozen=True)
class Mixed:
    """What came of a filling asked.

    blend  what to mix; None where nothing of it can be
    share  of the mass asked that it makes
    why    why it is not all, in words; "" when it is
    """

    blend: Blend | None
    share: float
    why: str = ""


def mixed_together(
    due: Mapping[str, datetime.datetime], may_use: Mapping[str, frozenset[str]], days: datetime.timedelta
) -> tuple[tuple[str, ...], ...]:
    """Work orders in groups to be mixed at once, each in order of due date, the group due first before the others.

    Work orders linked by lots they may both use belong together; over all weeks where they are few enough to be
    shared exactly, else those due within some days of the first.

    due      work order -> when it is due, in order of due date
    may_use  work order -> lots it may be mixed from

    >>> day = datetime.datetime(2026, 11, 30)
    >>> due = {"W-1": day, "W-2": day, "W-3": day + datetime.timedelta(days=9)}
    >>> lots = {"W-1": frozenset({"B-1"}), "W-2": frozenset({"B-2"}), "W-3": frozenset({"B-1", "B-3"})}
    >>> mixed_together(due, lots, datetime.timedelta(days=7))
    (('W-1', 'W-3'), ('W-2',))
    """
    linked: list[tuple[set[str], list[str]]] = []
    for name in due:
        lots, names = set(may_use[name]), [name]
        apart = []
        for others in linked:
            if others[0].isdisjoint(lots):
                apart.append(others)
            else:
                lots |= others[0]
                names = [*others[1], *names]
        linked = [*apart, (lots, names)]
    groups: list[list[str]] = []
    for _, names in linked:
        few = sum(len(may_use[name]) for name in names) <= SHARED_EXACTLY
        first: datetime.datetime | None = None
        for name in sorted(names, key=list(due).index):
            if first is None or (not few and due[name] - first >= days):
                groups.append([])
                first = due[name]
            groups[-1].append(name)
    return tuple(sorted((tuple(group) for group in groups), key=lambda group: list(due).index(group[0])))


def mix_week(asked: Sequence[BlendAsked]) -> Mapping[str, Mixed]:
    """Blends for the work orders of a week, by work order; those asked first are mixed first from what is left.

    One code stands for one lot, with the same mass available, in every blend.

    >>> from naptuft.brush.blend import LengthAsked
    >>> lots = (BlendLot("B-1", 3.0, 50, ((0.076, 1.0),), 18e-5), BlendLot("B-2", 9.0, 60, ((0.064, 1.0),), 18e-5))
    >>> def asked(name, mass, share, tolerance):
    ...     rows = (LengthAsked(length=0.076, share=share, tolerance=tolerance),
    ...             LengthAsked(length=0.064, share=1 - share, tolerance=tolerance))
    ...     return BlendAsked(name, FillingTarget(profile=rows, combing_loss=0.0), mass, lots)
    >>> mixed = mix_week([asked("W-1", 4.0, 0.5, 0.5), asked("W-2", 2.4, 1.0, 0.0)])
    >>> [dict(one.blend.lots)["B-1"] for one in mixed.values()]
    [0.6, 2.4]
    """
    found: dict[str, Mixed] = {}
    for one in asked:
        blend, _ = _blended(one.target, one.stock, one.mass)
        found[one.name] = Mixed(blend, 1.0 if blend else 0.0)
    wanting = [one for one in asked if found[one.name].blend is None or _overdraws(one, found)]
    if wanting and len(asked) > 1:
        found = _shared(asked, wanting, found)
    for one in asked:
        if found[one.name].share < 1:
            found[one.name] = _as_much_as_can_be(one, _taken(found, one.name))
    return found


def _overdraws(one: BlendAsked, found: Mapping[str, Mixed]) -> bool:
    """Whether a blend draws on a lot of which all together take more than there is."""
    blend, taken = found[one.name].blend, _taken(found)
    available = {lot.code: lot.available for lot in one.stock}
    return blend is not None and any(taken[code] > available[code] + 1e-9 for code, _ in blend.lots)


def _taken(found: Mapping[str, Mixed], but: str = "") -> Mapping[str, float]:
    """Mass of each lot all blends but one take. [kg]"""
    taken: dict[str, float] = defaultdict(float)
    for name, mixed in found.items():
        if name != but and mixed.blend is not None:
            for code, mass in mixed.blend.lots:
                taken[code] += mass
    return taken


def _left(lots: Iterable[BlendLot], taken: Mapping[str, float]) -> tuple[BlendLot, ...]:
    left = (
        replace(lot, available=max(0.0, round(lot.available - taken[lot.code], 6))) if lot.code in taken else lot
        for lot in lots
    )
    return tuple(lot for lot in left if lot.available > NONE_LEFT)


def _shared(asked: Sequence[BlendAsked], wanting: Sequence[BlendAsked], found: Mapping[str, Mixed]) -> dict[str, Mixed]:
    """The stock shared among those wanting; among all where that leaves one of them short; then mixed one by one."""
    names = {one.name for one in wanting}
    kept = {name: mixed for name, mixed in found.items() if name not in names}
    week = _week(wanting, _taken(kept))
    if week.short and kept:
        kept, wanting = {}, asked
        week = _week(wanting, _taken(kept))
    blends, short = dict(week.blends), dict(week.short)
    shared = dict(kept)
    for one in wanting:
        shared[one.name] = Mixed(blends.get(one.name), 1 - short.get(one.name, 0.0) / one.mass)
    for one in wanting:
        if one.name in short:
            continue
        blend, _ = _blended(one.target, _left(one.stock, _taken(shared, one.name)), one.mass)
        shared[one.name] = Mixed(blend, 1.0 if blend else 0.0)
    return {one.name: shared[one.name] for one in asked}


def _as_much_as_can_be(one: BlendAsked, taken: Mapping[str, float]) -> Mixed:
    """All of a blend with lots yet to be bought; else as much of it as can be mixed, and why not more."""
    stock = _left(one.stock, taken)
    lots = (*stock, *one.buyable)
    blend, why = _blended(one.target, lots, one.mass)
    if blend is not None:
        return Mixed(blend, 1.0)
    week = _week([replace(one, stock=lots)], {})
    share = 1 - dict(week.short).get(one.name, 0.0) / one.mass
    for tenths in range(10, 0, -1):
        part = floor(share * tenths * 1000) / 10_000
        if part * one.mass <= NONE_LEFT:
            break
        blend, _ = _blended(one.target, lots, one.mass * part)
        if blend is not None:
            return Mixed(blend, part, why)
    return Mixed(None, 0.0, why)


def _week(asked: Sequence[BlendAsked], taken: Mapping[str, float]) -> WeekOfBlends:
    """The stock, less what is taken, shared among blends; whole bundles and standard errors are not kept."""
    left = {one.name: _left(one.stock, taken) for one in asked}
    lots = {lot.code: lot for one in asked for lot in left[one.name]}
    orders = tuple(
        BlendOrder(one.name, one.target, one.mass, frozenset(lot.code for lot in left[one.name]), one.urgency)
        for one in asked
    )
    return _week_of(orders, tuple(lots.values()))


@lru_cache(maxsize=128)
def _week_of(orders: tuple[BlendOrder, ...], lots: tuple[BlendLot, ...]) -> WeekOfBlends:
    """The sharing; kept, as most weeks stay the same when the last lines due are cut back."""
    from naptuft.brush.shared_stock import share_stock

    return share_stock(orders, lots, SECONDS, WITHIN)


@lru_cache(maxsize=1024)
def _blended(target: FillingTarget, lots: tuple[BlendLot, ...], mass: float) -> tuple[Blend | None, str]:
    """A blend, or the reason there is none; kept like the sharing."""
    if not lots:
        return None, "stock: none left"
    try:
        return blend_lots(target, lots, mass), ""
    except Infeasible as error:
        fault = error.faults[0]
        return None, f"{fault.place}: {fault.value}, allowed {fault.allowed}"
