"""What the pointer does while a failure is looked at: it selects, and works levers of the copy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QMouseEvent

from analysis.routing import Point
from editor.gestures.gesture import ADDING, Threshold
from editor.gestures.levers import hint, work_zone, zone_at
from editor.gestures.rubber_band import RubberBand

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


class Looking(QObject):
    """Selects what is clicked, or lies in a rectangle; tells what the pointer is on.

    A click on a lever, or on a selected pump, works it, as on the drawing; nothing is moved.
    `leave_requested`: Escape was pressed with nothing else to give up.
    """

    leave_requested = Signal()

    def __init__(self, canvas: Canvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._band: RubberBand | None = None
        self._click: _Click | None = None

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Select what is there, or begin a rectangle."""
        self._click = None
        if event.button() != Qt.MouseButton.LeftButton:
            return
        found = self._found(at)
        if not found:
            self._band = RubberBand(self._canvas, at, event)
        elif event.modifiers() & ADDING:
            self._canvas.selection.toggle(found)
        else:
            self._click = _Click(self._canvas, found, at)
            self._canvas.selection.set([found])

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Stretch the rectangle, or say what is there."""
        if self._band is not None:
            self._band.move(at, event)
        elif self._click is not None:
            self._click.threshold.pass_by(at)
        else:
            self._hover(at)

    def _hover(self, at: Point) -> None:
        canvas = self._canvas
        port, found = canvas.port_near(at), self._found(at)
        canvas.sheet.set_hovered("" if port else found)
        canvas.show_port(port)
        name = port or found
        words = [canvas.describe(name) or name if name else ""]
        shape = Qt.CursorShape.ArrowCursor
        if found in canvas.circuit.components and not port:
            words.append(hint(canvas, found, at))
            if zone_at(canvas, found, at) is not None:
                shape = Qt.CursorShape.PointingHandCursor
        canvas.viewport().setCursor(shape)
        canvas.say("   ".join(word for word in words if word))

    def release(self, at: Point, event: QMouseEvent) -> None:
        """End the rectangle; after a mere click, work the lever under it."""
        if self._band is not None:
            self._band.release(at, event)
            self._band = None
        click, self._click = self._click, None
        if click is not None and not click.threshold.pass_by(at):
            click.work(at)

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
        self._click = None
        if self._band is not None:
            self._band.cancel()
            self._band = None
        self.leave()

    def _found(self, at: Point) -> str:
        return self._canvas.component_near(at) or self._canvas.line_near(at)


class _Click:
    """A press that becomes a click if the pointer stays where it is."""

    def __init__(self, canvas: Canvas, found: str, at: Point) -> None:
        self._canvas, self._found = canvas, found
        self._was_selected = found in canvas.selection.ids()
        self.threshold = Threshold(canvas, at)

    def work(self, at: Point) -> None:
        """Work the lever of the part, if there is one under the click."""
        is_part = self._found in self._canvas.circuit.components
        # a port is no lever: on the drawing a line begins there
        if is_part and not self._canvas.port_near(at):
            work_zone(self._canvas, self._found, at, self._was_selected)
