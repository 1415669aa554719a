"""The demo book and the small plant in inches: whole, sensible and ours."""

import datetime
from collections import Counter
from pathlib import Path

import pytest

from naptuft.book.demo import demo_folder
from naptuft.book.designs import DESIGN_OF
from naptuft.book.files import check_book, read_book, write_book
from naptuft.book.model import Book
from naptuft.boxing.code import valid_gtin
from naptuft.brush.blend import BlendLot, FillingTarget, blend_lots
from naptuft.brush.capillary import arrhenius_factor
from naptuft.calculation import Calculation, Result
from naptuft.materials.adhesive import epoxy
from naptuft.quantity import from_si, to_si

INCHES = Path(__file__).parent / "data" / "inch_refills"


@pytest.fixture(scope="module")
def book() -> Book:
    return read_book(demo_folder())


@pytest.fixture(scope="module")
def results(book: Book) -> dict[str, Result]:
    worked = {}
    for product in book.products:
        calculation = DESIGN_OF.get(product.line)
        if isinstance(calculation, Calculation):
            worked[product.code] = calculation.run(book.designs[product.code])
    return worked


def test_the_book_has_no_fault():
    assert check_book(demo_folder()) == ()


def test_the_book_is_the_size_of_the_plant(book: Book):
    assert 55 <= len(book.products) <= 75
    assert 140 <= len(book.lots) <= 175
    assert len(book.orders) == 120
    assert book.settings.zone == "Europe/London"
    assert book.start.isoformat() == "2026-11-30T06:00:00+00:00"
    assert {product.line for product in book.products} >= {
        "brush", "filling", "ferrule", "handle", "moulded part", "stock tube", "refill", "frame", "tray", "boxed set",
    }  # fmt: skip


def test_the_machines_are_those_of_the_plant(book: Book):
    count = Counter(machine.work_centre for machine in book.machines)
    assert count == {
        "HEADS": 2, "FERRULE": 1, "MOULDING": 2, "DIPPING": 3, "EPOXY": 1, "JOINING": 2, "PRINTING": 1, "WINDING": 1,
        "CUTTING": 1, "BEVEL": 1, "SPINNING": 1, "FRAMES": 1, "FORMING": 1, "BOXING": 1, "MIXING": 1, "CURING": 1,
    }  # fmt: skip


def test_writing_and_reading_the_book_loses_nothing(book: Book, tmp_path: Path):
    for target in (tmp_path / "book", tmp_path / "book.xlsx"):
        write_book(book, target)
        assert read_book(target) == book


def test_no_number_of_a_real_company_is_printed(book: Book):
    """GS1 General Specifications, figure 1.4.2-1 (from memory): 02 and 20 to 29 are for use within a company or region."""
    codes = [product.gtin for product in book.products if product.gtin]
    assert len(codes) == len(set(codes)) > 30
    assert all(valid_gtin(code) and len(code) == 13 and code.startswith(("02", "2")) for code in codes)


def test_every_design_passes_but_the_carton_that_is_too_heavy(book: Book, results: dict[str, Result]):
    failed = {
        code: [check.label for check in r.checks if not check.passed] for code, r in results.items() if not r.passed
    }
    assert failed == {"X-ROOM": ["carton against the lifting limit"]}
    assert set(book.designs) == {product.code for product in book.products}


def test_products_are_what_a_brush_maker_expects(results: dict[str, Result]):
    """Common practice: filling in tens of grams, minutes of cooling, nine 190 mm or seven 240 mm a tube, 30 to 50 s a tray."""
    assert 0.030 < results["B-WALL100"]["fill_weight"] < 0.080
    assert 180 < results["H-50"]["cooling_time"] < 420
    assert results["R-KNIT190"]["pieces_per_tube"] == 9
    assert results["R-KNIT240"]["pieces_per_tube"] == 7
    assert 30 <= results["D-TRAY250"]["cycle_time"] <= 50


def test_the_route_waits_as_the_design_says(book: Book, results: dict[str, Result]):
    """The racks wait at least the flash-off and cure the coating needs; heads and tubes cure eight hours (common practice)."""
    baked = {step.product for step in book.routes if step.work_centre == "CURING"}
    for product in book.products:
        steps = book.route_of[product.code]
        if product.line == "handle":
            first, second, third = (step for step in steps if step.work_centre == "DIPPING")
            flash, cure = results[product.code]["flash_off_time"], results[product.code]["cure_time"]
            assert first.wait == second.wait == flash
            assert 20 * 60 <= flash <= 40 * 60
            assert third.wait >= cure
            assert first.per_rack == results[product.code]["rack_handles"] == 30
        if product.line in ("brush", "stock tube") and product.code not in baked:
            assert max(step.wait for step in steps) == 8 * 3600


def test_heads_that_cure_in_the_oven_cure_at_least_as_far_as_on_the_bench(book: Book):
    """Eight hours at 25 °C let a head be handled: gelling on the bench and the oven's time, by the rate of cure, are more."""
    energy = float(epoxy("polyamine epoxy").activation_energy)
    baked = [code for code, steps in book.route_of.items() if any(step.work_centre == "CURING" for step in steps)]
    assert baked
    for code in baked:
        pour, oven = (step for step in book.route_of[code] if step.work_centre in ("EPOXY", "CURING"))
        assert book.designs[code].epoxy == "polyamine epoxy"
        assert pour.wait >= float(epoxy("polyamine epoxy").gel_time)
        longer = arrhenius_factor(energy, to_si(float(oven.family.split()[0]), "degC"))
        assert pour.wait + oven.setup / longer >= float(epoxy("polyamine epoxy").handling_time)


def test_every_rule_of_planning_is_in_the_book(book: Book):
    """An oven for several work orders, filling that must be used in time, overtime, a preferred machine, batches handed
    on, racks, a longest wait, steps that may not pause and a crew that goes home before its machine."""
    steps = book.routes
    assert any(machine.takes for machine in book.machines)
    assert any(step.per_load for step in steps)
    assert any(product.use_within for product in book.products)
    assert any(shift.overtime for shift in book.shifts)
    assert book.settings.overtime_counts
    assert any(step.preferred for step in steps)
    assert any(step.transfer for step in steps)
    assert any(step.rack and step.per_rack for step in steps)
    assert any(step.most_wait for step in steps)
    assert not all(step.pauses for step in steps)
    assert any(crew.calendar for crew in book.crews)


def test_every_lot_of_filling_is_measured_whole(book: Book):
    kinds = {material.code: material.kind for material in book.materials}
    for lot in book.lots:
        bars = book.lengths_of.get(lot.code, ())
        if kinds.get(lot.material) in ("bristle", "filament"):
            assert sum(bar.share for bar in bars) == pytest.approx(1.0, abs=1e-9)
            assert None not in (lot.diameter, lot.moisture, lot.curl)
        else:
            assert bars == ()


def test_every_filling_can_be_blended_from_stock(book: Book):
    for product in book.products:
        if product.line != "filling":
            continue
        target = book.designs[product.code]
        assert isinstance(target, FillingTarget)
        sources = {part.part for part in book.parts_of[product.code]}
        lots = [
            BlendLot(
                lot.code,
                to_si(from_si(lot.quantity.si("kg"), "kg"), "kg"),
                lot.price_per_unit or book.material[lot.material].price_per_unit,
                tuple((bar.length, bar.share) for bar in book.lengths_of[lot.code]),
                lot.diameter or 0.0,
                lot.moisture or 0.0,
                lot.curl or 0.0,
            )
            for lot in book.lots
            if lot.material in sources and lot.state == "free"
        ]
        blend = blend_lots(target, lots, 5.0)
        assert blend.mass == pytest.approx(5.0, abs=0.002)
        assert blend.taken == pytest.approx(blend.mass + blend.combings, abs=1e-9)


def test_stock_has_something_to_say(book: Book):
    """Held lots, lots on their way, lots that expire inside the weeks planned, and a material nobody sells."""
    end = book.start.date() + datetime.timedelta(days=book.settings.horizon_days)
    assert sum(lot.state == "held" for lot in book.lots) >= 3
    assert sum(lot.arrives is not None for lot in book.lots) >= 5
    assert sum(lot.expires is not None and lot.expires < end for lot in book.lots) >= 1
    assert sum(lot.material in book.product for lot in book.lots) >= 10
    assert any(material.lead_days is None for material in book.materials)
    assert any((material.lead_days or 0) > book.settings.horizon_days for material in book.materials)


def test_a_plant_in_inches_reads_as_metres():
    book = read_book(INCHES)
    assert check_book(INCHES) == ()
    assert book.designs["R-9S"].length == pytest.approx(9 * 0.0254)
    assert book.designs["T-38"].core_diameter == pytest.approx(1.75 * 0.0254)
    assert book.settings.kerf == pytest.approx(3 / 32 * 0.0254)
    assert book.lot["A-11"].quantity.si("m") == pytest.approx(1500 * 0.3048)
    assert book.machines[0].power == pytest.approx(3 * 745.6998715822702)
    assert {product.line for product in book.products} == {"stock tube", "refill"}
