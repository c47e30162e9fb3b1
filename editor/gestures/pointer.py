"""Which gesture a press begins, and what the pointer shows while there is none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent

from analysis.routing import Point
from editor.gestures.bend_line import BendLine
from editor.gestures.connect import Connect
from editor.gestures.gesture import ADDING, Gesture
from editor.gestures.levers import hint, zone_at
from editor.gestures.move_parts import MoveParts
from editor.gestures.pick_parts import PickParts
from editor.gestures.place_part import PlacePart
from editor.gestures.rubber_band import RubberBand

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas

_LEFT, _RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton


class Pointer:
    """Hands the pointer to the gesture that is on, or begins one."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.gesture: Gesture | None = None
        self._right_click_taken = False
        self.last_at: Point | None = None

    # -- events -----------------------------------------------------------------------

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Go on with a gesture, or begin one."""
        self.last_at = at
        self._right_click_taken = event.button() == _RIGHT and self.gesture is not None
        if self.gesture is not None:
            self.gesture.press(at, event)
            self._forget()
        elif event.button() == _LEFT:
            self.gesture = self._begin(at, event)

    def _begin(self, at: Point, event: QMouseEvent) -> Gesture:
        canvas = self.canvas
        canvas.sheet.set_hovered("")
        port = canvas.port_near(at)
        if port and not self._moves_junction(port, event):
            return Connect(canvas, port, at)
        component = canvas.component_near(at)
        if component:
            return MoveParts(canvas, component, at, event)
        line = canvas.line_near(at)
        if line:
            return BendLine(canvas, line, at, event)
        return RubberBand(canvas, at, event)

    def _moves_junction(self, port: str, event: QMouseEvent) -> bool:
        """A junction is all port: once selected, a drag moves it instead of drawing a line."""
        identifier = port.rpartition(".")[0]
        if self.canvas.circuit.components[identifier].kind != "junction":
            return False
        return identifier in self.canvas.selection.ids() or bool(event.modifiers() & ADDING)

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Go on with a gesture, or show what is under the pointer."""
        self.last_at = at
        if self.gesture is not None:
            self.gesture.move(at, event)
            self._forget()
        else:
            self._hover(at)

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Go on with a gesture, or end it."""
        if self.gesture is not None:
            self.gesture.release(at, event)
            self._forget()

    def double_click(self, at: Point, event: QMouseEvent) -> None:
        """Two quick clicks are two clicks."""
        self.press(at, event)

    def leave(self) -> None:
        """The pointer left the canvas."""
        self.last_at = None
        if isinstance(self.gesture, PlacePart):
            self.gesture.hide()
        elif self.gesture is None:
            self.canvas.show_port("")
            self.canvas.sheet.set_hovered("")
            self.canvas.viewport().unsetCursor()
            self.canvas.say("")

    def cancel(self) -> bool:
        """Give up the gesture; without one, select nothing. True if there was one."""
        if self.gesture is None:
            self.canvas.selection.clear()
            self.canvas.escaped.emit()
            return False
        self.gesture.cancel()
        self._forget()
        return True

    def cancel_gesture(self) -> None:
        """Give up the gesture, if there is one; what is selected stays."""
        if self.gesture is not None:
            self.cancel()
        self.canvas.show_port("")

    def give_up_stale(self) -> None:
        """The circuit changed meanwhile; a part that is being placed hangs on nothing in it."""
        gesture = self.gesture
        if gesture is not None and not gesture.is_over and not isinstance(gesture, PlacePart):
            gesture.cancel()
            self._forget()

    def took_right_click(self) -> bool:
        """Whether the last right click only ended a gesture."""
        return self._right_click_taken

    # -- placing ----------------------------------------------------------------------

    def start_placing(self, kind: str) -> None:
        """A ghost of the kind follows the pointer."""
        if self.gesture is not None:
            self.gesture.cancel()
        self.canvas.show_port("")
        self.canvas.viewport().setCursor(Qt.CursorShape.CrossCursor)
        self.gesture = PlacePart(self.canvas, kind)
        self.canvas.empty_hint.set_placing(True)
        middle = self.canvas.to_sheet(self.canvas.viewport().rect().center())
        self.gesture.hover(self.last_at or middle)

    def start_picking(self, gesture: PickParts) -> None:
        """Let parts be picked until the gesture ends."""
        self.cancel_gesture()
        self.canvas.sheet.set_hovered("")
        self.gesture = gesture

    def finish_picking(self) -> None:
        """Keep what is picked; nothing happens if nothing is being picked."""
        if isinstance(self.gesture, PickParts):
            self.gesture.finish()
            self._forget()

    def key(self, dx: int, dy: int, put: bool) -> bool:
        """Arrows and Enter for what is being placed or picked; False if nothing is."""
        if not isinstance(self.gesture, (PlacePart, PickParts)):
            return False
        if put:
            self.gesture.put_here()
        else:
            self.gesture.step(dx, dy)
        self._forget()
        return True

    def drag_over(self, kind: str, at: Point | None) -> None:
        """The shelf's drag passes over the sheet, or (None) is off it."""
        if not isinstance(self.gesture, PlacePart):
            self.start_placing(kind)
        assert isinstance(self.gesture, PlacePart)
        if at is None:
            self.gesture.hide()
        else:
            self.gesture.hover(at)

    def drop(self, kind: str, at: Point | None) -> None:
        """The shelf's drag ends on the sheet, or (None) off it: then nothing is placed."""
        if not isinstance(self.gesture, PlacePart):
            self.start_placing(kind)
        assert isinstance(self.gesture, PlacePart)
        if at is None:
            self.gesture.cancel()
        else:
            self.gesture.put(at)
        self._forget()

    def _forget(self) -> None:
        # the end of one gesture may have begun the next
        if self.gesture is not None and self.gesture.is_over:
            placing = isinstance(self.gesture, PlacePart)
            self.gesture = None
            self.canvas.viewport().unsetCursor()
            if placing:
                self.canvas.empty_hint.set_placing(False)
                self.canvas.placing_ended.emit()

    # -- hovering ---------------------------------------------------------------------

    def _hover(self, at: Point) -> None:
        canvas = self.canvas
        port = canvas.port_near(at)
        canvas.show_port(port)
        if port:
            canvas.sheet.set_hovered("")
            canvas.viewport().setCursor(Qt.CursorShape.CrossCursor)
            canvas.say(canvas.describe(port) or port)
            return
        component = canvas.component_near(at)
        identifier = component or canvas.line_near(at)
        canvas.sheet.set_hovered(identifier)
        if component:
            on_lever = zone_at(canvas, component, at) is not None
            shape = Qt.CursorShape.PointingHandCursor if on_lever else Qt.CursorShape.ArrowCursor
            canvas.viewport().setCursor(shape)
            words = [canvas.describe(component) or component, hint(canvas, component, at)]
            canvas.say("   ".join(w for w in words if w))
        else:
            canvas.viewport().unsetCursor()
            canvas.say(canvas.describe(identifier) or identifier if identifier else "")
