"""Density, viscosity and bulk modulus of hydraulic liquids against temperature.

Viscosity follows the Walther form of ASTM D341, log10 log10(v + 0.7) = A - B log10 T
(v in mm2/s, T in kelvin), through two points of each liquid. Density falls straight with
temperature. The bulk modulus is the specification's minimum where there is one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import log10

from analysis.errors import QuantityError


@dataclass(frozen=True)
class Liquid:
    """A liquid at one temperature: `density` [kg/m3], `viscosity` (kinematic) [m2/s],
    `bulk_modulus` [Pa]; `known` is False where the named liquid is not in the table."""

    name: str
    density: float
    viscosity: float
    bulk_modulus: float
    known: bool = True


Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class LiquidData:
    """Viscosity points [(degC, mm2/s)] from cold to hot, density at 15 degC [kg/m3], its fall with
    temperature [kg/(m3 K)], bulk modulus [Pa], and where the values come from."""

    points: Points
    density: float
    density_slope: float
    bulk_modulus: float
    base: str
    source: str


_PSI = 6894.757293168361

LIQUIDS: dict[str, LiquidData] = {
    "MIL-PRF-5606": LiquidData(
        ((40.0, 13.2), (100.0, 4.90)), 872.0, 0.72, 200_000 * _PSI, "mineral",
        "viscosity and bulk modulus: minima of MIL-PRF-5606H table I (from memory); "
        "density typical (from memory)",
    ),
    "MIL-PRF-83282": LiquidData(
        ((-40.0, 2200.0), (40.0, 14.0), (100.0, 3.45)), 850.0, 0.72, 200_000 * _PSI,
        "synthetic hydrocarbon",
        "viscosity: minima of MIL-PRF-83282D, at -40 degC its maximum; bulk modulus: its "
        "minimum (from memory); "
        "density typical (from memory)",
    ),
    "phosphate ester": LiquidData(
        ((40.0, 10.6), (100.0, 3.7)), 1000.0, 0.85, 1.5e9, "phosphate ester",
        "typical of SAE AS1241 type IV (from memory)",
    ),
    **{
        f"ISO VG {grade}": LiquidData(
            ((40.0, float(grade)), (100.0, at_100)), density, 0.65, 1.6e9, "mineral",
            "mid-point of ISO 3448 at 40 degC; at 100 degC for a viscosity index of about "
            "100, density and bulk modulus typical (from memory)",
        )
        for grade, at_100, density in (
            (10, 2.6, 850.0), (15, 3.4, 858.0), (22, 4.3, 865.0),
            (32, 5.4, 870.0), (46, 6.8, 875.0), (68, 8.7, 880.0),
        )
    },
}  # fmt: skip
"""The liquids the program knows, by name."""

DEFAULT_LIQUID = "MIL-PRF-5606"
DEFAULT_TEMPERATURE = 288.15


def walther(points: Points, temperature: float) -> float:
    """Kinematic viscosity [mm2/s] at a temperature [K] through points [(degC, mm2/s)].

    Between two neighbouring points the Walther form holds; outside, that of the outermost
    pair is carried on.

    References
    ----------
    ASTM D341, log10 log10(v + 0.7) = A - B log10 T.

    Examples
    --------
    >>> round(walther(((40, 32.0), (100, 5.4)), 313.15), 6)
    32.0
    """
    first = 0
    while first + 2 < len(points) and temperature > points[first + 1][0] + 273.15:
        first += 1
    (t1, v1), (t2, v2) = points[first : first + 2]
    x1, x2 = log10(t1 + 273.15), log10(t2 + 273.15)
    y1, y2 = log10(log10(v1 + 0.7)), log10(log10(v2 + 0.7))
    y = y1 + (y2 - y1) * (log10(temperature) - x1) / (x2 - x1)
    exponent: float = 10.0 ** (10.0**y)
    return exponent - 0.7


@lru_cache(maxsize=256)
def liquid(name: str = DEFAULT_LIQUID, temperature: float = DEFAULT_TEMPERATURE) -> Liquid:
    """The liquid of that name at a temperature [K].

    A name that is not in `LIQUIDS` gives the default liquid's values, marked `known=False`.

    Raises
    ------
    QuantityError
        If the temperature is outside -60 to 150 degC, where the two-point form says nothing.
    """
    if not 213.0 <= temperature <= 423.2:
        raise QuantityError(
            f"the liquid's temperature is {temperature - 273.15:.0f} degC; "
            "it must be between -60 degC and 150 degC"
        )
    known = name in LIQUIDS
    data = LIQUIDS[name if known else DEFAULT_LIQUID]
    return Liquid(
        name,
        data.density - data.density_slope * (temperature - DEFAULT_TEMPERATURE),
        walther(data.points, temperature) * 1e-6,
        data.bulk_modulus,
        known,
    )
