"""The pages in a real browser: keys, mouse, clipboard, drawing, and nothing fetched from elsewhere."""

import csv
import json
from pathlib import Path

import openpyxl
import pytest

from naptuft.book.files import write_book
from small_plants import scraper_plant

pytestmark = pytest.mark.browser

CELL = 'td[data-r="{}"][data-c="{}"]'


def mark(name: str) -> str:
    """Selects a control by its mark, where it can be seen."""
    return f'[data-mark="{name}"]:visible'


def row_count(page) -> int:
    """How many rows the table says it shows."""
    return int(page.locator(".ledger-count:visible").inner_text().split()[0])


def board_ready(page) -> None:
    """Wait until the board has drawn its operations."""
    page.wait_for_selector('[data-mark="board-view"][data-ready="yes"]')


def test_digits_jump_from_sheet_to_sheet(open_page, demo_address):
    page = open_page(demo_address)
    for digit, name in (("2", "Design bench"), ("5", "Week board"), ("1", "Order book")):
        page.keyboard.press(digit)
        page.wait_for_selector(f'.title-block h1:has-text("{name}")')
        assert page.locator(".index a[aria-current]").inner_text().split() == [digit, *name.split()]


def test_digits_written_into_an_input_stay_there(open_page, demo_address):
    page = open_page(f"{demo_address}bench/brush")
    page.fill(mark("input-width"), "")
    page.type(mark("input-width"), "52")
    assert page.input_value(mark("input-width")) == "52"
    assert "Design bench" in page.locator(".title-block h1").inner_text()


def test_orders_sort_by_quantity_up_then_down(open_page, demo_address):
    page = open_page(demo_address)

    def quantities() -> list[int]:
        return [int(words.replace(",", "")) for words in page.locator('td[data-c="2"]').all_inner_texts()]

    page.click(mark("sort-quantity"))
    assert quantities() == sorted(quantities())
    page.click(mark("sort-quantity"))
    assert quantities() == sorted(quantities(), reverse=True)


def test_a_state_at_the_top_filters_the_orders(open_page, demo_address):
    page = open_page(demo_address)
    count = int(page.locator(f"{mark('state-late')} b").inner_text())
    page.click(mark("state-late"))
    page.wait_for_selector(mark("filter-state"))
    assert page.locator("td .state").all_inner_texts() == [
        words for words in page.locator("td .state").all_inner_texts() if words.startswith("late")
    ]
    assert row_count(page) == count


def test_keys_go_from_cell_to_cell_and_a_block_is_copied(open_page, demo_address):
    page = open_page(demo_address, permissions=["clipboard-read", "clipboard-write"])
    page.click(CELL.format(0, 2))
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("[document.activeElement.dataset.r, document.activeElement.dataset.c]") == ["1", "3"]
    page.keyboard.press("Shift+ArrowDown")
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("Control+c")
    page.wait_for_selector('.said:has-text("Copied 2 × 2 cells")')
    block = [line.split("\t") for line in page.evaluate("navigator.clipboard.readText()").split("\n")]
    assert block == [[page.locator(CELL.format(r, c)).inner_text() for c in (2, 3)] for r in (1, 2)]


def test_the_whole_table_is_copied_with_its_heading(open_page, demo_address):
    page = open_page(demo_address, permissions=["clipboard-read", "clipboard-write"])
    page.click(mark("copy"))
    page.wait_for_selector('.said:has-text("with their heading")')
    lines = page.evaluate("navigator.clipboard.readText()").split("\n")
    assert lines[0].split("\t")[:3] == ["order", "product", "quantity"]
    assert len(lines) == 1 + row_count(page)
    assert {line.count("\t") for line in lines} == {8}


def test_the_table_is_saved_as_csv(open_page, demo_address, tmp_path):
    page = open_page(demo_address)
    with page.expect_download() as waiting:
        page.click(mark("csv"))
    assert waiting.value.suggested_filename == "orders.csv"
    waiting.value.save_as(tmp_path / "orders.csv")
    with open(tmp_path / "orders.csv", encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == row_count(page)
    first = page.locator(CELL.format(0, 2)).inner_text()
    assert float(rows[0]["quantity"]) == float(first.replace(",", ""))


def test_the_head_stays_in_sight_when_the_table_is_scrolled(open_page, demo_address):
    page = open_page(demo_address)
    before = page.locator(mark("sort-order")).bounding_box()
    page.evaluate("document.querySelector('.ledger-view').scrollTop = 100")
    page.wait_for_timeout(100)
    assert page.locator(mark("sort-order")).bounding_box() == before
    assert page.locator(CELL.format(0, 0)).bounding_box()["y"] < before["y"]


def test_keys_reach_the_last_row_of_a_long_table_and_the_first_again(open_page, demo_address):
    page = open_page(demo_address)
    last = row_count(page) - 1
    page.click(CELL.format(0, 2))
    page.keyboard.press("Control+End")
    page.wait_for_function(f"document.activeElement.dataset.r === '{last}'")
    assert page.locator(CELL.format(last, 8)).is_visible()
    page.keyboard.press("Control+Home")
    page.wait_for_function("document.activeElement.dataset.r === '0'")
    page.keyboard.press("PageDown")
    page.wait_for_function("Number(document.activeElement.dataset.r) > 3")


def test_the_answer_follows_the_typing(open_page, demo_address):
    page = open_page(f"{demo_address}bench/brush")
    grams = page.locator('[data-figure="fill_weight"] td')
    before = grams.inner_text()
    page.fill(mark("input-clear_length"), "75 mm")
    page.wait_for_function(f"document.querySelector('[data-figure=fill_weight] td').innerText !== {json.dumps(before)}")
    page.fill(mark("input-clear_length"), "75 g")
    page.wait_for_selector('[data-mark="fault-clear_length"]:has-text("is a mass")')
    assert "clear_length='75 g'" not in page.locator('[data-mark="command"]').inner_text()


def test_the_command_is_copied(open_page, demo_address):
    page = open_page(f"{demo_address}bench/brush", permissions=["clipboard-read", "clipboard-write"])
    page.click(mark("copy-command"))
    page.wait_for_selector('.said:has-text("Copied the command")')
    assert page.evaluate("navigator.clipboard.readText()") == page.locator('[data-mark="command"]').inner_text()


def test_a_drawing_is_inked_for_dark_paper(open_page, demo_address):
    page = open_page(f"{demo_address}bench/brush")
    stroke = "getComputedStyle(document.querySelector('.drawing .outline')).stroke"
    light = page.evaluate(stroke)
    page.click(mark("paper-dark"))
    assert page.evaluate(stroke) != light
    page.reload()
    page.wait_for_selector(".drawing .outline")
    assert page.evaluate("document.documentElement.dataset.paper") == "dark"


def test_the_board_tells_of_the_operation_under_the_pointer(open_page, demo_address):
    page = open_page(f"{demo_address}board")
    board_ready(page)
    page.focus(mark("board-view"))
    page.keyboard.press("ArrowRight")
    told = page.locator(".said").inner_text()
    machine, rest = told.split(":", 1)
    row, height = page.evaluate(
        """async (code) => {
            const told = await (await fetch("/desk/board")).json();
            const room = document.querySelector(".board-view").clientHeight - 46 - 30 - 27 * told.racks.length;
            const row = told.machines.findIndex((machine) => machine.code === code);
            return [row, Math.max(18, Math.min(40, room / told.machines.length))];
        }""",
        machine,
    )
    box = page.locator(mark("board-view")).bounding_box()
    for x in range(198, int(box["width"]), 5):
        page.mouse.move(box["x"] + x, box["y"] + 46 + (row + 0.5) * height)
        if page.locator(".board-tip:visible").count():
            break
    tip = page.locator(".board-tip").inner_text()
    name, product, order = (part.strip() for part in rest.split(",")[:3])
    assert product
    assert tip.startswith(name)
    assert order in tip


def test_keys_walk_the_board_and_open_a_work_order(open_page, demo_address):
    page = open_page(f"{demo_address}board")
    board_ready(page)
    page.focus(mark("board-view"))
    page.keyboard.press("ArrowRight")
    first = page.locator(".said").inner_text()
    page.keyboard.press("ArrowRight")
    assert page.locator(".said").inner_text() != first
    order = next(word for word in page.locator(".said").inner_text().split(", ") if word.startswith("W-"))
    page.keyboard.press("Enter")
    page.wait_for_selector(f'[data-mark="detail"] h2:has-text("{order}")')
    page.keyboard.press("Escape")
    page.wait_for_selector('[data-mark="detail"]', state="detached")


def test_the_board_zooms_and_pans_by_wheel_drag_and_key(open_page, demo_address):
    page = open_page(f"{demo_address}board")
    board_ready(page)
    window = page.locator(mark("board-window"))
    box = page.locator(mark("board-view")).bounding_box()
    seen = [window.inner_text()]

    def changed() -> None:
        page.wait_for_function(f"document.querySelector('.board-window').innerText !== {json.dumps(seen[-1])}")
        seen.append(window.inner_text())

    page.mouse.move(box["x"] + 600, box["y"] + 200)
    page.mouse.wheel(0, -1200)
    changed()
    page.mouse.down()
    page.mouse.move(box["x"] + 200, box["y"] + 200, steps=4)
    page.mouse.up()
    changed()
    page.focus(mark("board-view"))
    page.keyboard.press("Shift+ArrowRight")
    changed()
    page.keyboard.press("0")
    changed()
    page.click(mark("span-day"))
    changed()
    assert page.locator('[data-mark="detail"]').count() == 0


def test_an_order_row_leads_to_the_board_and_the_product(open_page, demo_address):
    page = open_page(demo_address)
    link = page.locator('td[data-c="0"] a').first
    link.click()
    page.wait_for_selector('[data-mark="detail"] h2')
    page.locator('[data-mark="detail"] a').first.click()
    page.wait_for_selector(".product-name")


def test_a_book_is_dropped_in_mended_and_planned(open_page, new_address, tmp_path: Path):
    sound = tmp_path / "scrapers.xlsx"
    write_book(scraper_plant(), sound)
    book = openpyxl.load_workbook(sound)
    book["Orders"]["F3"] = "many"
    book.save(tmp_path / "faulty.xlsx")
    page = open_page(new_address)
    page.set_input_files('[data-mark="book-file"]', tmp_path / "faulty.xlsx")
    page.wait_for_selector(".faults")
    assert [words.strip() for words in page.locator("tbody tr[data-row] td").all_inner_texts()][:4] == [
        "Orders",
        "3",
        "quantity",
        "many",
    ]
    page.set_input_files('[data-mark="book-file"]', sound)
    page.wait_for_selector(f"{mark('stop')}, .outcome")
    if page.locator(mark("stop")).count():
        page.click(mark("stop"))
    page.wait_for_selector(".outcome")
    page.wait_for_selector('.title-block:has-text("Test bench")')


def test_a_dropped_file_is_taken_like_a_chosen_one(open_page, new_address):
    page = open_page(new_address)
    page.evaluate(
        """() => {
            const goods = new DataTransfer();
            goods.items.add(new File(["not a workbook"], "notes.xlsx"));
            document.querySelector(".drop").dispatchEvent(new DragEvent("drop", { dataTransfer: goods, bubbles: true }));
        }"""
    )
    page.wait_for_selector('.faults:has-text("notes.xlsx")')


@pytest.mark.parametrize("size", [(1280, 800), (1024, 768)])
@pytest.mark.parametrize("path", ["", "bench/brush", "board", "product/B-WALL100"])
def test_no_sheet_is_wider_than_its_window(open_page, demo_address, path, size):
    page = open_page(demo_address + path)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    block = page.locator(".title-block").bounding_box()
    assert block["x"] + block["width"] <= size[0]
    assert block["y"] + block["height"] <= size[1]
