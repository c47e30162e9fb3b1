"""Select and move: press on a component, drag; or click, and work its lever."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QMouseEvent

from analysis.routing import Point
from editor.editing import components_in
from editor.gestures.gesture import ADDING, Gesture, Threshold
from editor.gestures.levers import work_zone
from editor.moving import Moved, following, led_clear, move_command, shifted

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


class MoveParts(Gesture):
    """Moves what is selected by whole modules; lines follow."""

    def __init__(self, canvas: Canvas, identifier: str, at: Point, event: QMouseEvent) -> None:
        super().__init__(canvas)
        self._from = at
        self._identifier = identifier
        self._threshold = Threshold(canvas, at)
        self._was_selected = identifier in canvas.selection.ids()
        self._adding = bool(event.modifiers() & ADDING)
        self._delta: Point = (0, 0)
        if self._adding:
            canvas.selection.toggle(identifier)
        elif not self._was_selected:
            canvas.selection.set([identifier])
        self._places = canvas.places()
        self._parts = components_in(canvas.circuit, canvas.selection.ids())

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Show the parts where they would come to stand."""
        if not self._threshold.pass_by(at) or not self._parts:
            return
        delta = round(at[0] - self._from[0]), round(at[1] - self._from[1])
        if delta != self._delta:
            self._delta = delta
            moved = self._moved()
            vias = following(self.canvas.circuit, moved, self._places)
            self.canvas.sheet.preview(moved.parts, vias)
            self.canvas.say(f"Moved by {delta[0]:+d}, {delta[1]:+d} modules")

    def _moved(self) -> Moved:
        return shifted(self._parts, self._places, self._delta)

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Put them there; a mere click selects, and works the lever under it."""
        self.is_over = True
        if not self._threshold.passed:
            if not self._adding:
                self._click(at)
            return
        moved = self._moved()
        vias = following(self.canvas.circuit, moved, self._places)
        self.canvas.sheet.end_preview(moved.parts)
        what = self._parts[0].id if len(self._parts) == 1 else f"{len(self._parts)} parts"
        if self._delta != (0, 0):
            ways = self.canvas.ways()
            vias = led_clear(self.canvas.circuit, moved, vias, self._places, ways)
            command = move_command(self.canvas.circuit, f"Move {what}", moved, vias)
            self.canvas.do(command)

    def _click(self, at: Point) -> None:
        self.canvas.selection.set([self._identifier])
        work_zone(self.canvas, self._identifier, at, self._was_selected)

    def cancel(self) -> None:
        """Back to where they stood."""
        self.canvas.sheet.end_preview([c.id for c in self._parts])
        super().cancel()
