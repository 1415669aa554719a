"""Thermoforming a tray: how far the sheet is drawn, how thin it gets, how long it heats and cools."""

from __future__ import annotations

from math import atan2, cos, exp, log, pi, sin, tan

from naptuft.errors import DesignError, Fault

STEFAN_BOLTZMANN = 5.670374419e-8
TROUGH_SOURCE = "volume balance of a sheet that freezes where it touches, in plane strain; same reasoning as Crawford"
CORNER_SOURCE = "Ghosh and Hamilton, Metallurgical Transactions A 11 (1980) 1915, long box (from memory)"


def areal_draw_ratio(surface: float, opening: float) -> float:
    """Drawn area over the open area it came from.

    >>> areal_draw_ratio(3.0, 2.0)
    1.5
    """
    return surface / opening


def linear_draw_ratio(depth: float, width: float) -> float:
    """Depth over the least width of the opening.

    >>> linear_draw_ratio(0.06, 0.25)
    0.24
    """
    return depth / width


def mean_wall(sheet_thickness: float, areal_draw: float) -> float:
    """Mean wall of the drawn part: volume of the sheet stays. [m]

    >>> round(mean_wall(0.0012, 1.5), 6)
    0.0008
    """
    return sheet_thickness / areal_draw


def cone_wall(sheet_thickness: float, wall_angle: float, share: float) -> float:
    """Wall of a cone drawn into a female mould, at a share of the way down the slant. [m]

    h = h0 1/2 (1 + cos a) [1 - (S/H) sin a]^(sec a - 1), S/H sin a the share of the slant to the apex
    wall_angle  a between wall and the plane of the sheet, above 0 and below pi/2
    share       0 at the rim, 1 at the apex
    Raises DesignError outside those ranges.
    Source: Crawford, Plastics Engineering, ch. 4.

    >>> [round(cone_wall(1.0, pi / 3, s), 4) for s in (0.0, 0.25, 0.5, 0.75)]
    [0.75, 0.5625, 0.375, 0.1875]
    """
    _in_range("wall angle", wall_angle, 0, pi / 2)
    _share(share)
    return sheet_thickness * 0.5 * (1 + cos(wall_angle)) * (1 - share) ** (1 / cos(wall_angle) - 1)


def trough_wall(sheet_thickness: float, wall_angle: float, share: float) -> float:
    """Wall of a long V-shaped trough drawn into a female mould, at a share of the way down the slant. [m]

    h = h0 (sin a / a) (1 - share)^(tan(a)/a - 1)
    Raises DesignError outside 0 < a < pi/2 or a share outside 0 to 1.
    Source: volume balance in plane strain; the reasoning of Crawford's cone for a trough.

    >>> round(trough_wall(1.0, pi / 3, 0.0), 4)
    0.827
    """
    _in_range("wall angle", wall_angle, 0, pi / 2)
    _share(share)
    start = sheet_thickness * sin(wall_angle) / wall_angle
    return start * (1 - share) ** (tan(wall_angle) / wall_angle - 1)


def corner_wall(wall: float, start_radius: float, radius: float, turn: float) -> float:
    """Wall in the corner between a wall and the floor, as the free arc shrinks into it. [m]

    h = h1 (r/r1)^(2 tan(b/2)/b - 1); for a square corner the exponent is 4/pi - 1
    wall          h1 when the arc touches both sides with radius r1 = start_radius [m]
    radius        of the finished corner, at most start_radius [m]
    turn          b, the angle the corner turns through [rad]
    Source: volume balance; for 90 degrees Ghosh and Hamilton 1980 (from memory).

    >>> round(corner_wall(1.0, 1.0, 0.1, pi / 2), 4)
    0.533
    """
    if radius >= start_radius:
        return wall
    return wall * (radius / start_radius) ** (2 * tan(turn / 2) / turn - 1)


def floor_corner_factor(half_width: float, depth: float, wall_angle: float, radius: float) -> float:
    """Thickness left in the corner between floor and wall of a long trough with a flat floor, as a share.

    The sheet bulges as an arc. In a wide shallow trough the arc meets the floor first, spreads over it
    until it lies along the walls, then shrinks into the corners; in a deep one it runs down the walls
    first. Where it touches, it freezes.
    half_width  of the opening [m]; depth [m]; wall_angle from the plane of the sheet [rad]; radius [m]
    Raises DesignError when the walls meet above the floor.
    Source: volume balance in plane strain.

    >>> 0.2 < floor_corner_factor(0.125, 0.06, 1.396, 0.005) < 0.6
    True
    """
    if half_width - depth / tan(wall_angle) <= 0:
        raise DesignError(
            Fault(
                "well depth",
                f"{depth * 1e3:.4g} mm",
                f"less than where the walls meet, {half_width * tan(wall_angle) * 1e3:.4g} mm",
                "make the well shallower, wider or its walls steeper",
            )
        )
    contact = half_width * tan(wall_angle / 2)
    if contact >= depth:
        share, arc = _spread_on_floor(half_width, depth, wall_angle)
    else:
        # down the walls until the arc meets the floor: y + c tan(a/2) = depth with c = w - y cot(a)
        touched = (depth - contact) / (1 - tan(wall_angle / 2) / tan(wall_angle))
        chord = half_width - touched / tan(wall_angle)
        share = trough_wall(1.0, wall_angle, 1 - chord / half_width)
        arc = chord / sin(wall_angle)
    return corner_wall(share, arc, min(radius, arc), wall_angle)


def _spread_on_floor(half_width: float, depth: float, wall_angle: float) -> tuple[float, float]:
    """Share left and arc radius once an arc that met the floor first lies along the wall at the rim."""
    start = 2 * atan2(depth, half_width)
    share = sin(start) / start
    last = depth / tan(wall_angle / 2)
    steps = 400
    step = (half_width - last) / steps
    log_share = log(share)

    for k in range(steps):
        reach = half_width - (k + 0.5) * step
        log_share -= spread_rate(reach, depth) * step
    return exp(log_share), last / sin(wall_angle)


def spread_rate(reach: float, depth: float) -> float:
    """How fast the wall's logarithm falls as the sheet spreads over the floor: d ln h / d reach. [1/m]

    (1 - L')/L with L(reach) the free arc from the rim to where it touches the floor
    reach  free distance along the floor [m]; depth [m]
    Source: what is laid on the floor leaves the free arc; volume balance in plane strain.

    >>> spread_rate(0.1, 0.06) > 0
    True
    """
    turn = 2 * atan2(depth, reach)
    length = reach * turn / sin(turn)
    slope = -2 * depth / (reach * reach + depth * depth)
    grow = turn / sin(turn) + reach * slope * (sin(turn) - turn * cos(turn)) / sin(turn) ** 2
    return (1 - grow) / length


def exchange_emissivity(sheet: float, heater: float) -> float:
    """Emissivity of a sheet and a heater that face each other closely, together.

    1/(1/e1 + 1/e2 - 1), two large parallel faces
    Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, section 13.3 (from memory).

    >>> round(exchange_emissivity(0.9, 0.9), 4)
    0.8182
    """
    return 1 / (1 / sheet + 1 / heater - 1)


def heating_time(
    thickness: float,
    density: float,
    specific_heat: float,
    start: float,
    forming: float,
    heater: float,
    emissivity: float,
    film: float = 10.0,
    air: float = 323.15,
) -> float:
    """Time to heat a thin sheet between two heaters to the forming temperature. [s]

    rho c h dT/dt = 2 [e sigma (T_heater^4 - T^4) + f (T_air - T)], the same through the thickness
    thickness     [m]; density [kg/m**3]; specific_heat [J/kg/K]; temperatures [K]
    emissivity    of sheet and heater together; film f the heat transfer coefficient of the air [W/m**2/K]
    Raises DesignError when the heater cannot bring the sheet to the forming temperature.
    Valid for: thin sheet, the middle following the faces (Biot number below about 0.1 to 0.2).
    Source: energy balance with the Stefan-Boltzmann law.

    >>> round(heating_time(0.001, 1050.0, 1800.0, 293.15, 423.15, 673.15, 0.81), 1)
    15.0
    """

    def flux(temperature: float) -> float:
        radiation = emissivity * STEFAN_BOLTZMANN * (heater**4 - temperature**4)
        return 2 * (radiation + film * (air - temperature))

    if flux(forming) <= 0:
        raise DesignError(
            Fault(
                "heater temperature",
                f"{heater - 273.15:.4g} °C",
                f"hot enough to reach {forming - 273.15:.4g} °C",
                "raise the heater temperature",
            )
        )
    steps = 200
    step = (forming - start) / steps
    warm = sum((4 if k % 2 else 2) / flux(start + k * step) for k in range(1, steps))
    return density * specific_heat * thickness * step / 3 * (1 / flux(start) + warm + 1 / flux(forming))


def heating_biot(thickness: float, conductivity: float, heater: float, forming: float, emissivity: float) -> float:
    """Biot number of the half sheet under its heaters; small when the middle follows the faces.

    h = 4 e sigma T_mean^3 linearised between heater and sheet, over the half thickness.

    >>> round(heating_biot(0.001, 0.15, 673.15, 423.15, 0.81), 3)
    0.101
    """
    mean = (heater + forming) / 2
    return 4 * emissivity * STEFAN_BOLTZMANN * mean**3 * thickness / 2 / conductivity


def one_side_cooling_time(thickness: float, diffusivity: float, start: float, mould: float, end: float) -> float:
    """Time for a drawn wall that touches the mould with one face to set, its free face taken as insulated. [s]

    4 h**2/(pi**2 a) ln(8/pi**2 (T_start - T_mould)/(T_end - T_mould)), mean temperature
    thickness  of the wall h [m]; diffusivity [m**2/s]; temperatures [K]
    Raises DesignError unless mould < end < start.
    Source: first term of the plate series (Carslaw and Jaeger, section 3.3) with the free face as mid-plane.

    >>> round(one_side_cooling_time(0.001, 0.08e-6, 423.15, 323.15, 358.15), 1)
    4.3
    """
    if not mould < end < start:
        raise DesignError(
            Fault(
                "temperature off the mould",
                round(end - 273.15, 2),
                f"between the mould ({mould - 273.15:.4g} °C) and the sheet ({start - 273.15:.4g} °C)",
                "cool the mould or heat the sheet further",
            )
        )
    ratio = (start - mould) / (end - mould)
    return 4 * thickness**2 / (pi**2 * diffusivity) * max(0.0, log(8 / pi**2 * ratio))


def cycle_time(heating: float, forming: float, cooling: float, index: float, heating_stations: int) -> float:
    """Time from shot to shot. [s]

    One station heats and forms in turn: heating + forming + cooling + index. With heating stations before
    the mould the sheet heats while the last one is formed: the longer of heating / stations and
    forming + cooling, and the index.
    Source: common practice.

    >>> cycle_time(20.0, 3.0, 8.0, 6.0, 0), cycle_time(20.0, 3.0, 8.0, 6.0, 2)
    (37.0, 17.0)
    """
    if heating_stations == 0:
        return heating + forming + cooling + index
    return max(heating / heating_stations, forming + cooling) + index


def _in_range(name: str, value: float, low: float, high: float) -> None:
    if not low < value < high:
        raise DesignError(Fault(name, value, f"above {low:.4g} and below {high:.4g}", "give an angle between them"))


def _share(share: float) -> None:
    if not 0 <= share <= 1:
        raise DesignError(Fault("share of the slant", share, "0 to 1", "give how far down the wall"))
