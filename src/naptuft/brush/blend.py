"""Blending lots of bristle to a length profile at least cost.

A lot is not one length: it carries a measured share at each of several lengths, some curled hair and
some water. The comber takes out curled hair and short ends, and a little good hair with them; what is
left must show the asked share at each length. Shares are by dry mass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from typing import Literal

from naptuft.calculation import choice, quantity, rows, whole
from naptuft.errors import DesignError, Fault, Infeasible, NaptuftError
from naptuft.quantity import parse, show

Bundles = Literal["part", "whole"]
BUNDLES: tuple[Bundles, ...] = ("part", "whole")
SINGLE_WINDOW = 0.0032
LONGEST_HAIR, STOUTEST_HAIR = 0.5, 1e-3
_SHARES_CLOSE = 0.005


@dataclass(frozen=True)
class LengthAsked:
    """One row of a length profile."""

    length: float = quantity("mm", "length of the hair, butt to tip", low=10, high=300, example="76 mm")
    share: float = quantity("%", "share of the blend by dry mass", low=0, high=100, example="40 %")
    tolerance: float = quantity("%", "how far the share may be off, either way", low=0, high=50, example="5 %")


@dataclass(frozen=True)
class FillingTarget:
    """What a blend must be.

    Raises DesignError when the shares do not add up to 100 % or a length stands twice.
    """

    profile: tuple[LengthAsked, ...] = rows(
        LengthAsked, "the length profile asked", example="76 mm | 40 % | 5 %; 70 mm | 40 % | 5 %; 64 mm | 20 % | 5 %"
    )
    max_lots: int = whole("most lots in one blend", low=1, high=20, default=5, example="5")
    least_mean_diameter: float | None = quantity(
        "mm", "least mean diameter, by dry mass; left out: no limit", low=0.02, high=0.6, default=None
    )
    most_mean_diameter: float | None = quantity(
        "mm", "greatest mean diameter, by dry mass; left out: no limit", low=0.02, high=0.6, default=None
    )
    combing_loss: float = quantity("%", "good hair the comber takes out too", low=0, high=40, default=1, example="1 %")
    stray: float = quantity("%", "most hair of other lengths left in the blend", low=0, high=50, default=2)
    window: float | None = quantity(
        "mm",
        "hair this near a length of the profile counts as that length; left out: half the least step, or 3.2 mm",
        low=0.1,
        high=50,
        default=None,
    )
    least_flag: float | None = quantity(
        "%", "least share of hair with a flag (split tip); left out: no limit", low=0, high=100, default=None
    )
    stiff_as: float | None = quantity(
        "mm",
        "as stiff a head, at the same packing, as hair of this diameter gives; left out: no limit",
        low=0.02,
        high=0.6,
        default=None,
    )
    standard_errors: float = quantity(
        "",
        "standard errors of the lots' measurements within which the profile must still hold",
        low=0,
        high=4,
        default=0,
    )
    bundles: Bundles = choice(BUNDLES, "whether bundles may be broken", default="part")
    surplus: float = quantity("%", "with whole bundles, most blend over what is asked", low=0, high=200, default=25)
    moisture: float | None = quantity(
        "%",
        "water content at which the asked mass counts; left out: as the lots come, in a plan bristle as conditioned",
        low=0,
        high=40,
        default=None,
    )
    most_moisture: float = quantity(
        "%", "water above which a lot is refused: hair soaked through holds a quarter", low=1, high=60, default=25
    )

    def __post_init__(self) -> None:
        faults = []
        total = sum(row.share for row in self.profile)
        if abs(total - 1) > _SHARES_CLOSE:
            faults.append(
                Fault("profile", f"{total:.1%}", "shares that add up to 100 %", "correct the shares of the profile")
            )
        lengths = [row.length for row in self.profile]
        if len(set(lengths)) < len(lengths):
            faults.append(Fault("profile", lengths, "each length once", "join the rows of the same length"))
        low, high = self.least_mean_diameter, self.most_mean_diameter
        if low is not None and high is not None and low > high:
            faults.append(Fault("least mean diameter", low, f"at most the greatest, {high:g} m", "swap the two"))
        if faults:
            raise DesignError(*faults)

    @property
    def reach(self) -> float:
        """How near a hair must be to a length of the profile to count as it. [m]"""
        if self.window is not None:
            return self.window
        lengths = sorted(row.length for row in self.profile)
        if len(lengths) == 1:
            return SINGLE_WINDOW
        return min(longer - shorter for shorter, longer in pairwise(lengths)) / 2


@dataclass(frozen=True)
class BlendLot:
    """One lot of bristle as measured.

    code          how the plant calls the lot
    available     mass in stock, as weighed [kg]
    price_per_kg  money per kg as weighed
    lengths       (length [m], share by mass) of what was measured; shares add up to 1
    diameter      mean [m]
    moisture      water as a share of the mass as weighed
    curl          share of the hair that is curled and comes out in the comber
    flag          share of the hair with a flag
    bundle        mass of a bundle [kg]; 0 when it comes loose
    length_error  standard error of each measured share

    Raises DesignError with every fault, each naming the lot.

    >>> BlendLot("B-7", 10.0, 40, ((0.076, 0.7), (0.064, 0.2)), 0.18e-3)
    Traceback (most recent call last):
    naptuft.errors.DesignError: lot B-7, lengths: '90.0%'; allowed: shares that add up to 100 %; measure the lot again or correct its shares
    """

    code: str
    available: float
    price_per_kg: Decimal | float
    lengths: tuple[tuple[float, float], ...]
    diameter: float
    moisture: float = 0.0
    curl: float = 0.0
    flag: float = 0.0
    bundle: float = 0.0
    length_error: float = 0.0

    def __post_init__(self) -> None:
        place, faults = f"lot {self.code}", []
        total = sum(share for _, share in self.lengths)
        if not self.lengths:
            faults.append(Fault(f"{place}, lengths", "", "a measured length profile", "measure the lot"))
        elif abs(total - 1) > _SHARES_CLOSE:
            faults.append(
                Fault(
                    f"{place}, lengths",
                    f"{total:.1%}",
                    "shares that add up to 100 %",
                    "measure the lot again or correct its shares",
                )
            )
        faults += [
            Fault(
                f"{place}, lengths",
                f"{length:g} m: {share:.1%}",
                f"lengths above 0, at most {LONGEST_HAIR:g} m, shares from 0 to 100 %",
                "measure the lot again or correct the unit",
            )
            for length, share in self.lengths
            if not (0 < length <= LONGEST_HAIR and 0 <= share <= 1 + _SHARES_CLOSE)
        ]
        faults += [
            Fault(f"{place}, {name}", share, "a share from 0, below 1", "correct it")
            for name, share in (("moisture", self.moisture), ("curl", self.curl))
            if not 0 <= share < 1
        ]
        faults += [
            Fault(f"{place}, {name}", value, allowed, "correct it")
            for name, value, fine, allowed in (
                ("flag", self.flag, 0 <= self.flag <= 1, "a share from 0 to 1"),
                ("bundle", self.bundle, self.bundle >= 0, "a mass from 0 kg"),
                ("length error", self.length_error, 0 <= self.length_error < 0.5, "a share from 0, below a half"),
            )
            if not fine
        ]
        if self.available < 0:
            faults.append(Fault(f"{place}, available", self.available, "a mass from 0 kg", "count the stock"))
        if not 0 < self.diameter <= STOUTEST_HAIR:
            faults.append(
                Fault(
                    f"{place}, diameter",
                    self.diameter,
                    f"a diameter above 0 m, at most {STOUTEST_HAIR:g} m",
                    "measure the lot or correct the unit",
                )
            )
        if self.price_per_kg < 0:
            faults.append(Fault(f"{place}, price", self.price_per_kg, "a price from 0", "correct the price"))
        if faults:
            raise DesignError(*faults)

    @cached_property
    def price(self) -> Decimal:
        """Money per kg as weighed."""
        return Decimal(str(self.price_per_kg))


def refused_lots(target: FillingTarget, lots: Sequence[BlendLot]) -> tuple[Fault, ...]:
    """Why lots may not be used for a target, each named with what to do about it.

    A lot wetter than the target allows is refused: wet hair is weighed as water, and moulds.

    >>> target = FillingTarget(profile=(LengthAsked(length=0.076, share=1.0, tolerance=0.05),))
    >>> [fault.place for fault in refused_lots(target, [BlendLot("B-1", 9, 40, ((0.076, 1.0),), 0.18e-3, moisture=0.31)])]
    ['lot B-1, moisture']
    """
    return tuple(
        Fault(
            f"lot {lot.code}, moisture",
            f"{lot.moisture:.1%}",
            f"at most {target.most_moisture:.1%}",
            "dry the lot and weigh and measure it again, or leave it out",
        )
        for lot in lots
        if lot.moisture > target.most_moisture
    )


@dataclass(frozen=True)
class Yielded:
    """What one kilogram of a lot, as weighed, gives to a blend.

    share    of it left after combing
    dry      dry mass of that [kg]
    classes  share of that dry mass at each length of the profile
    stray    share of it at other lengths
    """

    share: float
    dry: float
    classes: tuple[float, ...]
    stray: float


def combed(target: FillingTarget, lot: BlendLot) -> Yielded:
    """What is left of a kilogram of a lot after the comber.

    Curled hair, hair shorter than the profile, and `combing_loss` of the rest come out. Water goes with
    the hair that holds it. Mass balance; common practice for what the comber takes.

    >>> target = FillingTarget(profile=(LengthAsked(length=0.076, share=1.0, tolerance=0.05),), combing_loss=0.0)
    >>> lot = BlendLot("B-1", 20.0, 40, ((0.076, 0.8), (0.050, 0.2)), 0.18e-3, moisture=0.1, curl=0.05)
    >>> left = combed(target, lot)
    >>> round(left.share, 4), round(left.dry, 4), left.classes, left.stray
    (0.76, 0.684, (1.0,), 0.0)
    """
    asked, reach = [row.length for row in target.profile], target.reach
    shortest = min(asked) - reach
    classes, stray, short = [0.0] * len(asked), 0.0, 0.0
    total = sum(share for _, share in lot.lengths)
    for length, share in lot.lengths:
        near = min(range(len(asked)), key=lambda k: abs(asked[k] - length))
        if abs(asked[near] - length) <= reach + 1e-9:
            classes[near] += share / total
        elif length < shortest:
            short += share / total
        else:
            stray += share / total
    left = (1 - short) * (1 - lot.curl) * (1 - target.combing_loss)
    good = 1 - short
    if good <= 1e-12:
        return Yielded(0.0, 0.0, tuple(0.0 for _ in asked), 0.0)
    return Yielded(left, left * (1 - lot.moisture), tuple(c / good for c in classes), stray / good)


@dataclass(frozen=True)
class Blend:
    """Lots to weigh out, and the blend they make. Masses are whole grams, as weighed.

    lots            (lot code, mass taken [kg])
    blended         (lot code, mass of it left in the blend [kg])
    combings        mass the comber takes out [kg]; taken = blend + combings
    profile         (length [m], share asked, share got)
    stray           share of other lengths got
    mean_diameter   by dry mass [m]
    dry_mass        of the blend [kg]
    cost            money for what is taken
    bound           proven least money for which any blend can be had
    proven_optimal  True when cost is within the weighing (a few grams a lot) and 0.01 % of the bound
    profile_error   standard error of each share got, from the lots' measurements
    flag            share of hair with a flag
    stiff_as        diameter of hair that would give as stiff a head at the same packing [m]
    refused         lots that could not be used, and why
    """

    lots: tuple[tuple[str, float], ...]
    blended: tuple[tuple[str, float], ...]
    combings: float
    profile: tuple[tuple[float, float, float], ...]
    stray: float
    mean_diameter: float
    dry_mass: float
    cost: Decimal
    bound: Decimal
    proven_optimal: bool
    profile_error: tuple[float, ...] = ()
    flag: float = 0.0
    stiff_as: float = 0.0
    refused: tuple[Fault, ...] = ()

    @property
    def mass(self) -> float:
        """Mass of the blend as weighed. [kg]"""
        return round(sum(mass for _, mass in self.blended), 3)

    @property
    def taken(self) -> float:
        """Mass of all lots taken. [kg]"""
        return round(sum(mass for _, mass in self.lots), 3)

    def __str__(self) -> str:
        return ", ".join(f"{code} {show(mass, 'kg', 6)}" for code, mass in self.lots)


def blend_lots(target: FillingTarget, lots: Sequence[BlendLot], mass: float, *, seconds: float = 10.0) -> Blend:
    """The cheapest blend of at most `max_lots` lots that meets the target.

    target   profile and limits; lots: what may be used, each code once; mass: of the blend asked [kg]
    seconds  time the solver may take; when it runs out the best blend so far is given with its bound

    Raises Infeasible when no blend meets the target: its faults name the targets that bind and the
    nearest blend, and the lots refused. Raises DesignError for a mass that is not above 1 g, no lots, or a code
    given twice.

    >>> target = FillingTarget(profile=(LengthAsked(length=0.076, share=0.5, tolerance=0.02),
    ...                                 LengthAsked(length=0.064, share=0.5, tolerance=0.02)), combing_loss=0.0)
    >>> lots = [BlendLot("B-long", 9.0, 50, ((0.076, 1.0),), 0.18e-3), BlendLot("B-short", 9.0, 30, ((0.064, 1.0),), 0.18e-3)]
    >>> blend = blend_lots(target, lots, 2.0)
    >>> blend.lots, blend.cost, blend.proven_optimal
    ((('B-long', 0.96), ('B-short', 1.04)), Decimal('79.20'), True)
    """
    from naptuft.brush.least_cost import least_cost_blend

    faults = []
    if not mass > 0.001:
        faults.append(Fault("mass", mass, "a mass above 1 g", "ask for more"))
    if not lots:
        faults.append(Fault("lots", 0, "at least one lot", "add lots of this filling to the stock"))
    codes = [lot.code for lot in lots]
    faults += [
        Fault("lots", code, "each lot code once", "join the rows of this lot")
        for code in sorted({code for code in codes if codes.count(code) > 1})
    ]
    if faults:
        raise DesignError(*faults)
    refused = refused_lots(target, lots)
    if len(refused) == len(lots):
        raise Infeasible(*refused)
    try:
        return replace(least_cost_blend(target, lots, mass, seconds), refused=refused)
    except Infeasible as error:
        raise Infeasible(*error.faults, *refused) from None


@dataclass(frozen=True)
class BlendOrder:
    """One work order's blend.

    target     what it must be; mass: of the blend [kg]
    may_use    codes of the lots it may be mixed from; None: any
    urgency    what a gram it goes without counts, against a gram of the others; above 0
    """

    name: str
    target: FillingTarget
    mass: float
    may_use: frozenset[str] | None = None
    urgency: float = 1.0


@dataclass(frozen=True)
class WeekOfBlends:
    """Blends of several work orders from one stock.

    blends          (work order, its blend), in the order given; those cut short make less than asked
    short           (work order, mass it goes without [kg]); nothing where all is met
    proven_optimal  True when no other sharing of the stock leaves less short, or costs less
    """

    blends: tuple[tuple[str, Blend], ...]
    short: tuple[tuple[str, float], ...]
    proven_optimal: bool

    @property
    def cost(self) -> Decimal:
        """Money for all lots taken."""
        return sum((blend.cost for _, blend in self.blends), Decimal(0))


def blend_week(orders: Sequence[BlendOrder], lots: Sequence[BlendLot], *, seconds: float = 10.0) -> WeekOfBlends:
    """Share one stock among work orders: first leave least mass (times urgency) short, then spend least.

    Scarce long hair goes where nothing else will do. Bundles may be broken; standard errors are not kept here;
    two grams of a lot are held back for each order that may draw on it, for the weighing.
    Raises DesignError for no orders or a name given twice.

    >>> def order(name, length):
    ...     rows = (LengthAsked(length=length, share=1.0, tolerance=0.0), )
    ...     return BlendOrder(name, FillingTarget(profile=rows, combing_loss=0.0), 2.0)
    >>> lots = [BlendLot("B-1", 3.0, 50, ((0.076, 1.0),), 0.18e-3), BlendLot("B-2", 9.0, 30, ((0.064, 1.0),), 0.18e-3)]
    >>> week = blend_week([order("W-1", 0.076), order("W-2", 0.064), order("W-3", 0.076)], lots)
    >>> dict(week.blends)["W-2"].lots, round(sum(mass for _, mass in week.short), 2)
    ((('B-2', 2.0),), 1.01)
    """
    from naptuft.brush.shared_stock import share_stock

    names = [order.name for order in orders]
    faults = [
        Fault("work orders", name, "each name once", "rename one")
        for name in sorted({name for name in names if names.count(name) > 1})
    ]
    if not orders:
        faults.append(Fault("work orders", 0, "at least one", "add a work order"))
    if faults:
        raise DesignError(*faults)
    return share_stock(orders, lots, seconds)


def stiffness_frontier(
    target: FillingTarget, lots: Sequence[BlendLot], mass: float, *, points: int = 5, seconds: float = 10.0
) -> tuple[Blend, ...]:
    """Cheapest blends of ever stiffer heads, from the cheapest of all to the stiffest the lots allow.

    points: how many blends, 2 or more; seconds: for each. Raises Infeasible when there is no blend at all.

    >>> target = FillingTarget(profile=(LengthAsked(length=0.076, share=1.0, tolerance=0.0),), combing_loss=0.0)
    >>> lots = [BlendLot("B-1", 9, 30, ((0.076, 1.0),), 0.16e-3), BlendLot("B-2", 9, 50, ((0.076, 1.0),), 0.20e-3)]
    >>> [float(blend.cost) for blend in stiffness_frontier(target, lots, 1.0, points=3)]
    [30.0, 39.46, 50.0]
    """
    free = blend_lots(target, lots, mass, seconds=seconds)
    low, high = free.stiff_as, max(lot.diameter for lot in lots)
    reached = free
    for _ in range(12):
        middle = (low + high) / 2
        try:
            reached = blend_lots(replace(target, stiff_as=middle), lots, mass, seconds=seconds)
            low = reached.stiff_as
        except Infeasible:
            high = middle
    steps = [free.stiff_as + (low - free.stiff_as) * i / (points - 1) for i in range(1, points - 1)]
    between = [blend_lots(replace(target, stiff_as=step), lots, mass, seconds=seconds) for step in steps]
    return (free, *between, reached)


def read_length_profile(given: str, place: str = "lengths") -> tuple[tuple[float, float], ...]:
    """A measured length profile from text such as "76 mm: 60 %, 70 mm: 40 %". [m], [1]

    A number without a unit is mm, or a share in %. Raises DesignError with every fault.

    >>> read_length_profile("76 mm: 60 %, 2 1/2 in: 40 %")
    ((0.076, 0.6), (0.0635, 0.4))
    """
    read, faults = [], []
    for part in given.split(","):
        length, colon, share = part.partition(":")
        if not colon:
            faults.append(Fault(place, part.strip(), "a length and its share, parted by :", "write 76 mm: 60 %"))
            continue
        try:
            read.append((parse(length.strip(), "mm", place), parse(share.strip(), "%", place)))
        except NaptuftError as error:
            faults += error.faults
    if faults:
        raise DesignError(*faults)
    return tuple(read)
