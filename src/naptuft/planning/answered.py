"""A plan read back as the problem it answers and the schedule it is.

A plan keeps its work orders, operations, allocations and designs; with the book they are enough to pose the
scheduling problem again, minute for minute. Replays and replanning begin here.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from naptuft.book.model import Book
from naptuft.errors import DesignError, Fault
from naptuft.planning.allocate import Allocated
from naptuft.planning.design import Designs
from naptuft.planning.explode import Batch, Demand, Explosion, Supply, Taking
from naptuft.planning.plan import Plan, WorkOrder
from naptuft.planning.problem import Placement, Schedule
from naptuft.planning.timing import Timing, pose
from naptuft.plant.calendar import minutes_after


@dataclass(frozen=True)
class Answered:
    """A plan as scheduling problem and schedule.

    placements of the schedule stand by job and index; jobs are the plan's work orders in their order
    """

    designs: Designs
    explosion: Explosion
    allocated: Allocated
    timing: Timing
    schedule: Schedule


def answered(book: Book, plan: Plan) -> Answered:
    """Pose the problem a plan answers, and read the plan as its schedule.

    Raises DesignError where the plan was made from another book: a product, step or machine that is not there.
    """
    _same_book(book, plan)
    designs = {outcome.product: outcome for outcome in plan.designs}
    explosion = exploded(book, plan)
    released = {order.number: order.release for order in plan.work_orders if order.release > book.start}
    allocated = Allocated(tuple(plan.allocations), plan.purchases, {}, released, _waits_for(book, plan), (), ())
    timing = pose(book, designs, explosion, allocated)
    job_of = {batch.number: job for job, batch in enumerate(timing.batches)}
    index_of = [{step.step: index for index, step in enumerate(route)} for route in timing.steps]
    machine_of = {machine.name: place for place, machine in enumerate(timing.problem.machines)}
    placed = {}
    for operation in plan.operations:
        job = job_of[operation.work_order]
        index = index_of[job][operation.step]
        placed[job, index] = Placement(
            job,
            index,
            machine_of[operation.machine],
            minutes_after(book.start, operation.start),
            minutes_after(book.start, operation.end),
            operation.changeover_minutes,
            operation.earliest_start_reason,
        )
    quality = plan.quality
    schedule = Schedule(
        tuple(placed[key] for key in sorted(placed)),
        (quality.weighted_late_minutes, quality.changeover_minutes),
        quality.bound,
        quality.status,
        quality.effort,
    )
    return Answered(designs, explosion, allocated, timing, schedule)


def _waits_for(book: Book, plan: Plan) -> Mapping[str, str]:
    """For each work order that waits for bought material, what comes last, in words."""
    arrives = {purchase.number: (purchase.arrives, "purchase") for purchase in plan.purchases}
    for lot in book.lots:
        if lot.arrives is not None:
            arrives[lot.code] = lot.arrives.replace(tzinfo=book.start.tzinfo), "lot"
    last: dict[str, tuple[datetime.datetime, str]] = {}
    for taken in plan.allocations:
        if taken.lot in arrives:
            when, kind = arrives[taken.lot]
            words = f"{kind} {taken.lot} of {taken.material_name}"
            last[taken.work_order] = max(last.get(taken.work_order, (when, words)), (when, words))
    return {number: words for number, (_, words) in last.items()}


def _same_book(book: Book, plan: Plan) -> None:
    """Raise DesignError with everything in the plan that the book does not know."""
    steps = {(step.product, step.step, step.stage) for step in book.routes}
    machines = {machine.code for machine in book.machines}
    number = {order.number: order for order in plan.work_orders}
    mend = "plan the book again, or take the book the plan was made from"
    faults = []
    if plan.start != book.start:
        faults.append(Fault("plan, start", plan.start.isoformat(), f"the book's {book.start.isoformat()}", mend))
    faults += [
        Fault(f"work order {order.number}", order.product, "a product of the book", mend)
        for order in plan.work_orders
        if order.product not in book.product
    ]
    for operation in plan.operations:
        order = number.get(operation.work_order)
        place = f"{operation.work_order}, step {operation.step}"
        if order is None:
            faults.append(Fault(place, operation.work_order, "a work order of the plan", mend))
        elif order.product in book.product and (order.product, operation.step, order.stage) not in steps:
            faults.append(Fault(place, operation.step, f"a step of the route of {order.product}", mend))
        if operation.machine not in machines:
            faults.append(Fault(place, operation.machine, "a machine of the book", mend))
    if faults:
        raise DesignError(*faults)


def exploded(book: Book, plan: Plan) -> Explosion:
    """The explosion a plan stands on, as far as a plan keeps it: batches, whom they serve, and what they take."""
    order = {line.name: line for line in book.orders}
    outcome = {line.name: line for line in plan.orders}
    direct: dict[str, set[str]] = defaultdict(set)
    for line in plan.orders:
        for made in line.work_orders:
            direct[made].add(line.name)
    supplies = tuple(
        Supply(a.work_order, a.material, a.lot, a.quantity) for a in plan.allocations if a.source == "made"
    )
    takings = tuple(
        Taking(a.work_order, a.work_order in outcome, a.material, a.lot, a.quantity)
        for a in plan.allocations
        if a.source == "stock" and a.material in book.product
    )
    by_number = {work.number: work for work in plan.work_orders}
    handed: dict[str, list[Supply]] = defaultdict(list)
    for supply in supplies:
        handed[supply.batch].append(supply)
    batches = []
    for work in plan.work_orders:
        demands = [
            Demand(name, True, quantity, outcome[name].due, order[name].weight if name in order else 1.0)
            for name, quantity in _direct(work, direct[work.number], handed[work.number], by_number).items()
        ]
        demands += [
            Demand(supply.consumer, False, supply.quantity, by_number[supply.consumer].due)
            for supply in handed[work.number]
        ]
        weight = max((demand.weight for demand in demands if demand.by_order), default=0.0) / work.parts
        batches.append(
            Batch(
                work.number,
                work.product,
                work.stage,
                work.quantity,
                work.started,
                work.start,
                work.due,
                weight,
                tuple(demands),
                parts=work.parts,
                note=work.note,
            )
        )
    return Explosion(tuple(batches), (), takings, supplies, {})


def _direct(
    work: WorkOrder, lines: set[str], handed: list[Supply], by_number: Mapping[str, WorkOrder]
) -> Mapping[str, float]:
    """What a work order delivers to each line itself: its share less what goes there inside other work orders."""
    inside: dict[str, float] = defaultdict(float)
    for supply in handed:
        shares = by_number[supply.consumer].serves
        total = sum(share.quantity for share in shares)
        for share in shares:
            inside[f"{share.order}/{share.line}"] += supply.quantity * share.quantity / total
    return {
        name: share.quantity - inside[name] for share in work.serves if (name := f"{share.order}/{share.line}") in lines
    }
