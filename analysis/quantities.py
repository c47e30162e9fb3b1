"""The one pint registry, and the way between text with units and SI floats.

Inside the package every quantity is an SI float; pint appears only here. The registry
defines its own units: it starts in milliseconds, knows the units of the trade, and
takes the angle as a dimension of its own, so that a pump displacement without "/rev"
is an error instead of a factor of 2 pi.

Unit factors: NIST SP 811, appendix B (from memory); the US gallon, imperial gallon,
inch, pound and standard gravity are exact by definition.
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import ceil, floor, log10
from typing import Any, Final

import pint

from analysis.errors import QuantityError
from symbols.kind import DIMENSIONS

_UNITS: Final = """
micro- = 1e-6 = µ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
metre = [length] = m = meter
second = [time] = s = sec
kilogram_ = [mass] = kilogram_
gram = 1e-3 * kilogram_ = g
kelvin = [temperature]; offset: 0 = K
radian = [angle] = rad
degree_Celsius = kelvin; offset: 273.15 = degC = celsius = °C
degree_Fahrenheit = 5 / 9 * kelvin; offset: 459.67 * 5 / 9 = degF = fahrenheit = °F
minute = 60 * second = min
hour = 3600 * second = h = hr
revolution = 6.283185307179586 * radian = rev = turn
degree = 0.017453292519943295 * radian = deg = °
rpm = revolution / minute
stroke = [] = strokes
percent = 0.01 = %
inch = 0.0254 * metre = in = inches
foot = 12 * inch = ft = feet
yard = 3 * foot = yd
thou = 0.001 * inch = mil
litre = 1e-3 * metre ** 3 = L = l = liter
cubic_centimetre = 1e-6 * metre ** 3 = cc = ccm
gallon = 3.785411784e-3 * metre ** 3 = gal = US_gal = us_gal = gallons
quart = 0.25 * gallon = qt = US_qt
pint_ = 0.125 * gallon = pt = US_pt
fluid_ounce = 0.0078125 * gallon = fl_oz = US_fl_oz
imperial_gallon = 4.54609e-3 * metre ** 3 = imp_gal
imperial_pint = 0.125 * imperial_gallon = imp_pt
imperial_quart = 0.25 * imperial_gallon = imp_qt
newton = kilogram_ * metre / second ** 2 = N
kilogram_force = 9.80665 * newton = kgf = kp
pound = 0.45359237 * kilogram_ = lb = lbs
pound_force = 4.4482216152605 * newton = lbf
ounce_force = 0.0625 * pound_force = ozf
pascal = newton / metre ** 2 = Pa
bar = 1e5 * pascal = _ = barg
atmosphere = 101325 * pascal = atm
technical_atmosphere = 98066.5 * pascal = at
psi = pound_force / inch ** 2 = _ = psig
ksi = 1000 * psi
millimetre_of_mercury = 133.322387415 * pascal = mmHg
inch_of_mercury = 3386.389 * pascal = inHg
gpm = gallon / minute
lpm = litre / minute = LPM
joule = newton * metre = J
watt = joule / second = W
horsepower = 745.6998715822702 * watt = hp
stokes = 1e-4 * metre ** 2 / second = St
poise = 0.1 * pascal * second = P
"""

registry: Final[pint.UnitRegistry[Any]] = pint.UnitRegistry(
    None, autoconvert_offset_to_baseunit=True
)
registry.load_definitions(_UNITS.strip().splitlines())

Quantity = pint.Quantity[float]

_NUMBER: Final = re.compile(
    r"""\s*(?P<number>
        (?P<sign>[-+−]?)\s*
        (?: (?P<whole>\d+)\s+(?P<top>\d+)\s*/\s*(?P<bottom>\d+)   # 1 1/4
          | (?P<top_only>\d+)\s*/\s*(?P<bottom_only>\d+)          # 1/4
          | (?P<decimal>(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?) )   # 12.5, 1e3
    )\s*(?P<unit>.*?)\s*$""",
    re.VERBOSE,
)
_UNIT: Final = re.compile(r"[A-Za-z_µ°%^*/·²³\d\s().-]*$")
_LONGEST: Final = 80

EXAMPLES: Final[dict[str, str]] = {
    "pressure": "1000 psi",
    "flow": "2.5 gal/min",
    "length": "1/4 in",
    "area": "0.5 in^2",
    "volume": "1.5 L",
    "force": "200 lbf",
    "stiffness": "20 lbf/in",
    "torque": "10 N*m",
    "angle": "90 deg",
    "displacement": "0.75 in^3/rev",
    "speed": "2000 rpm",
    "rate": "30 strokes/min",
    "velocity": "2 ft/s",
    "time": "3 s",
    "temperature": "15 degC",
    "number": "0.9",
}


@lru_cache(maxsize=4096)
def _parse_unit(unit: str) -> Any:
    """The pint unit of a text; QuantityError if there is no such unit."""
    tidy = unit.replace("·", "*").replace("²", "^2").replace("³", "^3")
    if len(tidy) > _LONGEST or not _UNIT.match(tidy):
        raise QuantityError(f"'{unit[:_LONGEST]}' is not a unit; write one like psi or gal/min")
    if re.search(r"\^\s*-?\d\d|\*\*", tidy):
        raise QuantityError(f"'{unit}' is not a unit; write powers like in^3")
    # "US gal/min" and "imp gal" as people write them
    tidy = re.sub(r"\b(US|us|imp)\s+(gal|pt|qt|fl_oz)\b", r"\1_\2", tidy)
    try:
        return registry.parse_units(tidy)
    except Exception as error:  # pint raises many kinds, some of them builtin
        raise QuantityError(f"'{unit}' is not a known unit; {_instead_of(unit, tidy)}") from error


def _instead_of(unit: str, tidy: str) -> str:
    """What to write in place of a unit that there is not."""
    if unit.endswith("a") and unit[:-1] in ("psi", "bar"):
        return f"pressures are gauge: write {unit[:-1]}"
    try:
        registry.parse_units(tidy.lower())
    except Exception:  # as above
        return "write one like psi or gal/min"
    return f"write {tidy.lower()}"


def _parse_number(match: re.Match[str]) -> float:
    sign = -1.0 if match["sign"] in ("-", "−") else 1.0
    if match["decimal"]:
        return sign * float(match["decimal"])
    whole, top, bottom = match["whole"] or "0", match["top"], match["bottom"]
    if match["top_only"]:
        top, bottom = match["top_only"], match["bottom_only"]
    if int(bottom) == 0:
        raise QuantityError(f"'{match['number']}' divides by zero")
    return sign * (int(whole) + int(top) / int(bottom))


@lru_cache(maxsize=16384)
def parse_quantity(text: str, dimension: str) -> float:
    """The SI value of a text such as `1000 psi`, `1/4 in`, `1 1/2 in`, `2.5 imp_gal/min`.

    Parameters
    ----------
    text
        Number (decimal, fraction or mixed fraction), then a unit; a `number` has no unit
        or is in percent.
    dimension
        A key of `symbols.kind.DIMENSIONS`.

    Returns
    -------
    float
        The value in the SI unit of the dimension, always finite.

    Raises
    ------
    QuantityError
        If the text is no quantity, has no unit, an unknown one, or one of another
        dimension; the message shows how to write it.

    Examples
    --------
    >>> parse_quantity("1/4 in", "length")
    0.00635
    >>> round(parse_quantity("1000 psi", "pressure"))
    6894757
    """
    example = EXAMPLES[dimension]
    match = _NUMBER.match(text) if len(text) <= _LONGEST else None
    if match is None:
        raise QuantityError(f"'{text[:40]}' is not a quantity; write it like '{example}'")
    number, unit = _parse_number(match), match["unit"]
    if not unit and dimension != "number":
        raise QuantityError(f"'{text}' has no unit; write it like '{example}'")
    try:
        value = float(registry.Quantity(number, _parse_unit(unit)).m_as(DIMENSIONS[dimension]))
    except pint.DimensionalityError as error:
        raise QuantityError(
            f"'{text}' is not a {dimension}{_hint(unit, dimension)}; write it like '{example}'"
        ) from error
    except OverflowError as error:
        raise QuantityError(f"'{text}' is out of range") from error
    if not abs(value) < 1e30:
        raise QuantityError(f"'{text}' is out of range")
    return value


def _hint(unit: str, dimension: str) -> str:
    if dimension == "force" and unit in ("lb", "lbs", "kg"):
        return f" ({unit} is a mass)"
    if dimension == "displacement":
        return " per revolution"
    return ""


def check_unit(unit: str, dimension: str) -> None:
    """Raise QuantityError unless `unit` measures `dimension`."""
    try:
        # an offset unit cannot be converted as a factor, so a value is converted
        registry.Quantity(1.0, _parse_unit(unit)).to(DIMENSIONS[dimension])
    except pint.DimensionalityError as error:
        raise QuantityError(f"'{unit}' is not a unit of {dimension}") from error


@lru_cache(maxsize=512)
def _affine(unit: str, dimension: str) -> tuple[float, float]:
    """(scale, offset) with value_in_unit = value_si * scale + offset."""
    parsed, si = _parse_unit(unit), DIMENSIONS[dimension]
    zero = float(registry.Quantity(0.0, si).m_as(parsed))
    return float(registry.Quantity(1.0, si).m_as(parsed)) - zero, zero


def in_unit(value: float, unit: str, dimension: str) -> float:
    """An SI value in a unit of the same dimension.

    Raises
    ------
    QuantityError
        If the unit is unknown.
    """
    scale, offset = _affine(unit, dimension)
    return value * scale + offset


LEAST_SHOWN: Final[dict[str, float]] = {
    "pressure": 1.0,
    "flow": 1e-9,
    "velocity": 1e-6,
    "force": 1e-2,
    "torque": 1e-3,
    "length": 1e-7,
    "angle": 1e-6,
    "volume": 1e-10,
    "speed": 1e-5,
    "time": 1e-6,
}
"""What nobody measures and rounding alone can make [SI]: text goes no further than this."""


def format_quantity(value: float, unit: str, dimension: str, digits: int = 4) -> str:
    """Text such as `1000 psi` for an SI value, with that many significant digits at most.

    Decimals end at the level of `LEAST_SHOWN`, so that a difference that is none but for
    rounding reads `0`, whatever the unit.

    >>> format_quantity(6894757.29, "psi", "pressure")
    '1000 psi'
    >>> format_quantity(7e-7, "psi", "pressure"), format_quantity(12.34, "psi", "pressure")
    ('0 psi', '0.0018 psi')
    """
    number = in_unit(value, unit, dimension)
    text = f"{number:.{digits}g}"
    places = _places(unit, dimension)
    if "e" in text or (places is not None and len(text.partition(".")[2]) > places):
        text = _plain(number, digits, places)
    if not text.strip("-0."):
        text = "0"
    return f"{text} {unit}".strip()


@lru_cache(maxsize=512)
def _places(unit: str, dimension: str) -> int | None:
    """Decimals down to what is worth showing in the unit; None if there is no such level."""
    least = LEAST_SHOWN.get(dimension)
    return None if least is None else max(0, ceil(-log10(abs(_affine(unit, dimension)[0]) * least)))


def _plain(number: float, digits: int, places: int | None) -> str:
    """The number without a power of ten, rounded to the digits and to the places."""
    if number == 0:
        return "0"
    wanted = digits - 1 - floor(log10(abs(number)))
    if wanted <= 0:
        return f"{float(f'{number:.{digits}g}'):.0f}"
    text = f"{number:.{wanted if places is None else min(wanted, places)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(value: float, dimension: str) -> Quantity:
    """An SI value as a pint quantity, for callers from Python."""
    return registry.Quantity(value, DIMENSIONS[dimension])
