"""Select by a rectangle drawn over empty sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPen
from PySide6.QtWidgets import QGraphicsRectItem

from analysis.routing import Point
from editor import theme
from editor.gestures.gesture import ADDING, Gesture, Threshold

if TYPE_CHECKING:
    from PySide6.QtGui import QMouseEvent

    from editor.canvas.canvas import Canvas

M = theme.MODULE


class RubberBand(Gesture):
    """Selects all that lies wholly inside; with Ctrl or Shift, adds it."""

    def __init__(self, canvas: Canvas, at: Point, event: QMouseEvent) -> None:
        super().__init__(canvas)
        self._from = at
        self._threshold = Threshold(canvas, at)
        self._before = canvas.selection.ids() if event.modifiers() & ADDING else ()
        self._band: QGraphicsRectItem | None = None

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Stretch the rectangle, and select what is in it."""
        if not self._threshold.pass_by(at):
            return
        area = QRectF(_scene(self._from), _scene(at)).normalized()
        if self._band is None:
            self._band = self._make_band()
        self._band.setRect(area)
        inside = self.canvas.elements_in(area)
        self.canvas.selection.set((*self._before, *inside))

    def _make_band(self) -> QGraphicsRectItem:
        band = QGraphicsRectItem()
        pen = QPen(theme.ACCENT, 0)
        band.setPen(pen)
        fill = QColor(theme.ACCENT)
        fill.setAlpha(28)
        band.setBrush(fill)
        band.setZValue(10)
        self.canvas.sheet.addItem(band)
        return band

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Take the rectangle away; a mere click on empty sheet selects nothing."""
        if not self._threshold.passed and not self._before:
            self.canvas.selection.clear()
        self._end()

    def cancel(self) -> None:
        """Select what was selected before."""
        self.canvas.selection.set(i for i in self._before if i in self.canvas.circuit)
        self._end()

    def _end(self) -> None:
        if self._band is not None:
            self.canvas.sheet.removeItem(self._band)
            self._band = None
        self.is_over = True


def _scene(at: Point) -> QPointF:
    return QPointF(at[0] * M, at[1] * M)
