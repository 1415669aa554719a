"""The independent checker: holds a schedule or a plan against what was asked, rule by rule.

It shares no code with the scheduler and works everything out again from the problem or the book. An
empty answer means that no rule is broken.
"""

from __future__ import annotations

from naptuft.book.model import Book
from naptuft.planning.check.answer import check_costs, check_orders
from naptuft.planning.check.blend import check_blends
from naptuft.planning.check.cutting import check_cut_lists
from naptuft.planning.check.floor import check_floor
from naptuft.planning.check.minutes import check_figures, check_schedule
from naptuft.planning.check.stock import check_stock
from naptuft.planning.plan import Finding, Plan

__all__ = ["check_figures", "check_plan", "check_schedule"]


def check_plan(book: Book, plan: Plan) -> tuple[Finding, ...]:
    """Everything the plan breaks of the book, in words a planner understands; empty when it is clean.

    Times are worked out again from shifts and closures, changeovers from the book's table, needs from
    parts and designs, money from its parts. Never raises for a broken plan.
    """
    return (
        *check_floor(book, plan),
        *check_stock(book, plan),
        *check_blends(book, plan),
        *check_cut_lists(book, plan),
        *check_orders(book, plan),
        *check_costs(book, plan),
    )
