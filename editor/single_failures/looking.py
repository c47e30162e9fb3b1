"""What the pointer does while a failure is looked at: it selects, and changes nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QMouseEvent

from analysis.routing import Point
from editor.gestures.gesture import ADDING
from editor.gestures.rubber_band import RubberBand

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


class Looking(QObject):
    """Selects what is clicked, or lies in a rectangle; tells what the pointer is on.

    `leave_requested`: Escape was pressed with nothing else to give up.
    """

    leave_requested = Signal()

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._band: RubberBand | None = None

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Select what is there, or begin a rectangle."""
        if event.button() != Qt.MouseButton.LeftButton:
            return
        found = self._found(at)
        if not found:
            self._band = RubberBand(self._canvas, at, event)
        elif event.modifiers() & ADDING:
            self._canvas.selection.toggle(found)
        else:
            self._canvas.selection.set([found])

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Stretch the rectangle, or say what is there."""
        if self._band is not None:
            self._band.move(at, event)
            return
        canvas = self._canvas
        port, found = canvas.port_near(at), self._found(at)
        canvas.sheet.set_hovered("" if port else found)
        canvas.show_port(port)
        canvas.viewport().setCursor(Qt.CursorShape.ArrowCursor)
        name = port or found
        canvas.say(canvas.describe(name) or name if name else "")

    def release(self, at: Point, event: QMouseEvent) -> None:
        """End the rectangle."""
        if self._band is not None:
            self._band.release(at, event)
            self._band = None

    def double_click(self, at: Point, event: QMouseEvent) -> None:
        """Two quick clicks are two clicks."""
        self.press(at, event)

    def leave(self) -> None:
        """The pointer left the canvas."""
        self._canvas.show_port("")
        self._canvas.sheet.set_hovered("")
        self._canvas.say("")

    def cancel(self) -> bool:
        """Give up the rectangle, else ask to leave."""
        if self._band is not None:
            self.end()
            return True
        self.leave_requested.emit()
        return True

    def end(self) -> None:
        """Give up what was begun."""
        if self._band is not None:
            self._band.cancel()
            self._band = None
        self.leave()

    def _found(self, at: Point) -> str:
        return self._canvas.component_near(at) or self._canvas.line_near(at)
