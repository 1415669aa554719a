"""What becomes of each order line, and why: the chain of waits that makes a late line late."""

from __future__ import annotations

import datetime
import itertools
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

from naptuft.book.model import Book
from naptuft.planning.allocate import Allocated
from naptuft.planning.explode import Explosion
from naptuft.planning.plan import OrderOutcome, OrderState, PlannedOperation, Serving, WorkOrder
from naptuft.planning.timing import Timing, needs_of
from naptuft.plant.calendar import moment_at


def late_words(minutes: int) -> str:
    """Minutes late as days, hours and minutes.

    >>> late_words(1680), late_words(45), late_words(2880)
    ('1 d 4 h', '45 min', '2 d')
    """
    days, rest = divmod(minutes, 1440)
    hours, left = divmod(rest, 60)
    if days:
        return f"{days} d {hours} h" if hours else f"{days} d"
    if hours:
        return f"{hours} h {left} min" if left else f"{hours} h"
    return f"{left} min"


def work_orders_of(
    book: Book,
    timing: Timing,
    explosion: Explosion,
    allocated: Allocated,
    operations: tuple[PlannedOperation, ...],
) -> tuple[WorkOrder, ...]:
    """Every batch as a work order with its times, whom it serves and what it needs."""
    own: dict[str, list[PlannedOperation]] = defaultdict(list)
    for operation in operations:
        own[operation.work_order].append(operation)
    orders = {order.name: order for order in book.orders}
    serves, needs = explosion.serves(), needs_of(explosion)
    made = []
    for batch in timing.batches:
        product = book.product[batch.product]
        steps = sorted(own[batch.number], key=lambda operation: operation.step)
        finish = moment_at(steps[-1].end, steps[-1].wait_minutes)
        made.append(
            WorkOrder(
                batch.number,
                product.code,
                product.name,
                product.line,
                "cut" if batch.stage == "cut" else "make",
                batch.quantity,
                batch.started,
                product.unit,
                allocated.release.get(batch.number, book.start),
                batch.due,
                steps[0].start,
                finish,
                tuple(
                    Serving(orders[name].order, orders[name].line, round(quantity, 6))
                    for name, quantity in sorted(serves[batch.number].items())
                ),
                needs.get(batch.number, ()),
                batch.parts,
                batch.note,
            )
        )
    return tuple(made)


def order_outcomes(
    book: Book,
    explosion: Explosion,
    allocated: Allocated,
    work_orders: tuple[WorkOrder, ...],
    operations: tuple[PlannedOperation, ...],
    wanted: Mapping[str, float],
    short_reasons: Mapping[str, str],
    why_late: Callable[[Sequence[str], datetime.datetime], str] | None = None,
) -> tuple[OrderOutcome, ...]:
    """The outcome of every order line, in order of due date.

    why_late  tells why the last of some work orders is finished after a time, "" where it is not; None: the
              longest wait along the chain is told
    """
    by_number = {order.number: order for order in work_orders}
    own: dict[str, list[PlannedOperation]] = defaultdict(list)
    for operation in operations:
        own[operation.work_order].append(operation)
    for steps in own.values():
        steps.sort(key=lambda operation: operation.step)
    direct: dict[str, list[str]] = defaultdict(list)
    for batch in explosion.batches:
        for demand in batch.demands:
            if demand.by_order and batch.number not in direct[demand.consumer]:
                direct[demand.consumer].append(batch.number)
    outcomes = []
    for order in sorted(book.orders, key=lambda order: (order.due, order.name)):
        made = tuple(direct.get(order.name, ()))
        taken = [t for t in explosion.takings if t.by_order and t.consumer == order.name]
        finish = _finish(book, [by_number[number].finish for number in made], [t.lot for t in taken])
        due = order.due.replace(tzinfo=book.start.tzinfo)
        late = max(0, int((finish - due).total_seconds() // 60)) if finish else 0
        short = order.quantity - int(wanted[order.name])
        product = book.product[order.product]
        price = product.price_per_unit if order.price_per_unit is None else order.price_per_unit
        state: OrderState = "short" if short > 0 else "late" if late > 0 else "from stock" if not made else "on time"
        reasons = []
        if short > 0:
            reasons.append(short_reasons.get(order.name, "nothing can be made"))
        if late > 0:
            last = max(made, key=lambda number: by_number[number].finish, default=None)
            if last is None or by_number[last].finish <= due:
                reasons.append("the lot it is taken from arrives after it is due")
            else:
                told = why_late(made, due) if why_late else ""
                reasons.append(told or late_reason(book, last, by_number, own, allocated))
        outcomes.append(
            OrderOutcome(
                order.order,
                order.line,
                order.customer,
                product.code,
                product.name,
                product.line,
                order.quantity,
                due,
                finish,
                late,
                short,
                int(sum(t.quantity for t in taken)),
                state,
                "; ".join(reasons),
                made,
                None if price is None else price * order.quantity,
                Decimal(0),
            )
        )
    return tuple(outcomes)


def _finish(book: Book, finishes: list[datetime.datetime], lots: list[str]) -> datetime.datetime | None:
    arrivals = [book.lot[lot].arrives for lot in lots]
    there = [a.replace(tzinfo=book.start.tzinfo) if a else book.start for a in arrivals]
    return max([*finishes, *there], default=None)


def late_reason(
    book: Book,
    number: str,
    work_orders: Mapping[str, WorkOrder],
    own: Mapping[str, list[PlannedOperation]],
    allocated: Allocated,
) -> str:
    """Why a work order finishes when it does: the longest wait along the chain that ends in it.

    The chain goes back from the last operation: through the steps before it, then through the work order
    it waits for, to material or the start of the plan.
    """
    waits: list[tuple[float, str]] = []
    busy = 0.0
    current: str | None = number
    while current is not None:
        order, steps = work_orders[current], own[current]
        for before, after in itertools.pairwise(steps):
            ready = moment_at(before.end, before.wait_minutes)
            waits.append((_minutes(after.start, ready), f"{current} {after.name}: {after.earliest_start_reason}"))
        busy += sum(step.run_minutes + step.wait_minutes for step in steps)
        last = max(order.needs, key=lambda need: work_orders[need].finish, default=None)
        ready = max([order.release] + ([work_orders[last].finish] if last else []))
        waits.append((_minutes(steps[0].start, ready), f"{current} {steps[0].name}: {steps[0].earliest_start_reason}"))
        if order.release > book.start and (last is None or order.release >= work_orders[last].finish):
            what = allocated.waits_for[current]
            waits.append((_minutes(order.release, book.start), f"{what} arrives {order.release:%Y-%m-%d %H:%M}"))
            current = None
        else:
            current = last
    longest, words = max(waits, key=lambda wait: wait[0])
    if longest < busy / 2:
        return f"the work itself takes {late_words(int(busy))} of running, drying and curing; longest wait: {words}"
    return words


def _minutes(later: datetime.datetime, earlier: datetime.datetime) -> float:
    return (later - earlier).total_seconds() / 60
