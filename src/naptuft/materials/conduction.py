"""Heat in and out of plates and rods of resin: the exact series, for cooling in a mould and heating of sheet.

Ratios are (T - T_wall) / (T_start - T_wall). The Fourier number of a plate is a t / s**2 with the full
thickness s, that of a cylinder a t / D**2 with the full diameter D.
"""

from __future__ import annotations

from math import cos, erf, exp, pi, sin, sqrt, tan

from naptuft.errors import DesignError, Fault

BESSEL_ZERO = 2.404825557695773
WATER_DENSITY, WATER_HEAT = 998.0, 4182.0
FOURIER_SHORT = 5e-4


def plate_ratio(place: float, fourier: float) -> float:
    """Temperature ratio inside a plate whose two faces are held at the wall temperature.

    sum over n of 4/((2n+1) pi) sin((2n+1) pi x/s) exp(-(2n+1)^2 pi^2 Fo)
    place    x/s, 0 at one face, 0.5 at the mid-plane, 1 at the other
    fourier  a t / s**2, at least 0.0005 (below it the series needs more terms than it is given)
    Raises DesignError outside those ranges.
    Source: Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 3.3.

    >>> round(plate_ratio(0.5, 0.1), 4)
    0.4745
    """
    faults = _range_faults(place, fourier)
    if faults:
        raise DesignError(*faults)
    total = 0.0
    for n in range(200):
        odd = 2 * n + 1
        term = exp(-((odd * pi) ** 2) * fourier)
        total += 4 / (odd * pi) * sin(odd * pi * place) * term
        if term < 1e-14:
            break
    return total


def plate_mean_ratio(fourier: float) -> float:
    """Mean temperature ratio of a plate whose two faces are held at the wall temperature.

    sum over n of 8/((2n+1)^2 pi^2) exp(-(2n+1)^2 pi^2 Fo)
    Source: Carslaw and Jaeger, 2nd ed. 1959, section 3.3, integrated over the thickness.

    >>> round(plate_mean_ratio(0.1), 4)
    0.3021
    """
    total = 0.0
    for n in range(2000):
        odd = 2 * n + 1
        term = 8 / (odd * pi) ** 2 * exp(-((odd * pi) ** 2) * fourier)
        total += term
        if term < 1e-15:
            break
    return total


def cylinder_centre_ratio(fourier: float) -> float:
    """Temperature ratio on the axis of a long cylinder whose surface is held at the wall temperature.

    sum over the zeros z of J0: 2/(z J1(z)) exp(-4 z^2 Fo), Fo = a t / D**2
    Source: Carslaw and Jaeger, 2nd ed. 1959, section 7.6.

    >>> round(cylinder_centre_ratio(0.05), 4)
    0.5015
    """
    return sum(2 / (z * j1) * exp(-4 * z * z * fourier) for z, j1 in _BESSEL)


def cylinder_mean_ratio(fourier: float) -> float:
    """Mean temperature ratio of a long cylinder whose surface is held at the wall temperature.

    sum over the zeros z of J0: 4/z^2 exp(-4 z^2 Fo)
    Source: Carslaw and Jaeger, 2nd ed. 1959, section 7.6, integrated over the section.

    >>> round(cylinder_mean_ratio(0.05), 4)
    0.2179
    """
    return sum(4 / (z * z) * exp(-4 * z * z * fourier) for z, _ in _BESSEL)


def section_roundness(thickness: float, width: float) -> float:
    """How a solid section's area grows from its middle outwards: 0 as a plate, 1 as a cylinder.

    The power m for which a body whose area goes with r^m cools at the decay rate of the section,
    4 z^2/s^2 = pi^2/s^2 + (4 x 2.4048^2 - pi^2)/w^2, z the first zero of J of order (m - 1)/2.
    thickness, width  s <= w of the section [m]
    Raises DesignError when the thickness is not above 0 or the width is less.
    Source: first zero by the power series of the Bessel function, Abramowitz and Stegun, eq. 9.1.10.

    >>> section_roundness(0.018, 0.018), round(section_roundness(0.018, 1.8), 3)
    (1.0, 0.0)
    """
    if not 0 < thickness <= width:
        raise DesignError(
            Fault(
                "width", f"{width * 1e3:g} mm", f"at least the thickness, {thickness * 1e3:g} mm", "give the wider side"
            )
        )
    zero = sqrt(pi**2 + (4 * BESSEL_ZERO**2 - pi**2) * (thickness / width) ** 2) / 2
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _bessel_series(zero, middle) < 0 else (low, middle)
    return round(high, 12)


def _bessel_series(x: float, roundness: float) -> float:
    """J of order (m - 1)/2, less its leading power, by its series."""
    total = term = 1.0
    for k in range(1, 40):
        term *= -x * x / 4 / (k * ((roundness + 1) / 2 + k - 1))
        total += term
    return total


def set_depth(diffusivity: float, time: float, start: float, wall: float, solid: float) -> float:
    """Depth to which a thick body has set some time after its face met a cold wall. [m]

    (T_solid - T_wall)/(T_start - T_wall) = erf(x/(2 sqrt(a t))), solved for x by bisection
    diffusivity [m**2/s]; time [s]; temperatures [K]
    Raises DesignError unless wall < solid < start.
    Valid for: depths well inside half the thickness; heat of fusion only through the diffusivity.
    Source: Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 2.4.

    >>> round(set_depth(0.085e-6, 2.0, 493.15, 313.15, 388.15) * 1e3, 3)
    0.32
    """
    if not wall < solid < start:
        raise DesignError(
            Fault(
                "temperature at which it sets",
                f"{solid - 273.15:.4g} °C",
                f"between the mould ({wall - 273.15:.4g} °C) and the melt ({start - 273.15:.4g} °C)",
                "correct the temperatures",
            )
        )
    ratio = (solid - wall) / (start - wall)
    low, high = 0.0, 4.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if erf(middle) < ratio else (low, middle)
    return (low + high) * sqrt(diffusivity * time)


def convective_root(biot: float) -> float:
    """First root of zeta tan(zeta) = Bi for a plate cooled or heated through a film on both faces.

    biot  h L / k with the half thickness L, above 0
    Raises DesignError when it is not above 0.
    Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table 5.1 (from memory).

    >>> round(convective_root(1.0), 4)
    0.8603
    """
    if biot <= 0:
        raise DesignError(Fault("Biot number", biot, "above 0", "give a heat transfer coefficient above 0"))
    low, high = 0.0, pi / 2
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (low, middle) if middle * tan(middle) > biot else (middle, high)
    return (low + high) / 2


def convective_plate_ratio(place: float, fourier_half: float, biot: float) -> float:
    """One-term temperature ratio in a plate heated or cooled through a film on both faces.

    4 sin(zeta)/(2 zeta + sin(2 zeta)) exp(-zeta^2 Fo) cos(zeta x/L)
    place         x/L from the mid-plane, 0 to 1
    fourier_half  a t / L**2 with the half thickness L; the one-term form holds from 0.2
    biot          h L / k
    Raises DesignError below a Fourier number of 0.2.
    Source: Incropera and DeWitt, section 5.5 (from memory).

    >>> round(convective_plate_ratio(0.0, 1.0, 1.0), 4)
    0.5339
    """
    if fourier_half < 0.2:
        raise DesignError(
            Fault("Fourier number", fourier_half, "at least 0.2", "use the transient solution for short times")
        )
    root = convective_root(biot)
    start = 4 * sin(root) / (2 * root + sin(2 * root))
    return start * exp(-root * root * fourier_half) * cos(root * place)


def water_flow(heat_rate: float, rise: float) -> float:
    """Cooling water that carries a heat rate away. [m**3/s]

    V = Q/(rho c dT), water 998 kg/m**3 and 4182 J/kg/K at 20 degC
    heat_rate  [W]; rise of the water from inlet to outlet [K]
    Raises DesignError when the rise is not above 0.
    Source: energy balance; water after the steam tables (from memory).

    >>> round(water_flow(4182.0, 3.0) * 60e3, 1)
    20.0
    """
    if not rise > 0:
        raise DesignError(Fault("water rise", rise, "above 0", "give the rise allowed, 2 to 5 K"))
    return heat_rate / (WATER_DENSITY * WATER_HEAT * rise)


def _range_faults(place: float, fourier: float) -> list[Fault]:
    faults = []
    if not 0 <= place <= 1:
        faults.append(Fault("place in the plate", place, "between 0 and 1", "give x/s from one face to the other"))
    if fourier < FOURIER_SHORT:
        faults.append(Fault("Fourier number", fourier, "at least 0.0005", "ask for a later time"))
    return faults


# Abramowitz and Stegun, Handbook of Mathematical Functions, 1964, table 9.5: zeros of J0, and J1 there.
_BESSEL = (
    (2.40482555769577, 0.519147497289467),
    (5.52007811028631, -0.340264806558368),
    (8.65372791291101, 0.271452299928382),
    (11.7915344390143, -0.232459831364725),
    (14.9309177084878, 0.206546433077996),
    (18.0710639679109, -0.187728803040439),
    (21.2116366298793, 0.17326589422923),
    (24.3524715307493, -0.16170155068925),
    (27.4934791320403, 0.152181213770595),
    (30.634606468432, -0.144165977686373),
    (33.7758202135736, 0.137296943408503),
    (36.917098353664, -0.131324626668668),
    (40.0584257646282, 0.126069497127273),
    (43.1997917131767, -0.12139862477175),
    (46.3411883716618, 0.117211198890665),
    (49.4826098973978, -0.11342919261643),
    (52.624051841115, 0.109991143046278),
    (55.76551075502, -0.106847888254713),
    (58.9069839260809, 0.103959572869362),
    (62.0484691902272, -0.101293498933943),
)
