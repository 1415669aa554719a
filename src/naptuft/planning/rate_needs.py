"""What making a product at a steady rate asks of the plant: machines, people, racks and mould cavities."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import ceil

from naptuft.book.model import Book, RouteStep
from naptuft.errors import DesignError, Fault
from naptuft.planning.capacity import cavities_for_rate, racks_for_rate
from naptuft.planning.design import Designs, seconds_each, unit_need
from naptuft.plant.calendar import open_stretches

WEEK = 7 * 86400.0
MOST = 0.85
"""Share of open time that is planned: common practice."""


@dataclass(frozen=True)
class CentreNeed:
    """What a rate asks of one work centre.

    run          machine time a week, setups left out [s]
    open         its machines' open time in a week without closures [s]
    machines     needed at `MOST` of their open time; `has` what there is
    people       heads kept busy while the work centre is open
    """

    work_centre: str
    crew: str
    run: float
    open: float
    machines: int
    has: int
    people: float

    @property
    def utilisation(self) -> float:
        """Share of its open time."""
        return self.run / self.open if self.open else 0.0


@dataclass(frozen=True)
class RackNeed:
    """Racks a rate keeps in use: Little's law over the steps that hold them, at the pace of the open hours."""

    rack: str
    needed: int
    has: int


@dataclass(frozen=True)
class CavityNeed:
    """Mould cavities one moulded part needs, and those its design has."""

    product: str
    needed: int
    has: int


@dataclass(frozen=True)
class RateNeeds:
    """What a rate of good units a week asks for.

    bottleneck   the work centre with the highest utilisation
    most         good units a week when the bottleneck is never idle, the plant making nothing else
    """

    product: str
    per_week: float
    centres: tuple[CentreNeed, ...]
    racks: tuple[RackNeed, ...]
    cavities: tuple[CavityNeed, ...]
    bottleneck: str
    most: float


def rate_needs(book: Book, designs: Designs, product: str, per_week: float) -> RateNeeds:
    """Machines, people, racks and cavities for a steady rate of a product, all its parts made in the plant.

    designs  as `design_products` gives them; per_week good units. Setups and changeovers are left out.
    Raises DesignError where the product is not in the book, has no route, or the rate is not above 0.
    """
    faults = []
    if product not in book.product:
        faults.append(Fault("product", product, "a product of the book", "correct the code"))
    if not per_week > 0:
        faults.append(Fault("rate", per_week, "above 0 a week", "write how many a week"))
    if faults:
        raise DesignError(*faults)
    steps = _steps(book, designs, product, per_week)
    if not steps:
        raise DesignError(Fault("product", product, "a product with a route", "add its route to the book"))
    opened = {machine.code: _open_a_week(book, machine.calendar) for machine in book.machines}
    run: dict[str, float] = defaultdict(float)
    for step, starts in steps:
        run[step.work_centre] += starts * seconds_each(designs, step)
    centres = tuple(
        _centre(book, centre.code, run[centre.code], opened) for centre in book.work_centres if centre.code in run
    )
    tightest = max(centres, key=lambda each: each.utilisation)
    return RateNeeds(
        product,
        per_week,
        centres,
        _racks(book, designs, steps, opened),
        _cavities(book, designs, steps, opened),
        tightest.work_centre,
        per_week / tightest.utilisation if tightest.utilisation else per_week,
    )


def _steps(book: Book, designs: Designs, product: str, units: float) -> list[tuple[RouteStep, float]]:
    """Each step of a product and of its parts, with the units started there."""
    started = units / (1.0 - book.product[product].scrap)
    found = [(step, started) for step in book.route_of.get(product, ())]
    for part in book.parts_of.get(product, ()):
        if part.part not in book.product:
            continue
        if part.from_design == "cut list":
            length = designs[product].result["length"] + book.settings.kerf
            need = started * length / designs[part.part].result["core_length"]
        else:
            need = started * unit_need(book, designs, part)
        found += _steps(book, designs, part.part, need)
    return found


def _open_a_week(book: Book, calendar: str) -> float:
    """Open time of a calendar in a week without closures. [s]"""
    return 60.0 * sum(end - begin for begin, end in open_stretches(book.shifts, (), (calendar,), book.start, 7))


def _machines(book: Book, centre: str, opened: dict[str, float]) -> float:
    """Machine time open in a week at the route's speed. [s]"""
    return sum(opened[machine.code] * machine.speed for machine in book.machines_of.get(centre, ()))


def _centre(book: Book, code: str, run: float, opened: dict[str, float]) -> CentreNeed:
    centre = next(each for each in book.work_centres if each.code == code)
    machines = book.machines_of.get(code, ())
    whole = _machines(book, code, opened)
    share = run / whole if whole else 0.0
    needed = ceil(share * len(machines) / MOST - 1e-9)
    return CentreNeed(code, centre.crew, run, whole, needed, len(machines), share * centre.people * len(machines))


def _pace(units: float, open_time: float) -> float:
    """Units a second while open."""
    return units / open_time


def _racks(
    book: Book, designs: Designs, steps: list[tuple[RouteStep, float]], opened: dict[str, float]
) -> tuple[RackNeed, ...]:
    needed: dict[str, int] = defaultdict(int)
    for step, starts in steps:
        if step.rack and step.per_rack:
            open_time = max((opened[m.code] for m in book.machines_of.get(step.work_centre, ())), default=0.0)
            on_rack = step.wait + seconds_each(designs, step) * step.per_rack
            if open_time and on_rack:
                pace = _pace(starts, open_time) if on_rack < open_time / 7 else _pace(starts, WEEK)
                needed[step.rack] += racks_for_rate(pace, on_rack, step.per_rack)
    return tuple(RackNeed(rack.code, needed[rack.code], rack.capacity) for rack in book.racks if rack.code in needed)


def _cavities(
    book: Book, designs: Designs, steps: list[tuple[RouteStep, float]], opened: dict[str, float]
) -> tuple[CavityNeed, ...]:
    found = []
    for step, starts in steps:
        design = book.designs.get(step.product)
        has = getattr(design, "cavities", None)
        if step.from_design != "moulding_time" or has is None or step.product not in designs:
            continue
        open_time = max((opened[m.code] for m in book.machines_of.get(step.work_centre, ())), default=0.0)
        if open_time:
            cycle = designs[step.product].result["moulding_time"] * has
            found.append(CavityNeed(step.product, cavities_for_rate(_pace(starts, open_time), cycle, most=MOST), has))
    return tuple(found)
