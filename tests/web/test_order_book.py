"""Sheet 1 as a planner uses it: drop in a book, read its faults, plan it, see what becomes of the orders."""

import asyncio
import io
import zipfile
from collections import Counter
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from naptuft import services
from naptuft.book.files import write_book
from naptuft.web.ledger import Ledger
from small_plants import scraper_plant

OURS = {"X-Naptuft": "1"}


def workbook(tmp_path: Path, *writes: tuple[str, str, str | float]) -> bytes:
    """The scraper plant's book as a file, with cells written over."""
    path = tmp_path / "scrapers.xlsx"
    write_book(scraper_plant(), path)
    book = openpyxl.load_workbook(path)
    for sheet, cell, value in writes:
        book[sheet][cell] = value
    book.save(path)
    return path.read_bytes()


def ledger_of(user, marker: str) -> Ledger:
    (ledger,) = user.find(kind=Ledger, marker=marker).elements
    return ledger


async def until(seen, seconds: float = 60.0) -> None:
    """Wait until something can be seen."""
    for _ in range(int(seconds * 10)):
        if seen():
            return
        await asyncio.sleep(0.1)
    raise AssertionError("waited in vain")


async def test_an_empty_desk_offers_to_take_a_book_or_plan_the_demo(newcomer):
    await newcomer.open("/")
    await newcomer.should_see(marker="drop")
    await newcomer.should_see(marker="plan-demo")
    await newcomer.should_see("no book on the desk")


async def test_a_faulty_book_is_listed_fault_by_fault_and_nothing_changes(newcomer, empty_desk, tmp_path):
    file = workbook(tmp_path, ("Orders", "E3", "NO-SUCH"), ("Orders", "F3", "many"), ("Lots", "C3", "50 furlongs"))
    await newcomer.open("/")
    answer = await newcomer.http_client.post("/desk/book?name=scrapers.xlsx", content=file, headers=OURS)
    await newcomer.should_see("faults in scrapers.xlsx", retries=20)
    ledger = ledger_of(newcomer, "faults")
    places = {tuple(cell if isinstance(cell, str) else cell.words for cell in cells[:3]) for _, cells in ledger.rows}
    assert ("Orders", "3", "product") in places
    assert ("Orders", "3", "quantity") in places
    assert any(place[0] == "Lots" for place in places)
    assert len(ledger.rows) == answer.json()["faults"] == len(empty_desk.faults)
    assert empty_desk.book is None
    newcomer.find(marker="dismiss").click()
    await newcomer.should_see(marker="plan-demo", retries=20)


async def test_a_sound_book_is_planned_and_its_files_come_back(newcomer, empty_desk, tmp_path):
    file = workbook(tmp_path)
    await newcomer.open("/")
    answer = await newcomer.http_client.post("/desk/book?name=scrapers.xlsx", content=file, headers=OURS)
    assert answer.json() == {"faults": 0}
    newcomer.find(marker="drop").trigger("taken", 0)
    await until(lambda: empty_desk.plan is not None)
    await newcomer.should_see("order lines", retries=30)
    await newcomer.should_see("S-1/1")
    await newcomer.should_see("Test bench")
    book = await newcomer.http_client.get("/desk/book")
    assert book.content == file
    packed = await newcomer.http_client.get("/desk/plan")
    names = zipfile.ZipFile(io.BytesIO(packed.content)).namelist()
    assert "plan.json" in names
    assert any(name.endswith(".pdf") for name in names)


async def test_stopping_the_planning_keeps_the_best_plan_so_far(newcomer, empty_desk):
    empty_desk.effort = None
    empty_desk.lay(scraper_plant(), "scrapers.xlsx")
    await newcomer.open("/")
    newcomer.find(marker="plan").click()
    await until(lambda: newcomer._sees(marker="stop") or empty_desk.plan is not None)
    if empty_desk.planning is not None:
        newcomer.find(marker="stop").click()
    await until(lambda: empty_desk.plan is not None, seconds=11)
    await newcomer.should_see("order lines", retries=30)


async def test_the_figures_at_the_top_are_those_of_the_plan(user, demo_desk):
    plan = demo_desk.plan
    await user.open("/")
    counts = Counter(order.state for order in plan.orders)
    for state in ("on time", "late", "short", "from stock"):
        with user.scope(marker=f"state-{state.replace(' ', '-')}"):
            await user.should_see(f"<b>{counts[state]}</b>")
    await user.should_see(f"{sum(p.cost for p in plan.purchases):,.2f}")
    busiest = max(plan.loads, key=lambda load: load.share)
    await user.should_see(marker="busy", content=busiest.name)


async def test_every_order_stands_in_the_table_with_its_state_and_reason(user, demo_desk):
    await user.open("/")
    rows = dict(ledger_of(user, "orders").rows)
    assert len(rows) == len(demo_desk.plan.orders)
    for order in demo_desk.plan.orders:
        cells = [cell if isinstance(cell, str) else cell.words for cell in rows[order.name]]
        assert any(cell.startswith(order.state) for cell in cells)
        assert order.reason in cells


async def test_each_view_lists_what_it_names(user, demo_desk):
    plan = demo_desk.plan
    await user.open("/")
    for view, count in (
        ("purchases", len(plan.purchases)),
        ("centres", len(plan.loads)),
        ("designs", len(plan.designs)),
        ("findings", len(plan.checks)),
    ):
        user.find(marker=f"view-{view}").click()
        await user.should_see(marker=view)
        assert len(ledger_of(user, view).rows) == count
    await user.should_not_see(marker="orders")


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
async def test_a_planner_that_breaks_off_leaves_the_page_usable(newcomer, empty_desk):
    """A book laid without being checked: a step has neither a time nor a design to tell it."""
    book = scraper_plant()
    impossible = replace(book, routes=tuple(replace(step, time_each=None) for step in book.routes))
    empty_desk.lay(impossible, "impossible.xlsx")
    await newcomer.open("/")
    newcomer.find(marker="plan").click()
    await newcomer.should_see("in impossible.xlsx", retries=100)
    await newcomer.should_see("broken off")
    newcomer.find(marker="dismiss").click()
    await newcomer.should_see(marker="plan", retries=20)


async def test_another_visitor_sees_the_plan_when_it_is_made(newcomer, empty_desk):
    await newcomer.open("/")
    await newcomer.should_see(marker="plan-demo")
    book = scraper_plant()
    empty_desk.lay(book, "scrapers.xlsx")
    empty_desk.keep(services.plan_book(book, effort=5), 0.5)
    await newcomer.should_see("order lines", retries=20)


async def test_a_book_from_another_page_is_refused(newcomer, empty_desk, tmp_path):
    answer = await newcomer.http_client.post("/desk/book", content=workbook(tmp_path))
    assert answer.status_code == 403
    assert empty_desk.book is None


async def test_what_is_no_workbook_is_a_fault_and_not_a_crash(newcomer):
    await newcomer.open("/")
    answer = await newcomer.http_client.post("/desk/book?name=holiday.jpg", content=b"\xff\xd8\xff", headers=OURS)
    assert answer.status_code == 200
    assert answer.json()["faults"] >= 1
    await newcomer.should_see("in holiday.jpg", retries=20)
