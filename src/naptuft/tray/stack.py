"""Nested trays: how high a stack gets and how many go in a carton."""

from __future__ import annotations

from dataclasses import dataclass
from math import tan

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.tray.walls import nested_pitch, stack_height

MASS_SOURCE = "NIOSH publication 94-110: load constant 23 kg, before its reductions"
LOAD_CONSTANT = 23.0


@dataclass(frozen=True)
class TrayStack:
    """Trays nested in a carton."""

    tray_length: float = quantity("mm", "over the rim", low=50, high=1500, example="330 mm")
    tray_width: float = quantity("mm", "over the rim", low=50, high=1500, example="250 mm")
    tray_depth: float = quantity("mm", "of one tray", low=5, high=400, example="61 mm")
    tray_mass: float = quantity("g", "of one tray", low=1, high=5000, example="104 g")
    side_wall: float = quantity("mm", "wall of the sides, the thickest that nests", low=0.1, high=6, default=0.95)
    rim_thickness: float = quantity("mm", "of the rim", low=0.1, high=8, default=1.2)
    draft: float = quantity("deg", "lean of the walls", low=1, high=45, default=10)
    carton_length: float = quantity("mm", "inside", low=50, high=2000, example="520 mm")
    carton_width: float = quantity("mm", "inside", low=50, high=2000, example="340 mm")
    carton_height: float = quantity("mm", "inside", low=30, high=2000, example="320 mm")
    carton_board: float = quantity("g", "the empty carton", low=0, high=5000, default=600)


def stacks_in(carton: tuple[float, float], tray: tuple[float, float]) -> int:
    """Stacks side by side on the carton's floor, all lying the same way, the better of the two.

    >>> stacks_in((0.52, 0.34), (0.33, 0.25))
    2
    """
    across, down, _ = _best_floor(carton, tray)
    return across * down


def _best_floor(carton: tuple[float, float], tray: tuple[float, float]) -> tuple[int, int, tuple[float, float]]:
    ways = [
        (int(carton[0] / a + 1e-9), int(carton[1] / b + 1e-9), (a, b))
        for a, b in ((tray[0], tray[1]), (tray[1], tray[0]))
    ]
    return max(ways, key=lambda way: way[0] * way[1])


def trays_in_height(height: float, depth: float, pitch: float) -> int:
    """Trays of a nested stack that fit a height; 0 when not even one does.

    >>> trays_in_height(0.32, 0.061, 0.0055)
    48
    """
    return 0 if height < depth else 1 + int((height - depth) / pitch + 1e-9)


def run_stack(stack: TrayStack) -> Result:
    """Work out how trays nest and fill a carton."""
    pitch = nested_pitch(stack.side_wall, stack.draft, stack.rim_thickness)
    stacks = stacks_in((stack.carton_length, stack.carton_width), (stack.tray_length, stack.tray_width))
    high = trays_in_height(stack.carton_height, stack.tray_depth, pitch)
    if stacks * high == 0:
        raise DesignError(
            Fault(
                "carton length",
                f"{stack.carton_length * 1e3:g} × {stack.carton_width * 1e3:g} × {stack.carton_height * 1e3:g} mm",
                f"room for one tray of {stack.tray_length * 1e3:g} × {stack.tray_width * 1e3:g} × "
                f"{stack.tray_depth * 1e3:g} mm",
                "use a larger carton",
            )
        )
    trays = stacks * high
    mass = trays * stack.tray_mass + stack.carton_board
    room = stack.carton_length * stack.carton_width * stack.carton_height
    loose = room / (stack.tray_length * stack.tray_width * stack.tray_depth)
    values = (
        Value("stack_pitch", "each further tray adds", pitch, "mm"),
        Value("stack_height", "stack", stack_height(stack.tray_depth, pitch, high), "mm"),
        Value("trays_per_stack", "trays a stack", float(high), ""),
        Value("trays_per_carton", "trays a carton", float(trays), ""),
        Value("carton_mass", "carton, gross", mass, "kg"),
        Value("nesting_gain", "trays held, over trays not nested", trays / max(1.0, float(int(loose))), ""),
    )
    steps = (
        Step("pitch", "max(rim, wall / sin draft)", pitch, "mm", "geometry of equal cones"),
        Step("trays a stack", "1 + (height − depth)/pitch", float(high), "", "geometry"),
    )
    checks = (
        Check("carton, gross", mass, LOAD_CONSTANT, "at most", "kg", MASS_SOURCE, "use a smaller carton"),
        Check(
            "lean of the walls, to part from each other",
            stack.draft,
            0.0872664626,
            "at least",
            "deg",
            f"{COMMON_PRACTICE}: 5° or stacking shoulders",
            "lean the walls further or form shoulders that hold the trays apart",
        ),
    )
    caution = Caution(
        "lifting cartons strains the back",
        "keep cartons light and close to the body, at bench height",
        "NIOSH publication 94-110",
    )
    return Result(values, checks, steps, (caution,))


def draw_stack(stack: TrayStack, result: Result) -> str:
    """Carton from above with its stacks, and from the side with the trays nested, to scale."""
    long, wide, high = (side * 1e3 for side in (stack.carton_length, stack.carton_width, stack.carton_height))
    drawing = Drawing(f"{result['trays_per_carton']:.0f} trays in a carton", width=170, height=130)
    across, down, tray = _best_floor((stack.carton_length, stack.carton_width), (stack.tray_length, stack.tray_width))
    tray_x, tray_y = tray[0] * 1e3, tray[1] * 1e3
    drawing.rectangle(0, 0, long, wide, hint="carton from above")
    for column in range(across):
        for row in range(down):
            x, y = column * tray_x, row * tray_y
            drawing.rectangle(x, y, tray_x, tray_y, "second", hint="a stack")
            drawing.rectangle(x + 10, y + 10, tray_x - 20, tray_y - 20, "hatch")
    top = wide + 60
    drawing.rectangle(0, top, long, high, hint="carton from the side")
    count, pitch, depth = int(result["trays_per_stack"]), result["stack_pitch"] * 1e3, stack.tray_depth * 1e3
    inset = depth * tan(stack.draft)
    for column in range(across):
        x = column * tray_x
        for k in range(count):
            rim = top + high - depth - k * pitch
            style = "detail" if k in (0, count - 1) else "hatch"
            drawing.line((x, rim), (x + tray_x, rim), style)
            if k == 0:
                left, right = x + 10 + inset, x + tray_x - 10 - inset
                drawing.path([(x + 10, rim), (left, rim + depth), (right, rim + depth), (x + tray_x - 10, rim)], style)
    drawing.dimension((0, 0), (long, 0), f"{long:g} mm", offset=-6)
    drawing.dimension((long, wide), (long, 0), f"{wide:g} mm", offset=6)
    drawing.dimension((long, top + high), (long, top), f"{high:g} mm", offset=6)
    stacked_high = result["stack_height"] * 1e3
    drawing.dimension(
        (0, top + high), (0, top + high - stacked_high), f"{count} trays, {stacked_high:.0f} mm", offset=-6
    )
    return drawing.svg()


TRAY_STACK = Calculation(
    name="tray-stack",
    title="Nested trays in a carton",
    line="tray",
    about="How high nested trays stack, how many go in a carton and what it weighs.",
    inputs=TrayStack,
    run=run_stack,
    draw=draw_stack,
)
