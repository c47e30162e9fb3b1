"""Whose levers the hand on the canvas moves: those of the drawing, as undoable commands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from analysis.circuit import Circuit, Component
from editor.undo_commands import SetValue

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


class Levers(Protocol):
    """What a lever, pump or fuse worked by hand goes into."""

    @property
    def circuit(self) -> Circuit:
        """The circuit whose levers these are."""

    def refusal(self, component: Component, state: str) -> str:
        """Why the state cannot be set, in words; empty if it can."""

    def put(self, identifier: str, state: str, written: Any, words: str) -> None:
        """Set a state by the word the user would write; `words` says what is done."""


class DrawnLevers:
    """The levers of the circuit that is drawn."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas

    @property
    def circuit(self) -> Circuit:
        """The circuit that is drawn."""
        return self._canvas.circuit

    def refusal(self, component: Component, state: str) -> str:
        """None: how a drawn lever stands is for the draughtsman to say, stuck or not."""
        return ""

    def put(self, identifier: str, state: str, written: Any, words: str) -> None:
        """Set it as one undoable command."""
        command = SetValue(self._canvas.circuit, identifier, state, written, state=True)
        command.setText(words)
        self._canvas.do(command)
