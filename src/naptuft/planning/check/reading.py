"""What the rules of a plan all look up: moments as minutes, quantities in one unit, figures of designs."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from functools import cached_property

from naptuft.book.model import PINT_UNITS, Book, Part, RouteStep
from naptuft.calculation import Result
from naptuft.errors import NotFound, UnitError
from naptuft.planning.plan import Allocation, OrderOutcome, Plan, PlannedOperation, WorkOrder
from naptuft.quantity import from_si, to_si


class Reading:
    """A book and a plan side by side, with what is looked up often."""

    def __init__(self, book: Book, plan: Plan) -> None:
        self.book = book
        self.plan = plan
        self.open_time: dict[tuple[str, ...], list[tuple[float, float]]] = {}

    @cached_property
    def days(self) -> tuple[int, int]:
        """First and last day the plan and its horizon touch, counted from the day the book starts."""
        moments = [
            self.minute(moment) for operation in self.plan.operations for moment in (operation.start, operation.end)
        ]
        first, last = min(moments, default=0.0), max(moments, default=0.0)
        return int(min(first, 0.0) // 1440) - 1, max(int(last // 1440), self.book.settings.horizon_days) + 1

    @cached_property
    def work_order(self) -> dict[str, WorkOrder]:
        """Work orders by number."""
        return {work_order.number: work_order for work_order in self.plan.work_orders}

    @cached_property
    def operations(self) -> dict[str, list[PlannedOperation]]:
        """Operations by work order, by step."""
        grouped: dict[str, list[PlannedOperation]] = {}
        for operation in self.plan.operations:
            grouped.setdefault(operation.work_order, []).append(operation)
        return {number: sorted(group, key=lambda operation: operation.step) for number, group in grouped.items()}

    @cached_property
    def allocations(self) -> dict[str, list[Allocation]]:
        """Allocations by the work order that takes them."""
        grouped: dict[str, list[Allocation]] = {}
        for allocation in self.plan.allocations:
            grouped.setdefault(allocation.work_order, []).append(allocation)
        return grouped

    @cached_property
    def outcome(self) -> dict[str, OrderOutcome]:
        """Outcomes by order line."""
        return {outcome.name: outcome for outcome in self.plan.orders}

    @cached_property
    def design(self) -> dict[str, Result]:
        """Design results by product."""
        return {outcome.product: outcome.result for outcome in self.plan.designs}

    def minute(self, when: datetime.datetime) -> float:
        """Minutes from the book's start to a moment."""
        if when.tzinfo is None:
            when = when.replace(tzinfo=self.book.start.tzinfo)
        passed = when.astimezone(datetime.UTC) - self.book.start.astimezone(datetime.UTC)
        return passed.total_seconds() / 60

    def steps(self, work_order: WorkOrder) -> tuple[RouteStep, ...]:
        """The route steps a work order goes through, in order."""
        route = self.book.route_of.get(work_order.product, ())
        return tuple(step for step in route if step.stage == work_order.stage)

    def first_start(self, work_order: WorkOrder) -> float:
        """When the first operation of a work order starts; its own start where it has no operation. [min]"""
        starts = [self.minute(operation.start) for operation in self.operations.get(work_order.number, ())]
        return min(starts, default=self.minute(work_order.start))

    def finish(self, work_order: WorkOrder) -> float:
        """When the last operation of a work order and the wait after it are over. [min]"""
        ends = [
            self.minute(operation.end) + operation.wait_minutes
            for operation in self.operations.get(work_order.number, ())
        ]
        return max(ends, default=self.minute(work_order.finish))

    def item_unit(self, code: str) -> str:
        """The unit a material or product is counted in; pieces where it is unknown."""
        item = self.book.item.get(code)
        return item.unit if item is not None else "pcs"

    def per_unit(self, part: Part) -> float | None:
        """How much of a part one unit of its product takes, loss included, in the part's unit.

        None where a cut list or a blend tells, or where the design has no such figure.
        """
        unit = pint_unit(self.item_unit(part.part))
        if part.quantity is not None:
            try:
                each = from_si(part.quantity.si(unit), unit)
            except UnitError:
                return None
        else:
            figure = self.figure(part.product, part.from_design)
            if figure is None:
                return None
            each = from_si(figure, unit)
        return each / (1 - part.loss)

    def figure(self, product: str, name: str) -> float | None:
        """A figure of a product's design [SI]; None where there is none."""
        result = self.design.get(product)
        if result is None:
            return None
        try:
            return result[name]
        except NotFound:
            return None


def pint_unit(unit: str) -> str:
    """A unit of the book as `quantity` spells it."""
    return PINT_UNITS.get(unit, unit)


def in_unit(quantity: float, unit: str, wanted: str) -> float:
    """A quantity in another unit of the same kind."""
    return quantity if unit == wanted else from_si(to_si(quantity, pint_unit(unit)), pint_unit(wanted))


def same(first: float, second: float, slack: float = 1e-6) -> bool:
    """Equal but for rounding."""
    return abs(first - second) <= slack * max(1.0, abs(first), abs(second))


def listed(names: Iterable[str]) -> str:
    """Names in one phrase.

    >>> listed(["A", "B", "C"]), listed(["A"])
    ('A, B and C', 'A')
    """
    known = list(names)
    return " and ".join(filter(None, (", ".join(known[:-1]), *known[-1:])))


def shown(number: float) -> str:
    """A quantity as people write it, to a thousandth at most.

    >>> shown(12.0), shown(0.12345)
    ('12', '0.123')
    """
    return f"{number:,.3f}".rstrip("0").rstrip(".")
