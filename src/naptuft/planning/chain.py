"""The operations that end in an order line, back along whichever was last of what each waited for."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from naptuft.planning.plan import OrderOutcome, Plan, PlannedOperation, WorkOrder


@dataclass(frozen=True)
class ChainLink:
    """One operation of a chain.

    ready   when what it works on was there: the step before with its wait, its parts, its bought material
    """

    operation: PlannedOperation
    ready: datetime.datetime

    @property
    def waited(self) -> int:
        """Minutes between ready and start, the changeover among them."""
        return max(0, int((self.operation.start - self.ready).total_seconds() // 60))


def chain_of(plan: Plan, order: OrderOutcome) -> tuple[ChainLink, ...]:
    """The chain of work that ends in an order line, the first operation first; empty where nothing is made for it."""
    orders = {each.number: each for each in plan.work_orders}
    steps: dict[str, list[PlannedOperation]] = {}
    for operation in plan.operations:
        steps.setdefault(operation.work_order, []).append(operation)
    made = [orders[number] for number in order.work_orders if number in orders]
    current: WorkOrder | None = max(made, key=lambda each: each.finish, default=None)
    links: list[ChainLink] = []
    while current is not None:
        own = sorted(steps.get(current.number, ()), key=lambda each: each.step)
        makers = [orders[number] for number in current.needs if number in orders]
        last = max(makers, key=lambda each: each.finish, default=None)
        ready = max(current.release, plan.start, last.finish if last else plan.start)
        found = []
        for operation in own:
            found.append(ChainLink(operation, ready))
            ready = operation.end + datetime.timedelta(minutes=operation.wait_minutes)
        links = found + links
        current = last if last is not None and last.finish > current.release else None
    return tuple(links)
