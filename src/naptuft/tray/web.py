"""The web that is left after trimming: ground, returned to the extruder, and what it is worth."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from naptuft.calculation import Calculation, Caution, Check, Result, Step, Value, money, quantity
from naptuft.errors import DesignError, Fault
from naptuft.materials.property import COMMON_PRACTICE
from naptuft.materials.reground import LOOP_SOURCE, largest_regrind, mean_passes, steady_property

THOUSAND = 1000.0


@dataclass(frozen=True)
class TrayWeb:
    """Sheet bought or made, trays cut from it, and the web fed back."""

    sheet_mass: float = quantity("g", "sheet for one tray, web included", low=0.1, high=20000, example="129 g")
    tray_mass: float = quantity("g", "of one tray", low=0.1, high=20000, example="104 g")
    sheet_price_per_kg: Decimal = money("price of a kilogram of sheet", example="2.60")
    web_price_per_kg: Decimal = money("worth of a kilogram of ground web: what it replaces, or fetches", example="1.10")
    grinding_price_per_kg: Decimal = money("cost of grinding and handling a kilogram", default=Decimal("0.15"))
    grinding_loss: float = quantity("%", "of the web lost as dust and sweepings", low=0, high=50, default=2)
    fed_share: float = quantity(
        "%", "of the ground web that goes back into our own sheet; the rest is sold", low=0, high=100, default=100
    )
    kept_each_pass: float = quantity(
        "%", "of a property kept each time it is extruded and formed, by test", low=20, high=100, default=96
    )
    least_kept: float = quantity("%", "of the fresh property the sheet must keep", low=1, high=100, default=90)

    def __post_init__(self) -> None:
        if self.tray_mass >= self.sheet_mass:
            raise DesignError(
                Fault(
                    "tray mass",
                    f"{self.tray_mass * 1e3:g} g",
                    f"below the sheet's {self.sheet_mass * 1e3:g} g",
                    "give the sheet with its web",
                )
            )


@dataclass(frozen=True)
class WebBalance:
    """Masses for one tray. [kg]

    web     left after trimming; ground what of it is left after losses; lost the rest
    fed     ground web that goes back into the sheet; sold what does not
    """

    sheet: float
    tray: float
    ground: float
    fed: float

    @property
    def web(self) -> float:
        """Left after trimming. [kg]"""
        return self.sheet - self.tray

    @property
    def lost(self) -> float:
        """Dust and sweepings. [kg]"""
        return self.web - self.ground

    @property
    def sold(self) -> float:
        """Ground web not fed back. [kg]"""
        return self.ground - self.fed

    @property
    def regrind_in_sheet(self) -> float:
        """Share of regrind in the sheet once each sheet takes back the last one's web."""
        return self.fed / self.sheet

    @property
    def fresh(self) -> float:
        """Fresh resin for one tray. [kg]"""
        return self.sheet - self.fed


def web_balance(sheet: float, tray: float, loss: float, fed_share: float) -> WebBalance:
    """Where the sheet of one tray goes. Masses in kg.

    sheet, tray  [kg]; loss of the web in grinding; fed_share of what is left that goes back
    Source: mass balance.

    >>> balance = web_balance(0.129, 0.104, 0.02, 1.0)
    >>> round(balance.tray + balance.lost + balance.sold + balance.fed, 9), round(balance.regrind_in_sheet, 4)
    (0.129, 0.1899)
    """
    ground = (sheet - tray) * (1 - loss)
    return WebBalance(sheet, tray, ground, ground * fed_share)


def net_material(balance: WebBalance, sheet_price: Decimal, web_price: Decimal, grinding: Decimal) -> Decimal:
    """Material of one tray less the credit for its web. Money for one tray.

    sheet x price - ground x worth + web x grinding
    Source: mass balance, prices per kilogram.

    >>> balance = web_balance(0.129, 0.104, 0.02, 1.0)
    >>> round(net_material(balance, Decimal("2.60"), Decimal("1.10"), Decimal("0.15")), 4)
    Decimal('0.3122')
    """
    sheet, ground, web = (Decimal(repr(mass)) for mass in (balance.sheet, balance.ground, balance.web))
    return sheet * sheet_price - ground * web_price + web * grinding


def run_web(given: TrayWeb) -> Result:
    """Work out the web of a tray and its credit."""
    balance = web_balance(given.sheet_mass, given.tray_mass, given.grinding_loss, given.fed_share)
    net = float(net_material(balance, given.sheet_price_per_kg, given.web_price_per_kg, given.grinding_price_per_kg))
    gross = given.sheet_mass * float(given.sheet_price_per_kg)
    share = balance.regrind_in_sheet
    kept, most = steady_property(share, given.kept_each_pass), largest_regrind(given.kept_each_pass, given.least_kept)
    values = (
        Value("web_mass", "web, each", balance.web, "g"),
        Value("web_share", "of the sheet", balance.web / balance.sheet, "%"),
        Value("ground_mass", "ground, each", balance.ground, "g"),
        Value("fed_mass", "fed back into the sheet, each", balance.fed, "g"),
        Value("fresh_mass", "fresh resin, each", balance.fresh, "g"),
        Value("regrind_share", "regrind in the sheet", share, "%"),
        Value("mean_passes", "mean passes", mean_passes(share), ""),
        Value("property_kept", "property of the sheet, of fresh resin", kept, "%"),
        Value("largest_regrind", "largest regrind that keeps the property", most, "%"),
        Value("material", "sheet, per thousand trays, in money", gross * THOUSAND, ""),
        Value("credit", "credit for the web, per thousand, in money", (gross - net) * THOUSAND, ""),
        Value("net_material", "material less credit, per thousand, in money", net * THOUSAND, ""),
    )
    steps = (
        Step("web", "sheet − tray", balance.web, "g", "mass balance"),
        Step("regrind in the sheet", "web (1 − loss) × fed / sheet", share, "%", "mass balance"),
        Step("property", "p (1−r)/(1−rp)", kept, "%", LOOP_SOURCE),
        Step("credit", "ground × worth − web × grinding", (gross - net) * THOUSAND, "", "prices given"),
    )
    checks = (
        Check(
            "property of the sheet",
            kept,
            given.least_kept,
            "at least",
            "%",
            COMMON_PRACTICE,
            f"feed at most {most * 100:.3g} % regrind and sell the rest",
        ),
    )
    remarks = ()
    if net >= gross:
        remarks = ("Grinding costs more than the web is worth.",)
    cautions = (
        Caution(
            "granulator knives; dust and noise of grinding web",
            "lock out before clearing, hearing protection, extract the fines",
            "29 CFR 1910.212, 1910.147 and 1910.95",
        ),
    )
    return Result(values, checks, steps, cautions, remarks)


TRAY_WEB = Calculation(
    name="tray-web",
    title="Web fed back and its credit",
    line="tray",
    about="Web of a tray, what of it is ground and fed back, what the sheet keeps of its properties, and the credit in money.",
    inputs=TrayWeb,
    run=run_web,
)
