"""How heavy a carton may be to lift by hand: the revised lifting equation of NIOSH."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from naptuft.errors import DesignError, Fault

SOURCE = "NIOSH, Applications Manual for the Revised Lifting Equation, publication 94-110, 1994"
LOAD_CONSTANT = 23.0
Duration = Literal["1 hour", "2 hours", "8 hours"]
DURATIONS: tuple[Duration, ...] = ("1 hour", "2 hours", "8 hours")

# Table 5, lifts a minute against multiplier, starting height below 75 cm (from memory).
_FREQUENCY: dict[str, tuple[tuple[float, float], ...]] = {
    "1 hour": (
        (0.2, 1.00),
        (0.5, 0.97),
        (1, 0.94),
        (2, 0.91),
        (3, 0.88),
        (4, 0.84),
        (5, 0.80),
        (6, 0.75),
        (7, 0.70),
        (8, 0.60),
    ),
    "2 hours": (
        (0.2, 0.95),
        (0.5, 0.92),
        (1, 0.88),
        (2, 0.84),
        (3, 0.79),
        (4, 0.72),
        (5, 0.60),
        (6, 0.50),
        (7, 0.42),
        (8, 0.35),
    ),
    "8 hours": (
        (0.2, 0.85),
        (0.5, 0.81),
        (1, 0.75),
        (2, 0.65),
        (3, 0.55),
        (4, 0.45),
        (5, 0.35),
        (6, 0.27),
        (7, 0.22),
        (8, 0.18),
    ),
}


def frequency_multiplier(lifts_per_minute: float, duration: Duration) -> float:
    """Multiplier for how often and how long, between the rows of the table by straight lines.

    lifts_per_minute  0 to 8
    Raises DesignError above 8 lifts a minute.
    Source: NIOSH 94-110, table 5 (from memory).

    >>> frequency_multiplier(3, "1 hour"), frequency_multiplier(0.1, "8 hours")
    (0.88, 0.85)
    """
    rows = _FREQUENCY[duration]
    if not 0 <= lifts_per_minute <= rows[-1][0]:
        raise DesignError(Fault("lifts a minute", lifts_per_minute, "0 to 8", "share the work or use a lifting aid"))
    if lifts_per_minute <= rows[0][0]:
        return rows[0][1]
    for (f0, m0), (f1, m1) in pairwise(rows):
        if lifts_per_minute <= f1:
            return m0 + (m1 - m0) * (lifts_per_minute - f0) / (f1 - f0)
    return rows[-1][1]


def coupling_multiplier(height: float, grip: Literal["good", "fair", "poor"]) -> float:
    """Multiplier for the grip: good handles, fair cartons without cut-outs held from below, poor.

    height  of the hands when lifting [m]
    Source: NIOSH 94-110, table 7 (from memory).

    >>> coupling_multiplier(0.3, "fair"), coupling_multiplier(0.9, "fair"), coupling_multiplier(0.9, "poor")
    (0.95, 1.0, 0.9)
    """
    if grip == "good" or (grip == "fair" and height >= 0.75):
        return 1.0
    return 0.95 if grip == "fair" else 0.90


def recommended_weight(
    reach: float,
    height: float,
    travel: float,
    *,
    turn_degrees: float = 0.0,
    frequency: float = 1.0,
    coupling: float = 1.0,
) -> float:
    """Recommended weight limit: what nearly all healthy workers may lift over a shift. [kg]

    23 kg (25/H)(1 - 0.003 |V - 75|)(0.82 + 4.5/D)(1 - 0.0032 A) FM CM, lengths in cm
    reach         H, hands to mid-ankle [m]; up to 0.25 counts as 0.25, beyond 0.63 nothing may be lifted
    height        V, hands above the floor at the start [m], 0 to 1.75
    travel        D, how far up or down [m]; below 0.25 counts as 0.25
    turn_degrees  A, twist of the body, 0 to 135
    frequency     FM, coupling CM
    Raises DesignError for a height or twist out of range.
    Source: NIOSH 94-110, section 1.3.

    >>> round(recommended_weight(0.25, 0.55, 0.95, frequency=0.88, coupling=0.95), 1)
    15.7
    """
    faults = []
    if not 0 <= height <= 1.75:
        faults.append(Fault("height of the hands", f"{height:g} m", "0 to 1.75 m", "raise or lower the bench"))
    if not 0 <= turn_degrees <= 135:
        faults.append(Fault("twist", turn_degrees, "0 to 135 degrees", "turn the feet instead"))
    if faults:
        raise DesignError(*faults)
    if reach > 0.63:
        return 0.0
    distance = max(25.0, travel * 100)
    return (
        LOAD_CONSTANT
        * (25 / max(25.0, reach * 100))
        * (1 - 0.003 * abs(height * 100 - 75))
        * (0.82 + 4.5 / distance)
        * (1 - 0.0032 * turn_degrees)
        * frequency
        * coupling
    )
