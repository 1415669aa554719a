"""Every brush of the demo plant, its whole sheet worked out from its own head and ferrule."""

from __future__ import annotations

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.files import read_book
from naptuft.brush.design import choice_of, compose

BOOK = read_book(demo_folder())
BRUSHES = [product.code for product in BOOK.products if product.line == "brush"]


def parts_of_line(code, line):
    return [part for part in BOOK.parts_of[code] if part.part in BOOK.product and BOOK.product[part.part].line == line]


@pytest.mark.parametrize("code", BRUSHES)
def test_every_check_of_its_sheet_passes(code):
    head = BOOK.designs[code]
    ferrule = BOOK.designs[parts_of_line(code, "ferrule")[0].part]
    chosen = choice_of(head, ferrule, "plastic", 3000)
    failed = [
        (part.heading, check.label) for part in compose(chosen) for check in part.result.checks if not check.passed
    ]
    assert failed == []


@pytest.mark.parametrize("code", BRUSHES)
def test_it_takes_its_filling_glue_and_nails_by_its_own_design(code):
    head = BOOK.designs[code]
    ferrule = BOOK.designs[parts_of_line(code, "ferrule")[0].part]
    assert (head.shape, head.width, head.thickness, head.ferrule_depth) == (
        ferrule.shape,
        ferrule.width,
        ferrule.thickness,
        ferrule.depth,
    )
    filling = parts_of_line(code, "filling")
    assert [part.from_design for part in filling] == ["fill_weight"]
    by_design = {part.part: part.from_design for part in BOOK.parts_of[code]}
    assert by_design["EP-SET"] == "epoxy_dose"
    nails = next(part for part in BOOK.parts_of[code] if part.part == "NA-12")
    assert nails.quantity is not None
    assert nails.quantity.number == ferrule.nail_holes


def test_the_angled_sash_brushes_are_trimmed_at_an_angle():
    for code in ("B-SASH38", "B-SASH50"):
        assert BOOK.designs[code].trim == "angular"
        assert BOOK.designs[code].trim_drop > 0.010
