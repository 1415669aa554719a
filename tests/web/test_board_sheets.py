"""The sheets beside the week board: what each shows, and that work begun on them ends."""

from __future__ import annotations

import asyncio
import json

import httpx
import pytest

from naptuft import services
from naptuft.planning.replan import happenings_csv
from naptuft.plant.calendar import moment_at
from naptuft.web.board import board_data
from naptuft.web.board_sheets.layout import SHEETS
from naptuft.web.board_sheets.materials import cost_parts, net_needs
from naptuft.web.ledger import Cell, Ledger
from naptuft.web.rest import create_api


def shown(user, marker: str) -> str:
    (part,) = user.find(marker=marker).elements
    return part.content


def ledger(user, marker: str) -> Ledger:
    (found,) = user.find(kind=Ledger, marker=marker).elements
    return found


def cells_of(user, marker: str) -> dict[str, list[Cell]]:
    """The cells of each row of a ledger."""
    rows = ledger(user, marker).rows
    return {key: [cell if isinstance(cell, Cell) else Cell(cell) for cell in cells] for key, cells in rows}


async def over(desk, name: str) -> None:
    """Wait until a piece of work is done and drawn."""
    for _ in range(1200):
        if name in desk.runs and desk.runs[name].over:
            await asyncio.sleep(0.4)
            assert desk.runs[name].faults == ()
            return
        await asyncio.sleep(0.1)
    raise AssertionError(f"{name} did not end")


@pytest.mark.parametrize("path", [path for path, _ in SHEETS])
async def test_every_sheet_leads_to_the_others(user, path):
    await user.open(path)
    ways = shown(user, "ways")
    assert ways.count("aria-current") == 1
    for address, words in SHEETS:
        assert f'<a href="{address}"' in ways
        assert f">{words}</a>" in ways


@pytest.mark.parametrize("path", [path for path, _ in SHEETS])
async def test_an_unplanned_desk_says_so(newcomer, path):
    await newcomer.open(path)
    await newcomer.should_see("Nothing is planned yet")


async def test_odds_are_counted_and_drawn_for_every_order_delivered(user, demo_desk):
    await user.open("/board/odds")
    await user.should_see("Not replayed yet")
    user.find(marker="ask-replays").clear().type("300")
    user.find(marker="ask-odds").clear().type("95")
    user.find(marker="begin").click()
    await over(demo_desk, "odds")
    answer = demo_desk.runs["odds"].answer
    assert (answer.replays, answer.band) == (300, 0.95)
    rows = cells_of(user, "odds")
    assert set(rows) == {order.name for order in demo_desk.plan.orders if order.finish}
    for odds in answer.odds:
        assert rows[odds.name][1].value == pytest.approx(odds.on_time, abs=1e-5)
        assert 'class="due"' in rows[odds.name][3].drawn
    assert "What a buffer buys" in shown(user, "odds-buffers")
    assert all(share.machine in shown(user, "odds-shares") for share in answer.shares[:8])


async def test_the_odds_shown_are_those_of_the_same_replays_asked_elsewhere(demo_desk):
    book, plan = demo_desk.book, demo_desk.plan
    offered = []
    last = services.odds_by_steps(book, plan, replays=250, seed=3, offer=offered.append)
    assert last == services.assess_risk(book, plan, replays=250, seed=3)
    assert offered[-1].odds == last.odds
    assert offered[0].replays < last.replays


async def test_odds_stopped_keep_the_first_answer(demo_desk):
    answer = services.odds_by_steps(demo_desk.book, demo_desk.plan, replays=5000, stop=lambda: True)
    assert answer.replays < 5000
    assert answer.odds


async def test_what_cannot_be_asked_is_said_and_nothing_begins(user, demo_desk):
    await user.open("/board/odds")
    user.find(marker="ask-replays").clear().type("many")
    user.find(marker="begin").click()
    await asyncio.sleep(0.1)
    assert "a whole number from" in shown(user, "run-faults")
    assert demo_desk.runs == {}


async def test_a_late_order_is_drawn_with_its_chain(user, demo_desk):
    late = max(demo_desk.plan.orders, key=lambda order: order.late_minutes)
    await user.open(f"/board/reasons?order={late.name}")
    detail = shown(user, "detail")
    assert late.reason.split(":")[0] in detail
    for link in services.chain(demo_desk.plan, late):
        assert f"{link.operation.name}, {link.operation.machine}" in detail
    keys = {key for key, _ in ledger(user, "late-orders").rows}
    assert keys == {order.name for order in demo_desk.plan.orders if order.late_minutes or order.state == "short"}


async def test_the_hours_of_each_work_centre_are_shown(user, demo_desk):
    await user.open("/board/reasons?view=centres")
    rows = cells_of(user, "centre-hours")
    assert set(rows) == {centre.code for centre in demo_desk.book.work_centres}
    for load in demo_desk.plan.loads:
        cells = rows[load.work_centre]
        assert cells[1].value == pytest.approx(load.open_minutes / 60, abs=0.01)
        assert sum(cell.value for cell in cells[3:]) == pytest.approx(cells[1].value, abs=0.1)


async def test_a_machine_down_changes_the_plan_and_the_new_one_is_kept(user, demo_desk):
    plan = demo_desk.plan
    at = plan.start.replace(hour=10, minute=0)
    broken = next(o for o in plan.operations if o.start > at and o.work_centre == "MOULDING")
    await user.open("/board/changes")
    for marker, words in (("ask-at", f"{at:%Y-%m-%d %H:%M}"), ("ask-seconds", "0.5")):
        user.find(marker=marker).clear().type(words)
    (entry,) = user.find(marker="machine-0").elements
    entry.value = broken.machine
    user.find(marker="until-0").clear().type(f"{at:%Y-%m-%d} 20:00")
    user.find(marker="begin").click()
    await over(demo_desk, "changes")
    answer = demo_desk.runs["changes"].answer
    assert len(ledger(user, "changes").rows) == len(answer.changes) > 0
    assert f"{answer.moved} of {answer.ahead} ahead" in shown(user, "verdict")
    moved = [o for o in answer.plan.operations if o.machine == broken.machine and o.end > at]
    assert all(operation.start >= at.replace(hour=20) or operation.start < at for operation in moved)
    user.find(marker="keep-new").click()
    await asyncio.sleep(0.2)
    assert demo_desk.plan is answer.plan
    assert demo_desk.book is answer.book


async def test_the_plan_as_it_was_may_be_kept(user, demo_desk):
    before = demo_desk.plan
    await user.open("/board/changes")
    user.find(marker="until-0").clear().type(f"{before.start:%Y-%m-%d} 20:00")
    user.find(marker="ask-seconds").clear().type("0.5")
    user.find(marker="begin").click()
    await over(demo_desk, "changes")
    user.find(marker="keep-old").click()
    await asyncio.sleep(0.2)
    assert demo_desk.plan is before
    assert "changes" not in demo_desk.runs


async def test_happenings_dropped_as_csv_fill_the_form(user, demo_desk):
    plan = demo_desk.plan
    text = f"kind,machine,until,lot\nmachine down,PRESS-A,{plan.start:%Y-%m-%d} 18:00,\nlot held,,,{demo_desk.book.lots[0].code}\n"
    await user.open("/board/changes")
    user.find(marker="drop-happenings").trigger("text", text)
    await asyncio.sleep(0.2)
    (kind,) = user.find(marker="kind-1").elements
    (lot,) = user.find(marker="lot-1").elements
    assert (kind.value, lot.value) == ("lot held", demo_desk.book.lots[0].code)
    user.find(marker="drop-happenings").trigger("text", "kind,lot\nlot hold,L-7\n")
    await asyncio.sleep(0.2)
    assert "did you mean lot held" in shown(user, "run-faults")


def test_the_changed_board_tells_where_each_moved_operation_was(demo):
    book, plan = demo
    at = plan.start.replace(hour=10, minute=0)
    broken = next(o for o in plan.operations if o.start > at and o.work_centre == "MOULDING")
    text = f"kind,machine,until\nmachine down,{broken.machine},{at:%Y-%m-%d} 20:00\n"
    answer = services.change_plan(book, plan, at, services.happened(text), seconds=0.3)
    told = board_data(answer.book, answer.plan, plan)
    was = {(o.work_order, o.step): o for o in plan.operations}
    assert told["moved"]
    for number, machine, start, _ in told["moved"]:
        operation = answer.plan.operations[number]
        before = was[operation.work_order, operation.step]
        assert told["machines"][machine]["code"] == before.machine
        assert moment_at(plan.start, start) == before.start
    assert board_data(book, plan)["moved"] == []


async def test_a_promise_names_the_date_and_what_stands_in_the_way(user, demo_desk):
    await user.open("/board/promise")
    user.find(marker="ask-quantity").clear().type("120")
    user.find(marker="begin").click()
    await over(demo_desk, "promise")
    answer = demo_desk.runs["promise"].answer
    told = shown(user, "promised")
    assert f"{answer.finish.day} {answer.finish:%b %H:%M}" in told
    assert f"{answer.with_odds.day} {answer.with_odds:%b %H:%M}" in told
    assert answer.outcome.reason.split(":")[0] in told
    assert answer.with_odds is not None


def test_net_needs_are_what_stock_on_hand_does_not_cover(demo):
    for need in services.material_plan(*demo):
        uncovered = net_needs(need)
        total = uncovered[-1][1] if uncovered else 0.0
        assert total == pytest.approx(max(0.0, need.needed - need.opening), abs=1e-6)


async def test_each_order_to_place_stands_with_what_it_serves_and_what_it_costs(user, demo_desk):
    await user.open("/board/materials")
    needs = services.material_plan(demo_desk.book, demo_desk.plan)
    orders = [(need, order) for need in needs for order in need.proposed]
    rows = ledger(user, "proposed-orders").rows
    assert len(rows) == len(orders)
    assert {cells[-1] for _, cells in rows} == {", ".join(order.serves) for _, order in orders}
    for need, _ in orders:
        price, ordering, keeping = cost_parts(demo_desk.book, need)
        assert price + ordering + keeping == need.proposed_cost
        assert keeping >= 0
    user.find(marker="view-days").click()
    await asyncio.sleep(0.1)
    assert len(ledger(user, "needs-by-day").rows) == sum(len(need.days) for need in needs)


async def test_capacity_shows_every_work_centre_each_crew_and_what_a_rate_needs(user, demo_desk):
    await user.open("/board/capacity")
    assert {key for key, _ in ledger(user, "weeks").rows} == {centre.code for centre in demo_desk.book.work_centres}
    user.find(marker="view-crews").click()
    await asyncio.sleep(0.1)
    crews = {centre.crew for centre in demo_desk.book.work_centres}
    assert {key for key, _ in ledger(user, "crews").rows} == crews
    user.find(marker="view-rate").click()
    user.find(marker="ask-per-week").clear().type("9000")
    user.find(marker="work-out-rate").click()
    await asyncio.sleep(0.2)
    assert "9,000" in shown(user, "rate-needs")
    user.find(marker="ask-per-week").clear().type("none")
    user.find(marker="work-out-rate").click()
    await asyncio.sleep(0.2)
    assert "above 0 a week" in shown(user, "rate-needs")


async def test_other_emphases_stand_beside_the_plan_at_hand(user, demo_desk):
    await user.open("/board/trade")
    user.find(marker="ask-seconds").clear().type("0.2")
    user.find(marker="begin").click()
    await over(demo_desk, "trade")
    rows = cells_of(user, "trade")
    assert "the plan at hand" in rows
    assert len(rows) == len(demo_desk.runs["trade"].answer) > 3
    late = rows["the plan at hand"][1].value
    assert late == pytest.approx(demo_desk.plan.quality.weighted_late_minutes / 60, abs=0.01)


async def test_what_was_found_goes_when_the_desk_changes(demo_desk):
    run = demo_desk.begin("odds", "", lambda _: "found")
    while not run.over:
        await asyncio.sleep(0.01)
    assert demo_desk.runs["odds"].answer == "found"
    demo_desk.keep(demo_desk.plan, 1.0)
    assert demo_desk.runs == {}
    assert run.halted()


@pytest.fixture
async def door(demo_desk):
    transport = httpx.ASGITransport(app=create_api(demo_desk))
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as way_in:
        yield way_in


async def test_rest_tells_what_the_sheets_tell(door, demo_desk):
    book, plan = demo_desk.book, demo_desk.plan
    odds = (await door.get("/plan/odds?replays=200&seed=2")).json()
    assert odds == json.loads(
        json.dumps(services.risk_as_json(plan, services.assess_risk(book, plan, replays=200, seed=2)))
    )
    reasons = (await door.get("/plan/reasons")).json()
    assert {late["order"] for late in reasons["late"]} == {order.name for order in plan.orders if order.late_minutes}
    assert set(reasons["work_centres"]) == {centre.code for centre in book.work_centres}
    materials = (await door.get("/plan/materials")).json()
    assert {need["material"] for need in materials} == {need.material for need in services.material_plan(book, plan)}
    capacity = (await door.get("/plan/capacity?days=7&periods=4&product=B-WALL100&per_week=500")).json()
    assert len(capacity["loads"]) == 4 * len(book.work_centres)
    assert capacity["rate"]["bottleneck"] == services.needs_at_rate(book, "B-WALL100", 500, plan).bottleneck


async def test_rest_changes_and_promises_and_leaves_the_desk_as_it_was(door, demo_desk):
    plan = demo_desk.plan
    happened = services.happened(f"kind,machine,until\nmachine down,PRESS-A,{plan.start:%Y-%m-%d} 20:00\n")
    assert happenings_csv(happened)
    body = {
        "at": f"{plan.start:%Y-%m-%dT%H:%M}",
        "happenings": [{"kind": "machine down", "machine": "PRESS-A", "until": f"{plan.start:%Y-%m-%d} 20:00"}],
        "seconds": 0.3,
    }
    answer = (await door.post("/plan/changes", json=body)).json()
    assert answer["changes"]
    assert answer["plan"]["plant"] == plan.plant
    promised = (await door.post("/plan/promise", json={"product": "B-WALL100", "quantity": 50})).json()
    assert promised["finish"] > plan.start.isoformat()
    wrong = await door.post("/plan/promise", json={"product": "B-WALL1000", "quantity": 50})
    assert wrong.status_code == 422
    assert wrong.json()["faults"]
    assert demo_desk.plan is plan
