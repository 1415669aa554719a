"""How much metal a bend takes up: shared by strip and wire."""

from __future__ import annotations


def neutral_factor(radius: float, thickness: float) -> float:
    """Where the unstretched layer lies in a bend, as a share of the thickness from the inside. [1]

    0.33 where the inside radius is below twice the thickness, else 0.50.
    radius, thickness [m]. Source: Groover, Fundamentals of Modern Manufacturing, sec. 20.2 (from memory).

    >>> neutral_factor(4.75e-3, 3.2e-3), neutral_factor(20e-3, 8e-3)
    (0.33, 0.5)
    """
    return 0.33 if radius < 2 * thickness else 0.5


def bend_allowance(angle: float, radius: float, thickness: float) -> float:
    """Length a bend takes up along its unstretched layer, α(R + Kt). [m]

    angle: turned through [rad]; radius: inside [m]; thickness: of strip, or diameter of wire [m].
    Source: Groover, Fundamentals of Modern Manufacturing, sec. 20.2 (from memory).

    >>> from math import radians
    >>> round(bend_allowance(radians(60), 4.75e-3, 3.2e-3) * 1e3, 2)
    6.08
    """
    return angle * (radius + neutral_factor(radius, thickness) * thickness)
