"""Sheet 2: forms made from the declarations, live results, faults beside the field, the same command."""

import asyncio
import json
import shlex
from html import unescape

from typer.testing import CliRunner

from naptuft import services
from naptuft.cli import app
from naptuft.quantity import show_number
from naptuft.web.entry import Entry
from naptuft.web.results import figures_html


def entry_of(user, name: str) -> Entry:
    (entry,) = user.find(kind=Entry, marker=f"input-{name}").elements
    return entry


def shown(user, marker: str) -> str:
    (part,) = user.find(marker=marker).elements
    return part.content


async def write(user, name: str, words: str, *, until) -> None:
    """Write into an input as a person does, and wait for what follows."""
    user.find(kind=Entry, marker=f"input-{name}").clear().type(words)
    for _ in range(400):
        if until():
            return
        await asyncio.sleep(0.05)
    raise AssertionError(f"nothing followed writing {words!r} into {name}")


async def test_every_calculation_has_a_form_that_answers_its_example(newcomer):
    for name, calculation in services.CALCULATIONS.items():
        await newcomer.open(f"/bench/{name}")
        await newcomer.should_see(calculation.title)
        result = calculation.answer(calculation.example())
        for field in calculation.fields:
            assert shown(newcomer, f"fault-{field.name}") == "", f"{name}, {field.name}"
        assert shown(newcomer, "figures").endswith(figures_html(result)), name
        if calculation.draw is not None:
            assert "<svg" in shown(newcomer, "drawing"), name


async def test_a_changed_input_changes_the_answer_at_once(newcomer):
    await newcomer.open("/bench/brush")
    before = shown(newcomer, "figures")
    await write(newcomer, "clear_length", "2 3/4 in", until=lambda: shown(newcomer, "figures") != before)
    given = {**services.CALCULATIONS["brush"].example(), "clear_length": "2 3/4 in"}
    grams = services.CALCULATIONS["brush"].answer(given)["fill_weight"] * 1000
    assert show_number(grams) in shown(newcomer, "figures")


async def test_a_wrong_unit_is_told_beside_its_own_field_and_can_be_mended(newcomer):
    await newcomer.open("/bench/brush")
    await write(newcomer, "width", "50 g", until=lambda: shown(newcomer, "fault-width") != "")
    assert "is a mass" in shown(newcomer, "fault-width")
    assert shown(newcomer, "fault-clear_length") == ""
    assert "to be mended: width" in shown(newcomer, "trouble")
    await write(newcomer, "width", "99 mm", until=lambda: shown(newcomer, "fault-width") == "")
    assert shown(newcomer, "trouble") == ""


async def test_the_command_shown_works_out_the_same_figures(newcomer):
    await newcomer.open("/bench/stock-tube")
    command = shlex.split(unescape(shown(newcomer, "command")))
    assert command[:1] == ["naptuft"]
    answer = CliRunner().invoke(app, [*command[1:], "--json"])
    assert answer.exit_code == 0, answer.output
    for value in json.loads(answer.output)["values"]:
        assert show_number(value["value"]) in shown(newcomer, "figures")


async def test_a_small_table_is_filled_row_by_row(newcomer):
    await newcomer.open("/bench/cut-list")
    before = shown(newcomer, "figures")
    newcomer.find(marker="add-pieces").click()
    await newcomer.should_see(marker="input-pieces-3-length")
    await write(newcomer, "pieces-3-length", "100 mm", until=lambda: "100 mm" in shown(newcomer, "command"))
    assert shown(newcomer, "figures") != before
    newcomer.find(marker="remove-pieces-3").click()
    for _ in range(400):
        if shown(newcomer, "figures") == before:
            return
        await asyncio.sleep(0.05)
    raise AssertionError("the figures did not return to those of two rows")


async def test_cautions_carry_the_words_on_local_codes(newcomer):
    await newcomer.open("/bench/brush")
    assert "Follow local codes and licensed practice." in shown(newcomer, "cautions")


async def test_an_unknown_calculation_is_said_to_be_so(newcomer):
    await newcomer.open("/bench/warp-drive")
    await newcomer.should_see("No calculation is named warp-drive")


async def test_inputs_may_stand_in_the_address(newcomer):
    await newcomer.open('/bench/brush?given={"width": "63 mm", "thickness": "15 mm"}')
    assert entry_of(newcomer, "width").value == "63 mm"
    assert shown(newcomer, "fault-clear_length") != ""


async def test_the_bench_links_to_the_products_designed_so(user, demo_desk):
    brushes = [product.code for product in demo_desk.book.products if product.line == "brush"]
    await user.open("/bench/brush")
    links = shown(user, "designed-so")
    assert all(f'href="/product/{code}"' in links for code in brushes)
    assert links.count("href") == len(brushes)


async def test_every_whole_design_answers_its_example_part_by_part(newcomer):
    for name, sheet in services.SHEETS.items():
        await newcomer.open(f"/design/{name}")
        await newcomer.should_see(sheet.title)
        design = sheet.answer(sheet.example())
        assert shown(newcomer, "figures").endswith(figures_html(design.result)), name
        assert shown(newcomer, "drawing").count('<figure class="drawn"><svg') == len(design.views), name
        parts = unescape(shown(newcomer, "parts"))
        assert all(f'data-part="{part.heading}"' in parts for part in design.parts), name


async def test_figures_held_stand_beside_the_next_ones(newcomer):
    await newcomer.open("/bench/brush")
    newcomer.find(marker="hold").click()
    await newcomer.should_see("let the held figures go")
    before = shown(newcomer, "figures")
    await write(newcomer, "clear_length", "80 mm", until=lambda: shown(newcomer, "figures") != before)
    example = services.CALCULATIONS["brush"].example()
    first, second = (
        services.CALCULATIONS["brush"].answer(example | changed) for changed in ({}, {"clear_length": "80 mm"})
    )
    assert "difference" in shown(newcomer, "figures")
    for result in (first, second):
        assert show_number(result["fill_weight"] * 1000) in shown(newcomer, "figures")
    newcomer.find(marker="hold").click()
    await newcomer.should_see("hold these figures beside")
    assert "difference" not in shown(newcomer, "figures")


async def test_the_bench_says_what_matters_most(newcomer):
    await newcomer.open("/bench/stock-tube")
    newcomer.find(marker="weigh").click()
    for _ in range(400):
        if shown(newcomer, "matters"):
            break
        await asyncio.sleep(0.05)
    tube = services.CALCULATIONS["stock-tube"]
    strongest = services.what_matters(tube, tube.example())[0]
    label = {value.name: value.label for value in tube.answer(tube.example()).values}[strongest.figure]
    assert label in unescape(shown(newcomer, "matters"))
    assert f"{strongest.per_cent:+.2f}" in shown(newcomer, "matters")


async def test_an_unknown_design_is_said_to_be_so(newcomer):
    await newcomer.open("/design/warp-drive")
    await newcomer.should_see("No whole design is named warp-drive")


async def test_a_filling_of_the_book_is_blended_from_the_lots_in_stock(user, demo_desk):
    await user.open("/bench/bristle-blend")
    links = shown(user, "designed-so")
    fillings = [product.code for product in demo_desk.book.products if product.line == "filling"]
    assert all(f">{code}</a>" in links for code in fillings)
    given = services.blend_today(demo_desk.book, fillings[0])
    result = services.CALCULATIONS["bristle-blend"].answer(given)
    assert result.passed
    taken = {value.label.split()[0] for value in result.values if value.label.startswith("L-")}
    assert taken <= {lot.code for lot in demo_desk.book.lots}
