"""The list of what is no longer as planned, and which machines push work off its place."""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from naptuft.planning.plan import Finding, Plan, PlannedOperation
from naptuft.planning.problem import Placement
from naptuft.planning.replan.charge import has_moved
from naptuft.planning.replan.room import Key
from naptuft.planning.replan.shift import Shifter
from naptuft.planning.replan.work import Work


@dataclass(frozen=True)
class Change:
    """One thing that is no longer as planned.

    kind    operation, order, work order, or rule: one that cannot be kept
    before  as it was planned; "" for what is new
    after   as it is planned now; "" for what is dropped
    """

    kind: str
    place: str
    before: str
    after: str
    why: str = ""


def changes_of(old: Plan, new: Plan, work: Work, broken: tuple[Finding, ...]) -> tuple[Change, ...]:
    """Everything that is no longer as planned: work orders, operations, orders, and rules that cannot be kept."""
    changes = [Change("work order", place, "", "", note) for place, note in work.notes]
    before = {order.number: order for order in old.work_orders}
    changes += [
        Change("work order", order.number, "", f"{order.product}, {order.quantity:g} {order.unit}", "new")
        for order in new.work_orders
        if order.number not in before
    ]
    was = {(operation.work_order, operation.step): operation for operation in old.operations}
    for operation in new.operations:
        earlier = was.get((operation.work_order, operation.step))
        if earlier is None:
            continue
        if (earlier.machine, earlier.start) != (operation.machine, operation.start) or earlier.end != operation.end:
            changes.append(
                Change(
                    "operation",
                    f"{operation.work_order} step {operation.step}, {operation.name}",
                    _times(earlier),
                    _times(operation),
                    operation.earliest_start_reason,
                )
            )
    outcome = {line.name: line for line in old.orders}
    for line in new.orders:
        earlier = outcome.pop(line.name, None)
        after = _outcome(line.state, line.finish, line.late_minutes, line.short_quantity)
        told = (
            ""
            if earlier is None
            else _outcome(earlier.state, earlier.finish, earlier.late_minutes, earlier.short_quantity)
        )
        if told != after:
            changes.append(Change("order", line.name, told, after, line.reason))
    changes += [Change("order", name, line.state, "", "no longer ordered") for name, line in outcome.items()]
    changes += [Change("rule", finding.place, "", finding.message, finding.rule) for finding in broken]
    return tuple(changes)


def _times(operation: PlannedOperation) -> str:
    return f"{operation.machine} {operation.start:%Y-%m-%d %H:%M} to {operation.end:%Y-%m-%d %H:%M}"


def _outcome(state: str, finish: datetime.datetime | None, late: int, short: int) -> str:
    words = [state]
    if finish is not None:
        words.append(f"ready {finish:%Y-%m-%d %H:%M}")
    if late:
        words.append(f"late {late} min")
    if short:
        words.append(f"short {short}")
    return ", ".join(words)


def pushed_by(
    shifter: Shifter, planned: Mapping[Key, Placement], placed: Mapping[Key, Placement]
) -> tuple[tuple[str, int], ...]:
    """Machines with how many operations they push off their place, most first.

    An operation is pushed by its machine, unless work it waits for has moved: then by what pushed that.
    """
    root: dict[Key, int] = {}
    for key in sorted(planned, key=lambda key: (planned[key].start, key)):
        if has_moved(planned[key], placed[key]):
            before = [root[other] for other in shifter.before[key] if other in root]
            root[key] = before[0] if before else planned[key].machine
    counted = Counter(shifter.problem.machines[machine].name for machine in root.values())
    return tuple(sorted(counted.items(), key=lambda item: (-item[1], item[0])))
