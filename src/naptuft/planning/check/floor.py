"""Operations held against routes, machines, calendars, changeovers, waits and racks of the book."""

from __future__ import annotations

import datetime
from itertools import pairwise
from math import ceil

from naptuft.book.model import Book, RouteStep
from naptuft.planning.check.hours import open_time
from naptuft.planning.check.reading import Reading, listed, same, shown
from naptuft.planning.check.sharing import (
    batches_handed_on,
    check_crews,
    check_handing_on,
    check_loads_taken,
    groups_of,
    open_with_crew,
    overtime,
    where,
)
from naptuft.planning.plan import Finding, Plan, PlannedOperation, WorkOrder
from naptuft.plant.work_centre import Changeover, Machine
from naptuft.quantity import from_si


def check_floor(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every rule of time and place the plan breaks."""
    reading = Reading(book, plan)
    findings = _check_heads(reading)
    for work_order in plan.work_orders:
        findings += _check_size(reading, work_order)
        findings += _check_route(reading, work_order)
        findings += _check_waits(reading, work_order)
        findings += _check_beginning(reading, work_order)
    machines = {machine.code: machine for machine in book.machines}
    for operation in plan.operations:
        findings += _check_operation(reading, operation, machines.get(operation.machine))
    findings += _check_use_in_time(reading)
    findings += _check_pins(reading)
    findings += _check_machines(reading)
    findings += _check_racks(reading)
    findings += _check_loads(reading)
    return tuple(findings)


def _at(when: datetime.datetime) -> str:
    return f"{when:%a %d %b %H:%M}"


def _check_heads(reading: Reading) -> list[Finding]:
    book, plan = reading.book, reading.plan
    findings = []
    if reading.minute(plan.start) != 0:
        findings.append(
            Finding("start of the plan", "plan", f"starts {_at(plan.start)}; the book starts {_at(book.start)}")
        )
    if plan.horizon_days != book.settings.horizon_days:
        findings.append(
            Finding("horizon", "plan", f"covers {plan.horizon_days} days; the book asks {book.settings.horizon_days}")
        )
    seen: set[str] = set()
    for work_order in plan.work_orders:
        if work_order.number in seen:
            findings.append(Finding("one number each", f"work order {work_order.number}", "stands in the plan twice"))
        seen.add(work_order.number)
        if work_order.product not in book.product:
            findings.append(
                Finding(
                    "known product", f"work order {work_order.number}", f"makes {work_order.product}, not in the book"
                )
            )
    findings += [
        Finding("known work order", where(operation), "belongs to a work order the plan has not")
        for operation in plan.operations
        if operation.work_order not in reading.work_order
    ]
    return findings


def _check_size(reading: Reading, work_order: WorkOrder) -> list[Finding]:
    """As much started as is needed for the good units wanted, and neither too few nor too many at once."""
    product = reading.book.product.get(work_order.product)
    if product is None or work_order.stage == "cut":
        return []
    place, unit, findings = f"work order {work_order.number}", product.pint_unit, []
    good = work_order.started * (1 - product.scrap)
    if good < work_order.quantity * (1 - 1e-6):
        findings.append(
            Finding(
                "size of the work order",
                place,
                f"starts {shown(work_order.started)}, of which {shown(good)} are good; {shown(work_order.quantity)} are wanted",
            )
        )
    least = from_si(product.least_batch.si(unit), unit) if product.least_batch else 0.0
    most = from_si(product.most_batch.si(unit), unit) if product.most_batch else work_order.quantity
    if not least * (1 - 1e-6) <= work_order.quantity <= ceil(most - 1e-6) * (1 + 1e-6):
        findings.append(
            Finding(
                "size of the work order",
                place,
                f"makes {shown(work_order.quantity)}; at least {shown(least)} and at most {shown(most)} are made at once",
            )
        )
    served = sum(serving.quantity for serving in work_order.serves)
    if served > work_order.quantity * (1 + 1e-6) + 1e-6:
        findings.append(
            Finding(
                "size of the work order",
                place,
                f"serves orders with {shown(served)}; it makes {shown(work_order.quantity)}",
            )
        )
    return findings


def _check_pins(reading: Reading) -> list[Finding]:
    """Every pin of the book kept by one of the work orders behind its order line."""
    findings = []
    for pin in reading.book.pins:
        line = f"{pin.order}/{pin.line}"
        behind = {
            work_order.number
            for work_order in reading.plan.work_orders
            if work_order.product == pin.product
            and any((serving.order, serving.line) == (pin.order, pin.line) for serving in work_order.serves)
        }
        done = [o for o in reading.plan.operations if o.work_order in behind and o.step == pin.step]
        if not any(o.machine == pin.machine and same(reading.minute(o.start), reading.minute(pin.start)) for o in done):
            stands = listed([f"{o.machine} {_at(o.start)}" for o in done]) if done else "nowhere"
            findings.append(
                Finding(
                    "pinned",
                    f"{line}, {pin.product} step {pin.step}",
                    f"stands {stands}; pinned on {pin.machine} {_at(pin.start)}",
                )
            )
    return findings


def _check_route(reading: Reading, work_order: WorkOrder) -> list[Finding]:
    """Each step of the route once, none besides."""
    place = f"work order {work_order.number}"
    steps = [step.step for step in reading.steps(work_order)]
    done = [operation.step for operation in reading.operations.get(work_order.number, ())]
    findings = []
    missing = [str(step) for step in steps if step not in done]
    if missing:
        findings.append(Finding("whole route", place, f"leaves out step {listed(missing)} of {work_order.product}"))
    strange = sorted({step for step in done if step not in steps})
    if strange:
        findings.append(
            Finding(
                "whole route", place, f"has step {listed(map(str, strange))}, not in the route of {work_order.product}"
            )
        )
    twice = sorted({step for step in done if done.count(step) > 1})
    if twice:
        findings.append(Finding("whole route", place, f"does step {listed(map(str, twice))} more than once"))
    if done and not same(reading.minute(work_order.start), reading.first_start(work_order)):
        findings.append(Finding("times of the work order", place, "does not start when its first operation starts"))
    if done and not same(reading.minute(work_order.finish), reading.finish(work_order)):
        findings.append(
            Finding("times of the work order", place, "does not finish when its last operation and wait are over")
        )
    return findings


def _check_waits(reading: Reading, work_order: WorkOrder) -> list[Finding]:
    findings = []
    steps = {step.step: step for step in reading.steps(work_order)}
    for before, after in pairwise(reading.operations.get(work_order.number, ())):
        step = steps.get(before.step)
        gap = reading.minute(after.start) - reading.minute(before.end)
        if before.step == after.step or step is None:
            continue
        if batches_handed_on(step, before.quantity) > 1:
            if after.step in steps:
                findings += check_handing_on(reading, before, after, (step, steps[after.step]))
            continue
        if gap < 0:
            findings.append(
                Finding("order of the steps", where(after), f"starts {-gap:g} min before step {before.step} ends")
            )
        elif gap * 60 < step.wait - 1e-6:
            findings.append(
                Finding(
                    "least wait",
                    where(after),
                    f"starts {gap:g} min after step {before.step}; {step.wait / 60:g} min must pass",
                )
            )
        elif step.most_wait is not None and gap * 60 > step.most_wait + 1e-6:
            findings.append(
                Finding(
                    "most wait",
                    where(after),
                    f"starts {gap:g} min after step {before.step}; at most {step.most_wait / 60:g} min may pass",
                )
            )
    return findings


def _check_beginning(reading: Reading, work_order: WorkOrder) -> list[Finding]:
    """Not before the plan, its release or the work orders it needs."""
    place = f"work order {work_order.number}"
    start = reading.first_start(work_order)
    findings = []
    if start < reading.minute(work_order.release):
        findings.append(Finding("release", place, f"starts before its release, {_at(work_order.release)}"))
    for number in work_order.needs:
        needed = reading.work_order.get(number)
        if needed is None:
            findings.append(Finding("needed work orders", place, f"needs work order {number}, not in the plan"))
        elif start < reading.finish(needed):
            findings.append(
                Finding(
                    "needed work orders",
                    place,
                    f"starts before work order {number} is finished, waits counted, {_at(needed.finish)}",
                )
            )
    return findings


def _check_use_in_time(reading: Reading) -> list[Finding]:
    """What must be used within a time of being made is."""
    findings = []
    for taken in reading.plan.allocations:
        product = reading.book.product.get(taken.material)
        maker, user = reading.work_order.get(taken.lot), reading.work_order.get(taken.work_order)
        if taken.source != "made" or product is None or product.use_within is None or maker is None or user is None:
            continue
        waited = reading.first_start(user) - reading.finish(maker)
        if waited * 60 > product.use_within + 1e-6:
            findings.append(
                Finding(
                    "use in time",
                    f"work order {user.number}",
                    f"begins {waited:g} min after {maker.number} has {product.code} ready; at most "
                    f"{product.use_within / 60:g} min may pass",
                )
            )
    return findings


def _check_operation(reading: Reading, operation: PlannedOperation, machine: Machine | None) -> list[Finding]:
    place = where(operation)
    work_order = reading.work_order.get(operation.work_order)
    findings = []
    begin, end = reading.minute(operation.start), reading.minute(operation.end)
    if begin < 0:
        findings.append(Finding("not before the start", place, f"starts {_at(operation.start)}, before the plan"))
    if machine is None:
        findings.append(Finding("right machine", place, f"is on machine {operation.machine}, not in the book"))
    step = _step(reading, operation)
    if step is None or work_order is None:
        return findings
    if operation.work_centre != step.work_centre:
        findings.append(
            Finding("right machine", place, f"is at {operation.work_centre}; the route says {step.work_centre}")
        )
    if operation.family != step.family:
        findings.append(
            Finding("right family", place, f"is of family {operation.family!r}; the route says {step.family!r}")
        )
    if not same(operation.quantity, work_order.started):
        findings.append(
            Finding(
                "quantity of the operation",
                place,
                f"works {shown(operation.quantity)}; the work order starts {shown(work_order.started)}",
            )
        )
    if operation.wait_minutes != ceil(step.wait / 60 - 1e-9):
        findings.append(
            Finding(
                "least wait", place, f"plans a wait of {operation.wait_minutes} min; the route says {step.wait / 60:g}"
            )
        )
    if machine is None:
        return findings
    if machine.work_centre != step.work_centre:
        findings.append(
            Finding("right machine", place, f"is on {machine.code} of {machine.work_centre}, not of {step.work_centre}")
        )
    findings += _check_open_time(reading, operation, machine, step, begin, end)
    each = step.time_each if step.time_each is not None else reading.figure(work_order.product, step.from_design)
    if each is None:
        findings.append(
            Finding(
                "right duration", place, f"cannot be timed: no design of {work_order.product} gives {step.from_design}"
            )
        )
    else:
        needed = (step.setup + operation.quantity * each / machine.speed) / 60
        if not needed - 1e-6 <= operation.run_minutes < max(needed + 1, 1 + 1e-6):
            findings.append(
                Finding("right duration", place, f"takes {operation.run_minutes} min; {needed:.1f} min are needed")
            )
    return findings


def _step(reading: Reading, operation: PlannedOperation) -> RouteStep | None:
    work_order = reading.work_order.get(operation.work_order)
    if work_order is None:
        return None
    return next((step for step in reading.steps(work_order) if step.step == operation.step), None)


def _check_open_time(
    reading: Reading, operation: PlannedOperation, machine: Machine, step: RouteStep, begin: float, end: float
) -> list[Finding]:
    place, findings = where(operation), []
    stretches = open_with_crew(reading, machine)
    worked = sum(max(0.0, min(end, closes) - max(begin, opens)) for opens, closes in stretches)
    over = overtime(reading, machine, operation)
    if not same(over, operation.overtime_minutes):
        findings.append(
            Finding(
                "overtime",
                place,
                f"is said to take {operation.overtime_minutes} min of overtime; by the shifts of {machine.code} "
                f"it takes {over:g}",
            )
        )
    if worked != operation.run_minutes:
        findings.append(
            Finding(
                "right duration",
                place,
                f"is said to run {operation.run_minutes} min; {machine.code} is open {worked:g} min of it",
            )
        )
    if not step.pauses:
        if not any(opens <= begin and end <= closes for opens, closes in stretches):
            findings.append(Finding("open time", place, f"may not pause, but {machine.code} closes while it runs"))
    elif not any(opens <= begin < closes for opens, closes in stretches):
        findings.append(Finding("open time", place, f"starts {_at(operation.start)}, when {machine.code} is closed"))
    elif not any(opens < end <= closes for opens, closes in stretches):
        findings.append(Finding("open time", place, f"ends {_at(operation.end)}, when {machine.code} is closed"))
    return findings


def _check_machines(reading: Reading) -> list[Finding]:
    findings = []
    machines = {machine.code: machine for machine in reading.book.machines}
    steps = {
        (operation.work_order, operation.step): step
        for operation in reading.plan.operations
        if (step := _step(reading, operation)) is not None
    }
    by_machine: dict[str, list[PlannedOperation]] = {}
    for operation in reading.plan.operations:
        by_machine.setdefault(operation.machine, []).append(operation)
    everywhere = []
    for code, run in by_machine.items():
        run.sort(key=lambda operation: (reading.minute(operation.start), reading.minute(operation.end)))
        groups = groups_of(reading, run, machines.get(code))
        everywhere += groups
        findings += check_loads_taken(machines.get(code), groups, steps)
        setting = ""
        latest: PlannedOperation | None = None
        for group in groups:
            operation, changed = group[0], sum(o.changeover_minutes for o in group)
            wanted = 0
            if setting and operation.family:
                wanted = changeover(reading.book.changeovers, operation.work_centre, setting, operation.family)
            if changed != wanted:
                findings.append(
                    Finding(
                        "right changeover",
                        where(operation),
                        f"has {changed} min of changeover on {code}; "
                        f"from {setting or 'nothing'} to {operation.family or 'no family'} takes {wanted} min",
                    )
                )
            setting = operation.family or setting
            begins = reading.minute(operation.start) - changed
            if latest is not None and begins < reading.minute(latest.end):
                findings.append(
                    Finding(
                        "one at a time",
                        where(operation),
                        f"takes {code}, changeover counted, while {where(latest)} runs until {_at(latest.end)}",
                    )
                )
            if latest is None or reading.minute(operation.end) > reading.minute(latest.end):
                latest = operation
    return findings + check_crews(reading, everywhere)


def changeover(rules: tuple[Changeover, ...], work_centre: str, old: str, new: str) -> int:
    """Whole minutes from one family to another by the book's table.

    Looked up in turn: both families named, the new one, the old one, neither; a family changes to
    itself only by an entry that says so.

    >>> table = (Changeover(work_centre="W", before="*", after="*", duration=600.0),
    ...          Changeover(work_centre="W", before="red", after="*", duration=90.0))
    >>> changeover(table, "W", "red", "blue"), changeover(table, "W", "blue", "red"), changeover(table, "W", "red", "red")
    (2, 10, 0)
    """
    entries: dict[tuple[str, str], float] = {}
    for rule in rules:
        if rule.work_centre == work_centre:
            entries[rule.before, rule.after] = max(rule.duration, entries.get((rule.before, rule.after), 0.0))
    keys = [(old, new)] if old == new else [(old, new), ("*", new), (old, "*"), ("*", "*")]
    for key in keys:
        if key in entries:
            return ceil(entries[key] / 60 - 1e-9)
    return 0


def _check_racks(reading: Reading) -> list[Finding]:
    findings = []
    changes: dict[str, list[tuple[float, int, PlannedOperation]]] = {}
    for operation in reading.plan.operations:
        step = _step(reading, operation)
        if step is None:
            continue
        wanted = ceil(operation.quantity / (step.per_rack or 1) - 1e-9) if step.rack else 0
        if operation.rack != step.rack or operation.racks != wanted:
            findings.append(
                Finding(
                    "racks taken",
                    where(operation),
                    f"takes {operation.racks} of {operation.rack or 'no rack'}; "
                    f"the route wants {wanted} of {step.rack or 'no rack'}",
                )
            )
        if step.rack:
            begin, end = reading.minute(operation.start), reading.minute(operation.end) + operation.wait_minutes
            changes.setdefault(step.rack, []).extend([(begin, wanted, operation), (end, -wanted, operation)])
    capacity = {rack.code: rack.capacity for rack in reading.book.racks}
    for rack, moves in changes.items():
        held = 0
        for _, racks, operation in sorted(moves, key=lambda move: move[:2]):
            held += racks
            if racks > 0 and held > capacity.get(rack, 0):
                findings.append(
                    Finding(
                        "rack capacity",
                        where(operation),
                        f"{_at(operation.start)} {rack} would hold {held} racks; there are {capacity.get(rack, 0)}",
                    )
                )
    return findings


def _check_loads(reading: Reading) -> list[Finding]:
    """How busy each work centre is said to be, against its operations and its open time."""
    end = reading.book.settings.horizon_days * 1440.0
    findings = []
    for load in reading.plan.loads:
        machines = [machine for machine in reading.book.machines if machine.work_centre == load.work_centre]
        opened = sum(
            max(0.0, min(end, closes) - max(0.0, opens))
            for machine in machines
            for opens, closes in open_time(reading, machine)
        )
        inside = [
            operation
            for operation in reading.plan.operations
            if operation.work_centre == load.work_centre and reading.minute(operation.start) < end
        ]
        shared = {machine.code for machine in machines if machine.takes is not None}
        run = sum(operation.run_minutes for operation in inside if operation.machine not in shared)
        run += sum({(o.machine, o.start): o.run_minutes for o in inside if o.machine in shared}.values())
        changed = sum(operation.changeover_minutes for operation in inside)
        said = (load.machines, load.open_minutes, load.run_minutes, load.changeover_minutes)
        if said != (len(machines), opened, run, changed):
            findings.append(
                Finding(
                    "figures of the plan",
                    f"work centre {load.work_centre}",
                    f"is said to be open {load.open_minutes} min, running {load.run_minutes} and changed over "
                    f"{load.changeover_minutes}; it is {opened:g}, {run} and {changed}",
                )
            )
    return findings
