"""A plan: one value that holds the whole answer, and is saved, printed and shown from here alone.

Times carry the plant's zone. Quantities stand beside their unit, in the unit the book counts them in.
Money is Decimal in the book's currency.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from naptuft.calculation import Check, Result

OrderState = Literal["on time", "late", "short", "from stock"]


@dataclass(frozen=True)
class OrderOutcome:
    """What becomes of one order line.

    finish          when the last of what can be delivered is ready; None when nothing can
    late_minutes    minutes after due; 0 when on time or nothing is delivered
    short_quantity  how many cannot be delivered: material for them cannot arrive inside the horizon
    reason          why it is late or short, naming the blocking material, machine or check; "" on time
    work_orders     numbers of the work orders that make it directly
    value           price of the whole quantity ordered; None where no price is known
    cost            planned cost of what is delivered
    """

    order: str
    line: int
    customer: str
    product: str
    product_name: str
    product_line: str
    quantity: int
    due: datetime.datetime
    finish: datetime.datetime | None
    late_minutes: int
    short_quantity: int
    from_stock: int
    state: OrderState
    reason: str
    work_orders: tuple[str, ...]
    value: Decimal | None
    cost: Decimal

    @property
    def name(self) -> str:
        """Order and line in one."""
        return f"{self.order}/{self.line}"


@dataclass(frozen=True)
class Serving:
    """A share of a work order that goes to one order line, directly or inside something else made."""

    order: str
    line: int
    quantity: float


@dataclass(frozen=True)
class WorkOrder:
    """One batch of one product.

    stage     make; or cut, for the cutting of a stock tube to a joint cut list
    quantity  good units wanted, in `unit`; `started` also counts what is expected to be scrapped
    needs     work orders that must be finished before this one starts
    release   earliest start: when its bought material is there
    due       when it should be finished for the most pressing order it serves
    parts     how many work orders the batch is split into, this one among them; each bears its share of the
              weight of the orders it serves
    note      why it is split, and what that saves; "" where it is not
    """

    number: str
    product: str
    product_name: str
    product_line: str
    stage: Literal["make", "cut"]
    quantity: float
    started: float
    unit: str
    release: datetime.datetime
    due: datetime.datetime
    start: datetime.datetime
    finish: datetime.datetime
    serves: tuple[Serving, ...]
    needs: tuple[str, ...]
    parts: int = 1
    note: str = ""


@dataclass(frozen=True)
class PlannedOperation:
    """One operation on one machine at a time.

    wait_minutes            clock minutes of drying or curing after it, before the next step
    changeover_minutes      minutes the machine is changed over just before `start`
    run_minutes             minutes of work in it (closed time it pauses over not counted)
    overtime_minutes        how many of them, and of its changeover, are in overtime
    earliest_start_reason   why it does not start earlier
    """

    work_order: str
    step: int
    name: str
    work_centre: str
    machine: str
    start: datetime.datetime
    end: datetime.datetime
    run_minutes: int
    changeover_minutes: int
    wait_minutes: int
    quantity: float
    unit: str
    family: str
    rack: str
    racks: int
    product_line: str
    hazard: str
    instruction: str
    earliest_start_reason: str
    overtime_minutes: int = 0


@dataclass(frozen=True)
class Allocation:
    """What one work order takes from one lot, one purchase or one other work order.

    lot     number of the lot; of the purchase (P-…) where it must be bought first; of the work order
            (W-…) where it is made on the way
    source  which of the three
    cost    money for this quantity; 0 for what is made on the way (its own work order carries it)
    """

    work_order: str
    material: str
    material_name: str
    lot: str
    source: Literal["stock", "purchase", "made"]
    quantity: float
    unit: str
    cost: Decimal


@dataclass(frozen=True)
class BlendLine:
    """What a blend takes of one lot, moist weight as weighed out [g]."""

    lot: str
    material: str
    grams: float


@dataclass(frozen=True)
class ProfileBar:
    """One length class of a blend: share asked and got (0..1)."""

    length_mm: float
    asked: float
    tolerance: float
    got: float


@dataclass(frozen=True)
class PlannedBlend:
    """The filling mixed for one work order; taken = wanted + combings, to the gram."""

    work_order: str
    product: str
    lots: tuple[BlendLine, ...]
    wanted_grams: float
    combings_grams: float
    profile: tuple[ProfileBar, ...]
    cost: Decimal
    proven_optimal: bool
    bound: Decimal


@dataclass(frozen=True)
class CutPiece:
    """So many pieces of one length in a pattern; `work_order` is the one they are for."""

    work_order: str
    name: str
    length_mm: float
    count: int


@dataclass(frozen=True)
class CutPattern:
    """One way to cut, and how many times it is cut."""

    pieces: tuple[CutPiece, ...]
    count: int
    offcut_mm: float


@dataclass(frozen=True)
class PlannedCutList:
    """How stock tubes, coils or rolls are cut for one work order.

    work_order   the cutting work order (tubes) or the one that uses the coil
    kind         tube: a joint list over several refills; coil: blanks from the lots allocated; sheet: trays
    rolls        stock pieces cut; proven_optimal when no fewer can do, lower_bound beside it
    lot          the coil or roll cut, where the list is for one lot; "" for tubes
    rolls_apart  stock pieces if every due day were cut by itself; 0 where the question does not arise
    piece_days   Σ pieces x days they wait because days are cut together
    """

    work_order: str
    kind: Literal["tube", "coil"]
    material: str
    lot: str
    stock_length_mm: float
    kerf_mm: float
    end_trim_mm: float
    patterns: tuple[CutPattern, ...]
    rolls: int
    lower_bound: int
    proven_optimal: bool
    offcut_mm: float
    yield_share: float
    rolls_apart: int = 0
    piece_days: int = 0


@dataclass(frozen=True)
class Purchase:
    """Something to buy: when to order, when it arrives, what waits for it.

    order_by   last day to order for it to arrive when needed (not before the plan starts)
    arrives    when it is there if ordered on `order_by`
    """

    number: str
    material: str
    material_name: str
    quantity: float
    unit: str
    order_by: datetime.date
    arrives: datetime.datetime
    cost: Decimal
    needed: float
    serves: tuple[str, ...]


@dataclass(frozen=True)
class DesignOutcome:
    """The engineering of one product: its calculation and result."""

    product: str
    product_name: str
    product_line: str
    calculation: str
    result: Result

    @property
    def failed(self) -> tuple[Check, ...]:
        """Checks that fail."""
        return tuple(check for check in self.result.checks if not check.passed)


@dataclass(frozen=True)
class CostLine:
    """Planned cost of one thing, by kind; `total` is the exact sum of the kinds.

    of    product: for one unit of it; work order: for the batch; order: for the line
    """

    of: Literal["product", "work order", "order"]
    name: str
    quantity: float
    unit: str
    material: Decimal
    machine: Decimal
    labour: Decimal
    energy: Decimal
    overhead: Decimal
    scrap: Decimal
    regrind_credit: Decimal
    total: Decimal


@dataclass(frozen=True)
class Load:
    """How busy one work centre is inside the horizon, all its machines together [minutes]."""

    work_centre: str
    name: str
    machines: int
    open_minutes: int
    run_minutes: int
    changeover_minutes: int

    @property
    def share(self) -> float:
        """Share of open time in use, changeovers counted."""
        return (self.run_minutes + self.changeover_minutes) / self.open_minutes if self.open_minutes else 0.0


@dataclass(frozen=True)
class Finding:
    """Something the independent checker holds against the plan."""

    rule: str
    place: str
    message: str


@dataclass(frozen=True)
class Quality:
    """How good the schedule is known to be.

    bound    proven lower bound on the weighted late minutes; None where none was proven
    status   optimal only when proven
    repeats  True when the same book, seed and effort give the same plan to the byte
    """

    weighted_late_minutes: float
    changeover_minutes: int
    bound: float | None
    status: Literal["optimal", "feasible"]
    effort: int
    seed: int
    repeats: bool


@dataclass(frozen=True)
class Plan:
    """The whole answer to one book."""

    plant: str
    revision: str
    currency: str
    start: datetime.datetime
    horizon_days: int
    quality: Quality
    orders: tuple[OrderOutcome, ...]
    work_orders: tuple[WorkOrder, ...]
    operations: tuple[PlannedOperation, ...]
    allocations: tuple[Allocation, ...]
    blends: tuple[PlannedBlend, ...]
    cut_lists: tuple[PlannedCutList, ...]
    purchases: tuple[Purchase, ...]
    designs: tuple[DesignOutcome, ...]
    costs: tuple[CostLine, ...]
    loads: tuple[Load, ...]
    checks: tuple[Finding, ...]
