"""What is given for a tray: its sheet and its shape below the rim."""

from __future__ import annotations

from dataclasses import dataclass
from math import tan

from naptuft.calculation import choice, quantity
from naptuft.errors import DesignError, Fault
from naptuft.materials.sheet import SHEET_NAMES
from naptuft.tray.shape import TrayShape


@dataclass(frozen=True)
class TrayForm:
    """A tray's sheet and shape."""

    sheet: str = choice(SHEET_NAMES, "sheet material", default="HIPS")
    sheet_thickness: float = quantity("mm", "before forming", low=0.2, high=8, example="1.2 mm")
    length: float = quantity("mm", "over the rim", low=60, high=1500, example="330 mm")
    width: float = quantity("mm", "over the rim", low=60, high=1500, example="250 mm")
    rim: float = quantity("mm", "width of the flat rim", low=0, high=80, default=10)
    well_depth: float = quantity("mm", "at the deepest", low=5, high=400, example="60 mm")
    floor_length: float = quantity("mm", "length of the flat floor of the well", low=0, high=1000, default=80)
    ramp_end_depth: float = quantity("mm", "depth where the ramp ends", low=0, high=200, default=10)
    draft: float = quantity("deg", "lean of the walls", low=1, high=45, default=10)
    corner_radius: float = quantity("mm", "in the floor corners", low=0.5, high=80, default=6)
    least_wall: float = quantity("mm", "least wall allowed anywhere", low=0.05, high=5, default=0.25)

    def __post_init__(self) -> None:
        faults = shape_faults(self)
        if faults:
            raise DesignError(*faults)

    @property
    def shape(self) -> TrayShape:
        """The tray as a cavity below its rim."""
        return TrayShape(
            self.length,
            self.width,
            self.rim,
            self.well_depth,
            self.floor_length,
            self.ramp_end_depth,
            self.draft,
        )


def shape_faults(tray: TrayForm) -> list[Fault]:
    """Rules between the dimensions of a tray."""
    faults = []
    along, across = tray.length - 2 * tray.rim, tray.width - 2 * tray.rim
    slope = tan(tray.draft)
    if min(along, across) <= 0:
        return [
            Fault(
                "rim",
                f"{tray.rim * 1e3:g} mm",
                f"below half the width, {min(tray.length, tray.width) * 500:g} mm",
                "narrow the rim",
            )
        ]
    floor = across - 2 * tray.well_depth * slope
    if floor <= 0:
        faults.append(
            Fault(
                "well depth",
                f"{tray.well_depth * 1e3:g} mm",
                f"below {across / (2 * slope) * 1e3:.4g} mm, where the side walls meet",
                "make the well shallower, the tray wider or the walls steeper",
            )
        )
    used = tray.well_depth * slope + tray.floor_length + tray.ramp_end_depth * slope
    if used > along:
        faults.append(
            Fault(
                "floor length",
                f"{tray.floor_length * 1e3:g} mm",
                f"at most {max(0.0, along - used + tray.floor_length) * 1e3:.4g} mm inside the rim",
                "shorten the floor or lengthen the tray",
            )
        )
    if tray.ramp_end_depth > tray.well_depth:
        faults.append(
            Fault(
                "ramp end depth",
                f"{tray.ramp_end_depth * 1e3:g} mm",
                f"at most the well depth, {tray.well_depth * 1e3:g} mm",
                "let the ramp rise",
            )
        )
    if tray.least_wall >= tray.sheet_thickness:
        faults.append(
            Fault(
                "least wall",
                f"{tray.least_wall * 1e3:g} mm",
                f"below the sheet thickness, {tray.sheet_thickness * 1e3:g} mm",
                "use a thicker sheet or allow a thinner wall",
            )
        )
    return faults
