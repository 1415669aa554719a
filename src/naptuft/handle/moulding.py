"""Injection moulding of handles, grips, bearings and cage ends: shot, cooling, clamp and cycle.

The flat-plate formula takes the full wall thickness s. A form written with the half thickness exists;
putting the full thickness into it gives a quarter of the true time.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log, pi

from naptuft.errors import DesignError, Fault
from naptuft.materials.conduction import BESSEL_ZERO

PLATE_SOURCE = "Menges and Mohren, How to Make Injection Molds, cooling time of a plate (from memory)"
CYLINDER_SOURCE = "Menges and Mohren, How to Make Injection Molds, cooling time of a cylinder (from memory)"
SECTION_SOURCE = "plate and cylinder joined; exact for both, on the safe side between them"
CLAMP_SOURCE = "Crawford, Plastics Engineering, 3rd ed. 1998, section 4.3 (from memory)"


@dataclass(frozen=True)
class Shot:
    """Masses of one shot. [kg]

    part     one part; parts all cavities
    runner   runner and sprue; reground the share of it that goes back to the hopper
    lost     runner not reground
    """

    part: float
    cavities: int
    runner: float
    reground: float

    @property
    def parts(self) -> float:
        """All parts of the shot. [kg]"""
        return self.part * self.cavities

    @property
    def total(self) -> float:
        """Everything injected. [kg]

        >>> Shot(0.030, 4, 0.010, 0.008).total
        0.13
        """
        return self.parts + self.runner

    @property
    def lost(self) -> float:
        """Runner not reground. [kg]"""
        return self.runner - self.reground

    @property
    def runner_share(self) -> float:
        """Runner as a share of the shot."""
        return self.runner / self.total

    @property
    def resin_per_part(self) -> float:
        """Resin that leaves stock for one good part: the part and its share of runner not reground. [kg]"""
        return self.part + self.lost / self.cavities

    @property
    def regrind_per_part(self) -> float:
        """Runner reground for one part. [kg]"""
        return self.reground / self.cavities

    @property
    def regrind_in_feed(self) -> float:
        """Share of regrind in what is fed once each shot feeds back the last one's."""
        return self.reground / self.total


def shot(part_volume: float, cavities: int, runner_volume: float, density: float, reground_share: float) -> Shot:
    """Masses of a shot from volumes of the solid parts and runner.

    part_volume, runner_volume  [m**3]; density of the solid [kg/m**3]; reground_share 0 to 1 of the runner
    Raises DesignError for a share outside 0 to 1 or fewer than one cavity.
    Source: mass balance.

    >>> round(shot(33e-6, 4, 8e-6, 905, 1.0).total, 4)
    0.1267
    """
    faults = []
    if cavities < 1:
        faults.append(Fault("cavities", cavities, "at least 1", "give the number of cavities in the mould"))
    if not 0 <= reground_share <= 1:
        faults.append(Fault("runner reground", reground_share, "between 0 and 100 %", "give a share of the runner"))
    if faults:
        raise DesignError(*faults)
    runner = runner_volume * density
    return Shot(part_volume * density, cavities, runner, runner * reground_share)


def temperature_ratio(melt: float, mould: float, ejection: float) -> float:
    """(T_melt - T_mould) / (T_ejection - T_mould), above 1.

    Raises DesignError unless mould < ejection < melt.

    >>> round(temperature_ratio(513.15, 333.15, 393.15), 9)
    3.0
    """
    if not mould < ejection < melt:
        raise DesignError(
            Fault(
                "ejection temperature",
                round(ejection - 273.15, 2),
                f"between the mould ({mould - 273.15:.4g} °C) and the melt ({melt - 273.15:.4g} °C)",
                "cool the mould further or eject warmer",
            )
        )
    return (melt - mould) / (ejection - mould)


def plate_cooling_time(
    thickness: float, diffusivity: float, melt: float, mould: float, ejection: float, *, mean: bool = False
) -> float:
    """Time for a plate between two mould faces to cool to the ejection temperature. [s]

    Mid-plane: s**2/(pi**2 a) ln(4/pi (T_melt - T_mould)/(T_ejection - T_mould))
    Mean:      s**2/(pi**2 a) ln(8/pi**2 (T_melt - T_mould)/(T_ejection - T_mould))
    thickness    full wall s [m]; diffusivity a [m**2/s]; temperatures [K]
    mean         True: the mean over the wall reaches the ejection temperature; False: the mid-plane does
    Valid for: a t / s**2 above 0.05, where one term of the series is enough; never below 0.
    Raises DesignError unless mould < ejection < melt.
    Source: Menges and Mohren, How to Make Injection Molds (from memory); first term of the series.

    >>> round(plate_cooling_time(0.008, 0.10e-6, 513.15, 333.15, 393.15), 1)
    86.9
    """
    factor = 8 / pi**2 if mean else 4 / pi
    return thickness**2 / (pi**2 * diffusivity) * _log_of(factor, melt, mould, ejection)


def cylinder_cooling_time(
    diameter: float, diffusivity: float, melt: float, mould: float, ejection: float, *, mean: bool = True
) -> float:
    """Time for a long cylinder in a mould to cool to the ejection temperature. [s]

    Mean: D**2/(23.14 a) ln(0.692 ratio); axis: D**2/(23.14 a) ln(1.602 ratio); 23.14 = 4 x 2.4048**2
    diameter  D [m]; diffusivity a [m**2/s]; temperatures [K]
    Raises DesignError unless mould < ejection < melt.
    Source: Menges and Mohren, How to Make Injection Molds (from memory); first zero of J0.

    >>> round(cylinder_cooling_time(0.020, 0.085e-6, 478.15, 303.15, 363.15))
    143
    """
    factor = 4 / BESSEL_ZERO**2 if mean else 1.6019746
    return diameter**2 / (4 * BESSEL_ZERO**2 * diffusivity) * _log_of(factor, melt, mould, ejection)


def section_cooling_time(
    thickness: float,
    width: float,
    diffusivity: float,
    melt: float,
    mould: float,
    ejection: float,
    *,
    mean: bool,
) -> float:
    """Time for a long solid section, oval or flat, to cool to the ejection temperature. [s]

    Decay rate a (pi**2/s**2 + (23.14 - pi**2)/w**2): that of a plate for a wide section and of a cylinder
    for a round one; slower than the true rate between them, hence on the safe side. The start factor is
    the plate's (larger for the mean), again on the safe side.
    thickness, width  s <= w [m]
    Raises DesignError unless mould < ejection < melt.
    Source: plate and cylinder joined.

    >>> wide = section_cooling_time(0.018, 10.0, 0.085e-6, 478.15, 303.15, 363.15, mean=False)
    >>> round(wide / plate_cooling_time(0.018, 0.085e-6, 478.15, 303.15, 363.15), 2)
    1.0
    """
    small, large = sorted((thickness, width))
    rate = diffusivity * (pi**2 / small**2 + (4 * BESSEL_ZERO**2 - pi**2) / large**2)
    factor = 8 / pi**2 if mean else _centre_factor(small / large)
    return _log_of(factor, melt, mould, ejection) / rate


def _centre_factor(roundness: float) -> float:
    """From 4/pi of a plate to 1.602 of a cylinder."""
    return 4 / pi + (1.6019746 - 4 / pi) * roundness


def _log_of(factor: float, melt: float, mould: float, ejection: float) -> float:
    return max(0.0, log(factor * temperature_ratio(melt, mould, ejection)))


def gate_freeze_time(gate: float, diffusivity: float, melt: float, mould: float, solid: float) -> float:
    """Time until the middle of the gate has set; holding pressure after that does nothing. [s]

    s**2/(pi**2 a) ln(4/pi (T_melt - T_mould)/(T_solid - T_mould)), the plate formula with the gate's thickness
    gate         thickness s of the gate [m]; diffusivity a [m**2/s]; temperatures [K]
    Raises DesignError unless mould < solid < melt.
    Source: Menges and Mohren, How to Make Injection Molds (from memory).

    >>> round(gate_freeze_time(0.0015, 0.085e-6, 493.15, 313.15, 388.15), 2)
    3.0
    """
    return plate_cooling_time(gate, diffusivity, melt, mould, solid)


def clamp_force(projected_area: float, cavity_pressure: float, margin: float = 1.0) -> float:
    """Force to hold the mould shut against the melt. [N]

    F = A p x margin
    projected_area   all cavities and the runner, seen in the direction of opening [m**2]
    cavity_pressure  mean over the cavity [Pa]; margin 1.1 for ten per cent in hand
    Source: Crawford, Plastics Engineering, section 4.3 (from memory).

    >>> round(clamp_force(0.01, 30e6) / 1e3)
    300
    """
    return projected_area * cavity_pressure * margin


def cycle_time(fill: float, pack: float, cooling: float, open_and_eject: float) -> float:
    """Time from shot to shot: fill, pack, the cooling that is left after packing, open, eject, close. [s]

    The cooling time counts from the end of filling, so that packing is part of it; a pack longer than the
    cooling time sets the pace.
    Source: common practice.

    >>> cycle_time(2.0, 6.0, 20.0, 5.0)
    27.0
    """
    return fill + max(pack, cooling) + open_and_eject


def cavities_for(demand_rate: float, cycle: float, availability: float = 0.85) -> int:
    """Cavities that keep pace with a demand. [whole]

    ceil(demand x cycle / availability)
    demand_rate  parts per second; cycle [s]; availability share of the time the press makes good shots
    Source: common practice.

    >>> cavities_for(600 / 3600, 45.0)
    9
    """
    return max(1, ceil(demand_rate * cycle / availability - 1e-9))


def press_energy(heat: float, efficiency: float) -> float:
    """Electricity the press takes for a heat put into the resin. [J]

    heat / efficiency
    Source: common practice; 0.3 to 0.5 with hydraulic drives, higher with electric ones.

    >>> press_energy(35e3, 0.35)
    100000.0
    """
    return heat / efficiency
