"""How figures of the plant scatter about what is planned: times, yields, stops and deliveries.

Three forms: triangular (least, most likely, most), lognormal (mean and coefficient of variation) and
Weibull (mean and shape; shape 1 is the exponential). Formulas: NIST/SEMATECH e-Handbook of Statistical
Methods, sections 1.3.6.6.8 (Weibull) and 1.3.6.6.9 (lognormal); triangular: Evans, Hastings and Peacock,
Statistical Distributions (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import exp, gamma, log, sqrt
from statistics import NormalDist
from typing import Any, Literal

from naptuft.calculation import choice, quantity, text, whole
from naptuft.errors import DesignError, Fault

Form = Literal["triangular", "lognormal", "Weibull"]
FORMS: tuple[Form, ...] = ("triangular", "lognormal", "Weibull")
NEEDED: dict[str, tuple[str, ...]] = {
    "triangular": ("least", "likely", "most"),
    "lognormal": ("mean", "variation"),
    "Weibull": ("mean", "shape"),
}
MANY = 10**6


@dataclass(frozen=True)
class Spread:
    """A distribution, in the unit of what it spreads.

    form   triangular: a least, b most likely, c most; lognormal: a mean and b standard deviation of the
           logarithm; Weibull: a scale, b shape
    Make one with `triangular`, `lognormal` or `weibull`.
    """

    form: Form
    a: float
    b: float
    c: float = 0.0

    @property
    def mean(self) -> float:
        """The mean.

        >>> triangular(1.0, 2.0, 6.0).mean, round(weibull(40.0, 2.0).mean, 9)
        (3.0, 40.0)
        """
        match self.form:
            case "triangular":
                return (self.a + self.b + self.c) / 3
            case "lognormal":
                return exp(self.a + self.b**2 / 2)
            case "Weibull":
                return self.a * gamma(1 + 1 / self.b)

    @property
    def variance(self) -> float:
        """The variance.

        >>> round(triangular(0.0, 0.0, 6.0).variance, 9), round(lognormal(10.0, 0.3).variance, 9)
        (2.0, 9.0)
        """
        match self.form:
            case "triangular":
                a, b, c = self.a, self.b, self.c
                return (a * a + b * b + c * c - a * b - a * c - b * c) / 18
            case "lognormal":
                return (exp(self.b**2) - 1) * exp(2 * self.a + self.b**2)
            case "Weibull":
                return self.a**2 * (gamma(1 + 2 / self.b) - gamma(1 + 1 / self.b) ** 2)

    def quantile(self, share: float) -> float:
        """The value that a share of all draws stays below, 0 < share < 1.

        >>> triangular(0.0, 0.0, 6.0).quantile(0.75), round(weibull(1.0, 1.0).quantile(0.5), 6)
        (3.0, 0.693147)
        """
        match self.form:
            case "triangular":
                a, b, c = self.a, self.b, self.c
                if share * (c - a) < b - a:
                    return a + sqrt(share * (c - a) * (b - a))
                return c - sqrt((1 - share) * (c - a) * (c - b))
            case "lognormal":
                return exp(self.a + self.b * NormalDist().inv_cdf(share))
            case "Weibull":
                return self.a * (-log(1 - share)) ** (1 / self.b)


def triangular(least: float, likely: float, most: float) -> Spread:
    """A triangular spread. Raises DesignError where least <= likely <= most does not hold."""
    if not least <= likely <= most:
        raise DesignError(Fault("likely", likely, f"from least, {least:g}, to most, {most:g}", "correct the three"))
    return Spread("triangular", least, likely, most)


def lognormal(mean: float, variation: float) -> Spread:
    """A lognormal spread of a mean and a coefficient of variation, both above 0. Raises DesignError otherwise.

    sigma² = ln(1 + variation²), mu = ln(mean) − sigma²/2.

    >>> spread = lognormal(20.0, 0.5)
    >>> round(spread.mean, 9), round(spread.variance ** 0.5 / spread.mean, 9)
    (20.0, 0.5)
    """
    _above_0(mean=mean, variation=variation)
    sigma_squared = log(1 + variation**2)
    return Spread("lognormal", log(mean) - sigma_squared / 2, sqrt(sigma_squared))


def weibull(mean: float, shape: float) -> Spread:
    """A Weibull spread of a mean and a shape, both above 0: scale = mean / gamma(1 + 1/shape). Raises DesignError.

    >>> weibull(100.0, 1.0)
    Spread(form='Weibull', a=100.0, b=1.0, c=0.0)
    """
    _above_0(mean=mean, shape=shape)
    return Spread("Weibull", mean / gamma(1 + 1 / shape), shape)


def _above_0(**given: float) -> None:
    wrong = [Fault(name, value, "above 0", f"raise the {name}") for name, value in given.items() if not value > 0]
    if wrong:
        raise DesignError(*wrong)


def pert_mean(least: float, likely: float, most: float) -> float:
    """Mean of a time estimated three ways: (least + 4 likely + most) / 6.

    Source: Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959) 646 (from memory).

    >>> pert_mean(2.0, 3.5, 8.0)
    4.0
    """
    return (least + 4 * likely + most) / 6


def pert_variance(least: float, most: float) -> float:
    """Variance of a time estimated three ways: ((most − least) / 6)². Source: as `pert_mean`.

    >>> pert_variance(2.0, 8.0)
    1.0
    """
    return ((most - least) / 6) ** 2


def _faults(record: Any) -> Iterator[Fault]:
    """What does not fit the form of a record with columns form, least, likely, most, mean, variation, shape."""
    needed = NEEDED[record.form]
    columns = ("least", "likely", "most", "mean", "variation", "shape")
    for name in columns:
        value = getattr(record, name)
        if name in needed and value is None:
            yield Fault(name, "", f"a value; {record.form} needs {', '.join(needed)}", f"write the {name}")
        elif name not in needed and value is not None:
            yield Fault(name, value, f"empty; {record.form} needs only {', '.join(needed)}", "delete it")
    if (
        record.form == "triangular"
        and None not in (record.least, record.likely, record.most)
        and not record.least <= record.likely <= record.most
    ):
        yield Fault("likely", record.likely, "not below the least nor above the most", "put the three in order")


def _spread(record: Any, unit: float = 1.0) -> Spread:
    if record.form == "triangular":
        return triangular(record.least / unit, record.likely / unit, record.most / unit)
    if record.form == "lognormal":
        return lognormal(record.mean / unit, record.variation)
    return weibull(record.mean / unit, record.shape)


@dataclass(frozen=True)
class WorkSpread:
    """How the time or the yield of a work centre, or of one operation there, scatters about the plan.

    The most particular row counts: product and step, then product, then the work centre alone.
    """

    work_centre: str = text("code of the work centre", example="MOULDING")
    product: str = text("only for this product; empty: for all", default="", example="H-WALL100")
    step: int | None = whole(
        "only for this step of the product; empty: for all", low=1, high=9999, default=None, example="10"
    )
    of: str = choice(
        ("time", "yield"),
        "time: against the planned time; yield: share of what is started that is good, what lacks against the plan"
        " being made again at this step",
    )
    form: str = choice(FORMS, "shape of the spread")
    least: float | None = quantity("%", "triangular: least", low=0, high=1000, default=None, example="90 %")
    likely: float | None = quantity("%", "triangular: most likely", low=0, high=1000, default=None, example="100 %")
    most: float | None = quantity("%", "triangular: most", low=1, high=1000, default=None, example="130 %")
    mean: float | None = quantity("%", "lognormal and Weibull: mean", low=1, high=1000, default=None, example="105 %")
    variation: float | None = quantity(
        "%", "lognormal: standard deviation / mean", low=1, high=300, default=None, example="15 %"
    )
    shape: float | None = quantity("", "Weibull: shape", low=0.2, high=20, default=None, example="3")

    def __post_init__(self) -> None:
        faults = list(_faults(self))
        if self.step is not None and not self.product:
            faults.append(Fault("product", "", "a product where a step is written", "write whose step it is"))
        if self.of == "yield":
            if self.form != "triangular":
                faults.append(Fault("form", self.form, "triangular for a yield", "write the least, likely and most"))
            if self.most is not None and self.most > 1:
                faults.append(Fault("most", f"{self.most:.0%}", "at most 100 % for a yield", "lower it"))
            if self.least is not None and self.least < 0.2:
                faults.append(Fault("least", f"{self.least:.0%}", "at least 20 % for a yield", "raise it"))
        if faults:
            raise DesignError(*faults)

    @property
    def spread(self) -> Spread:
        """The spread, as a share of the planned time or of what is started."""
        return _spread(self)


@dataclass(frozen=True)
class Stops:
    """How often a machine breaks down and how long a repair takes.

    Running time between stops is Weibull, repair time lognormal; a machine begins as if just repaired.
    """

    machine: str = text("code of the machine", example="PRESS-A")
    between: float = quantity("h", "mean running time from one stop to the next", low=0.1, high=MANY, example="60 h")
    shape: float = quantity(
        "", "of the time between stops: 1 by chance, above 1 by wear", low=0.2, high=20, default=1.0, example="1.5"
    )
    repair: float = quantity("min", "mean time of a repair", low=1, high=20160, example="45 min")
    variation: float = quantity(
        "%", "of the repair time: standard deviation / mean", low=1, high=300, default=80.0, example="80 %"
    )


@dataclass(frozen=True)
class DeliverySpread:
    """How late (or, below 0, early) deliveries of a material come; the material * stands for all others."""

    material: str = text("code of the material, or * for all not named", example="*")
    form: str = choice(FORMS, "shape of the spread")
    least: float | None = quantity(
        "day", "triangular: least days late", low=-60, high=400, default=None, example="-1 day"
    )
    likely: float | None = quantity("day", "triangular: most likely", low=-60, high=400, default=None, example="0 day")
    most: float | None = quantity("day", "triangular: most", low=-60, high=400, default=None, example="5 day")
    mean: float | None = quantity(
        "day", "lognormal and Weibull: mean", low=0.01, high=400, default=None, example="1 day"
    )
    variation: float | None = quantity(
        "%", "lognormal: standard deviation / mean", low=1, high=300, default=None, example="80 %"
    )
    shape: float | None = quantity("", "Weibull: shape", low=0.2, high=20, default=None, example="1")

    def __post_init__(self) -> None:
        faults = tuple(_faults(self))
        if faults:
            raise DesignError(*faults)

    @property
    def spread(self) -> Spread:
        """The spread, in minutes late."""
        return _spread(self, 60.0)
