"""The main job: a checked book in, the weeks planned out."""

from __future__ import annotations

import datetime
import math
from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from naptuft.book.model import Book
from naptuft.brush.blend import Blend
from naptuft.planning.allocate import Allocated, allocate
from naptuft.planning.cut_together import Together
from naptuft.planning.design import Designs, design_products
from naptuft.planning.explode import Explosion, explode
from naptuft.planning.outcome import late_words, order_outcomes, work_orders_of
from naptuft.planning.pins import ask_for_work, in_words_of_book
from naptuft.planning.plan import (
    Allocation,
    BlendLine,
    CutPattern,
    CutPiece,
    Plan,
    PlannedBlend,
    PlannedCutList,
    ProfileBar,
    Quality,
)
from naptuft.planning.problem import Schedule
from naptuft.planning.split import Limits, Made, Wanted, schedule_in_parts
from naptuft.planning.tied import schedule_tied
from naptuft.planning.timing import Timing, loads_of, operations_of, pose
from naptuft.plant.calendar import minutes_after, moment_at
from naptuft.quantity import from_si
from naptuft.roller.cutting import CutList

PATIENT_ROUNDS = 8
CENT = Decimal("0.01")


@dataclass(frozen=True)
class Progress:
    """How far the work is: the stage in words, its share done (0..1) and the best answer so far in words."""

    stage: str
    done: float
    best: str = ""


def plan_weeks(
    book: Book,
    *,
    seed: int = 1,
    seconds: float | None = None,
    effort: int | None = None,
    expected: bool = False,
    progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Plan:
    """Plan a checked book: designs, lots, blends, cut lists and a schedule; costs and checks come after.

    seed     repeats the same choices
    seconds  time limit of the schedule's search; the plan may then differ from run to run
    effort   or a limit on candidate plans tried: the same book, seed and effort give the same plan
    expected True: the plan of which the fewest late minutes are expected under the book's spreads, not on paper;
             batches are then left whole
    stop     asked now and then; True ends the search with the best plan so far

    Raises DesignError or Infeasible when no plan can be made at all.
    """
    from naptuft.planning.schedule import Progress as SearchProgress

    tell = progress or (lambda _: None)
    tell(Progress("working out the designs", 0.0))
    designs = design_products(book)
    tell(Progress("choosing lots, blends and cut lists", 0.05))
    wanted, short_reasons, explosion, allocated = _what_can_be_made(book, designs)

    def on_search(state: SearchProgress) -> None:
        done = state.effort / effort if effort else state.seconds / seconds if seconds else 1.0
        tell(Progress("looking for a better schedule", 0.2 + 0.8 * min(1.0, done), _best_words(state.objective)))

    ask_for_work(book, explosion)
    with in_words_of_book(book, explosion):
        timing = pose(book, designs, explosion, allocated)
        tell(Progress("first schedule", 0.15))
        first = schedule_tied(timing.problem, timing.ties, seed=seed, effort=1)
        tell(Progress("first schedule", 0.2, _best_words(first.objective)))
        expired = _starts_of_expired(book, timing, first, allocated)
        if expired:
            later = allocate(book, explosion, expired)
            if later.gaps:
                expired = {}
            else:
                allocated = later
                timing = pose(book, designs, explosion, allocated)
                first = schedule_tied(timing.problem, timing.ties, seed=seed, effort=1)

        def planned(made: Made, found: Schedule) -> Plan:
            return _whole_plan(book, designs, made, found, wanted, short_reasons, seed, effort is not None)

        whole = Made({}, explosion, allocated, timing)
        if expected:
            steady = _to_be_expected(book, planned(whole, first), timing, seed, seconds, effort, tell, stop)
            return planned(whole, steady)
        starts = {batch.whole: expired[batch.number] for batch in explosion.batches if batch.number in expired}
        asked = Wanted(book, designs, wanted, starts)
        limits = Limits(seed, seconds, effort, on_search, stop)
        return planned(*schedule_in_parts(asked, whole, limits))


def _to_be_expected(
    book: Book,
    first: Plan,
    timing: Timing,
    seed: int,
    seconds: float | None,
    effort: int | None,
    tell: Callable[[Progress], None],
    stop: Callable[[], bool] | None,
) -> Schedule:
    """The schedule of which replays under the book's spreads expect the fewest late minutes."""
    from naptuft.planning.answered import answered
    from naptuft.planning.risk.of_plan import scatter_of, targets_of_orders
    from naptuft.planning.risk.steady import steady

    spreads = scatter_of(book, first, answered(book, first))
    return steady(
        timing.problem,
        spreads,
        targets=targets_of_orders(book, first, spreads),
        ties=timing.ties,
        seed=seed,
        seconds=seconds,
        effort=effort,
        progress=lambda what, done: tell(Progress("looking for a steadier schedule", 0.2 + 0.8 * done, what)),
        stop=stop,
    ).schedule


def _best_words(objective: tuple[float, ...]) -> str:
    return f"late {late_words(int(objective[0]))} (weighted), changeover and what else counts {late_words(int(objective[1]))}"


def _what_can_be_made(
    book: Book, designs: Designs
) -> tuple[Mapping[str, float], Mapping[str, str], Explosion, Allocated]:
    """Explode and allocate; where material can never come, want less of the last lines due, and again."""
    wanted: dict[str, float] = {order.name: float(order.quantity) for order in book.orders}
    reasons: dict[str, str] = {}
    rounds = 0
    while True:
        explosion = explode(book, designs, wanted)
        allocated = allocate(book, explosion, {})
        if not allocated.gaps:
            return wanted, reasons, explosion, allocated
        rounds += 1
        _want_less(book, explosion, allocated, wanted, reasons, everything=rounds >= PATIENT_ROUNDS)


def _want_less(
    book: Book,
    explosion: Explosion,
    allocated: Allocated,
    wanted: dict[str, float],
    reasons: dict[str, str],
    everything: bool,
) -> None:
    """Want less of the lines due last of every batch with a gap; nothing of them where not even the least batch
    can be made, or where patience is over.
    """
    serves = explosion.serves()
    batches = {batch.number: batch for batch in explosion.batches}
    orders = {order.name: order for order in book.orders}
    total: dict[tuple[str, str, str], float] = defaultdict(float)
    for batch in explosion.batches:
        for name, quantity in serves[batch.number].items():
            total[batch.product, batch.stage, name] += quantity
    before = dict(wanted)
    worst = {}
    for gap in allocated.gaps:
        if gap.batch not in worst or gap.share < worst[gap.batch].share:
            worst[gap.batch] = gap
    for gap in worst.values():
        batch, shares = batches[gap.batch], serves[gap.batch]
        possible = batch.quantity * gap.share
        if book.product[batch.product].unit == "pcs":
            possible = math.floor(possible + 1e-9)
        excess = sum(shares.values()) - possible
        all_of_it = everything or excess <= 1e-9
        for name in sorted(shares, key=lambda name: (orders[name].due, -orders[name].weight, name), reverse=True):
            if excess <= 1e-9 and not all_of_it:
                break
            per_order_unit = total[batch.product, batch.stage, name] / before[name]
            less = math.ceil(min(excess, shares[name]) / per_order_unit - 1e-9)
            if all_of_it or less >= before[name]:
                less = int(before[name])
            if wanted[name] > before[name] - less:
                wanted[name] = max(0.0, before[name] - less)
            excess -= less * per_order_unit
            reasons.setdefault(name, gap.reason)


def _starts_of_expired(
    book: Book, timing: Timing, schedule: Schedule, allocated: Allocated
) -> Mapping[str, datetime.datetime]:
    """Start of every batch that would use a lot after its last day."""
    starts = {timing.batches[p.job].number: moment_at(book.start, p.start) for p in schedule.placements if p.index == 0}
    stale = {
        a.work_order
        for a in allocated.allocations
        if a.source == "stock" and (last := book.lot[a.lot].expires) is not None and starts[a.work_order].date() > last
    }
    return {number: starts[number] for number in stale}


def _whole_plan(
    book: Book,
    designs: Designs,
    made: Made,
    schedule: Schedule,
    wanted: Mapping[str, float],
    short_reasons: Mapping[str, str],
    seed: int,
    repeats: bool,
) -> Plan:
    explosion, allocated, timing = made.explosion, made.allocated, made.timing
    operations = operations_of(book, timing, schedule)
    work_orders = work_orders_of(book, timing, explosion, allocated, operations)

    from naptuft.planning.why_late import LateWork

    late_work = LateWork(timing.problem, schedule.placements, allocated.waits_for)

    def why_late(made: Sequence[str], due: datetime.datetime) -> str:
        return "; ".join(cause.words for cause in late_work.of(made, minutes_after(book.start, due)))

    orders = order_outcomes(book, explosion, allocated, work_orders, operations, wanted, short_reasons, why_late)
    changeover = sum(placed.changeover for placed in schedule.placements)
    return Plan(
        book.settings.plant,
        book.settings.revision,
        book.settings.currency,
        book.start,
        book.settings.horizon_days,
        Quality(schedule.objective[0], changeover, schedule.bound, schedule.status, schedule.effort, seed, repeats),
        orders,
        work_orders,
        operations,
        allocations_of(book, explosion, allocated),
        blends_of(book, explosion, allocated),
        cut_lists_of(book, designs, explosion, allocated),
        allocated.purchases,
        tuple(designs.values()),
        (),
        loads_of(book, operations),
        (),
    )


def allocations_of(book: Book, explosion: Explosion, allocated: Allocated) -> tuple[Allocation, ...]:
    """Every lot, purchase and work order taken from, by the work order that takes it."""
    made = [
        Allocation(
            supply.consumer,
            supply.product,
            book.product[supply.product].name,
            supply.batch,
            "made",
            supply.quantity,
            book.product[supply.product].unit,
            Decimal(0),
        )
        for supply in explosion.supplies
    ]
    taken = [
        Allocation(
            taking.consumer,
            taking.product,
            book.product[taking.product].name,
            taking.lot,
            "stock",
            taking.quantity,
            book.product[taking.product].unit,
            ((book.lot[taking.lot].price_per_unit or Decimal(0)) * Decimal(repr(taking.quantity))).quantize(CENT),
        )
        for taking in explosion.takings
    ]
    everything = [*allocated.allocations, *taken, *made]
    return tuple(sorted(everything, key=lambda a: (a.work_order, a.material, a.lot)))


def blends_of(book: Book, explosion: Explosion, allocated: Allocated) -> tuple[PlannedBlend, ...]:
    """Every blend of an allocation as the plan holds it."""
    batches = {batch.number: batch for batch in explosion.batches}
    return tuple(
        _planned_blend(book, number, batches[number].product, blend)
        for number, blend in sorted(allocated.blends.items())
    )


def _planned_blend(book: Book, number: str, product: str, blend: Blend) -> PlannedBlend:
    tolerance = {round(bar.length, 9): bar.tolerance for bar in book.designs[product].profile}
    return PlannedBlend(
        number,
        product,
        tuple(
            BlendLine(code, book.lot[code].material if code in book.lot else code, from_si(taken, "g"))
            for code, taken in blend.lots
        ),
        from_si(blend.mass, "g"),
        from_si(blend.combings, "g"),
        tuple(
            ProfileBar(from_si(length, "mm"), asked, tolerance.get(round(length, 9), 0.0), got)
            for length, asked, got in blend.profile
        ),
        blend.cost,
        blend.proven_optimal,
        blend.bound,
    )


def cut_lists_of(
    book: Book, designs: Designs, explosion: Explosion, allocated: Allocated
) -> tuple[PlannedCutList, ...]:
    """Every cut list as the plan holds it: tubes to their joint lists, coils into blanks."""
    batches = {batch.number: batch for batch in explosion.batches}
    tubes = [
        _tube_list(
            book,
            number,
            batches[number].product,
            answer,
            {b.number: b.product for b in explosion.batches},
            explosion.together.get(number),
        )
        for number, answer in sorted(explosion.cut_lists.items())
    ]
    coils = []
    for coil in allocated.coils:
        batch = batches[coil.batch]
        pitch = from_si(designs[batch.product].result["strip_length"], "mm")
        length = coil.whole * pitch
        offcut = length - coil.blanks * pitch
        pieces = (CutPiece(coil.batch, batch.product, pitch, coil.blanks),)
        coils.append(
            PlannedCutList(
                coil.batch,
                "coil",
                coil.material,
                coil.lot,
                length,
                0.0,
                0.0,
                (CutPattern(pieces, 1, offcut),),
                1,
                1,
                True,
                offcut,
                coil.blanks / coil.whole,
            )
        )
    return tuple(tubes + coils)


def _tube_list(
    book: Book, number: str, product: str, answer: CutList, made: Mapping[str, str], together: Together | None
) -> PlannedCutList:
    settings = book.settings
    patterns = tuple(
        CutPattern(
            tuple(CutPiece(name, made[name], from_si(length, "mm"), count) for name, length, count in pattern.pieces),
            pattern.count,
            from_si(pattern.offcut, "mm"),
        )
        for pattern in answer.patterns
    )
    used = sum(pattern.count * sum(p.length_mm * p.count for p in pattern.pieces) for pattern in patterns)
    whole = from_si(answer.stock_length, "mm") * answer.rolls
    return PlannedCutList(
        number,
        "tube",
        product,
        "",
        from_si(answer.stock_length, "mm"),
        from_si(settings.kerf, "mm"),
        from_si(settings.end_trim, "mm"),
        patterns,
        answer.rolls,
        answer.lower_bound,
        answer.proven_optimal,
        sum(pattern.count * pattern.offcut_mm for pattern in patterns),
        used / whole if whole else 0.0,
        together.apart if together is not None else 0,
        together.piece_days if together is not None else 0,
    )
