"""The coats on a handle, worked out: film, coating used, time at the vat, flash-off and racks."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sin

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value
from naptuft.drawing import Drawing, Graph, stacked
from naptuft.handle.finishing import (
    CAPILLARY_LIMIT,
    FILM_SOURCE,
    POWER_SOURCE,
    capillary_number,
    coat_mass,
    dip_time,
    dry_film,
    film_with_gravity,
    racks_waiting,
    shear_viscosity,
    volatile_mass,
    withdrawn_film,
)
from naptuft.handle.setting import CoatSetting, HandleOutline
from naptuft.handle.shape import HandleShape
from naptuft.materials.coating import COATINGS, SOLVENTS, Coating
from naptuft.materials.property import COMMON_PRACTICE

VAPOUR_CAUTION = Caution(
    "solvent vapour at the vat and racks burns and is breathed in",
    "keep vapour under a quarter of the lower explosive limit, no ignition source, covers on vats, extraction running; "
    "ventilation and ignition control are for licensed practice to design",
    "29 CFR 1910.122 to 1910.126, 1910.94 and 1910.1200",
)
WET_CAUTION = Caution(
    "wet coating on skin and in eyes",
    "gloves and eye protection; read the safety data sheet",
    "29 CFR 1910.1200",
)


@dataclass(frozen=True)
class HandleCoats(CoatSetting, HandleOutline):
    """A handle's outline and its coats."""


def coat_answer(setting: CoatSetting, shape: HandleShape) -> Result:
    """Film, coating used, times and racks for a handle of a given shape."""
    coating = COATINGS[setting.coating]
    consistency = float(coating.viscosity) if setting.viscosity is None else setting.viscosity
    index = float(coating.flow_index) if setting.flow_index is None else setting.flow_index
    tension, density = float(coating.surface_tension), float(coating.density)
    viscosity = shear_viscosity(consistency, index, setting.withdrawal_speed, tension, density)
    film = withdrawn_film(viscosity, setting.withdrawal_speed, tension, density)
    capillary = capillary_number(viscosity, setting.withdrawal_speed, tension)
    depth = shape.length - shape.head_length
    area = shape.surface(shape.head_length)
    each = coat_mass(film, area, density, setting.drip_share)
    used = each * setting.coats
    kept = film * area * density * setting.coats
    bar = dip_time(depth, setting.lowering_speed, setting.dwell, setting.withdrawal_speed, setting.transfer_time)
    dip = bar / setting.bar_handles
    wait = float(coating.flash_off) if setting.flash_off is None else setting.flash_off
    build = setting.coats * dry_film(film, float(coating.solids_volume))
    racks = racks_waiting(1 / dip, wait, setting.rack_handles)
    values = (
        Value("coating_mass", "wet coating used, each, all coats", used, "g"),
        Value("drip_mass", "of which dripped and lost, each", used - kept, "g"),
        Value("volatile_mass", "given off as it dries, each", volatile_mass(kept, float(coating.solids_mass)), "g"),
        Value("coated_area", "surface coated", area, "cm**2"),
        Value("wet_film", "wet film, one coat", film, "um"),
        Value("dry_build", "dry film, all coats", build, "um"),
        Value("working_viscosity", "viscosity at the shear of withdrawal", viscosity, "mPa*s"),
        Value("capillary_number", "capillary number", capillary, ""),
        Value("bar_time", "a bar at the vat, one coat", bar, "s"),
        Value("dip_time", "vat time, each, one coat", dip, "s"),
        Value("flash_off_time", "wait between coats", wait, "min"),
        Value("cure_time", "wait after the last coat, at 20 °C", float(coating.cure), "hour"),
        Value("rack_handles", "handles a rack", float(setting.rack_handles), ""),
        Value("racks_waiting", "racks taken by one flash-off at full pace", float(racks), ""),
    )
    steps = (
        Step("viscosity", "k (U/h)ⁿ⁻¹", viscosity, "mPa*s", POWER_SOURCE),
        Step("wet film", "0.9458 (ηU)^⅔ / (γ^⅙ √(ρg))", film, "um", FILM_SOURCE),
        Step("coated surface", "∫ girth dx from the ferrule line to the butt", area, "cm**2", "geometry"),
        Step("coating used", "coats × film × surface × density / (1 − drip share)", used, "g", "mass balance"),
        Step("dry film", "coats × wet film × solids by volume", build, "um", "ISO 2808 (from memory)"),
        Step("bar at the vat", "depth/down + dwell + depth/up + change", bar, "s", "kinematics"),
        Step("racks", "handles a second × wait / handles a rack", float(racks), "", "Little 1961: L = λW"),
    )
    checks = (
        Check(
            "dry film of all coats",
            build,
            setting.build_wanted,
            "at least",
            "um",
            COMMON_PRACTICE,
            "draw faster, thicken the coating or add a coat",
        ),
    )
    return Result(
        values, checks, steps, _cautions(coating), _remarks(setting, coating, (consistency, viscosity), capillary)
    )


def _cautions(coating: Coating) -> tuple[Caution, ...]:
    return (VAPOUR_CAUTION, WET_CAUTION) if coating.solvent else (WET_CAUTION,)


def _remarks(
    setting: CoatSetting, coating: Coating, viscosities: tuple[float, float], capillary: float
) -> tuple[str, ...]:
    remarks = []
    measured, viscosity = viscosities
    tension, density = float(coating.surface_tension), float(coating.density)
    weighed = film_with_gravity(viscosity, setting.withdrawal_speed, tension, density)
    if capillary > CAPILLARY_LIMIT:
        remarks.append(
            f"The capillary number {capillary:.2g} is outside the film formula's range (well below "
            f"{CAPILLARY_LIMIT:g}): the true film is thinner, {weighed * 1e6:.3g} µm with the film's own weight "
            "(White and Tallmadge 1965); draw slower or measure it."
        )
    if measured not in coating.viscosity:
        remarks.append(f"The viscosity of {measured * 1e3:.4g} mPa·s is unusual for dipping {coating.name}.")
    if setting.coats != 3:
        remarks.append(f"Three coats are common practice; {setting.coats} given.")
    if coating.solvent:
        flash = float(SOLVENTS[coating.solvent].flash_point) - 273.15
        remarks.append(
            f"It gives off {coating.solvent}, flash point about {flash:.0f} °C: work out the air with drying-air."
        )
    return tuple(remarks)


def run_coats(handle: HandleCoats) -> Result:
    """Work out the coats of a handle."""
    return coat_answer(handle, handle.shape)


def draw_coats(handle: HandleCoats, result: Result) -> str:
    """The handle on its bar, dipped to the ferrule line, to scale; below it the film coat by coat."""
    shape = handle.shape
    length, line = shape.length * 1e3, shape.head_length * 1e3
    drawing = Drawing(f"handle of {length:g} mm dipped to the ferrule line", width=150, height=110)
    stations = [shape.length * sin(pi / 2 * k / 120) for k in range(121)]
    right = [(shape.width(x) * 500, x * 1e3) for x in stations]
    drawing.path([*right, *((-x, y) for x, y in reversed(right))], closed=True, hint="handle, ferrule end up")
    reach = max(x for x, _ in right) * 2.2
    drawing.rectangle(-reach, line, 2 * reach, length - line + 12, "hatch", hatch="dots", hint="coating in the vat")
    drawing.line((-reach, line), (reach, line), "accent", hint="level at the ferrule line")
    drawing.dimension((reach, length), (reach, line), f"{length - line:g} mm", offset=6, hint="dipped")
    drawing.text((0, -6), f"{result['coated_area'] * 1e4:.3g} cm² coated, {result['coating_mass'] * 1e3:.2f} g in all")
    film = Graph("dry film, coat by coat", "coats", "film, µm", height=70)
    coats, each = handle.coats, result["dry_build"] / handle.coats
    film.curve([(float(k), k * each * 1e6) for k in range(coats + 1)], "dry film")
    film.curve([(float(k), result["wet_film"] * 1e6) for k in (0, coats)], "wet, one coat", "second")
    film.level(handle.build_wanted * 1e6, "wanted")
    return stacked("coats on a handle", drawing.svg(), film.svg())


HANDLE_COATS = Calculation(
    name="handle-coats",
    title="Coats on a handle",
    line="handle",
    about="Film, coating used, time at the vat, flash-off and racks for a handle dipped in several coats.",
    inputs=HandleCoats,
    run=run_coats,
    draw=draw_coats,
)
