"""Transient heat through a plate and a cylinder: ours beside scipy's stiff integrator, both against the series.

    python benchmarks/transient_heat.py [--repeat N]

Each row: case, worst error of the mean over the course as a share of the step, and the best time of N runs.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from time import perf_counter

import numpy as np
from scipy.integrate import solve_ivp

from naptuft.materials.conduction import cylinder_mean_ratio, plate_mean_ratio
from naptuft.materials.transient import HELD, Face, HeatContent, conduct

THICKNESS, CONDUCTIVITY, COLD, HOT = 0.018, 0.2, 300.0, 480.0
CONTENT = HeatContent(905.0, 2200.0)
DIFFUSIVITY = CONDUCTIVITY / (CONTENT.density * CONTENT.specific_heat)
END = 0.4 * THICKNESS**2 / DIFFUSIVITY
CELLS = 40


def ours(shape: str) -> tuple[np.ndarray, np.ndarray]:
    """Times and mean temperature ratios of our course."""
    face = Face(film=HELD, surroundings=COLD)
    run = conduct(
        THICKNESS,
        CONDUCTIVITY,
        CONTENT,
        HOT,
        (face, face),
        END,
        shape="cylinder" if shape == "cylinder" else "plate",
        cells=CELLS,
    )
    return run.times, (run.mean - COLD) / (HOT - COLD)


def by_lines(shape: str) -> tuple[np.ndarray, np.ndarray]:
    """The same cells by the method of lines and scipy's BDF, with the banded Jacobian LSODA takes."""
    reach = THICKNESS if shape == "plate" else THICKNESS / 2
    edges = np.linspace(0, reach, CELLS + 1)
    size = reach / CELLS
    area = np.ones(CELLS + 1) if shape == "plate" else edges / reach
    volume = np.full(CELLS, size) if shape == "plate" else (edges[1:] ** 2 - edges[:-1] ** 2) / (2 * reach)

    def rate(_: float, t: np.ndarray) -> np.ndarray:
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


def worst(times: np.ndarray, ratios: np.ndarray, series: Callable[[float], float]) -> float:
    """Worst error of a course against the series, from a Fourier number of 0.005 on."""
    fourier = DIFFUSIVITY * times / THICKNESS**2
    return max(abs(ratio - series(fo)) for fo, ratio in zip(fourier, ratios, strict=True) if fo > 0.005)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeat", type=int, default=7)
    repeat = parser.parse_args().repeat
    print(f"{'case':<22}{'method':<26}{'worst error':>12}{'best time':>12}")
    for shape, series in (("plate", plate_mean_ratio), ("cylinder", cylinder_mean_ratio)):
        for method, solve in (("ours", ours), ("method of lines, LSODA", by_lines)):
            times, ratios = solve(shape)
            best = float("inf")
            for _ in range(repeat):
                begun = perf_counter()
                solve(shape)
                best = min(best, perf_counter() - begun)
            error = worst(times, ratios, series)
            print(f"{shape + ', 18 mm':<22}{method:<26}{error * 100:>10.3f} %{best * 1e3:>9.1f} ms")


if __name__ == "__main__":
    main()
