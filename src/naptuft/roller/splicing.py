"""Rolls of pile strip joined end to end for winding: which rolls in which order, with every joint kept out of refills.

The strip of one tube after another makes a cycle. A joint may lie where its tube becomes no refill: in a tail, an end
trim or the offcut. A roll is shortened until the joint to the next falls there; the order of rolls decides how much.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, floor, pi, sin

from naptuft.calculation import Calculation, Check, Result, Step, Value, quantity, rows, text, whole
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.roller.winding import CAUTIONS, HELIX, strip_length, winding_angle

_NORMAL = "exact over orders and shortenings: waste can always be moved to the latest joint"
MOST_EXACT = 11
MOST_STATES = 20_000
HAIR = 1e-6


@dataclass(frozen=True)
class Joint:
    """The end of one roll in the strip.

    roll     number of the roll in the list given
    cut_off  taken off the roll's end so that the joint lies well [m]
    at       where the joint lies in the strip of its tube, from the tube's first strip [m]; 0: between two tubes
    tube     number of the tube it lies in, from 1
    """

    roll: int
    cut_off: float
    at: float
    tube: int


@dataclass(frozen=True)
class SplicePlan:
    """Rolls in the order they are wound.

    joints   one for each roll used, in order; the last one ends the strip
    tubes    whole tubes the strip makes
    bound    most tubes any order can make
    leftover strip left on the last roll [m]
    """

    joints: tuple[Joint, ...]
    tubes: int
    bound: int
    leftover: float

    @property
    def cut_off(self) -> float:
        """Strip thrown away at joints. [m]"""
        return sum(joint.cut_off for joint in self.joints)

    @property
    def proven(self) -> bool:
        """True when no order makes more tubes."""
        return self.tubes == self.bound


def joint_extent(strip_width: float, overlap: float, angle: float) -> float:
    """Length of tube a joint square across the strip reaches over, w cos α + o sin α. [m]

    overlap  of the two ends, along the strip [m]; 0 for a butt joint
    Source: unrolled helix.

    >>> round(joint_extent(0.073, 0.0, winding_angle(0.044, 0.073)) * 1e3, 1)
    62.0
    """
    return strip_width * cos(angle) + overlap * sin(angle)


def joint_windows(
    free: Sequence[tuple[float, float]], tube_length: float, angle: float, extent: float, tails: float
) -> tuple[tuple[float, float], ...]:
    """Where a joint may lie in the strip of one tube, (from, to) from its first strip to its last. [m]

    free    stretches of the tube that become no refill, (from, to) [m]; one that reaches an end goes on past it
    extent  length of tube a joint reaches over [m]; half of it lies on either side
    tails   strip past both ends of the tube together [m]

    >>> windows = joint_windows([(0.0, 0.01), (1.69, 1.8)], 1.8, winding_angle(0.044, 0.073), 0.062, 0.150)
    >>> [(round(low, 3), round(high, 3)) for low, high in windows]
    [(0.0, 0.035), (3.334, 3.558)]
    """
    length = strip_length(tube_length, angle) + tails
    found = []
    for low, high in sorted(free):
        first = 0.0 if low <= HAIR else tails / 2 + (low + extent / 2) / sin(angle)
        last = length if high >= tube_length - HAIR else tails / 2 + (high - extent / 2) / sin(angle)
        first, last = max(first, 0.0), min(last, length)
        if first <= last:
            found.append((first, last))
    if not any(high >= length - HAIR for _, high in found):
        found.append((length, length))
    return tuple(found)


def splice_rolls(
    rolls: Sequence[float],
    strip_per_tube: float,
    windows: Sequence[tuple[float, float]],
    *,
    overlap: float = 0.0,
    wanted: int | None = None,
) -> SplicePlan:
    """Order the rolls and shorten their ends so that the joints lie in the windows and most tubes come out.

    rolls           lengths [m]
    strip_per_tube  [m]
    windows         where a joint may lie in the strip of a tube (`joint_windows`) [m]
    overlap         strip taken up by a joint that is not at the start of a tube [m]
    wanted          tubes wanted; None: as many as can be. With enough strip, the rolls that waste least are taken

    Exact up to 11 rolls while the states fit; beyond, the best states are followed and the bound says how good it is.
    Where several orders make as many tubes, the one that throws least away is taken.

    >>> plan = splice_rolls([10.0, 7.6], 4.0, [(3.5, 4.0)])
    >>> [(joint.roll, joint.cut_off) for joint in plan.joints], plan.tubes
    ([(1, 0.0), (0, 0.0)], 4)
    """
    total = sum(rolls)
    most = floor(total / strip_per_tube + HAIR)
    target = most if wanted is None else min(wanted, most)
    edges = [(low, high) for low, high in windows]
    states: dict[tuple[int, int], tuple[int, float, float, tuple[Joint, ...]]] = {(0, 0): (0, 0.0, 0.0, ())}
    best: tuple[tuple[float, ...], tuple[Joint, ...], int, float] | None = None
    limit = MOST_STATES if len(rolls) <= MOST_EXACT else MOST_STATES // 3 // len(rolls)
    complete = True
    for _ in rolls:
        grown: dict[tuple[int, int], tuple[int, float, float, tuple[Joint, ...]]] = {}
        for (taken, _), (tubes, at, lost, joints) in states.items():
            for roll, length in enumerate(rolls):
                if taken >> roll & 1:
                    continue
                start = at - overlap if HAIR < at < strip_per_tube - HAIR else at
                end = tubes * strip_per_tube + start + length
                made = floor(end / strip_per_tube + HAIR)
                leftover = max(0.0, end - made * strip_per_tube)
                done = min(made, target)
                spare = end - done * strip_per_tube
                last = (*joints, Joint(roll, 0.0, leftover, made + 1))
                rank = (-done, lost, len(last), -spare)
                if best is None or rank < best[0]:
                    best = (rank, last, made if wanted is None else done, spare)
                if made >= target and wanted is not None:
                    continue
                for cut, place, number in _shortened(end, length, strip_per_tube, edges):
                    key = (taken | 1 << roll, round(place * 1e6))
                    total_lost = lost + cut
                    known = grown.get(key)
                    if known is None or (number, -total_lost) > (known[0], -known[2]):
                        joint = Joint(roll, cut, place, number + 1)
                        grown[key] = (number, place, total_lost, (*joints, joint))
        if len(grown) > limit:
            complete = False
            grown = dict(sorted(grown.items(), key=lambda item: item[1][2])[:limit])
        states = grown
    assert best is not None
    _, joints, tubes, spare = best
    bound = tubes if complete else min(target, most_tubes(rolls, strip_per_tube, windows))
    return SplicePlan(joints, tubes, max(bound, tubes), spare)


def most_tubes(rolls: Sequence[float], strip_per_tube: float, windows: Sequence[tuple[float, float]]) -> int:
    """Tubes no order can pass: every roll but one loses at least what its best start makes it lose.

    >>> most_tubes([5.0, 5.0, 5.0], 4.0, [(3.5, 4.0)])
    3
    """
    losses = []
    for length in rolls:
        least = strip_per_tube
        for low, high in windows:
            for start in (low, high):
                for cut, _, _ in _shortened(start + length, length, strip_per_tube, windows):
                    least = min(least, cut)
            ends = [(low + length) % strip_per_tube, (high + length) % strip_per_tube]
            if ends[1] < ends[0]:
                ends[1] += strip_per_tube
            for first, last in windows:
                for shift in (0.0, strip_per_tube):
                    if ends[0] <= last + shift and first + shift <= ends[1]:
                        least = 0.0
        losses.append(least)
    return floor((sum(rolls) - sum(losses) + max(losses)) / strip_per_tube + 1e-6)


def spoiled_refills(
    at: float, refills: Sequence[tuple[float, float]], angle: float, extent: float, tails: float
) -> int:
    """Refills a joint reaches into when it is left where it falls.

    at       place of the joint in the strip of its tube [m]
    refills  (from, to) along the tube [m]; extent  length of tube a joint reaches over [m]

    >>> spoiled_refills(0.6, [(0.01, 0.25), (0.252, 0.492)], winding_angle(0.044, 0.073), 0.062, 0.15)
    2
    """
    middle = (at - tails / 2) * sin(angle)
    return sum(low < middle + extent / 2 and middle - extent / 2 < high for low, high in refills)


def _shortened(
    end: float, length: float, cycle: float, windows: Sequence[tuple[float, float]]
) -> list[tuple[float, float, int]]:
    """Ways to shorten a roll that ends at `end` so that its joint lies in a window: (cut off, place, whole tubes)."""
    tubes = floor(end / cycle + HAIR)
    place = max(0.0, end - tubes * cycle)
    found = []
    for low, high in windows:
        if low - HAIR <= place <= high + HAIR:
            found.append((0.0, place if place < cycle - HAIR else 0.0, tubes + (place >= cycle - HAIR)))
            continue
        back = place - high if place > high else place + cycle - high
        if back < length - HAIR:
            whole = tubes if place > high else tubes - 1
            at = high if high < cycle - HAIR else 0.0
            found.append((back, at, whole + (high >= cycle - HAIR)))
    if place <= HAIR:
        found.append((0.0, 0.0, tubes))
    return found


@dataclass(frozen=True)
class RollRow:
    """A roll of strip."""

    length: float = quantity("m", "length on the roll", low=0.1, high=10_000, example="48.5 m")
    name: str = text("lot or number", default="", example="roll 1")


@dataclass(frozen=True)
class SpliceDesign:
    """Rolls of strip and the tube they are wound on."""

    rolls: tuple[RollRow, ...] = rows(
        RollRow, "rolls at hand", example="48.5 m | P-101; 51.2 m | P-102; 36.7 m | P-103; 50.1 m | P-104"
    )
    tubes: int | None = whole(
        "tubes wanted; empty: as many as the rolls make", low=1, high=1_000_000, default=None, example="50"
    )
    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    strip_width: float = quantity("mm", "width of the strip", low=10, high=400, example="73 mm")
    seam_gap: float = quantity("mm", "gap across the seam; below 0 for an overlap", low=-20, high=20, default=0)
    tube_length: float = quantity("mm", "length of the tube wound", low=100, high=6000, example="1800 mm")
    tails: float = quantity("mm", "strip past both ends of a tube, together", low=0, high=2000, default=150)
    refill_length: float = quantity("mm", "length of the refills cut from a tube", low=10, high=6000, example="240 mm")
    kerf: float = quantity("mm", "width lost at each cut", low=0, high=100, default=2, example="2 mm")
    end_trim: float = quantity("mm", "cut off each end of a tube", low=0, high=500, default=10, example="10 mm")
    overlap: float = quantity(
        "mm", "overlap of the two ends at a joint; 0 for a butt joint", low=0, high=200, default=0, example="0 mm"
    )

    def __post_init__(self) -> None:
        faults = []
        around = pi * self.core_diameter
        if not 0 < self.strip_width + self.seam_gap < around:
            faults.append(
                Fault(
                    "strip width",
                    f"{self.strip_width * 1e3:g} mm",
                    f"with its gap above 0 mm and below {around * 1e3:.1f} mm, the way round the core",
                    "choose a narrower strip or a thicker core",
                )
            )
        if self.refill_length > self.tube_length - 2 * self.end_trim + 1e-12:
            faults.append(
                Fault(
                    "refill length",
                    f"{self.refill_length * 1e3:g} mm",
                    f"at most {(self.tube_length - 2 * self.end_trim) * 1e3:g} mm, what the trims leave of a tube",
                    "wind a longer tube or trim less",
                )
            )
        if len(self.rolls) > 60:
            faults.append(Fault("rolls", len(self.rolls), "at most 60 rolls", "plan a part of them"))
        if faults:
            raise DesignError(*faults)

    @property
    def angle(self) -> float:
        """Winding angle. [rad]"""
        return winding_angle(self.core_diameter, self.strip_width, self.seam_gap)

    @property
    def strip_per_tube(self) -> float:
        """Strip of one tube, tails included. [m]"""
        return strip_length(self.tube_length, self.angle) + self.tails

    @property
    def refills(self) -> int:
        """Refills from a tube."""
        usable = self.tube_length - 2 * self.end_trim
        return floor((usable + self.kerf) / (self.refill_length + self.kerf) + 1e-9)

    @property
    def refill_places(self) -> tuple[tuple[float, float], ...]:
        """Where the refills lie in the tube, (from, to). [m]"""
        starts = [self.end_trim + n * (self.refill_length + self.kerf) for n in range(self.refills)]
        return tuple((start, start + self.refill_length) for start in starts)

    @property
    def free(self) -> tuple[tuple[float, float], ...]:
        """Stretches of the tube that become no refill, (from, to). [m]"""
        places = self.refill_places
        between = tuple((end, start) for (_, end), (start, _) in pairwise(places) if start > end)
        return ((0.0, self.end_trim), *between, (places[-1][1], self.tube_length))

    @property
    def windows(self) -> tuple[tuple[float, float], ...]:
        """Where a joint may lie in the strip of a tube. [m]"""
        extent = joint_extent(self.strip_width, self.overlap, self.angle)
        return joint_windows(self.free, self.tube_length, self.angle, extent, self.tails)


def _plan(design: SpliceDesign) -> SplicePlan:
    return splice_rolls(
        [row.length for row in design.rolls],
        design.strip_per_tube,
        design.windows,
        overlap=design.overlap,
        wanted=design.tubes,
    )


def _work_out(design: SpliceDesign) -> Result:
    plan = _plan(design)
    names = [row.name or f"roll {number}" for number, row in enumerate(design.rolls, start=1)]
    remarks = []
    for number, joint in enumerate(plan.joints, start=1):
        end = number == len(plan.joints)
        off = f", {joint.cut_off * 1e3:.0f} mm cut off its end" if joint.cut_off > HAIR else ""
        if end:
            where = f"; {plan.leftover:.2f} m left on it"
        elif joint.at <= HAIR:
            where = f"; the next roll begins tube {joint.tube}"
        else:
            where = f"; joint {joint.at:.3f} m into tube {joint.tube}"
        remarks.append(f"{number}: {names[joint.roll]}{off}{where}")
    unused = [name for index, name in enumerate(names) if index not in {joint.roll for joint in plan.joints}]
    if unused:
        remarks.append("Not needed: " + ", ".join(unused) + ".")
    if not plan.proven:
        remarks.append(f"{plan.tubes} tubes found; {plan.bound} are not proven impossible.")
    inside = sum(joint.at > HAIR for joint in plan.joints[:-1])
    used = sum(design.rolls[joint.roll].length for joint in plan.joints)
    room = sum(high - low for low, high in design.windows) / design.strip_per_tube
    checks = []
    if design.tubes is not None:
        checks.append(
            Check(
                "tubes from the rolls",
                plan.tubes,
                design.tubes,
                "at least",
                "",
                _NORMAL,
                "add a roll or order more strip",
            )
        )
    return Result(
        values=(
            Value("tubes", "tubes", plan.tubes),
            Value("bound", "most tubes any order makes", plan.bound),
            Value("refills", "refills", plan.tubes * design.refills),
            Value(
                "refills_unsorted",
                "good refills from all rolls as listed, joints left where they fall",
                _left_as_they_fall(design),
            ),
            Value("rolls_used", "rolls used", len(plan.joints)),
            Value("joints", "joints in offcuts, trims and tails", inside),
            Value("strip_per_tube", "strip for one tube", design.strip_per_tube, "m"),
            Value("joint_extent", "length of tube a joint reaches over", _extent(design), "mm"),
            Value("joint_room", "share of the strip where a joint may lie", room, "%"),
            Value("strip_used", "strip on the rolls used", used, "m"),
            Value("cut_off", "strip cut off at joints", plan.cut_off, "m"),
            Value("leftover", "strip left on the last roll", plan.leftover, "m"),
            Value("waste_share", "cut off over strip used up", plan.cut_off / max(used - plan.leftover, HAIR), "%"),
        ),
        checks=tuple(checks),
        steps=(
            Step("strip for one tube", "L/sin α + tails", design.strip_per_tube, "m", HELIX),
            Step("refills from a tube", "⌊(L − 2·trim + kerf)/(l + kerf)⌋", design.refills, "", "arithmetic"),
            Step("length of tube a joint reaches over", "w cos α + o sin α", _extent(design), "mm", HELIX),
            Step("most tubes by length", "⌊Σ R / S⌋", _by_length(design), "", "arithmetic"),
            Step("tubes", "best order and shortening of the rolls", plan.tubes, "", _NORMAL),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def _left_as_they_fall(design: SpliceDesign) -> int:
    """Good refills when the rolls are joined as listed, nothing cut off, and refills with a joint are sorted out."""
    extent, end, spoiled = _extent(design), 0.0, 0
    for row in design.rolls:
        place = end % design.strip_per_tube
        if end and place > HAIR:
            spoiled += spoiled_refills(place, design.refill_places, design.angle, extent, design.tails)
            end -= design.overlap
        end += row.length
    tubes = floor(end / design.strip_per_tube + HAIR)
    if design.tubes is not None:
        tubes = min(tubes, design.tubes)
    return tubes * design.refills - spoiled


def _extent(design: SpliceDesign) -> float:
    return joint_extent(design.strip_width, design.overlap, design.angle)


def _by_length(design: SpliceDesign) -> int:
    return floor(sum(row.length for row in design.rolls) / design.strip_per_tube + HAIR)


def draw_splices(design: SpliceDesign, result: Result) -> str:
    """One tube with its refills and the places a joint may reach over, to scale, and the joints of the plan."""
    plan = _plan(design)
    drawing = Drawing(f"{result['tubes']:g} tubes from {result['rolls_used']:g} rolls: where the joints lie")
    length, height = design.tube_length * 1e3, design.tube_length * 50
    drawing.rectangle(0, 0, length, height, "outline")
    x = design.end_trim * 1e3
    for _ in range(design.refills):
        drawing.rectangle(x, 0, design.refill_length * 1e3, height, "detail", hatch="diagonal", hint="refill")
        x += (design.refill_length + design.kerf) * 1e3
    extent = result["joint_extent"] * 1e3
    for number, joint in enumerate(plan.joints[:-1], start=1):
        middle = (joint.at - design.tails / 2) * sin(design.angle) * 1e3 if joint.at > HAIR else 0.0
        y = height + length / 25 * number
        if joint.at > HAIR:
            drawing.line(
                (middle - extent / 2, y), (middle + extent / 2, y), "accent", hint=f"joint in tube {joint.tube}"
            )
        else:
            drawing.line((0, y - height / 12), (0, y + height / 12), "accent", hint="a new tube begins the next roll")
        drawing.text(
            (max(middle + extent / 2, 0) + length / 80, y + length / 150),
            f"joint {number}, tube {joint.tube}",
            anchor="start",
        )
    drawing.dimension((0, 0), (length, 0), f"tube {length:g} mm", offset=-5)
    return drawing.svg()


SPLICE = Calculation(
    name="strip-splices",
    title="Strip from rolls",
    line="roller",
    about="Which rolls of strip to join in which order so that every joint stays out of the refills, and what that wastes.",
    inputs=SpliceDesign,
    run=_work_out,
    draw=draw_splices,
)
