"""Costs add up to the cent whatever the plan, and follow prices."""

from __future__ import annotations

import datetime
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from naptuft.book.model import Book, Product, Settings
from naptuft.costing.rollup import FOR_STOCK, cost_plan
from naptuft.costing.rounding import largest_remainder, rounded_together
from naptuft.costing.standard import KINDS
from naptuft.planning.plan import Allocation, CostLine, OrderOutcome, PlannedOperation, Serving, WorkOrder
from naptuft.plant.work_centre import Crew, Machine, WorkCentre

START = datetime.datetime(2026, 11, 30, 6, tzinfo=ZoneInfo("UTC"))


def a_book(rate: Decimal, wage: Decimal) -> Book:
    """A plant of one machine; product P0 goes into P1, P1 into P2."""
    return Book(
        settings=Settings(
            plant="Quillbeck Brush & Nap",
            start=datetime.datetime(2026, 11, 30, 6),
            overhead=0.15,
            energy_price_per_kwh=Decimal("0.21"),
        ),
        crews=(Crew(code="C", name="crew", heads=4, wage_per_hour=wage),),
        work_centres=(WorkCentre(code="W", name="place", crew="C", people=1.5),),
        machines=(Machine(code="M", work_centre="W", name="m", calendar="c", rate_per_hour=rate, power=3700.0),),
        products=tuple(Product(code=f"P{level}", name="p", line="other") for level in range(3)),
    )


@st.composite
def plans(draw):
    """Three levels of work orders; each takes some of those below, serves some orders and leaves some for stock."""
    orders = [f"S{i}" for i in range(draw(st.integers(1, 4)))]
    work_orders, operations, allocations = [], [], []
    directly: dict[str, list[str]] = {name: [] for name in orders}
    left: dict[str, int] = {}
    for level in range(3):
        for place in range(draw(st.integers(1, 2))):
            number = f"W{level}{place}"
            quantity = draw(st.integers(0, 5000))
            started = quantity + draw(st.integers(0, 200))
            room, serves = quantity, []
            for name in orders:
                share = draw(st.integers(0, room)) if level == 2 or draw(st.booleans()) else 0
                if share:
                    serves.append(Serving(name, 1, float(share)))
                    directly[name].append(number)
                    room -= share
            for below, rest in list(left.items()):
                if below.startswith(f"W{level - 1}"):
                    taken = draw(st.integers(0, rest))
                    left[below] = rest - taken
                    allocations.append(
                        Allocation(number, "made", "made", below, "made", float(taken), "pcs", Decimal(0))
                    )
            left[number] = room
            cents = draw(st.integers(0, 10_000_00))
            allocations.append(Allocation(number, "RAW", "raw", "L", "stock", 1.0, "kg", Decimal(cents).scaleb(-2)))
            run, changeover = draw(st.integers(1, 2000)), draw(st.integers(0, 90))
            operations.append(an_operation(number, run, changeover))
            work_orders.append(
                WorkOrder(
                    number,
                    f"P{level}",
                    "p",
                    "other",
                    "make",
                    float(quantity),
                    float(started),
                    "pcs",
                    START,
                    START,
                    START,
                    START,
                    tuple(serves),
                    (),
                )
            )
    outcomes = tuple(
        OrderOutcome(
            name, 1, "x", "P2", "p", "other", 10, START, START, 0, 0, 0, "on time", "", tuple(numbers), None, Decimal(0)
        )
        for name, numbers in directly.items()
    )
    return tuple(work_orders), tuple(operations), tuple(allocations), outcomes


def an_operation(number: str, run: int, changeover: int) -> PlannedOperation:
    """An operation of so many minutes on the one machine."""
    return PlannedOperation(
        number, 10, "make", "W", "M", START, START, run, changeover, 0, 1.0, "pcs", "", "", 0, "other", "none", "", ""
    )


def of_kind(costs: tuple[CostLine, ...], of: str) -> list[CostLine]:
    """The cost lines of work orders, orders or products."""
    return [cost for cost in costs if cost.of == of]


money = st.integers(0, 200_00).map(lambda cents: Decimal(cents).scaleb(-2))


@given(plans(), money, money)
def test_kinds_add_up_to_totals_and_orders_with_stock_to_work_orders(plan, rate, wage):
    """To the cent, in every kind, both ways through the plan; totals of work orders equal money spent."""
    work_orders, operations, allocations, orders = plan
    costs = cost_plan(a_book(rate, wage), work_orders, operations, allocations, orders)
    for cost in costs:
        assert cost.total == sum((getattr(cost, kind) for kind in KINDS), Decimal(0))
    for kind in (*KINDS, "total"):
        made = sum((getattr(cost, kind) for cost in of_kind(costs, "work order")), Decimal(0))
        used = sum((getattr(cost, kind) for cost in of_kind(costs, "order")), Decimal(0))
        assert made == used
    hours = Fraction(sum(operation.run_minutes + operation.changeover_minutes for operation in operations), 60)
    run = Fraction(sum(operation.run_minutes for operation in operations), 60)
    spent = (
        sum((Fraction(a.cost) for a in allocations), Fraction(0))
        + hours * (Fraction(rate) + Fraction(3, 2) * Fraction(wage)) * Fraction(115, 100)
        + run * Fraction(37, 10) * Fraction(21, 100)
    )
    total = sum((cost.total for cost in of_kind(costs, "work order")), Decimal(0))
    assert abs(Fraction(total) - spent) <= Fraction(len(KINDS), 200)


@given(plans(), money, money, money)
def test_no_order_gets_cheaper_when_the_hour_gets_dearer(plan, rate, wage, more):
    """Beyond the rounding of each kind, one cent."""
    work_orders, operations, allocations, orders = plan
    before = cost_plan(a_book(rate, wage), work_orders, operations, allocations, orders)
    after = cost_plan(a_book(rate + more, wage), work_orders, operations, allocations, orders)
    cheap = {cost.name: cost.total for cost in of_kind(before, "order")}
    dear = {cost.name: cost.total for cost in of_kind(after, "order")}
    assert sum(dear.values()) >= sum(cheap.values()) - Decimal("0.00")
    slack = Decimal("0.01") * len(KINDS)
    for name, total in cheap.items():
        assert dear[name] >= total - slack


@given(plans())
def test_an_order_that_gets_nothing_costs_nothing(plan):
    """Zero quantity, zero money."""
    work_orders, operations, allocations, orders = plan
    costs = cost_plan(a_book(Decimal(20), Decimal(15)), work_orders, operations, allocations, orders)
    served = {serving.order for order in work_orders for serving in order.serves}
    for cost in of_kind(costs, "order"):
        if cost.name != FOR_STOCK and cost.name.split("/")[0] not in served:
            assert cost.total == 0


@given(st.lists(st.fractions(-1000, 1000, max_denominator=997), min_size=1, max_size=30), st.integers(0, 4))
def test_rounded_amounts_stay_within_one_unit_and_add_up(amounts, places):
    """Each is less than one last place off; the sum is the exact sum rounded once."""
    rounded = rounded_together(dict(enumerate(amounts)), places)
    unit = Fraction(1, 10**places)
    assert all(abs(Fraction(rounded[i]) - amount) < unit for i, amount in enumerate(amounts))
    assert Fraction(sum(rounded.values())) == round(sum(amounts) / unit) * unit


@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=12), st.integers(0, 500))
def test_shares_by_largest_remainder_keep_quota(votes, seats):
    """Every share is its quota rounded down or up (the quota rule; Balinski & Young, Fair Representation, 1982)."""
    total = sum(votes)
    if total == 0:
        return
    quotas = [Fraction(vote * seats, total) for vote in votes]
    shares = largest_remainder(quotas, seats)
    assert sum(shares) == seats
    assert all(
        int(quota) <= share <= -(-quota.numerator // quota.denominator)
        for quota, share in zip(quotas, shares, strict=True)
    )
