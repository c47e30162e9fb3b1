"""`standpipe readings`: the pressures and flows of a circuit as it stands."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from editor.commands.common import (
    DONE,
    FAILED,
    SAMPLE,
    Commands,
    add_file,
    add_json,
    add_set,
    get_ready,
    new_parser,
    open_circuit,
    print_json,
)

if TYPE_CHECKING:
    from analysis.circuit import Circuit
    from analysis.readings import Readings
    from editor.unit_presets import DisplayUnits

NO_VALUE = "-"


def add_parser(commands: Commands) -> None:
    """Declare the command."""
    parser = new_parser(
        commands,
        "readings",
        execute,
        "the pressures and flows of the circuit as it stands",
        f"readings {SAMPLE}",
        f'readings {SAMPLE} --set 0P1.speed="1500 rpm" --json',
    )
    add_file(parser)
    add_set(parser)
    add_json(parser)


def execute(arguments: argparse.Namespace) -> int:
    """Solve the circuit and write its readings out; status 1 if it has no steady state."""
    circuit = open_circuit(arguments)
    get_ready()
    from analysis.readings import readings

    result = readings(circuit)
    if arguments.json:
        print_json(result.as_json())
    else:
        _print(circuit, result)
    return DONE if result.converged else FAILED


def _print(circuit: Circuit, result: Readings) -> None:
    from editor.unit_presets import DisplayUnits

    units = DisplayUnits(circuit)
    tables = [
        _ports(result, units),
        _lines(circuit, result, units),
        _parts(circuit, result, units),
        _reasons(result),
        _findings(result),
    ]
    print("\n".join([table for table in tables if table] + [_summary(result)]))


def _number(value: float | None, dimension: str, units: DisplayUnits) -> str:
    return NO_VALUE if value is None else units.number(value, dimension)


def _heading(title: str, dimension: str, units: DisplayUnits) -> str:
    return f"{title} [{units.symbol(dimension)}]"


def _ports(result: Readings, units: DisplayUnits) -> str:
    from editor.commands.tables import text_table

    rows = [
        (port, _number(pressure, "pressure", units), _number(result.inflows[port], "flow", units))
        for port, pressure in result.pressures.items()
    ]
    headings = ("PORT", _heading("PRESSURE", "pressure", units), _heading("INFLOW", "flow", units))
    return text_table(headings, rows, " rr")


def _lines(circuit: Circuit, result: Readings, units: DisplayUnits) -> str:
    from editor.commands.tables import text_table

    rows = []
    for identifier, flow in result.lines.items():
        line = circuit.lines[identifier]
        reynolds = NO_VALUE if flow.reynolds is None else f"{flow.reynolds:.0f}"
        rows.append(
            (
                identifier,
                line.start,
                line.end,
                _number(flow.flow, "flow", units),
                _number(flow.pressure_drop, "pressure", units),
                _number(flow.velocity, "velocity", units),
                reynolds,
            )
        )
    headings = (
        "LINE",
        "FROM",
        "TO",
        _heading("FLOW", "flow", units),
        _heading("DROP", "pressure", units),
        _heading("VELOCITY", "velocity", units),
        "REYNOLDS",
    )
    return text_table(headings, rows, "   rrrr")


def _parts(circuit: Circuit, result: Readings, units: DisplayUnits) -> str:
    from editor.commands.tables import text_table

    rows = [
        (identifier, circuit.components[identifier].name, name.replace("_", " "), *shown)
        for identifier, values in result.quantities.items()
        for name, value in values.items()
        if (shown := _quantity(circuit, identifier, name, value, units))
    ]
    return text_table(("PART", "NAME", "READING", "VALUE", "UNIT"), rows, "   r")


def _quantity(
    circuit: Circuit, identifier: str, name: str, value: Any, units: DisplayUnits
) -> tuple[str, str]:
    """Value and unit as they are shown."""
    from analysis.procedures import signal_dimension

    if value is None:
        return NO_VALUE, ""
    if isinstance(value, bool):
        return ("yes" if value else "no"), ""
    if isinstance(value, str):
        label = circuit.components[identifier].labels.get(value) if name == "position" else None
        return (f"{value} ({label})" if label else value), ""
    dimension = signal_dimension(circuit, f"{identifier}.{name}")
    return units.number(value, dimension), units.symbol(dimension)


def _reasons(result: Readings) -> str:
    from editor.commands.tables import text_table

    rows = [(subject, reason) for subject, reason in result.reasons.items()]
    return text_table(("NO READING AT", "BECAUSE"), rows)


def _findings(result: Readings) -> str:
    from analysis.plain_text import one_line

    return "".join(one_line(f"{f.severity}: {f.message} {f.mend}") + "\n" for f in result.findings)


def _summary(result: Readings) -> str:
    if not result.converged:
        return f"no steady state: {result.message}"
    imbalance = f"{result.mass_imbalance:.1g} m³/s"
    rounds = f"{result.iterations} iteration{'' if result.iterations == 1 else 's'}"
    return f"solved in {rounds}; flows balance within {imbalance}"
