"""Cooling of a thick section as it happens: film at the mould, heat of fusion, the skin that carries the push."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Drawing, Graph, stacked
from naptuft.errors import DesignError, Fault
from naptuft.handle.part import PRESS_CAUTIONS, Cooling
from naptuft.materials.conduction import section_roundness
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.resin import RESIN_NAMES, RESINS, ZERO_CELSIUS, Resin

if TYPE_CHECKING:
    from naptuft.materials.transient import Array, Course, HeatContent

LONGER = 6
ROOM = 293.15
SINK_SHOWS = 0.01
TRANSIENT_SOURCE = "finite volumes, Patankar 1980; agrees with the series of Carslaw and Jaeger where both apply"


@dataclass(frozen=True)
class ThickSection:
    """A thick section in its mould."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    section_shape: str = choice(
        ["plate", "cylinder", "oval"], "what the section is like; an oval or flat bar wants its width", default="plate"
    )
    thickness: float = quantity("mm", "full thickness, or diameter", low=0.5, high=80, example="18 mm")
    width: float | None = quantity("mm", "wider side of an oval", low=0.5, high=400, default=None)
    melt_temperature: float | None = quantity("degC", "left empty, the table's", low=120, high=350, default=None)
    mould_temperature: float | None = quantity("degC", "left empty, the table's", low=0, high=160, default=None)
    ejection_temperature: float | None = quantity("degC", "left empty, the table's", low=20, high=220, default=None)
    contact: float = quantity(
        "W/m**2/K",
        "heat transfer between resin and mould; falls as the part shrinks away",
        low=50,
        high=1e5,
        default=1500,
    )
    skin_share: float = quantity(
        "%", "share of the half thickness that must have set before it is pushed out", low=5, high=100, default=50
    )
    pack_time: float = quantity("s", "pressure held, feeding what shrinks", low=0, high=600, default=6)

    def __post_init__(self) -> None:
        melt, mould, ejection = self.temperatures
        faults = []
        if not mould < ejection < melt:
            faults.append(
                Fault(
                    "ejection temperature",
                    f"{ejection - ZERO_CELSIUS:g} °C",
                    f"between the mould ({mould - ZERO_CELSIUS:g} °C) and the melt ({melt - ZERO_CELSIUS:g} °C)",
                    "cool the mould further or eject warmer",
                )
            )
        if self.section_shape == "oval" and (self.width is None or self.width < self.thickness):
            faults.append(
                Fault(
                    "width",
                    "" if self.width is None else f"{self.width * 1e3:g} mm",
                    f"at least the thickness, {self.thickness * 1e3:g} mm, for an oval",
                    "give the wider side",
                )
            )
        if faults:
            raise DesignError(*faults)

    @property
    def cooling(self) -> Cooling:
        """The section as the handbook formulas see it."""
        if self.section_shape == "oval":
            assert self.width is not None
            return Cooling("bar", self.thickness, self.width)
        return Cooling("cylinder" if self.section_shape == "cylinder" else "plate", self.thickness)

    @property
    def roundness(self) -> float | None:
        """How the area grows from the middle outwards; None for a plate cooled on two faces."""
        if self.section_shape == "oval":
            assert self.width is not None
            return section_roundness(self.thickness, self.width)
        return 1.0 if self.section_shape == "cylinder" else None

    @property
    def temperatures(self) -> tuple[float, float, float]:
        """Melt, mould and ejection temperature used. [K]"""
        resin = RESINS[self.resin]
        given = (self.melt_temperature, self.mould_temperature, self.ejection_temperature)
        usual = (resin.melt_temperature, resin.mould_temperature, resin.ejection_temperature)
        return tuple(float(u) if g is None else g for g, u in zip(given, usual, strict=True))  # type: ignore[return-value]


def heat_content(resin: Resin, melt: float, ejection: float) -> HeatContent:
    """Heat held by a resin, so that with its heat of fusion the mean diffusivity is the table's.

    c = k/(rho a) - L/(T_melt - T_ejection), where the resin sets between the two; else k/(rho a). Melt and
    ejection close together would leave nothing: then half the table's specific heat.
    """
    from naptuft.materials.transient import HeatContent

    density, solid = float(resin.density), float(resin.solid_temperature)
    mean = float(resin.conductivity) / (density * float(resin.diffusivity))
    fusion = float(resin.fusion_heat)
    if fusion and ejection < solid < melt:
        specific = max(mean - fusion / (melt - ejection), 0.5 * float(resin.specific_heat))
        return HeatContent(density, specific, fusion, solid)
    return HeatContent(density, mean)


def cooling_course(section: ThickSection, end_time: float) -> Course:
    """Temperatures through the section as it cools."""
    from naptuft.materials.transient import Face, conduct

    resin = RESINS[section.resin]
    melt, mould, ejection = section.temperatures
    face = Face(film=section.contact, surroundings=mould)
    return conduct(
        section.thickness,
        float(resin.conductivity),
        heat_content(resin, melt, ejection),
        melt,
        (face, face),
        end_time,
        roundness=section.roundness,
    )


def set_skin(course: Course, at: float, solid: float, section: ThickSection) -> float:
    """Thickness of the set skin at a time, from the mould face inward. [m]

    at  [s]; solid temperature below which the resin has set [K]
    """
    import numpy as np

    row = course.temperatures[min(int(np.searchsorted(course.times, at)), len(course.times) - 1)]
    reach = section.thickness / 2
    from_middle = np.abs(course.places - reach) if section.roundness is None else course.places
    soft = from_middle[row > solid]
    return reach - float(soft.max()) if len(soft) else reach


def _middle(section: ThickSection, course: Course) -> Array:
    return course.middle if section.roundness is None else course.temperatures[:, 0]


def unfed_shrinkage(course: Course, resin: Resin, at: float, melt: float) -> float:
    """Volume lost by the melt that is left when the pressure ends, as a share of the part; a first estimate.

    Over the cells above the solid temperature: (1 - rho_melt/rho_solid)(T - T_room)/(T_melt - T_room), times
    their share, less what the outside takes up by shrinking as a whole, three times the linear shrinkage.
    at  when the pressure ends [s]; melt temperature [K]
    Source: mass balance; densities as the table says, the density of the melt straight between them.
    """
    import numpy as np

    row = np.array([np.interp(at, course.times, column) for column in course.temperatures.T])
    hot = row > float(resin.solid_temperature)
    whole = 1 - float(resin.melt_density) / float(resin.density)
    lost = float((course.shares * hot * (row - ROOM) / (melt - ROOM)).sum()) * whole
    return max(0.0, lost - 3 * float(resin.shrinkage))


def _until_cool(section: ThickSection, end_time: float) -> tuple[Course, Array, float, float]:
    """The course, its middle, and when mean and middle reach the ejection temperature; longer until they do."""
    ejection = section.temperatures[2]
    for _ in range(LONGER):
        course = cooling_course(section, end_time)
        middle = _middle(section, course)
        mean, through = course.when(course.mean, ejection), course.when(middle, ejection)
        if mean is not None and through is not None:
            return course, middle, mean, through
        end_time *= 2.5
    raise DesignError(
        Fault("contact", section.contact, "enough to cool the section", "raise the heat transfer at the mould")
    )


def run_section(section: ThickSection) -> Result:
    """Work out when a thick section may be pushed out."""
    resin = RESINS[section.resin]
    melt, mould, ejection = section.temperatures
    solid = float(resin.solid_temperature)
    cooling = section.cooling
    printed = cooling.time(float(resin.diffusivity), melt, mould, ejection, mean=False)
    printed_mean = cooling.time(float(resin.diffusivity), melt, mould, ejection, mean=True)
    film_lag = section.thickness * float(resin.density) * 2000 / section.contact
    course, middle, mean, through = _until_cool(section, 1.5 * printed + 2 * film_lag)
    reach = section.thickness / 2
    skin = set_skin(course, mean, solid, section)
    unfed = unfed_shrinkage(course, resin, section.pack_time, melt)
    heat = float(resin.specific_heat) * (melt - ejection) + (float(resin.fusion_heat) if ejection < solid < melt else 0)
    values = (
        Value("cooling_time", "until the mean is at the ejection temperature", mean, "s"),
        Value("cooling_through", "until the middle is", through, "s"),
        Value("handbook_time", "handbook formula, mean", printed_mean, "s"),
        Value("handbook_through", "handbook formula, middle", printed, "s"),
        Value("skin", "set skin when the mean is there", skin, "mm"),
        Value("skin_share", "of the half thickness", skin / reach, "%"),
        Value("middle_temperature", "middle, when pushed out", _at(course, middle, mean), "degC"),
        Value("heat_out", "heat given to the mould", heat, "kJ/kg"),
        Value("unfed_shrinkage", "shrinkage that packing no longer feeds, of the part", unfed, "%"),
    )
    steps = (
        Step(
            "cooling, as it happens", "ρc ∂T/∂t = k ∂²T/∂x², with film and heat of fusion", mean, "s", TRANSIENT_SOURCE
        ),
        Step("cooling, handbook", cooling.formula(mean=True)[0], printed_mean, "s", cooling.formula(mean=True)[1]),
        Step(
            "shrinkage not fed", "Σ hot (1−ρm/ρs)(T−20 °C)/(Tm−20 °C) − 3S", unfed, "%", "mass balance, first estimate"
        ),
        Step("set skin", f"where T is below {solid - ZERO_CELSIUS:.0f} °C", skin, "mm", resin.solid_temperature.source),
    )
    checks = (
        Check(
            "set skin when pushed out",
            skin / reach,
            section.skin_share,
            "at least",
            "%",
            COMMON_PRACTICE,
            "cool longer, cool the mould further or core the section out",
        ),
    )
    remarks = ()
    if unfed > SINK_SHOWS:
        remarks += (
            f"Sink warning: {unfed * 100:.2g} % of the part shrinks after the pressure has ended and shows as sinks or "
            "a hollow; pack longer through a thicker gate, core the section out or use a foaming grade.",
        )
    if skin < reach:
        remarks += (
            f"The middle is still above {solid - ZERO_CELSIUS:.0f} °C when pushed out: it sets outside the mould, "
            "shrinks and may leave a sink or a hollow; cool in water or air before stacking.",
        )
    return Result(values, checks, steps, (*PRESS_CAUTIONS, HOT_PART), remarks)


HOT_PART = Caution(
    "a thick part is hot inside long after it feels cool",
    "let it cool in a bath or rack before drilling, dipping or packing",
    "29 CFR 1910.132",
)


def _at(course: Course, of: Array, time: float) -> float:
    import numpy as np

    return float(np.interp(time, course.times, of))


def draw_section(section: ThickSection, result: Result) -> str:
    """The section when it is pushed out, set skin hatched, to scale; below it the temperatures as they run."""
    words = f"set skin {result['skin'] * 1e3:.1f} mm after {result['cooling_time']:.0f} s"
    return stacked(words, _draw_skin(section, result, words), _draw_course(section, result))


def _draw_skin(section: ThickSection, result: Result, words: str) -> str:
    thickness, skin = section.thickness * 1e3, result["skin"] * 1e3
    drawing = Drawing(words, width=150, height=78)
    core = thickness - 2 * skin
    if section.section_shape == "plate":
        drawing.rectangle(0, 0, 2.5 * thickness, thickness, hatch="diagonal", hint="set")
        if core > 0:
            drawing.rectangle(0, skin, 2.5 * thickness, core, "accent", fill="#FCFAF5", hint="still soft")
        drawing.dimension((2.5 * thickness, thickness), (2.5 * thickness, 0), f"{thickness:g} mm", offset=6)
        drawing.text((1.25 * thickness, 1.2 * thickness), words)
        return drawing.svg()
    width = (section.width or section.thickness) * 1e3 if section.section_shape == "oval" else thickness
    drawing.path(_oval(width, thickness), closed=True, hatch="diagonal", hint="set")
    if core > 0:
        drawing.path(_oval(width - 2 * skin, core), "accent", closed=True, fill="#FCFAF5", hint="still soft")
    drawing.dimension((width / 2, thickness / 2), (width / 2, -thickness / 2), f"{thickness:g} mm", offset=6)
    if width > thickness:
        drawing.dimension((-width / 2, -thickness / 2), (width / 2, -thickness / 2), f"{width:g} mm", offset=-6)
    drawing.text((0, 0.72 * thickness), words)
    return drawing.svg()


def _oval(width: float, depth: float) -> list[tuple[float, float]]:
    turns = [2 * pi * k / 72 for k in range(72)]
    return [(width / 2 * cos(turn), depth / 2 * sin(turn)) for turn in turns]


def _draw_course(section: ThickSection, result: Result) -> str:
    resin = RESINS[section.resin]
    course = cooling_course(section, 1.15 * result["cooling_through"])
    graph = Graph("temperatures through the section as it cools", "time since the mould was full, s", "temperature, °C")
    outer = course.temperatures[:, -1]
    runs = ((_middle(section, course), "middle", "outline"), (course.mean, "mean", "second"), (outer, "skin", "detail"))
    for of, words, style in runs:
        graph.curve(
            [(float(t), float(value) - ZERO_CELSIUS) for t, value in zip(course.times, of, strict=True)], words, style
        )
    graph.level(section.temperatures[2] - ZERO_CELSIUS, "pushed out")
    graph.level(float(resin.solid_temperature) - ZERO_CELSIUS, "sets", "dimension")
    graph.upright(result["cooling_time"], f"mean {result['cooling_time']:.0f} s")
    graph.upright(result["cooling_through"], f"middle {result['cooling_through']:.0f} s")
    return graph.svg()


THICK_SECTION = Calculation(
    name="thick-section-cooling",
    title="Cooling of a thick section",
    line="handle",
    about="When a thick handle may be pushed out: temperatures through it in time, the skin that has set, the handbook's figure beside it.",
    inputs=ThickSection,
    run=run_section,
    draw=draw_section,
)
