"""Small plants for tests: one bench, one press, a product with a bought part, and a set of it."""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal

from naptuft.book.model import Book, Lot, Material, Order, Part, Product, RouteStep, Settings
from naptuft.plant.calendar import WEEKDAYS, Shift
from naptuft.plant.work_centre import Crew, Machine, WorkCentre
from naptuft.quantity import Measure

MONDAY = datetime.datetime(2026, 11, 30, 6)


def after(days: float) -> datetime.datetime:
    """So many days after the plan's start."""
    return MONDAY + datetime.timedelta(days=days)


def scraper_plant(**changes: object) -> Book:
    """A plant that presses blades from steel, and rivets scrapers from a blade and a bought grip."""
    book = Book(
        settings=Settings(plant="Test bench", start=MONDAY, zone="Europe/London", horizon_days=28),
        shifts=tuple(Shift(calendar="day", weekday=day, opens=360, closes=1080) for day in WEEKDAYS[:5]),
        crews=(Crew(code="C", name="all hands", heads=4, wage_per_hour=Decimal("20")),),
        work_centres=(
            WorkCentre(code="PRESS", name="press", crew="C", people=1.0, hazard="press"),
            WorkCentre(code="BENCH", name="riveting bench", crew="C", people=1.0),
        ),
        machines=(
            Machine(code="P-1", work_centre="PRESS", name="press 1", calendar="day", rate_per_hour=Decimal("12")),
            Machine(code="B-1", work_centre="BENCH", name="bench 1", calendar="day", rate_per_hour=Decimal("3")),
            Machine(code="B-2", work_centre="BENCH", name="bench 2", calendar="day", rate_per_hour=Decimal("3")),
        ),
        materials=(
            Material(
                code="STEEL", name="strip steel", kind="other", unit="kg", price_per_unit=Decimal("2"), lead_days=5
            ),
            Material(code="GRIP", name="grip", kind="other", unit="pcs", price_per_unit=Decimal("0.3")),
        ),
        lots=(
            Lot(code="L-1", material="STEEL", quantity=Measure(50, "kg"), received=datetime.date(2026, 10, 1)),
            Lot(code="L-2", material="GRIP", quantity=Measure(2000), received=datetime.date(2026, 10, 1)),
        ),
        products=(
            Product(code="SCRAPER", name="scraper", line="other", price_per_unit=Decimal("4")),
            Product(code="BLADE", name="blade", line="other", scrap=0.0),
        ),
        parts=(
            Part(product="SCRAPER", part="BLADE", quantity=Measure(1)),
            Part(product="SCRAPER", part="GRIP", quantity=Measure(1)),
            Part(product="BLADE", part="STEEL", quantity=Measure(40, "g")),
        ),
        routes=(
            RouteStep(product="SCRAPER", step=10, name="rivet", work_centre="BENCH", time_each=12.0),
            RouteStep(product="BLADE", step=10, name="press", work_centre="PRESS", setup=600.0, time_each=3.0),
        ),
        orders=(Order(order="S-1", line=1, customer="Mill Lane", product="SCRAPER", quantity=600, due=after(9)),),
    )
    return replace(book, **changes)  # type: ignore[arg-type]
