"""Capacity: work centres week by week, what a rate asks of them, and crews, months ahead."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from html import escape

from nicegui import ui

from naptuft import services
from naptuft.book.model import Book
from naptuft.errors import NaptuftError
from naptuft.planning.capacity import RoughLoad
from naptuft.planning.plan import Plan
from naptuft.planning.rate_needs import MOST, RateNeeds
from naptuft.web.board_sheets.calendar import bars_drawing
from naptuft.web.board_sheets.layout import Opened, Views, board_sheet, faults_html, short_entry
from naptuft.web.board_sheets.strips import levels
from naptuft.web.desk import Desk
from naptuft.web.frame import markup, named, not_planned, press
from naptuft.web.ledger import Cell, Column, Ledger
from naptuft.web.marks import THIN, day_words

WEEKS = 12
NOTES = (
    f"<p>By due date, from orders alone, stock not counted; a setup for each order line. The broken line is {100 * MOST:.0f}{THIN}% "
    "of open time: common practice for what may be planned.</p>"
)


def register(desk: Desk) -> None:
    """Add the sheet of capacity."""

    @ui.page("/board/capacity")
    def capacity_page(product: str = "", per_week: str = "") -> None:
        book, plan = desk.book, desk.plan
        if plan is None or book is None:
            not_planned(desk, 5)
            return
        loads = rough_loads(desk, book, plan)
        with board_sheet(desk, "/board/capacity", notes=NOTES, scale="on the drawing"):
            CapacitySheet(book, plan, loads, product, per_week)


def rough_loads(desk: Desk, book: Book, plan: Plan) -> tuple[RoughLoad, ...]:
    """The rough cut of the orders on the desk, worked out once; weeks after the last order are left out."""
    if "rough" not in desk.kept:
        desk.kept["rough"] = in_use(services.rough_load(book, plan, days=7, periods=WEEKS))
    return desk.kept["rough"]


def in_use(loads: Sequence[RoughLoad]) -> tuple[RoughLoad, ...]:
    """Loads up to the last period in which anything falls due."""
    asked = [load.start for load in loads if load.run_minutes + load.setup_minutes > 0]
    last = max(asked, default=None)
    return tuple(load for load in loads if last is not None and load.start <= last)


class CapacitySheet:
    """One visitor's view of the capacity."""

    def __init__(self, book: Book, plan: Plan, loads: tuple[RoughLoad, ...], product: str, per_week: str):
        self.book, self.plan, self.loads = book, plan, loads
        self.of: dict[str, list[RoughLoad]] = defaultdict(list)
        for load in loads:
            self.of[load.work_centre].append(load)
        self.busiest = sorted(self.of, key=lambda code: -max(load.utilisation for load in self.of[code]))
        ordered = {order.product for order in book.orders}
        self.products = sorted(each.code for each in book.products if each.code in ordered)
        self.product = product if product in book.product else self.products[0]
        self.per_week = per_week or "2000"
        with ui.element("div").classes("views-beside"):
            Views(
                (
                    ("weeks", "Week by week", self.draw_weeks),
                    ("crews", "Crews", self.draw_crews),
                    ("rate", "For a rate", self.draw_rate),
                ),
                "rate" if product else "weeks",
            )

    def draw_weeks(self) -> None:
        """Each work centre's load by week."""
        opened = Opened(self._weeks, self._detail, "weeks")
        if self.busiest:
            opened.open(self.busiest[0])

    def _weeks(self, on_open) -> Ledger:
        names = {centre.code: centre.name for centre in self.book.work_centres}
        top = max([1.05, *(load.utilisation for load in self.loads if load.open_minutes)])
        rows = []
        for code in self.busiest:
            loads = self.of[code]
            most = max(loads, key=lambda load: load.utilisation)
            told = [f"week of {day_words(load.start)}: {100 * load.utilisation:.0f} %" for load in loads]
            rows.append(
                (
                    code,
                    [
                        Cell(code, below=names.get(code, "")),
                        Cell(
                            "; ".join(told),
                            round(most.utilisation, 4),
                            drawn=levels([load.utilisation for load in loads], MOST, top, told),
                        ),
                        Cell(f"{100 * most.utilisation:.0f}", round(most.utilisation, 4), "%"),
                        Cell(day_words(most.start), most.start.isoformat()),
                        _hours(sum(load.run_minutes for load in loads)),
                        _hours(sum(load.setup_minutes for load in loads)),
                        _hours(sum(load.open_minutes for load in loads)),
                    ],
                )
            )
        weeks = self.of[self.busiest[0]] if self.busiest else []
        heads = "".join(
            f'<i style="left: {100 * (place + 0.5) / len(weeks):.1f}%">{load.start.day} {load.start:%b}</i>'
            for place, load in enumerate(weeks)
            if len(weeks) < 6 or place % 2 == 0
        )
        return Ledger(
            "work centres",
            [
                Column("centre", "work centre", width=124),
                Column("weeks", "weeks of", "strip", width=166, head=heads),
                Column("most", "busiest", "number", 70),
                Column("when", "week of", width=100),
                Column("run", "runs, h", "number", 60),
                Column("setup", "setups, h", "number", 70),
                Column("open", "open, h", "number", 68),
            ],
            rows,
            file_name="capacity",
            empty="no order falls due",
            on_open=on_open,
        )

    def _detail(self, code: str) -> str:
        loads = self.of.get(code)
        if not loads:
            return ""
        centre = next(each for each in self.book.work_centres if each.code == code)
        bars = [
            (f"{load.start.day} {load.start:%b}", 100 * load.utilisation, f"week of {day_words(load.start)}")
            for load in loads
            if load.open_minutes
        ]
        drawing = bars_drawing(f"use of {code} by week", bars, 100 * MOST, f"{100 * MOST:.0f} %", "% of open time")
        machines = len(self.book.machines_of.get(code, ()))
        rows = "".join(
            f'<tr><td>{day_words(load.start)}</td><td class="number">{load.run_minutes / 60:,.1f}</td>'
            f'<td class="number">{load.setup_minutes / 60:,.1f}</td><td class="number">{load.open_minutes / 60:,.0f}</td>'
            f'<td class="number">{load.people:.1f}</td></tr>'
            for load in loads
        )
        return (
            f"<h2>{escape(code)}</h2><p>{escape(centre.name)}, {machines} machine{'s' if machines != 1 else ''}, crew "
            f'{escape(centre.crew)}</p><figure class="drawn">{drawing}</figure>'
            '<table class="figures parts"><thead><tr><th>week of</th><th class="number">runs, h</th><th class="number">setups, h</th>'
            f'<th class="number">open, h</th><th class="number">people</th></tr></thead><tbody>{rows}</tbody></table>'
            f'<p><a href="/board/reasons?view=centres">where its hours go in the plan</a></p>'
        )

    def draw_crews(self) -> None:
        """Heads each crew needs, week by week."""
        named(crews_ledger(self.book, self.loads), "crews")

    def draw_rate(self) -> None:
        """What a steady rate of one product asks for."""

        def keep(name: str):
            return lambda written: setattr(self, name, written)

        with ui.element("div").classes("run-strip"), ui.element("div").classes("run-asked"):
            with ui.element("div").classes("short-entry wide"):
                choices = self.products if self.product in self.products else [self.product, *self.products]
                short_entry("product", self.product, "product", keep("product"), choices=choices)
            short_entry("good units a week", self.per_week, "per-week", keep("per_week"))
            press("Work out", "work-out-rate", lambda _: self._rate(), kind="press main")
        self.rate = named(markup("", "rate-needs"), "rate-needs")
        self._rate()

    def _rate(self) -> None:
        try:
            rate = float(self.per_week.replace(",", ""))
        except ValueError:
            rate = 0.0
        try:
            needs = services.needs_at_rate(self.book, self.product, rate, self.plan)
        except NaptuftError as error:
            self.rate.set_content(f'<div class="run-faults">{faults_html(error.faults)}</div>')
            return
        self.rate.set_content(rate_html(self.book, needs))


def _hours(minutes: float) -> Cell:
    return Cell(f"{minutes / 60:,.0f}", round(minutes / 60, 2))


def crew_weeks(book: Book, loads: Sequence[RoughLoad]) -> Mapping[str, list[tuple[str, float]]]:
    """For each crew, heads kept busy in each period: (day it starts, heads)."""
    crew_of = {centre.code: centre.crew for centre in book.work_centres}
    heads: dict[str, dict[str, float]] = defaultdict(lambda: defaultdict(float))
    for load in loads:
        heads[crew_of[load.work_centre]][load.start.isoformat()] += load.people
    return {crew.code: sorted(heads[crew.code].items()) for crew in book.crews if crew.code in heads}


def crews_ledger(book: Book, loads: Sequence[RoughLoad]) -> Ledger:
    """Heads of each crew kept busy, week by week, against those there are."""
    weeks = crew_weeks(book, loads)
    crews = {crew.code: crew for crew in book.crews}
    starts = sorted({day for found in weeks.values() for day, _ in found})
    names = {load.start.isoformat(): f"{load.start.day} {load.start:%b}" for load in loads}
    rows = []
    for code, found in weeks.items():
        of, has = dict(found), crews[code].heads
        values = [of.get(day, 0.0) for day in starts]
        told = [f"week of {names[day]}: {of.get(day, 0.0):.1f} of {has}" for day in starts]
        rows.append(
            (
                code,
                [
                    Cell(code, below=crews[code].name),
                    Cell(str(has), has),
                    Cell("; ".join(told), max(values), drawn=levels(values, has, max([has * 1.1, *values]), told)),
                    *(Cell(f"{value:.1f}", round(value, 3)) for value in values),
                ],
            )
        )
    return Ledger(
        "crews",
        [
            Column("crew", "crew", width=150),
            Column("has", "has", "number", 52),
            Column("weeks", "week by week", "strip", width=190),
            *(Column(day, names[day], "number", 66) for day in starts),
        ],
        rows,
        file_name="crews",
        empty="no crew is in the book",
    )


def rate_html(book: Book, needs: RateNeeds) -> str:
    """What a rate asks for, as tables: work centres, racks and cavities."""
    centres = "".join(
        f'<tr><th scope="row">{escape(each.work_centre)}</th><td class="number">{each.run / 3600:,.1f}</td>'
        f'<td class="number">{each.open / 3600:,.0f}</td><td class="number">{100 * each.utilisation:.1f}{THIN}%</td>'
        f'<td class="number{" wrong" if each.machines > each.has else ""}">{each.machines} of {each.has}</td>'
        f'<td class="number">{each.people:.2f}</td><td>{escape(each.crew)}</td></tr>'
        for each in needs.centres
    )
    names = {rack.code: rack.name for rack in book.racks}
    racks = "".join(
        f'<tr><th scope="row">{escape(each.rack)}<br><span class="aside">{escape(names[each.rack])}</span></th>'
        f'<td class="number{" wrong" if each.needed > each.has else ""}">{each.needed:,} of {each.has:,}</td></tr>'
        for each in needs.racks
    )
    cavities = "".join(
        f'<tr><th scope="row">{escape(each.product)}</th>'
        f'<td class="number{" wrong" if each.needed > each.has else ""}">{each.needed} of {each.has}</td></tr>'
        for each in needs.cavities
    )
    head = '<thead><tr><th>{0}</th><th class="number">needed</th></tr></thead>'
    return (
        f'<div><p class="verdict"><b>{needs.per_week:,.0f}</b> of {escape(needs.product)} a week. The bottleneck is '
        f"<b>{escape(needs.bottleneck)}</b>: making nothing else, the plant could make <b>{needs.most:,.0f}</b> a week.</p>"
        '<table class="figures parts"><thead><tr><th>work centre</th><th class="number">runs, h</th><th class="number">open, h</th>'
        '<th class="number">in use</th><th class="number">machines</th><th class="number">people</th><th>crew</th></tr></thead>'
        f"<tbody>{centres}</tbody></table>"
        f'<p class="aside">machines at {100 * MOST:.0f}{THIN}% of their open time; setups and changeovers left out</p></div><div>'
        + (f'<table class="figures parts">{head.format("racks in use")}<tbody>{racks}</tbody></table>' if racks else "")
        + (
            f'<table class="figures parts">{head.format("mould cavities")}<tbody>{cavities}</tbody></table>'
            if cavities
            else ""
        )
        + '<p class="aside">Racks by Little\'s law: J. D. C. Little, Operations Research 9 (1961) 383.</p></div>'
    )
