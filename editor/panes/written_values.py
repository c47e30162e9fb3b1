"""What people type in a field, and what then stands in the circuit; and the way back.

1000 psi                      one value, kept as typed
900 psi to 1100 psi           a range; also `900 to 1100 psi`, `900..1100 psi`
?                             not known
0 in: 200 lbf; 6 in: 400 lbf  a table of position and value
(nothing)                     the default
"""

from __future__ import annotations

import re
from typing import Any

from analysis.circuit import DEFAULT
from analysis.errors import QuantityError
from symbols.kind import Setting

_RANGE = re.compile(r"^(?P<low>.+?)\s*(?:\s+to\s+|\.\.+|…|\s+[–-]\s+)\s*(?P<high>.+)$", re.I)
_ENDS_IN_A_UNIT = re.compile(r"\d\s*(?P<unit>[A-Za-zµ°%][^;:]*)$")
_UNKNOWN = ("?", "unknown", "not known")


def written_text(raw: Any) -> str:
    """A written value as it is shown in a field and can be typed again.

    >>> written_text({"between": ["900 psi", "1100 psi"]})
    '900 psi to 1100 psi'
    >>> written_text([["0 in", "200 lbf"], ["6 in", "400 lbf"]])
    '0 in: 200 lbf; 6 in: 400 lbf'
    >>> written_text(None), written_text(DEFAULT), written_text(0.9)
    ('?', '', '0.9')
    """
    if raw is DEFAULT:
        return ""
    if raw is None:
        return "?"
    if isinstance(raw, dict):
        return " to ".join(written_text(end) for end in raw.get("between", ()))
    if isinstance(raw, list):
        return "; ".join(": ".join(written_text(cell) for cell in row) for row in raw)
    if isinstance(raw, float):
        return f"{raw:.12g}"
    return str(raw)


def parse_written(text: str, declared: Setting, *, may_be_unknown: bool = True) -> Any:
    """What the circuit shall hold for a typed text; its value is not checked yet.

    Parameters
    ----------
    text
        As it was typed.
    declared
        The setting or state; its dimension tells how the text is read.
    may_be_unknown
        Whether `?` may be written: for settings, not for states.

    Raises
    ------
    QuantityError
        If the text has a form that nothing there can have.

    Examples
    --------
    >>> pressure = Setting("Set pressure", "pressure", "100 bar")
    >>> parse_written("900..1100 psi", pressure)
    {'between': ['900 psi', '1100 psi']}
    >>> parse_written("?", pressure), parse_written("  ", pressure)
    (None, DEFAULT)
    """
    text = text.strip()
    if not text:
        return DEFAULT
    if text.lower() in _UNKNOWN:
        if not may_be_unknown:
            raise QuantityError(f"{declared.title} must be given; it is how the circuit stands")
        return None
    if declared.dimension == "text":
        return text
    if ":" in text or ";" in text:
        return _parse_table(text, declared)
    pair = _RANGE.match(text)
    if pair is None:
        return _scalar(text, declared)
    if not may_be_unknown:
        raise QuantityError(f"{declared.title} takes one value, not a range")
    low, high = _with_unit(pair["low"], pair["high"]), pair["high"]
    return {"between": [_scalar(low, declared), _scalar(high, declared)]}


def _scalar(text: str, declared: Setting) -> Any:
    """A number where no unit is needed, else the text."""
    if declared.dimension != "number":
        return text
    try:
        return float(text)
    except ValueError:
        return text


def _with_unit(low: str, high: str) -> str:
    """`900` of `900 to 1100 psi` is meant in psi."""
    unit = _ENDS_IN_A_UNIT.search(high)
    if unit is None or _ENDS_IN_A_UNIT.search(low):
        return low
    return f"{low} {unit['unit']}"


def _parse_table(text: str, declared: Setting) -> list[list[str]]:
    if not declared.table:
        raise QuantityError(f"{declared.title} takes one value, not a table")
    rows = []
    for row in text.split(";"):
        if not row.strip():
            continue
        position, colon, value = row.partition(":")
        if not colon or not value.strip() or not position.strip():
            raise QuantityError(
                "a table is written position: value; position: value, "
                "like '0 in: 200 lbf; 6 in: 400 lbf'"
            )
        rows.append([position.strip(), value.strip()])
    return rows
