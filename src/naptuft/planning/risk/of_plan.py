"""A plan and its book as a model to replay: the book's spreads laid on the plan's operations and deliveries."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any

from naptuft.book.model import Book
from naptuft.planning.answered import Answered, answered
from naptuft.planning.plan import Plan
from naptuft.planning.risk.answer import BAND, RiskAnswer, assess
from naptuft.planning.risk.model import Breakdown, Goods, Model, Scatter, Target, Yield, model_of
from naptuft.plant.calendar import minutes_after, moment_at
from naptuft.plant.spread import Spread, WorkSpread, lognormal, weibull

FORMAT = "naptuft risk 1"


def model_of_plan(book: Book, plan: Plan) -> Model:
    """A plan made ready for replays against the spreads of its book.

    Targets are the order lines that anything is delivered of. Raises DesignError where the plan is not of this book.
    """
    posed = answered(book, plan)
    scatter = scatter_of(book, plan, posed)
    return model_of(posed.timing.problem, posed.schedule.placements, scatter, targets_of_orders(book, plan, scatter))


def scatter_of(book: Book, plan: Plan, posed: Answered) -> Scatter:
    """What the book says scatters, laid on a plan's operations, machines and deliveries."""
    times, yields = {}, {}
    rows = _most_particular(book.work_spreads)
    for job, (batch, route) in enumerate(zip(posed.timing.batches, posed.timing.steps, strict=True)):
        for index, step in enumerate(route):
            keys = (
                (step.work_centre, batch.product, step.step),
                (step.work_centre, batch.product, None),
                (step.work_centre, "", None),
            )
            for of, found in (("time", times), ("yield", yields)):
                spread = next((rows[key, of] for key in keys if (key, of) in rows), None)
                if spread is not None:
                    good = 1.0 - book.product[batch.product].scrap
                    found[job, index] = spread if of == "time" else Yield(good, spread)
    machine_of = {machine.name: place for place, machine in enumerate(posed.timing.problem.machines)}
    breakdowns = {
        machine_of[stop.machine]: Breakdown(
            weibull(stop.between / 60, stop.shape), lognormal(stop.repair / 60, stop.variation)
        )
        for stop in book.stops
    }
    return Scatter(times, yields, breakdowns, _goods(book, plan))


def _most_particular(rows: tuple[WorkSpread, ...]) -> Mapping[tuple[tuple[str, str, int | None], str], Spread]:
    return {((row.work_centre, row.product, row.step), row.of): row.spread for row in rows}


def _goods(book: Book, plan: Plan) -> tuple[Goods, ...]:
    """Purchases and lots on their way, with the work orders that wait for them."""
    late = {row.material: row.spread for row in book.delivery_spreads}
    job_of = {order.number: job for job, order in enumerate(plan.work_orders)}
    arrivals: dict[str, tuple[float, str]] = {
        purchase.number: (minutes_after(book.start, purchase.arrives), purchase.material) for purchase in plan.purchases
    }
    for lot in book.lots:
        if lot.arrives is not None:
            arrivals[lot.code] = minutes_after(book.start, lot.arrives.replace(tzinfo=book.start.tzinfo)), lot.material
    jobs: dict[str, set[int]] = {}
    for taken in plan.allocations:
        if taken.lot in arrivals and taken.source != "made":
            found = jobs.setdefault(taken.lot, set())
            if taken.work_order in job_of:
                found.add(job_of[taken.work_order])
    return tuple(
        Goods(name, float(minute), tuple(sorted(jobs[name])), late.get(material, late.get("*")))
        for name, (minute, material) in sorted(arrivals.items())
        if name in jobs
    )


def targets_of_orders(book: Book, plan: Plan, scatter: Scatter) -> tuple[Target, ...]:
    """Each order line something is delivered of: its work orders, and the lots on their way it is served from."""
    job_of = {order.number: job for job, order in enumerate(plan.work_orders)}
    place_of = {goods.name: place for place, goods in enumerate(scatter.goods)}
    weight = {order.name: order.weight for order in book.orders}
    lots: dict[str, list[int]] = {}
    for taken in plan.allocations:
        if taken.lot in place_of:
            lots.setdefault(taken.work_order, []).append(place_of[taken.lot])
    return tuple(
        Target(
            order.name,
            float(minutes_after(book.start, order.due)),
            tuple(job_of[number] for number in order.work_orders),
            weight.get(order.name, 1.0),
            tuple(lots.get(order.name, ())),
        )
        for order in plan.orders
        if order.finish is not None
    )


def risk_of_plan(
    book: Book,
    plan: Plan,
    count: int = 2000,
    seed: int = 1,
    threads: int = 1,
    cluster: str | None = None,
    buffers: bool = True,
    progress: Callable[[str, float], None] | None = None,
    odds: float = BAND,
) -> RiskAnswer:
    """The odds of a plan against the spreads of its book: on time or not, bands, what is to blame, what helps.

    count     replays; the numbers depend on book, plan, count and seed alone
    threads   cores of this machine; cluster: address of a dask.distributed scheduler, whose workers are used instead
    buffers   also try what an hour more, a rack more and a day sooner would buy
    progress  called with what is being done and its share done
    odds      share of replays by which each band ends, 0.5 to 0.999
    Raises DesignError where the odds are none, the plan is not of this book, count is below 1 or the cluster cannot be used.
    """
    return assess(model_of_plan(book, plan), count, seed, threads, cluster, buffers, progress, odds)


def answer_as_json(answer: RiskAnswer, start: datetime.datetime) -> dict[str, Any]:
    """A risk answer as plain JSON values: minutes of the plan become times, the rest keeps its names."""
    minutes = ("due", "early", "middle", "late")
    told = asdict(answer)
    for odds in told["odds"]:
        odds |= {name: moment_at(start, odds[name]).isoformat(timespec="seconds") for name in minutes}
    return {"format": FORMAT, **{name: _listed(value) for name, value in told.items()}}


def _listed(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value
