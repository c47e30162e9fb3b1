"""Reading and writing circuit files: text, plain records, names, model, in that order.

Every error is one line that names the place in the file and the mend. What was read is
written again as it stood: quantities as the user wrote them, keys that were there, keys
that were not.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import msgspec

from analysis.circuit import LINE_SETTINGS, Circuit, Component, Element, Line, is_state
from analysis.errors import CircuitError, CircuitFileError
from analysis.file_records import FileRecord
from analysis.file_text import file_text
from analysis.procedures import parse_procedure
from analysis.quantities import check_unit, parse_quantity
from analysis.values import Value, check_value, resolve
from symbols import KINDS, Setting, find_kind
from symbols.kind import DIMENSIONS

VERSION = 1
LARGEST_FILE = 16 * 1024 * 1024
_SETTABLE = tuple(LINE_SETTINGS)


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
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise CircuitFileError(f"cannot be read: {reason}", str(path)) from error
    try:
        return parse_circuit(data)
    except CircuitFileError as error:
        place = f"{path}: {error.place}" if error.place else str(path)
        raise CircuitFileError(error.message, place) from error


def parse_circuit(data: bytes | str) -> Circuit:
    """The circuit in the text of a file.

    Raises
    ------
    CircuitFileError
        With the place in the file and the mend.
    """
    raw = _decode(data)
    _check_version(raw)
    try:
        msgspec.convert(raw, FileRecord, strict=True)
    except msgspec.ValidationError as error:
        raise _schema_error(str(error)) from error
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
    _check_requirements(circuit)
    _check_procedures(circuit)
    circuit.revision = 0
    return circuit


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
    write_whole(path, circuit_text(circuit).encode())


def write_whole(path: str | os.PathLike[str], data: bytes) -> None:
    """Write a file by way of a temporary one beside it; raises CircuitFileError."""
    target = Path(path)
    temporary = ""
    try:
        if target.is_symlink():
            target = target.resolve()
        handle, temporary = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
        os.chmod(temporary, mode)
        os.replace(temporary, target)
    except OSError as error:
        if temporary:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        reason = (error.strerror or str(error)).lower()
        raise CircuitFileError(f"cannot be written: {reason}", str(path)) from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


# -- text to records -----------------------------------------------------------------


def _decode(data: bytes | str) -> dict[str, Any]:
    if len(data) > LARGEST_FILE:
        raise CircuitFileError("is larger than 16 MiB; this is no circuit file")
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data.lstrip("\ufeff")
        raw = json.loads(text, object_pairs_hook=_unique, parse_constant=_no_constant)
    except UnicodeDecodeError as error:
        raise CircuitFileError(f"is not UTF-8 text at byte {error.start}; save it so") from error
    except json.JSONDecodeError as error:
        raise CircuitFileError(
            f"is not JSON: {error.msg.lower()}", f"line {error.lineno}, column {error.colno}"
        ) from error
    except RecursionError as error:
        raise CircuitFileError("is nested too deeply; this is no circuit file") from error
    except ValueError as error:
        if isinstance(error, CircuitFileError):
            raise
        raise CircuitFileError("holds a number that is too long; write it shorter") from error
    if not isinstance(raw, dict):
        raise CircuitFileError('must be an object that begins {"format": "standpipe-circuit", …}')
    return raw


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise CircuitFileError(f"the key '{twice}' stands twice in one object; keep one of them")
    return found


def _no_constant(word: str) -> float:
    raise CircuitFileError(f"holds {word}, which is no number; write a quantity or null")


def _check_version(raw: Mapping[str, Any]) -> None:
    if raw.get("format") != "standpipe-circuit":
        raise CircuitFileError("must be 'standpipe-circuit'; this is no circuit file", "format")
    version = raw.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise CircuitFileError(f"must be a whole number from 1 to {VERSION}", "version")
    if version > VERSION:
        raise CircuitFileError(
            f"is {version}, and this program reads up to {VERSION}; use a newer Standpipe",
            "version",
        )


def _schema_error(text: str) -> CircuitFileError:
    """The library's message in the file's own terms: place, what, and what is allowed."""
    message, _, where = text.partition(" - at `$")
    place = where.rstrip("`").lstrip(".")
    place = re.sub(r"\[\.\.\.\]", "", place)
    message = message.replace("`", "'")
    message = re.sub(r"^Object contains unknown field", "has no key", message)
    message = re.sub(r"^Object missing required field", "needs the key", message)
    message = message.replace("Expected", "must be").replace(", got", ", not")
    if message.startswith("Invalid enum value"):
        message += _allowed(place)
    return CircuitFileError(message, place)


def _allowed(place: str) -> str:
    words = {
        "turn": "0, 90, 180 or 270",
        "role": "pressure, return, suction, pilot or drain",
        "status": "confirmed, inferred, assumed or unknown",
        "kind": "reaches, reaches_only, reaches_none, independent or survives",
        "size": "A4, A3, A2, A1 or A0",
    }
    name = place.rpartition(".")[2]
    return f"; it must be {words[name]}" if name in words else ""


# -- records to model ----------------------------------------------------------------


def _placed(error: CircuitError, place: str) -> CircuitFileError:
    return CircuitFileError(error.message, place)


def _check_header(circuit: Circuit) -> None:
    for dimension, unit in circuit.display_units.items():
        place = f"display_units.{dimension}"
        if dimension not in DIMENSIONS:
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
    check_pairs(component, place)
    try:
        circuit.add_component(component)
    except CircuitError as error:
        raise _placed(error, f"{place}.id") from error


def _check_values(element: Element, place: str, nested: bool = True) -> None:
    labels = element.labels if isinstance(element, Component) else {}
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
    for choice in labels:
        positions = element.state_of("position").choices if "position" in _states(element) else ()
        if choice not in positions:
            allowed = ", ".join(positions) or "none: this kind has no positions"
            raise CircuitFileError(
                f"is no position; it must be one of {allowed}", f"{place}.labels.{choice}"
            )


def _states(element: Element) -> Mapping[str, Setting]:
    return element.declared.states if isinstance(element, Component) else {}


_RISING = {
    (
        "rod_diameter",
        "bore",
    ): "the rod is as thick as the bore; rod_diameter must be less than bore",
    ("knee_pressure", "cutoff_pressure"): "knee_pressure must be below cutoff_pressure",
    ("cut_in_pressure", "cut_out_pressure"): "cut_in_pressure must be below cut_out_pressure",
}


def check_pairs(component: Component, place: str) -> None:
    """Settings that must stand in an order: the lesser must be below, throughout a range."""
    kind = component.declared
    for (lesser, greater), message in _RISING.items():
        if lesser not in kind.settings or greater not in kind.settings:
            continue
        if lesser not in component.settings and greater not in component.settings:
            continue
        low, high = (_value(component, name) for name in (lesser, greater))
        if low.si is None or high.si is None:
            continue
        least = low.low if low.low is not None else low.si
        most = high.high if high.high is not None else high.si
        if isinstance(least, float) and isinstance(most, float) and least >= most:
            written = lesser if lesser in component.settings else greater
            raise CircuitFileError(message, f"{place}.settings.{written}")


def _value(component: Component, name: str) -> Value:
    declared = component.declared.settings[name]
    return resolve(component.settings.get(name, declared.default), declared)


def _add_line(circuit: Circuit, record: Mapping[str, Any], place: str) -> None:
    line = Line(
        record["id"],
        record["from"],
        record["to"],
        [(x, y) for x, y in record.get("via", ())],
        record.get("role", "pressure"),
        record.get("name", ""),
        {name: record[name] for name in _SETTABLE if name in record},
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


# -- what refers to the model --------------------------------------------------------


def _check_changes(circuit: Circuit, changes: Mapping[str, Any], place: str) -> None:
    for identifier, values in changes.items():
        where = f"{place}.{identifier}"
        try:
            element = circuit.element(identifier)
            for name, raw in values.items():
                where = f"{place}.{identifier}.{name}"
                state = name == "fault" or (
                    isinstance(element, Component) and is_state(element.declared, name, raw)
                )
                declared = element.state_of(name) if state else element.setting_of(name)
                labels = element.labels if isinstance(element, Component) else {}
                check_value(raw, declared, where, labels if name == "position" else {})
        except CircuitError as error:
            raise _placed(error, where) from error


def _check_requirements(circuit: Circuit) -> None:
    for index, requirement in enumerate(circuit.requirements):
        place = f"requirements[{index}]"
        for key in ("from", "other", "may_share"):
            for position, identifier in enumerate(requirement.get(key, ())):
                if identifier not in circuit:
                    raise CircuitFileError(
                        f"there is no component or line '{identifier}'",
                        f"{place}.{key}[{position}]",
                    )
        for position, port in enumerate(requirement.get("targets", ())):
            try:
                circuit.split_port(port)
            except CircuitError as error:
                raise _placed(error, f"{place}.targets[{position}]") from error
        _check_changes(circuit, requirement.get("set", {}), f"{place}.set")
        needed = {"survives": ("procedure",), "independent": ("from", "other", "targets")}
        for key in needed.get(requirement["kind"], ("from", "targets")):
            if not requirement.get(key):
                raise CircuitFileError(f"needs the key '{key}'", place)
        names = [p["name"] for p in circuit.procedures]
        if requirement["kind"] == "survives" and requirement["procedure"] not in names:
            raise CircuitFileError("there is no procedure of that name", f"{place}.procedure")


def _check_procedures(circuit: Circuit) -> None:
    for index, procedure in enumerate(circuit.procedures):
        place = f"procedures[{index}]"
        _check_changes(circuit, procedure.get("start", {}), f"{place}.start")
        for number, step in enumerate(procedure.get("steps", ())):
            where = f"{place}.steps[{number}]"
            _check_changes(circuit, step.get("set", {}), f"{where}.set")
            if ("at" in step) == ("after" in step):
                raise CircuitFileError("needs either 'at' or 'after'", where)
            if "at" in step and "wait" in step:
                raise CircuitFileError("'wait' goes with 'after' only", f"{where}.wait")
            if "after" in step:
                _check_condition(step["after"], f"{where}.after")
        for number, item in enumerate(procedure.get("expect", ())):
            where = f"{place}.expect[{number}]"
            _check_condition(item, where)
            if ("by" in item) == bool(item.get("throughout")):
                raise CircuitFileError("needs either 'by' or 'throughout': true", where)
        try:
            parse_procedure(circuit, procedure, place)
        except CircuitError as error:
            raise CircuitFileError(error.message, error.place or place) from error
        for number, step in enumerate(procedure.get("steps", ())):
            if "at" in step and parse_quantity(step["at"], "time") < 0.0:
                raise CircuitFileError(
                    "must not be before the start", f"{place}.steps[{number}].at"
                )


def _check_condition(condition: Mapping[str, Any], place: str) -> None:
    if not {"at_least", "at_most", "is"} & set(condition):
        raise CircuitFileError("needs 'at_least', 'at_most' or 'is'", place)
