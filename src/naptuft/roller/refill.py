"""The refill: pile volume, fibre, bevel, and the paint it takes up and lays down."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.materials.fabric import CORE_NAMES, FABRIC_NAMES, core_material, pile_fabric
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.roller.core import wall_faults

SHAPE = "solid of revolution, geometry"
CAUTIONS = (
    Caution(
        "Lint and fibre dust at beveling and fluffing",
        "extract at the tool, keep ignition sources away, clean up before dust settles thick",
        "29 CFR 1910.1000 and NFPA 652 on combustible dust",
    ),
)


def pieces_per_stock(stock_length: float, length: float, kerf: float = 0.0, end_trim: float = 0.0) -> int:
    """Equal pieces from one stock piece, ⌊(L − 2·trim + kerf)/(l + kerf)⌋.

    All lengths in [m]; end_trim is lost at each end. Reckoned in nanometres, so that an exact fit counts.

    >>> pieces_per_stock(1.8, 0.190, 0.003, 0.005), pieces_per_stock(1.8, 0.240)
    (9, 7)
    """
    usable = round((stock_length - 2 * end_trim + kerf) * 1e9)
    return max(0, usable // round((length + kerf) * 1e9))


def pile_volume(inner_radius: float, pile_height: float, length: float, bevel: float, bevel_cut: float) -> float:
    """Room taken by the pile, fibre and paint together. [m**3]

    π((r + h)² − r²)L − 2·π·b(Rc − c²/3), R = r + h: at each end the tips are cut back by c at the edge,
    falling to nothing over the length b of the bevel.
    inner_radius: to the foot of the pile; pile_height, length, bevel, bevel_cut [m].

    >>> round(pile_volume(0.0229, 0.012, 0.240, 0.0, 0.0) * 1e6, 1)
    523.0
    """
    outer = inner_radius + pile_height
    full = pi * (outer**2 - inner_radius**2) * length
    return full - 2 * pi * bevel * (outer * bevel_cut - bevel_cut**2 / 3)


def bevel_fibre_share(pile_height: float, length: float, bevel: float, bevel_cut: float) -> float:
    """Share of the pile fibre cut away by both bevels, b·c/(h·L).

    Fibres stand straight out, so the fibre cut from a length is its tips' share of the height.
    Parameters as for `pile_volume`.

    >>> round(bevel_fibre_share(0.012, 0.240, 0.010, 0.008), 4)
    0.0278
    """
    return bevel * bevel_cut / (pile_height * length)


def bevel_faults(length: float, bevel: float, bevel_cut: float, pile_height: float) -> tuple[Fault, ...]:
    """What is wrong with a bevel: longer than half the refill, or deeper than the pile. All in [m].

    >>> [fault.place for fault in bevel_faults(0.1, 0.06, 0.013, 0.012)]
    ['bevel', 'bevel cut']
    """
    faults = []
    if 2 * bevel > length:
        faults.append(
            Fault("bevel", f"{bevel * 1e3:g} mm", f"at most {length * 5e2:g} mm, half the length", "shorten the bevel")
        )
    if bevel_cut > pile_height:
        faults.append(
            Fault(
                "bevel cut",
                f"{bevel_cut * 1e3:g} mm",
                f"at most {pile_height * 1e3:g} mm, the pile height",
                "take less off the edge",
            )
        )
    return tuple(faults)


def fibre_count(fibre_share: float, fibre_diameter: float) -> float:
    """Fibres standing on a unit of ground cloth, V/(πd²/4). [1/m**2]

    fibre_share V of the pile's room; fibre_diameter [m]. Source: parallel round fibres, geometry.

    >>> round(fibre_count(0.0377, 20e-6) / 1e4)
    12000
    """
    return fibre_share / (pi * fibre_diameter**2 / 4)


def pore_radius(fibre_radius: float, fibre_share: float) -> float:
    """Radius of the gaps between fibres, as twice gap area over wetted edge. [m]

    r = R(1 − V)/V for parallel round fibres of radius R filling a share V: hydraulic radius.
    fibre_radius [m].

    >>> round(pore_radius(10e-6, 0.03) * 1e6)
    323
    """
    return fibre_radius * (1 - fibre_share) / fibre_share


def capillary_height(surface_tension: float, density: float, radius: float) -> float:
    """Height to which a wetting liquid is held in gaps of a radius, 2γ/(ρ g r). [m]

    surface_tension [N/m]; density [kg/m**3]; radius [m].
    Source: Jurin's law; OpenStax College Physics, ch. 11.

    >>> round(capillary_height(0.0728, 998.2, 0.5e-3) * 1e3, 1)
    29.7
    """
    return 2 * surface_tension / (density * 9.80665 * radius)


@dataclass(frozen=True)
class RefillDesign:
    """A refill, the stock tube it is cut from and the paint it is for."""

    length: float = quantity("mm", "finished length of the refill", low=20, high=1000, example="240 mm")
    core_diameter: float = quantity("mm", "outside diameter of the core", low=8, high=150, example="44 mm")
    core_wall: float = quantity("mm", "wall of the core", low=0.2, high=15, default=1.5, example="1.5 mm")
    core: str = choice(CORE_NAMES, "what the core is made of", default="polypropylene", example="polypropylene")
    fabric: str = choice(FABRIC_NAMES, "pile fabric", default="knitted polyester", example="knitted polyester")
    pile_height: float = quantity("mm", "height of the pile", low=1, high=40, example="12 mm")
    pile_mass: float | None = quantity(
        "g/m**2", "mass of pile fibre by fabric area; leave out for the fabric's usual", low=20, high=3000, default=None
    )
    fibre_diameter: float = quantity("um", "diameter of a pile fibre", low=3, high=200, default=20, example="20 um")
    bevel: float = quantity("mm", "length of the bevel at each end", low=0, high=60, default=10, example="10 mm")
    bevel_cut: float = quantity("mm", "pile taken off at the very edge", low=0, high=40, default=6, example="6 mm")
    stock_length: float = quantity("mm", "length of the stock tube", low=100, high=6000, default=1800)
    kerf: float = quantity("mm", "width lost at each cut", low=0, high=20, default=2, example="2 mm")
    end_trim: float = quantity("mm", "cut off each end of a stock tube", low=0, high=200, default=10)
    filled_share: float = quantity(
        "%",
        "share of the room between fibres that stays filled when lifted and rolled off",
        low=1,
        high=100,
        default=30,
    )
    released_share: float = quantity(
        "%", "share of the paint held that reaches the wall before reloading", low=1, high=100, default=65
    )
    film: float = quantity("um", "wet film laid down", low=10, high=1000, default=100, example="100 um")
    paint_density: float = quantity("kg/m**3", "density of the paint", low=700, high=2200, default=1350)
    surface_tension: float = quantity("mN/m", "surface tension of the paint", low=15, high=75, default=32)

    def __post_init__(self) -> None:
        faults = [
            *wall_faults(self.core_diameter, self.core_wall),
            *bevel_faults(self.length, self.bevel, self.bevel_cut, self.pile_height),
        ]
        if self.fibre_share >= 0.9:
            faults.append(
                Fault(
                    "pile mass",
                    f"{self.areal_mass * 1e3:g} g/m²",
                    "so that fibre fills less than 90 % of the pile",
                    "lower the pile mass or raise the pile",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def areal_mass(self) -> float:
        """Mass of pile fibre by fabric area. [kg/m**2]"""
        return self.pile_mass or float(pile_fabric(self.fabric).pile_mass) * self.pile_height

    @property
    def fibre_share(self) -> float:
        """Share of the pile's room that is fibre, in the flat fabric."""
        return self.areal_mass / (float(pile_fabric(self.fabric).fibre_density) * self.pile_height)


def _work_out(design: RefillDesign) -> Result:
    fabric, core = pile_fabric(design.fabric), core_material(design.core)
    backing = float(fabric.backing_thickness)
    radius = design.core_diameter / 2 + backing
    volume = pile_volume(radius, design.pile_height, design.length, design.bevel, design.bevel_cut)
    lost = bevel_fibre_share(design.pile_height, design.length, design.bevel, design.bevel_cut)
    foot_area = pi * design.core_diameter * design.length
    fibre = foot_area * design.areal_mass * (1 - lost)
    room = volume - fibre / float(fabric.fibre_density)
    held = room * design.filled_share
    released = held * design.released_share
    area = released / design.film
    outside = design.core_diameter + 2 * (backing + design.pile_height)
    mean_share = fibre / float(fabric.fibre_density) / volume
    count = fibre_count(design.fibre_share, design.fibre_diameter)
    pore = pore_radius(design.fibre_diameter / 2, mean_share)
    height = capillary_height(design.surface_tension, design.paint_density, pore)
    bore = design.core_diameter - 2 * design.core_wall
    core_mass = pi / 4 * (design.core_diameter**2 - bore**2) * design.length * float(core.density)
    backing_mass = foot_area * float(fabric.backing_mass)
    per_tube = pieces_per_stock(design.stock_length, design.length, design.kerf, design.end_trim)
    remarks = []
    if design.pile_height not in fabric.pile_height:
        low, high = fabric.pile_height.low or 0.0, fabric.pile_height.high or 0.0
        remarks.append(f"{fabric.name} is usually made with {low * 1e3:g} to {high * 1e3:g} mm of pile.")
    if not 8e-3 <= design.pile_height <= 25e-3:
        remarks.append("GOST 10831-87 covers pile of 8 to 25 mm; this refill lies outside it.")
    if design.filled_share > 0.7:
        remarks.append("More than 70 % of the room filled drips when lifted (common practice).")
    remarks.append("Saturate a cover before its load is weighed (ASTM D5069); judge its lint after ASTM D7804.")
    return Result(
        values=(
            Value("length", "length", design.length, "mm"),
            Value("outside_diameter", "outside diameter", outside, "mm"),
            Value("pieces_per_tube", "pieces from one stock tube", per_tube),
            Value("pile_volume", "room of the pile", volume, "cm**3"),
            Value("fibre_mass", "pile fibre", fibre, "g"),
            Value("fibre_count", "fibres on the ground cloth", count, "1/cm**2"),
            Value("fibre_share", "share of that room which is fibre", mean_share, "%"),
            Value("bevel_loss", "fibre cut away at the bevels", fibre * lost / (1 - lost), "g"),
            Value("refill_mass", "mass of the refill without glue", fibre + core_mass + backing_mass, "g"),
            Value("paint_held", "paint held", held, "cm**3"),
            Value("area_per_load", "wall covered by one load", area, "m**2"),
            Value("travel_per_load", "travel in one load", area / design.length, "m"),
            Value("capillary_height", "height of paint the pile can hold up", height, "mm"),
        ),
        checks=(
            Check(
                "pieces from one stock tube",
                per_tube,
                1,
                "at least",
                "",
                "arithmetic",
                "use a longer stock tube",
            ),
            Check(
                "paint held up in the pile",
                height,
                design.pile_height,
                "at least",
                "mm",
                "Jurin's law with the hydraulic radius of the gaps; OpenStax College Physics, ch. 11",
                "use a denser or finer pile, or expect dripping",
            ),
        ),
        steps=(
            Step("room of the pile", "π((r + h)² − r²)L − 2πb(Rc − c²/3)", volume, "cm**3", SHAPE),
            Step("pile fibre", "πD·L·m″(1 − bc/(hL))", fibre, "g", SHAPE),
            Step("fibres on the ground cloth", "V/(πd²/4)", count, "1/cm**2", "parallel round fibres, geometry"),
            Step("room for paint", "V − m/ρ", room, "cm**3", SHAPE),
            Step(
                "paint held",
                "room × share filled",
                held,
                "cm**3",
                f"share filled: {COMMON_PRACTICE}, weigh a loaded refill",
            ),
            Step(
                "area of one load", "held × share released / film", area, "m**2", f"share released: {COMMON_PRACTICE}"
            ),
            Step("radius of the gaps", "R(1 − V)/V", pore, "um", "hydraulic radius of parallel fibres, geometry"),
            Step("height held", "2γ/(ρgr)", height, "mm", "Jurin's law; OpenStax College Physics, ch. 11"),
        ),
        cautions=CAUTIONS,
        remarks=tuple(remarks),
    )


def draw_refill(design: RefillDesign, result: Result) -> str:
    """The refill in lengthwise section, to scale: core wall, backing, pile and bevels."""
    drawing = Drawing(f"refill, {design.length * 1e3:g} mm, pile {design.pile_height * 1e3:g} mm")
    length, outside = design.length * 1e3, design.core_diameter * 1e3
    wall, pile = design.core_wall * 1e3, design.pile_height * 1e3
    backing = float(pile_fabric(design.fabric).backing_thickness) * 1e3
    bevel, cut = design.bevel * 1e3, design.bevel_cut * 1e3
    top = outside / 2
    for side in (-1, 1):
        drawing.path(
            [(0, side * top), (length, side * top), (length, side * (top - wall)), (0, side * (top - wall))],
            "outline",
            closed=True,
            hatch="diagonal",
            hint=f"core, {design.core}",
        )
        foot, tip = side * (top + backing), side * (top + backing + pile)
        drawing.path([(0, side * top), (0, foot), (length, foot), (length, side * top)], "detail", hint="backing")
        edge = side * (top + backing + pile - cut)
        drawing.path(
            [(0, foot), (0, edge), (bevel, tip), (length - bevel, tip), (length, edge), (length, foot)],
            "outline",
            closed=True,
            hatch="dots",
            hint=f"pile, {design.fabric}",
        )
    drawing.line((-0.03 * length, 0), (1.03 * length, 0), "dimension", hint="axis")
    whole = result["outside_diameter"] * 1e3
    drawing.dimension((0, whole / 2), (length, whole / 2), f"{length:g} mm", offset=7)
    drawing.dimension((length, -whole / 2), (length, whole / 2), f"⌀ {whole:g} mm", offset=-9)
    drawing.dimension((0, top), (0, -top), f"core ⌀ {outside:g} mm", offset=-8)
    crown = top + backing + pile
    words = f"pile {pile:g} mm"
    if bevel > 0 and cut > 0:
        drawing.dimension((0, -crown), (bevel, -crown), f"{bevel:g} mm", offset=-4)
        words += f"; bevel takes {cut:g} mm off the edge"
    drawing.text((0.5 * length, -crown - 0.02 * length), words, size=2.8)
    drawing.text((0.5 * length, top - wall - 2.5), f"{design.core}, {design.fabric}", size=2.8)
    return drawing.svg()


REFILL = Calculation(
    name="refill",
    title="Roller refill",
    line="roller",
    about="A refill of given pile on a given core: fibre, paint held, area of a load, and pieces from a stock tube.",
    inputs=RefillDesign,
    run=_work_out,
    draw=draw_refill,
)
