"""Brushes proposed from what is wanted of them: stiffness, paint carried, cost of materials."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from decimal import Decimal
from typing import TYPE_CHECKING

from naptuft.brush import capillary
from naptuft.brush.design import PAINT_OF, head_inputs
from naptuft.brush.fill import SHAPES, Shape
from naptuft.brush.head import BRUSH
from naptuft.brush.outline import PAINTS, BrushChoice, settled, usual_thickness
from naptuft.brush.suitability import against
from naptuft.brush.working import CLOSING_SHARE, WorkingHead, paint_carried
from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, money, quantity, rows, whole, yes
from naptuft.errors import DesignError, Fault
from naptuft.materials.adhesive import epoxy
from naptuft.materials.filament import FILAMENT_NAMES, Medium, filament_material
from naptuft.quantity import show, show_number

if TYPE_CHECKING:
    import numpy as np

MIL = 25.4e-6
SOLD_MILS = (3, 4, 5, 6, 7, 8, 9, 10, 12)
"""Diameters filament is sold in, in thousandths of an inch: common practice."""
THICKNESSES = (0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3)
PACKED = (0.55, 0.70)
REACH, LEAST_LENGTH = 0.25, 0.020
LENGTHS, PACKINGS, ROUNDS = 33, 9, 7
INSIDE = 0.998
TRADED = (0.5, 0.75, 1.0, 1.5, 2.0)


@dataclass(frozen=True)
class FillingPrice:
    """A filling that may be used and what it costs."""

    filling: str = choice(FILAMENT_NAMES, "what it is made of", example="PET")
    price_per_kg: Decimal = money("price of a kg", example="12.10")


@dataclass(frozen=True)
class BrushWanted:
    """What is wanted of a brush, and what may be used for it."""

    shape: Shape = choice(SHAPES, "cross-section of the ferrule", default="flat", example="flat")
    width: float = quantity("mm", "greatest inside width of the ferrule", low=10, high=200, example="75 mm")
    medium: Medium = choice(PAINTS, "paint it will work in", example="water-borne")
    fillings: tuple[FillingPrice, ...] = rows(
        FillingPrice,
        "fillings to choose from, with their price",
        example="PET | 12.10; PBT | 13.90; nylon 6.12 | 18.50; hog bristle | 41.00",
    )
    glue_price_per_kg: Decimal = money("price of a kg of mixed epoxy", default=Decimal("6.90"))
    stiffness: float | None = quantity(
        "N/m", "head stiffness in the paint, as the head calculation gives it", low=1, high=2000, default=None,
        example="40 N/m",
    )  # fmt: skip
    stiffness_tolerance: float = quantity("%", "stiffness may be off by, either way", low=0.5, high=90, default=10)
    paint: float | None = quantity("ml", "paint carried after a dip", low=0.1, high=500, default=None, example="19 ml")
    paint_tolerance: float = quantity("%", "paint may be off by, either way", low=0.5, high=90, default=10)
    most_cost: Decimal | None = money("most that filling and glue of one brush may cost", default=None, example="0.70")
    unsuited: bool = yes("whether fillings that do not suit the paint may be used", default=False)
    designs: int = whole("designs to propose, at most one of each filling and diameter", low=1, high=20, default=4)

    def __post_init__(self) -> None:
        faults = []
        if self.stiffness is None and self.paint is None and self.most_cost is None:
            faults.append(Fault("stiffness", "", "at least one target", "give a stiffness, the paint or a cost"))
        names = [row.filling for row in self.fillings]
        faults += [
            Fault("fillings", name, "each filling once", "join the rows of this filling")
            for name in sorted({name for name in names if names.count(name) > 1})
        ]
        faults += [
            Fault("fillings", row.filling, "a price above 0", "correct the price")
            for row in self.fillings
            if row.price_per_kg <= 0
        ]
        if not faults and not self.unsuited and not _suited(self):
            why = "; ".join(against(filament_material(name), self.medium) for name in names)
            faults.append(Fault("fillings", ", ".join(names), "a filling that suits the paint", f"add another: {why}"))
        if faults:
            raise DesignError(*faults)


def _suited(wanted: BrushWanted) -> list[FillingPrice]:
    return [
        row for row in wanted.fillings if wanted.unsuited or not against(filament_material(row.filling), wanted.medium)
    ]


@dataclass(frozen=True)
class Proposed:
    """A design with what it gives; SI, cost in money.

    head       the whole head, ready for the calculations
    stiffness  [N/m]; paint [m**3]; cost: of filling and glue
    missed     targets it does not meet, in words; none when it meets all
    """

    head: WorkingHead
    stiffness: float
    paint: float
    cost: float
    missed: tuple[str, ...]

    def __str__(self) -> str:
        head = self.head
        thick = "" if head.thickness is None else f"{show(head.thickness, 'mm')} thick, "
        plugs = {0: "no centrepiece", 1: "one centrepiece"}.get(head.plugs, f"{head.plugs} centrepieces")
        return (
            f"{head.filling} {show(head.diameter, 'mm', 3)}, {thick}{show(head.clear_length, 'mm', 3)} out, packing "
            f"{head.packing:.3f}, {plugs}: {show(self.stiffness, 'N/m', 3)}, {show(self.paint, 'ml', 3)} of paint, "
            f"{self.cost:.3f} for filling and glue"
        )


@dataclass(frozen=True)
class _Grid:
    """Figures over heads, clear lengths and packings, each array of shape (heads, lengths, packings).

    held  True where the head holds its paint to the depth it is dipped, so that it does not drip
    """

    length: np.ndarray
    packing: np.ndarray
    stiffness: np.ndarray
    paint: np.ndarray
    cost: np.ndarray
    held: np.ndarray


def figures_of(head: WorkingHead, price: float, glue_price: float) -> tuple[float, float, float]:
    """Head stiffness [N/m], paint carried [m**3] and cost of filling and glue, by the brush calculations."""
    result = BRUSH.run(head)
    cost = result["fill_weight"] * price + result["epoxy_dose"] * glue_price
    return result["head_stiffness"], paint_carried(head).total, cost


def _gridded(head: WorkingHead, price: float, glue_price: float, lengths: np.ndarray, packings: np.ndarray) -> _Grid:
    """The figures of `figures_of` for one head over clear lengths and packings, filaments not rounded to whole ones."""
    import numpy as np

    length, packing = np.meshgrid(lengths, packings, indexing="ij")
    material, ratio, depth = head.material, head.tip_ratio, head.setting_depth
    area, plugs = head.open_area, head.cavity.area - head.open_area
    whole_length = length + depth
    count = packing * area / head.section.area
    narrowed = 1 - (1 - ratio) * depth / whole_length
    modulus = float(material.modulus) * float(material.stiffness_in(head.medium))
    stiffness = count * 3 * modulus * head.section.second_moment * narrowed**3 * ratio / length**3
    taper = (1 + ratio + ratio**2) / 3
    loose = packing * taper
    gap = head.diameter * (1 + ratio) / 2 * (1 - loose) / (2 * loose)
    height = 2 * head.paint_tension * np.cos(head.paint_angle) / (head.paint_density * capillary.GRAVITY * gap)
    dipped, closing = head.dip_share * length, CLOSING_SHARE * length
    reached = np.minimum(length, np.maximum(dipped, height))
    filled = np.clip((reached - (length - closing)) / closing, 0.0, 1.0)
    paint = area * (1 - loose) * np.minimum(dipped, height) + plugs * closing / 2 * filled
    weight = count * head.section.area * whole_length * taper * float(material.density) / (1 - head.trim_loss)
    glue = epoxy(head.epoxy)
    dose = float(glue.density) * area * ((1 - packing) * depth + head.epoxy_cap) / (1 - head.epoxy_loss)
    return _Grid(length, packing, stiffness, paint, weight * price + dose * glue_price, height >= dipped)


@dataclass(frozen=True)
class _Offer:
    """A head to look at and the price of its filling."""

    head: WorkingHead
    price: float


def _offers(wanted: BrushWanted) -> list[_Offer]:
    """Every head to look at: filling, diameter, thickness and centrepieces; the rest at its usual."""
    paint = PAINT_OF[wanted.medium]
    usual = usual_thickness(wanted.shape, wanted.width, "trade")
    thicknesses = sorted({round(usual * share, 3) for share in THICKNESSES}) if wanted.shape != "round" else [None]
    found = []
    for row in _suited(wanted):
        sold = filament_material(row.filling).diameter
        for diameter in (mils * MIL for mils in SOLD_MILS if mils * MIL in sold):
            for thickness in thicknesses:
                for plugs in (0, 1, 2) if wanted.shape != "round" else (0,):
                    sized = settled(
                        BrushChoice(
                            shape=wanted.shape,
                            width=wanted.width,
                            medium=wanted.medium,
                            filling=row.filling,
                            diameter=diameter,
                            thickness=thickness,
                            centrepieces=plugs,
                            trim="flat",
                        )
                    )
                    head = WorkingHead(
                        **head_inputs(sized),
                        paint_density=paint.density,
                        paint_tension=paint.tension,
                        wet_film=paint.wet_film,
                        press=min(25e-3, 0.3 * (sized.clear_length or 0.0)),
                    )
                    found.append(_Offer(head, float(row.price_per_kg)))
    return found


def _excess(wanted: BrushWanted, grid: _Grid, but: str = "") -> np.ndarray:
    """By how much each design misses its targets, as shares of them, summed; a dripping one misses everything.

    but  a target left out of account: stiffness, paint or cost
    """
    import numpy as np

    missed = np.where(grid.held, 0.0, 1e3)
    for name, figure, target, tolerance in (
        ("stiffness", grid.stiffness, wanted.stiffness, wanted.stiffness_tolerance),
        ("paint", grid.paint, wanted.paint, wanted.paint_tolerance),
    ):
        if target is not None and name != but:
            missed += np.maximum(0.0, np.abs(figure / target - 1) - tolerance * INSIDE)
    if wanted.most_cost is not None and but != "cost":
        missed += np.maximum(0.0, grid.cost / float(wanted.most_cost) - INSIDE)
    return missed


def _best(wanted: BrushWanted, grid: _Grid) -> np.ndarray:
    """For each head the flat index of its best design: least missed, then cheapest, shape (heads,)."""
    score = _excess(wanted, grid) * 1e6 + grid.cost
    return score.reshape(len(score), -1).argmin(axis=1)


@dataclass(frozen=True)
class Proposal:
    """What is proposed.

    designs  the best first: those that meet every target, by cost, then the nearest
    binding  targets without which all others could be met; none where a design meets every target
    trade    (head stiffness [N/m], least cost at it), the other targets kept; empty without a stiffness
    tried    designs looked at
    """

    designs: tuple[Proposed, ...]
    binding: tuple[str, ...]
    trade: tuple[tuple[float, float], ...]
    tried: int


def propose(wanted: BrushWanted) -> Proposal:
    """Brushes that meet what is wanted at least cost, or come nearest to it.

    Fillings, diameters as filament is sold, thicknesses and centrepieces are all tried, on a grid of clear lengths
    and packings; around the best of each filling and diameter the grid is then drawn finer. Every figure of a design
    returned is worked out by the brush calculations themselves.

    >>> wanted, _ = PROPOSAL.read(PROPOSAL.example())
    >>> proposal = propose(wanted)
    >>> proposal.designs[0].missed, proposal.binding
    ((), ())
    """
    import numpy as np

    glue = float(wanted.glue_price_per_kg)
    offers = _offers(wanted)
    usual = offers[0].head.clear_length
    lengths = np.linspace(max(LEAST_LENGTH, (1 - REACH) * usual), (1 + REACH) * usual, LENGTHS)
    packings = np.linspace(*PACKED, PACKINGS)
    grids = [_gridded(offer.head, offer.price, glue, lengths, packings) for offer in offers]
    whole = _Grid(*(np.stack([getattr(grid, field.name) for grid in grids]) for field in fields(_Grid)))
    best = _best(wanted, whole)
    rows_of = np.arange(len(offers))
    scores = (_excess(wanted, whole) * 1e6 + whole.cost).reshape(len(offers), -1)[rows_of, best]
    chosen: dict[tuple[str, float], Proposed] = {}
    for number in np.argsort(scores, kind="stable"):
        offer = offers[number]
        key = (offer.head.filling, offer.head.diameter)
        if key in chosen:
            continue
        at = np.unravel_index(best[number], (LENGTHS, PACKINGS))
        chosen[key] = _refined(wanted, offer, glue, float(lengths[at[0]]), float(packings[at[1]]))
        if len(chosen) == wanted.designs:
            break
    designs = tuple(sorted(chosen.values(), key=lambda one: (_missed_by(wanted, one), one.cost)))
    return Proposal(
        designs,
        () if not designs[0].missed else _binding(wanted, whole),
        _trade(wanted, whole),
        whole.cost.size,
    )


def _refined(wanted: BrushWanted, offer: _Offer, glue: float, length: float, packing: float) -> Proposed:
    """The best clear length and packing near a design of the grid, drawn finer round by round."""
    import numpy as np

    wide, deep = 2 * REACH * offer.head.clear_length / (LENGTHS - 1), (PACKED[1] - PACKED[0]) / (PACKINGS - 1)
    for _ in range(ROUNDS):
        lengths = np.clip(np.linspace(length - wide, length + wide, 9), LEAST_LENGTH, 0.2)
        packings = np.clip(np.linspace(packing - deep, packing + deep, 9), *PACKED)
        grid = _gridded(offer.head, offer.price, glue, lengths, packings)
        row, column = np.unravel_index((_excess(wanted, grid) * 1e6 + grid.cost).argmin(), grid.cost.shape)
        length, packing = float(lengths[row]), float(packings[column])
        wide, deep = wide / 3, deep / 3
    head = replace(offer.head, clear_length=length, packing=packing)
    stiffness, paint, cost = figures_of(head, offer.price, glue)
    return Proposed(head, stiffness, paint, cost, _missed(wanted, stiffness, paint, cost))


def _missed(wanted: BrushWanted, stiffness: float, paint: float, cost: float) -> tuple[str, ...]:
    missed = []
    if wanted.stiffness is not None and abs(stiffness / wanted.stiffness - 1) > wanted.stiffness_tolerance:
        missed.append("stiffness")
    if wanted.paint is not None and abs(paint / wanted.paint - 1) > wanted.paint_tolerance:
        missed.append("paint")
    if wanted.most_cost is not None and cost > float(wanted.most_cost):
        missed.append("cost")
    return tuple(missed)


def _missed_by(wanted: BrushWanted, one: Proposed) -> float:
    by = 0.0
    if wanted.stiffness is not None:
        by += max(0.0, abs(one.stiffness / wanted.stiffness - 1) - wanted.stiffness_tolerance)
    if wanted.paint is not None:
        by += max(0.0, abs(one.paint / wanted.paint - 1) - wanted.paint_tolerance)
    if wanted.most_cost is not None:
        by += max(0.0, one.cost / float(wanted.most_cost) - 1)
    return by


def _binding(wanted: BrushWanted, grid: _Grid) -> tuple[str, ...]:
    """Targets without any one of which the others could be met."""
    given = {"stiffness": wanted.stiffness, "paint": wanted.paint, "cost": wanted.most_cost}
    return tuple(
        name for name, target in given.items() if target is not None and _excess(wanted, grid, but=name).min() <= 0
    )


def _trade(wanted: BrushWanted, grid: _Grid) -> tuple[tuple[float, float], ...]:
    """Least cost at some stiffnesses about the one wanted, the paint kept and the cost free."""
    import numpy as np

    if wanted.stiffness is None:
        return ()
    found = []
    for share in TRADED:
        other = replace(wanted, stiffness=wanted.stiffness * share, most_cost=None)
        costs = np.where(_excess(other, grid) <= 0, grid.cost, np.inf)
        if np.isfinite(costs.min()):
            found.append((wanted.stiffness * share, float(costs.min())))
    return tuple(found)


def _work_out(wanted: BrushWanted) -> Result:
    proposal = propose(wanted)
    best = proposal.designs[0]
    return Result(
        values=tuple(
            value
            for number, one in enumerate(proposal.designs, start=1)
            for value in (
                Value(f"diameter_{number}", f"{number}: {one.head.filling}, filament", one.head.diameter, "mm"),
                Value(f"thickness_{number}", f"{number}: thickness", one.head.cavity.thickness, "mm"),
                Value(f"clear_length_{number}", f"{number}: clear length", one.head.clear_length, "mm"),
                Value(f"packing_{number}", f"{number}: packing", one.head.packing, ""),
                Value(f"centrepieces_{number}", f"{number}: centrepieces", one.head.plugs, "pcs"),
                Value(f"stiffness_{number}", f"{number}: head stiffness in the paint", one.stiffness, "N/m"),
                Value(f"paint_{number}", f"{number}: paint carried", one.paint, "ml"),
                Value(f"cost_{number}", f"{number}: filling and glue", one.cost, ""),
            )
        ),
        checks=_checks(wanted, best),
        steps=(
            Step("designs looked at", "fillings · diameters · thicknesses · centrepieces · lengths · packings",
                 proposal.tried, "", "enumeration; then drawn finer about the best"),
            Step("stiffness of the first", "count · 3EI·r/L³, filaments sliding", best.stiffness, "N/m",
                 "the brush head calculation"),
            Step("paint of the first", "between the filaments to Jurin's height, and in the well", best.paint, "ml",
                 "the brush at work calculation"),
            Step("cost of the first", "fill weight · price + epoxy dose · price", best.cost, "", "the prices given"),
            *(
                Step(f"least cost at {show(stiffness, 'N/m', 3)}", "the other targets kept, the cost free", cost, "",
                     "enumeration")
                for stiffness, cost in proposal.trade
            ),
        ),
        remarks=_remarks(wanted, proposal),
    )  # fmt: skip


def _checks(wanted: BrushWanted, best: Proposed) -> tuple[Check, ...]:
    checks = []
    for label, value, target, tolerance, unit, mend in (
        ("stiffness", best.stiffness, wanted.stiffness, wanted.stiffness_tolerance, "N/m", "another width or filling"),
        (
            "paint carried",
            best.paint,
            wanted.paint,
            wanted.paint_tolerance,
            "ml",
            "another width, or a wider tolerance",
        ),
    ):
        if target is not None:
            checks.append(Check(label, value, target * (1 - tolerance), "at least", unit, "the target", mend))
            checks.append(Check(label, value, target * (1 + tolerance), "at most", unit, "the target", mend))
    if wanted.most_cost is not None:
        checks.append(
            Check("filling and glue", best.cost, float(wanted.most_cost), "at most", "", "the target", "allow more")
        )
    return tuple(checks)


def _remarks(wanted: BrushWanted, proposal: Proposal) -> tuple[str, ...]:
    best = proposal.designs[0]
    remarks = []
    if best.missed:
        remarks.append(f"No design meets every target: {' and '.join(best.missed)} missed by the nearest.")
        if proposal.binding:
            remarks.append(f"What binds: without the target for {' or '.join(proposal.binding)} the others can be met.")
        elif sum(target is not None for target in (wanted.stiffness, wanted.paint, wanted.most_cost)) > 1:
            remarks.append("Leaving out any one target is not enough: two or more bind.")
    remarks += [
        f"{number}: {one}{'' if not one.missed else '; misses ' + ' and '.join(one.missed)}."
        for number, one in enumerate(proposal.designs, start=1)
    ]
    why = "the cheapest that meets every target" if not best.missed else "it misses the targets by least"
    remarks.append(f"First because {why}.")
    if len(proposal.trade) > 1:
        told = ", ".join(f"{show_number(cost, 3)} at {show(stiffness, 'N/m', 3)}" for stiffness, cost in proposal.trade)
        remarks.append(f"Least cost against stiffness: {told}.")
    remarks += [
        f"Left out: {reason}."
        for row in wanted.fillings
        if not wanted.unsuited and (reason := against(filament_material(row.filling), wanted.medium))
    ]
    return tuple(remarks)


PROPOSAL = Calculation(
    name="brush-proposal",
    title="Brush from targets",
    line="brush",
    about="Which filling, diameter, thickness, length and packing give a stiffness and a load of paint at least cost.",
    inputs=BrushWanted,
    run=_work_out,
)
