"""What a field of a form is tied to: how it reads the circuit, and the command it makes.

A binding never writes by itself: it makes an undoable command, which checks, and pushes it.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtGui import QUndoStack

from analysis.circuit import DEFAULT, Circuit
from analysis.errors import EditError
from editor.undo_commands import Compound, Edit, Rename, SetField, SetValue, push

MIXED = object()
"""Read where several selected parts differ."""


@dataclass(frozen=True)
class Desk:
    """Where forms work: the circuit and the stack that its changes go to."""

    circuit: Circuit
    stack: QUndoStack


class Binding(ABC):
    """Reads one thing of the circuit, and changes it."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    @abstractmethod
    def read(self) -> Any:
        """What stands in the circuit; DEFAULT if nothing is written."""

    @abstractmethod
    def command(self, raw: Any) -> Edit | None:
        """The command that writes `raw`, checked; None if nothing would change.

        Raises CircuitError if the circuit would refuse it.
        """

    def write(self, raw: Any) -> None:
        """Push the command; raises CircuitError and pushes nothing if it is refused."""
        command = self.command(raw)
        if command is not None:
            push(self.desk.stack, command)


class ValueBinding(Binding):
    """A setting or a state of one component or line."""

    def __init__(self, desk: Desk, identifier: str, name: str, *, state: bool = False) -> None:
        super().__init__(desk)
        self.identifier, self.name, self.state = identifier, name, state

    def read(self) -> Any:
        element = self.desk.circuit.element(self.identifier)
        return (element.state if self.state else element.settings).get(self.name, DEFAULT)

    def command(self, raw: Any) -> Edit | None:
        old = self.read()
        if raw is old or (raw == old and type(raw) is type(old)):
            return None
        return SetValue(self.desk.circuit, self.identifier, self.name, raw, state=self.state)


class FieldBinding(Binding):
    """A plain field of a component or line, or (id empty) of the circuit.

    With `key`, one entry of a field that is a dictionary: an empty text takes it out.
    """

    def __init__(
        self,
        desk: Desk,
        identifier: str,
        name: str,
        key: str = "",
        check: Callable[[Any], None] | None = None,
    ) -> None:
        super().__init__(desk)
        self.identifier, self.name, self.key = identifier, name, key
        self._check = check

    def read(self) -> Any:
        circuit = self.desk.circuit
        owner = circuit.element(self.identifier) if self.identifier else circuit
        value = getattr(owner, self.name)
        return (value or {}).get(self.key, DEFAULT) if self.key else value

    def command(self, raw: Any) -> Edit | None:
        if raw == self.read():
            return None
        if self._check is not None and raw not in (DEFAULT, ""):
            self._check(raw)
        return SetField(self.desk.circuit, self.identifier, self.name, self._whole(raw))

    def _whole(self, raw: Any) -> Any:
        if not self.key:
            return "" if raw is DEFAULT else raw
        circuit = self.desk.circuit
        owner = circuit.element(self.identifier) if self.identifier else circuit
        whole = dict(getattr(owner, self.name) or {})
        if raw is DEFAULT or raw == "":
            whole.pop(self.key, None)
        else:
            whole[self.key] = raw
        return whole


class EvidenceBinding(FieldBinding):
    """Status or source of the evidence: a file may hold no source without a status."""

    def command(self, raw: Any) -> Edit | None:
        whole = self._whole(raw)
        if self.key == "status" and "status" not in whole and whole:
            raise EditError("a source is given; take it away first")
        return super().command(raw)

    def _whole(self, raw: Any) -> Any:
        whole = super()._whole(raw)
        if self.key == "source" and whole:
            whole = {"status": "unknown", **whole}
        return whole


class IdBinding(Binding):
    """The id of a component or line; lines, requirements and procedures follow."""

    def __init__(self, desk: Desk, identifier: str) -> None:
        super().__init__(desk)
        self.identifier = identifier

    def read(self) -> Any:
        return self.identifier

    def command(self, raw: Any) -> Edit | None:
        if raw == self.identifier:
            return None
        text = "" if raw is DEFAULT else raw
        return Rename(self.desk.circuit, self.identifier, text)


class SeveralBinding(Binding):
    """One thing that several parts have in common, changed in all of them at once."""

    def __init__(self, desk: Desk, text: str, bindings: list[Binding]) -> None:
        super().__init__(desk)
        self._text = text
        self._bindings = bindings

    def read(self) -> Any:
        values = [binding.read() for binding in self._bindings]
        return values[0] if all(value == values[0] for value in values) else MIXED

    def command(self, raw: Any) -> Edit | None:
        commands = [c for binding in self._bindings if (c := binding.command(raw)) is not None]
        return Compound(self.desk.circuit, self._text, commands) if commands else None
