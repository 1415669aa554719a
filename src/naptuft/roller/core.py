"""The core tube a refill is wound on: what its wall may be."""

from __future__ import annotations

from naptuft.errors import Fault


def wall_faults(core_diameter: float, core_wall: float) -> tuple[Fault, ...]:
    """What is wrong with the wall of a core: nothing, or that no bore is left. Both in [m].

    >>> wall_faults(0.044, 0.0015)
    ()
    >>> print(*wall_faults(0.020, 0.015))
    core wall: '15 mm'; allowed: below 10 mm, half the core diameter; give the wall, not the bore
    """
    if 2 * core_wall < core_diameter:
        return ()
    return (
        Fault(
            "core wall",
            f"{core_wall * 1e3:g} mm",
            f"below {core_diameter * 5e2:g} mm, half the core diameter",
            "give the wall, not the bore",
        ),
    )
