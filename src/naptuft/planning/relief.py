"""For each late order: its causes, the chain that makes it late, and the cheapest relief that was tried.

A cause is confirmed by a new search without it: the order is then on time. A relief changes one thing (longer
hours, another machine, a purchase sooner, a batch in two halves, its work put ahead of others'), and the plan's own
sequence is put on the floor again: nothing is guessed, and nothing else is moved. Where that is not enough, the most
promising reliefs are searched anew. What each does to the order and to all the others is told with what it costs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from naptuft.book.model import Book
from naptuft.planning.answered import Answered, answered
from naptuft.planning.causes import Cause, without
from naptuft.planning.plan import OrderOutcome, Plan
from naptuft.planning.problem import Job, Machine, Operation, Placement, Problem
from naptuft.planning.replan.keep import in_order
from naptuft.planning.replan.shift import Choice, Floor, Key, Shifter
from naptuft.planning.tied import pairs, schedule_tied
from naptuft.planning.why_late import LateWork
from naptuft.plant.work_centre import WorkCentre

Kind = Literal["longer hours", "other machine", "sooner delivery", "two halves", "put ahead"]
LONGER_HOURS = (1, 2, 4, 8)
SOONER_DAYS = (1, 2, 3, 5, 7, 10, 14)
AHEAD_HOURS = (8, 24, 48)
EFFORT = 1500
"""Candidate plans tried where a changed problem is searched anew."""
SEARCHED = 3
"""Reliefs of an order searched anew where none was enough."""
OVERTIME = Decimal("1.5")
"""What an hour of overtime is paid, over the usual hour: common practice, and law in many places."""
CENT = Decimal("0.01")
DAY = 1440


@dataclass(frozen=True)
class Link:
    """One operation of the chain that ends in a late order, the last first.

    waited  minutes between when it could have started by its own job and when it did
    reason  why it did not start earlier
    """

    work_order: str
    operation: str
    machine: str
    start: int
    end: int
    waited: int
    reason: str


@dataclass(frozen=True)
class Relief:
    """One relief tried on one order.

    late_minutes  how late the order then is; others: weighted late minutes of all other orders, more (or less)
    cost          extra money, where it is known: overtime and machine hours; None: ask (a supplier, say)
    searched      True: everything was planned anew with it; False: all else kept its place in the sequence
    """

    kind: Kind
    words: str
    late_minutes: int
    others: float
    cost: Decimal | None
    searched: bool = False

    @property
    def enough(self) -> bool:
        """Whether the order is on time with it."""
        return self.late_minutes == 0


@dataclass(frozen=True)
class LateOrder:
    """A late order, why, and what was tried, the best first.

    causes     what makes it late, the largest first
    confirmed  whether a new search without the causes had it on time; None where none was made
    """

    order: str
    late_minutes: int
    causes: tuple[Cause, ...]
    confirmed: bool | None
    chain: tuple[Link, ...]
    tried: tuple[Relief, ...]

    @property
    def best(self) -> Relief | None:
        """The cheapest relief that is enough, else the one that helps most; None where nothing helps."""
        return self.tried[0] if self.tried and self.tried[0].late_minutes < self.late_minutes else None


def late_orders(
    book: Book,
    plan: Plan,
    progress: Callable[[str, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
    *,
    effort: int = EFFORT,
    seed: int = 1,
) -> tuple[LateOrder, ...]:
    """Every late order of a plan with its causes, its chain and the reliefs tried.

    effort  candidate plans tried in each new search; 0: nothing is searched anew
    Raises DesignError where the plan was made from another book. With `stop`, those looked at so far.
    """
    posed = answered(book, plan)
    bench = _Bench(book, plan, posed, effort, seed)
    late = [order for order in plan.orders if order.late_minutes > 0 and order.work_orders]
    found = []
    for number, order in enumerate(late):
        if stop is not None and stop():
            break
        if progress is not None:
            progress(f"reliefs for {order.name}", number / len(late))
        found.append(bench.order(order))
    return tuple(found)


@dataclass(frozen=True)
class _Tried:
    problem: Problem
    late: int
    others: float
    placed: Mapping[Key, Placement]


class _Bench:
    """One plan on the floor, to try one change at a time on."""

    def __init__(self, book: Book, plan: Plan, posed: Answered, effort: int, seed: int):
        self.book, self.plan = book, plan
        self.effort, self.seed = effort, seed
        self.late_work = LateWork(posed.timing.problem, posed.schedule.placements, posed.allocated.waits_for)
        self.problem, self.ties = posed.timing.problem, posed.timing.ties
        self.placed = {(p.job, p.index): p for p in posed.schedule.placements}
        self.job_of = {job.name: number for number, job in enumerate(self.problem.jobs)}
        self.centre = {machine.code: machine.work_centre for machine in book.machines}
        self.direct = {order.name: [self.job_of[n] for n in order.work_orders] for order in plan.orders}
        self.due = {order.name: self._minute(order) for order in plan.orders}
        self.weight = {order.name: order.weight for order in book.orders}
        self.base = self._try(self.problem, self._rank(), {})

    def _minute(self, order: OrderOutcome) -> int:
        return int((order.due - self.plan.start).total_seconds() // 60)

    def _rank(self) -> dict[Key, float]:
        return {key: float(placed.start) for key, placed in self.placed.items()}

    def _try(self, problem: Problem, rank: Mapping[Key, float], machines: Mapping[Key, int], of: str = "") -> _Tried:
        shifter = Shifter(Floor(problem, 0, {}, ties=pairs(problem, self.ties)))
        chosen: dict[Key, tuple[int, int]] = {}
        for key in rank:
            operation = shifter.operation[key]
            wanted = machines.get(key, self.placed[key].machine if key in self.placed else operation.modes[0].machine)
            mode = next((m for m in operation.modes if m.machine == wanted), operation.modes[0])
            chosen[key] = mode.machine, mode.duration
        return self._judged(problem, shifter.shift(Choice(in_order(shifter, rank, sorted(rank)), chosen, {})), of)

    def _searched(self, problem: Problem, of: str) -> _Tried:
        """The problem planned anew."""
        plan = schedule_tied(problem, self.ties, seed=self.seed, effort=self.effort)
        return self._judged(problem, {(p.job, p.index): p for p in plan.placements}, of)

    def _judged(self, problem: Problem, placed: Mapping[Key, Placement], of: str) -> _Tried:
        ends: dict[str, int] = {}
        for number, job in enumerate(problem.jobs):
            finish = placed[number, len(job.operations) - 1].end + job.operations[-1].min_wait
            name = job.name.removesuffix(_SECOND)
            ends[name] = max(ends.get(name, 0), finish)
        late = {
            name: max(0, max(ends[self.problem.jobs[job].name] for job in jobs) - self.due[name])
            for name, jobs in self.direct.items()
            if jobs
        }
        others = sum(self.weight.get(name, 1.0) * minutes for name, minutes in late.items() if name != of)
        return _Tried(problem, late.get(of, 0), others, placed)

    def order(self, order: OrderOutcome) -> LateOrder:
        """One late order looked into."""
        before = self._try(self.problem, self._rank(), {}, order.name)
        chain = self._chain(order)
        causes, confirmed = self._causes(order)
        found = [
            (Relief(kind, words, after.late, after.others - before.others, cost), after.problem)
            for kind, words, after, cost in self._reliefs(order, chain)
        ]
        tried = [relief for relief, _ in found if relief.late_minutes < before.late]
        if self.effort and not any(relief.enough for relief in tried):
            tried += self._searched_anew(order.name, before, found)
        tried.sort(key=lambda r: (not r.enough, r.others > 0, r.late_minutes, r.cost is None, r.cost or 0, r.others))
        links = tuple(self._link(key) for key in chain)
        return LateOrder(order.name, order.late_minutes, causes, confirmed, links, tuple(tried))

    def _causes(self, order: OrderOutcome) -> tuple[tuple[Cause, ...], bool | None]:
        """Why an order is late, and whether it is on time in a new plan without that."""
        due = self.due[order.name]
        causes = self.late_work.of(order.work_orders, due)
        if not self.effort or not causes or not causes[0].removable:
            return causes, None
        if self._searched(without(self.problem, causes), order.name).late == 0:
            return causes, True
        more = self.late_work.with_more(order.work_orders, due)
        return more, self._searched(without(self.problem, more), order.name).late == 0

    def _searched_anew(self, name: str, before: _Tried, found: Sequence[tuple[Relief, Problem]]) -> list[Relief]:
        """The most promising reliefs that change the problem, each kind's best, planned anew."""
        best: dict[Kind, tuple[Relief, Problem]] = {}
        for relief, problem in sorted(found, key=lambda one: (one[0].late_minutes, one[0].cost or 0)):
            if problem != self.problem:
                best.setdefault(relief.kind, (relief, problem))
        again = []
        for relief, problem in list(best.values())[:SEARCHED]:
            after = self._searched(problem, name)
            if after.late < before.late:
                others = after.others - before.others
                words = f"{relief.words}, all planned anew"
                again.append(replace(relief, words=words, late_minutes=after.late, others=others, searched=True))
        return again

    def _chain(self, order: OrderOutcome) -> list[Key]:
        """The operations that end in the order, back along whichever was last of what each waited for."""
        jobs = self.problem.jobs

        def finish(job: int) -> int:
            last = self.placed[job, len(jobs[job].operations) - 1]
            return last.end + jobs[job].operations[-1].min_wait

        chain = []
        job: int | None = max(self.direct[order.name], key=finish)
        while job is not None:
            chain += [(job, index) for index in reversed(range(len(jobs[job].operations)))]
            makers = [self.job_of[name] for name in jobs[job].after]
            last = max(makers, key=finish, default=None)
            job = last if last is not None and finish(last) > jobs[job].release else None
        return chain

    def _link(self, key: Key) -> Link:
        placed, (job, index) = self.placed[key], key
        operations = self.problem.jobs[job].operations
        ready = self.problem.jobs[job].release
        if index:
            ready = self.placed[job, index - 1].end + operations[index - 1].min_wait
        else:
            for name in self.problem.jobs[job].after:
                maker = self.job_of[name]
                last = len(self.problem.jobs[maker].operations) - 1
                ready = max(ready, self.placed[maker, last].end + self.problem.jobs[maker].operations[last].min_wait)
        return Link(
            self.problem.jobs[job].name,
            operations[index].name,
            self.problem.machines[placed.machine].name,
            placed.start,
            placed.end,
            max(0, placed.start - ready),
            placed.reason,
        )

    def _reliefs(self, order: OrderOutcome, chain: list[Key]):
        name = order.name
        for machine in dict.fromkeys(self.placed[key].machine for key in chain):
            yield from self._longer(name, machine, self._rank(), "")
            yield from self._longer(name, machine, self._ahead(chain, AHEAD_HOURS[0]), ", its work put ahead")
        for key in chain:
            yield from self._elsewhere(name, key)
        yield from self._sooner(name, chain)
        yield from self._halves(name, chain)
        for hours in AHEAD_HOURS:
            after = self._try(self.problem, self._ahead(chain, hours), {}, name)
            yield "put ahead", f"its work put {hours} h ahead of others'", after, Decimal(0)

    def _ahead(self, chain: list[Key], hours: int) -> dict[Key, float]:
        """The order of the plan with a chain put so far ahead of the rest."""
        rank = self._rank()
        for key in chain:
            rank[key] -= 60 * hours
        return rank

    def _longer(self, name: str, machine: int, rank: Mapping[Key, float], also: str):
        """One machine open longer each working day."""
        known = self.problem.machines[machine]
        if known.open is None:
            return
        for hours in LONGER_HOURS:
            longer = replace(known, open=_longer_days(known.open, hours * 60))
            problem = replace(self.problem, machines=_with(self.problem.machines, machine, longer))
            after = self._try(problem, rank, {}, name)
            used = sum(
                _outside(known.open, p.start, p.end) - _outside(longer.open or (), p.start, p.end)
                for p in after.placed.values()
                if p.machine == machine
            )
            words = f"{known.name} open {hours} h longer each day{also} ({used / 60:.1f} h of it used)"
            yield "longer hours", words, after, self._cost_of_hours(known.name, used)
            if after.late == 0:
                return

    def _cost_of_hours(self, code: str, minutes: int) -> Decimal:
        machine = next(m for m in self.book.machines if m.code == code)
        centre: WorkCentre = next(c for c in self.book.work_centres if c.code == machine.work_centre)
        wage = next((crew.wage_per_hour for crew in self.book.crews if crew.code == centre.crew), Decimal(0))
        hour = machine.rate_per_hour + OVERTIME * wage * Decimal(repr(centre.people))
        return (hour * Decimal(minutes) / 60).quantize(CENT)

    def _elsewhere(self, name: str, key: Key):
        """One operation on another machine that can do it."""
        operation = self.problem.jobs[key[0]].operations[key[1]]
        for mode in operation.modes:
            if mode.machine != self.placed[key].machine:
                after = self._try(self.problem, self._rank(), {key: mode.machine}, name)
                job, machine = self.problem.jobs[key[0]].name, self.problem.machines[mode.machine].name
                yield "other machine", f"{job} {operation.name} on {machine}", after, Decimal(0)

    def _sooner(self, name: str, chain: list[Key]):
        """What the chain waits for delivered sooner."""
        waiting = [number for number, index in chain if index == 0 and self.problem.jobs[number].release > 0]
        for days in SOONER_DAYS if waiting else ():
            jobs = list(self.problem.jobs)
            for number in waiting:
                jobs[number] = replace(jobs[number], release=max(0, jobs[number].release - days * DAY))
            after = self._try(replace(self.problem, jobs=tuple(jobs)), self._ahead(chain, 24 * days), {}, name)
            bought = self._bought([self.problem.jobs[number].name for number in waiting])
            yield "sooner delivery", f"{bought} {days} d sooner", after, None
            if after.late == 0:
                return

    def _bought(self, work_orders: list[str]) -> str:
        codes = sorted({a.lot for a in self.plan.allocations if a.work_order in work_orders and a.source == "purchase"})
        return f"purchase {', '.join(codes)}" if codes else "what it waits for"

    def _halves(self, name: str, chain: list[Key]):
        """A batch of the chain made in two halves, side by side where a step has a second machine."""
        for number in dict.fromkeys(job for job, _ in chain):
            job = self.problem.jobs[number]
            if all(len({mode.machine for mode in operation.modes}) < 2 for operation in job.operations):
                continue
            problem, machines, rank = self._halved(number, job)
            after = self._try(problem, rank, machines, name)
            yield "two halves", f"{job.name} in two halves, on two machines where there are two", after, Decimal(0)

    def _halved(self, number: int, job: Job) -> tuple[Problem, dict[Key, int], dict[Key, float]]:
        setups = self._setups(job.name)
        second = len(self.problem.jobs)
        half = tuple(_half(operation, setup) for operation, setup in zip(job.operations, setups, strict=True))
        jobs = [
            replace(each, after=(*each.after, job.name + _SECOND)) if job.name in each.after else each
            for each in self.problem.jobs
        ]
        jobs[number] = replace(jobs[number], operations=half)
        jobs.append(replace(job, name=job.name + _SECOND, operations=half, due=None))
        rank, machines = self._rank(), {}
        for index, operation in enumerate(half):
            first = self.placed[number, index].machine
            machines[second, index] = next((m.machine for m in operation.modes if m.machine != first), first)
            rank[second, index] = rank[number, index] + 0.5
        return replace(self.problem, jobs=tuple(jobs)), machines, rank

    def _setups(self, number: str) -> list[int]:
        order = next(order for order in self.plan.work_orders if order.number == number)
        steps = [step for step in self.book.route_of[order.product] if step.stage == order.stage]
        return [int(-(-step.setup // 60)) for step in steps]


_SECOND = " (second half)"


def _half(operation: Operation, setup: int) -> Operation:
    modes = tuple(replace(m, duration=setup + max(1, -(-(m.duration - setup) // 2))) for m in operation.modes)
    return replace(operation, modes=modes, units=-(-operation.units // 2))


def _with(machines: tuple[Machine, ...], number: int, machine: Machine) -> tuple[Machine, ...]:
    return (*machines[:number], machine, *machines[number + 1 :])


def _longer_days(stretches: tuple[tuple[int, int], ...], minutes: int) -> tuple[tuple[int, int], ...]:
    """Each stretch open so much longer, at most until the next; what meets becomes one.

    >>> _longer_days(((0, 480), (1440, 1920)), 60)
    ((0, 540), (1440, 1980))
    >>> _longer_days(((0, 480), (500, 600)), 60)
    ((0, 660),)
    """
    made: list[tuple[int, int]] = []
    for opens, closes in stretches:
        if made and opens <= made[-1][1]:
            made[-1] = made[-1][0], max(made[-1][1], closes + minutes)
        else:
            made.append((opens, closes + minutes))
    return tuple(made)


def _outside(stretches: tuple[tuple[int, int], ...], start: int, end: int) -> int:
    """Minutes of [start, end) outside the stretches."""
    inside = sum(max(0, min(end, closes) - max(start, opens)) for opens, closes in stretches)
    return end - start - inside


def chains(orders: tuple[LateOrder, ...]) -> Mapping[str, int]:
    """Minutes waited on each machine over all late orders: where relief is worth looking for first."""
    waited: dict[str, int] = defaultdict(int)
    for order in orders:
        for link in order.chain:
            waited[link.machine] += link.waited
    return dict(sorted(waited.items(), key=lambda item: -item[1]))
