"""A sound book with designs: one brush with its filling, ferrule and handle, one refill cut from a stock tube."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

from naptuft.book.designs import DESIGN_OF
from naptuft.book.model import Book, Lot, LotLength, Material, Order, Part, Product, RouteStep, Settings
from naptuft.calculation import Calculation, fields_of, read_record
from naptuft.plant.calendar import WEEKDAYS, Closure, Shift
from naptuft.plant.work_centre import Changeover, Crew, Machine, Rack, WorkCentre
from naptuft.quantity import Measure

LINE_OF = {
    "B-WALL100": "brush",
    "F-WALL": "filling",
    "E-100": "ferrule",
    "H-WALL": "handle",
    "T-44": "stock tube",
    "R-240": "refill",
    "X-DUO": "boxed set",
}


def worked_design(line: str, **changes: object) -> Any:
    """The design input of a line made from the examples of its declaration, with some of them changed."""
    design = DESIGN_OF[line]
    declared = design.inputs if isinstance(design, Calculation) else design
    given = {field.name: field.example for field in fields_of(declared) if field.example}
    record, faults, _ = read_record(declared, {**given, **changes})
    assert not faults, faults
    return record


def _bought(code: str, kind: str, unit: str, price: str, **more: Any) -> Material:
    return Material(code=code, name=f"{code} as bought", kind=kind, unit=unit, price_per_unit=Decimal(price), **more)


def _step(product: str, step: int, centre: str, **more: Any) -> RouteStep:
    more = {"time_each": None if "from_design" in more else 6.0, **more}
    return RouteStep(product=product, step=step, name=f"{centre.lower()} {product}", work_centre=centre, **more)


def sound_book() -> Book:
    """A book without a fault."""
    centres = ("MIX", "PRESS", "MOULD", "SET", "WIND", "BOX")
    day = datetime.date(2026, 10, 1)
    return Book(
        settings=Settings(
            plant="Quillbeck Brush & Nap",
            start=datetime.datetime(2026, 11, 30, 6),
            zone="Europe/London",
            currency="GBP",
        ),
        shifts=tuple(Shift(calendar="day", weekday=name, opens=360, closes=1080) for name in WEEKDAYS[:5]),
        closures=(
            Closure(
                calendar="day",
                start=datetime.datetime(2026, 12, 24),
                end=datetime.datetime(2026, 12, 27),
                why="holiday",
            ),
            Closure(calendar="WIND-1", start=datetime.datetime(2026, 12, 3, 6), end=datetime.datetime(2026, 12, 3, 9)),
        ),
        crews=(Crew(code="HANDS", name="all hands", heads=8, wage_per_hour=Decimal("24.50")),),
        work_centres=tuple(
            WorkCentre(code=code, name=code.lower(), crew="HANDS", people=1.0, hazard="noise") for code in centres
        ),
        machines=tuple(
            Machine(
                code=f"{code}-1",
                work_centre=code,
                name=f"{code.lower()} 1",
                calendar="day",
                rate_per_hour=Decimal("9.75"),
                power=1500.0,
            )
            for code in centres
        ),
        changeovers=(Changeover(work_centre="SET", before="*", after="100 mm", duration=1500.0),),
        racks=(Rack(code="CURE", name="cure racks", capacity=40),),
        materials=(
            _bought("BR-70", "bristle", "kg", "46", lead_days=21, least_order=Measure(25, "kg")),
            _bought("BR-76", "bristle", "kg", "52.40", lead_days=21),
            _bought("STRIP", "strip", "kg", "2.15", order_multiple=Measure(50), safety_stock=Measure(100, "lb")),
            _bought("EPOXY", "adhesive", "kg", "9.20", lead_days=10),
            _bought("PP", "resin", "kg", "1.45", lead_days=7, scrap_price_per_unit=Decimal("0.40")),
            _bought("CORE", "core", "m", "0.92", lead_days=9),
            _bought("FABRIC", "fabric", "m", "0.48", lead_days=12),
            _bought("CARTON", "packing", "pcs", "0.37", lead_days=5),
        ),
        lots=(
            Lot(code="L-1", material="BR-70", quantity=Measure(60, "kg"), received=day, diameter=190e-6, moisture=0.12),
            Lot(code="L-2", material="BR-76", quantity=Measure(88, "lb"), received=day, diameter=185e-6),
            Lot(
                code="007",
                material="EPOXY",
                quantity=Measure(12.5),
                received=day,
                expires=datetime.date(2027, 4, 2),
                price_per_unit=Decimal("8.95"),
                supplier="Thornmere Resins",
            ),
            Lot(code="L-4", material="T-44", quantity=Measure(12), received=day, state="held"),
        ),
        lot_lengths=(
            LotLength(lot="L-1", length=0.070, share=0.6),
            LotLength(lot="L-1", length=0.064, share=0.4),
            LotLength(lot="L-2", length=0.076, share=1.0),
        ),
        products=tuple(
            Product(
                code=code,
                name=f"{line} {code}",
                line=line,
                unit="g" if line == "filling" else "pcs",
                price_per_unit=Decimal("6.40") if line in ("brush", "boxed set") else None,
                gtin="6291041500213" if line == "brush" else "",
                scrap=0.02 if line == "brush" else 0.0,
                least_batch=Measure(200) if line == "brush" else None,
                most_batch=Measure(900, "pcs") if line == "brush" else None,
            )
            for code, line in LINE_OF.items()
        ),
        designs={code: worked_design(line) for code, line in LINE_OF.items()},
        parts=(
            Part(product="B-WALL100", part="F-WALL", from_design="fill_weight", loss=0.01),
            Part(product="B-WALL100", part="E-100", quantity=Measure(1)),
            Part(product="B-WALL100", part="H-WALL", quantity=Measure(1)),
            Part(product="B-WALL100", part="EPOXY", from_design="epoxy_dose"),
            Part(product="F-WALL", part="BR-70", from_design="blend"),
            Part(product="F-WALL", part="BR-76", from_design="blend"),
            Part(product="E-100", part="STRIP", from_design="strip_mass"),
            Part(product="H-WALL", part="PP", from_design="resin_mass"),
            Part(product="T-44", part="CORE", from_design="core_length"),
            Part(product="T-44", part="FABRIC", from_design="strip_length"),
            Part(product="R-240", part="T-44", from_design="cut list"),
            Part(product="X-DUO", part="B-WALL100", quantity=Measure(1)),
            Part(product="X-DUO", part="R-240", quantity=Measure(2)),
            Part(product="X-DUO", part="CARTON", quantity=Measure(1, "pcs")),
        ),
        routes=(
            _step("F-WALL", 10, "MIX", time_each=0.05),
            _step("E-100", 10, "PRESS", family="100 mm", time_each=1.25),
            _step("H-WALL", 10, "MOULD", setup=2400.0, from_design="moulding_time"),
            _step("B-WALL100", 10, "SET", family="100 mm", wait=28800.0, most_wait=86400.0, rack="CURE", per_rack=24),
            _step("B-WALL100", 20, "PRESS", pauses=False, instruction="press butts level\nwith the gauge"),
            _step("T-44", 10, "WIND", from_design="winding_time"),
            _step("T-44", 20, "WIND", stage="cut"),
            _step("R-240", 10, "WIND"),
            _step("X-DUO", 10, "BOX"),
        ),
        orders=(
            Order(
                order="S-1001",
                line=1,
                customer="Harrow Lane Stores",
                product="X-DUO",
                quantity=200,
                due=datetime.datetime(2026, 12, 11, 14),
                weight=2.5,
            ),
            Order(
                order="S-0999",
                line=1,
                customer="Ostler & Pike",
                product="B-WALL100",
                quantity=600,
                due=datetime.datetime(2026, 11, 27, 12),
                price_per_unit=Decimal("6.20"),
            ),
        ),
    )
