"""What is given for a handle or moulded part: its outline, the mould and press, the coats."""

from __future__ import annotations

from dataclasses import dataclass

from naptuft.calculation import choice, quantity, whole
from naptuft.errors import DesignError, Fault
from naptuft.handle.shape import HandleShape
from naptuft.materials.coating import COATING_NAMES
from naptuft.materials.resin import RESIN_NAMES, RESINS

OUTLINE_MARGIN = 1e-9
USUAL_FILL, USUAL_PACK = 2.0, 6.0


@dataclass(frozen=True)
class HandleOutline:
    """Outside dimensions of a handle, from the end in the ferrule to the butt."""

    length: float = quantity("mm", "over all", low=40, high=600, example="180 mm")
    head_width: float = quantity("mm", "width of the end that enters the ferrule", low=6, high=200, example="48 mm")
    head_depth: float = quantity("mm", "thickness of that end", low=4, high=60, default=14, example="14 mm")
    head_length: float = quantity("mm", "length inside the ferrule", low=3, high=80, default=18, example="18 mm")
    neck_width: float = quantity("mm", "narrowest width", low=5, high=120, example="20 mm")
    grip_width: float = quantity("mm", "widest width behind the neck", low=5, high=120, example="30 mm")
    grip_depth: float = quantity("mm", "greatest thickness", low=4, high=60, example="18 mm")
    section: str = choice(
        ["oval", "round", "flat"], "shape of the cross-section; a round one is as thick as it is wide", default="oval"
    )
    wall: float | None = quantity(
        "mm", "wall of a hollow handle; leave empty for a solid one", low=0.8, high=20, default=None, example=""
    )
    hole_diameter: float = quantity("mm", "hole to hang it by, through the butt", low=0, high=25, default=8)

    def __post_init__(self) -> None:
        raise_any(outline_faults(self))

    @property
    def shape(self) -> HandleShape:
        """The outline as a shape along its axis."""
        return HandleShape(
            self.length,
            self.head_width,
            self.head_depth,
            self.head_length,
            self.neck_width,
            self.grip_width,
            self.grip_depth,
            self.section,  # type: ignore[arg-type]
        )


@dataclass(frozen=True)
class MouldSetting:
    """The resin, the mould and the press."""

    resin: str = choice(RESIN_NAMES, "resin moulded", default="PP")
    cavities: int = whole("parts a shot", low=1, high=128, default=4, example="4")
    runner_volume: float = quantity("cm**3", "runner and sprue of one shot", low=0, high=2000, default=8)
    runner_area: float = quantity("cm**2", "runner seen in the direction the mould opens", low=0, high=1000, default=12)
    reground_share: float = quantity("%", "share of the runner reground and fed again", low=0, high=100, default=100)
    melt_temperature: float | None = quantity(
        "degC", "of the melt; left empty, the table's usual value", low=120, high=350, default=None
    )
    mould_temperature: float | None = quantity(
        "degC", "of the mould wall; left empty, the table's usual value", low=0, high=160, default=None
    )
    ejection_temperature: float | None = quantity(
        "degC", "at which the part may be pushed out; left empty, the table's", low=20, high=220, default=None
    )
    ejection_rule: str = choice(
        ["mean", "mid-plane"],
        "what must reach the ejection temperature: the mean of the section (thick handles), or its middle",
        default="mean",
    )
    cavity_pressure: float | None = quantity(
        "MPa", "mean pressure in the cavity; left empty, the table's", low=5, high=150, default=None
    )
    clamp_margin: float = quantity("%", "clamp force kept in hand", low=0, high=100, default=10)
    fill_time: float | None = quantity(
        "s", "time to fill the mould; left empty, from the injection rate, or 2 s", low=0.1, high=60, default=None
    )
    injection_rate: float | None = quantity(
        "cm**3/s", "melt the press injects; may be left empty", low=1, high=5000, default=None
    )
    pack_time: float | None = quantity(
        "s",
        "time pressure is held after filling; left empty, until the gate has set, or 6 s",
        low=0,
        high=240,
        default=None,
    )
    gate_thickness: float | None = quantity(
        "mm", "of the gate, to time or judge the packing; may be left empty", low=0.2, high=20, default=None
    )
    open_time: float = quantity("s", "open, eject, close", low=1, high=120, default=6)
    water_rise: float = quantity("K", "rise of the cooling water", low=0.5, high=30, default=3)
    press_efficiency: float = quantity(
        "%", "heat in the resin over electricity of the press", low=5, high=100, default=40
    )
    press_clamp: float | None = quantity(
        "kN", "clamp force of the press; left empty, not checked", low=50, high=40000, default=None
    )
    press_shot: float | None = quantity(
        "cm**3",
        "largest shot of the press, as volume of melt; left empty, not checked",
        low=5,
        high=20000,
        default=None,
    )

    @property
    def temperatures(self) -> tuple[float, float, float]:
        """Melt, mould and ejection temperature used. [K]"""
        resin = RESINS[self.resin]
        return (
            _given(self.melt_temperature, float(resin.melt_temperature)),
            _given(self.mould_temperature, float(resin.mould_temperature)),
            _given(self.ejection_temperature, float(resin.ejection_temperature)),
        )

    @property
    def pressure(self) -> float:
        """Cavity pressure used. [Pa]"""
        return _given(self.cavity_pressure, float(RESINS[self.resin].cavity_pressure))


@dataclass(frozen=True)
class CoatSetting:
    """The coats: what is in the vat and how the bar of handles goes through it."""

    coating: str = choice(COATING_NAMES, "what is in the vat", default="nitrocellulose lacquer")
    coats: int = whole("number of coats; three are common practice", low=1, high=8, default=3, example="3")
    viscosity: float | None = quantity(
        "mPa*s", "at a shear rate of 1/s, measured in the vat; left empty, the table's", low=5, high=5000, default=None
    )
    flow_index: float | None = quantity(
        "",
        "power-law index, 1 for an oil, less where it thins under shear; left empty, the table's",
        low=0.3,
        high=1,
        default=None,
    )
    withdrawal_speed: float = quantity("mm/s", "speed upwards out of the vat", low=0.05, high=50, default=2)
    lowering_speed: float = quantity("mm/s", "speed down into the vat", low=0.5, high=100, default=10)
    dwell: float = quantity("s", "time held under", low=0, high=300, default=5)
    transfer_time: float = quantity(
        "s", "from the end of one bar to the start of the next", low=0, high=600, default=15
    )
    bar_handles: int = whole("handles dipped at once", low=1, high=2000, default=60, example="60")
    drip_share: float = quantity("%", "of the coating taken out that drips off and is lost", low=0, high=60, default=8)
    build_wanted: float = quantity("um", "least dry film of all coats together", low=1, high=1000, default=30)
    flash_off: float | None = quantity(
        "min", "wait between coats; left empty, the table's at 20 °C", low=0.5, high=1440, default=None
    )
    rack_handles: int = whole(
        "handles a hanging rack holds; thirty are common practice", low=1, high=2000, default=30, example="30"
    )


def outline_faults(outline: HandleOutline) -> list[Fault]:
    """Rules between the dimensions of an outline."""
    faults = []
    if outline.head_length > 0.6 * outline.length:
        faults.append(
            Fault(
                "head length",
                f"{outline.head_length * 1e3:g} mm",
                f"at most 60 % of the length, {outline.length * 600:g} mm",
                "shorten the end in the ferrule or lengthen the handle",
            )
        )
    if outline.neck_width > outline.grip_width + OUTLINE_MARGIN:
        faults.append(
            Fault(
                "neck width",
                f"{outline.neck_width * 1e3:g} mm",
                f"at most the grip width, {outline.grip_width * 1e3:g} mm",
                "narrow the neck or widen the grip",
            )
        )
    thinnest = min(outline.neck_width, outline.grip_depth if outline.section != "round" else outline.neck_width)
    if outline.wall is not None and 2 * outline.wall >= thinnest:
        faults.append(
            Fault(
                "wall",
                f"{outline.wall * 1e3:g} mm",
                f"below half the thinnest section, {thinnest * 500:g} mm",
                "thin the wall, or leave it empty for a solid handle",
            )
        )
    if outline.hole_diameter > 0.6 * outline.grip_width:
        faults.append(
            Fault(
                "hole diameter",
                f"{outline.hole_diameter * 1e3:g} mm",
                f"at most 60 % of the grip width, {outline.grip_width * 600:g} mm",
                "make the hole smaller",
            )
        )
    return faults


def mould_faults(setting: MouldSetting) -> list[Fault]:
    """Rules between the temperatures of a moulding."""
    melt, mould, ejection = (value - 273.15 for value in setting.temperatures)
    if mould < ejection < melt:
        return []
    return [
        Fault(
            "ejection temperature",
            f"{ejection:g} °C",
            f"between the mould ({mould:g} °C) and the melt ({melt:g} °C)",
            "cool the mould further, eject warmer or correct the melt temperature",
        )
    ]


def raise_any(faults: list[Fault]) -> None:
    """Raise DesignError when there is anything wrong."""
    if faults:
        raise DesignError(*faults)


def _given(value: float | None, usual: float) -> float:
    return usual if value is None else value
