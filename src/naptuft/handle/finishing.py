"""Dipping handles in three coats: film, coating used, time at the vat, flash-off and racks."""

from __future__ import annotations

from math import ceil, sqrt

from naptuft.errors import DesignError, Fault

GRAVITY = 9.80665
LANDAU_LEVICH = 0.9458
CAPILLARY_LIMIT = 0.01
FILM_SOURCE = "Landau and Levich, Acta Physicochimica URSS 17 (1942) 42 (from memory)"
POWER_SOURCE = "the same balance with a power-law liquid, Gutfinger and Tallmadge, AIChE J. 11 (1965) 403 (from memory)"


def capillary_number(viscosity: float, speed: float, surface_tension: float) -> float:
    """Ca = eta U / gamma, how far drag outweighs surface tension.

    viscosity [Pa s]; speed [m/s]; surface_tension [N/m]

    >>> capillary_number(0.1, 0.001, 0.025)
    0.004
    """
    return viscosity * speed / surface_tension


def withdrawn_film(viscosity: float, speed: float, surface_tension: float, density: float) -> float:
    """Wet film on a wall drawn upwards out of a bath. [m]

    h = 0.9458 (eta U)^(2/3) / (gamma^(1/6) sqrt(rho g)), never more than sqrt(eta U / (rho g))
    viscosity [Pa s]; speed U [m/s]; surface_tension [N/m]; density [kg/m**3]
    Raises DesignError when any is not above 0.
    Valid for: capillary number well below 0.01; above it the film comes out thinner than this gives.
    Source: Landau and Levich 1942.

    >>> round(withdrawn_film(0.12, 0.002, 0.026, 950.0) * 1e6, 1)
    69.5
    """
    faults = [
        Fault(name, value, "above 0", "give the measured value")
        for name, value in (
            ("viscosity", viscosity),
            ("withdrawal speed", speed),
            ("surface tension", surface_tension),
            ("density", density),
        )
        if not value > 0
    ]
    if faults:
        raise DesignError(*faults)
    drag = viscosity * speed
    thin = LANDAU_LEVICH * drag ** (2 / 3) / (surface_tension ** (1 / 6) * sqrt(density * GRAVITY))
    return min(thin, sqrt(drag / (density * GRAVITY)))


def film_with_gravity(viscosity: float, speed: float, surface_tension: float, density: float) -> float:
    """Wet film on a wall drawn upwards, with the film's own weight; for capillary numbers beyond 0.01. [m]

    N/(1 - N^2)^(2/3) = 0.944 Ca^(1/6), N = h sqrt(rho g/(eta U)); solved by bisection
    viscosity [Pa s]; speed U [m/s]; surface_tension [N/m]; density [kg/m**3]
    Source: White and Tallmadge, Chemical Engineering Science 20 (1965) 33, as set in Deen, Introduction to
    Chemical Engineering Fluid Mechanics, 2016.

    >>> round(film_with_gravity(0.12, 0.002, 0.026, 950.0) * 1e6, 1)
    62.3
    """
    wanted = LANDAU_LEVICH * capillary_number(viscosity, speed, surface_tension) ** (1 / 6)
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if middle > wanted * (1 - middle * middle) ** (2 / 3) else (middle, high)
    return low * sqrt(viscosity * speed / (density * GRAVITY))


def shear_viscosity(consistency: float, index: float, speed: float, tension: float, density: float) -> float:
    """Viscosity of a power-law coating at the shear rate of its own withdrawal. [Pa s]

    eta = k (U/h)^(n-1) with h the film it leaves, solved by repetition
    consistency [Pa s^n]; index n; speed U [m/s]; surface tension [N/m]; density [kg/m**3]
    Source: power law at the mean shear rate of the film; first estimate (common practice).

    >>> shear_viscosity(0.12, 1.0, 0.002, 0.026, 950.0)
    0.12
    """
    viscosity = consistency
    for _ in range(60):
        film = withdrawn_film(viscosity, speed, tension, density)
        viscosity = consistency * (speed / film) ** (index - 1)
    return viscosity


def speed_for_film(film: float, viscosity: float, surface_tension: float, density: float) -> float:
    """Withdrawal speed that leaves a wanted wet film: Landau and Levich solved for U. [m/s]

    Raises DesignError when the film is not above 0.

    >>> round(speed_for_film(69.5e-6, 0.12, 0.026, 950.0) * 1e3, 2)
    2.0
    """
    if not film > 0:
        raise DesignError(Fault("wet film", film, "above 0", "give the film wanted"))
    return (film * surface_tension ** (1 / 6) * sqrt(density * GRAVITY) / LANDAU_LEVICH) ** 1.5 / viscosity


def coat_mass(film: float, area: float, density: float, drip_share: float) -> float:
    """Wet coating one handle takes out of the vat in one coat, drips included. [kg]

    m = h A rho / (1 - drip share)
    film [m]; area coated [m**2]; density [kg/m**3]; drip_share of what is taken out, 0 to below 1
    Raises DesignError for a drip share out of range.
    Source: mass balance.

    >>> round(coat_mass(70e-6, 0.0095, 950.0, 0.10) * 1e3, 3)
    0.702
    """
    if not 0 <= drip_share < 1:
        raise DesignError(Fault("drip share", drip_share, "at least 0 and below 100 %", "give a share of the coating"))
    return film * area * density / (1 - drip_share)


def dip_time(depth: float, lowering_speed: float, dwell: float, withdrawal_speed: float, transfer: float) -> float:
    """Time a bar of handles takes at the vat for one coat: down, stay, up, change of bars. [s]

    depth [m]; speeds [m/s]; dwell and transfer [s]
    Source: kinematics.

    >>> round(dip_time(0.13, 0.010, 5.0, 0.002, 15.0), 3)
    98.0
    """
    return depth / lowering_speed + dwell + depth / withdrawal_speed + transfer


def dry_film(wet_film: float, solids_volume: float) -> float:
    """Film left when the volatile part has gone. [m]

    dry = wet x solids by volume
    Source: ISO 2808, wet and dry film by volume solids (from memory).

    >>> round(dry_film(70e-6, 0.22) * 1e6, 2)
    15.4
    """
    return wet_film * solids_volume


def volatile_mass(wet_mass: float, solids_mass: float) -> float:
    """Mass given off as a wet mass dries. [kg]

    >>> round(volatile_mass(0.002, 0.30) * 1e3, 6)
    1.4
    """
    return wet_mass * (1 - solids_mass)


def racks_waiting(rate: float, wait: float, rack_handles: int) -> int:
    """Racks taken up by handles that wait, in the steady state. [whole]

    ceil(rate x wait / handles per rack)
    rate  handles per second; wait [s]
    Source: Little, Operations Research 9 (1961) 383: L = lambda W.

    >>> racks_waiting(0.3, 900.0, 30)
    9
    """
    return ceil(rate * wait / rack_handles - 1e-9)
