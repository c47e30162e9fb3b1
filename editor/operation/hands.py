"""Setting a state by hand: in the circuit, and in the motion where that already differs."""

from __future__ import annotations

from typing import Any

from PySide6.QtGui import QUndoStack

from analysis.circuit import DEFAULT
from editor.operation.operation import Operation
from editor.undo_commands import SetValue, push


def set_state(
    operation: Operation, stack: QUndoStack, identifier: str, name: str, value: Any
) -> None:
    """Set a state as an undoable edit; DEFAULT takes it away.

    Where the drawn circuit has that value already, and only the motion has another (a
    procedure set it), it is set in the motion alone: there is nothing to undo.

    Raises
    ------
    CircuitError
        If there is no such element, state or value.
    """
    element = operation.circuit.element(identifier)
    usual = element.state_of(name).default
    written = element.state.get(name, usual)
    wanted = usual if value is DEFAULT else value
    if written != wanted:
        push(stack, SetValue(operation.circuit, identifier, name, value, state=True))
    elif operation.active:
        operation.put(identifier, name, wanted)
