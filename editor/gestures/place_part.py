"""Place a part from the shelf: a ghost follows the pointer until it is put down."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent

from analysis.circuit import Component
from analysis.routing import Point
from editor.canvas.component_item import ComponentItem
from editor.canvas.lettering import to_scene
from editor.editing import compound, new_component, split_line
from editor.gestures.connect import nearest_on
from editor.gestures.gesture import Gesture, snapped
from editor.painting import picture_of
from editor.undo_commands import AddElements

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


class PlacePart(Gesture):
    """Puts a part down at a click; R and M turn and mirror it before; Shift puts another."""

    def __init__(self, canvas: Canvas, kind: str) -> None:
        super().__init__(canvas)
        self._part = Component("", kind)
        self._ghost = ComponentItem("")
        self._ghost.setOpacity(0.55)
        self._ghost.setZValue(9)
        self._ghost.hide()
        self._at: Point = (0, 0)
        self._show_ghost()
        canvas.sheet.addItem(self._ghost)
        title = self._part.declared.title
        canvas.say(f"{title}: click where it shall stand; R turns, M mirrors, Escape gives up")

    def _show_ghost(self) -> None:
        kind = self._part.declared
        picture = picture_of(kind, kind.look(), self._part.turn, self._part.mirror)
        self._ghost.show_as(picture, [], {})

    def turn(self) -> None:
        """Turn the ghost by a quarter."""
        self._part.turn = (self._part.turn + 90) % 360
        self._show_ghost()

    def mirror(self) -> None:
        """Mirror the ghost left to right."""
        self._part.mirror, self._part.turn = not self._part.mirror, -self._part.turn % 360
        self._show_ghost()

    def hover(self, at: Point) -> None:
        """Show where it would stand."""
        self._at = at
        self._ghost.setPos(to_scene(self._spot(at)))
        self._ghost.show()

    def step(self, dx: int, dy: int) -> None:
        """Move the ghost by keys."""
        self.hover((self._at[0] + dx, self._at[1] + dy))

    def put_here(self) -> None:
        """Put it down where the ghost is."""
        self.put(self._at)

    def hide(self) -> None:
        """The pointer is off the sheet."""
        self._ghost.hide()

    def _spot(self, at: Point) -> Point:
        line = self._line(at)
        return nearest_on(self.canvas.sheet.lines[line].points, at) if line else snapped(at)

    def _line(self, at: Point) -> str:
        """The line that a junction would come to sit on."""
        return self.canvas.line_near(at) if self._part.kind == "junction" else ""

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Follow the pointer."""
        self.hover(at)

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Any button but the left one gives up."""
        if event.button() != Qt.MouseButton.LeftButton:
            self.cancel()

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Put it down."""
        if event.button() == Qt.MouseButton.LeftButton:
            self.put(at, again=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))

    def put(self, at: Point, *, again: bool = False) -> None:
        """Put a part down at a point; `again` keeps the ghost for one more."""
        circuit, spot, line = self.canvas.circuit, self._spot(at), self._line(at)
        if not again:
            self._end()
        if line:
            points = self.canvas.sheet.lines[line].points
            part, _rest, edits = split_line(circuit, circuit.lines[line], spot, points)
            command = compound(circuit, f"Put a junction on line {line}", edits)
        else:
            part = new_component(circuit, self._part.kind, spot)
            part.turn, part.mirror = self._part.turn, self._part.mirror
            command = AddElements(circuit, [part])
        self.canvas.do(command)
        self.canvas.selection.set([part.id])
        self.canvas.say(f"{part.id} placed; drag from port to port to connect it")

    def cancel(self) -> None:
        """Nothing is placed."""
        self.canvas.say("")
        self._end()

    def _end(self) -> None:
        self.canvas.sheet.removeItem(self._ghost)
        self.is_over = True
