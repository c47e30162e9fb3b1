"""The text of a circuit file: canonical order, two-space indent, small records on one line."""

from __future__ import annotations

import json
from typing import Any

from analysis.circuit import LINE_SETTINGS, Circuit, Component, Line

_WIDTH = 100

_NEVER_EMPTY = ("evidence",)
"""What a file may hold only with something in it: a taken-away one is not written as empty."""


def file_text(circuit: Circuit, version: int) -> str:
    """The circuit as JSON text; the same circuit gives the same text."""
    return _multiline(_file_record(circuit, version), 0) + "\n"


def component_record(component: Component) -> dict[str, Any]:
    """A component as it stands in a file."""
    record: dict[str, Any] = {"id": component.id, "kind": component.kind}
    at = None if component.at is None else list(component.at)
    for key, value, default in (
        ("name", component.name, ""),
        ("at", at, None),
        ("turn", component.turn, 0),
        ("mirror", component.mirror, False),
        ("labels", component.labels, {}),
        ("settings", component.settings, {}),
        ("state", component.state, {}),
        ("evidence", component.evidence, {}),
        ("waivers", component.waivers, []),
    ):
        if value != default or (key in component.written and key not in _NEVER_EMPTY):
            record[key] = value
    return record


def line_record(line: Line) -> dict[str, Any]:
    """A line as it stands in a file."""
    record: dict[str, Any] = {"id": line.id, "from": line.start, "to": line.end}
    if line.name or "name" in line.written:
        record["name"] = line.name
    if line.via or "via" in line.written:
        record["via"] = [list(point) for point in line.via]
    if line.role != "pressure" or "role" in line.written:
        record["role"] = line.role
    record.update({name: line.settings[name] for name in LINE_SETTINGS if name in line.settings})
    for key, value in (
        ("state", line.state),
        ("evidence", line.evidence),
        ("waivers", line.waivers),
    ):
        if value or (key in line.written and key not in _NEVER_EMPTY):
            record[key] = value
    return record


def _file_record(circuit: Circuit, version: int) -> dict[str, Any]:
    record: dict[str, Any] = {"format": "standpipe-circuit", "version": version}
    for key in ("title", "sheet", "display_units", "fluid"):
        value = getattr(circuit, key)
        if value or key in circuit.written:
            record[key] = value
    record["components"] = [component_record(c) for c in circuit.components.values()]
    record["lines"] = [line_record(line) for line in circuit.lines.values()]
    for key in ("procedures", "requirements"):
        value = getattr(circuit, key)
        if value or key in circuit.written:
            record[key] = value
    return record


def _inline(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _text(value: Any, indent: int, before: int) -> str:
    """The value on one line if it fits behind what stands `before` it, else on several."""
    line = _inline(value)
    if before + len(line) <= _WIDTH or not isinstance(value, dict | list) or not value:
        return line
    return _multiline(value, indent)


def _multiline(value: Any, indent: int) -> str:
    inner = " " * (indent + 2)
    if isinstance(value, dict):
        rows = []
        for key, item in value.items():
            name = f"{_inline(key)}: "
            always = indent == 0 and key in ("components", "lines") and item
            body = (
                _multiline(item, indent + 2)
                if always
                else _text(item, indent + 2, len(inner) + len(name) + 1)
            )
            rows.append(f"{inner}{name}{body}")
        opening, closing = "{", "}"
    else:
        rows = [inner + _text(item, indent + 2, len(inner) + 1) for item in value]
        opening, closing = "[", "]"
    return opening + "\n" + ",\n".join(rows) + "\n" + " " * indent + closing
