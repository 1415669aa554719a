"""A small book, made by hand: one of everything a plan and its papers can show."""

from __future__ import annotations

import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from naptuft.book.model import Book, Lot, Material, Order, Part, Product, RouteStep, Settings
from naptuft.plant.calendar import Shift
from naptuft.plant.work_centre import Crew, Machine, Rack, WorkCentre
from naptuft.quantity import Measure

ZONE = ZoneInfo("Europe/London")
START = datetime.datetime(2026, 11, 30, 6, 0, tzinfo=ZONE)
HOSTILE_NAME = '#panic() *bold* _slant_ $x^2$ <label> @cite \\ "quote" `raw` // 100 % [a] {b}'


def at(day: int, hour: int, minute: int = 0) -> datetime.datetime:
    """A time on the plant's clock, so many days after the start of the plan."""
    return datetime.datetime(2026, 11, 30, hour, minute, tzinfo=ZONE) + datetime.timedelta(days=day)


def sample_book(brush_name: str = "100 mm wall brush") -> Book:
    """The plant, products, stock and orders of the sample."""
    money = Decimal
    return Book(
        settings=Settings(
            plant="Quillbeck Brush & Nap",
            revision="7",
            currency="EUR",
            zone="Europe/London",
            start=datetime.datetime(2026, 11, 30, 6, 0),
            energy_price_per_kwh=money("0.22"),
            overhead=0.15,
        ),
        shifts=tuple(
            Shift(calendar="two shifts", weekday=day, opens=360, closes=1320)
            for day in ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday")
        ),
        crews=(
            Crew(code="SET", name="setters", heads=6, wage_per_hour=money("24.50")),
            Crew(code="FIN", name="finishers", heads=4, wage_per_hour=money("23.00")),
        ),
        work_centres=(
            WorkCentre(code="MIX", name="blending bench", crew="SET", people=1.0, hazard="bristle dust"),
            WorkCentre(code="MOULD", name="injection press", crew="FIN", people=0.5, hazard="hot plastic"),
            WorkCentre(code="VATS", name="finishing line", crew="FIN", people=2.0, hazard="solvent vapour"),
            WorkCentre(code="SETTING", name="brush making line", crew="SET", people=2.0, hazard="epoxy"),
            WorkCentre(code="NAIL", name="handle assembly", crew="SET", people=1.0, hazard="nailing"),
            WorkCentre(code="WIND", name="fabric winder", crew="FIN", people=1.0, hazard="hot plastic"),
            WorkCentre(code="TUBECUT", name="tube cutter", crew="FIN", people=1.0, hazard="cutting"),
            WorkCentre(code="FLUFF", name="fluff and bevel line", crew="FIN", people=1.0, hazard="spinning"),
            WorkCentre(code="BOX", name="boxing bench", crew="SET", people=3.0),
        ),
        machines=(
            Machine(
                code="MX-1",
                work_centre="MIX",
                name="bench 1",
                calendar="two shifts",
                rate_per_hour=money("6"),
                power=500.0,
            ),
            Machine(
                code="IM-1",
                work_centre="MOULD",
                name="press 1",
                calendar="two shifts",
                rate_per_hour=money("21"),
                power=18000.0,
            ),
            Machine(
                code="VT-1",
                work_centre="VATS",
                name="line 1",
                calendar="two shifts",
                rate_per_hour=money("14"),
                power=4000.0,
            ),
            Machine(
                code="BL-1",
                work_centre="SETTING",
                name="brush line 1",
                calendar="two shifts",
                rate_per_hour=money("18"),
                power=4000.0,
            ),
            Machine(
                code="NA-1",
                work_centre="NAIL",
                name="nailer 1",
                calendar="two shifts",
                rate_per_hour=money("9"),
                power=1500.0,
            ),
            Machine(
                code="WN-1",
                work_centre="WIND",
                name="winder",
                calendar="two shifts",
                rate_per_hour=money("16"),
                power=6000.0,
            ),
            Machine(
                code="TC-1",
                work_centre="TUBECUT",
                name="tube cutter",
                calendar="two shifts",
                rate_per_hour=money("11"),
                power=2000.0,
            ),
            Machine(
                code="FB-1",
                work_centre="FLUFF",
                name="fluff and bevel",
                calendar="two shifts",
                rate_per_hour=money("10"),
                power=2500.0,
            ),
            Machine(code="BX-1", work_centre="BOX", name="bench", calendar="two shifts", rate_per_hour=money("3")),
        ),
        racks=(Rack(code="HANG", name="hanging racks", capacity=40), Rack(code="CURE", name="cure racks", capacity=60)),
        materials=(
            Material(
                code="BR-GREY57",
                name="grey bristle 57 mm",
                kind="bristle",
                unit="kg",
                price_per_unit=money("38.00"),
                lead_days=21,
            ),
            Material(
                code="BR-GREY70",
                name="grey bristle 70 mm",
                kind="bristle",
                unit="kg",
                price_per_unit=money("46.00"),
                lead_days=21,
            ),
            Material(
                code="PP",
                name="polypropylene, moulding grade",
                kind="resin",
                unit="kg",
                price_per_unit=money("1.45"),
                lead_days=7,
                scrap_price_per_unit=money("0.40"),
            ),
            Material(
                code="LACQ", name="clear lacquer", kind="coating", unit="l", price_per_unit=money("7.80"), lead_days=10
            ),
            Material(
                code="FERR-100",
                name="ferrule 100 mm, tinned",
                kind="other",
                unit="pcs",
                price_per_unit=money("0.31"),
                lead_days=14,
            ),
            Material(
                code="EPOXY",
                name="epoxy, two parts",
                kind="adhesive",
                unit="kg",
                price_per_unit=money("9.20"),
                lead_days=10,
            ),
            Material(
                code="CORE44",
                name="polypropylene core 44 mm",
                kind="core",
                unit="pcs",
                price_per_unit=money("0.92"),
                lead_days=9,
            ),
            Material(
                code="FAB12",
                name="woven fabric, 12 mm pile, 73 mm strip",
                kind="fabric",
                unit="m",
                price_per_unit=money("0.48"),
                lead_days=12,
                least_order=Measure(2000, "m"),
            ),
            Material(
                code="BOX-3",
                name="printed box for three",
                kind="packing",
                unit="pcs",
                price_per_unit=money("0.37"),
                lead_days=5,
            ),
        ),
        lots=(
            Lot(
                code="L-2041",
                material="BR-GREY57",
                quantity=Measure(60, "kg"),
                received=datetime.date(2026, 9, 2),
                price_per_unit=money("36.50"),
            ),
            Lot(code="L-2077", material="BR-GREY70", quantity=Measure(40, "kg"), received=datetime.date(2026, 10, 1)),
            Lot(
                code="L-2050",
                material="EPOXY",
                quantity=Measure(25, "kg"),
                received=datetime.date(2026, 10, 8),
                expires=datetime.date(2027, 4, 8),
            ),
            Lot(
                code="L-1990",
                material="R-190",
                quantity=Measure(400, "pcs"),
                received=datetime.date(2026, 11, 3),
                price_per_unit=money("0.95"),
            ),
        ),
        products=(
            Product(code="X-SET", name="decorator's set of three", line="boxed set", price_per_unit=money("9.80")),
            Product(code="B-WALL100", name=brush_name, line="brush", price_per_unit=money("6.40"), scrap=0.02),
            Product(code="F-WALL", name="wall filling 64 mm", line="filling", unit="g"),
            Product(code="H-WALL100", name="wall handle, lacquered", line="handle", scrap=0.03),
            Product(
                code="R-240", name="240 mm refill, 12 mm pile", line="refill", price_per_unit=money("2.10"), scrap=0.01
            ),
            Product(
                code="R-190", name="190 mm refill, 12 mm pile", line="refill", price_per_unit=money("1.80"), scrap=0.01
            ),
            Product(code="T-44", name="stock tube 44 mm, 12 mm pile", line="stock tube"),
        ),
        parts=(
            Part(product="X-SET", part="B-WALL100", quantity=Measure(1, "")),
            Part(product="X-SET", part="R-240", quantity=Measure(2, "")),
            Part(product="X-SET", part="BOX-3", quantity=Measure(1, "")),
            Part(product="B-WALL100", part="F-WALL", quantity=Measure(86, "g")),
            Part(product="B-WALL100", part="H-WALL100", quantity=Measure(1, "")),
            Part(product="B-WALL100", part="FERR-100", quantity=Measure(1, "")),
            Part(product="B-WALL100", part="EPOXY", quantity=Measure(11, "g")),
            Part(product="F-WALL", part="BR-GREY57", from_design="blend"),
            Part(product="F-WALL", part="BR-GREY70", from_design="blend"),
            Part(product="H-WALL100", part="PP", quantity=Measure(46, "g")),
            Part(product="H-WALL100", part="LACQ", quantity=Measure(3, "ml")),
            Part(product="R-240", part="T-44", from_design="cut list"),
            Part(product="R-190", part="T-44", from_design="cut list"),
            Part(product="T-44", part="CORE44", quantity=Measure(1, "")),
            Part(product="T-44", part="FAB12", quantity=Measure(3.4, "m")),
        ),
        routes=(
            RouteStep(product="X-SET", step=10, name="pack set", work_centre="BOX", time_each=12.0),
            RouteStep(
                product="B-WALL100",
                step=10,
                name="set heads",
                work_centre="SETTING",
                setup=900.0,
                time_each=6.0,
                wait=28800.0,
                rack="CURE",
                per_rack=24,
            ),
            RouteStep(product="B-WALL100", step=20, name="assemble handles", work_centre="NAIL", time_each=4.0),
            RouteStep(product="F-WALL", step=10, name="mix filling", work_centre="MIX", time_each=0.05),
            RouteStep(
                product="H-WALL100", step=10, name="mould handles", work_centre="MOULD", setup=2400.0, time_each=8.0
            ),
            RouteStep(
                product="H-WALL100",
                step=20,
                name="first coat",
                work_centre="VATS",
                time_each=3.0,
                wait=5400.0,
                rack="HANG",
                per_rack=30,
            ),
            RouteStep(product="R-240", step=10, name="fluff and bevel", work_centre="FLUFF", time_each=4.0),
            RouteStep(product="R-190", step=10, name="fluff and bevel", work_centre="FLUFF", time_each=4.0),
            RouteStep(product="T-44", step=10, name="wind tubes", work_centre="WIND", time_each=25.0, wait=3600.0),
            RouteStep(product="T-44", step=20, name="cut tubes", work_centre="TUBECUT", time_each=18.0, stage="cut"),
        ),
        orders=(
            Order(
                order="S-1001",
                line=1,
                customer="Harrow Lane Stores",
                product="X-SET",
                quantity=200,
                due=datetime.datetime(2026, 12, 11, 14, 0),
            ),
            Order(
                order="S-1001",
                line=2,
                customer="Harrow Lane Stores",
                product="R-240",
                quantity=500,
                due=datetime.datetime(2026, 12, 4, 12, 0),
            ),
            Order(
                order="S-1002",
                line=1,
                customer="Ostler & Pike",
                product="B-WALL100",
                quantity=600,
                due=datetime.datetime(2026, 12, 9, 12, 0),
            ),
            Order(
                order="S-1003",
                line=1,
                customer="Fenwater Depot",
                product="R-190",
                quantity=700,
                due=datetime.datetime(2026, 12, 8, 12, 0),
            ),
            Order(
                order="S-1004",
                line=1,
                customer="Fenwater Depot",
                product="R-190",
                quantity=100,
                due=datetime.datetime(2026, 12, 18, 12, 0),
            ),
        ),
    )
