"""A plan of the sample book, made by hand: one of everything a paper can show.

Costs are worked out from the rest by `cost_plan`; all else is written down here. Nothing in it comes
from the planner, so that papers, costs and formats are tested on their own.
"""

from __future__ import annotations

import datetime
from dataclasses import replace
from decimal import Decimal
from typing import Any, Literal

from naptuft.calculation import Caution, Check, Result, Step, Value
from naptuft.costing.rollup import cost_plan
from naptuft.planning.plan import (
    Allocation,
    BlendLine,
    CutPattern,
    CutPiece,
    DesignOutcome,
    Finding,
    Load,
    OrderOutcome,
    Plan,
    PlannedBlend,
    PlannedCutList,
    PlannedOperation,
    ProfileBar,
    Purchase,
    Quality,
    Serving,
    WorkOrder,
)
from sample_book import START, at, sample_book


def _operation(
    number: str, step: int, name: str, centre: str, machine: str, start, end, run: int, quantity: float, **more
):
    facts: dict[str, Any] = {
        "changeover_minutes": 0,
        "wait_minutes": 0,
        "unit": "pcs",
        "family": "",
        "rack": "",
        "racks": 0,
        "product_line": "",
        "hazard": "none",
        "instruction": "",
        "earliest_start_reason": "the plan starts",
    }
    return PlannedOperation(
        work_order=number,
        step=step,
        name=name,
        work_centre=centre,
        machine=machine,
        start=start,
        end=end,
        run_minutes=run,
        quantity=quantity,
        **(facts | more),
    )


OPERATIONS = (
    _operation("W-0001", 10, "mix filling", "MIX", "MX-1", at(0, 6), at(0, 7, 5), 65, 71000.0, unit="g",
               product_line="filling", hazard="bristle dust", instruction="weigh each lot; turn the mix three times"),
    _operation("W-0002", 10, "mould handles", "MOULD", "IM-1", at(0, 6, 40), at(0, 8, 50), 130, 724.0,
               changeover_minutes=40, product_line="handle", hazard="hot plastic", family="wall handle"),
    _operation("W-0002", 20, "first coat", "VATS", "VT-1", at(0, 8, 50), at(0, 9, 27), 37, 724.0, wait_minutes=90,
               rack="HANG", racks=25, product_line="handle", hazard="solvent vapour", family="clear",
               instruction="draw out slowly, let the last drop fall",
               earliest_start_reason="step 10 of W-0002 ends"),
    _operation("W-0002", 30, "second coat", "VATS", "VT-1", at(0, 10, 57), at(0, 11, 34), 37, 724.0, wait_minutes=90,
               rack="HANG", racks=25, product_line="handle", hazard="solvent vapour", family="clear",
               earliest_start_reason="the wait after step 20 of W-0002"),
    _operation("W-0003", 10, "set heads", "SETTING", "BL-1", at(0, 13, 4), at(0, 14, 33), 89, 704.0,
               changeover_minutes=25, wait_minutes=480, rack="CURE", racks=30, product_line="brush", hazard="epoxy",
               family="100 mm", instruction="press butts level with the gauge",
               earliest_start_reason="W-0002 must be finished first"),
    _operation("W-0003", 20, "assemble handles", "NAIL", "NA-1", at(1, 6), at(1, 6, 47), 47, 704.0,
               product_line="brush", hazard="nailing", earliest_start_reason="NA-1 is closed until then"),
    _operation("W-0004", 10, "wind tubes", "WIND", "WN-1", at(3, 6), at(3, 7, 53), 113, 180.0, wait_minutes=60,
               product_line="stock tube", hazard="hot plastic", family="44 mm, 12 mm pile",
               earliest_start_reason="purchase P-0001 of woven fabric arrives"),
    _operation("W-0005", 10, "cut tubes", "TUBECUT", "TC-1", at(3, 9, 30), at(3, 10, 24), 54, 180.0,
               product_line="stock tube", hazard="cutting", earliest_start_reason="W-0004 must be finished first"),
    _operation("W-0006", 10, "fluff and bevel", "FLUFF", "FB-1", at(4, 11, 5), at(4, 12, 10), 65, 910.0,
               product_line="refill", hazard="spinning", earliest_start_reason="FB-1 is busy with W-0009"),
    _operation("W-0007", 10, "fluff and bevel", "FLUFF", "FB-1", at(4, 12, 30), at(4, 12, 59), 29, 404.0,
               changeover_minutes=20, product_line="refill", hazard="spinning", earliest_start_reason="FB-1 is busy with W-0006"),
    _operation("W-0008", 10, "pack set", "BOX", "BX-1", at(7, 6), at(7, 6, 40), 40, 200.0, product_line="boxed set",
               earliest_start_reason="W-0006 must be finished first"),
)  # fmt: skip


def _work_order(
    number,
    product,
    name,
    line,
    quantity,
    started,
    due,
    serves,
    needs,
    stage: Literal["make", "cut"] = "make",
    unit="pcs",
    release=START,
):
    steps = [operation for operation in OPERATIONS if operation.work_order == number]
    finish = max(step.end + datetime.timedelta(minutes=step.wait_minutes) for step in steps)
    return WorkOrder(
        number, product, name, line, stage, quantity, started, unit, release, due,
        min(step.start for step in steps), finish, serves, needs,
    )  # fmt: skip


def sample_work_orders(brush_name: str = "100 mm wall brush") -> tuple[WorkOrder, ...]:
    """Eight work orders: filling, handle, brush, tube, cutting, two refills and the boxed set."""
    sets, refills, brushes, small = ("S-1001", 1), ("S-1001", 2), ("S-1002", 1), ("S-1003", 1)
    return (
        _work_order("W-0001", "F-WALL", "wall filling 64 mm", "filling", 60544.0, 60544.0, at(4, 12),
                    (Serving(*sets, 17200.0), Serving(*brushes, 41280.0)), (), unit="g"),
        _work_order("W-0002", "H-WALL100", "wall handle, lacquered", "handle", 704.0, 724.0, at(4, 12),
                    (Serving(*sets, 204.0), Serving(*brushes, 490.0)), ()),
        _work_order("W-0003", "B-WALL100", brush_name, "brush", 690.0, 704.0, at(9, 12),
                    (Serving(*sets, 200.0), Serving(*brushes, 480.0)), ("W-0001", "W-0002")),
        _work_order("W-0004", "T-44", "stock tube 44 mm, 12 mm pile", "stock tube", 180.0, 180.0, at(3, 12),
                    (Serving(*sets, 59.0), Serving(*refills, 73.0), Serving(*small, 48.0)), (), release=at(3, 6)),
        _work_order("W-0005", "T-44", "stock tube 44 mm, 12 mm pile", "stock tube", 180.0, 180.0, at(3, 16),
                    (Serving(*sets, 404.0), Serving(*refills, 505.0), Serving(*small, 404.0)), ("W-0004",), stage="cut"),
        _work_order("W-0006", "R-240", "240 mm refill, 12 mm pile", "refill", 900.0, 910.0, at(4, 12),
                    (Serving(*sets, 400.0), Serving(*refills, 500.0)), ("W-0005",)),
        _work_order("W-0007", "R-190", "190 mm refill, 12 mm pile", "refill", 400.0, 404.0, at(8, 12),
                    (Serving(*small, 400.0),), ("W-0005",)),
        _work_order("W-0008", "X-SET", "decorator's set of three", "boxed set", 200.0, 200.0, at(11, 14),
                    (Serving(*sets, 200.0),), ("W-0003", "W-0006")),
    )  # fmt: skip


ALLOCATIONS = (
    Allocation("W-0001", "BR-GREY57", "grey bristle 57 mm", "L-2041", "stock", 42.18, "kg", Decimal("1539.57")),
    Allocation("W-0001", "BR-GREY70", "grey bristle 70 mm", "L-2077", "stock", 20.364, "kg", Decimal("936.74")),
    Allocation("W-0002", "PP", "polypropylene, moulding grade", "P-0003", "purchase", 33.304, "kg", Decimal("48.29")),
    Allocation("W-0002", "LACQ", "clear lacquer", "P-0002", "purchase", 2.172, "l", Decimal("16.94")),
    Allocation("W-0003", "EPOXY", "epoxy, two parts", "L-2050", "stock", 7.744, "kg", Decimal("71.24")),
    Allocation("W-0003", "F-WALL", "wall filling 64 mm", "W-0001", "made", 60544.0, "g", Decimal("0")),
    Allocation("W-0003", "FERR-100", "ferrule 100 mm, tinned", "P-0004", "purchase", 704.0, "pcs", Decimal("218.24")),
    Allocation("W-0003", "H-WALL100", "wall handle, lacquered", "W-0002", "made", 704.0, "pcs", Decimal("0")),
    Allocation("W-0004", "CORE44", "polypropylene core 44 mm", "P-0005", "purchase", 180.0, "pcs", Decimal("165.60")),
    Allocation(
        "W-0004", "FAB12", "woven fabric, 12 mm pile, 73 mm strip", "P-0001", "purchase", 612.0, "m", Decimal("293.76")
    ),
    Allocation("W-0005", "T-44", "stock tube 44 mm, 12 mm pile", "W-0004", "made", 180.0, "pcs", Decimal("0")),
    Allocation("W-0006", "T-44", "stock tube 44 mm, 12 mm pile", "W-0005", "made", 910.0, "pcs", Decimal("0")),
    Allocation("W-0007", "T-44", "stock tube 44 mm, 12 mm pile", "W-0005", "made", 404.0, "pcs", Decimal("0")),
    Allocation("W-0008", "B-WALL100", "100 mm wall brush", "W-0003", "made", 200.0, "pcs", Decimal("0")),
    Allocation("W-0008", "BOX-3", "printed box for three", "P-0006", "purchase", 200.0, "pcs", Decimal("74.00")),
    Allocation("W-0008", "R-240", "240 mm refill, 12 mm pile", "W-0006", "made", 400.0, "pcs", Decimal("0")),
)

CUT_LISTS = (
    PlannedCutList(
        work_order="W-0005", kind="tube", material="T-44", lot="", stock_length_mm=1780.0, kerf_mm=2.0, end_trim_mm=10.0,
        patterns=(
            CutPattern((CutPiece("W-0006", "240 mm refill, 12 mm pile", 240.0, 7),), 110, 66.0),
            CutPattern(
                (CutPiece("W-0006", "240 mm refill, 12 mm pile", 240.0, 2), CutPiece("W-0007", "190 mm refill, 12 mm pile", 190.0, 6)),
                70, 124.0,
            ),
        ),
        rolls=180, lower_bound=179, proven_optimal=False, offcut_mm=15940.0, yield_share=0.9212,
    ),
    PlannedCutList(
        work_order="W-0003", kind="coil", material="FERR-100", lot="L-2033", stock_length_mm=152000.0, kerf_mm=0.0,
        end_trim_mm=200.0,
        patterns=(CutPattern((CutPiece("W-0003", "ferrule blank", 214.6, 704),), 1, 521.6),),
        rolls=1, lower_bound=1, proven_optimal=True, offcut_mm=521.6, yield_share=0.994,
    ),
)  # fmt: skip

BLENDS = (
    PlannedBlend(
        work_order="W-0001", product="F-WALL",
        lots=(BlendLine("L-2041", "BR-GREY57", 42180.0), BlendLine("L-2077", "BR-GREY70", 20364.0)),
        wanted_grams=60544.0, combings_grams=2000.0,
        profile=(
            ProfileBar(51.0, 0.10, 0.05, 0.121), ProfileBar(57.0, 0.45, 0.05, 0.462),
            ProfileBar(64.0, 0.35, 0.05, 0.318), ProfileBar(70.0, 0.10, 0.05, 0.099),
        ),
        cost=Decimal("2476.31"), proven_optimal=True, bound=Decimal("2476.31"),
    ),
)  # fmt: skip

PURCHASES = (
    Purchase("P-0001", "FAB12", "woven fabric, 12 mm pile, 73 mm strip", 2000.0, "m", at(0, 0).date(), at(3, 6), Decimal("960.00"), 612.0, ("S-1001/1", "S-1001/2", "S-1003/1")),
    Purchase("P-0002", "LACQ", "clear lacquer", 5.0, "l", at(0, 0).date(), at(0, 6), Decimal("39.00"), 2.172, ("S-1001/1", "S-1002/1")),
    Purchase("P-0003", "PP", "polypropylene, moulding grade", 50.0, "kg", at(0, 0).date(), at(0, 6), Decimal("72.50"), 33.304, ("S-1001/1", "S-1002/1")),
    Purchase("P-0004", "FERR-100", "ferrule 100 mm, tinned", 704.0, "pcs", at(0, 0).date(), at(0, 6), Decimal("218.24"), 704.0, ("S-1001/1", "S-1002/1")),
    Purchase("P-0005", "CORE44", "polypropylene core 44 mm", 180.0, "pcs", at(0, 0).date(), at(3, 6), Decimal("165.60"), 180.0, ("S-1001/1", "S-1001/2", "S-1003/1")),
    Purchase("P-0006", "BOX-3", "printed box for three", 200.0, "pcs", at(2, 0).date(), at(7, 6), Decimal("74.00"), 200.0, ("S-1001/1",)),
)  # fmt: skip


def sample_designs(brush_name: str = "100 mm wall brush") -> tuple[DesignOutcome, ...]:
    """Figures of four designs, one with a check that fails."""
    return (
        DesignOutcome("B-WALL100", brush_name, "brush", "brush-head", Result(
            values=(
                Value("fill_weight", "fill weight", 0.086, "g"), Value("filament_count", "filaments", 9120, "pcs"),
                Value("epoxy_dose", "epoxy dose", 0.011, "g"), Value("hardener_phr", "hardener per 100 of resin", 10.3, ""),
                Value("packing", "packing", 0.58, ""), Value("filament_length", "filament length", 0.064, "mm"),
            ),
            checks=(
                Check("packing", 0.58, 0.62, "at most", "", "common practice", "take filling out"),
                Check("head stiffness", 310.0, 340.0, "at least", "N/m", "common practice", "choose a stouter bristle or shorten the clear length"),
            ),
            steps=(Step("fill weight", "m = n ρ A L", 0.086, "g", "mass balance"),),
            cautions=(Caution("Epoxy sensitises the skin", "gloves", "29 CFR 1910.1200"),),
            remarks=("hog bristle modulus is taken from wool keratin",),
        )),
        DesignOutcome("H-WALL100", "wall handle, lacquered", "handle", "handle", Result(
            values=(
                Value("shot_mass", "shot", 0.198, "g"), Value("cooling_time", "cooling time", 38.2, "s"),
                Value("regrind_mass", "runner reground for one handle", 0.0035, "g"), Value("withdrawal_speed", "withdrawal speed", 0.004, "mm/s"),
                Value("melt_temperature", "melt temperature", 503.15, "degC"),
            ),
            checks=(Check("clamp force", 410e3, 600e3, "at most", "kN", "mould data"),),
        )),
        DesignOutcome("T-44", "stock tube 44 mm, 12 mm pile", "stock tube", "winding", Result(
            values=(
                Value("lead", "lead", 0.0843, "mm"), Value("winding_angle", "winding angle", 0.5478, "deg"),
                Value("strip_length", "strip for one tube", 3.31, "m"), Value("core_length", "core length", 1.78, "mm"),
            ),
            checks=(Check("winding angle", 0.5478, 0.35, "at least", "deg", "common practice"),),
        )),
        DesignOutcome("R-240", "240 mm refill, 12 mm pile", "refill", "refill", Result(
            values=(Value("length", "length", 0.240, "mm"), Value("bevel_angle", "bevel", 0.785398, "deg"))
        )),
        DesignOutcome("R-190", "190 mm refill, 12 mm pile", "refill", "refill", Result(
            values=(Value("length", "length", 0.190, "mm"), Value("bevel_angle", "bevel", 0.785398, "deg"))
        )),
    )  # fmt: skip


def sample_orders(brush_name: str = "100 mm wall brush") -> tuple[OrderOutcome, ...]:
    """One order line on time, one late, one short, one partly and one wholly from stock; cost still 0."""
    fab = "woven fabric, 12 mm pile, 73 mm strip (FAB12) arrives on 2026-12-03; machine FB-1 is full until 2026-12-04 12:10"
    short = "grey bristle 70 mm (BR-GREY70) is short: ordered today it arrives on 2026-12-21, too late"
    return (
        OrderOutcome("S-1001", 1, "Harrow Lane Stores", "X-SET", "decorator's set of three", "boxed set", 200, at(11, 14),
                     at(7, 6, 40), 0, 0, 0, "on time", "", ("W-0008",), Decimal("1960.00"), Decimal(0)),
        OrderOutcome("S-1001", 2, "Harrow Lane Stores", "R-240", "240 mm refill, 12 mm pile", "refill", 500, at(4, 12),
                     at(4, 12, 10), 10, 0, 0, "late", fab, ("W-0006",), Decimal("1050.00"), Decimal(0)),
        OrderOutcome("S-1002", 1, "Ostler & Pike", "B-WALL100", brush_name, "brush", 600, at(9, 12),
                     at(1, 6, 47), 0, 120, 0, "short", short, ("W-0003",), Decimal("3840.00"), Decimal(0)),
        OrderOutcome("S-1003", 1, "Fenwater Depot", "R-190", "190 mm refill, 12 mm pile", "refill", 700, at(8, 12),
                     at(4, 12, 59), 0, 0, 300, "on time", "", ("W-0007",), Decimal("1260.00"), Decimal(0)),
        OrderOutcome("S-1004", 1, "Fenwater Depot", "R-190", "190 mm refill, 12 mm pile", "refill", 100, at(18, 12),
                     START, 0, 0, 100, "from stock", "", (), Decimal("180.00"), Decimal(0)),
    )  # fmt: skip


def sample_plan(brush_name: str = "100 mm wall brush") -> Plan:
    """The whole sample plan, costs worked out."""
    book = sample_book(brush_name)
    work_orders, orders, designs = sample_work_orders(brush_name), sample_orders(brush_name), sample_designs(brush_name)
    costs = cost_plan(book, work_orders, OPERATIONS, ALLOCATIONS, orders, designs, CUT_LISTS)
    borne = {line.name: line.total for line in costs if line.of == "order"}
    return Plan(
        plant="Quillbeck Brush & Nap",
        revision="7",
        currency="EUR",
        start=START,
        horizon_days=28,
        quality=Quality(10.0, 85, 0.0, "feasible", 20000, 1, True),
        orders=tuple(replace(order, cost=borne[order.name]) for order in orders),
        work_orders=work_orders,
        operations=OPERATIONS,
        allocations=ALLOCATIONS,
        blends=BLENDS,
        cut_lists=CUT_LISTS,
        purchases=PURCHASES,
        designs=designs,
        costs=costs,
        loads=(
            Load("SETTING", "brush making line", 2, 38400, 89, 25),
            Load("VATS", "finishing line", 1, 19200, 74, 0),
            Load("FLUFF", "fluff and bevel line", 1, 19200, 94, 20),
        ),
        checks=(Finding("racks", "HANG at 2026-11-30 09:27", "41 racks held, 40 there are"),),
    )
