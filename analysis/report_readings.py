"""The readings of a report as rows of text, in display units; what has no value, in words."""

from __future__ import annotations

from typing import Any

from analysis.circuit import Circuit
from analysis.procedures import signal_dimension
from analysis.readings import Readings
from analysis.report import Rows, Units

NO_VALUE = "undetermined"


def port_rows(instant: Readings, units: Units) -> Rows:
    """(port, pressure, inflow, why there is none)."""
    return tuple(
        (
            port,
            _number(pressure, "pressure", units),
            _number(instant.inflows[port], "flow", units),
            instant.reasons.get(port, ""),
        )
        for port, pressure in instant.pressures.items()
    )


def line_rows(circuit: Circuit, instant: Readings, units: Units) -> Rows:
    """(line, from, to, flow, drop, velocity, Reynolds number, why there is none)."""
    rows = []
    for identifier, flow in instant.lines.items():
        line = circuit.lines[identifier]
        sized = "bore" in line.settings
        # an ideal line has no velocity; that is no lack of knowledge
        velocity = _number(flow.velocity, "velocity", units, NO_VALUE if sized else "–")
        reynolds = f"{flow.reynolds:.0f}" if flow.reynolds is not None else "–"
        rows.append(
            (
                identifier,
                line.start,
                line.end,
                _number(flow.flow, "flow", units),
                _number(flow.pressure_drop, "pressure", units),
                velocity,
                reynolds,
                instant.reasons.get(identifier, ""),
            )
        )
    return tuple(rows)


def quantity_rows(circuit: Circuit, instant: Readings, units: Units) -> Rows:
    """(part, name, reading, value with its unit)."""
    return tuple(
        (
            identifier,
            circuit.components[identifier].name,
            name.replace("_", " "),
            _quantity(circuit, identifier, name, value, units),
        )
        for identifier, values in instant.quantities.items()
        for name, value in values.items()
    )


def _number(value: float | None, dimension: str, units: Units, none: str = NO_VALUE) -> str:
    return none if value is None else units.number(value, dimension)


def _quantity(circuit: Circuit, identifier: str, name: str, value: Any, units: Units) -> str:
    if value is None:
        return NO_VALUE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        label = circuit.components[identifier].labels.get(value) if name == "position" else None
        return f"{value} ({label})" if label else value
    return units.format(value, signal_dimension(circuit, f"{identifier}.{name}"))
