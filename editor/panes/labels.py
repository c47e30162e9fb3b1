"""The words a user wrote on a lever, and how they are changed without losing the lever.

A position may be written by its label, in the state and in the `set` of requirements and
procedures. A label that changes is therefore replaced there too, in one command.
"""

from __future__ import annotations

from typing import Any

from analysis.circuit import DEFAULT, Circuit, Component
from analysis.errors import EditError
from editor.panes.bindings import Binding, Desk
from editor.undo_commands import Compound, Edit, SetField, SetValue


def position_choices(component: Component) -> list[tuple[str, str]]:
    """(position, shown text) of a valve, in the order of its boxes; the label where it has one."""
    return [
        (choice, component.labels.get(choice) or choice)
        for choice in component.declared.states["position"].choices
    ]


def check_label(component: Component, position: str, label: str) -> None:
    """Raise EditError if the label would not tell one position from the others."""
    for choice, shown in position_choices(component):
        if choice != position and label in (choice, shown):
            raise EditError(f"'{label}' is the {choice} position already; choose another word")


class LabelBinding(Binding):
    """The label of one position."""

    def __init__(self, desk: Desk, identifier: str, position: str) -> None:
        super().__init__(desk)
        self.identifier, self.position = identifier, position

    def _component(self) -> Component:
        found = self.desk.circuit.element(self.identifier)
        assert isinstance(found, Component)
        return found

    def read(self) -> Any:
        return self._component().labels.get(self.position, DEFAULT)

    def command(self, raw: Any) -> Edit | None:
        circuit, component = self.desk.circuit, self._component()
        old = component.labels.get(self.position)
        new = None if raw is DEFAULT else raw
        if new == old:
            return None
        if new is not None:
            check_label(component, self.position, new)
        commands: list[Edit] = []
        if old is not None and component.state.get("position") == old:
            # written by its old label: the label must not be lost before it is replaced
            commands.append(
                SetValue(circuit, self.identifier, "position", self.position, state=True)
            )
        labels = {k: v for k, v in component.labels.items() if k != self.position}
        if new is not None:
            labels[self.position] = new
        commands.append(SetField(circuit, self.identifier, "labels", labels))
        if old is not None:
            commands += self._in_requirements_and_procedures(circuit, old)
        text = f"Label {self.position} of {self.identifier}"
        return Compound(circuit, text, commands)

    def _in_requirements_and_procedures(self, circuit: Circuit, old: str) -> list[Edit]:
        commands: list[Edit] = []
        for name in ("requirements", "procedures"):
            before = getattr(circuit, name)
            after = _repositioned(before, self.identifier, old, self.position)
            if after != before:
                commands.append(SetField(circuit, "", name, after))
        return commands


def _repositioned(value: Any, identifier: str, old: str, new: str) -> Any:
    """`value` with `{identifier: {"position": old}}` naming `new` instead, wherever it stands."""
    if isinstance(value, list):
        return [_repositioned(item, identifier, old, new) for item in value]
    if not isinstance(value, dict):
        return value
    replaced = {}
    for key, entry in value.items():
        if key == identifier and isinstance(entry, dict) and entry.get("position") == old:
            replaced[key] = {**entry, "position": new}
        else:
            replaced[key] = _repositioned(entry, identifier, old, new)
    return replaced
