"""Heat through a plate or rod as it happens: any faces, radiation, and heat of fusion on the way.

Finite volumes across the thickness; backward Euler for the first steps, Crank-Nicolson after, the heat
content taken as a secant so that no energy is lost where the resin freezes or melts.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from naptuft.errors import DesignError, Fault

STEFAN_BOLTZMANN = 5.670374419e-8
HELD = 1e9
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Face:
    """What one face meets: a film of air or metal, and a heater that radiates.

    film          heat transfer coefficient [W/m**2/K]; 0: insulated
    surroundings  temperature beyond the film [K]
    emissivity    of face and heater together; 0: no radiation
    heater        temperature of the heater [K]
    """

    film: float = 0.0
    surroundings: float = 0.0
    emissivity: float = 0.0
    heater: float = 0.0

    def flux(self, temperature: float) -> tuple[float, float]:
        """Heat taken in by the face and how fast it falls as the face warms. [W/m**2], [W/m**2/K]

        >>> Face(film=10.0, surroundings=400.0).flux(300.0)
        (1000.0, 10.0)
        """
        radiated = self.emissivity * STEFAN_BOLTZMANN
        gain = self.film * (self.surroundings - temperature) + radiated * (self.heater**4 - temperature**4)
        return gain, self.film + 4 * radiated * temperature**3


@dataclass(frozen=True)
class HeatContent:
    """Heat held by a volume of material as it warms.

    density [kg/m**3]; specific_heat [J/kg/K]
    fusion_heat         taken up on melting, given back on freezing [J/kg]; 0 for glassy resins
    fusion_temperature  middle of the range in which that happens [K]; fusion_width the range [K]
    """

    density: float
    specific_heat: float
    fusion_heat: float = 0.0
    fusion_temperature: float = 0.0
    fusion_width: float = 12.0

    def melted(self, temperature: Array) -> Array:
        """Share of the crystalline part that has melted, in each cell."""
        share = (temperature - self.fusion_temperature) / self.fusion_width + 0.5
        return np.minimum(np.maximum(share, 0.0), 1.0)

    def of(self, temperature: Array) -> Array:
        """Heat content above 0 K of each cell. [J/m**3]"""
        warm = self.density * self.specific_heat * temperature
        return warm + self.density * self.fusion_heat * self.melted(temperature) if self.fusion_heat else warm

    def capacity(self, old: Array, change: Array) -> Array:
        """Heat taken up for each kelvin of a change, a secant. [J/m**3/K]"""
        plain = self.density * self.specific_heat
        if not self.fusion_heat:
            return np.full_like(old, plain)
        change = np.where(np.abs(change) < 1e-3, 1e-3, change)
        latent = self.density * self.fusion_heat * (self.melted(old + change) - self.melted(old))
        return plain + latent / change


@dataclass(frozen=True)
class Course:
    """Temperatures as they run.

    times   shape (m,) [s]
    places  shape (n,), distance from the first face (from the axis of a cylinder) [m]
    temperatures  shape (m, n) [K]
    shares  shape (n,), share of the volume each place stands for
    """

    times: Array
    places: Array
    temperatures: Array
    shares: Array

    @property
    def mean(self) -> Array:
        """Mean temperature at each time. [K]"""
        return self.temperatures @ self.shares

    @property
    def middle(self) -> Array:
        """Temperature at the mid-plane of a plate, shape (m,). [K]"""
        n = len(self.places)
        if n % 2:
            return self.temperatures[:, n // 2]
        return (self.temperatures[:, n // 2 - 1] + self.temperatures[:, n // 2]) / 2

    def when(self, course: Array, value: float) -> float | None:
        """First time a course of temperatures crosses a value, between its points by a straight line. [s]"""
        above = course > value
        crossed = np.nonzero(above[1:] != above[:-1])[0]
        if len(crossed) == 0:
            return None
        k = int(crossed[0])
        part = (value - course[k]) / (course[k + 1] - course[k])
        return float(self.times[k] + part * (self.times[k + 1] - self.times[k]))


def conduct(
    thickness: float,
    conductivity: float,
    content: HeatContent,
    start: float,
    faces: tuple[Face, Face],
    end_time: float,
    *,
    shape: Literal["plate", "cylinder"] = "plate",
    roundness: float | None = None,
    cells: int = 40,
    steps: int = 120,
) -> Course:
    """Temperatures through a plate or a long cylinder that starts at one temperature.

    thickness     full thickness of the plate, or the diameter of the cylinder [m]
    conductivity  [W/m/K]; content heat held [J/m**3]; start [K]
    faces         first and last face; a cylinder has only the last
    roundness     of a solid section between the two: its area grows with this power of the distance from the
                  middle, 0 a half plate, 1 a cylinder (`conduction.section_roundness`); only the last face counts
    end_time      [s]; cells across, steps in time, closer together at first
    Raises DesignError when thickness, conductivity or time is not above 0.
    Source: finite volumes, Patankar, Numerical Heat Transfer and Fluid Flow, 1980 (from memory).

    >>> cold = Face(film=HELD, surroundings=300.0)
    >>> run = conduct(0.01, 0.2, HeatContent(1000.0, 2000.0), 400.0, (cold, cold), 100.0)
    >>> round(float(run.middle[-1]), 1)
    347.4
    """
    faults = [
        Fault(name, value, "above 0", "give the measured value")
        for name, value in (("thickness", thickness), ("conductivity", conductivity), ("end time", end_time))
        if not value > 0
    ]
    if faults:
        raise DesignError(*faults)
    from scipy.linalg import get_lapack_funcs

    power = 1.0 if shape == "cylinder" else roundness
    reach = thickness if power is None else thickness / 2
    edges = np.linspace(0.0, reach, cells + 1)
    size = reach / cells
    places = (edges[1:] + edges[:-1]) / 2
    grow = power or 0.0
    area = (edges / reach) ** grow
    volume = np.diff(edges ** (grow + 1)) / ((grow + 1) * reach**grow)
    link = conductivity * area[1:-1] / size
    times = end_time * (np.arange(steps + 1) / steps) ** 2
    temperature = np.full(cells, float(start))
    rows = np.empty((steps + 1, cells))
    rows[0] = temperature
    half = size / (2 * conductivity)
    (solve,) = get_lapack_funcs(("gtsv",), dtype=np.float64)

    def outer(end: int) -> tuple[float, float]:
        """Heat into an end cell through its face, and how it falls with the cell's temperature."""
        face, cell = faces[end], float(temperature[0 if end == 0 else -1])
        surface = cell
        for _ in range(3 if face.emissivity else 1):
            gain, fall = face.flux(surface)
            surface -= (surface - cell - half * gain) / (1 + half * fall)
        gain, fall = face.flux(surface)
        through = float(area[0 if end == 0 else -1])
        return through * gain, through * fall / (1 + half * fall)

    for k in range(steps):
        tick = times[k + 1] - times[k]
        weight = 1.0 if k < 8 else 0.5
        inward = np.zeros(cells)
        flow = link * np.diff(temperature)
        inward[:-1] += flow
        inward[1:] -= flow
        falls = np.zeros(cells)
        for end, cell in ((0, 0), (1, cells - 1)):
            if end == 0 and power is not None:
                continue
            gain, fall = outer(end)
            inward[cell] += gain
            falls[cell] += fall
        side = -weight * link
        change = np.zeros(cells)
        for _ in range(3 if content.fusion_heat else 1):
            store = content.capacity(temperature, change) * volume / tick
            middle = store + weight * falls
            middle[:-1] += weight * link
            middle[1:] += weight * link
            change = solve(side, middle, side, inward)[3]
        temperature = temperature + change
        rows[k + 1] = temperature
    return Course(times, places, rows, volume / volume.sum())
