"""Sheet 5: what the board is told, and the detail of a work order."""

from collections import defaultdict
from itertools import pairwise

from naptuft.plant.calendar import moment_at
from naptuft.web.board import Board, board_data


def shown(user, marker: str) -> str:
    (part,) = user.find(marker=marker).elements
    return part.content


def test_the_board_is_told_every_operation_where_and_when_it_is(demo):
    book, plan = demo
    data = board_data(book, plan)
    told = {
        (
            data["machines"][machine]["code"],
            data["work_orders"][order]["number"],
            step,
            moment_at(plan.start, start),
            moment_at(plan.start, end),
        )
        for machine, start, end, _, _, order, step, *_ in data["operations"]
    }
    planned = {(o.machine, o.work_order, o.step, o.start, o.end) for o in plan.operations}
    assert told == planned


def test_work_done_lies_in_open_time(demo):
    """An operation's minutes of work are the open minutes between its start and its end; one that gets its work in
    transfer batches, or whose crew has hours of its own, may wait in between."""
    book, plan = demo
    data = board_data(book, plan)
    hours = {crew.code for crew in book.crews if crew.calendar}
    waits = {centre.code for centre in book.work_centres if centre.crew in hours}
    product = {order.number: order.product for order in plan.work_orders}
    fed = {
        (code, after.step)
        for code, route in book.route_of.items()
        for before, after in pairwise(route)
        if before.transfer is not None
    }
    exact = 0
    for (machine, start, end, _, _, _, _, _, run, _), planned in zip(data["operations"], plan.operations, strict=True):
        opened = sum(max(0, min(end, b) - max(start, a)) for a, b in data["machines"][machine]["open"])
        assert opened >= run
        if planned.work_centre not in waits and (product[planned.work_order], planned.step) not in fed:
            assert opened == run
            exact += 1
    assert exact > len(plan.operations) / 2


def test_racks_shown_never_exceed_what_there_is(demo):
    for store in board_data(*demo)["racks"]:
        held = [count for _, count in store["steps"]]
        assert min(held) >= 0
        assert max(held) <= store["capacity"]
        assert held[-1] == 0


def test_a_late_work_order_is_told_to_be_late(demo):
    _, plan = demo
    late = {order.number for order in plan.work_orders if order.finish > order.due}
    told = {order["number"] for order in board_data(*demo)["work_orders"] if order["late"]}
    assert told == late


async def test_picking_an_operation_shows_its_work_order_and_its_chain(user, demo_desk):
    plan = demo_desk.plan
    order = next(order for order in plan.work_orders if order.needs)
    await user.open("/board")
    user.find(kind=Board).trigger("pick", order.number)
    await user.should_see(marker="detail")
    detail = shown(user, "detail")
    assert order.product_name in detail
    for operation in plan.operations:
        if operation.work_order == order.number:
            assert operation.name in detail
            assert operation.machine in detail
    user.find(marker=f"go-{order.needs[0]}").click()
    await user.should_see(order.needs[0])
    user.find(marker="close-detail").click()
    await user.should_not_see(marker="detail")


async def test_an_order_leads_to_its_work_order_on_the_board(user, demo_desk):
    line = next(order for order in demo_desk.plan.orders if order.work_orders)
    await user.open(f"/board?work_order={line.work_orders[0]}")
    assert line.work_orders[0] in shown(user, "detail")


async def test_an_unplanned_desk_says_so(newcomer):
    await newcomer.open("/board")
    await newcomer.should_see("Nothing is planned yet")


async def test_the_legend_names_every_line_planned(user, demo_desk):
    await user.open("/board")
    for line in {order.product_line for order in demo_desk.plan.work_orders}:
        await user.should_see(line)


def test_no_two_lines_look_alike():
    from naptuft.book.model import LINES
    from naptuft.web.families import LOOKS

    looks = defaultdict(list)
    for line in LINES:
        looks[LOOKS[line]].append(line)
    assert all(len(lines) == 1 for lines in looks.values())
