"""Nested trays: how high a stack gets and how many go in a carton."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, quantity
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
    return max(
        int(carton[0] / a + 1e-9) * int(carton[1] / b + 1e-9) for a, b in ((tray[0], tray[1]), (tray[1], tray[0]))
    )


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


TRAY_STACK = Calculation(
    name="tray-stack",
    title="Nested trays in a carton",
    line="tray",
    about="How high nested trays stack, how many go in a carton and what it weighs.",
    inputs=TrayStack,
    run=run_stack,
)
