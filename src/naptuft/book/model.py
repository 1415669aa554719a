"""What a book holds. Each record declares its fields once; the sheets of the workbook are read from them."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from naptuft import calculation as declare
from naptuft.plant.calendar import Closure, Shift
from naptuft.plant.spread import DeliverySpread, Stops, WorkSpread
from naptuft.plant.work_centre import Changeover, Crew, Machine, Rack, WorkCentre
from naptuft.quantity import Measure

UNITS = ("pcs", "g", "kg", "m", "mm", "m2", "l", "ml")
PINT_UNITS = {"m2": "m**2"}
LINES = (
    "brush",
    "filling",
    "ferrule",
    "handle",
    "moulded part",
    "stock tube",
    "refill",
    "frame",
    "tray",
    "boxed set",
    "other",
)
MATERIAL_KINDS = (
    "bristle",
    "filament",
    "strip",
    "adhesive",
    "resin",
    "coating",
    "core",
    "fabric",
    "sheet",
    "wire",
    "packing",
    "other",
)


@dataclass(frozen=True)
class Settings:
    """What holds for the whole book."""

    plant: str = declare.text("name of the plant, printed on every paper", example="Quillbeck Brush & Nap")
    revision: str = declare.text("revision of the book, printed on every paper", default="1", example="1")
    currency: str = declare.text("three-letter code of the money in the book (ISO 4217)", default="EUR", example="EUR")
    zone: str = declare.text("time zone of the plant's clock (IANA name)", default="UTC", example="Europe/London")
    start: datetime.datetime = declare.moment("when the plan starts", example="2026-11-30 06:00")
    horizon_days: int = declare.whole(
        "days planned", low=1, high=400, default=28, example="28", label="horizon", unit=""
    )
    energy_price_per_kwh: Decimal = declare.money("price of a kilowatt-hour", default=Decimal("0.20"), example="0.22")
    overhead: float = declare.quantity(
        "%", "added to machine and labour cost", low=0, high=500, default=0.0, example="15 %"
    )
    order_cost: Decimal = declare.money(
        "what placing and receiving one purchase costs", default=Decimal(0), example="35.00"
    )
    keeping: float = declare.quantity(
        "%", "cost of keeping stock for a year, as a share of its price", low=0, high=200, default=0.0, example="18 %"
    )
    group_days: int = declare.whole(
        "orders of one product due within so many days are made together", low=1, high=60, default=7, example="7"
    )
    overtime_pay: float = declare.quantity(
        "",
        "what an hour of overtime is paid, over the usual hour (1.5 is common practice)",
        low=1,
        high=5,
        default=1.5,
        example="1.5",
    )
    overtime_counts: int = declare.whole(
        "what a minute worked in overtime counts against a plan, in minutes of changeover",
        low=0,
        high=1000,
        default=0,
        example="2",
        unit="",
    )
    waiting_counts: float = declare.quantity(
        "",
        "what a minute counts that work waits between two steps, in minutes of changeover",
        low=0,
        high=1000,
        default=0.0,
        example="0.01",
    )
    late_counts: float | None = declare.quantity(
        "",
        "what a minute late, times the order's weight, counts in minutes of changeover; "
        "empty: late orders come before all else",
        low=0,
        high=1_000_000,
        default=None,
        example="",
    )
    other_machine: float = declare.quantity(
        "min",
        "what an operation counts, in minutes of changeover, on another machine than its step prefers",
        low=0,
        high=2880,
        default=30.0,
        example="30 min",
    )
    most_parts: int = declare.whole(
        "parts a batch is split into at most, made side by side on several machines, where that makes orders less "
        "late; 1: none is split",
        low=1,
        high=20,
        default=3,
        example="3",
        unit="",
    )
    setting_up: float | None = declare.quantity(
        "%",
        "share of a batch's time at a step that getting ready for it may take at most: later orders are made with it "
        "until it is so large, and no part is smaller; empty: batches are as orders fall due",
        low=1,
        high=90,
        default=None,
        example="10 %",
    )
    kerf: float = declare.quantity(
        "mm", "width lost at each cut of a stock tube", low=0, high=20, default=2.0, example="2 mm"
    )
    end_trim: float = declare.quantity(
        "mm", "cut off each end of a stock tube", low=0, high=200, default=10.0, example="10 mm"
    )
    least_offcut: float = declare.quantity(
        "mm", "shortest offcut of a tube worth keeping", low=0, high=5000, default=150.0, example="150 mm"
    )


@dataclass(frozen=True)
class Material:
    """Something bought."""

    code: str = declare.text("short code of the material", example="BR-GREY57")
    name: str = declare.text("what it is", example="grey bristle 57 mm")
    kind: str = declare.choice(MATERIAL_KINDS, "what it is used as")
    unit: str = declare.choice(UNITS, "the unit it is counted in", example="kg")
    price_per_unit: Decimal = declare.money("price of one unit", example="38.00")
    lead_days: int | None = declare.whole(
        "days from order to arrival; empty: cannot be bought", low=0, high=400, default=None, example="21"
    )
    least_order: Measure | None = declare.measure("smallest quantity a supplier sells", default=None, example="25 kg")
    order_multiple: Measure | None = declare.measure("sold in multiples of this", default=None, example="5 kg")
    safety_stock: Measure | None = declare.measure("kept in hand for surprises", default=None, example="10 kg")
    scrap_price_per_unit: Decimal = declare.money(
        "credit for one unit of clean scrap or regrind", default=Decimal(0), example="0.40"
    )

    keeps_days: int | None = declare.whole(
        "days it may be used after it arrives; empty: keeps", low=1, high=4000, default=None, example="365"
    )

    @property
    def pint_unit(self) -> str:
        """The unit as `quantity` spells it."""
        return PINT_UNITS.get(self.unit, self.unit)


@dataclass(frozen=True)
class PriceBreak:
    """A lower price of a material for larger purchases."""

    material: str = declare.text("code of the material", example="BR-GREY57")
    from_quantity: Measure = declare.measure("the price holds for a purchase of at least this", example="100 kg")
    price_per_unit: Decimal = declare.money("price of one unit of the whole purchase", example="35.00")


@dataclass(frozen=True)
class Lot:
    """One lot in stock or on its way: of a material, or of a product made before."""

    code: str = declare.text("the lot's number", example="L-2041")
    material: str = declare.text("code of the material or product", example="BR-GREY57")
    quantity: Measure = declare.measure("how much is left", example="120 kg")
    received: datetime.date = declare.date("when it came in", example="2026-10-02")
    expires: datetime.date | None = declare.date("last day of use; empty: keeps", default=None, example="2027-04-02")
    state: str = declare.choice(("free", "held"), "held lots are not used", default="free")
    arrives: datetime.datetime | None = declare.moment(
        "when it arrives, for a lot on its way", default=None, example="2026-12-03 08:00"
    )
    supplier: str = declare.text("who supplied it", default="", example="Thornmere Fibres")
    price_per_unit: Decimal | None = declare.money(
        "price paid for one unit of the material; empty: the material's price", default=None, example="36.50"
    )
    diameter: float | None = declare.quantity(
        "um", "mean filament diameter", low=20, high=2000, default=None, example="190 um"
    )
    moisture: float | None = declare.quantity(
        "%", "water in it, as a share of its weight", low=0, high=60, default=None, example="12 %"
    )
    curl: float | None = declare.quantity("%", "share too curved to use", low=0, high=60, default=None, example="3 %")
    flags: float | None = declare.quantity("%", "share with a split tip", low=0, high=100, default=None, example="80 %")


@dataclass(frozen=True)
class LotLength:
    """One bar of the length profile of a lot of bristle or filament."""

    lot: str = declare.text("the lot's number", example="L-2041")
    length: float = declare.quantity("mm", "length class", low=5, high=400, example="57 mm")
    share: float = declare.quantity("%", "share of the lot's weight in this class", low=0, high=100, example="62 %")


@dataclass(frozen=True)
class Product:
    """Something made: sold, or used in something else made here."""

    code: str = declare.text("short code of the product", example="B-WALL100")
    name: str = declare.text("what it is", example="100 mm wall brush")
    line: str = declare.choice(LINES, "what kind of product; picks its design sheet")
    unit: str = declare.choice(("pcs", "g", "kg", "m"), "the unit it is counted in", default="pcs", example="pcs")
    price_per_unit: Decimal | None = declare.money("selling price of one", default=None, example="6.40")
    gtin: str = declare.text("GTIN printed on it, check digit and all; empty: none", default="", example="")
    scrap: float = declare.quantity("%", "share lost in the making", low=0, high=50, default=0.0, example="2 %")
    use_within: float | None = declare.quantity(
        "h",
        "time within which a work order that takes it must begin, once it is made and its waits are over; "
        "empty: it keeps",
        low=0,
        high=10_000,
        default=None,
        example="48 h",
    )
    least_batch: Measure | None = declare.measure("not made in less than this", default=None, example="200")
    most_batch: Measure | None = declare.measure("not made in more than this at once", default=None, example="3000")

    @property
    def pint_unit(self) -> str:
        """The unit as `quantity` spells it."""
        return self.unit


@dataclass(frozen=True)
class Part:
    """What goes into one unit of a product: a material or another product.

    Either a quantity is written, or it comes from the product's design by the name of a figure there,
    such as fill_weight; a refill's share of a stock tube comes from the cut list.
    """

    product: str = declare.text("code of the product", example="B-WALL100")
    part: str = declare.text("code of the material or product that goes in", example="F-WALL")
    quantity: Measure | None = declare.measure(
        "how much in one; empty when the design tells", default=None, example="1"
    )
    from_design: str = declare.text(
        "name of the design figure that gives the quantity, or 'cut list'", default="", example="fill_weight"
    )
    loss: float = declare.quantity(
        "%", "share of what is taken that is lost on the way", low=0, high=90, default=0.0, example="1 %"
    )


@dataclass(frozen=True)
class RouteStep:
    """One operation in the making of a product."""

    product: str = declare.text("code of the product", example="B-WALL100")
    step: int = declare.whole("order of the step: 10, 20, 30", low=1, high=9999, example="10")
    name: str = declare.text("what is done", example="set heads")
    work_centre: str = declare.text("where", example="SETTING")
    setup: float = declare.quantity("min", "to get ready, every batch", low=0, high=2880, default=0.0, example="10 min")
    time_each: float | None = declare.quantity(
        "s", "for one unit; empty when the design tells", low=0, high=86400, default=None, example="6 s"
    )
    from_design: str = declare.text(
        "name of the design figure that gives the time for one", default="", example="moulding_time"
    )
    family: str = declare.text("what the machine is set for, for changeovers", default="", example="100 mm")
    wait: float = declare.quantity(
        "min",
        "that must pass by the clock before the next step: drying, curing, or a supplier's lead time where the step "
        "sends the work out, such as 5 day",
        low=0,
        high=86400,
        default=0.0,
        example="480 min",
    )
    most_wait: float | None = declare.quantity(
        "min", "the most that may pass before the next step", low=0, high=86400, default=None, example="1440 min"
    )
    rack: str = declare.text("code of the racks held until the wait is over", default="", example="HANG")
    per_rack: int | None = declare.whole("units on one rack", low=1, high=100000, default=None, example="30")
    pauses: bool = declare.yes("may stop at the end of a shift and go on at the next", default=True, example="yes")
    transfer: int | None = declare.whole(
        "units handed on at a time, so that the next step may start on them; empty: all at once",
        low=1,
        high=10_000_000,
        default=None,
    )
    per_load: int | None = declare.whole(
        "units in one load of a machine that takes several work orders; empty: one work order fills it",
        low=1,
        high=10_000_000,
        default=None,
    )
    preferred: str = declare.text(
        "code of the machine it is best done on; empty: any of the work centre", default="", example="LINE-2"
    )
    stage: str = declare.choice(
        ("make", "cut"), "cut: done to the joint cut list, after the stock tubes are made", default="make"
    )
    instruction: str = declare.text(
        "what the operator should know", default="", example="press butts level with the gauge"
    )


@dataclass(frozen=True)
class Order:
    """One line of a customer's order."""

    order: str = declare.text("order number", example="S-1001")
    line: int = declare.whole("line of the order", low=1, high=9999, example="1")
    customer: str = declare.text("who ordered", example="Harrow Lane Stores")
    product: str = declare.text("code of the product", example="B-WALL100")
    quantity: int = declare.whole("how many", low=1, high=10_000_000, example="1200", unit="pcs")
    due: datetime.datetime = declare.moment("when it must be ready", example="2026-12-11 14:00")
    weight: float = declare.quantity("", "what being late counts (1 = as any other)", low=0, high=1000, default=1.0)
    price_per_unit: Decimal | None = declare.money("price agreed; empty: the product's", default=None, example="6.20")

    @property
    def name(self) -> str:
        """Order and line in one: S-1001/1."""
        return f"{self.order}/{self.line}"


@dataclass(frozen=True)
class Pin:
    """Where and when one step of the work behind an order line must be done; the plan keeps it or says why it cannot."""

    order: str = declare.text("order number", example="S-1001")
    line: int = declare.whole("line of the order", low=1, high=9999, example="1")
    product: str = declare.text("code of the product or part whose step it is", example="B-WALL100")
    step: int = declare.whole("step of its route", low=1, high=9999, example="10")
    machine: str = declare.text("code of the machine that does it", example="SET-1")
    start: datetime.datetime = declare.moment(
        "when it starts, set up and changed over by then", example="2026-12-03 08:00"
    )

    @property
    def name(self) -> str:
        """Whom it is for: S-1001/1, B-WALL100, step 10."""
        return f"{self.order}/{self.line}, {self.product}, step {self.step}"


@dataclass(frozen=True)
class Book:
    """Everything that came in. `designs` maps a product's code to the typed input of its design."""

    settings: Settings
    shifts: tuple[Shift, ...] = ()
    closures: tuple[Closure, ...] = ()
    crews: tuple[Crew, ...] = ()
    work_centres: tuple[WorkCentre, ...] = ()
    machines: tuple[Machine, ...] = ()
    changeovers: tuple[Changeover, ...] = ()
    racks: tuple[Rack, ...] = ()
    work_spreads: tuple[WorkSpread, ...] = ()
    stops: tuple[Stops, ...] = ()
    delivery_spreads: tuple[DeliverySpread, ...] = ()
    materials: tuple[Material, ...] = ()
    price_breaks: tuple[PriceBreak, ...] = ()
    lots: tuple[Lot, ...] = ()
    lot_lengths: tuple[LotLength, ...] = ()
    products: tuple[Product, ...] = ()
    designs: Mapping[str, Any] = field(default_factory=dict)
    parts: tuple[Part, ...] = ()
    routes: tuple[RouteStep, ...] = ()
    orders: tuple[Order, ...] = ()
    pins: tuple[Pin, ...] = ()

    @cached_property
    def start(self) -> datetime.datetime:
        """When the plan starts, with the plant's zone."""
        return self.settings.start.replace(tzinfo=ZoneInfo(self.settings.zone))

    @cached_property
    def item(self) -> Mapping[str, Material | Product]:
        """Materials and products by code."""
        return {thing.code: thing for thing in (*self.materials, *self.products)}

    @cached_property
    def product(self) -> Mapping[str, Product]:
        """Products by code."""
        return {product.code: product for product in self.products}

    @cached_property
    def material(self) -> Mapping[str, Material]:
        """Materials by code."""
        return {material.code: material for material in self.materials}

    @cached_property
    def breaks_of(self) -> Mapping[str, tuple[PriceBreak, ...]]:
        """Price breaks by material."""
        return _grouped(self.price_breaks, "material")

    @cached_property
    def lot(self) -> Mapping[str, Lot]:
        """Lots by number."""
        return {lot.code: lot for lot in self.lots}

    @cached_property
    def parts_of(self) -> Mapping[str, tuple[Part, ...]]:
        """Parts by the product they go into."""
        return _grouped(self.parts, "product")

    @cached_property
    def route_of(self) -> Mapping[str, tuple[RouteStep, ...]]:
        """Route steps by product, in order."""
        return {
            code: tuple(sorted(steps, key=lambda step: step.step))
            for code, steps in _grouped(self.routes, "product").items()
        }

    @cached_property
    def machines_of(self) -> Mapping[str, tuple[Machine, ...]]:
        """Machines by work centre."""
        return _grouped(self.machines, "work_centre")

    @cached_property
    def lengths_of(self) -> Mapping[str, tuple[LotLength, ...]]:
        """Length profile by lot."""
        return _grouped(self.lot_lengths, "lot")


def _grouped(records: tuple[Any, ...], key: str) -> dict[str, tuple[Any, ...]]:
    groups: dict[str, list[Any]] = {}
    for record in records:
        groups.setdefault(getattr(record, key), []).append(record)
    return {code: tuple(group) for code, group in groups.items()}
