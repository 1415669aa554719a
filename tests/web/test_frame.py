"""What holds on every sheet: the frame, its colours, addresses that lead nowhere, and who may come in."""

import re
from pathlib import Path

import httpx
import pytest

import naptuft.web
from naptuft.web.app import create_app
from naptuft.web.frame import SHEETS
from naptuft.web.marks import SHAPES

STYLE = (Path(naptuft.web.__file__).parent / "static" / "sheet.css").read_text()


def tokens(selector: str) -> dict[str, str]:
    """The colour tokens set under a selector of the style sheet."""
    block = STYLE.split(selector + " {", 1)[1].split("}", 1)[0]
    return dict(re.findall(r"--([a-z]+): (#[0-9A-F]{6})", block))


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours: WCAG 2.2, definition of contrast ratio and relative luminance."""

    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21():
    """WCAG 2.2: the ratio ranges from 1 to 21."""
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21)


@pytest.mark.parametrize("paper", [":root", ':root[data-paper="dark"]'])
@pytest.mark.parametrize("ground", ["paper", "raised"])
@pytest.mark.parametrize("ink", ["ink", "pale", "accent", "second"])
def test_text_stands_out_from_its_paper(paper, ground, ink):
    """WCAG 2.2, success criterion 1.4.3 (AA): at least 4.5 to 1 for text."""
    colours = tokens(paper)
    assert contrast(colours[ink], colours[ground]) >= 4.5


@pytest.mark.parametrize("paper", [":root", ':root[data-paper="dark"]'])
def test_labels_on_closed_time_can_be_read(paper):
    """WCAG 2.2, success criterion 1.4.3 (AA)."""
    colours = tokens(paper)
    assert contrast(colours["ink"], colours["closed"]) >= 4.5


def test_every_state_has_a_shape_of_its_own():
    assert len(set(SHAPES.values())) == len(SHAPES)


async def test_the_margin_lists_the_sheets_there_are_and_marks_the_present_one(user):
    for sheet in SHEETS:
        await user.open(sheet.path)
        page = (await user.http_client.get(sheet.path)).text
        assert page.count("data-sheet=") == len(SHEETS)
        await user.should_see(f'data-mark="sheet-{sheet.number}" aria-current="page"')


async def test_the_title_block_names_plant_book_and_check(user, demo_desk):
    await user.open("/")
    await user.should_see("Quillbeck Brush &amp; Nap")
    await user.should_see(f"rev. {demo_desk.book.settings.revision}")
    await user.should_see("independent check")


async def test_an_address_that_leads_nowhere_is_a_sheet_of_ours(user):
    answer = await user.http_client.get("/stock-room/42")
    assert answer.status_code == 404
    assert "There is no sheet at this address" in answer.text
    assert "Traceback" not in answer.text


async def test_a_sheet_that_cannot_be_drawn_tells_no_secrets(user, demo_desk, caplog):
    demo_desk.plan = object()
    answer = await user.http_client.get("/board")
    assert answer.status_code == 500
    assert "This sheet could not be drawn" in answer.text
    assert "AttributeError" not in answer.text
    caplog.clear()


async def test_nothing_on_a_page_comes_from_elsewhere(user):
    for path in ("/", "/bench", "/board", "/product/B-WALL100", "/api/docs"):
        page = (await user.http_client.get(path)).text
        outside = set(re.findall(r"(?:src|href|url\()\W{0,3}(https?://[^\"')\s]+)", page))
        assert outside == set()


async def test_an_open_sheet_says_when_the_desk_has_changed(user, demo_desk):
    await user.open("/bench")
    await user.should_not_see("The desk has changed")
    demo_desk.lay(demo_desk.book, "mended.xlsx")
    await user.should_see("The desk has changed", retries=30)


async def test_fonts_are_served_and_nothing_else_through_their_door(user):
    answer = await user.http_client.get("/fonts/Barlow-Regular.ttf")
    assert answer.headers["content-type"] == "font/ttf"
    assert answer.content[:4] == b"\x00\x01\x00\x00"
    for path in ("/fonts/..%2f__init__.py", "/fonts/Barlow-Black.ttf"):
        assert (await user.http_client.get(path)).status_code == 404


async def test_a_foreign_name_for_this_pc_is_refused(user):
    answer = await user.http_client.get("/", headers={"host": "plant.example.com"})
    assert answer.status_code == 400


async def test_a_page_of_another_site_gets_no_socket(user):
    own, foreign = "http://localhost", "http://plant.example.com"
    door = "/_nicegui_ws/socket.io/?EIO=4&transport=polling"
    assert (await user.http_client.get(door, headers={"origin": own})).status_code == 200
    assert (await user.http_client.get(door, headers={"origin": foreign})).status_code == 400


async def test_pages_forbid_being_framed_and_loading_from_outside(user):
    policy = (await user.http_client.get("/")).headers["content-security-policy"]
    assert "frame-ancestors 'none'" in policy
    assert "default-src 'self'" in policy


async def test_serving_beyond_this_pc_answers_to_any_name(demo_desk):
    from nicegui.testing.general import nicegui_reset_globals

    with nicegui_reset_globals():
        outer = create_app(demo_desk, host="0.0.0.0")
        async with httpx.AsyncClient(
            transport=httpx.ASGITransport(outer), base_url="http://plant.example.com"
        ) as client:
            assert (await client.get("/api/plan")).status_code == 200
