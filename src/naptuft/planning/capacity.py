"""Capacity at rough cut: the bottleneck, what a rate needs of racks, cavities and people, and the months ahead.

Little's law: J. D. C. Little, Operations Research 9 (1961) 383. Utilisation and the bottleneck: Hopp and
Spearman, Factory Physics, ch. 7 (from memory). Queue at machines alike with random arrivals and times: A. K.
Erlang's waiting formula, as in Gross and Harris, Fundamentals of Queueing Theory, sec. 2.3 (from memory).
Line balance: least stations of a takt time, as in Groover, Automation, Production Systems, ch. 15 (from memory).
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil, inf

from naptuft.book.model import Book
from naptuft.errors import DesignError, Fault
from naptuft.planning.design import Designs, seconds_each, unit_need
from naptuft.plant.calendar import moment_at, open_stretches
from naptuft.plant.work_centre import changeover_minutes


@dataclass(frozen=True)
class Station:
    """A step of a line.

    time      machine time for one unit, its share of setups and changeovers in it [s]
    machines  machines alike
    open      share of the clock they are open (0 to 1)
    good      share of units that come out good
    """

    name: str
    time: float
    machines: int = 1
    open: float = 1.0
    good: float = 1.0

    def __post_init__(self) -> None:
        faults = []
        if not self.time > 0:
            faults.append(Fault(f"{self.name}, time", self.time, "above 0 s", "write the time for one unit"))
        if self.machines < 1:
            faults.append(Fault(f"{self.name}, machines", self.machines, "at least 1", "write how many there are"))
        faults += [
            Fault(f"{self.name}, {name}", share, "above 0 and at most 1", "write it as a share")
            for name, share in (("open", self.open), ("good", self.good))
            if not 0 < share <= 1
        ]
        if faults:
            raise DesignError(*faults)


@dataclass(frozen=True)
class LineLoad:
    """What a rate asks of one station: units started per second, and the share of its open time in use."""

    station: str
    starts: float
    utilisation: float


@dataclass(frozen=True)
class LineCapacity:
    """What a line can do.

    bottleneck  the station with the highest utilisation at any rate
    rate        good units out per second when the bottleneck is never idle
    loads       at the rate asked for, in the order of the line
    """

    bottleneck: str
    rate: float
    loads: tuple[LineLoad, ...]


def line_capacity(stations: Sequence[Station], rate: float) -> LineCapacity:
    """The bottleneck of a line and its loads at a rate of good units out. [1/s]

    A station starts what the stations after it, and itself, need to lose: rate / product of their good shares.
    Raises DesignError where there is no station or the rate is not above 0.

    >>> line = (Station("dip", 30.0, good=0.9), Station("print", 20.0))
    >>> answer = line_capacity(line, 1 / 60)
    >>> answer.bottleneck, round(3600 * answer.rate), [round(load.utilisation, 4) for load in answer.loads]
    ('dip', 108, [0.5556, 0.3333])
    """
    if not stations or not rate > 0:
        raise DesignError(Fault("line", rate, "at least one station and a rate above 0", "add them"))
    starts, loads = rate, []
    for station in reversed(stations):
        starts /= station.good
        loads.append(LineLoad(station.name, starts, starts * station.time / (station.machines * station.open)))
    loads.reverse()
    tightest = max(loads, key=lambda load: load.utilisation)
    return LineCapacity(tightest.station, rate / tightest.utilisation, tuple(loads))


def units_inside(rate: float, time_inside: float) -> float:
    """Units in a system on average: L = lambda W. Source: Little 1961.

    >>> round(units_inside(1000 / 86400, 45 * 86400))
    45000
    """
    return rate * time_inside


def racks_for_rate(rate: float, time_on_rack: float, per_rack: int, spare: float = 0.0) -> int:
    """Racks a rate keeps in use, a share spare on top: ceil(rate × time × (1 + spare) / per rack).

    rate [units/s]; time_on_rack from hanging to taking down [s]. Source: Little's law. Raises DesignError.

    >>> racks_for_rate(600 / 3600, 4 * 3600, 30), racks_for_rate(600 / 3600, 4 * 3600, 30, 0.25)
    (80, 100)
    """
    _ask(rate=rate, time_on_rack=time_on_rack, per_rack=per_rack)
    return ceil(units_inside(rate, time_on_rack) * (1 + spare) / per_rack - 1e-9)


def cavities_for_rate(rate: float, cycle: float, open_share: float = 1.0, good: float = 1.0, most: float = 0.85) -> int:
    """Cavities a press needs for a rate of good parts: ceil(rate × cycle / (good × open × most in use)).

    rate [parts/s]; cycle of the press [s]; most: highest share of open time planned (common practice 0.85).
    Raises DesignError.

    >>> cavities_for_rate(400 / 3600, 38.0, good=0.98)
    6
    """
    _ask(rate=rate, cycle=cycle, open_share=open_share, good=good, most=most)
    return ceil(rate * cycle / (good * open_share * most) - 1e-9)


def takt_time(open_time: float, units: float) -> float:
    """Time from one unit to the next that meets a demand: open time / units. [s] Raises DesignError.

    >>> takt_time(8 * 3600 - 1800, 450)
    60.0
    """
    _ask(open_time=open_time, units=units)
    return open_time / units


def crew_for_rate(work: Sequence[float], takt: float, most: float = 1.0) -> int:
    """Fewest people for a line: ceil(sum of work contents / (takt × most in use)).

    work [s] of each task for one unit; no division of tasks over people is known to need fewer. Raises DesignError.

    >>> crew_for_rate([24.0, 42.0, 30.0, 66.0, 42.0, 18.0], 60.0)
    4
    """
    _ask(takt=takt, most=most)
    return ceil(sum(work) / (takt * most) - 1e-9)


@dataclass(frozen=True)
class Seat:
    """One person's place on a line: the tasks done there and their time together [s]."""

    tasks: tuple[str, ...]
    time: float


def balance_line(tasks: Mapping[str, float], after: Mapping[str, Sequence[str]], takt: float) -> tuple[Seat, ...]:
    """Tasks dealt to people in line, none longer than the takt: largest positional weight first.

    tasks [s] for one unit; after: task -> tasks that must be done before it. Not proven to be the fewest:
    compare with `crew_for_rate`. Raises DesignError for a task longer than the takt, unknown or in a loop.
    Source: Helgeson and Birnie, J. Industrial Engineering 12 (1961) 394 (from memory).

    >>> [seat.tasks for seat in balance_line({"a": 5.0, "b": 3.0, "c": 4.0}, {"b": ["a"], "c": ["a"]}, 8.0)]
    [('a', 'b'), ('c',)]
    """
    _ask(takt=takt)
    unknown = sorted({name for names in (after, *after.values()) for name in names if name not in tasks})
    faults = [Fault("line, after", name, "one of the tasks", "correct the name") for name in unknown]
    faults += [
        Fault(f"task {name}", time, f"at most the takt, {takt:g} s", "split the task, or put two people on it")
        for name, time in tasks.items()
        if time > takt
    ]
    if faults:
        raise DesignError(*faults)
    weight = _positional_weights(tasks, after)
    seats: list[Seat] = []
    names: list[str] = []
    used, placed = 0.0, set[str]()
    while len(placed) < len(tasks):
        able = [
            name
            for name in tasks
            if name not in placed
            and all(before in placed for before in after.get(name, ()))
            and used + tasks[name] <= takt + 1e-9
        ]
        if able:
            name = max(able, key=lambda name: weight[name])
            names.append(name)
            placed.add(name)
            used += tasks[name]
        else:
            seats.append(Seat(tuple(names), used))
            names, used = [], 0.0
    return (*seats, Seat(tuple(names), used)) if names else tuple(seats)


def _positional_weights(tasks: Mapping[str, float], after: Mapping[str, Sequence[str]]) -> Mapping[str, float]:
    """Time of each task and of all that must follow it. Raises DesignError where tasks wait for themselves."""
    followers: dict[str, set[str]] = {name: set() for name in tasks}
    waiting, done = dict(tasks), set[str]()
    order: list[str] = []
    while waiting:
        free = [name for name in waiting if all(before in done for before in after.get(name, ()))]
        if not free:
            raise DesignError(
                Fault("line, after", ", ".join(waiting), "no task that waits for itself", "break the loop")
            )
        for name in free:
            del waiting[name]
            done.add(name)
            order.append(name)
    for name in reversed(order):
        for before in after.get(name, ()):
            followers[before] |= {name} | followers[name]
    return {name: tasks[name] + sum(tasks[other] for other in followers[name]) for name in tasks}


def waiting_odds(arrivals: float, service: float, machines: int) -> float:
    """Share of arrivals that must wait, at machines alike with random arrivals and times: Erlang's C formula.

    arrivals, service [1/s], service of one machine. Raises DesignError where the machines cannot keep up.

    >>> round(waiting_odds(2.0, 3.0, 1), 4), round(waiting_odds(10.0, 6.0, 2), 4)
    (0.6667, 0.7576)
    """
    _ask(arrivals=arrivals, service=service, machines=machines)
    offered = arrivals / service
    if offered >= machines:
        raise DesignError(
            Fault("arrivals", arrivals, f"below {machines} × {service:g}, what the machines can do", "add machines")
        )
    blocked = 1.0
    for number in range(1, machines + 1):
        blocked = offered * blocked / (number + offered * blocked)
    return blocked / (1 - offered / machines * (1 - blocked))


def mean_wait(arrivals: float, service: float, machines: int) -> float:
    """Mean wait before service: C / (machines × service − arrivals). [s] Raises as `waiting_odds`.

    >>> round(mean_wait(2.0, 3.0, 1), 4)
    0.6667
    """
    return waiting_odds(arrivals, service, machines) / (machines * service - arrivals)


def _ask(**given: float) -> None:
    wrong = [
        Fault(name.replace("_", " "), value, "above 0", f"raise the {name.replace('_', ' ')}")
        for name, value in given.items()
        if not value > 0
    ]
    if wrong:
        raise DesignError(*wrong)


@dataclass(frozen=True)
class RoughLoad:
    """What one period asks of one work centre, from orders alone, by due date.

    run_minutes, setup_minutes   work of what is due in the period; setups count one for each order line
    open_minutes                 its machines together
    people                       heads the load keeps busy while the work centre is open
    """

    work_centre: str
    start: datetime.date
    run_minutes: float
    setup_minutes: float
    open_minutes: float
    people: float

    @property
    def utilisation(self) -> float:
        """Share of open time asked for; infinite where work falls due and nothing is open."""
        asked = self.run_minutes + self.setup_minutes
        if self.open_minutes <= 0:
            return inf if asked > 0 else 0.0
        return asked / self.open_minutes


def rough_cut(book: Book, designs: Designs, days: int = 28, periods: int = 3) -> tuple[RoughLoad, ...]:
    """Load of every work centre in periods ahead: what falls due then, exploded through all parts, no stock counted.

    designs  as `design_products` gives them; days in a period. In the order of periods, then of work centres.
    Setups count the route's, and the longest change to the step's family. What is due after the last period is left
    out; what is due before the plan starts counts in the first.

    >>> from naptuft.book.model import Settings
    >>> empty = Book(Settings(plant="P", start=datetime.datetime(2026, 11, 30), zone="UTC"))
    >>> rough_cut(empty, {})
    ()
    """
    asked: dict[tuple[int, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
    for order in book.orders:
        days_on = (order.due.replace(tzinfo=book.start.tzinfo) - book.start).total_seconds() / 86400
        period = max(0, int(days_on // days))
        if period < periods:
            for centre, run, setup in _work_of(book, designs, order.product, float(order.quantity)):
                asked[period, centre][0] += run
                asked[period, centre][1] += setup
    loads = []
    for period in range(periods):
        since, until = period * days * 1440, (period + 1) * days * 1440
        for centre in book.work_centres:
            opened = 0.0
            for machine in book.machines_of.get(centre.code, ()):
                stretches = open_stretches(
                    book.shifts, book.closures, (machine.calendar, machine.code), book.start, (period + 1) * days
                )
                opened += sum(min(e, until) - max(b, since) for b, e in stretches if e > since) * machine.speed
            run, setup = asked[period, centre.code]
            people = (
                centre.people * (run + setup) / opened * len(book.machines_of.get(centre.code, ())) if opened else 0.0
            )
            start = moment_at(book.start, since).date()
            loads.append(RoughLoad(centre.code, start, run, setup, opened, people))
    return tuple(loads)


def _work_of(book: Book, designs: Designs, product: str, quantity: float) -> list[tuple[str, float, float]]:
    """Work centre, running and setup minutes of each step that so much of a product takes, its parts included."""
    item = book.product[product]
    started = quantity / (1.0 - item.scrap)
    work = []
    for step in book.route_of.get(product, ()):
        change = max(
            (
                changeover_minutes(book.changeovers, step.work_centre, other.family, step.family)
                for other in book.routes
                if other.work_centre == step.work_centre and other.family and step.family
            ),
            default=0,
        )
        work.append((step.work_centre, started * seconds_each(designs, step) / 60, step.setup / 60 + change))
    for part in book.parts_of.get(product, ()):
        if part.part not in book.product:
            continue
        if part.from_design == "cut list":
            length = designs[product].result["length"]
            need = started * (length + book.settings.kerf) / designs[part.part].result["core_length"]
        else:
            need = started * unit_need(book, designs, part)
        work += _work_of(book, designs, part.part, need)
    return work


def machine_counts(loads: Sequence[RoughLoad], machines: Mapping[str, int], most: float = 0.85) -> Mapping[str, int]:
    """Machines each work centre needs in its busiest period, at a highest share of open time (common practice 0.85).

    >>> machine_counts([RoughLoad("DIP", datetime.date(2026, 11, 30), 900.0, 100.0, 800.0, 1.0)], {"DIP": 2})
    {'DIP': 3}
    """
    busiest: dict[str, float] = defaultdict(float)
    for load in loads:
        if load.open_minutes > 0:
            busiest[load.work_centre] = max(busiest[load.work_centre], load.utilisation)
    return {
        centre: max(1 if share > 0 else 0, ceil(share * machines[centre] / most - 1e-9))
        for centre, share in busiest.items()
    }
