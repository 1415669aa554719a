"""The whole refill from one choice: wound, cured, cut, brushed, bevelled, spun, and what it does on the wall."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, pi
from typing import Any

from naptuft.calculation import choice, quantity, rows, whole
from naptuft.design_sheet import DesignSheet, Part
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES, FABRIC_NAMES, pile_fabric
from naptuft.roller.beveling import FLUFF
from naptuft.roller.core import wall_faults
from naptuft.roller.curing import CURE_RACK, Warmth
from naptuft.roller.cutting.sheet import CUT_LIST, CutRow, StockRow
from naptuft.roller.finishing import PRACTICE_SPEED, SPIN, SpinDesign, spin_limits
from naptuft.roller.gathering import Gathering
from naptuft.roller.pile_choice import PAINTS, PILE_CHOICE, SHEENS, SURFACES, Paint, PileUse, pile_height, rank_piles
from naptuft.roller.refill import REFILL
from naptuft.roller.solvents import SOLVENT_PROOF, SolventPart
from naptuft.roller.winding import STOCK_TUBE

WINDING_HOURS, KERF, END_TRIM = 16 * 3600.0, 2e-3, 10e-3
STRIP_SHARE = 0.528
FULL_CORE = 30e-3


@dataclass(frozen=True)
class RefillChoice:
    """What a refill is for, its length and core; what is left out follows from these."""

    length: float = quantity("mm", "finished length of the refill", low=20, high=1000, example="240 mm")
    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    surface: str = choice(tuple(SURFACES), "surface to be painted", example="semi-smooth")
    paint: Paint = choice(PAINTS, "what the paint is thinned with", example="water-borne")
    sheen: str = choice(SHEENS, "sheen the film should have", default="satin", example="matt")
    fabric: str | None = choice(
        FABRIC_NAMES, "pile fabric; leave out for the first choice", default=None, example="knitted polyester"
    )
    pile_height: float | None = quantity(
        "mm", "height of the pile; leave out for what the surface wants", low=1, high=40, default=None, example="12 mm"
    )
    fibre_diameter: float = quantity("um", "diameter of a pile fibre", low=3, high=200, default=20, example="20 um")
    core: str | None = choice(
        CORE_NAMES,
        "what the core is made of; leave out for polypropylene, or phenolic paper where the paint has solvents",
        default=None,
        example="polypropylene",
    )
    core_wall: float | None = quantity(
        "mm", "wall of the core; leave out for the usual", low=0.2, high=15, default=None
    )
    strip_width: float | None = quantity(
        "mm", "width of the pile strip; leave out for one that winds at about 32°", low=10, high=400, default=None
    )
    stock_length: float = quantity("mm", "length of a stock tube", low=100, high=6000, default=1800, example="1800 mm")
    refills_per_day: int = whole("refills wanted a day", low=1, high=1_000_000, default=2000, example="2000")
    racks: int = whole("racks for curing", low=1, high=10_000, default=12, example="12")
    rack_width: float = quantity("mm", "clear width of a shelf", low=20, high=5000, default=640, example="640 mm")
    shelves: int = whole("shelves of a rack", low=1, high=100, default=6, example="6")
    curing_place: float = quantity("degC", "temperature of the curing place", low=-10, high=90, default=20)
    bevel: float | None = quantity("mm", "length of the bevel; leave out for 10 mm", low=0, high=60, default=None)
    bevel_cut: float | None = quantity(
        "mm", "pile taken off at the very edge; leave out for half of it", low=0, high=40, default=None
    )
    spin_speed: float | None = quantity(
        "1/min", "speed of the spinner; leave out for a safe one", low=1, high=20000, default=None
    )
    film: float = quantity("um", "wet film laid down", low=10, high=1000, default=100, example="100 um")
    solvents: tuple[SolventPart, ...] | None = rows(
        SolventPart, "solvents of the paint, where it is not water-borne", default=None, example="water | 100 %"
    )

    def __post_init__(self) -> None:
        faults = [*wall_faults(self.core_diameter, self.wall)]
        if self.paint != "water-borne" and not self.solvents:
            faults.append(
                Fault(
                    "solvents",
                    "",
                    "the solvents of a paint that is not water-borne, each with its volume",
                    "read them from the paint's safety data sheet: white spirit | 100 %",
                )
            )
        if self.fabric is None and self.pile_height is not None:
            faults.append(
                Fault(
                    "fabric",
                    "",
                    "given where the pile height is",
                    "name the fabric too, or leave the height out for the first choice",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def wall(self) -> float:
        """Wall of the core: 1.5 mm on a full-size core, 1.2 mm below 30 mm (common practice). [m]"""
        return self.core_wall or min(1.5e-3 if self.core_diameter >= FULL_CORE else 1.2e-3, self.core_diameter / 5)

    @property
    def made_of(self) -> str:
        """What the core is made of."""
        return self.core or ("polypropylene" if self.paint == "water-borne" else "phenolic paper")

    @property
    def use(self) -> PileUse:
        """Surface and paint, without a pile of one's own."""
        return PileUse(
            surface=self.surface,
            paint=self.paint,
            sheen=self.sheen,
            length=self.length,
            core_diameter=self.core_diameter,
            film=self.film,
        )

    @property
    def pile(self) -> tuple[str, float]:
        """Fabric and height of the pile: given, or the first choice for the surface and paint. [m]"""
        if self.fabric is None:
            best = rank_piles(self.use)[0]
            return best.fabric.name, best.height
        fabric = pile_fabric(self.fabric)
        wanted = pile_height(SURFACES[self.surface], self.sheen, fabric)
        return fabric.name, self.pile_height or wanted or float(fabric.pile_height)


def safe_speed(design: SpinDesign) -> float:
    """Speed to spin at where none is asked: 3,000 1/min or nine tenths of the highest allowed, in steps of 50. [1/s]

    >>> spun = SpinDesign(length=1.8, core_diameter=0.044, pile_height=0.012, speed=10 / 60)
    >>> round(safe_speed(spun) * 60) % 50, safe_speed(spun) < spin_limits(spun).highest
    (0, True)
    """
    highest = min(3000 / 60, 0.9 * min(spin_limits(design).highest, PRACTICE_SPEED))
    return max(50 / 60, floor(highest * 60 / 50) * 50 / 60)


def compose(chosen: RefillChoice) -> tuple[Part, ...]:
    """The parts of a whole refill in the order of making. Raises DesignError with every fault of every part.

    >>> parts = compose(RefillChoice(length=0.240, core_diameter=0.044, surface="semi-smooth", paint="water-borne"))
    >>> parts[0].heading, parts[-1].heading, 80 < parts[0]["lead"] * 1e3 < 90
    ('Winding', 'Solvents', True)
    """
    fabric, height = chosen.pile
    cut = height / 2 if chosen.bevel_cut is None else chosen.bevel_cut
    bevel = min(10e-3, chosen.length / 8) if chosen.bevel is None else chosen.bevel
    tube = {"core_diameter": chosen.core_diameter, "core_wall": chosen.wall, "core": chosen.made_of}
    pile = {"fabric": fabric, "pile_height": height}
    shape = {"bevel": bevel, "bevel_cut": cut, "fibre_diameter": chosen.fibre_diameter}
    around = pi * chosen.core_diameter
    gathering = Gathering()
    add = gathering.add

    add(
        "Winding",
        STOCK_TUBE,
        **tube,
        **pile,
        tube_length=chosen.stock_length,
        strip_width=chosen.strip_width or round(STRIP_SHARE * around, 3),
    )
    in_use = add(
        "Refill in use",
        REFILL,
        **tube,
        **pile,
        **shape,
        length=chosen.length,
        stock_length=chosen.stock_length,
        kerf=KERF,
        end_trim=END_TRIM,
        film=chosen.film,
    )
    if in_use is not None:
        per_tube = max(1.0, in_use["pieces_per_tube"])
        add(
            "Curing",
            CURE_RACK,
            day=(Warmth(temperature=chosen.curing_place, duration=86400.0),),
            output=chosen.refills_per_day / per_tube / WINDING_HOURS,
            winding_hours=WINDING_HOURS,
            tube_diameter=in_use["outside_diameter"],
            rack_width=chosen.rack_width,
            shelves=chosen.shelves,
            racks=chosen.racks,
        )
    add(
        "Cutting to length",
        CUT_LIST,
        stock=(StockRow(length=chosen.stock_length, name="stock tube"),),
        kerf=KERF,
        end_trim=END_TRIM,
        pieces=(CutRow(length=chosen.length, quantity=chosen.refills_per_day, name=f"{chosen.length * 1e3:g} mm"),),
    )
    add(
        "Brushing and bevelling",
        FLUFF,
        **pile,
        **shape,
        length=chosen.length,
        core_diameter=chosen.core_diameter,
        depth=min(3e-3, height / 4),
    )
    spun = {"length": chosen.length, **tube, **pile}
    add("Spinning", SPIN, **spun, speed=chosen.spin_speed or safe_speed(SpinDesign(**spun)))
    add("Choice of pile", PILE_CHOICE, **_use_of(chosen), own_fabric=fabric, own_pile=height)
    solvents = chosen.solvents or (SolventPart(solvent="water", volume=1.0),)
    add("Solvents", SOLVENT_PROOF, solvents=solvents, core=chosen.made_of)
    return tuple(sorted(gathering.parts(), key=lambda part: _ORDER.index(part.heading)))


_ORDER = (
    "Winding",
    "Curing",
    "Cutting to length",
    "Brushing and bevelling",
    "Spinning",
    "Refill in use",
    "Choice of pile",
    "Solvents",
)


def _use_of(chosen: RefillChoice) -> dict[str, Any]:
    names = ("surface", "paint", "sheen", "length", "core_diameter", "film")
    return {name: getattr(chosen, name) for name in names}


WHOLE_REFILL = DesignSheet(
    name="refill",
    title="Whole refill",
    line="roller",
    about="A whole refill from length, core, surface and paint: winding, curing, cutting, finishing and its use.",
    inputs=RefillChoice,
    compose=compose,
    headline=(
        ("Winding", "lead"),
        ("Winding", "winding_angle"),
        ("Winding", "strip_length"),
        ("Winding", "glue_mass"),
        ("Cutting to length", "rolls"),
        ("Brushing and bevelling", "cycle"),
        ("Spinning", "highest_speed"),
        ("Refill in use", "outside_diameter"),
        ("Refill in use", "paint_held"),
        ("Refill in use", "area_per_load"),
    ),
)
