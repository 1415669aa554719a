"""The mould seen from above: cavities in two rows, the runner that feeds them, the sprue and its cold slugs."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, tan

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, whole
from naptuft.drawing import Drawing
from naptuft.errors import DesignError, Fault
from naptuft.handle.moulding import cylinder_cooling_time
from naptuft.handle.part import PRESS_CAUTIONS
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.resin import RESIN_NAMES, RESINS

DIAMETER_SOURCE = (
    "Pye, Injection Mould Design, 4th ed. 1989, D = √W ∜L / 3.7 in grams and millimetres (from memory); "
    "between 3 and 10 mm"
)
BRANCH_SOURCE = "one wide channel loses as much pressure as the N it feeds: D N^⅓, laminar flow"
SLUG_SOURCE = f"{COMMON_PRACTICE}: a well as deep as the sprue is wide, runner ends one and a half diameters on"
LEAST_DIAMETER, MOST_DIAMETER = 3e-3, 10e-3
WASTE_LIMIT = 0.25


@dataclass(frozen=True)
class Runner:
    """Cavities in two rows on either side of a main runner, fed from a sprue in its middle."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    cavities: int = whole("in the mould: 1, or an even number in two rows", low=1, high=64, example="4")
    part_volume: float = quantity("cm**3", "of one part", low=0.05, high=2000, example="63 cm**3")
    part_length: float = quantity("mm", "away from the runner", low=3, high=600, example="180 mm")
    part_width: float = quantity("mm", "along the runner", low=2, high=400, example="48 mm")
    between: float = quantity("mm", "steel between two cavities", low=3, high=100, default=18)
    border: float = quantity("mm", "steel outside the cavities", low=10, high=200, default=40)
    branch_length: float = quantity("mm", "from the main runner to a cavity", low=1, high=200, default=15)
    gate_thickness: float = quantity("mm", "of the gate", low=0.2, high=20, default=2)
    sprue_length: float = quantity("mm", "from the nozzle to the parting line", low=10, high=300, default=70)
    sprue_nozzle: float = quantity("mm", "diameter of the sprue at the nozzle", low=2, high=12, default=4.5)
    sprue_taper: float = quantity("deg", "of the sprue, both sides together", low=1, high=8, default=3)

    def __post_init__(self) -> None:
        if self.cavities > 1 and self.cavities % 2:
            raise DesignError(
                Fault("cavities", self.cavities, "1 or an even number", "rows on both sides fill alike only in pairs")
            )

    @property
    def columns(self) -> int:
        """Cavities beside each other on one side of the main runner."""
        return max(1, self.cavities // 2)

    @property
    def pitch(self) -> float:
        """From one cavity to the next along the main runner. [m]"""
        return self.part_width + self.between


@dataclass(frozen=True)
class Channels:
    """What the melt runs through outside the parts. Lengths and diameters [m], volumes [m**3], area [m**2].

    branch, main  diameters of the branches and of the main runner; both 0 with one cavity under the sprue
    branch_length of one branch; main_length from end to end, its cold slugs included
    sprue_foot    diameter of the sprue where it meets the runner
    slugs         volume of the cold slugs: under the sprue and at the ends of the main runner
    area          seen in the direction the mould opens
    """

    branch: float
    main: float
    branch_length: float
    main_length: float
    sprue_foot: float
    volume: float
    slugs: float
    area: float


def branch_diameter(part_mass: float, length: float) -> float:
    """Diameter of the channel that feeds one cavity. [m]

    D = sqrt(W) L^(1/4) / 3.7, W in grams, L and D in millimetres; kept between 3 and 10 mm
    part_mass  [kg]; length of the channel [m]
    Valid for: parts up to about 200 g with walls up to 3 mm.
    Source: Pye, Injection Mould Design, 4th ed. 1989 (from memory); limits common practice.

    >>> round(branch_diameter(0.060, 0.050) * 1e3, 2)
    5.57
    """
    printed = (part_mass * 1e3) ** 0.5 * (length * 1e3) ** 0.25 / 3.7 * 1e-3
    return min(MOST_DIAMETER, max(LEAST_DIAMETER, printed))


def feeding_diameter(branch: float, fed: int) -> float:
    """Diameter of a channel that feeds several branches with the same loss of pressure a length. [m]

    D = d N^(1/3)
    branch  d [m]; fed N, how many branches
    Source: laminar flow, the shear at the wall kept: flow over the cube of the diameter.

    >>> round(feeding_diameter(5e-3, 8) * 1e3, 6)
    10.0
    """
    return branch * fed ** (1 / 3)


def frustum(length: float, small: float, large: float) -> float:
    """Volume of a tapered round channel. [m**3]

    >>> round(frustum(0.3, 0.02, 0.02) * 1e6, 2)
    94.25
    """
    return pi / 12 * length * (small * small + small * large + large * large)


def channels(runner: Runner) -> Channels:
    """Runner, sprue and cold slugs of a mould."""
    foot = runner.sprue_nozzle + 2 * runner.sprue_length * tan(runner.sprue_taper / 2)
    sprue = frustum(runner.sprue_length, runner.sprue_nozzle, foot)
    if runner.cavities == 1:
        return Channels(0.0, 0.0, 0.0, 0.0, foot, sprue, 0.0, pi / 4 * foot**2)
    mass = runner.part_volume * float(RESINS[runner.resin].density)
    half = (runner.columns - 1) * runner.pitch / 2
    branch = branch_diameter(mass, half + runner.branch_length)
    main = feeding_diameter(branch, max(2, runner.cavities // 2))
    ends = 1.5 * main if runner.columns > 1 else 0.0
    main_length = max(2 * half + 2 * ends, foot)
    slugs = pi / 4 * (foot**2 * foot + main**2 * 2 * ends)
    volume = (
        sprue
        + pi / 4 * main**2 * (main_length - 2 * ends)
        + pi / 4 * branch**2 * runner.branch_length * runner.cavities
        + slugs
    )
    area = main * main_length + branch * runner.branch_length * runner.cavities
    return Channels(branch, main, runner.branch_length, main_length, foot, volume, slugs, area)


def mould_plan(runner: Runner) -> tuple[float, float]:
    """Plan of the mould plate: along the main runner and across it. [m]"""
    along = runner.columns * runner.part_width + (runner.columns - 1) * runner.between + 2 * runner.border
    across = (runner.part_length if runner.cavities == 1 else 2 * (runner.part_length + runner.branch_length)) + (
        2 * runner.border
    )
    return along, across


def run_runner(runner: Runner) -> Result:
    """Work out the runner, the sprue and the plan of the mould."""
    resin = RESINS[runner.resin]
    found = channels(runner)
    density = float(resin.density)
    parts = runner.cavities * runner.part_volume
    share = found.volume / (found.volume + parts)
    along, across = mould_plan(runner)
    melt, mould, ejection = (
        float(t) for t in (resin.melt_temperature, resin.mould_temperature, resin.ejection_temperature)
    )
    thickest = max(found.main, found.sprue_foot)
    sets = cylinder_cooling_time(thickest, float(resin.diffusivity), melt, mould, ejection)
    values = (
        Value("runner_volume", "runner, sprue and cold slugs, volume", found.volume, "cm**3"),
        Value("runner_mass", "runner, sprue and cold slugs, mass", found.volume * density, "g"),
        Value("runner_share", "of the shot", share, "%"),
        Value("runner_area", "seen in the direction the mould opens", found.area, "cm**2"),
        Value("slug_volume", "of which cold slugs", found.slugs, "cm**3"),
        Value("branch_diameter", "branch to a cavity", found.branch, "mm"),
        Value("main_diameter", "main runner", found.main, "mm"),
        Value("main_length", "main runner, end to end", found.main_length, "mm"),
        Value("sprue_foot", "sprue at the parting line", found.sprue_foot, "mm"),
        Value("runner_cooling", "until runner and sprue may be pushed out", sets, "s"),
        Value("mould_along", "mould plate, along the runner", along, "mm"),
        Value("mould_across", "mould plate, across it", across, "mm"),
        Value("mould_width", "its smaller side", min(along, across), "mm"),
    )
    steps = (
        Step("branch", "√W ∜L / 3.7", found.branch, "mm", DIAMETER_SOURCE),
        Step("main runner", "d N^⅓, N the cavities on each side", found.main, "mm", BRANCH_SOURCE),
        Step("sprue", "nozzle + 2 length tan(taper/2)", found.sprue_foot, "mm", "geometry"),
        Step("cold slugs", "π/4 (foot³ + 2 × 1.5 main³)", found.slugs, "cm**3", SLUG_SOURCE),
        Step("runner", "π/4 Σ D² L + sprue + slugs", found.volume, "cm**3", "geometry"),
    )
    checks = (
        Check(
            "runner share of the shot",
            share,
            WASTE_LIMIT,
            "at most",
            "%",
            f"{COMMON_PRACTICE}: all of it fed back keeps the feed at a quarter regrind",
            "place the cavities closer, shorten the sprue or use a heated runner",
        ),
        Check(
            "gate against the branch",
            runner.gate_thickness,
            max(found.branch, found.sprue_foot if runner.cavities == 1 else 0.0),
            "at most",
            "mm",
            "geometry",
            "thin the gate",
        ),
    )
    remarks = ()
    mass = runner.part_volume * density
    if mass > 0.2 and runner.cavities > 1:
        remarks = (f"Parts of {mass * 1e3:.0f} g are outside the runner formula's range, up to about 200 g.",)
    return Result(values, checks, steps, PRESS_CAUTIONS, remarks)


def draw_runner(runner: Runner, result: Result) -> str:
    """Plan of the mould half: cavities, runner, sprue and cold slugs, to scale."""
    found = channels(runner)
    along, across = (side * 1e3 for side in mould_plan(runner))
    drawing = Drawing(f"mould plan, {runner.cavities} cavities", width=170, height=150)
    drawing.rectangle(-along / 2, -across / 2, along, across, "detail", hint="mould plate")
    wide, long = runner.part_width * 1e3, runner.part_length * 1e3
    branch = found.branch_length * 1e3
    sides = (1,) if runner.cavities == 1 else (-1, 1)
    for column in range(runner.columns):
        x = (column - (runner.columns - 1) / 2) * runner.pitch * 1e3
        for side in sides:
            near = side * branch if runner.cavities > 1 else -long / 2
            top = min(near, near + side * long)
            drawing.rectangle(x - wide / 2, top, wide, long, hatch="diagonal", hint="cavity, its outer measures")
            if runner.cavities > 1:
                thick = found.branch * 1e3
                drawing.rectangle(x - thick / 2, min(0.0, near), thick, branch, "second", fill="#FCFAF5", hint="branch")
    if runner.cavities > 1:
        half, thick = found.main_length * 500, found.main * 1e3
        drawing.rectangle(
            -half, -thick / 2, 2 * half, thick, "second", fill="#FCFAF5", hint="main runner, slugs at ends"
        )
    drawing.circle((0, 0), found.sprue_foot * 500, "accent", fill="#FCFAF5", hint="sprue over its cold slug")
    drawing.dimension((-along / 2, -across / 2), (along / 2, -across / 2), f"{along:.4g} mm", offset=-6)
    drawing.dimension((along / 2, across / 2), (along / 2, -across / 2), f"{across:.4g} mm", offset=6)
    words = f"runner {result['runner_mass'] * 1e3:.1f} g, {result['runner_share'] * 100:.1f} % of the shot"
    drawing.text((0, across / 2 + 0.05 * across), words)
    return drawing.svg()


RUNNER = Calculation(
    name="runner",
    title="Runner and plan of a mould",
    line="handle",
    about="Runner, sprue and cold slugs that feed the cavities of a mould, what they weigh, and how large the mould gets.",
    inputs=Runner,
    run=run_runner,
    draw=draw_runner,
)
