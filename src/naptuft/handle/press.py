"""Which press of the plant suits a mould: clamp, shot, time in the barrel, room between the tie bars."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import Calculation, Check, Result, Step, Value, choice, quantity, rows, text
from naptuft.drawing import Drawing
from naptuft.handle.part import PRESS_CAUTIONS, PVC_CAUTION
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.resin import RESIN_NAMES, RESINS

LEAST_BARREL, MOST_BARREL = 0.20, 0.80
INVENTORY_SHOTS = 1.4
INVENTORY_SOURCE = "multiplier 1.4 for what the screw's flights hold, a public moulding guide; 2 for short screws"
SOURCE = f"{COMMON_PRACTICE}: a shot of 20 to 80 % of the barrel's largest"


@dataclass(frozen=True)
class Press:
    """One press of the plant."""

    name: str = text("of the press", example="press 1")
    clamp: float = quantity("kN", "clamp force", low=10, high=60000, example="1200 kN")
    largest_shot: float = quantity("cm**3", "largest shot, volume of melt", low=1, high=50000, example="320 cm**3")
    tie_bar_gap: float = quantity("mm", "least distance between tie bars", low=50, high=5000, example="420 mm")


@dataclass(frozen=True)
class PressChoice:
    """A mould looking for its press."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    shot_mass: float = quantity("g", "parts and runner of one shot", low=0.1, high=50000, example="245 g")
    clamp_force: float = quantity("kN", "clamp force needed, margin included", low=1, high=60000, example="760 kN")
    cycle_time: float = quantity("s", "shot to shot", low=1, high=3600, example="60 s")
    mould_width: float = quantity(
        "mm", "least width of the mould, to pass the tie bars", low=20, high=5000, example="380 mm"
    )
    presses: tuple[Press, ...] = rows(
        Press,
        "the presses there are",
        example="press 1 | 800 kN | 180 cm**3 | 360 mm; press 2 | 1200 kN | 450 cm**3 | 420 mm",
    )


def barrel_use(shot_volume: float, largest_shot: float) -> float:
    """Share of the largest shot that is used.

    >>> barrel_use(160e-6, 320e-6)
    0.5
    """
    return shot_volume / largest_shot


def residence_time(shot_volume: float, largest_shot: float, cycle: float, held: float = INVENTORY_SHOTS) -> float:
    """Mean time the resin stays in the barrel. [s]

    t = held x largest shot / shot x cycle: the screw's flights hold 1.4 largest shots or more
    shot_volume, largest_shot  melt [m**3]; cycle [s]; held largest shots in the barrel
    Source: flow through a full vessel, time = held / rate; the multiplier after a public moulding guide.

    >>> round(residence_time(160e-6, 320e-6, 30.0), 9)
    84.0
    """
    return held * largest_shot / shot_volume * cycle


def press_faults(choice_: PressChoice, press: Press) -> tuple[str, ...]:
    """Why a press does not suit, in words; empty when it does."""
    resin = RESINS[choice_.resin]
    shot = choice_.shot_mass / float(resin.melt_density)
    use = barrel_use(shot, press.largest_shot)
    stay = residence_time(shot, press.largest_shot, choice_.cycle_time)
    reasons = []
    if press.clamp < choice_.clamp_force:
        reasons.append(f"clamps {press.clamp / 1e3:.4g} kN, {choice_.clamp_force / 1e3:.4g} kN needed")
    if not LEAST_BARREL <= use <= MOST_BARREL:
        reasons.append(f"the shot is {use * 100:.0f} % of its largest, 20 to 80 % wanted")
    if stay > float(resin.residence_limit):
        reasons.append(f"the resin stays {stay / 60:.1f} min, {float(resin.residence_limit) / 60:.0f} min allowed")
    if press.tie_bar_gap < choice_.mould_width:
        reasons.append("the mould does not pass its tie bars")
    return tuple(reasons)


def chosen_press(given: PressChoice) -> Press:
    """The smallest press that suits; where none does, the one with the fewest reasons against it."""
    return min(
        given.presses, key=lambda press: (len(press_faults(given, press)), press.clamp, press.largest_shot, press.name)
    )


def run_press(given: PressChoice) -> Result:
    """Choose the smallest press that suits; the nearest one where none does."""
    resin = RESINS[given.resin]
    shot = given.shot_mass / float(resin.melt_density)
    judged = [(press, press_faults(given, press)) for press in given.presses]
    press = chosen_press(given)
    use, stay = barrel_use(shot, press.largest_shot), residence_time(shot, press.largest_shot, given.cycle_time)
    values = (
        Value("presses_suitable", "presses that suit", float(sum(not reasons for _, reasons in judged)), ""),
        Value("clamp", "clamp of the chosen press", press.clamp, "kN"),
        Value("barrel_use", "shot, of its largest", use, "%"),
        Value("residence_time", "time in the barrel", stay, "min"),
    )
    limit = float(resin.residence_limit)
    checks = (
        Check("clamp force", given.clamp_force, press.clamp, "at most", "kN", "clamp rating", "use a larger press"),
        Check("shot, upper end", use, MOST_BARREL, "at most", "%", SOURCE, "use a larger barrel"),
        Check("shot, lower end", use, LEAST_BARREL, "at least", "%", SOURCE, "use a smaller barrel or more cavities"),
        Check(
            "time in the barrel", stay, limit, "at most", "min", resin.residence_limit.source, "use a smaller barrel"
        ),
        Check(
            "mould between tie bars",
            given.mould_width,
            press.tie_bar_gap,
            "at most",
            "mm",
            "geometry",
            "use a larger press",
        ),
    )
    steps = (
        Step("shot as melt", "mass / melt density", shot, "cm**3", resin.melt_density.source),
        Step("time in the barrel", "1.4 × largest shot / shot × cycle", stay, "min", INVENTORY_SOURCE),
    )
    remarks = [f"{press.name} is the smallest that suits." if not press_faults(given, press) else "No press suits."]
    remarks += [f"{p.name}: {'; '.join(reasons)}." for p, reasons in judged if reasons]
    cautions = (*PRESS_CAUTIONS, PVC_CAUTION) if given.resin == "PVC" else PRESS_CAUTIONS
    return Result(values, checks, steps, cautions, tuple(remarks))


def draw_press(given: PressChoice, result: Result) -> str:
    """The mould between the tie bars of the chosen press, to scale."""
    press = chosen_press(given)
    gap, mould = press.tie_bar_gap * 1e3, given.mould_width * 1e3
    bar = 0.09 * gap
    drawing = Drawing(f"mould between the tie bars of {press.name}", width=130, height=110)
    for x in (-1, 1):
        for y in (-1, 1):
            at = (x * (gap + bar) / 2, y * (gap + bar) / 2)
            drawing.circle(at, bar / 2, hatch="cross", hint="tie bar")
    tall = max(mould, 1.15 * gap)
    drawing.rectangle(-mould / 2, -tall / 2, mould, tall, "second", fill="#FCFAF5", hint="mould, smaller side across")
    drawing.dimension((-gap / 2, -gap / 2 - bar), (gap / 2, -gap / 2 - bar), f"gap {gap:g} mm", offset=-9)
    drawing.dimension((-mould / 2, tall / 2), (mould / 2, tall / 2), f"mould {mould:.4g} mm", offset=6)
    drawing.text((0, 0), press.name)
    drawing.text((0, 0.08 * gap), f"{press.clamp / 1e3:.4g} kN, {result['barrel_use'] * 100:.0f} % of its shot")
    return drawing.svg()


PRESS_CHOICE = Calculation(
    name="press-choice",
    title="Press for a mould",
    line="handle",
    about="The smallest press of the plant that suits a mould: clamp, share of the barrel, time in it, tie bars.",
    inputs=PressChoice,
    run=run_press,
    draw=draw_press,
)
