"""Boxed sets: what is in the box, how boxes lie in a carton, what the carton weighs and how to stack it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import permutations

from naptuft.boxing.code import carton_gtin, valid_gtin
from naptuft.boxing.lifting import (
    DURATIONS,
    SOURCE,
    Duration,
    coupling_multiplier,
    frequency_multiplier,
    recommended_weight,
)
from naptuft.boxing.stacking import SOURCE as STRENGTH_SOURCE
from naptuft.boxing.stacking import bottom_load, compression_strength
from naptuft.calculation import (
    Calculation,
    Caution,
    Check,
    Result,
    Step,
    Value,
    choice,
    quantity,
    rows,
    text,
    whole,
)
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE

FILL_LIMIT = 0.85
PALLET = (1.2, 0.8)
PALLET_SOURCE = "EN 13698-1, flat pallet 800 mm x 1200 mm (from memory)"
BLANK_SOURCE = "geometry of the slotted carton 0201 of the FEFCO-ESBO code (from memory)"
LAP = 0.035

LIFTING_CAUTION = Caution(
    "lifting cartons strains the back",
    "keep cartons under the recommended weight, close to the body, at bench height; share or lift by machine",
    "NIOSH publication 94-110 and the general duty of care",
)
Size = tuple[float, float, float]


@dataclass(frozen=True)
class Piece:
    """One kind of item in the box."""

    item: str = text("what it is", example="flat brush 50 mm")
    count: int = whole("how many in a box", low=1, high=500, example="1")
    length: float = quantity("mm", "longest side as packed", low=1, high=2000, example="230 mm")
    width: float = quantity("mm", "second side as packed", low=1, high=2000, example="55 mm")
    height: float = quantity("mm", "third side as packed", low=1, high=2000, example="20 mm")
    mass: float = quantity("g", "of one", low=0.1, high=20000, example="80 g")


@dataclass(frozen=True)
class SetDesign:
    """A boxed set and its carton."""

    pieces: tuple[Piece, ...] = rows(
        Piece,
        "the items in one box",
        example=(
            "flat brush 50 mm | 1 | 230 mm | 55 mm | 20 mm | 80 g; roller frame | 1 | 250 mm | 240 mm | 40 mm | 190 g; "
            "refill 190 mm | 2 | 190 mm | 50 mm | 50 mm | 55 g; tray | 1 | 330 mm | 250 mm | 62 mm | 105 g"
        ),
    )
    box_length: float = quantity("mm", "inside", low=10, high=2000, example="335 mm")
    box_width: float = quantity("mm", "inside", low=10, high=2000, example="255 mm")
    box_height: float = quantity("mm", "inside", low=5, high=2000, example="110 mm")
    nested: float = quantity(
        "%", "share of the box's room that items save by lying inside one another", low=0, high=90, default=10
    )
    box_board: float = quantity("g/m**2", "board of the box", low=100, high=2000, default=450)
    box_thickness: float = quantity("mm", "of the box's board", low=0.2, high=10, default=0.8)
    boxes_per_carton: int = whole("boxed sets a carton", low=1, high=500, default=6, example="6")
    carton_board: float = quantity("g/m**2", "board of the carton", low=200, high=3000, default=600)
    carton_thickness: float = quantity("mm", "of the carton's board", low=1, high=20, default=4)
    edge_crush: float = quantity("kN/m", "edge crush of the carton's board", low=0.5, high=40, default=5.6)
    stacking_safety: float = quantity(
        "", "strength over load: 3 to 6 for time, damp and bad stacking", low=1, high=20, default=4
    )
    lift_height: float = quantity("mm", "hands above the floor when the lift begins", low=0, high=1750, default=750)
    lift_travel: float = quantity("mm", "how far up or down", low=0, high=1750, default=500)
    lifts_per_minute: float = quantity("1/min", "cartons lifted, by one person", low=0, high=8, default=1)
    lifting_time: str = choice(
        DURATIONS, "how long the lifting goes on, without a rest", default="8 hours", example="8 hours"
    )
    grip: str = choice(
        ["good", "fair", "poor"], "good: hand holes; fair: held from below; poor: slack", default="fair", example="fair"
    )
    pallet_height: float = quantity("mm", "of the goods on a pallet", low=100, high=2500, default=1400)
    item_code: str = text("GTIN of the boxed set, checked by its last digit; may be left empty", default="")

    def __post_init__(self) -> None:
        faults = _set_faults(self)
        if faults:
            raise DesignError(*faults)

    @property
    def inside(self) -> Size:
        """Inside of the box. [m]"""
        return self.box_length, self.box_width, self.box_height


@dataclass(frozen=True)
class Arrangement:
    """Boxes in a carton: how many along, across and up, each box turned so, and the carton's inside. [m]"""

    counts: tuple[int, int, int]
    turned: Size
    inside: Size
    board: float


def _set_faults(design: SetDesign) -> list[Fault]:
    faults = []
    inside = sorted(design.inside)
    for number, piece in enumerate(design.pieces, start=1):
        size = sorted((piece.length, piece.width, piece.height))
        if any(side > room + 1e-9 for side, room in zip(size, inside, strict=True)):
            faults.append(
                Fault(
                    f"pieces, row {number}",
                    " × ".join(f"{side * 1e3:g}" for side in size) + " mm",
                    "to fit " + " × ".join(f"{room * 1e3:g}" for room in inside) + " mm inside the box",
                    f"enlarge the box or pack {piece.item} another way",
                )
            )
    if design.item_code and not valid_gtin(design.item_code):
        faults.append(
            Fault(
                "item code",
                design.item_code,
                "8, 12, 13 or 14 digits, the last being the check digit",
                "correct the digits",
            )
        )
    return faults


def blank_area(inside: Size, thickness: float) -> float:
    """Board of a slotted carton: four walls and a lap, flaps that meet in the middle. [m**2]

    (2 (L + W) + lap)(H + W), sides taken to the middle of the board, lap 35 mm
    inside     length, width, height [m]; thickness of the board [m]
    Source: FEFCO-ESBO code 0201, geometry of the blank (from memory).

    >>> round(blank_area((0.4, 0.3, 0.2), 0.004), 3)
    0.737
    """
    length, width, height = (side + thickness for side in inside)
    return (2 * (length + width) + LAP) * (height + width)


def arrange(box: Size, count: int, thickness: float) -> Arrangement:
    """The arrangement of a number of boxes in a carton that takes the least board.

    box        outside of one box, length, width, height [m]; boxes may be turned any way
    count      boxes in the carton; thickness of the carton's board [m]
    Source: exhaustive over the factors of the count and the ways to turn a box.

    >>> arrange((0.1, 0.1, 0.1), 8, 0.004).counts
    (4, 1, 2)
    """
    best: Arrangement | None = None
    for counts in _factors(count):
        for a, b, c in sorted(set(permutations(box)), reverse=True):
            turned: Size = (a, b, c)
            length, width, height = (n * side for n, side in zip(counts, turned, strict=True))
            if length < width:
                continue
            board = blank_area((length, width, height), thickness)
            if best is None or board < best.board - 1e-12:
                best = Arrangement(counts, turned, (length, width, height), board)
    assert best is not None
    return best


def _factors(count: int) -> list[tuple[int, int, int]]:
    return [
        (a, b, count // (a * b))
        for a in range(1, count + 1)
        if count % a == 0
        for b in range(1, count // a + 1)
        if (count // a) % b == 0
    ]


def cartons_on_layer(length: float, width: float, pallet: tuple[float, float] = PALLET) -> int:
    """Cartons on one layer of a pallet, all lying the same way, the better of the two ways.

    >>> cartons_on_layer(0.4, 0.3)
    8
    """
    return max(int(pallet[0] / a + 1e-9) * int(pallet[1] / b + 1e-9) for a, b in ((length, width), (width, length)))


def run_set(design: SetDesign) -> Result:
    """Work out a boxed set and its carton."""
    items = sum(piece.count for piece in design.pieces)
    contents = sum(piece.count * piece.mass for piece in design.pieces)
    room = design.box_length * design.box_width * design.box_height
    bulk = sum(piece.count * piece.length * piece.width * piece.height for piece in design.pieces)
    fill = (bulk - design.nested * room) / room
    box_board = blank_area(design.inside, design.box_thickness) * design.box_board
    box_mass = contents + box_board
    length, width, height = (side + 2 * design.box_thickness for side in design.inside)
    laid = arrange((length, width, height), design.boxes_per_carton, design.carton_thickness)
    outside: Size = (
        laid.inside[0] + 2 * design.carton_thickness,
        laid.inside[1] + 2 * design.carton_thickness,
        laid.inside[2] + 4 * design.carton_thickness,
    )
    board_mass = laid.board * design.carton_board
    carton_mass = design.boxes_per_carton * box_mass + board_mass
    limit = lifting_limit(design, outside[1])
    layer = cartons_on_layer(outside[0], outside[1])
    layers = int(design.pallet_height / outside[2] + 1e-9)
    strength = compression_strength(design.edge_crush, 2 * (laid.inside[0] + laid.inside[1]), design.carton_thickness)
    load = bottom_load(carton_mass, layers)
    values = (
        Value("box_mass", "boxed set, gross", box_mass, "g"),
        Value("box_board_mass", "board of the box", box_board, "g"),
        Value("items_per_box", "items a box", float(items), ""),
        Value("box_fill", "room taken", fill, "%"),
        Value("pieces_per_carton", "boxed sets a carton", float(design.boxes_per_carton), ""),
        Value("carton_mass", "carton, gross", carton_mass, "kg"),
        Value("carton_board_mass", "board of the carton", board_mass, "g"),
        Value("carton_length", "carton length, outside", outside[0], "mm"),
        Value("carton_width", "carton width, outside", outside[1], "mm"),
        Value("carton_height", "carton height, outside", outside[2], "mm"),
        Value("lifting_limit", "recommended weight limit", limit, "kg"),
        Value("carton_strength", "carton strength, fresh and dry", strength, "N"),
        Value("bottom_load", "load on the lowest carton", load, "N"),
        Value("cartons_per_pallet", "cartons a pallet", float(layer * layers), ""),
    )
    steps = (
        Step("boxed set", "Σ count × mass + board", box_mass, "g", "mass balance"),
        Step("board of the carton", "(2(L+W)+lap)(H+W) × board", board_mass, "g", BLANK_SOURCE),
        Step("carton", "boxes × boxed set + board", carton_mass, "kg", "mass balance"),
        Step("lifting limit", "23 (25/H)(1−0.003|V−75|)(0.82+4.5/D)(1−0.0032A) FM CM", limit, "kg", SOURCE),
        Step("carton strength", "5.87 ECT √(perimeter × thickness)", strength, "N", STRENGTH_SOURCE),
        Step("pallet", "layers × cartons a layer on 1200 × 800", float(layer * layers), "", PALLET_SOURCE),
    )
    checks = (
        Check(
            "carton against the lifting limit",
            carton_mass,
            limit,
            "at most",
            "kg",
            SOURCE,
            "put fewer boxes in a carton or lift by machine",
        ),
        Check(
            "load on the lowest carton",
            load,
            strength / design.stacking_safety,
            "at most",
            "N",
            STRENGTH_SOURCE,
            "stack fewer layers or use a stronger board",
        ),
        Check(
            "room taken in the box",
            fill,
            FILL_LIMIT,
            "at most",
            "%",
            f"{COMMON_PRACTICE}: odd shapes leave at least 15 % of the room",
            "enlarge the box",
        ),
    )
    way = " × ".join(str(count) for count in laid.counts)
    remarks = [f"Boxes lie {way} (along, across, up) in the carton: the least board for {design.boxes_per_carton}."]
    if design.item_code and len(design.item_code) < 14:
        remarks.append(f"With indicator 1 the carton's code is {carton_gtin(design.item_code, 1)}.")
    if layer * layers == 0:
        remarks.append("The carton does not fit the pallet.")
    return Result(values, checks, steps, (LIFTING_CAUTION,), tuple(remarks))


def lifting_limit(design: SetDesign, carton_width: float) -> float:
    """Recommended weight of a carton lifted as given, at the worse end of the lift. [kg]

    Reach 20 cm + half the carton's width (25 cm + half of it from below 25 cm), NIOSH 94-110, section 1.1.
    """
    duration: Duration = design.lifting_time  # type: ignore[assignment]
    frequency = frequency_multiplier(design.lifts_per_minute * 60, duration)
    ends = (design.lift_height, min(1.75, design.lift_height + design.lift_travel))
    return min(
        recommended_weight(
            (0.20 if height >= 0.25 else 0.25) + carton_width / 2,
            height,
            design.lift_travel,
            frequency=frequency,
            coupling=coupling_multiplier(height, design.grip),  # type: ignore[arg-type]
        )
        for height in ends
    )


def draw_set(design: SetDesign, result: Result) -> str:
    """Plan and side of the carton with its boxes, to scale."""
    length, width, height = (side + 2 * design.box_thickness for side in design.inside)
    laid = arrange((length, width, height), design.boxes_per_carton, design.carton_thickness)
    wall = design.carton_thickness * 1e3
    outer = (result["carton_length"] * 1e3, result["carton_width"] * 1e3, result["carton_height"] * 1e3)
    drawing = Drawing(f"carton of {design.boxes_per_carton} boxed sets", width=170)
    _boxes(drawing, (0.0, 0.0), (outer[0], outer[1]), (laid.counts[0], laid.counts[1]), laid.turned[:2], (wall, wall))
    below = outer[1] + 0.2 * outer[1] + 30
    _boxes(
        drawing,
        (0.0, below),
        (outer[0], outer[2]),
        (laid.counts[0], laid.counts[2]),
        (laid.turned[0], laid.turned[2]),
        (wall, 2 * wall),
    )
    drawing.dimension((0, 0), (outer[0], 0), f"{outer[0]:.0f} mm", offset=-6)
    drawing.dimension((outer[0], outer[1]), (outer[0], 0), f"{outer[1]:.0f} mm", offset=6)
    drawing.dimension((outer[0], below + outer[2]), (outer[0], below), f"{outer[2]:.0f} mm", offset=6)
    return drawing.svg()


def _boxes(
    drawing: Drawing,
    corner: tuple[float, float],
    outer: tuple[float, float],
    counts: tuple[int, int],
    size: tuple[float, ...],
    wall: tuple[float, float],
) -> None:
    drawing.rectangle(*corner, *outer, hint="carton")
    for a in range(counts[0]):
        for b in range(counts[1]):
            x = corner[0] + wall[0] + a * size[0] * 1e3
            y = corner[1] + wall[1] + b * size[1] * 1e3
            drawing.rectangle(x, y, size[0] * 1e3, size[1] * 1e3, "detail", hint="boxed set")


BOXED_SET = Calculation(
    name="boxed-set",
    title="Boxed set and its carton",
    line="boxing",
    about="What a boxed set weighs, how boxes lie in a carton, what the carton weighs against the lifting limit.",
    inputs=SetDesign,
    run=run_set,
    draw=draw_set,
)
