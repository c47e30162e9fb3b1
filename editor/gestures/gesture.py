"""What all gestures have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent

from analysis.routing import Point

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas

SNAP_PIXELS = 4
"""A pointer that moved less than this since the press has not moved."""

ADDING = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier


class Gesture:
    """From a press to a release, or from click to click.

    A gesture previews on the canvas; `finish` pushes one command at most; `cancel` leaves
    everything as it was. `is_over` says that the canvas may forget it.
    """

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.is_over = False

    def press(self, at: Point, event: QMouseEvent) -> None:
        """A button goes down while the gesture lasts (click-to-click gestures)."""

    def move(self, at: Point, event: QMouseEvent) -> None:
        """The pointer moves."""

    def release(self, at: Point, event: QMouseEvent) -> None:
        """A button goes up."""

    def cancel(self) -> None:
        """Leave everything as it was."""
        self.is_over = True


def snapped(at: Point) -> Point:
    """The nearest point of the grid."""
    return float(round(at[0])), float(round(at[1]))


class Threshold:
    """Tells a drag from a click with an unsteady hand."""

    def __init__(self, canvas: Canvas, at: Point) -> None:
        self._from = at
        self._canvas = canvas
        self.passed = False

    def pass_by(self, at: Point) -> bool:
        """Whether the pointer has left the place of the press, now or before."""
        reach = self._canvas.pixels(SNAP_PIXELS)
        dx, dy = at[0] - self._from[0], at[1] - self._from[1]
        self.passed = self.passed or max(abs(dx), abs(dy)) > reach
        return self.passed
