"""What is promised and what it costs: orders against the work that serves them, money against its parts."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from math import ceil, floor

from naptuft.book.model import Book, Material
from naptuft.planning.check.reading import Reading, in_unit, same, shown
from naptuft.planning.check.sharing import run_shares
from naptuft.planning.plan import CostLine, Finding, OrderOutcome, Plan, Purchase, WorkOrder
from naptuft.quantity import to_si

CENT = Decimal("0.01")


def check_orders(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every promise that the work orders do not bear out."""
    reading = Reading(book, plan)
    findings: list[Finding] = []
    outcomes = {outcome.name: outcome for outcome in plan.orders}
    asked = {order.name: order for order in book.orders}
    findings += [
        Finding("every order answered", f"order {name}", "has no answer in the plan")
        for name in asked
        if name not in outcomes
    ]
    for outcome in plan.orders:
        place = f"order {outcome.name}"
        order = asked.get(outcome.name)
        if order is None:
            findings.append(Finding("every order answered", place, "is not in the book"))
            continue
        due = order.due.replace(tzinfo=book.start.tzinfo)
        if (outcome.product, outcome.quantity) != (order.product, order.quantity) or outcome.due != due:
            findings.append(Finding("every order answered", place, "is not for what was ordered, or not for its time"))
        findings += _check_outcome(reading, outcome)
    findings += _check_quality(reading)
    findings += _check_parts(reading)
    return tuple(findings)


def _check_outcome(reading: Reading, outcome: OrderOutcome) -> list[Finding]:
    place, findings = f"order {outcome.name}", []
    made, finishes = 0.0, []
    for number in outcome.work_orders:
        work_order = reading.work_order.get(number)
        if work_order is None or work_order.product != outcome.product:
            findings.append(Finding("order and work agree", place, f"is not made by work order {number}"))
            continue
        finish = reading.finish(work_order)
        share = sum(s.quantity for s in work_order.serves if (s.order, s.line) == (outcome.order, outcome.line))
        made += share
        finishes.append(finish)
    short = outcome.quantity - outcome.from_stock - made
    if not same(short, outcome.short_quantity):
        findings.append(
            Finding(
                "short quantity",
                place,
                f"is said to be short by {outcome.short_quantity}; stock gives {outcome.from_stock} and the work "
                f"orders {shown(made)} of {outcome.quantity}",
            )
        )
    if outcome.finish is None:
        if finishes or outcome.from_stock:
            findings.append(Finding("finish of the order", place, "has no finish, though something is delivered"))
        late = 0
    else:
        finish = reading.minute(outcome.finish)
        finishes += _arrivals(reading, outcome)
        if not finishes:
            findings.append(Finding("finish of the order", place, "has a finish, though nothing is delivered"))
        elif not same(finish, max(finishes)):
            findings.append(
                Finding(
                    "finish of the order", place, "is not finished when the last of its work orders and lots is there"
                )
            )
        late = max(0, ceil(finish - reading.minute(outcome.due)))
    if outcome.late_minutes != late:
        findings.append(Finding("minutes late", place, f"is said to be {outcome.late_minutes} min late; it is {late}"))
    if outcome.state != _state(outcome, late):
        findings.append(
            Finding("state of the order", place, f"is called {outcome.state}; it is {_state(outcome, late)}")
        )
    if outcome.state in ("late", "short") and not outcome.reason:
        findings.append(Finding("reason given", place, f"is {outcome.state}, but no reason is given"))
    return findings


def _arrivals(reading: Reading, outcome: OrderOutcome) -> list[float]:
    """When each lot an order is served from is there. [min]"""
    lots = [
        reading.book.lot[taken.lot]
        for taken in reading.allocations.get(outcome.name, ())
        if taken.lot in reading.book.lot
    ]
    zone = reading.book.start.tzinfo
    return [reading.minute(lot.arrives.replace(tzinfo=zone)) if lot.arrives else 0.0 for lot in lots]


def _state(outcome: OrderOutcome, late: int) -> str:
    if outcome.short_quantity > 0:
        return "short"
    if late > 0:
        return "late"
    return "from stock" if outcome.from_stock >= outcome.quantity else "on time"


def _check_parts(reading: Reading) -> list[Finding]:
    """No batch in more parts than the book allows."""
    most = reading.book.settings.most_parts
    return [
        Finding(
            "parts of a batch",
            f"work order {order.number}",
            f"is said to be one of {order.parts} parts; at least 1 and at most {most} are allowed",
        )
        for order in reading.plan.work_orders
        if not 1 <= order.parts <= max(1, most)
    ]


def _check_quality(reading: Reading) -> list[Finding]:
    plan = reading.plan
    changed = sum(operation.changeover_minutes for operation in plan.operations)
    findings = []
    if changed != plan.quality.changeover_minutes:
        findings.append(
            Finding(
                "figures of the plan",
                "plan",
                f"says {plan.quality.changeover_minutes} min of changeover; it has {changed}",
            )
        )
    bound, late = plan.quality.bound, plan.quality.weighted_late_minutes
    lateness = _weighted_lateness(reading)
    if not same(lateness, late):
        findings.append(
            Finding(
                "figures of the plan", "plan", f"says {late:g} weighted minutes late; its work is {lateness:g} late"
            )
        )
    if bound is not None and bound > late * (1 + 1e-9) + 1e-6:
        findings.append(Finding("optimal means proven", "plan", f"has a bound of {bound:g} above its own {late:g}"))
    if plan.quality.status == "optimal" and (bound is None or not same(bound, late)):
        findings.append(Finding("optimal means proven", "plan", "is called optimal without a bound that proves it"))
    return findings


def _weighted_lateness(reading: Reading) -> float:
    """Late minutes of each work order that is delivered, times the greatest weight of the orders it goes to.

    Each of several parts of a batch bears its share of the weight.
    """
    weight = {order.name: order.weight for order in reading.book.orders}
    weights: dict[str, float] = defaultdict(float)
    for outcome in reading.plan.orders:
        for number in outcome.work_orders:
            weights[number] = max(weights[number], weight.get(outcome.name, 0.0))
    return sum(
        weights[work_order.number]
        / work_order.parts
        * max(0.0, reading.finish(work_order) - floor(reading.minute(work_order.due)))
        for work_order in reading.plan.work_orders
    )


def check_costs(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Every sum of money that does not add up."""
    reading = Reading(book, plan)
    findings: list[Finding] = []
    lines: dict[tuple[str, str], CostLine] = {}
    for line in plan.costs:
        place = f"cost of {line.of} {line.name}"
        if (line.of, line.name) in lines:
            findings.append(Finding("costs add up", place, "stands in the plan twice"))
        lines[line.of, line.name] = line
        total = _sum(line)
        if line.total != total:
            findings.append(Finding("costs add up", place, f"says {line.total}; its kinds add up to {total}"))
    findings += _check_prices(reading)
    shares = run_shares(reading)
    taken: dict[str, Decimal] = defaultdict(Decimal)
    for allocation in plan.allocations:
        taken[allocation.work_order] += allocation.cost
    for work_order in plan.work_orders:
        line = lines.get(("work order", work_order.number))
        if line is None:
            findings.append(Finding("costs add up", f"work order {work_order.number}", "has no cost"))
        else:
            findings += _check_work_cost(reading, work_order, line, taken[work_order.number], shares)
    for outcome in plan.orders:
        line = lines.get(("order", outcome.name))
        if line is None or line.total != outcome.cost:
            findings.append(
                Finding(
                    "costs add up",
                    f"order {outcome.name}",
                    f"costs {outcome.cost}; its cost line says {line.total if line else 'nothing'}",
                )
            )
    findings += _check_whole(plan)
    findings += _check_values(reading)
    return tuple(findings)


def _sum(line: CostLine) -> Decimal:
    kinds = (line.material, line.machine, line.labour, line.energy, line.overhead, line.scrap, line.regrind_credit)
    return sum(kinds, Decimal(0))


def _check_work_cost(
    reading: Reading, work_order: WorkOrder, line: CostLine, taken: Decimal, shares: Mapping[tuple[str, int], float]
) -> list[Finding]:
    """The cost of a work order from its takings and hours, the share of units lost under scrap."""
    spent = {"material": float(taken)} | _conversion(reading, work_order, shares)
    good = min(1.0, work_order.quantity / work_order.started) if work_order.started else 1.0
    wanted = {kind: money * good for kind, money in spent.items()}
    wanted["scrap"] = sum(spent.values()) * (1 - good)
    return [
        Finding(
            "costs add up",
            f"work order {work_order.number}",
            f"counts {getattr(line, kind)} of {kind}; takings, hours and rates make it {money:.2f}",
        )
        for kind, money in wanted.items()
        if abs(float(getattr(line, kind)) - money) > float(CENT) + 1e-6 * abs(money)
    ]


def _conversion(reading: Reading, work_order: WorkOrder, shares: Mapping[tuple[str, int], float]) -> dict[str, float]:
    """Machine, labour, energy and overhead of a work order's operations by the book's rates."""
    book = reading.book
    machines = {machine.code: machine for machine in book.machines}
    centres = {centre.code: centre for centre in book.work_centres}
    wages = {crew.code: float(crew.wage_per_hour) for crew in book.crews}
    spent: dict[str, float] = dict.fromkeys(("machine", "labour", "energy"), 0.0)
    for operation in reading.operations.get(work_order.number, ()):
        machine, centre = machines.get(operation.machine), centres.get(operation.work_centre)
        if machine is None or centre is None:
            continue
        share = shares.get((operation.work_order, operation.step), 1.0)
        hours = (operation.run_minutes * share + operation.changeover_minutes) / 60
        spent["machine"] += hours * float(machine.rate_per_hour)
        paid = hours + operation.overtime_minutes * share / 60 * (book.settings.overtime_pay - 1)
        spent["labour"] += paid * centre.people * wages.get(centre.crew, 0.0)
        kilowatt_hours = operation.run_minutes * share / 60 * machine.power / 1000
        spent["energy"] += kilowatt_hours * float(book.settings.energy_price_per_kwh)
    spent["overhead"] = (spent["machine"] + spent["labour"]) * book.settings.overhead
    return spent


def _check_prices(reading: Reading) -> list[Finding]:
    """What is taken and bought costs its quantity at its price; what is made on the way costs nothing again."""
    book = reading.book
    asked: list[tuple[str, Decimal, float, Decimal]] = []
    bought = {purchase.number: purchase for purchase in reading.plan.purchases}
    for taken in reading.plan.allocations:
        material = book.material.get(taken.material)
        price = material.price_per_unit if material else Decimal(0)
        if material is not None and taken.source == "purchase" and taken.lot in bought:
            price = _price_of(book, material, bought[taken.lot])
        lot = book.lot.get(taken.lot) if taken.source == "stock" else None
        if lot is not None and lot.price_per_unit is not None:
            price = lot.price_per_unit
        if taken.source == "made":
            price = Decimal(0)
        place = f"work order {taken.work_order}, {taken.material} from {taken.lot}"
        amount = in_unit(taken.quantity, taken.unit, reading.item_unit(taken.material))
        asked.append((place, taken.cost, amount, price))
    for purchase in reading.plan.purchases:
        material = book.material.get(purchase.material)
        if material is not None:
            place = f"purchase {purchase.number} of {purchase.material}"
            amount = in_unit(purchase.quantity, purchase.unit, material.unit)
            asked.append((place, purchase.cost, amount, _price_of(book, material, purchase)))
    return [
        Finding(
            "costs add up", place, f"costs {cost}; {shown(amount)} at {price} each come to {amount * float(price):.2f}"
        )
        for place, cost, amount, price in asked
        if abs(float(cost) - amount * float(price)) > float(CENT)
    ]


def _price_of(book: Book, material: Material, purchase: Purchase) -> Decimal:
    """The least price whose quantity a purchase reaches, of the material's breaks."""
    amount = in_unit(purchase.quantity, purchase.unit, material.unit)
    price, reached = material.price_per_unit, 0.0
    for step in book.price_breaks:
        if step.material == material.code:
            start = step.from_quantity.si(material.pint_unit) / to_si(1.0, material.pint_unit)
            if reached <= start <= amount + 1e-9:
                price, reached = step.price_per_unit, start
    return price


def _check_whole(plan: Plan) -> list[Finding]:
    """What the orders bear, and what is made for no order, is all the work and the goods taken from stock."""
    spent = sum((line.total for line in plan.costs if line.of == "work order"), Decimal(0))
    orders = {outcome.name for outcome in plan.orders}
    spent += sum((taken.cost for taken in plan.allocations if taken.work_order in orders), Decimal(0))
    borne = [line.total for line in plan.costs if line.of == "order"]
    if abs(sum(borne, Decimal(0)) - spent) > CENT * len(plan.costs):
        return [Finding("costs add up", "plan", f"orders bear {sum(borne)}; work and goods from stock cost {spent}")]
    return []


def _check_values(reading: Reading) -> list[Finding]:
    findings = []
    asked = {order.name: order for order in reading.book.orders}
    for outcome in reading.plan.orders:
        order, product = asked.get(outcome.name), reading.book.product.get(outcome.product)
        if order is None or product is None:
            continue
        price = order.price_per_unit if order.price_per_unit is not None else product.price_per_unit
        value = None if price is None else price * outcome.quantity
        if (value is None) != (outcome.value is None) or (
            value is not None and outcome.value is not None and abs(value - outcome.value) > CENT
        ):
            findings.append(
                Finding(
                    "costs add up",
                    f"order {outcome.name}",
                    f"is worth {outcome.value}; price times quantity is {value}",
                )
            )
    return findings
