"""Levers and pumps worked while a failure is looked at: of the copy, never of the drawing."""

from __future__ import annotations

from typing import Any

from analysis.circuit import DEFAULT, Circuit, Component
from analysis.resolved import resolve_element
from editor.gestures.levers import switch_of

_WORDS = {
    ("running", True): "runs",
    ("running", False): "at rest",
    ("closed", True): "closed",
    ("closed", False): "open",
}


class TriedLevers:
    """The levers of a copy with a failure in; nothing that is stuck is moved.

    Parameters
    ----------
    drawn
        The circuit of the drawing, which says where the levers stood.
    circuit
        The copy.
    """

    def __init__(self, drawn: Circuit, circuit: Circuit) -> None:
        self._drawn, self.circuit = drawn, circuit

    def refusal(self, component: Component, state: str) -> str:
        """Why the state cannot be set, in words; empty if it can."""
        fault = resolve_element(component).fault
        return f"{component.id} is stuck: it does not move" if fault.startswith("stuck") else ""

    def put(self, identifier: str, state: str, written: Any, words: str) -> None:
        """Set it in the copy."""
        self.circuit.set_value(identifier, state, written, state=True)

    def moved(self) -> list[str]:
        """What stands otherwise than it is drawn, in words: `1V1 at DOWN`, `0P1 at rest`."""
        return [self._words(component, state) for component, state in self._differing()]

    def put_back(self) -> None:
        """Everything as it is drawn."""
        for component, state in self._differing():
            drawn = self._drawn.components[component.id].state.get(state, DEFAULT)
            self.circuit.set_value(component.id, state, drawn, state=True)

    def _differing(self) -> list[tuple[Component, str]]:
        found = []
        for component in self.circuit.components.values():
            state = switch_of(component)
            if state and _now(component, state) != _now(
                self._drawn.components[component.id], state
            ):
                found.append((component, state))
        return found

    def _words(self, component: Component, state: str) -> str:
        now = _now(component, state)
        if state == "position":
            return f"{component.id} at {component.labels.get(now, now)}"
        return f"{component.id} {_WORDS[state, now]}"


def _now(component: Component, state: str) -> Any:
    return resolve_element(component).state[state]
