"""What stands in the tables of readings: one cell for each port, line or part and column.

A cell without a value says in words why, and never shows a number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf

from analysis.circuit import Circuit, Component, Line
from analysis.readings import Readings
from editor.unit_presets import DisplayUnits

_RESOLUTION = {"pressure": 1.0, "flow": 1e-11}
"""What is less [Pa, m3/s] is the rest that a solver leaves; it reads 0."""

UNDETERMINED = "undetermined"
_DASH = "–"

SPEED = {"hydraulic_motor": "speed", "semi_rotary_actuator": "speed"}
"""Dimension of `velocity` where it is no m/s."""


@dataclass(frozen=True, slots=True)
class Cell:
    """What a cell shows, what it is sorted by (None: last), and its tooltip."""

    text: str
    number: float | None = None
    hint: str = ""
    is_number: bool = False


@dataclass(frozen=True)
class Column:
    """A heading, the dimension whose unit it names (empty: none), and a text that fits in."""

    title: str
    dimension: str
    fits: str
    hint: str = ""


@dataclass(frozen=True)
class Table:
    """One table of readings: its columns, its subjects, and the cells of a subject."""

    title: str
    columns: tuple[Column, ...]
    subjects: Callable[[Circuit], Iterable[str]]
    cells: Callable[[Circuit, Readings | None, DisplayUnits, str], list[Cell]]


def element_of(subject: str) -> str:
    """The id of the component or line that a subject (`ID.PORT` or `ID`) belongs to."""
    return subject.rpartition(".")[0] or subject


def _value(units: DisplayUnits, si: float | None, dimension: str, absent: Cell) -> Cell:
    if si is None:
        return absent
    if abs(si) < _RESOLUTION.get(dimension, 0.0):
        return Cell("0", 0.0, is_number=True)
    if dimension == "number":
        return Cell(f"{si:.0f}" if abs(si) >= 100 else f"{si:.3g}", si, is_number=True)
    hint = units.format(si, dimension, 6)
    return Cell(units.number(si, dimension), si, hint, is_number=True)


def _name(circuit: Circuit, identifier: str) -> Cell:
    element = circuit.element(identifier)
    shown = element.name
    if not shown and isinstance(element, Component):
        shown = element.declared.title
    return Cell(shown, hint=shown)


# -- ports ------------------------------------------------------------------------------


def _port_cells(
    circuit: Circuit, readings: Readings | None, units: DisplayUnits, port: str
) -> list[Cell]:
    pressure = readings.pressures.get(port) if readings else None
    inflow = readings.inflows.get(port) if readings else None
    reason = readings.reasons.get(port, "") if readings else "There are no readings."
    word = UNDETERMINED if readings else "no reading"
    absent = Cell(word, hint=_sentence(reason))
    return [
        Cell(port),
        _value(units, pressure, "pressure", absent),
        _value(units, inflow, "flow", absent),
        _name(circuit, element_of(port)),
    ]


PORTS = Table(
    "Ports",
    (
        Column("Port", "", "0Z1.standpipe"),
        Column("Pressure", "pressure", UNDETERMINED, "Gauge pressure at the port"),
        Column("Flow in", "flow", UNDETERMINED, "Into the part at this port; negative: out of it"),
        Column("Part", "", "Main reservoir"),
    ),
    lambda circuit: circuit.ports(),
    _port_cells,
)


# -- lines ------------------------------------------------------------------------------


def _line_cells(
    circuit: Circuit, readings: Readings | None, units: DisplayUnits, identifier: str
) -> list[Cell]:
    line = circuit.element(identifier)
    assert isinstance(line, Line)
    flow = readings.lines.get(identifier) if readings else None
    reason = readings.reasons.get(identifier, "") if readings else "There are no readings."
    absent = Cell(UNDETERMINED if readings else "no reading", hint=_sentence(reason))
    if flow is not None and flow.spill is not None:
        spilt = units.format(flow.spill, "flow")
        absent = Cell("ruptured", hint=f"{_sentence(reason)} Spilt: {spilt}.")
    # the word stands once, where the flow would; what follows from it has a dash
    beside = Cell(_DASH, hint=absent.hint)
    no_bore = beside
    if flow is not None and flow.flow is not None:
        no_bore = Cell("no bore", hint="Give the line a bore to read its velocity.")
        beside = absent
    return [
        Cell(identifier),
        _value(units, flow.flow if flow else None, "flow", absent),
        _value(units, flow.velocity if flow else None, "velocity", no_bore),
        _value(units, flow.reynolds if flow else None, "number", no_bore),
        _value(units, flow.pressure_drop if flow else None, "pressure", beside),
        Cell(f"{line.start} – {line.end}", hint=line.name),
    ]


LINES = Table(
    "Lines",
    (
        Column("Line", "", "L100"),
        Column("Flow", "flow", UNDETERMINED, "Positive from the first port to the second"),
        Column("Velocity", "velocity", "-0.01234", "Mean velocity in the bore"),
        Column("Reynolds", "", "Reynolds", "Laminar up to 2000, turbulent from 4000"),
        Column("Drop", "pressure", "-0.01234", "Pressure drop from the first port to the second"),
        Column("From – to", "", "0Z1.supply – 0Z4.A"),
    ),
    lambda circuit: circuit.lines,
    _line_cells,
)


# -- actuators and other parts ----------------------------------------------------------

_NOTHING = Cell("", None)


def _part_cells(
    circuit: Circuit, readings: Readings | None, units: DisplayUnits, identifier: str
) -> list[Cell]:
    component = circuit.components[identifier]
    values = readings.quantities.get(identifier, {}) if readings else {}
    swivels = component.kind == "semi_rotary_actuator"

    def cell(name: str, dimension: str, what: str = "") -> Cell:
        if name not in values:
            return _NOTHING
        value = values[name]
        if not isinstance(value, float | int):
            return Cell(UNDETERMINED, hint="A pressure at this part is undetermined.")
        found = _value(units, float(value), dimension, _NOTHING)
        return Cell(found.text, found.number, f"{what}{found.hint}", is_number=True)

    def effort() -> Cell:
        """Force or torque in one column; what has another unit names it."""
        for name, what in (("force", ""), ("effort", "At the handle: ")):
            if name in values:
                return cell(name, "force", what)
        if "torque" in values:
            found = cell("torque", "torque", "Torque: ")
            unit = f" {units.symbol('torque')}" if found.is_number else ""
            return Cell(found.text + unit, found.number, found.hint, found.is_number)
        return _NOTHING

    def motion(name: str, dimension: str, own: str) -> Cell:
        """As `effort`: an angle or a speed names its unit, a length does not."""
        if own == dimension:
            return cell(name, dimension)
        found = cell(name, own)
        unit = f" {units.symbol(own)}" if found.is_number else ""
        return Cell(found.text + unit, found.number, found.hint, found.is_number)

    return [
        Cell(identifier),
        motion("extension", "length", "angle" if swivels else "length"),
        motion("velocity", "velocity", SPEED.get(component.kind, "velocity")),
        effort(),
        _state(values, component, units),
        _name(circuit, identifier),
    ]


def _state(
    values: dict[str, float | str | bool | None], part: Component, units: DisplayUnits
) -> Cell:
    words: list[str] = []
    if values.get("starved"):
        words.append("starved")
    elif "running" in values:
        words.append("running" if values["running"] else "stopped")
    if "open" in values:
        words.append("open" if values["open"] else "closed")
    if "closed" in values:
        words.append("closed" if values["closed"] else "open")
    if isinstance(values.get("lock"), str):
        words.append(f"lock {values['lock']}" if values["lock"] == "released" else "locked")
    if isinstance(values.get("position"), str):
        position = str(values["position"])
        words.append(part.labels.get(position) or position)
    for name in ("volume", "fluid_volume"):
        volume = values.get(name)
        if isinstance(volume, float):
            words.append(units.format(volume, "volume"))
    text = ", ".join(words)
    return Cell(text, hint=text)


def _parts(circuit: Circuit) -> list[str]:
    """The parts that have readings besides their ports: all but mere fittings."""
    bare = ("junction", "plug", "test_point", "pressure_gauge", "flow_meter", "hose", "filter")
    return [
        c.id
        for c in circuit.components.values()
        if c.declared.family in ("actuators", "pumps", "storage")
        or (c.kind not in bare and c.declared.family.endswith("valves") and _has_state(c))
    ]


def _has_state(component: Component) -> bool:
    restricts = ("restrictor", "regulator", "divider", "shuttle")
    return not any(word in component.kind for word in restricts)


PARTS = Table(
    "Actuators and parts",
    (
        Column("Part", "", "0V10"),
        Column("Extension", "length", "Extension"),
        Column("Velocity", "velocity", "-0.01234", "Positive in extension"),
        Column("Force", "force", UNDETERMINED, "Cylinder: in extension. Hand pump: at the handle"),
        Column("State", "", "lock released"),
        Column("Name", "", "Left main gear"),
    ),
    _parts,
    _part_cells,
)

TABLES = (PORTS, LINES, PARTS)


def order_key(cell: Cell, *, descending: bool) -> tuple[float, tuple[object, ...]]:
    """Sorts numbers by size, texts as people count (L2 before L10), words after numbers.

    Words stay last in either direction.
    """
    if cell.number is not None:
        return (-cell.number if descending else cell.number, ())
    return (inf, natural(cell.text))


def natural(text: str) -> tuple[object, ...]:
    """`L10` as ("l", 10, ""), so that it comes after L2."""
    pieces: list[object] = []
    digits, letters = "", ""
    for character in text.lower() + "\0":
        if character.isdigit():
            digits += character
            continue
        if digits:
            pieces += [letters, int(digits)]
            digits, letters = "", ""
        letters += character
    return (*pieces, letters)


def _sentence(reason: str) -> str:
    return f"{reason[:1].upper()}{reason[1:]}." if reason and not reason.endswith(".") else reason
