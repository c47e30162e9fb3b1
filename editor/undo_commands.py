"""Undoable commands: every change of the circuit that the editor makes goes through one.

A command is checked when it is made: an edit that the circuit would refuse raises
CircuitError there, before anything is pushed, since a `redo` that raises would stay on
the stack. Commands have no children (Qt-parented ones crash PySide6); a command walks a
list of steps instead.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from typing import Any

from PySide6.QtGui import QUndoCommand, QUndoStack

from analysis.circuit import DEFAULT, Circuit, Component, Element, Line
from editor.free_ids import check_spoken_of
from editor.undo_steps import AddStep, FieldStep, RemoveStep, RenameStep, Step, ValueStep

_FIELD_WORDS = {
    "name": "name",
    "at": "place",
    "turn": "turn",
    "mirror": "mirroring",
    "start": "start",
    "end": "end",
    "via": "corners",
    "role": "role",
    "labels": "labels",
    "evidence": "evidence",
    "title": "title block",
    "display_units": "units",
    "fluid": "fluid",
    "sheet": "sheet",
}


class Edit(QUndoCommand):
    """Steps done together and undone together.

    Parameters
    ----------
    merge_key
        Commands of the same key that follow each other become one (a row of nudges).
    """

    def __init__(
        self, circuit: Circuit, text: str, steps: Sequence[Step], merge_key: tuple = ()
    ) -> None:
        super().__init__(text)
        self._circuit = circuit
        self._steps = list(steps)
        self._merge_key = merge_key

    def redo(self) -> None:
        """Do all steps."""
        for step in self._steps:
            step.do(self._circuit)

    def undo(self) -> None:
        """Undo all steps, the last first."""
        for step in reversed(self._steps):
            step.undo(self._circuit)

    def id(self) -> int:
        """Qt merges only commands of one id other than -1."""
        return 1 if self._merge_key else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        """Take over a later command of the same key."""
        if not isinstance(other, Edit) or other._merge_key != self._merge_key:
            return False
        self._steps += other._steps
        return True


class SetValue(Edit):
    """Set a setting or a state to what the user wrote; DEFAULT takes it away."""

    def __init__(
        self, circuit: Circuit, identifier: str, name: str, value: Any, state: bool = False
    ) -> None:
        step = ValueStep(circuit, identifier, name, value, state)
        words = name.replace("_", " ")
        verb = "Change" if words.startswith("set ") else "Set"
        verb = "Reset" if value is DEFAULT else verb
        super().__init__(circuit, f"{verb} {words} of {identifier}", [step])


class SetField(Edit):
    """Set a plain field of a component, a line, or (id empty) of the circuit."""

    def __init__(self, circuit: Circuit, identifier: str, name: str, value: Any) -> None:
        word = _FIELD_WORDS.get(name, name.replace("_", " "))
        text = f"Set {word} of {identifier}" if identifier else f"Set {word}"
        super().__init__(circuit, text, [FieldStep(circuit, identifier, name, value)])


class SetFields(Edit):
    """Set several fields at once: `changes` are (id, field, value)."""

    def __init__(
        self,
        circuit: Circuit,
        text: str,
        changes: Iterable[tuple[str, str, Any]],
        merge_key: tuple = (),
    ) -> None:
        steps = [FieldStep(circuit, i, name, value) for i, name, value in changes]
        super().__init__(circuit, text, steps, merge_key)


class AddElements(Edit):
    """Add components and lines that are made already, in the order given."""

    def __init__(self, circuit: Circuit, elements: Sequence[Element], text: str = "") -> None:
        check_addition(circuit, elements)
        super().__init__(circuit, text or f"Add {_named(elements)}", [AddStep(e) for e in elements])


class RemoveElements(Edit):
    """Remove components, with the lines at them, and lines."""

    def __init__(self, circuit: Circuit, identifiers: Sequence[str], text: str = "") -> None:
        elements = [circuit.element(i) for i in identifiers]
        # lines first: a component takes its lines along, and they would be missing then
        ordered = sorted(identifiers, key=lambda i: i in circuit.components)
        steps = [RemoveStep(i) for i in ordered]
        super().__init__(circuit, text or f"Delete {_named(elements)}", steps)


class Rename(Edit):
    """Give a component or a line another id."""

    def __init__(self, circuit: Circuit, old: str, new: str) -> None:
        circuit.element(old)
        if new != old:
            circuit.check_id(new)
            check_spoken_of(circuit, circuit.element(old), new)
        super().__init__(circuit, f"Rename {old} to {new}", [RenameStep(old, new)])


class Compound(Edit):
    """Several commands in one, made and pushed as one; none of them is pushed itself."""

    def __init__(self, circuit: Circuit, text: str, commands: Iterable[Edit]) -> None:
        super().__init__(circuit, text, [s for command in commands for s in command._steps])


def push(stack: QUndoStack, command: QUndoCommand) -> None:
    """Do the command and put it on the stack."""
    stack.push(command)


def check_addition(circuit: Circuit, elements: Sequence[Element]) -> None:
    """Raise CircuitError unless all these can be added, in this order."""
    trial = Circuit()
    trial.components = dict(circuit.components)
    trial.lines = dict(circuit.lines)
    for element in elements:
        check_spoken_of(circuit, element, element.id)
        if isinstance(element, Component):
            trial.add_component(copy.copy(element))
        else:
            trial.add_line(copy.copy(element))


def _named(elements: Sequence[Element]) -> str:
    if len(elements) == 1:
        only = elements[0]
        what = "line" if isinstance(only, Line) else only.declared.title.lower()
        return f"{what} {only.id}"
    return f"{len(elements)} parts"
