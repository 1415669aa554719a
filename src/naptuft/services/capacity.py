"""What the plant can do: where its hours go, what a rate asks of it, and the months ahead."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from naptuft.book.model import Book
from naptuft.planning.plan import DesignOutcome, OrderOutcome, Plan

if TYPE_CHECKING:
    from naptuft.planning.capacity import RoughLoad
    from naptuft.planning.chain import ChainLink
    from naptuft.planning.machine_time import MachineTime
    from naptuft.planning.rate_needs import RateNeeds
    from naptuft.planning.trade import TradePoint


def designs_of(book: Book, plan: Plan | None = None) -> Mapping[str, DesignOutcome]:
    """The engineering of every product: the plan's, or worked out where there is no plan."""
    if plan is not None:
        return {design.product: design for design in plan.designs}
    from naptuft.planning.design import design_products

    return design_products(book)


def rough_load(book: Book, plan: Plan | None = None, *, days: int = 7, periods: int = 12) -> tuple[RoughLoad, ...]:
    """What each period ahead asks of each work centre, from orders alone."""
    from naptuft.planning.capacity import rough_cut

    return rough_cut(book, designs_of(book, plan), days, periods)


def needs_at_rate(book: Book, product: str, per_week: float, plan: Plan | None = None) -> RateNeeds:
    """Machines, people, racks and cavities a steady rate asks for. Raises DesignError."""
    from naptuft.planning.rate_needs import rate_needs

    return rate_needs(book, designs_of(book, plan), product, per_week)


def machine_hours(book: Book, plan: Plan) -> tuple[MachineTime, ...]:
    """Where the minutes of each machine go."""
    from naptuft.planning.machine_time import machine_time

    return machine_time(book, plan)


def chain(plan: Plan, order: OrderOutcome) -> tuple[ChainLink, ...]:
    """The operations that end in an order line, the first first."""
    from naptuft.planning.chain import chain_of

    return chain_of(plan, order)


def what_if(
    books: Sequence[Book], *, effort: int = 2000, seed: int = 1, processes: int = 1, cluster: str | None = None
) -> tuple[Plan, ...]:
    """A costed and checked plan of each book, with the same seed and effort. Raises DesignError."""
    from naptuft.planning.risk.what_if import plan_books
    from naptuft.services.plans import costed_and_checked

    plans = plan_books(books, effort, seed, processes, cluster)
    return tuple(costed_and_checked(book, plan) for book, plan in zip(books, plans, strict=True))


def trade_offs(
    book: Book,
    plan: Plan,
    *,
    seconds: float | None = None,
    effort: int | None = None,
    seed: int = 1,
    progress: Callable[[str, float], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> tuple[TradePoint, ...]:
    """The plan, and its work scheduled again under other emphases, each measured by everything.

    seconds, effort  what the search may use for each emphasis
    """
    from naptuft.planning.trade import trade

    return trade(book, plan, seed=seed, seconds=seconds, effort=effort, progress=progress, stop=stop)
