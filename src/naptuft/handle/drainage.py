"""A coat that drains down the handle: Jeffreys' wedge, shear thinning, and how fast a handle may go under."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity
from naptuft.drawing import Graph
from naptuft.errors import DesignError, Fault
from naptuft.handle.coats import VAPOUR_CAUTION, WET_CAUTION
from naptuft.handle.finishing import (
    CAPILLARY_LIMIT,
    FILM_SOURCE,
    GRAVITY,
    POWER_SOURCE,
    capillary_number,
    dry_film,
    shear_viscosity,
    withdrawn_film,
)
from naptuft.materials.coating import COATING_NAMES, COATINGS
from naptuft.materials.property import COMMON_PRACTICE

JEFFREYS_SOURCE = "Jeffreys, Proc. Cambridge Phil. Soc. 26 (1930) 204, draining of a vertical plate (from memory)"
ENTRAINMENT_SOURCE = "Gutoff and Kendrick, AIChE J. 28 (1982) 459, 5.11 eta^-0.67 (from memory)"
ENTRAINMENT_SHARE = 0.10
UNEVEN_LIMIT = 0.60


@dataclass(frozen=True)
class Drainage:
    """A vertical handle that has left the vat."""

    coating: str = choice(COATING_NAMES, "what is in the vat", default="nitrocellulose lacquer")
    coated_length: float = quantity("mm", "from the ferrule line to the butt", low=10, high=600, example="160 mm")
    withdrawal_speed: float = quantity("mm/s", "speed upwards out of the vat", low=0.05, high=50, default=2)
    lowering_speed: float = quantity("mm/s", "speed down into the vat", low=0.5, high=100, default=10)
    viscosity: float | None = quantity(
        "mPa*s", "at a shear rate of 1/s; left empty, the table's", low=5, high=50000, default=None
    )
    flow_index: float | None = quantity(
        "", "power-law index, 1 for an oil; left empty, the table's", low=0.3, high=1, default=None
    )
    set_time: float = quantity("s", "until the coat no longer runs", low=1, high=7200, default=60)

    @property
    def consistency(self) -> float:
        """Viscosity at a shear rate of 1/s. [Pa s^n]"""
        return float(COATINGS[self.coating].viscosity) if self.viscosity is None else self.viscosity

    @property
    def index(self) -> float:
        """Power-law index used."""
        return float(COATINGS[self.coating].flow_index) if self.flow_index is None else self.flow_index


def draining_film(distance: float, time: float, consistency: float, index: float, density: float) -> float:
    """Film left on a vertical wall some time after it left the bath, below its upper edge. [m]

    Newton: h = sqrt(eta z/(rho g t)); power law: h = [(z/t)^n k/(rho g)]^(1/(n+1))
    distance     z below the upper edge [m]; time t of draining [s]
    consistency  k, the viscosity where index is 1 [Pa s^n]; index n; density [kg/m**3]
    Raises DesignError when time is not above 0.
    Source: Jeffreys 1930; Gutfinger and Tallmadge 1965 (from memory).

    >>> round(draining_film(0.1, 60.0, 0.12, 1.0, 950.0) * 1e6, 1)
    146.5
    """
    if not time > 0:
        raise DesignError(Fault("draining time", time, "above 0", "give the time until the coat sets"))
    return ((distance / time) ** index * consistency / (density * GRAVITY)) ** (1 / (index + 1))


def drawn_film(drainage: Drainage) -> tuple[float, float]:
    """Film as drawn, and the viscosity at the shear of drawing it. [m], [Pa s]"""
    coating = COATINGS[drainage.coating]
    density, tension = float(coating.density), float(coating.surface_tension)
    viscosity = shear_viscosity(drainage.consistency, drainage.index, drainage.withdrawal_speed, tension, density)
    return withdrawn_film(viscosity, drainage.withdrawal_speed, tension, density), viscosity


def film_along(drainage: Drainage, distance: float, drawn: float) -> float:
    """Film at a distance below the ferrule line when it sets: what was drawn, or what drains if thinner. [m]"""
    density = float(COATINGS[drainage.coating].density)
    return min(drawn, draining_film(distance, drainage.set_time, drainage.consistency, drainage.index, density))


def mean_film(drainage: Drainage, drawn: float, steps: int = 200) -> float:
    """Mean film along the handle when it sets. [m]"""
    size = drainage.coated_length / steps
    return sum(film_along(drainage, (k + 0.5) * size, drawn) for k in range(steps)) / steps


def entrainment_speed(viscosity: float) -> float:
    """Speed at which a flat wall going in drags air under with it. [m/s]

    U = 5.11 eta^-0.67, eta in mPa s
    viscosity [Pa s]
    Source: Gutoff and Kendrick 1982 (from memory). Ridges and holes drag air far sooner.

    >>> round(entrainment_speed(0.1), 3)
    0.234
    """
    return 5.11 * (viscosity * 1e3) ** -0.67


def thinned_length(drainage: Drainage, drawn: float) -> float:
    """Length below the ferrule line where draining has thinned the drawn film. [m]"""
    n = drainage.index
    weight = float(COATINGS[drainage.coating].density) * GRAVITY
    reach = drainage.set_time * (drawn ** (n + 1) * weight / drainage.consistency) ** (1 / n)
    return min(reach, drainage.coated_length)


def run_drainage(drainage: Drainage) -> Result:
    """Work out how a coat drains along the handle."""
    coating = COATINGS[drainage.coating]
    drawn, viscosity = drawn_film(drainage)
    top, bottom = (film_along(drainage, drainage.coated_length * share, drawn) for share in (0.1, 1.0))
    mean, thinned = mean_film(drainage, drawn), thinned_length(drainage, drawn)
    limit = ENTRAINMENT_SHARE * entrainment_speed(viscosity)
    uneven = 1 - top / bottom
    values = (
        Value("drawn_film", "wet film as drawn", drawn, "um"),
        Value("top_film", "wet film when set, a tenth below the ferrule line", top, "um"),
        Value("bottom_film", "wet film when set, at the butt", bottom, "um"),
        Value("mean_film", "mean wet film when set", mean, "um"),
        Value("mean_dry_film", "mean dry film", dry_film(mean, float(coating.solids_volume)), "um"),
        Value("thinned_length", "length that draining has thinned", thinned, "mm"),
        Value("working_viscosity", "viscosity at the shear of withdrawal", viscosity, "mPa*s"),
        Value("lowering_limit", "lowering speed free of bubbles", limit, "mm/s"),
    )
    steps = (
        Step("viscosity", "k (U/h)ⁿ⁻¹", viscosity, "mPa*s", POWER_SOURCE),
        Step("drawn film", "0.9458 (ηU)^⅔ / (γ^⅙ √(ρg))", drawn, "um", FILM_SOURCE),
        Step("drained film at the butt", "[(z/t)ⁿ k/(ρg)]^(1/(n+1))", bottom, "um", JEFFREYS_SOURCE),
        Step("lowering speed", "a tenth of 5.11 η^−0.67", limit, "mm/s", ENTRAINMENT_SOURCE),
    )
    checks = (
        Check(
            "lowering speed",
            drainage.lowering_speed,
            limit,
            "at most",
            "mm/s",
            f"{ENTRAINMENT_SOURCE}; a tenth of it for ridges and holes, {COMMON_PRACTICE}",
            "lower the handles slower or thin the coating",
        ),
        Check(
            "film lost at the top by draining",
            uneven,
            UNEVEN_LIMIT,
            "at most",
            "%",
            COMMON_PRACTICE,
            "draw slower for a thinner film, or use a coating that sets sooner",
        ),
    )
    capillary = capillary_number(viscosity, drainage.withdrawal_speed, float(coating.surface_tension))
    remarks = ()
    if capillary > CAPILLARY_LIMIT:
        remarks = (f"The capillary number {capillary:.2g} is outside the film formula's range (well below 0.01).",)
    return Result(values, checks, steps, (VAPOUR_CAUTION, WET_CAUTION) if coating.solvent else (WET_CAUTION,), remarks)


def draw_drainage(drainage: Drainage, result: Result) -> str:
    """Film along the hanging handle when it sets, beside what was drawn."""
    drawn, length = result["drawn_film"], drainage.coated_length
    graph = Graph("film along the handle when it sets", "below the ferrule line, mm", "wet film, µm")
    places = [length * (k / 80) ** 2 for k in range(81)]
    graph.curve([(x * 1e3, film_along(drainage, x, drawn) * 1e6) for x in places], "when set")
    wedge = [
        draining_film(
            x, drainage.set_time, drainage.consistency, drainage.index, float(COATINGS[drainage.coating].density)
        )
        for x in places
    ]
    reached = [(x * 1e3, film * 1e6) for x, film in zip(places, wedge, strict=True) if film <= 1.6 * drawn]
    graph.curve(reached, "draining wedge", "detail")
    graph.level(drawn * 1e6, "as drawn", "second")
    graph.level(result["mean_film"] * 1e6, "mean")
    return graph.svg()


DRAINAGE = Calculation(
    name="coat-drainage",
    title="Draining of a coat",
    line="handle",
    about="How a coat drains along a hanging handle until it sets, with shear thinning, and how fast it may go under.",
    inputs=Drainage,
    run=run_drainage,
    draw=draw_drainage,
)
