"""Units at the boundary: text such as `2 1/2 in` becomes an SI float, and back.

Inside naptuft every quantity is a plain float in SI base units (metre, kilogram, second, kelvin,
radian); only this module knows other units. Pint does the conversion, once a unit.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import isfinite
from tokenize import TokenError

from naptuft.errors import Fault, UnitError

_KINDS = {
    "dimensionless": "a plain number",
    "m": "a length",
    "m**2": "an area",
    "m**3": "a volume",
    "m**4": "a second moment of area",
    "kg": "a mass",
    "s": "a time",
    "K": "a temperature",
    "1/s": "a rate",
    "1/m": "a count per length",
    "1/m**2": "a count per area",
    "m/s": "a speed",
    "m**2/s": "a diffusivity",
    "m**3/s": "a volume flow",
    "kg/s": "a mass flow",
    "kg/m": "a mass per length",
    "kg/m**2": "a mass per area",
    "kg/m**3": "a density",
    "N": "a force",
    "N/m": "a force per length",
    "Pa": "a pressure",
    "Pa*s": "a viscosity",
    "J": "an energy or torque",
    "W": "a power",
    "J/kg/K": "a specific heat",
    "J/kg": "an energy per mass",
    "W/m/K": "a thermal conductivity",
    "kg/mol": "a molar mass",
    "Pa**0.5": "a solubility parameter",
}

_SPELT = {
    **dict.fromkeys('″”"', " in "),
    **dict.fromkeys("′’'", " ft "),
    "°": " deg",
    "½": " 1/2",
    "¼": " 1/4",
    "¾": " 3/4",
    "⅛": " 1/8",
    "⅜": " 3/8",
    "⅝": " 5/8",
    "⅞": " 7/8",
}
_NUMBER = re.compile(
    r"""\s*(?P<sign>[-+−]?)\s*
    (?: (?P<mixed>\d+)[ -]+(?P<mixed_top>\d+)\s*/\s*(?P<mixed_bottom>\d+)
      | (?P<top>\d+)\s*/\s*(?P<bottom>\d+)
      | (?P<plain>(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)
    )\s*""",
    re.VERBOSE,
)


_UNREADABLE = (ValueError, TypeError, AttributeError, SyntaxError, TokenError, AssertionError, ArithmeticError)


@lru_cache(maxsize=1)
def _registry():
    import pint

    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("piece = 1 = pcs")
    return registry


@lru_cache(maxsize=1)
def _kinds() -> dict[frozenset[tuple[str, float]], str]:
    registry = _registry()
    return {_dimensions(registry.parse_units(unit)): kind for unit, kind in _KINDS.items()}


def _dimensions(parsed) -> frozenset[tuple[str, float]]:
    """Dimensions and their powers, in no order: hp and W are of one kind."""
    return frozenset((name, float(power)) for name, power in parsed.dimensionality.items())


# Scale, offset and kind of the units inputs are declared in, as pint has them, so that declaring loads nothing.
OFTEN: dict[str, tuple[float, float, str]] = {
    "mm": (0.001, 0.0, "a length"),
    "um": (1e-06, 0.0, "a length"),
    "m": (1.0, 0.0, "a length"),
    "cm**2": (0.0001, 0.0, "an area"),
    "m**2": (1.0, 0.0, "an area"),
    "cm**3": (1.0000000000000002e-06, 0.0, "a volume"),
    "ml": (1.0000000000000002e-06, 0.0, "a volume"),
    "l": (0.0010000000000000002, 0.0, "a volume"),
    "cm**3/s": (1.0000000000000002e-06, 0.0, "a volume flow"),
    "g": (0.001, 0.0, "a mass"),
    "kg": (1.0, 0.0, "a mass"),
    "g/m**2": (0.001, 0.0, "a mass per area"),
    "kg/m**3": (1.0, 0.0, "a density"),
    "kg/hour": (0.0002777777777777778, 0.0, "a mass flow"),
    "s": (1.0, 0.0, "a time"),
    "min": (60.0, 0.0, "a time"),
    "h": (3600.0, 0.0, "a time"),
    "hour": (3600.0, 0.0, "a time"),
    "day": (86400.0, 0.0, "a time"),
    "1/min": (0.016666666666666666, 0.0, "a rate"),
    "1/h": (0.0002777777777777778, 0.0, "a rate"),
    "1/hour": (0.0002777777777777778, 0.0, "a rate"),
    "m/s": (1.0, 0.0, "a speed"),
    "mm/s": (0.001, 0.0, "a speed"),
    "m/min": (0.016666666666666666, 0.0, "a speed"),
    "N": (1.0, 0.0, "a force"),
    "mN": (0.001, 0.0, "a force"),
    "kN": (1000.0, 0.0, "a force"),
    "N/m": (1.0, 0.0, "a force per length"),
    "mN/m": (0.001, 0.0, "a force per length"),
    "kN/m": (1000.0, 0.0, "a force per length"),
    "kPa": (1000.0, 0.0, "a pressure"),
    "MPa": (1000000.0, 0.0, "a pressure"),
    "GPa": (1000000000.0, 0.0, "a pressure"),
    "kW": (1000.0, 0.0, "a power"),
    "degC": (1.0, 273.15, "a temperature"),
    "K": (1.0, 0.0, "a temperature"),
    "%": (0.01, 0.0, "a plain number"),
    "deg": (0.017453292519943295, 0.0, "a plain number"),
    "pcs": (1.0, 0.0, "a plain number"),
    "1/cm**2": (10000.0, 0.0, "a count per area"),
    "N*m": (1.0, 0.0, "an energy or torque"),
    "N/mm": (1000.0, 0.0, "a force per length"),
    "g/m**3": (0.001, 0.0, "a density"),
    "g/m**2/hour": (2.7777777777777776e-07, 0.0, "a quantity in g/m**2/hour"),
    "W/m**2/K": (1.0, 0.0, "a quantity in W/m**2/K"),
    "mm**4": (1.0000000000000002e-12, 0.0, "a second moment of area"),
    "N/m**2": (1.0, 0.0, "a pressure"),
    "mm**2": (1e-06, 0.0, "an area"),
    "mm**3": (1e-09, 0.0, "a volume"),
    "Pa*s": (1.0, 0.0, "a viscosity"),
    "Pa": (1.0, 0.0, "a pressure"),
    "1/s": (1.0, 0.0, "a rate"),
    "m**3/hour": (0.0002777777777777778, 0.0, "a volume flow"),
    "kJ": (1000.0, 0.0, "an energy or torque"),
    "l/min": (1.666666666666667e-05, 0.0, "a volume flow"),
    "kWh": (3600000.0, 0.0, "an energy or torque"),
    "kJ/kg": (1000.0, 0.0, "an energy per mass"),
    "mPa*s": (0.001, 0.0, "a viscosity"),
    "g/min": (1.6666666666666667e-05, 0.0, "a mass flow"),
    "m/h": (0.0002777777777777778, 0.0, "a speed"),
    "kg/h": (0.0002777777777777778, 0.0, "a mass flow"),
    "g/h": (2.7777777777777776e-07, 0.0, "a mass flow"),
    "m**3/h": (0.0002777777777777778, 0.0, "a volume flow"),
    "J": (1.0, 0.0, "an energy or torque"),
    "MPa*m/s": (1000000.0, 0.0, "a quantity in MPa*m/s"),
    "N*mm": (0.001, 0.0, "an energy or torque"),
    "ppm": (1e-06, 0.0, "a plain number"),
    "1/m**2": (1.0, 0.0, "a count per area"),
    "in": (0.0254, 0.0, "a length"),
}


def _unit(unit: str) -> tuple[float, float, str]:
    """Scale and offset to SI, and the kind of quantity in words."""
    return OFTEN.get(unit) or by_pint(unit)


@lru_cache(maxsize=1024)
def by_pint(unit: str) -> tuple[float, float, str]:
    """Scale and offset of any unit to SI, and the kind of quantity in words, asked of pint.

    Raises UnitError for an unknown unit.

    >>> by_pint("mm")
    (0.001, 0.0, 'a length')
    """
    if unit.strip() in ("", "-"):
        return 1.0, 0.0, "a plain number"
    import pint

    spelled = re.sub(r"(?<=[A-Za-zµμ])([234])\b", r"**\1", unit)
    try:
        registry = _registry()
        parsed = registry.parse_units(spelled)
        zero = registry.Quantity(0.0, parsed).to_base_units().magnitude
        one = registry.Quantity(1.0, parsed).to_base_units().magnitude
    except Exception as error:
        if not isinstance(error, (pint.errors.PintError, *_UNREADABLE)):
            raise
        raise UnitError(
            Fault("unit", unit, "a unit such as mm, in, g, kg, min, degC", "correct the spelling of the unit")
        ) from None
    return one - zero, zero, _kinds().get(_dimensions(parsed), f"a quantity in {unit}")


def kind_of(unit: str) -> str:
    """The kind of quantity a unit measures, in words.

    Raises UnitError for an unknown unit.

    >>> kind_of("mm"), kind_of("g"), kind_of("kg/m**3"), kind_of("m2"), kind_of("hp")
    ('a length', 'a mass', 'a density', 'an area', 'a power')
    """
    return _unit(unit)[2]


def to_si(value: float, unit: str) -> float:
    """A value in `unit` as an SI float. Raises UnitError for an unknown unit.

    >>> to_si(25.4, "mm"), round(to_si(20, "degC"), 2)
    (0.0254, 293.15)
    """
    scale, offset, _ = _unit(unit)
    if offset == 0.0 and scale < 1.0:
        return value / _inverse(unit)
    return value * scale + offset


@lru_cache(maxsize=1024)
def _inverse(unit: str) -> float:
    """Units in one SI unit: rounded where it is whole, so that 25.4 mm is 0.0254 m to the last digit."""
    inverse = 1.0 / _unit(unit)[0]
    return float(round(inverse)) if abs(inverse - round(inverse)) < 1e-9 * inverse else inverse


def from_si(value: float, unit: str) -> float:
    """An SI value in `unit`. Raises UnitError for an unknown unit.

    >>> from_si(0.0254, "in"), round(from_si(293.15, "degC"), 9)
    (1.0, 20.0)
    """
    scale, offset, _ = _unit(unit)
    if offset == 0.0 and scale < 1.0:
        return value * _inverse(unit)
    return (value - offset) / scale


def parse(given: object, unit: str, name: str = "value") -> float:
    """Read a quantity as an SI float: a number is in `unit`; a unit written in the text wins.

    given  a number, or text such as "73 mm", "2 1/2 in", '5/8"', "1,200 g"
    unit   the unit assumed where none is written; also fixes the kind of quantity
    name   what the quantity is called, for the message

    Raises UnitError when the text is no quantity or of another kind.

    >>> parse("2 1/2 in", "mm"), parse(73, "mm"), parse("1,200 g", "kg")
    (0.0635, 0.073, 1.2)
    >>> parse("50 g", "mm", "clear length")
    Traceback (most recent call last):
    naptuft.errors.UnitError: clear length: '50 g'; allowed: a length; clear length wants a length; '50 g' is a mass
    """
    if isinstance(given, bool) or given is None:
        raise UnitError(_unreadable(name, given, unit))
    if isinstance(given, (int, float)):
        if not abs(given) < 1e300:
            raise UnitError(_unreadable(name, given, unit))
        return to_si(float(given), unit)
    text = _plain(str(given))
    total: float | None = None
    rest = text
    while rest.strip():
        match = _NUMBER.match(rest)
        if match is None:
            raise UnitError(_unreadable(name, given, unit))
        end = re.search(r"\s[-+−]?\d", rest[match.end() :])
        stop = match.end() + end.start() if end else len(rest)
        written = rest[match.end() : stop].strip()
        if total is not None and not written:
            raise UnitError(_unreadable(name, given, unit))
        if written.startswith(","):
            raise UnitError(Fault(name, given, _kind_phrase(unit), "write a decimal point, not a comma: 2.5, not 2,5"))
        part = _in_unit(_magnitude(match), written or unit, unit, name, given)
        total = part if total is None else total + part
        rest = rest[stop:]
    if total is None:
        raise UnitError(_unreadable(name, given, unit))
    if not isfinite(total):
        raise UnitError(_unreadable(name, given, unit))
    return total


def _plain(text: str) -> str:
    """Marks for inch, foot, degree and common fractions spelt out."""
    for mark in {*text} & _SPELT.keys():
        text = text.replace(mark, _SPELT[mark])
    return text.strip()


def _magnitude(match: re.Match[str]) -> float:
    sign = -1.0 if match["sign"] in ("-", "−") else 1.0
    try:
        if match["mixed"]:
            whole = int(match["mixed"]) + Fraction(int(match["mixed_top"]), int(match["mixed_bottom"]))
            return sign * float(whole)
        if match["top"]:
            return sign * float(Fraction(int(match["top"]), int(match["bottom"])))
    except ZeroDivisionError:
        raise UnitError(
            Fault("fraction", match[0].strip(), "a fraction whose lower figure is not 0", "correct the fraction")
        ) from None
    return sign * float(match["plain"].replace(",", ""))


def _in_unit(value: float, written: str, unit: str, name: str, given: object) -> float:
    wanted = kind_of(unit)
    try:
        found = kind_of(written)
    except UnitError:
        raise UnitError(
            Fault(
                name,
                given,
                _kind_phrase(unit),
                f"{written!r} is not a unit naptuft knows; write one such as {unit or '12'}",
            )
        ) from None
    if found != wanted:
        raise UnitError(Fault(name, given, wanted, f"{name} wants {wanted}; {given!r} is {found}"))
    return to_si(value, written)


def _kind_phrase(unit: str) -> str:
    kind = kind_of(unit)
    return kind if unit in ("", "-") else f"{kind} (in {unit} where no unit is written)"


def _unreadable(name: str, given: object, unit: str) -> Fault:
    return Fault(name, given, _kind_phrase(unit), f"write a number and its unit, such as 12 {unit}".rstrip())


def show(value: float, unit: str, digits: int = 4) -> str:
    """An SI value as text in `unit`, to so many significant digits, with thin grouping and its unit.

    >>> show(0.0730, "mm"), show(1234.5, "kg"), show(0.5, ""), show(0.25, "%")
    ('73 mm', '1,234 kg', '0.5', '25 %')
    """
    number = show_number(from_si(value, unit), digits)
    return f"{number} {unit_sign(unit)}".rstrip()


def show_number(value: float, digits: int = 4) -> str:
    """A plain number to so many significant digits, never in powers of ten between 1e-5 and 1e12.

    >>> show_number(1234.5), show_number(0.000123456), show_number(0), show_number(12000000)
    ('1,234', '0.0001235', '0', '12,000,000')
    """
    if value != value:
        return "not known"
    if value == 0:
        return "0"
    from math import floor, log10

    size = floor(log10(abs(value)))
    if size < -5 or size >= 12:
        return f"{value:.{digits - 1}e}"
    places = max(0, digits - 1 - size)
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


_SIGNS = {"degC": "°C", "degF": "°F", "deg": "°", "um": "µm", "m2": "m²", "pcs": "pcs", "percent": "%"}


def unit_sign(unit: str) -> str:
    """A unit as people write it.

    >>> unit_sign("degC"), unit_sign("kg/m**3"), unit_sign("mm")
    ('°C', 'kg/m³', 'mm')
    """
    if unit in _SIGNS:
        return _SIGNS[unit]
    for written, sign in (("**0.5", "^½"), ("**2", "²"), ("**3", "³"), ("**4", "⁴"), ("*", "·"), ("um", "µm")):
        unit = unit.replace(written, sign)
    return unit


@dataclass(frozen=True)
class Measure:
    """A number with the unit written beside it; no unit means that of the material it measures.

    >>> Measure(2.5, "kg").si("g"), Measure(300, "").si("mm")
    (2.5, 0.3)
    """

    number: float
    unit: str = ""

    def si(self, unit: str, name: str = "quantity") -> float:
        """The SI value, in `unit` where none is written. Raises UnitError when the kinds differ."""
        if not self.unit:
            return to_si(self.number, unit)
        return parse(str(self), unit, name)

    def __str__(self) -> str:
        return f"{self.number:.15g} {self.unit}".rstrip()


def parse_measure(given: object, name: str = "quantity") -> Measure:
    """Read a number with or without a unit of any kind. Raises UnitError when it is neither.

    >>> parse_measure("2 1/2 kg"), parse_measure(12)
    (Measure(number=2.5, unit='kg'), Measure(number=12.0, unit=''))
    """
    if isinstance(given, Measure):
        return given
    if isinstance(given, (int, float)) and not isinstance(given, bool):
        return Measure(float(given))
    words = _plain(str(given))
    match = _NUMBER.match(words)
    if match is None or words[match.end() :].startswith(","):
        raise UnitError(Fault(name, given, "a number with or without its unit", "write it as 12 or 12 kg"))
    unit = words[match.end() :].strip()
    if unit:
        kind_of(unit)
    number = _magnitude(match)
    if not isfinite(number):
        raise UnitError(Fault(name, given, "a number with or without its unit", "write it as 12 or 12 kg"))
    return Measure(number, unit)
