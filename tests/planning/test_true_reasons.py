"""A reason is true when the order is on time in a new plan without what it names."""

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.planning.answered import answered
from naptuft.planning.causes import Cause, without
from naptuft.planning.problem import Crew, Job, Machine, Mode, Need, Operation, Placement, Problem, SharedStore
from naptuft.planning.relief import late_orders
from naptuft.planning.schedule import schedule
from naptuft.planning.weeks import plan_weeks
from naptuft.planning.why_late import LateWork
from naptuft.plant.calendar import minutes_after
from small_plants import after, scraper_plant


@pytest.fixture(scope="module")
def quillbeck():
    book = read_book(demo_folder())
    return book, plan_weeks(book, effort=20_000)


def test_each_late_order_of_the_demo_is_on_time_without_its_causes(quillbeck):
    book, plan = quillbeck
    posed = answered(book, plan)
    problem = posed.timing.problem
    late_work = LateWork(problem, posed.schedule.placements, posed.allocated.waits_for)
    late = [order for order in plan.orders if order.late_minutes > 0 and order.work_orders]
    assert late
    for order in late:
        due = minutes_after(book.start, order.due)
        causes = late_work.of(order.work_orders, due)
        assert all(cause.words in order.reason for cause in causes)
        changed = without(problem, causes)
        again = schedule(changed, seed=7, effort=8000)
        finish = max(
            placed.end
            + problem.jobs[placed.job].operations[placed.index].min_wait * (not _dried(causes, placed, problem))
            for placed in again.placements
            if problem.jobs[placed.job].name in order.work_orders
        )
        assert causes[0].removable
        assert finish <= due, (order.name, causes)


def _dried(causes: tuple[Cause, ...], placed: Placement, problem: Problem) -> bool:
    """Whether the wait after an operation was taken away."""
    step = problem.jobs[placed.job].name, placed.index
    return any(cause.kind == "drying or curing" and step in {s[:2] for s in cause.steps} for cause in causes)


def one(*operations: Operation, name: str = "A", **more) -> Job:
    return Job(name, operations, **more)


PRESS, BENCH = Machine("press"), Machine("bench")
SHORT = Operation((Mode(0, 10),), name="form")
LONG = Operation((Mode(0, 50),), name="cut")
NEEDED = (Need(0, 1.0),)


@pytest.mark.parametrize(
    ("problem", "kind", "name", "words"),
    [
        (
            Problem((PRESS,), (one(LONG, name="B"), one(SHORT, due=20))),
            "machine busy",
            "press",
            "press is busy with other work for 50 min when it could start there; A form is behind B (cut)",
        ),
        (
            Problem(
                (PRESS, BENCH),
                (
                    one(Operation((Mode(1, 50),), needs=NEEDED), name="B"),
                    one(Operation((Mode(0, 10),), needs=NEEDED), due=20),
                ),
                crews=(Crew("setters", 1),),
            ),
            "crew too few",
            "setters",
            "setters, 1 in all, are at other work for 50 min when it could start",
        ),
        (
            Problem(
                (PRESS, BENCH),
                (
                    one(Operation((Mode(1, 50),), store=0, units=3), name="B"),
                    one(Operation((Mode(0, 10),), store=0, units=2), due=20),
                ),
                (SharedStore("racks", 4),),
            ),
            "racks full",
            "racks",
            "no room in racks for 50 min when it could go there",
        ),
        (
            Problem((PRESS,), (one(SHORT, due=20, release=50),)),
            "material comes late",
            "A",
            "A is not released before day 1, 00:50",
        ),
        (
            Problem((Machine("press", ((50, 100),)),), (one(SHORT, due=20),)),
            "closed hours",
            "press",
            "press is closed for 50 min while it could be worked on",
        ),
        (
            Problem((PRESS,), (one(Operation((Mode(0, 10),), min_wait=40, name="dip"), due=20),)),
            "drying or curing",
            "A",
            "A dries or cures for 40 min after dip",
        ),
        (
            Problem((PRESS,), (one(LONG, due=20),)),
            "route too long",
            "",
            "its work takes 50 min one step after the other, without a stop or a wait; only a later due time helps",
        ),
    ],
)
def test_each_kind_of_cause_is_named(problem, kind, name, words):
    placed = [Placement(k, 0, job.operations[0].modes[0].machine, 0, 0) for k, job in enumerate(problem.jobs)]
    if len(placed) == 2:
        placed = [Placement(0, 0, placed[0].machine, 0, 50), Placement(1, 0, placed[1].machine, 50, 60)]
    else:
        placed = schedule(problem, effort=1).placements
    (cause,) = LateWork(problem, placed).of(["A"], 20)
    assert (cause.kind, cause.name, cause.words) == (kind, name, words)
    job = problem.jobs[-1]
    again = schedule(without(problem, [cause]), effort=20)
    wait = 0 if kind == "drying or curing" else job.operations[0].min_wait
    assert (again.placements[-1].end + wait <= 20) == cause.removable


def test_two_causes_are_named_where_one_is_not_enough():
    problem = Problem((PRESS, BENCH), (one(LONG, name="B"), one(SHORT, Operation((Mode(1, 10),), min_wait=30), due=30)))
    placed = [Placement(0, 0, 0, 0, 50), Placement(1, 0, 0, 50, 60), Placement(1, 1, 1, 60, 70)]
    assert [(c.kind, c.minutes) for c in LateWork(problem, placed).of(["A"], 30)] == [
        ("machine busy", 50),
        ("drying or curing", 30),
    ]
    assert [c.kind for c in LateWork(problem, placed).of(["A"], 60)] == ["machine busy"]


def test_relief_confirms_the_causes_by_planning_anew_and_says_where_it_did():
    plant = scraper_plant(
        orders=tuple(
            _order(number, quantity, due)
            for number, quantity, due in ((1, 9000, 1.0), (2, 9000, 1.0), (3, 600, 0.6), (4, 900, 0.7))
        )
    )
    plan = plan_weeks(plant, effort=200)
    found = late_orders(plant, plan, effort=200)
    assert [order.order for order in found] == [order.name for order in plan.orders if order.late_minutes]
    assert found
    for order in found:
        assert order.causes
        assert order.confirmed is (None if not order.causes[0].removable else True)
        assert all(relief.searched == relief.words.endswith("planned anew") for relief in order.tried)
    quick = late_orders(plant, plan, effort=0)
    assert all(order.confirmed is None and not any(r.searched for r in order.tried) for order in quick)


def _order(number: int, quantity: int, due: float):
    from naptuft.book.model import Order

    return Order(
        order=f"S-{number}", line=1, customer="Mill Lane", product="SCRAPER", quantity=quantity, due=after(due)
    )
