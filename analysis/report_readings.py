"""The readings of a report: setting by setting side by side, then in full as drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from analysis.circuit import Circuit, Component
from analysis.passages import ACTUATORS, SOURCES
from analysis.procedures import signal_dimension
from analysis.readings import Readings
from analysis.report import Report, Rows, Units
from analysis.report_blocks import Block, Heading, Paragraph, Table, bold, set_text
from analysis.report_settings import LeverSetting
from analysis.words import listed

NO_VALUE = "undetermined"
_DASH = "–"
_ABREAST = 6
"""Settings that stand side by side in a table."""
_RELIEVING = ("relief_valve", "unloading_valve")
_INSTRUMENTS = ("pressure_gauge", "pressure_switch", "test_point")


def reading_blocks(report: Report, units: Units) -> Iterator[Block]:
    """What is read with each setting of the levers, and everything that is read as drawn."""
    yield Paragraph(
        set_text(
            "Gauge pressures, at one instant in steady state. Pumps and actuators stand as drawn "
            "where a setting does not say otherwise; at the steps of a procedure actuators stand "
            "where it starts."
        )
    )
    if report.faults:
        yield Table(("Drawn as failed", "Name", "Failure"), (20, 50, 30), _texts(report.faults))
    if len(report.settings) > 1:
        yield Heading("Setting by setting", level=3)
        yield Table(
            ("Setting", "What is set otherwise than drawn", "Named in"),
            (9, 63, 28),
            _texts(
                (
                    setting.code,
                    "; ".join(setting.differs) or "nothing: as drawn",
                    ", ".join(setting.named_in) or _DASH,
                )
                for setting in report.settings
            ),
        )
        yield from _side_by_side(report, units)
    yield from _as_drawn(report, units)


def _side_by_side(report: Report, units: Units) -> Iterator[Block]:
    settings = report.settings
    unsolved = [s.code for s in settings if not s.readings.converged]
    said = "A dash: nothing pins the value down."
    if unsolved:
        said += f" No steady state was found with {listed(unsolved)}."
    yield Paragraph(set_text(said))
    shut = _always_shut(report.circuit, settings)
    tables = -(-len(settings) // _ABREAST)
    abreast = -(-len(settings) // tables)
    for first in range(0, len(settings), abreast):
        shown = settings[first : first + abreast]
        headings = ("On", "Reading", *(setting.code for setting in shown))
        width = 64 // abreast
        widths = (9, 27, *(width for _ in shown))
        rows = _texts(_compared(report.circuit, shown, units, shut))
        if sum(widths) < 98:
            # columns are as wide in the last table as in those before
            headings, widths = (*headings, ""), (*widths, 100 - sum(widths))
            rows = tuple((*row, ()) for row in rows)
        yield Table(headings, widths, rows, tuple(range(2, 2 + len(shown))))
    if shut:
        yield Paragraph(set_text(f"Shut in every setting: {listed(shut)}."))


def _always_shut(circuit: Circuit, settings: Sequence[LeverSetting]) -> list[str]:
    """The relief and unloading valves that no setting opens."""
    return [
        component.id
        for component in circuit.components.values()
        if component.kind in _RELIEVING
        and not any(s.readings.quantities[component.id].get("open") for s in settings)
    ]


def _compared(
    circuit: Circuit, settings: Sequence[LeverSetting], units: Units, left_out: Sequence[str]
) -> Iterator[tuple[str, ...]]:
    """(component, reading with its unit, its value in each setting)."""
    for component in circuit.components.values():
        if component.id in left_out:
            continue
        for reading, name, dimension in _worth_comparing(component):
            values = []
            for setting in settings:
                value = _value(setting.readings, component.id, name)
                if isinstance(value, float) and name.startswith("-"):
                    value = -value
                values.append(_short(value, dimension, units))
            unit = units.symbol(dimension) if dimension not in ("word", "flag") else ""
            yield component.id, f"{reading} [{unit}]" if unit else reading, *values


def _worth_comparing(component: Component) -> Iterator[tuple[str, str, str]]:
    """(what is read, its name, dimension); a name that begins with "-" is read with its sign
    turned."""
    kind = component.kind
    if kind in SOURCES:
        outlet = SOURCES[kind][1]
        yield f"pressure at {outlet}", f"{outlet}.pressure", "pressure"
        yield "flow out", f"-{outlet}.inflow", "flow"
        if kind == "hand_pump":
            yield "effort", "effort", "force"
    elif kind in _INSTRUMENTS:
        yield "pressure", "A.pressure", "pressure"
    elif kind in ACTUATORS:
        rotary = kind in ("hydraulic_motor", "semi_rotary_actuator")
        yield "velocity", "velocity", "speed" if rotary else "velocity"
        yield ("torque", "torque", "torque") if rotary else ("force", "force", "force")
    elif kind in _RELIEVING:
        yield "open", "open", "flag"


def _value(instant: Readings, identifier: str, name: str) -> Any:
    port, _, what = name.removeprefix("-").rpartition(".")
    if port:
        found = instant.pressures if what == "pressure" else instant.inflows
        return found[f"{identifier}.{port}"]
    return instant.quantities.get(identifier, {}).get(what)


def _short(value: Any, dimension: str, units: Units) -> str:
    if value is None:
        return _DASH
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else units.number(value, dimension)


def _as_drawn(report: Report, units: Units) -> Iterator[Block]:
    circuit, instant = report.circuit, report.readings
    yield Heading("In full, as drawn", level=3)
    if not instant.converged:
        yield Paragraph(set_text(bold(f"No steady state was found: {instant.message}")))
    yield Paragraph(
        set_text(
            "Inflow is positive into the component, flow positive from the first end of a line to "
            "the second."
        )
    )
    quantities = quantity_rows(circuit, instant, units)
    if quantities:
        widths = (9, 41, 25, 25)
        yield Table(("Id", "Name", "Reading", "Value"), widths, _texts(quantities))
    ports = port_rows(instant, units)
    if ports:
        headings = (
            "Port",
            _headed("Pressure", "pressure", units),
            _headed("Inflow", "flow", units),
        )
        # two abreast, so that a long list does not leave half of the paper white
        pairs = [(*one, "", *other) for one, other in zip(ports[::2], ports[1::2], strict=False)]
        pairs += [(*ports[-1], "", "", "", "")] if len(ports) % 2 else []
        yield Table(
            (*headings, "", *headings),
            (18, 15, 15, 4, 18, 15, 15),
            _texts(pairs),
            (1, 2, 5, 6),
        )
    lines = line_rows(circuit, instant, units)
    if lines:
        headings_of_lines = (
            "Line",
            "From",
            "To",
            _headed("Flow", "flow", units),
            _headed("Drop", "pressure", units),
            _headed("Velocity", "velocity", units),
            "Reynolds\nnumber",
        )
        widths_of_lines = (7, 18, 18, 14, 16, 15, 12)
        yield Table(headings_of_lines, widths_of_lines, _texts(lines), (3, 4, 5, 6))
    for reason, places in _reasons(instant).items():
        yield Paragraph(
            set_text(f"{reason[0].upper()}{reason[1:]}: {', '.join(places)}."), small=True
        )


def _headed(what: str, dimension: str, units: Units) -> str:
    return f"{what}\n[{units.symbol(dimension)}]"


def _reasons(instant: Readings) -> dict[str, list[str]]:
    """Why there is no value -> the ports and lines."""
    found: dict[str, list[str]] = {}
    for place, reason in instant.reasons.items():
        if reason:
            found.setdefault(reason, []).append(place)
    return found


def _texts(rows: Iterable[Iterable[str]]) -> tuple[tuple[tuple[Any, ...], ...], ...]:
    return tuple(tuple(set_text(cell) for cell in row) for row in rows)


def port_rows(instant: Readings, units: Units) -> Rows:
    """(port, pressure, inflow)."""
    return tuple(
        (
            port,
            _number(pressure, "pressure", units),
            _number(instant.inflows[port], "flow", units),
        )
        for port, pressure in instant.pressures.items()
    )


def line_rows(circuit: Circuit, instant: Readings, units: Units) -> Rows:
    """(line, from, to, flow, drop, velocity, Reynolds number)."""
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
