"""Plan a book, write the answer, say what its format is."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

from naptuft.book.model import Book
from naptuft.costing.margin import OrderMargin, order_margins
from naptuft.planning.material_plan import MaterialNeed
from naptuft.planning.plan import Plan
from naptuft.planning.weeks import Progress, plan_weeks

DEFAULT_SECONDS = 8.0


def plan_book(
    book: Book,
    *,
    seed: int = 1,
    seconds: float | None = None,
    effort: int | None = None,
    expected: bool = False,
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Plan a checked book, cost it, and have the independent checker read the plan.

    seconds   time for the schedule's search (default 8 s where no effort is given either); effort: see
              `plan_weeks`; stop: True ends the search with the best plan so far
    expected  the fewest late minutes expected under the book's spreads, not on paper
    """
    if seconds is None and effort is None:
        seconds = DEFAULT_SECONDS
    plan = plan_weeks(book, seed=seed, seconds=seconds, effort=effort, expected=expected, progress=progress, stop=stop)
    if progress:
        progress(Progress("costing and checking", 1.0))
    return costed_and_checked(book, plan)


def costed_and_checked(book: Book, plan: Plan) -> Plan:
    """A plan with its costs, and with what the independent checker holds against it."""
    from naptuft.costing.rollup import cost_plan
    from naptuft.planning.check import check_plan

    costs = cost_plan(
        book, plan.work_orders, plan.operations, plan.allocations, plan.orders, plan.designs, plan.cut_lists
    )
    by_order = {cost.name: cost.total for cost in costs if cost.of == "order"}
    orders = tuple(dataclasses.replace(order, cost=by_order[order.name]) for order in plan.orders)
    plan = dataclasses.replace(plan, costs=costs, orders=orders)
    return dataclasses.replace(plan, checks=check_plan(book, plan))


def material_plan(book: Book, plan: Plan) -> tuple[MaterialNeed, ...]:
    """What the plan takes of each material day by day, and the orders that would serve it at least cost."""
    from naptuft.planning.material_plan import material_plan as needs_and_orders

    return needs_and_orders(book, plan)


def margins(plan: Plan) -> tuple[OrderMargin, ...]:
    """What each order line with a price earns over its cost, for the units that can be delivered."""
    return order_margins(plan.orders, plan.costs)


def warm() -> None:
    """Compile the search and the replays, which is kept on disk, so that the first plan on a machine need not wait."""
    from naptuft.planning.risk.of_plan import risk_of_plan
    from naptuft.services.books import demo_book

    book = demo_book()
    risk_of_plan(book, plan_weeks(book, effort=40), 1, buffers=False)


def write_plan(plan: Plan, book: Book, folder: Path) -> tuple[Path, ...]:
    """Write plan.json, plan.xlsx, summary.md and the papers into a folder; all or nothing."""
    from naptuft.papers import write_all

    return write_all(book, plan, folder)


def summary(plan: Plan) -> str:
    """The plan in a page of Markdown."""
    from naptuft.papers.summary import summary_markdown

    return summary_markdown(plan)


def plan_text(plan: Plan) -> str:
    """The plan as the text of plan.json."""
    from naptuft.planning.plan_json import plan_text as text

    return text(plan)


def plan_schema() -> dict[str, Any]:
    """The JSON Schema of plan.json."""
    from naptuft.planning.plan_json import plan_schema as schema

    return schema()
