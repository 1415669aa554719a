"""What comes out of the printer: everything the floor needs, nothing cut off, the same bytes each time."""

from __future__ import annotations

import dataclasses
import io
import re

import pypdf
import pytest

from naptuft.papers.cutting import cut_lists, scale_down
from naptuft.papers.folder import PAPERS, paper, traveller_paper
from naptuft.papers.press import pictures
from naptuft.papers.traveller import travellers
from naptuft.papers.wording import moment
from naptuft.plant.hazard import cautions_of
from png_picture import grey_of
from sample_book import HOSTILE_NAME, sample_book
from sample_plan import CUT_LISTS, sample_plan


def pages_of(pdf: bytes | None) -> list[str]:
    """The words of each page, white space closed up."""
    assert pdf is not None
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def squeezed(words: str) -> str:
    """Words without any white space: line breaks and thin spaces do not matter."""
    return re.sub(r"\s", "", words)


@pytest.fixture(scope="module")
def printed() -> dict[str, bytes]:
    """Every paper of the sample plan."""
    return {name: pdf for name in PAPERS if (pdf := paper(name, sample_book(), sample_plan())) is not None}


def test_every_work_order_has_a_traveller_with_its_operations_times_and_lots(printed):
    """Nothing the plan says of a work order is missing from its traveller."""
    plan = sample_plan()
    pages = pages_of(printed["travellers"])
    for order in plan.work_orders:
        own = squeezed(
            "".join(
                page for page in pages if f"{order.number}" in page[:400] or f"endof{order.number}" in squeezed(page)
            )
        )
        for step in plan.operations:
            if step.work_order == order.number:
                for words in (step.name, step.machine, moment(step.start), moment(step.end), step.instruction):
                    assert squeezed(words) in own, (order.number, words)
        for row in plan.allocations:
            if row.work_order == order.number:
                assert squeezed(row.material_name) in own
                assert row.lot in own


def test_the_setting_values_of_the_design_stand_on_the_traveller(printed):
    """The winder reads lead and angle, the setter fill weight and dose."""
    words = squeezed("".join(pages_of(printed["travellers"])))
    for figure in ("lead84.3mm", "windingangle31.39°", "fillweight86g", "epoxydose11g"):
        assert figure in words


def test_every_hazardous_step_carries_its_caution(printed):
    """In full at the first step with the hazard, with the sentence about local codes; a pointer after that."""
    plan = sample_plan()
    words = squeezed("".join(pages_of(printed["travellers"])))
    for hazard in {step.hazard for step in plan.operations} - {"none"}:
        for caution in cautions_of(hazard):
            assert squeezed(f"{caution.hazard}: {caution.measure}") in words
    assert squeezed("solvent vapour: as at step 20.") in words
    assert words.count("Followlocalcodesandlicensedpractice.") >= 7


def test_a_design_check_that_fails_is_said_on_the_traveller(printed):
    """Nobody makes a brush that fails its check unaware."""
    assert "the design does not keep head stiffness" in " ".join(pages_of(printed["travellers"]))


@pytest.mark.parametrize("name", PAPERS)
def test_a_name_that_looks_like_markup_prints_as_itself(name):
    """No code is run, no bold or maths set: the letters stand as they were typed."""
    book, plan = sample_book(HOSTILE_NAME), sample_plan(HOSTILE_NAME)
    pdf = paper(name, book, plan)
    if name in ("orders", "travellers"):
        assert squeezed(HOSTILE_NAME) in squeezed("".join(pages_of(pdf)))
    else:
        assert pages_of(pdf)


@pytest.mark.parametrize("name", PAPERS)
def test_the_same_plan_prints_the_same_bytes(name, printed):
    """Another run, another PDF: not one byte differs."""
    assert paper(name, sample_book(), sample_plan()) == printed[name]


@pytest.mark.parametrize("name", PAPERS)
def test_every_page_says_something_inside_its_frame_and_names_plant_and_revision(name, printed):
    """No empty sheets; the title block stands on each."""
    block = len("plant Quillbeck Brush & Nap traveller number sheet book revision plan starts product made by date")
    for page in pages_of(printed[name]):
        assert "Quillbeck Brush & Nap" in page
        assert "7 · 2026-11-30 06:00" in page
        assert len(page) > block + 120


def test_only_barlow_is_used_and_it_is_embedded(printed):
    """The paper looks the same on any machine."""
    names = set()
    for pdf in printed.values():
        reader = pypdf.PdfReader(io.BytesIO(pdf))
        for number in range(1, int(str(reader.trailer["/Size"]))):
            thing = reader.get_object(number)
            if isinstance(thing, dict) and thing.get("/Type") == "/FontDescriptor":
                names.add(str(thing["/FontName"]).split("+")[-1].split("-")[0])
                assert any(key.startswith("/FontFile") for key in thing)
    assert names <= {"Barlow", "BarlowCondensed"}


def test_the_square_code_on_the_printed_traveller_reads_back_as_the_work_order():
    """Read from the picture of the sheet by a decoder that shares nothing with the encoder."""
    decoder = pytest.importorskip("zxingcpp")
    data = travellers(sample_book(), sample_plan())
    read = []
    for picture in pictures("travellers", data, 110):
        read += [
            code.text for code in decoder.read_barcodes(grey_of(picture)) if code.format == decoder.BarcodeFormat.QRCode
        ]
    assert sorted(read) == [order.number for order in sample_plan().work_orders]


def test_nothing_is_printed_outside_the_frame():
    """White margins: 8 mm all round, bar the frame itself, on every sheet of every paper."""
    for template, data in (
        ("travellers", travellers(sample_book(HOSTILE_NAME), sample_plan(HOSTILE_NAME))),
        ("cut_lists", cut_lists(sample_book(), sample_plan())),
    ):
        for picture in pictures(template, data, 72):
            grey = grey_of(picture)
            dots = round(8 / 25.4 * 72)
            edge = [grey[:dots], grey[-dots:], grey[:, : round(18 / 25.4 * 72)], grey[:, -dots:]]
            assert all((part > 250).all() for part in edge)


def test_one_traveller_can_be_printed_alone():
    """For the tablet: the one asked for and no other; nothing for a number that is not there."""
    alone = pages_of(traveller_paper(sample_book(), sample_plan(), "W-0003"))
    assert "100 mm wall brush" in alone[0]
    assert all("W-0003" in page for page in alone)
    assert traveller_paper(sample_book(), sample_plan(), "W-9999") is None


def test_a_plan_without_blends_prints_no_blend_sheet():
    """No sheet with nothing on it."""
    plan = dataclasses.replace(sample_plan(), blends=(), cut_lists=())
    assert paper("blends", sample_book(), plan) is None
    assert paper("cut_lists", sample_book(), plan) is None


def test_the_blend_sheet_balances_to_the_gram(printed):
    """Weighed out = wanted + combings, as printed."""
    words = " ".join(pages_of(printed["blends"]))
    assert "62,544 g weighed = 60,544 g wanted + 2,000 g combings" in words
    assert "proven" in words


def test_the_order_summary_gives_state_reason_and_money_of_every_line(printed):
    """Late and short lines with why; what to buy with the day to order it."""
    plan = sample_plan()
    words = squeezed("".join(pages_of(printed["orders"])))
    for order in plan.orders:
        assert order.name in words
        assert squeezed(order.reason) in words
        assert f"{order.cost:,.2f}" in words
    assert "late10min" in words
    assert "short120" in words
    for purchase in plan.purchases:
        assert purchase.number in words
    assert squeezed("41 racks held, 40 there are") in words


def test_pieces_offcut_trims_and_cuts_fill_the_drawn_stock_exactly():
    """To scale: every pattern's drawing adds up to the stock length."""
    for part, found in zip(cut_lists(sample_book(), sample_plan())["parts"], CUT_LISTS, strict=True):
        assert found.stock_length_mm / part["scale-down"] <= 170
        for drawn, pattern in zip(part["patterns"], found.patterns, strict=True):
            lengths = sum(piece["to"] - piece["from"] for piece in drawn["pieces"])
            assert lengths == pytest.approx(sum(p.length_mm * p.count for p in pattern.pieces))
            gaps = [b["from"] - a["to"] for a, b in zip(drawn["pieces"], drawn["pieces"][1:], strict=False)]
            assert all(gap == pytest.approx(found.kerf_mm) for gap in gaps)
            assert drawn["offcut-to"] == pytest.approx(found.stock_length_mm - found.end_trim_mm)
            assert drawn["offcut-to"] - drawn["offcut-from"] == pytest.approx(pattern.offcut_mm)


@pytest.mark.parametrize("length", [180.0, 1780.0, 2000.0, 152000.0, 99.0])
def test_a_drawing_scale_has_two_digits_and_fits_the_sheet(length):
    """The largest two-digit scale that fits."""
    scale = scale_down(length)
    assert length / scale <= 170 + 1e-9
    assert length / scale > 170 / 1.11
    assert float(f"{scale:.2g}") == scale
