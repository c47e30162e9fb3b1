"""The single steps that undoable commands are made of: each does one thing and undoes it.

A step is checked when it is made and raises CircuitError if the circuit would refuse it.
"""

from __future__ import annotations

import copy
from typing import Any, Protocol

from analysis.circuit import DEFAULT, Circuit, Component, Element
from analysis.setting_order import check_order
from analysis.values import check_value


class Step(Protocol):
    """One reversible change."""

    def do(self, circuit: Circuit) -> None:
        """Change the circuit."""

    def undo(self, circuit: Circuit) -> None:
        """Change it back."""


class ValueStep:
    """Set a setting or a state."""

    def __init__(
        self, circuit: Circuit, identifier: str, name: str, value: Any, state: bool
    ) -> None:
        element = circuit.element(identifier)
        declared = element.state_of(name) if state else element.setting_of(name)
        if value is not DEFAULT:
            labelled = name == "position" and isinstance(element, Component)
            labels = element.labels if labelled and isinstance(element, Component) else {}
            check_value(value, declared, f"{identifier}.{name}", labels)
        if isinstance(element, Component) and not state:
            changed = copy.copy(element)
            others = {n: v for n, v in element.settings.items() if n != name}
            changed.settings = others if value is DEFAULT else {**others, name: value}
            check_order(changed)
        values = element.state if state else element.settings
        self._key = identifier, name, state
        self._new = value
        self._old = copy.deepcopy(values.get(name, DEFAULT))
        self._order = tuple(values)

    def do(self, circuit: Circuit) -> None:
        """Set the new value."""
        self._set(circuit, self._new)

    def undo(self, circuit: Circuit) -> None:
        """Set the old value, at its old place among the others."""
        self._set(circuit, self._old)
        identifier, _name, state = self._key
        element = circuit.element(identifier)
        values = element.state if state else element.settings
        if tuple(values) != self._order and set(values) == set(self._order):
            # a value that comes back is put last; the file must read as before
            ordered = {name: values[name] for name in self._order}
            values.clear()
            values.update(ordered)

    def _set(self, circuit: Circuit, value: Any) -> None:
        identifier, name, state = self._key
        circuit.set_value(identifier, name, copy.deepcopy(value), state=state)

    def __repr__(self) -> str:
        return f"ValueStep({self._key}, {self._new!r})"


class FieldStep:
    """Set a plain field of a component, a line or (id empty) the circuit."""

    def __init__(self, circuit: Circuit, identifier: str, name: str, value: Any) -> None:
        check_field(circuit, identifier, name, value)
        owner = circuit.element(identifier) if identifier else circuit
        self._key = identifier, name
        self._new = copy.deepcopy(value)
        self._old = copy.deepcopy(getattr(owner, name))

    def do(self, circuit: Circuit) -> None:
        """Set the new value."""
        circuit.set_field(*self._key, self._new)

    def undo(self, circuit: Circuit) -> None:
        """Set the old value."""
        circuit.set_field(*self._key, self._old)


class AddStep:
    """Add one element; undoing remembers its place, so that redoing restores the order."""

    def __init__(self, element: Element) -> None:
        self._element = element

    def do(self, circuit: Circuit) -> None:
        """Add it at the end."""
        _add(circuit, self._element)

    def undo(self, circuit: Circuit) -> None:
        """Take it out again."""
        circuit.remove(self._element.id)


class RemoveStep:
    """Remove one element, and the lines at it."""

    def __init__(self, identifier: str) -> None:
        self._id = identifier
        self._removed: list[tuple[int, Element]] = []

    def do(self, circuit: Circuit) -> None:
        """Remove it; an element that went with another one is gone already."""
        self._removed = circuit.remove(self._id) if self._id in circuit else []

    def undo(self, circuit: Circuit) -> None:
        """Put all back where it stood."""
        for index, element in reversed(self._removed):
            _add(circuit, element, index)


class RenameStep:
    """Give an element another id."""

    def __init__(self, old: str, new: str) -> None:
        self._old, self._new = old, new

    def do(self, circuit: Circuit) -> None:
        """Rename."""
        circuit.rename(self._old, self._new)

    def undo(self, circuit: Circuit) -> None:
        """Give the old id back."""
        circuit.rename(self._new, self._old)


def check_field(circuit: Circuit, identifier: str, name: str, value: Any) -> None:
    """Raise CircuitError unless the field can be set so."""
    trial = Circuit()
    if identifier:
        element = copy.copy(circuit.element(identifier))
        trial.components = dict(circuit.components)
        trial.lines = dict(circuit.lines)
        group = trial.components if isinstance(element, Component) else trial.lines
        group[identifier] = element  # type: ignore[assignment]
    trial.set_field(identifier, name, value)


def _add(circuit: Circuit, element: Element, index: int | None = None) -> None:
    if isinstance(element, Component):
        circuit.add_component(element, index)
    else:
        circuit.add_line(element, index)
