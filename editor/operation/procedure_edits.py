"""Changes of a circuit's procedures, each checked as a whole before it is done."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from PySide6.QtGui import QUndoStack

from analysis.broken_references import missing_in
from analysis.circuit import Circuit
from analysis.errors import EditError
from analysis.file_references import check_references
from editor.undo_commands import SetField, SetFields, push

Raw = dict[str, Any]

NEW_STEP: Raw = {"at": "0 s", "set": {}}


def put_procedure(circuit: Circuit, stack: QUndoStack, index: int, raw: Mapping[str, Any]) -> None:
    """Put a procedure in the place of another, or at the end; raises CircuitError if it is wrong.

    A part it names must be there, unless the procedure named it before: what was found broken
    may be mended piece by piece.
    """
    procedures = copy.deepcopy(list(circuit.procedures))
    before = missing_in(circuit, procedures[index]) if index < len(procedures) else []
    for identifier in missing_in(circuit, raw):
        if identifier not in before:
            raise EditError(f"there is no part or line '{identifier}' in this circuit")
    procedures[index : index + 1] = [dict(raw)]
    set_procedures(circuit, stack, procedures)


def rename_procedure(circuit: Circuit, stack: QUndoStack, index: int, name: str) -> None:
    """Rename a procedure, and with it what the requirements call it; raises CircuitError."""
    name = name.strip()
    if not name:
        raise EditError("a procedure needs a name")
    procedures = copy.deepcopy(list(circuit.procedures))
    old, procedures[index]["name"] = procedures[index]["name"], name
    requirements = copy.deepcopy(list(circuit.requirements))
    for requirement in requirements:
        if requirement.get("procedure") == old:
            requirement["procedure"] = name
    _check(circuit, procedures, requirements)
    changes = [("", "procedures", procedures), ("", "requirements", requirements)]
    push(stack, SetFields(circuit, f"Rename procedure to '{name}'", changes))


def remove_procedure(circuit: Circuit, stack: QUndoStack, index: int) -> None:
    """Delete a procedure; raises CircuitError while a requirement needs it."""
    procedures = list(circuit.procedures)
    del procedures[index]
    set_procedures(circuit, stack, procedures)


def set_procedures(circuit: Circuit, stack: QUndoStack, procedures: list[Raw]) -> None:
    """Set all procedures as one undoable edit; raises CircuitError if one is wrong."""
    _check(circuit, procedures, list(circuit.requirements))
    push(stack, SetField(circuit, "", "procedures", procedures))


def free_name(circuit: Circuit, stem: str) -> str:
    """A name that no procedure has."""
    taken = {p.get("name") for p in circuit.procedures}
    count = 1
    while (name := stem if count == 1 else f"{stem} {count}") in taken:
        count += 1
    return name


def _check(circuit: Circuit, procedures: list[Raw], requirements: list[Raw]) -> None:
    trial = circuit.copy()
    trial.procedures, trial.requirements = procedures, requirements
    check_references(trial)
