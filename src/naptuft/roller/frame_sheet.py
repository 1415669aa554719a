"""The whole frame from the refill it carries: rod bent, cage fitted, clip closed, tolerances added up."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, pi

from naptuft.calculation import choice, quantity, whole
from naptuft.design_sheet import DesignSheet, Part
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES
from naptuft.materials.resin import RESINS
from naptuft.roller.clip import CLIP, CLIP_RESINS
from naptuft.roller.core import wall_faults
from naptuft.roller.frame import FRAME, ITEM_PLAY, ITEM_ROD, Leg
from naptuft.roller.frame_fit import BEARING_RESINS, FRAME_FIT
from naptuft.roller.gathering import Gathering
from naptuft.roller.tolerance import TOLERANCE, Link

FULL_BORE, THIN_ROD = 30e-3, 5e-3
WASHER, CLIP_GAP, SHOULDER = 1.5e-3, 1.0e-3, 10e-3
PLAY = 1.5e-3


@dataclass(frozen=True)
class FrameChoice:
    """The refill a frame carries and how it is pushed; what is left out follows from these."""

    refill_length: float = quantity("mm", "length of the refill", low=40, high=1000, example="240 mm")
    core_diameter: float = quantity("mm", "outside diameter of its core", low=10, high=150, example="44 mm")
    core_wall: float = quantity("mm", "wall of its core", low=0.2, high=15, default=1.5, example="1.5 mm")
    core: str = choice(CORE_NAMES, "what its core is made of", default="polypropylene", example="polypropylene")
    outside_diameter: float = quantity("mm", "over its pile", low=11, high=250, example="69.8 mm")
    rod_diameter: float | None = quantity(
        "mm", "diameter of the rod; leave out for 5/16 in, or 5 mm in a small core", low=2, high=16, default=None
    )
    grip_leg: float = quantity("mm", "rod from its end in the grip to the first bend", low=40, high=1000, default=150)
    grip_length: float = quantity("mm", "of it inside the grip", low=5, high=400, default=80, example="80 mm")
    bend_radius: float | None = quantity(
        "mm", "inside radius of the bends; leave out for 1.75 diameters", low=1, high=300, default=None
    )
    pile_clear: float = quantity("mm", "air between rod and pile", low=1, high=200, default=18, example="18 mm")
    push: float = quantity("N", "force on the wall", low=0.1, high=500, default=40, example="40 N")
    handle_angle: float = quantity("deg", "angle between handle and wall", low=0, high=90, default=45, example="45 deg")
    resin: str = choice(tuple(BEARING_RESINS), "what the end caps are moulded of", default="PP", example="PP")
    clip_resin: str = choice(tuple(CLIP_RESINS), "what the clip is moulded of", default="POM", example="POM")
    wires: int = whole("wires of the cage", low=2, high=12, default=5, example="5")
    coldest: float = quantity("degC", "coldest it is used", low=-40, high=60, default=0, example="0 degC")
    hottest: float = quantity("degC", "hottest it is used", low=0, high=100, default=45, example="45 degC")

    def __post_init__(self) -> None:
        faults = [*wall_faults(self.core_diameter, self.core_wall)]
        if not faults and self.rod + 4e-3 > self.bore:
            faults.append(
                Fault(
                    "rod diameter",
                    f"{self.rod * 1e3:g} mm",
                    f"at most {(self.bore - 4e-3) * 1e3:g} mm, so that a cage fits between rod and core",
                    "use a thinner rod or a wider core",
                )
            )
        if self.outside_diameter <= self.core_diameter:
            faults.append(
                Fault(
                    "outside diameter",
                    f"{self.outside_diameter * 1e3:g} mm",
                    f"above {self.core_diameter * 1e3:g} mm, the core",
                    "measure over the pile",
                )
            )
        if self.grip_length > self.grip_leg:
            faults.append(
                Fault(
                    "grip length",
                    f"{self.grip_length * 1e3:g} mm",
                    f"at most {self.grip_leg * 1e3:g} mm, the leg it sits on",
                    "lengthen the leg or shorten the grip",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def bore(self) -> float:
        """Inside diameter of the core. [m]"""
        return self.core_diameter - 2 * self.core_wall

    @property
    def rod(self) -> float:
        """Diameter of the rod: 5/16 in, or 5 mm where the bore is below 30 mm (common practice). [m]"""
        return self.rod_diameter or (ITEM_ROD if self.bore >= FULL_BORE else THIN_ROD)

    @property
    def radius(self) -> float:
        """Inside radius of the bends. [m]"""
        return self.bend_radius or round(1.75 * self.rod, 3)

    @property
    def cage_length(self) -> float:
        """Length of the cage: a little shorter than the refill (common practice). [m]"""
        return round(self.refill_length - max(6e-3, 0.06 * self.refill_length), 3)


def bent_legs(chosen: FrameChoice) -> tuple[Leg, ...]:
    """Rod of a frame whose cage stands square to the handle with its middle on the handle's line.

    Down from the handle by b = e − cage/2 − R, across by c = D/2 + air + d/2 − 2R in whole fives of a millimetre, and
    up the axle e; R is the middle radius of the bends, D the refill over its pile, d the rod.
    Source: geometry.

    >>> choice = FrameChoice(refill_length=0.240, core_diameter=0.044, outside_diameter=0.0698)
    >>> [round(leg.straight * 1e3) for leg in bent_legs(choice)]
    [150, 105, 25, 236]
    """
    middle = chosen.radius + chosen.rod / 2
    axle = chosen.cage_length + SHOULDER
    across = chosen.outside_diameter / 2 + chosen.pile_clear + chosen.rod / 2 - 2 * middle
    down = max(0.0, axle - chosen.cage_length / 2 - middle)
    square = pi / 2
    return (
        Leg(straight=chosen.grip_leg, bend=-square, radius=chosen.radius),
        Leg(straight=round(down, 3), bend=square, radius=chosen.radius),
        Leg(straight=max(0.0, ceil(across * 200 - 1e-9) / 200), bend=square, radius=chosen.radius),
        Leg(straight=axle, radius=chosen.radius),
    )


def bearing_pin(rod: float, resin: str) -> float:
    """Core pin for a bearing that clears the rod by 3 % or 0.25 mm at the usual shrinkage, in steps of 0.05 mm. [m]

    Source: ISO 294-4, moulding shrinkage (from memory); clearance: common practice.

    >>> round(bearing_pin(7.9375e-3, "PP") * 1e3, 2)
    8.35
    """
    bore = rod + max(0.25e-3, 0.03 * rod)
    return ceil(bore / (1 - float(RESINS[resin].shrinkage)) * 20e3 - 1e-9) / 20e3


def compose(chosen: FrameChoice) -> tuple[Part, ...]:
    """The parts of a whole frame in the order of making. Raises DesignError with every fault of every part.

    >>> parts = compose(FrameChoice(refill_length=0.240, core_diameter=0.044, outside_diameter=0.0698))
    >>> [part.heading for part in parts], all(part.result.passed for part in parts)
    (['Rod', 'Fit', 'Clip', 'Tolerances'], True)
    """
    gathering = Gathering()
    add = gathering.add

    rod, cage = chosen.rod, chosen.cage_length
    span = cage - 10e-3
    bent = add(
        "Rod",
        FRAME,
        rod_diameter=rod,
        legs=bent_legs(chosen),
        refill_length=chosen.refill_length,
        core_bore=chosen.bore,
        cage_diameter=chosen.bore + min(1e-3, 0.04 * chosen.bore),
        cage_length=cage,
        side_play=PLAY,
        push=chosen.push,
        handle_angle=chosen.handle_angle,
        to_item=chosen.bore >= FULL_BORE,
    )
    add(
        "Fit",
        FRAME_FIT,
        rod_diameter=rod,
        resin=chosen.resin,
        pin_diameter=bearing_pin(rod, chosen.resin),
        bearing_length=max(8e-3, 1.25 * rod),
        coldest=chosen.coldest,
        hottest=chosen.hottest,
        span=span,
        wires=chosen.wires,
        wire_diameter=min(2.5e-3, (chosen.bore - rod) / 4),
        core=chosen.core,
        core_diameter=chosen.core_diameter,
        core_wall=chosen.core_wall,
        outside_diameter=chosen.outside_diameter,
        push=chosen.push,
        off_middle=span / 8,
        side_push=chosen.push / 5,
        thrust_diameter=min(1.75 * rod, 0.9 * chosen.bore),
        grip_length=chosen.grip_length,
    )
    add(
        "Clip",
        CLIP,
        resin=chosen.clip_resin,
        length=round(1.15 * rod, 4),
        width=round(0.6 * rod, 4),
        thickness=round(0.19 * rod, 4),
        undercut=round(0.1 * rod, 4),
        least_hold=max(chosen.push, 2 * bent["pull_off"] if bent else 0.0),
    )
    add(
        "Tolerances",
        TOLERANCE,
        links=(
            Link(name="shoulder to clip groove", sense=1, nominal=cage + WASHER + CLIP_GAP + PLAY, plus=0.3e-3),
            Link(name="cage over its end caps", sense=-1, nominal=cage, plus=0.4e-3),
            Link(name="washer", sense=-1, nominal=WASHER, plus=0.1e-3),
            Link(name="clip", sense=-1, nominal=CLIP_GAP, plus=0.05e-3),
        ),
        least_gap=0.2e-3,
        widest_gap=ITEM_PLAY,
    )
    return gathering.parts()


WHOLE_FRAME = DesignSheet(
    name="frame",
    title="Whole frame",
    line="roller",
    about="A whole frame from the refill it carries: rod, fit and drag, clip and tolerances, each with its margin.",
    inputs=FrameChoice,
    compose=compose,
    headline=(
        ("Rod", "wire_length"),
        ("Rod", "wire_mass"),
        ("Rod", "offset"),
        ("Rod", "stress"),
        ("Rod", "deflection"),
        ("Fit", "clearance_least"),
        ("Fit", "clearance_widest"),
        ("Fit", "drag"),
        ("Clip", "hold"),
        ("Tolerances", "worst_low"),
        ("Tolerances", "worst_high"),
    ),
)
