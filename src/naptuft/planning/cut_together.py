"""Which refills to cut from their tubes together: tubes and setting up saved, against pieces that wait."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from naptuft.book.model import Book, Product
from naptuft.planning.design import Designs, unit_need
from naptuft.roller.cutting.runs import MOST_DATES, DatedDemand, Runs, cheapest_runs

YEAR = 365


@dataclass(frozen=True)
class Piece:
    """So many pieces of a length [m] for a consumer, by a time."""

    consumer: str
    length: float
    quantity: int
    due: datetime.datetime


@dataclass(frozen=True)
class Together:
    """Pieces of one cut list.

    apart       stock tubes if every due day were cut by itself
    piece_days  Σ pieces x days they wait for their due day
    """

    consumers: tuple[str, ...]
    apart: int
    piece_days: int


@dataclass(frozen=True)
class Prices:
    """What weighs in: a stock tube, a piece that waits one day, a run set up."""

    tube: Decimal
    waiting: Decimal
    setting_up: Decimal


def cut_together(
    stock_length: float,
    pieces: Sequence[Piece],
    prices: Prices,
    *,
    longest_wait: int,
    kerf: float = 0.0,
    end_trim: float = 0.0,
) -> tuple[Together, ...]:
    """Pieces parted into cut lists at the least cost of tubes, setting up and waiting.

    longest_wait  days between the first and the last due day of one list, less than this

    >>> day = datetime.datetime(2026, 12, 1)
    >>> pieces = [Piece("a", 0.6, 1, day), Piece("b", 0.3, 1, day + datetime.timedelta(days=1))]
    >>> [found.consumers for found in cut_together(1.0, pieces, Prices(Decimal(3), Decimal("0.1"), Decimal(0)), longest_wait=7)]
    [('a', 'b')]
    """
    days = sorted({piece.due.date() for piece in pieces})
    lists = []
    for first in range(0, len(days), MOST_DATES):
        some = days[first : first + MOST_DATES]
        inside = [piece for piece in pieces if some[0] <= piece.due.date() <= some[-1]]
        dated = tuple(
            DatedDemand(piece.consumer, piece.length, piece.quantity, piece.due.date().toordinal()) for piece in inside
        )
        runs = _parted(stock_length, dated, prices, longest_wait - 1, kerf, end_trim)
        alone = dict(runs.apart_by_day)
        for run in runs.runs:
            consumers = tuple(dict.fromkeys(demand.name for demand in run.demands))
            apart = sum(rolls for day, rolls in alone.items() if run.days[0] <= day <= run.days[1])
            lists.append(Together(consumers, apart, run.piece_days))
    return tuple(lists)


@lru_cache(maxsize=256)
def _parted(
    stock_length: float, dated: tuple[DatedDemand, ...], prices: Prices, longest_wait: int, kerf: float, end_trim: float
) -> Runs:
    """The runs; kept, because most stay the same when the last lines due are cut back."""
    return cheapest_runs(
        stock_length,
        dated,
        price=prices.tube,
        wait_cost=prices.waiting,
        longest_wait=longest_wait,
        set_up=prices.setting_up,
        kerf=kerf,
        end_trim=end_trim,
    )


def prices_of(book: Book, designs: Designs, tube: Product, pieces_in_tube: float) -> Prices:
    """What a tube costs by its material, a piece of it that waits a day, and setting up to cut.

    A waiting piece costs the book's keeping rate on its share of the tube.
    """
    cost = material_cost(book, designs, tube)
    waiting = cost / max(1.0, pieces_in_tube) * book.settings.keeping / YEAR
    people = {crew.code: float(crew.wage_per_hour) for crew in book.crews}
    setting_up = 0.0
    for step in book.route_of[tube.code]:
        if step.stage == "cut":
            centre = next(centre for centre in book.work_centres if centre.code == step.work_centre)
            rate = float(book.machines_of[step.work_centre][0].rate_per_hour)
            setting_up += step.setup / 3600 * (rate + centre.people * people.get(centre.crew, 0.0))
    return Prices(*(Decimal(repr(round(value, 6))) for value in (cost, waiting, setting_up)))


def material_cost(book: Book, designs: Designs, product: Product) -> float:
    """Bought material in one unit of a product, at the book's prices, its parts' included; blends are left out."""
    total = 0.0
    for part in book.parts_of.get(product.code, ()):
        if part.quantity is None and not any(
            value.name == part.from_design for value in designs[product.code].result.values
        ):
            continue
        need = unit_need(book, designs, part)
        if part.part in book.product:
            total += need * material_cost(book, designs, book.product[part.part])
        else:
            total += need * float(book.material[part.part].price_per_unit)
    return total
