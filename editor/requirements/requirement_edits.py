"""Changes of a circuit's requirements, each checked as a whole before it is done."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from PySide6.QtGui import QUndoStack

from analysis.asked import read
from analysis.broken_references import missing_in
from analysis.circuit import Circuit
from analysis.errors import EditError
from analysis.failure_modes import read_failures
from analysis.file_references import check_references
from analysis.requirement_words import what_is_missing
from editor.undo_commands import SetFields, push

Raw = dict[str, Any]

_ORDER = (
    "name",
    "kind",
    "notes",
    "from",
    "other",
    "set",
    "targets",
    "may_share",
    "procedure",
    "failures",
)
_ONLY_IN = {
    "from": ("reaches", "reaches_only", "reaches_none", "independent"),
    "other": ("independent",),
    "may_share": ("independent",),
    "procedure": ("survives",),
    "failures": ("survives",),
}


def tidied(raw: Mapping[str, Any], original: Mapping[str, Any] | None) -> Raw:
    """A requirement as it goes into the file: nothing empty, nothing its kind does not know.

    Where the original has the same keys it keeps their order; one that is not changed
    comes back as it was, so that the file stays the same byte for byte.
    """
    kind = raw.get("kind")
    found = {
        key: copy.deepcopy(raw[key])
        for key in _ORDER
        if raw.get(key) and kind in _ONLY_IN.get(key, (kind,))
    }
    if original is None:
        return found
    if found == {key: value for key, value in original.items() if value}:
        return copy.deepcopy(dict(original))
    if set(found) == set(original):
        return {key: found[key] for key in original}
    return found


def put_requirement(
    circuit: Circuit, stack: QUndoStack, index: int, raw: Mapping[str, Any]
) -> None:
    """Put a requirement in the place of another, or at the end; raises CircuitError if wrong.

    A part it names must be there, unless the requirement named it before.
    """
    wanted = copy.deepcopy(list(circuit.requirements))
    old = wanted[index] if index < len(wanted) else None
    new = tidied(raw, old)
    missing = what_is_missing(new)
    if missing:
        raise EditError(missing)
    before = missing_in(circuit, old) if old is not None else []
    gone = [identifier for identifier in missing_in(circuit, new) if identifier not in before]
    if gone:
        raise EditError(f"there is no part or line '{gone[0]}' in this circuit; take it out")
    if not missing_in(circuit, new):
        read(circuit, new, str(new["name"]))
        read_failures(circuit, list(new.get("failures") or ()))
    if new == old:
        return
    wanted[index : index + 1] = [new]
    verb = "Change" if old is not None else "Add"
    set_requirements(circuit, stack, wanted, f"{verb} requirement '{new['name']}'")


def remove_requirement(circuit: Circuit, stack: QUndoStack, index: int) -> None:
    """Delete a requirement."""
    wanted = list(circuit.requirements)
    gone = wanted.pop(index)
    set_requirements(circuit, stack, wanted, f"Delete requirement '{gone.get('name', '')}'")


def duplicate_requirement(circuit: Circuit, stack: QUndoStack, index: int) -> None:
    """Put a copy, under a name of its own, behind a requirement."""
    wanted = list(circuit.requirements)
    twin = copy.deepcopy(wanted[index])
    twin["name"] = free_name(circuit, str(twin.get("name", "")))
    wanted.insert(index + 1, twin)
    set_requirements(circuit, stack, wanted, f"Duplicate requirement '{twin['name']}'")


def move_requirement(circuit: Circuit, stack: QUndoStack, index: int, step: int) -> bool:
    """Move a requirement up (-1) or down (1); False if there is no place to go to."""
    wanted = list(circuit.requirements)
    if not 0 <= index + step < len(wanted):
        return False
    wanted.insert(index + step, wanted.pop(index))
    way = "down" if step > 0 else "up"
    name = wanted[index + step].get("name", "")
    set_requirements(circuit, stack, wanted, f"Move requirement '{name}' {way}")
    return True


def set_requirements(circuit: Circuit, stack: QUndoStack, wanted: list[Raw], text: str) -> None:
    """Set all requirements as one undoable edit; raises CircuitError if one is wrong."""
    trial = circuit.copy()
    trial.requirements = wanted
    check_references(trial)
    push(stack, SetFields(circuit, text, [("", "requirements", wanted)]))


def free_name(circuit: Circuit, stem: str) -> str:
    """The name, with a number if a requirement has it already."""
    taken = {requirement.get("name") for requirement in circuit.requirements}
    count, name = 1, stem
    while name in taken:
        count += 1
        name = f"{stem} ({count})"
    return name
