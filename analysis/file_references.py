"""What in a file refers to the circuit: requirements and procedures.

The ports, signals and values they name must exist; each error names the place. A part
that is not there is no error of the file: it may have been deleted from the drawing, and
the requirement that named it must survive to say so (`analysis.broken_references`).
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from typing import Any

from analysis.broken_references import missing_in
from analysis.circuit import Circuit, Component, Element, is_state
from analysis.errors import CircuitError, CircuitFileError
from analysis.procedures import parse_procedure
from analysis.quantities import parse_quantity
from analysis.setting_order import check_order
from analysis.values import check_value


def check_references(circuit: Circuit) -> None:
    """Check all procedures and requirements.

    Raises
    ------
    CircuitFileError
        With the place in the file and the mend.
    """
    names: list[str] = []
    for index, procedure in enumerate(circuit.procedures):
        place = f"procedures[{index}]"
        if procedure["name"] in names:
            raise CircuitFileError(
                f"another procedure has the name '{procedure['name']}'; choose a new one",
                f"{place}.name",
            )
        names.append(procedure["name"])
        _check_procedure(circuit, procedure, place)
    for index, requirement in enumerate(circuit.requirements):
        _check_requirement(circuit, requirement, names, f"requirements[{index}]")


# -- requirements --------------------------------------------------------------------

_NEEDED = {"survives": ("procedure",), "independent": ("from", "other", "targets")}


def _check_requirement(
    circuit: Circuit, requirement: Mapping[str, Any], procedures: list[str], place: str
) -> None:
    for key in _NEEDED.get(requirement["kind"], ("from", "targets")):
        if not requirement.get(key):
            raise CircuitFileError(f"needs the key '{key}'; add what it asks for", place)
    for position, port in enumerate(requirement.get("targets", ())):
        if port.rpartition(".")[0] not in circuit and "." in port:
            continue
        try:
            circuit.split_port(port)
        except CircuitError as error:
            raise CircuitFileError(error.message, f"{place}.targets[{position}]") from error
    _check_changes(circuit, requirement.get("set", {}), f"{place}.set")
    if "procedure" in requirement and requirement["procedure"] not in procedures:
        known = ", ".join(f"'{name}'" for name in procedures) or "none"
        raise CircuitFileError(
            f"there is no procedure of that name; the file has {known}", f"{place}.procedure"
        )


# -- procedures ----------------------------------------------------------------------


def _check_procedure(circuit: Circuit, procedure: Mapping[str, Any], place: str) -> None:
    _check_changes(circuit, procedure.get("start", {}), f"{place}.start")
    for number, step in enumerate(procedure.get("steps", ())):
        _check_step(circuit, step, f"{place}.steps[{number}]")
    for number, item in enumerate(procedure.get("expect", ())):
        where = f"{place}.expect[{number}]"
        _check_condition(item, where)
        if ("by" in item) == bool(item.get("throughout")):
            raise CircuitFileError("needs either 'by' or 'throughout': true", where)
    if missing_in(circuit, procedure):
        return
    try:
        parse_procedure(circuit, procedure, place)
    except CircuitError as error:
        raise CircuitFileError(error.message, error.place or place) from error
    for number, step in enumerate(procedure.get("steps", ())):
        for key in {"at", "wait"} & set(step):
            if parse_quantity(step[key], "time") < 0.0:
                where = f"{place}.steps[{number}].{key}"
                raise CircuitFileError("must be no time before the start; write 0 s or more", where)


def _check_step(circuit: Circuit, step: Mapping[str, Any], place: str) -> None:
    _check_changes(circuit, step.get("set", {}), f"{place}.set")
    if ("at" in step) == ("after" in step):
        raise CircuitFileError("needs either 'at' or 'after'", place)
    if "at" in step and "wait" in step:
        raise CircuitFileError("goes with 'after' only; take it out", f"{place}.wait")
    if "after" in step:
        _check_condition(step["after"], f"{place}.after")


def _check_condition(condition: Mapping[str, Any], place: str) -> None:
    if not {"at_least", "at_most", "is"} & set(condition):
        raise CircuitFileError("needs 'at_least', 'at_most' or 'is'", place)


# -- what both set -------------------------------------------------------------------


def _check_changes(circuit: Circuit, changes: Mapping[str, Any], place: str) -> None:
    for identifier, values in changes.items():
        where = f"{place}.{identifier}"
        if identifier not in circuit:
            continue
        element = circuit.element(identifier)
        for name, raw in values.items():
            _check_change(element, name, raw, f"{where}.{name}")
        if isinstance(element, Component):
            changed = copy(element)
            changed.settings = {**element.settings, **_settings(element, values)}
            try:
                check_order(changed)
            except CircuitError as error:
                raise CircuitFileError(
                    error.message, f"{where}.{error.place.rpartition('.')[2]}"
                ) from error


def _settings(component: Component, values: Mapping[str, Any]) -> dict[str, Any]:
    return {n: raw for n, raw in values.items() if not is_state(component.declared, n, raw)}


def _check_change(element: Element, name: str, raw: Any, place: str) -> None:
    state = name == "fault" or (
        isinstance(element, Component) and is_state(element.declared, name, raw)
    )
    labels = element.labels if isinstance(element, Component) and name == "position" else {}
    try:
        declared = element.state_of(name) if state else element.setting_of(name)
        if raw is None:
            raise CircuitFileError("must not be null; say what it is set to")
        check_value(raw, declared, place, labels)
    except CircuitError as error:
        raise CircuitFileError(error.message, place) from error
