"""From a plan, a time and what happened to a new plan, and the list of what changed."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping, Set
from dataclasses import dataclass, replace

from naptuft.book.model import Book, Order
from naptuft.errors import DesignError, Fault, Infeasible
from naptuft.planning.allocate import Allocated
from naptuft.planning.answered import Answered, answered
from naptuft.planning.check import check_schedule
from naptuft.planning.explode import Explosion
from naptuft.planning.outcome import order_outcomes, work_orders_of
from naptuft.planning.plan import Finding, Plan, PlannedOperation, Quality
from naptuft.planning.problem import Placement, Problem, Schedule
from naptuft.planning.replan.changes import Change, changes_of, pushed_by
from naptuft.planning.replan.charge import Charge
from naptuft.planning.replan.happenings import Happening, check_happenings, with_zone
from naptuft.planning.replan.held import ask_held, hold, still_pinned
from naptuft.planning.replan.improve import Aims, Trial, improve_both
from naptuft.planning.replan.keep import in_order, keep_in_place
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import FAR, Choice, Floor, Shifter
from naptuft.planning.replan.standing import Standing, Told, standing_at
from naptuft.planning.replan.told import must_move, outlasting, to_be_told
from naptuft.planning.replan.work import Work
from naptuft.planning.schedule.reasons import explain
from naptuft.planning.tied import pairs
from naptuft.planning.timing import Timing, loads_of, operations_of, pose
from naptuft.plant.calendar import Closure, minutes_after, moment_at

MOST_MOVED = 0.1


@dataclass(frozen=True)
class Replanned:
    """The new plan and what changed.

    book    the book the plan answers: orders, lots and closures as they are now
    ahead   operations that were planned, and are not started, at the time of replanning
    moved   those of them that are no longer on their machine at their time, be it a minute off
    most    those that were to move at most; `moved` is more only where no plan was found in which so few move
    told    those the floor must be told of: on another machine, out of their machine's order, or starting off
            by more than the tolerance of the charge
    stuck   those that no plan could have left in place: their machine is shut then, or what they wait for not over
    pushed  where more moved than were to: the machines that push them off, and how many each
    freer   the best plan found were all allowed to move, where it is better; None: none was, or none was looked for
    """

    book: Book
    plan: Plan
    at: datetime.datetime
    changes: tuple[Change, ...]
    moved: int
    ahead: int
    told: int = 0
    stuck: int = 0
    most: int = 0
    pushed: tuple[tuple[str, int], ...] = ()
    freer: Replanned | None = None

    @property
    def beyond(self) -> str:
        """Why more moved than were to, in words; "" where no more did."""
        if self.moved <= self.most:
            return ""
        by = ", ".join(f"{name} pushes {count}" for name, count in self.pushed[:3])
        return f"no plan was found in which at most {self.most} of {self.ahead} operations ahead move: {by}"


def replan(
    book: Book,
    plan: Plan,
    at: datetime.datetime,
    happenings: tuple[Happening, ...],
    seconds: float = 1.0,
    seed: int = 1,
    effort: int | None = None,
    charge: Charge | None = None,
    stop: Callable[[], bool] | None = None,
    most_moved: float = MOST_MOVED,
) -> Replanned:
    """Change a plan by what happened until a time.

    book     the book the plan was made from
    at       time of replanning, by the plant's clock (a zone is taken to be the plant's)
    seconds  for looking for better than the repaired plan; effort: or so many candidate plans, which repeats
    charge   what moving planned work counts
    most_moved  the share of the operations ahead that may move, wherever a plan is found in which no more do;
                what the best plan without that limit comes to is told beside it

    Done and running work stays as it is. What is ahead keeps its machine, order and start where it can, is pushed
    later where it must, and moves otherwise only where that saves more than the charge.
    Costs and the checker's findings are left out, as in `plan_weeks`.
    What is pinned, in the book or by a happening, and what is frozen does not move.
    Raises DesignError with everything in the happenings that does not fit the book, the plan or the time;
    Infeasible where the calendars have no room left, or with what is held that cannot stay and why.
    """
    at = (at if at.tzinfo is None else at.astimezone(book.start.tzinfo)).replace(
        tzinfo=book.start.tzinfo, second=0, microsecond=0
    )
    faults = list(check_happenings(book, plan, at, happenings))
    if not book.start <= at:
        allowed = f"not before the plan starts, {book.start:%Y-%m-%d %H:%M}"
        faults.append(Fault("time of replanning", f"{at:%Y-%m-%d %H:%M}", allowed, "correct the time"))
    if faults:
        raise DesignError(*faults)
    minute = minutes_after(book.start, at)
    now = replace(book, closures=(*book.closures, *_closures(happenings, at)))
    posed = answered(now, plan)
    down = _down(now, posed, happenings, minute)
    told = _told(now, posed, happenings)
    standing = standing_at(posed.timing.problem, posed.schedule.placements, minute, told, down)
    _ask_in_order(posed, standing)
    begun = {posed.timing.batches[job].number for job, _ in standing.fixed}
    work = Work.of(now, plan, posed, at, begun)
    _change_work(work, happenings)
    explosion, allocated, timing, fixed, planned, shifter = _stand(work, posed, standing, happenings, minute, down)
    late = outlasting(shifter)
    if late:
        work.take_fresh({timing.batches[job].number: moment_at(book.start, start) for job, start in late.items()})
        explosion, allocated, timing, fixed, planned, shifter = _stand(work, posed, standing, happenings, minute, down)
    pushed = _first_choice(shifter, planned, timing, minute)
    choices = [pushed, *(keep_in_place(shifter, pushed, planned, machines) for machines in _pushed(shifter, down))]
    aims = Aims(planned, charge or Charge(), math.floor(most_moved * len(planned) + 1e-9))
    limited, freer = improve_both(shifter, choices, aims, seconds, effort, seed, stop)
    stuck = len(must_move(shifter, planned))
    now_held = replace(work.book, pins=still_pinned(work.book, explosion, timing))

    def told_of(trial: Trial, freer: Replanned | None) -> Replanned:
        _ask_room(timing.problem, trial)
        ask_held(timing, shifter, trial.placed)
        placements = _explained(timing.problem, trial.placed, fixed)
        broken = _broken(timing.problem, placements, fixed)
        schedule = Schedule(placements, (trial.figures.late, trial.figures.changeover), None, "feasible")
        operations = _actual(work.book, timing, operations_of(work.book, timing, schedule), fixed)
        work_orders = work_orders_of(work.book, timing, explosion, allocated, operations)
        orders = order_outcomes(work.book, explosion, allocated, work_orders, operations, work.wanted, work.reasons)
        new = replace(
            plan,
            quality=Quality(
                trial.figures.late, int(trial.figures.changeover), None, "feasible", 0, seed, effort is not None
            ),
            orders=orders,
            work_orders=work_orders,
            operations=operations,
            allocations=allocated.allocations,
            blends=tuple(sorted(work.blends, key=lambda blend: blend.work_order)),
            cut_lists=tuple(work.cut_lists),
            purchases=allocated.purchases,
            costs=(),
            loads=loads_of(work.book, operations),
            checks=(),
        )
        moved = aims.moved(trial.placed)
        return Replanned(
            now_held,
            new,
            at,
            changes_of(plan, new, work, broken),
            moved,
            len(planned),
            len(to_be_told(planned, trial.placed, aims.charge.tolerance)),
            stuck,
            aims.most,
            pushed_by(shifter, planned, trial.placed) if moved > aims.most else (),
            freer,
        )

    return told_of(limited, None if freer is None else told_of(freer, None))


def _stand(
    work: Work,
    posed: Answered,
    standing: Standing,
    happenings: tuple[Happening, ...],
    minute: int,
    down: Mapping[int, tuple[int, int]],
) -> tuple[Explosion, Allocated, Timing, Mapping[Key, Placement], Mapping[Key, Placement], Shifter]:
    """The work as a problem on the floor as it stands: what is done or running, and what was planned ahead."""
    explosion, allocated = work.explosion(), work.allocated()
    timing = pose(work.book, posed.designs, explosion, allocated)
    fixed, planned = _renumbered(posed, timing, standing)
    timing = hold(work.book, timing, planned, fixed, happenings)
    floor = Floor(
        timing.problem,
        minute,
        fixed,
        _under_way(planned, minute, down),
        _last_starts(work.book, timing, allocated),
        pairs(timing.problem, timing.ties),
    )
    return explosion, allocated, timing, fixed, planned, Shifter(floor)


def _closures(happenings: tuple[Happening, ...], at: datetime.datetime) -> list[Closure]:
    wall = at.replace(tzinfo=None)
    return [
        Closure(calendar=h.machine, start=h.since or wall, end=h.until, why="down")
        for h in happenings
        if h.kind == "machine down" and h.until is not None and h.until > (h.since or wall)
    ]


def _down(book: Book, posed: Answered, happenings: tuple[Happening, ...], at: int) -> Mapping[int, tuple[int, int]]:
    machine_of = {machine.name: place for place, machine in enumerate(posed.timing.problem.machines)}
    found = {}
    for happening in happenings:
        if happening.kind == "machine down":
            since, until = with_zone(happening.since, book), with_zone(happening.until, book)
            begin = at if since is None else minutes_after(book.start, since)
            found[machine_of[happening.machine]] = begin, at if until is None else minutes_after(book.start, until)
    return found


def _told(book: Book, posed: Answered, happenings: tuple[Happening, ...]) -> Mapping[Key, Told]:
    job_of = {batch.number: job for job, batch in enumerate(posed.timing.batches)}
    machine_of = {machine.name: place for place, machine in enumerate(posed.timing.problem.machines)}
    states = {"done": "done", "started": "running", "not started": "ahead"}
    told = {}
    for happening in happenings:
        if happening.kind not in states:
            continue
        job = job_of[happening.work_order]
        index = next(k for k, step in enumerate(posed.timing.steps[job]) if step.step == happening.step)
        since, until = with_zone(happening.since, book), with_zone(happening.until, book)
        told[job, index] = Told(
            states[happening.kind],  # pyright: ignore[reportArgumentType]
            machine_of.get(happening.machine),
            None if since is None else minutes_after(book.start, since),
            None if until is None else minutes_after(book.start, until),
        )
    return told


def _ask_in_order(posed: Answered, standing: Standing) -> None:
    """Raise DesignError for every step that is done or running though a step before it is not done."""
    faults = []
    for job, index in sorted(standing.fixed):
        before = (job, index - 1)
        if index and (before not in standing.fixed or before in standing.running):
            number, steps = posed.timing.batches[job].number, posed.timing.steps[job]
            faults.append(
                Fault(
                    f"{number}, step {steps[index].step}",
                    "done or started",
                    f"that only once step {steps[index - 1].step} is done",
                    "tell also of the step before it",
                )
            )
    if faults:
        raise DesignError(*faults)


def _change_work(work: Work, happenings: tuple[Happening, ...]) -> None:
    """Lots held first, then orders wanted less, then those wanted more or new."""
    for happening in happenings:
        if happening.kind == "lot held":
            work.hold(happening.lot)
    changes = [h for h in happenings if h.kind == "quantity changed" and h.quantity is not None]
    size = {order.name: order.quantity for order in work.book.orders}
    for happening in sorted(changes, key=lambda h: (h.quantity or 0) - size[h.order_line]):
        work.change_quantity(happening.order_line, happening.quantity or 0)
    for happening in happenings:
        if happening.kind == "order added":
            assert happening.line is not None
            assert happening.quantity is not None
            assert happening.due is not None
            order = Order(
                order=happening.order,
                line=happening.line,
                customer=happening.customer,
                product=happening.product,
                quantity=happening.quantity,
                due=happening.due,
                weight=1.0 if happening.weight is None else happening.weight,
            )
            work.book = replace(work.book, orders=(*work.book.orders, order))
            work.order_more(order)


def _renumbered(
    posed: Answered, timing: Timing, standing: Standing
) -> tuple[dict[Key, Placement], dict[Key, Placement]]:
    """Done and running work, and work planned ahead, by the jobs of the new problem."""
    job_of = {batch.number: job for job, batch in enumerate(timing.batches)}
    fixed: dict[Key, Placement] = {}
    ahead: dict[Key, Placement] = {}
    for placed in posed.schedule.placements:
        job = job_of.get(posed.timing.batches[placed.job].number)
        if job is None:
            continue
        stands = standing.fixed.get((placed.job, placed.index))
        if stands is not None:
            fixed[job, placed.index] = replace(stands, job=job)
        else:
            ahead[job, placed.index] = replace(placed, job=job)
    return fixed, ahead


def _pushed(shifter: Shifter, down: Mapping[int, tuple[int, int]]) -> list[Set[int]]:
    """Sets of machines to keep in order while the rest keeps its place: none, those down, and those like them."""
    alike = {
        mode.machine
        for operation in shifter.operation.values()
        if any(mode.machine in down for mode in operation.modes)
        for mode in operation.modes
    }
    return [frozenset(), *([frozenset(down), frozenset(alike)] if down else [])]


def _under_way(planned: Mapping[Key, Placement], at: int, down: Mapping[int, tuple[int, int]]) -> frozenset[Key]:
    """Work whose machine is being changed over for it: the changeover began, and nothing is down there."""
    return frozenset(
        key
        for key, placed in planned.items()
        if placed.start - placed.changeover < at <= placed.start and placed.machine not in down
    )


def _last_starts(book: Book, timing: Timing, allocated: Allocated) -> Mapping[int, int]:
    """The last minute each job may start that takes of lots which expire: the end of the first such day."""
    job_of = {batch.number: job for job, batch in enumerate(timing.batches)}
    last: dict[int, int] = {}
    for taken in allocated.allocations:
        lot = book.lot.get(taken.lot) if taken.source == "stock" else None
        if lot is not None and lot.expires is not None and taken.work_order in job_of:
            day_after = datetime.datetime.combine(lot.expires, datetime.time(), book.start.tzinfo)
            minute = minutes_after(book.start, day_after + datetime.timedelta(days=1)) - 1
            last[job_of[taken.work_order]] = min(minute, last.get(job_of[taken.work_order], minute))
    return last


def _first_choice(shifter: Shifter, planned: Mapping[Key, Placement], timing: Timing, at: int) -> Choice:
    """Everything on its machine, in its order, not before its planned start; new work by when it must begin."""
    problem = timing.problem
    machine: dict[Key, tuple[int, int]] = {}
    rank: dict[Key, float] = {}
    busy = [0.0] * len(problem.machines)
    for placed in planned.values():
        busy[placed.machine] += placed.end - placed.start
    for number, job in enumerate(problem.jobs):
        clock = float(max(at, job.release))
        left = sum(min(m.duration for m in o.modes) + o.min_wait for o in job.operations)
        if (number, 0) not in planned and job.due is not None:
            clock = max(clock, job.due - 1.5 * left)
        for index, operation in enumerate(job.operations):
            key = number, index
            if key in shifter.floor.fixed:
                continue
            if operation.pinned is not None:
                chosen, rank[key] = operation.pinned[0], float(operation.pinned[1])
            elif key in planned:
                chosen = planned[key].machine
                rank[key] = float(planned[key].start)
            else:
                chosen = min(operation.modes, key=lambda mode: (busy[mode.machine], mode.duration)).machine
                rank[key] = clock
            minutes = min(mode.duration for mode in operation.modes if mode.machine == chosen)
            machine[key] = chosen, minutes
            clock = max(clock, rank[key]) + minutes + operation.min_wait
    order = in_order(shifter, rank, sorted(rank))
    earliest = {key: max(at, placed.start) for key, placed in planned.items()}
    return Choice(order, machine, earliest)


def _ask_room(problem: Problem, trial: Trial) -> None:
    """Raise Infeasible with every machine whose calendar ends before its work."""
    full = sorted({placed.machine for placed in trial.placed.values() if placed.end >= FAR})
    if full:
        raise Infeasible(
            *(
                Fault(
                    f"calendar of {problem.machines[machine].name}",
                    "work ahead",
                    "what fits before its calendar ends",
                    "open more time, or drop orders",
                )
                for machine in full
            )
        )


def _explained(
    problem: Problem, placed: Mapping[Key, Placement], fixed: Mapping[Key, Placement]
) -> tuple[Placement, ...]:
    explained = explain(problem, [placed[key] for key in sorted(placed)])
    return tuple(
        replace(p, reason="done or running when the plan was changed") if (p.job, p.index) in fixed else p
        for p in explained
    )


def _broken(problem: Problem, placements: tuple[Placement, ...], fixed: Mapping[Key, Placement]) -> tuple[Finding, ...]:
    """What the independent checker holds against the work ahead; what is done cannot be helped."""
    names = {f"{problem.jobs[job].name}, operation {index + 1}" for job, index in fixed}
    return tuple(finding for finding in check_schedule(problem, placements) if finding.place not in names)


def _actual(
    book: Book, timing: Timing, operations: tuple[PlannedOperation, ...], fixed: Mapping[Key, Placement]
) -> tuple[PlannedOperation, ...]:
    """Operations in order of start, those done or running with their true times."""
    times = {
        (timing.batches[job].number, timing.steps[job][index].step): placed for (job, index), placed in fixed.items()
    }
    actual = []
    for operation in operations:
        placed = times.get((operation.work_order, operation.step))
        if placed is not None:
            operation = replace(
                operation, start=moment_at(book.start, placed.start), end=moment_at(book.start, placed.end)
            )
        actual.append(operation)
    return tuple(sorted(actual, key=lambda o: (o.start, o.machine, o.work_order, o.step)))
