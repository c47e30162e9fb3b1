"""What a written value means: text, number, range, unknown, table or label.

A value is kept in the circuit as the user wrote it. Here it is checked against its
declaration and turned into SI. A range counts with its middle and an unknown with the
default, and both are marked, so that a reading can say what it hangs on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

from analysis.errors import CircuitError, QuantityError
from analysis.quantities import parse_quantity
from symbols import Setting

Table = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Value:
    """A resolved value: `si` is a float, a word, a flag, a table or None (not given)."""

    si: float | str | bool | Table | None
    low: float | None = None
    high: float | None = None
    unknown: bool = False

    @property
    def is_range(self) -> bool:
        """Whether the source gives a range only."""
        return self.low is not None


def parse_number(raw: str | float, declared: Setting, place: str = "") -> float:
    """SI value of one written value, checked against the declaration's bounds.

    Raises
    ------
    QuantityError
        With the place, what was got and what is allowed.
    """
    try:
        value = _parse_scalar(raw, declared.dimension)
    except QuantityError as error:
        raise QuantityError(error.message, place) from error
    low, high = _bounds(declared)
    if declared.positive and not value > 0:
        raise QuantityError(f"{declared.title} is {raw}; it must be greater than zero", place)
    if low is not None and value < low:
        raise QuantityError(
            f"{declared.title} is {raw}; it must be {declared.minimum} or more", place
        )
    if high is not None and value > high:
        raise QuantityError(
            f"{declared.title} is {raw}; it must be {declared.maximum} or less", place
        )
    return value


def _parse_scalar(raw: Any, dimension: str) -> float:
    if isinstance(raw, bool) or not isinstance(raw, (str, int, float)):
        raise QuantityError(f"'{str(raw)[:40]}' is not a quantity")
    if isinstance(raw, str):
        return parse_quantity(raw, dimension)
    if dimension != "number":
        raise QuantityError(f"{raw} has no unit; write it with one, in quotes")
    value = float(raw)
    if not abs(value) < 1e30:
        raise QuantityError(f"{raw} is out of range")
    return value


@lru_cache(maxsize=1024)
def _bounds_of(dimension: str, low: Any, high: Any) -> tuple[float | None, float | None]:
    return (
        None if low is None else _parse_scalar(low, dimension),
        None if high is None else _parse_scalar(high, dimension),
    )


def _bounds(declared: Setting) -> tuple[float | None, float | None]:
    return _bounds_of(declared.dimension, declared.minimum, declared.maximum)


def check_value(
    raw: Any, declared: Setting, place: str = "", labels: Mapping[str, str] | None = None
) -> None:
    """Raise QuantityError (with place and mend) unless `raw` may be written there."""
    resolve(raw, declared, place, labels)


def resolve(
    raw: Any, declared: Setting, place: str = "", labels: Mapping[str, str] | None = None
) -> Value:
    """The meaning of what the user wrote.

    Parameters
    ----------
    raw
        Text, number, flag, `{"between": [low, high]}`, a table, or None.
    declared
        The declaration of the setting or state.
    place
        Named in errors.
    labels
        The user's own words for choices, `{choice: label}`; either is understood.

    Raises
    ------
    QuantityError
        If it is none of these, or out of bounds.
    """
    if raw is None:
        return Value(default_of(declared), unknown=True)
    if declared.dimension == "choice":
        return Value(_choice(raw, declared, place, labels or {}))
    if declared.dimension == "flag":
        if not isinstance(raw, bool):
            raise QuantityError(f"{declared.title} is '{raw}'; it must be true or false", place)
        return Value(raw)
    if declared.dimension == "text":
        if not isinstance(raw, str):
            raise QuantityError(f"{declared.title} must be text in quotes", place)
        return Value(raw)
    if isinstance(raw, dict):
        return _range(raw, declared, place)
    if isinstance(raw, list):
        return Value(_table(raw, declared, place))
    return Value(parse_number(raw, declared, place))


def _choice(raw: Any, declared: Setting, place: str, labels: Mapping[str, str]) -> str:
    if isinstance(raw, str):
        if raw in declared.choices:
            return raw
        for choice, label in labels.items():
            if raw == label and choice in declared.choices:
                return choice
    allowed = [labels.get(c, c) for c in declared.choices]
    raise QuantityError(
        f"{declared.title} is '{str(raw)[:40]}'; it must be one of {', '.join(allowed)}", place
    )


def _range(raw: dict[Any, Any], declared: Setting, place: str) -> Value:
    pair = raw.get("between")
    if set(raw) != {"between"} or not isinstance(pair, list) or len(pair) != 2:
        raise QuantityError('a range is written {"between": [low, high]}', place)
    low, high = (parse_number(end, declared, f"{place}.between") for end in pair)
    if low > high:
        raise QuantityError(
            f"the range runs from {pair[0]} down to {pair[1]}; write the lower value first", place
        )
    return Value((low + high) / 2, low, high)


def _table(raw: list[Any], declared: Setting, place: str) -> Table:
    if not declared.table:
        raise QuantityError(f"{declared.title} takes one value, not a list", place)
    rows: list[tuple[float, float]] = []
    position = Setting("Position", "length", None, optional=True)
    for index, row in enumerate(raw):
        if not isinstance(row, list) or len(row) != 2:
            raise QuantityError("a table row is written [position, value]", f"{place}[{index}]")
        rows.append(
            (
                parse_number(row[0], position, f"{place}[{index}][0]"),
                parse_number(row[1], declared, f"{place}[{index}][1]"),
            )
        )
    if not rows or any(b[0] <= a[0] for a, b in pairwise(rows)):
        raise QuantityError("a table needs rows with rising positions", place)
    return tuple(rows)


def default_of(declared: Setting) -> float | str | bool | None:
    """The default in SI (a word or flag as it is); None if there is none."""
    default = declared.default
    if default is None or declared.dimension in ("choice", "text", "flag"):
        return default
    return _parse_scalar(default, declared.dimension)


def is_flagged(raw: Any) -> bool:
    """Whether a written value is only partly known: a range or null."""
    return raw is None or isinstance(raw, dict)


def parse_command_value(text: str, declared: Setting, labels: Mapping[str, str]) -> Any:
    """A value as it stands on a command line (`true`, `0.5`, `900 psi`, `left`).

    Returns what would stand in a file; raises QuantityError if it may not.
    """
    raw: Any = text
    if declared.dimension == "flag":
        words = {"true": True, "false": False, "on": True, "off": False}
        raw = words.get(text.lower(), text)
    elif declared.dimension == "number":
        try:
            raw = float(text)
        except ValueError:
            raw = text
    try:
        check_value(raw, declared, labels=labels)
    except CircuitError as error:
        raise QuantityError(error.message) from error
    return raw
