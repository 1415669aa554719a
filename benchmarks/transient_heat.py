"""Transient heat through plates, rods and sheets: ours beside scipy's stiff integrator, both against exact solutions.

    python benchmarks/transient_heat.py [--repeat N]

Each row: case, worst error over the course as a share of the step in temperature, and the best time of N runs.
Exact solutions: series of Carslaw and Jaeger 3.3 and 7.6; plate through a film, 3.11; Neumann's freezing, 11.2; a thin
sheet between radiant heaters, Incropera and DeWitt, equation 5.18. Goal: every one under 50 ms.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from math import atan, erf, exp, log, pi, sin, sqrt, tan
from time import perf_counter

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from naptuft.materials.conduction import cylinder_mean_ratio, plate_mean_ratio, section_roundness
from naptuft.materials.transient import HELD, STEFAN_BOLTZMANN, Array, Course, Face, HeatContent, conduct

THICKNESS, CONDUCTIVITY, COLD, HOT = 0.018, 0.2, 300.0, 480.0
CONTENT = HeatContent(905.0, 2200.0)
DIFFUSIVITY = CONDUCTIVITY / (CONTENT.density * CONTENT.specific_heat)
END = 0.4 * THICKNESS**2 / DIFFUSIVITY
CELLS = 40
LIMIT = 0.050


@dataclass(frozen=True)
class Case:
    """One course to time: how it is run, and its worst error as a share of the step."""

    name: str
    method: str
    run: Callable[[], object]
    error: Callable[[], float]


def held(shape: str) -> Course:
    """Our course of a plate or rod whose faces are held cold."""
    face = Face(film=HELD, surroundings=COLD)
    roundness = 1.0 if shape == "cylinder" else None
    return conduct(THICKNESS, CONDUCTIVITY, CONTENT, HOT, (face, face), END, roundness=roundness, cells=CELLS)


def by_lines(shape: str) -> tuple[Array, Array]:
    """The same cells by the method of lines and scipy's LSODA with its banded Jacobian: times and mean ratios."""
    reach = THICKNESS if shape == "plate" else THICKNESS / 2
    edges = np.linspace(0, reach, CELLS + 1)
    size = reach / CELLS
    area = np.ones(CELLS + 1) if shape == "plate" else edges / reach
    volume = np.full(CELLS, size) if shape == "plate" else (edges[1:] ** 2 - edges[:-1] ** 2) / (2 * reach)

    def rate(_: float, t: Array) -> Array:
        flux = area[1:-1] * np.diff(t) / size
        gain = np.zeros(CELLS)
        gain[:-1] += flux
        gain[1:] -= flux
        gain[-1] += area[-1] * (COLD - t[-1]) / (size / 2)
        if shape == "plate":
            gain[0] += (COLD - t[0]) / (size / 2)
        return DIFFUSIVITY * gain / volume

    run = solve_ivp(rate, (0, END), np.full(CELLS, HOT), method="LSODA", rtol=1e-4, atol=1e-3, lband=1, uband=1)
    return run.t, (volume / volume.sum() @ run.y - COLD) / (HOT - COLD)


def against(times: Array, ratios: Array, series: Callable[[float], float]) -> float:
    """Worst error of a course against a series, from a Fourier number of 0.005 on."""
    fourier = DIFFUSIVITY * times / THICKNESS**2
    return max(abs(ratio - series(fo)) for fo, ratio in zip(fourier, ratios, strict=True) if fo > 0.005)


def mean_ratio(course: Course) -> Array:
    """Mean temperature as a share of the step."""
    return (course.mean - COLD) / (HOT - COLD)


def filmed() -> Course:
    """Our course of a plate cooled through a film on both faces, Biot number 1."""
    face = Face(film=2 * CONDUCTIVITY / THICKNESS, surroundings=COLD)
    return conduct(THICKNESS, CONDUCTIVITY, CONTENT, HOT, (face, face), 4 * END, cells=CELLS)


def film_series(fourier: float) -> float:
    """Mid-plane ratio at a Biot number of 1, thirty terms; Fourier number of the full thickness."""
    roots = [float(brentq(lambda z: z * tan(z) - 1, n * pi + 1e-9, n * pi + pi / 2 - 1e-9)) for n in range(30)]  # type: ignore[arg-type]
    return sum(4 * sin(z) / (2 * z + sin(2 * z)) * exp(-z * z * 4 * fourier) for z in roots)


def oval() -> Course:
    """Our course of an oval of 18 by 30 mm."""
    face = Face(film=HELD, surroundings=COLD)
    return conduct(
        THICKNESS, CONDUCTIVITY, CONTENT, HOT, (face, face), END, roundness=section_roundness(THICKNESS, 0.030)
    )


def oval_error() -> float:
    """How far the late decay of the oval is from pi2/s2 + (23.14 - pi2)/w2, as a share of it."""
    course = oval()
    late = course.times > 0.5 * END
    slope = np.polyfit(course.times[late], np.log(mean_ratio(course)[late]), 1)[0]
    exact = DIFFUSIVITY * (pi**2 / THICKNESS**2 + (4 * 2.404825557695773**2 - pi**2) / 0.030**2)
    return abs(-slope / exact - 1)


FREEZING = HeatContent(905.0, 2000.0, 100e3, 388.0, fusion_width=3.0)


def freezing() -> Course:
    """Our course of a melt at its freezing point on one cold face."""
    return conduct(0.02, CONDUCTIVITY, FREEZING, 389.6, (Face(film=HELD, surroundings=310.0), Face()), 60.0)


def freezing_error() -> float:
    """Depth set after a minute against Neumann's, as a share of it."""
    stefan = 2000.0 * (388.0 - 310.0) / 100e3
    root = float(brentq(lambda m: sqrt(pi) * m * exp(m * m) * erf(m) - stefan, 1e-3, 2.0))  # type: ignore[arg-type]
    exact = 2 * root * sqrt(CONDUCTIVITY / (905.0 * 2000.0) * 60.0)
    course = freezing()
    return abs(float(np.interp(388.0, course.temperatures[-1], course.places)) / exact - 1)


def radiated() -> Course:
    """Our course of a thin sheet that conducts well between two radiant heaters."""
    heater = Face(emissivity=0.8, heater=673.15)
    return conduct(0.0012, 150.0, HeatContent(1050.0, 1800.0), 293.15, (heater, heater), 40.0)


def radiated_error() -> float:
    """Time to 150 degC against the closed form, as a share of it."""
    start, end, hot = 293.15, 423.15, 673.15
    logs = log((hot + end) / (hot - end)) - log((hot + start) / (hot - start))
    arcs = 2 * (atan(end / hot) - atan(start / hot))
    exact = 1050.0 * 1800.0 * 0.0006 / (4 * 0.8 * STEFAN_BOLTZMANN * hot**3) * (logs + arcs)
    course = radiated()
    found = course.when(course.mean, end)
    assert found is not None
    return abs(found / exact - 1)


def film_error() -> float:
    """Worst error of the middle through a film, from a Fourier number of 0.02 on."""
    course = filmed()
    ratios = (course.middle - COLD) / (HOT - COLD)
    fourier = DIFFUSIVITY * course.times / THICKNESS**2
    return max(abs(r - film_series(fo)) for fo, r in zip(fourier[::6], ratios[::6], strict=True) if fo > 0.02)


CASES = (
    *(
        case
        for shape, series in (("plate", plate_mean_ratio), ("cylinder", cylinder_mean_ratio))
        for case in (
            Case(
                f"{shape}, faces held",
                "ours",
                lambda shape=shape: held(shape),
                lambda shape=shape, series=series: against(held(shape).times, mean_ratio(held(shape)), series),
            ),
            Case(
                f"{shape}, faces held",
                "method of lines, LSODA",
                lambda shape=shape: by_lines(shape),
                lambda shape=shape, series=series: against(*by_lines(shape), series),
            ),
        )
    ),
    Case("plate through a film", "ours", filmed, film_error),
    Case("oval, 18 by 30 mm", "ours, decay", oval, oval_error),
    Case("freezing melt", "ours, depth", freezing, freezing_error),
    Case("sheet under heaters", "ours, time", radiated, radiated_error),
)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeat", type=int, default=7)
    repeat = parser.parse_args().repeat
    print(f"{'case':<24}{'method':<26}{'worst error':>12}{'best time':>12}")
    slow = []
    for case in CASES:
        case.run()
        best = float("inf")
        for _ in range(repeat):
            begun = perf_counter()
            case.run()
            best = min(best, perf_counter() - begun)
        if case.method.startswith("ours") and best > LIMIT:
            slow.append(case.name)
        print(f"{case.name:<24}{case.method:<26}{case.error() * 100:>10.3f} %{best * 1e3:>9.1f} ms")
    print("all of ours under 50 ms" if not slow else "over 50 ms: " + ", ".join(slow))


if __name__ == "__main__":
    main()
