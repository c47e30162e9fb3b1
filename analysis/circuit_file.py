"""Reading and writing circuit files: text, plain records, names, model, in that order.

Every error is one line that names the place in the file and the mend. What was read is
written again as it stood: quantities as the user wrote them, keys that were there, keys
that were not.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

from analysis.circuit import LINE_SETTINGS, Circuit, Component, Element, Line
from analysis.errors import CircuitError, CircuitFileError
from analysis.file_decoding import LARGEST_FILE, VERSION, check_coordinates, decode
from analysis.file_references import check_references
from analysis.file_text import file_text
from analysis.output_file import write_whole
from analysis.plain_text import one_line
from analysis.quantities import check_unit
from analysis.setting_order import check_order
from analysis.values import check_value
from analysis.waivers import check_waivers
from symbols import KINDS, Setting, find_kind
from symbols.kind import DIMENSIONS

__all__ = ["VERSION", "circuit_text", "parse_circuit", "read_circuit", "write_circuit"]


def read_circuit(path: str | os.PathLike[str]) -> Circuit:
    """The circuit in a file.

    Raises
    ------
    CircuitFileError
        If it cannot be read as a circuit; one line that names file, place and mend.
    """
    try:
        with open(path, "rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise CircuitFileError(f"cannot be read: {reason}", one_line(str(path))) from error
    return parse_circuit(data, str(path))


def parse_circuit(data: bytes | str, name: str = "") -> Circuit:
    """The circuit in the text of a file; `name` is put before the place in errors.

    Raises
    ------
    CircuitFileError
        With the place in the file and the mend.
    """
    try:
        return _circuit(decode(data))
    except CircuitFileError as error:
        place = ": ".join(part for part in (name, error.place) if part)
        raise CircuitFileError(one_line(error.message), one_line(place)) from error


def circuit_text(circuit: Circuit) -> str:
    """The text of the circuit's file: stable order, two-space indent, one trailing newline."""
    return file_text(circuit, VERSION)


def write_circuit(circuit: Circuit, path: str | os.PathLike[str]) -> None:
    """Write the circuit's file whole or not at all.

    Raises
    ------
    CircuitFileError
        If it cannot be written; the old file is then as it was.
    """
    # half a character cannot be written; it comes from no keyboard, and must not stop a save
    write_whole(path, circuit_text(circuit).encode("utf-8", "replace"))


# -- records to model ----------------------------------------------------------------


def _circuit(raw: Mapping[str, Any]) -> Circuit:
    circuit = Circuit()
    circuit.written = frozenset(raw)
    for name in ("title", "sheet", "display_units", "fluid", "procedures", "requirements"):
        if name in raw:
            setattr(circuit, name, raw[name])
    _check_header(circuit)
    for index, record in enumerate(raw["components"]):
        _add_component(circuit, record, f"components[{index}]")
    for index, record in enumerate(raw["lines"]):
        _add_line(circuit, record, f"lines[{index}]")
    check_references(circuit)
    circuit.revision = 0
    return circuit


def _placed(error: CircuitError, place: str) -> CircuitFileError:
    return CircuitFileError(error.message, place)


def _check_header(circuit: Circuit) -> None:
    for dimension, unit in circuit.display_units.items():
        place = f"display_units.{dimension}"
        if dimension not in DIMENSIONS or dimension == "number":
            known = ", ".join(d for d in DIMENSIONS if d != "number")
            raise CircuitFileError(f"is no dimension; use {known}", place)
        try:
            check_unit(unit, dimension)
        except CircuitError as error:
            raise _placed(error, place) from error
    if "temperature" in circuit.fluid:
        temperature = Setting(
            "Temperature", "temperature", "15 degC", minimum="-60 degC", maximum="150 degC"
        )
        _check(circuit.fluid["temperature"], temperature, "fluid.temperature")


def _check(raw: Any, declared: Setting, place: str, labels: Mapping[str, str] = {}) -> None:
    try:
        check_value(raw, declared, place, labels)
    except CircuitError as error:
        raise CircuitFileError(error.message, error.place or place) from error


def _add_component(circuit: Circuit, record: Mapping[str, Any], place: str) -> None:
    if record["kind"] not in KINDS:
        try:
            find_kind(record["kind"])
        except LookupError as error:
            raise CircuitFileError(str(error), f"{place}.kind") from error
    at = record.get("at")
    check_coordinates({f"{place}.at": at})
    component = Component(
        record["id"],
        record["kind"],
        record.get("name", ""),
        None if at is None else (at[0], at[1]),
        record.get("turn", 0),
        record.get("mirror", False),
        record.get("settings", {}),
        record.get("state", {}),
        record.get("labels", {}),
        record.get("evidence", {}),
        record.get("waivers", []),
        frozenset(record),
    )
    _check_values(component, place)
    try:
        check_order(component)
    except CircuitError as error:
        raise _placed(error, f"{place}.settings.{error.place.rpartition('.')[2]}") from error
    try:
        circuit.add_component(component)
    except CircuitError as error:
        raise _placed(error, f"{place}.id") from error


def _check_values(element: Element, place: str, nested: bool = True) -> None:
    labels = element.labels if isinstance(element, Component) else {}
    if labels:  # first, for a position may be written by its label
        _check_labels(element, labels, f"{place}.labels")
    for name, raw in element.settings.items():
        where = f"{place}.settings.{name}" if nested else f"{place}.{name}"
        try:
            declared = element.setting_of(name)
        except CircuitError as error:
            raise _placed(error, where) from error
        _check(raw, declared, where)
    for name, raw in element.state.items():
        where = f"{place}.state.{name}"
        try:
            declared = element.state_of(name)
        except CircuitError as error:
            raise _placed(error, where) from error
        if raw is None and declared.dimension in ("choice", "flag"):
            raise CircuitFileError("must not be null; leave it out for the default", where)
        _check(raw, declared, where, labels if name == "position" else {})
    try:
        check_waivers(element.waivers, f"{place}.waivers")
    except CircuitError as error:
        raise _placed(error, error.place) from error


def _check_labels(element: Element, labels: Mapping[str, str], place: str) -> None:
    states = element.declared.states if isinstance(element, Component) else {}
    positions = states["position"].choices if "position" in states else ()
    for choice in labels:
        if choice not in positions:
            allowed = ", ".join(positions) or "none: this kind has no positions"
            raise CircuitFileError(
                f"is no position; it must be one of {allowed}", f"{place}.{choice}"
            )
    for choice, label in labels.items():
        twin = next((c for c in positions if c != choice and label in (c, labels.get(c))), None)
        if twin is not None:
            raise CircuitFileError(
                f"the label '{label}' stands for {twin} too; give each position its own",
                f"{place}.{choice}",
            )


def _add_line(circuit: Circuit, record: Mapping[str, Any], place: str) -> None:
    via = record.get("via", ())
    check_coordinates({f"{place}.via[{i}]": point for i, point in enumerate(via)})
    line = Line(
        record["id"],
        record["from"],
        record["to"],
        [(x, y) for x, y in via],
        record.get("role", "pressure"),
        record.get("name", ""),
        {name: record[name] for name in LINE_SETTINGS if name in record},
        record.get("state", {}),
        record.get("evidence", {}),
        record.get("waivers", []),
        frozenset(record),
    )
    _check_values(line, place, nested=False)
    for key, port in (("from", line.start), ("to", line.end)):
        try:
            circuit.split_port(port)
        except CircuitError as error:
            raise _placed(error, f"{place}.{key}") from error
    try:
        circuit.check_connection(line.start, line.end)
    except CircuitError as error:
        raise _placed(error, f"{place}.to") from error
    try:
        circuit.add_line(line)
    except CircuitError as error:
        raise _placed(error, f"{place}.id") from error
