"""The ring around the port under the pointer, with the port's name."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem

from analysis.routing import Point
from editor import theme
from editor.canvas.lettering import to_scene

_RADIUS = 8.0


class PortMark(QGraphicsItem):
    """Keeps its size on screen at every zoom, and takes no clicks."""

    def __init__(self) -> None:
        super().__init__()
        self.setFlag(QGraphicsItem.GraphicsItemFlag.ItemIgnoresTransformations)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)
        self.setZValue(20)
        self._name = ""
        self._refused = False
        self.hide()

    def show_at(self, at: Point, name: str, refused: bool) -> None:
        """Stand around a port."""
        self._name, self._refused = name, refused
        self.setPos(to_scene(at))
        self.show()
        self.update()

    def boundingRect(self) -> QRectF:
        """Ring and name, in pixels."""
        return QRectF(-12, -28, 190, 42)

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget=None) -> None:
        """Ring and name."""
        colour = theme.REFUSED if self._refused else theme.SELECTED
        fill = QColor(colour)
        fill.setAlpha(60)
        painter.setPen(QPen(colour, 2))
        painter.setBrush(fill)
        painter.drawEllipse(QPointF(0, 0), _RADIUS, _RADIUS)
        width = painter.fontMetrics().horizontalAdvance(self._name) + 8
        box = QRectF(9, -27, width, 17)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(255, 255, 255, 225))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(colour)
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, self._name)
