"""One way through each sheet beside the week board, in a real browser."""

from __future__ import annotations

import csv

import pytest

from naptuft.web.board_sheets.layout import SHEETS

pytestmark = pytest.mark.browser


def mark(name: str) -> str:
    """Selects a control by its mark, where it can be seen."""
    return f'[data-mark="{name}"]:visible'


def title(page) -> str:
    """The name in the title block."""
    return page.locator(".title-block h1").inner_text()


def work(page, stop: bool = False) -> None:
    """Begin the work of the page and wait until it is over."""
    page.click(mark("begin"))
    page.wait_for_selector('.run-strip[data-state="under way"]')
    if stop:
        page.click(mark("stop"))
    page.wait_for_selector('.run-strip[data-state="over"]', timeout=120_000)


def test_brackets_go_from_sheet_to_sheet(open_page, demo_address):
    page = open_page(f"{demo_address}board")
    for _, name in (*SHEETS[1:], SHEETS[0]):
        page.keyboard.press("]")
        page.wait_for_selector(f'.ways a[aria-current]:has-text("{name}")')
        page.wait_for_function("window.did_handshake === true")
    page.keyboard.press("[")
    page.wait_for_selector(f'.ways a[aria-current]:has-text("{SHEETS[-1][1]}")')


@pytest.mark.parametrize("size", [(1280, 800), (1024, 768), (800, 1280)])
@pytest.mark.parametrize("path", [path for path, _ in SHEETS])
def test_no_sheet_is_wider_than_its_window(open_page, demo_address, path, size):
    page = open_page(demo_address.rstrip("/") + path)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    block = page.locator(".title-block").bounding_box()
    assert block["x"] + block["width"] <= size[0]
    assert block["y"] + block["height"] <= size[1]


def test_odds_are_replayed_sorted_saved_and_lead_to_their_reasons(open_page, demo_address, tmp_path):
    page = open_page(f"{demo_address}board/odds")
    page.fill(mark("ask-replays"), "200")
    work(page)
    page.wait_for_selector("tr[data-row] .strip-drawn .due", state="attached")
    page.click(mark("sort-mean"))
    page.click(mark("sort-mean"))
    with page.expect_download() as waiting:
        page.click(mark("csv"))
    waiting.value.save_as(tmp_path / "odds.csv")
    with open(tmp_path / "odds.csv", encoding="utf-8-sig", newline="") as file:
        late = [float(row["mean late"] or 0) for row in csv.DictReader(file)]
    assert late == sorted(late, reverse=True)
    assert late[0] > 0
    order = page.locator("tr[data-row]").first.get_attribute("data-row")
    page.locator("tr[data-row] td a").first.click()
    page.wait_for_selector(f'[data-mark="detail"] h2:has-text("{order}")')
    assert "Reasons" in title(page)


def test_reasons_draw_the_chain_of_a_late_order_to_scale(open_page, demo_address):
    page = open_page(f"{demo_address}board/reasons")
    page.locator("tr[data-row]").nth(1).locator("td").nth(1).dblclick()
    order = page.locator("tr[data-row]").nth(1).get_attribute("data-row")
    page.wait_for_selector(f'[data-mark="detail"] h2:has-text("{order}")')
    assert page.locator('[data-mark="detail"] svg.drawing path.accent').count() >= 1
    page.click(mark("view-centres"))
    page.wait_for_selector("tr[data-row] .use.runs")
    page.locator("tr[data-row]:visible td").first.click()
    page.keyboard.press("Enter")
    page.wait_for_selector('[data-mark="detail"]:has-text("% of open")')


def test_a_machine_down_is_written_the_plan_changed_and_put_back(open_page, demo_address):
    page = open_page(f"{demo_address}board/changes")
    page.select_option(mark("machine-0"), "PRESS-A")
    page.fill(mark("until-0"), "2026-12-02 14:00")
    page.fill(mark("ask-seconds"), "0.5")
    work(page)
    page.fill(mark("find"), "PRESS-A")
    page.wait_for_selector("tr[data-row] .strip-drawn .now")
    page.click(mark("view-board"))
    page.wait_for_selector('[data-mark="board-view"][data-ready="yes"]')
    page.click(mark("keep-old"))
    page.wait_for_selector(':text("Nothing changed yet")')


def test_happenings_are_taken_from_a_file_and_saved_again(open_page, demo_address, tmp_path):
    given = "kind,machine,until\nmachine down,PRESS-B,2026-12-02 10:00\n"
    (tmp_path / "happened.csv").write_text(given)
    page = open_page(f"{demo_address}board/changes")
    page.set_input_files('.changes-form [data-mark="book-file"]', tmp_path / "happened.csv")
    page.wait_for_function("""document.querySelector('[data-mark="machine-0"]').value === 'PRESS-B'""")
    with page.expect_download() as waiting:
        page.click(mark("save-happenings"))
    waiting.value.save_as(tmp_path / "again.csv")
    with open(tmp_path / "again.csv", newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["kind"], row["machine"], row["until"]) == ("machine down", "PRESS-B", "2026-12-02 10:00")


def test_a_promise_is_asked_and_drawn(open_page, demo_address):
    page = open_page(f"{demo_address}board/promise")
    page.fill(mark("ask-odds"), "40")
    page.click(mark("begin"))
    page.wait_for_selector('[data-mark="run-faults"]:has-text("50 to 99.9 %")')
    page.fill(mark("ask-odds"), "90")
    work(page)
    page.wait_for_selector(".promise-dates")
    assert "with odds of 90" in page.locator(".promise-dates").inner_text()


def test_a_material_opens_with_its_stock_drawn(open_page, demo_address):
    page = open_page(f"{demo_address}board/materials")
    page.click(mark("view-days"))
    page.wait_for_function("document.querySelector('.view').offsetParent === null")
    page.wait_for_selector(".view:visible tr[data-row] td")
    page.locator(".view:visible tr[data-row] td").nth(3).dblclick()
    page.wait_for_selector('[data-mark="detail"]:visible svg.drawing')


def test_capacity_is_shown_by_week_and_worked_out_for_a_rate(open_page, demo_address):
    page = open_page(f"{demo_address}board/capacity")
    page.wait_for_selector("tr[data-row] .strip-drawn .bar")
    page.click(mark("view-rate"))
    page.select_option(mark("ask-product"), "B-WALL100")
    page.fill(mark("ask-per-week"), "12000")
    page.click(mark("work-out-rate"))
    page.wait_for_selector('[data-mark="rate-needs"]:has-text("12,000 of B-WALL100")')


def test_emphases_are_tried_stopped_and_stand_side_by_side(open_page, demo_address):
    page = open_page(f"{demo_address}board/trade")
    page.fill(mark("ask-seconds"), "1")
    work(page, stop=True)
    page.wait_for_selector('[data-mark="detail"] svg.drawing circle')
    assert page.locator("tr[data-row]").first.get_attribute("data-row") == "the plan at hand"
