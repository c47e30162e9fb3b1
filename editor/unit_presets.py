"""The units in which a circuit is shown, without Qt: for the window and the command line."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.quantities import check_unit, format_quantity, in_unit

_METRIC = {
    "pressure": "bar",
    "flow": "L/min",
    "length": "mm",
    "area": "cm^2",
    "volume": "L",
    "force": "N",
    "stiffness": "N/mm",
    "torque": "N*m",
    "angle": "deg",
    "displacement": "cm^3/rev",
    "speed": "rpm",
    "rate": "strokes/min",
    "velocity": "m/s",
    "time": "s",
    "temperature": "degC",
}
_INCH = {
    "pressure": "psi",
    "flow": "gal/min",
    "length": "in",
    "area": "in^2",
    "volume": "in^3",
    "force": "lbf",
    "stiffness": "lbf/in",
    "torque": "lbf*in",
    "angle": "deg",
    "displacement": "in^3/rev",
    "speed": "rpm",
    "rate": "strokes/min",
    "velocity": "ft/s",
    "time": "s",
    "temperature": "degF",
}

PRESETS: Mapping[str, Mapping[str, str]] = {
    "SI": {**_METRIC, "pressure": "MPa", "force": "kN"},
    "metric": _METRIC,
    "US": _INCH,
    "imperial": {**_INCH, "flow": "imp_gal/min", "temperature": "degC"},
}
"""Preset name -> dimension -> unit. L/min, bar, deg and rpm are accepted beside the SI."""

PRESET_TITLES: Mapping[str, str] = {
    "SI": "SI (MPa, L/min, mm, kN)",
    "metric": "Metric (bar, L/min, mm, N)",
    "US": "US (psi, US gal/min, in, lbf)",
    "imperial": "Imperial (psi, imp gal/min, in, lbf)",
}

_TYPESET = (("^2", "²"), ("^3", "³"), ("*", "·"), ("imp_gal", "imp gal"))
_TYPESET_DEGREES = {"degC": "°C", "degF": "°F", "deg": "°"}


def typeset(unit: str) -> str:
    """The unit as it is printed: `in³`, `N·m`, `°C`; it can be typed so as well.

    >>> typeset("in^3/rev"), typeset("lbf*ft"), typeset("degC")
    ('in³/rev', 'lbf·ft', '°C')
    """
    if unit in _TYPESET_DEGREES:
        return _TYPESET_DEGREES[unit]
    for plain, printed in _TYPESET:
        unit = unit.replace(plain, printed)
    return unit


# Both are asked for every cell of every table, and to check a unit takes a millisecond's part.
@lru_cache(maxsize=256)
def _unit(chosen: tuple[tuple[str, str], ...], dimension: str) -> str:
    unit = dict(chosen).get(dimension)
    if unit:
        try:
            check_unit(unit, dimension)
        except CircuitError:
            unit = ""
    return unit or PRESETS[_nearest_preset(chosen)].get(dimension, "")


@lru_cache(maxsize=32)
def _nearest_preset(chosen: tuple[tuple[str, str], ...]) -> str:
    def agreement(name: str) -> int:
        return sum(PRESETS[name].get(dimension) == unit for dimension, unit in chosen)

    return max(("metric", "SI", "US", "imperial"), key=agreement)


class DisplayUnits:
    """In which unit each quantity of a circuit is shown; it always asks the circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit

    def unit(self, dimension: str) -> str:
        """The unit of a dimension, as quantities are written: `psi`, `in^3`.

        What the circuit does not name, or names wrongly, comes from the preset nearest to
        what it does name, so that a circuit in psi does not show metres per second.
        """
        return _unit(tuple(self.circuit.display_units.items()), dimension)

    def preset(self) -> str:
        """The preset that agrees with most of what the circuit names; metric if none does."""
        return _nearest_preset(tuple(self.circuit.display_units.items()))

    def is_preset(self, name: str) -> bool:
        """Whether every quantity is shown in the unit of that preset."""
        return all(self.unit(dimension) == unit for dimension, unit in PRESETS[name].items())

    def number(self, value: float, dimension: str, digits: int = 4) -> str:
        """The bare number, for a column whose heading names the unit."""
        unit = self.unit(dimension)
        if not unit:
            return f"{value:.{digits}g}"
        return format_quantity(value, unit, dimension, digits).rpartition(" ")[0]

    def value(self, value: float, dimension: str) -> float:
        """An SI value as a float in the shown unit."""
        return in_unit(value, self.unit(dimension), dimension)

    def format(self, value: float, dimension: str, digits: int = 4) -> str:
        """Number and printed unit: `1000 psi`, `1.5 in³`."""
        return f"{self.number(value, dimension, digits)} {self.symbol(dimension)}".strip()

    def symbol(self, dimension: str) -> str:
        """The unit as it is printed: `in³`."""
        return typeset(self.unit(dimension))
