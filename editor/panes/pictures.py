"""Small pictures for the panes: symbols from their strokes, and marks of severity.

A mark tells by its shape what its colour repeats, so that it is read without colours.
"""

from __future__ import annotations

from math import cos, pi, sin

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from editor import theme
from editor.painting import make_picture
from symbols.kind import Kind

_MARGIN = 3.0
_LARGEST_SCALE = 3.6 / theme.MODULE
"""3.6 pixels for a module at most: a plug should not look as large as a cylinder."""

_PEN = 1.1
"""Width of every pen in pixels: at this scale the widths on paper would be hardly seen."""


def symbol_picture(kind: Kind, size: QSize, ratio: float = 1.0) -> QPixmap:
    """The kind's drawing with its defaults, fitted into `size`, transparent around."""
    pixmap = QPixmap(size * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    picture = make_picture(kind.drawing(kind.look()))
    bounds = picture.bounds
    scale = min(
        (size.width() - 2 * _MARGIN) / max(bounds.width(), 1.0),
        (size.height() - 2 * _MARGIN) / max(bounds.height(), 1.0),
        _LARGEST_SCALE,
    )
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(size.width() / 2, size.height() / 2)
    painter.scale(scale, scale)
    painter.translate(-bounds.center())
    for layer in picture.layers:
        painter.setPen(_screen_pen(layer.pen, _PEN / scale))
        painter.setBrush(layer.brush)
        painter.drawPath(layer.path)
    painter.end()
    return pixmap


def _screen_pen(pen: QPen, width: float) -> QPen:
    """The pen with another width, its dashes as long as before."""
    if pen.style() == Qt.PenStyle.NoPen:
        return pen
    drawn = QPen(pen)
    drawn.setWidthF(width)
    if pen.style() == Qt.PenStyle.CustomDashLine:
        drawn.setDashPattern([dash * pen.widthF() / width for dash in pen.dashPattern()])
    return drawn


MARK_COLOURS = {
    "error": theme.ERROR,
    "warning": theme.WARNING,
    "note": theme.NOTE,
    "holds": theme.ACCEPTED,
    "fails": theme.ERROR,
    "open": theme.NOTE,
    "waived": theme.FAINT_INK,
}


def mark_picture(severity: str, edge: int, ratio: float = 1.0) -> QPixmap:
    """error: octagon with a cross; warning: triangle; note: circle with an i; holds: tick;
    fails: square with a cross; open: a ring that is not filled, with three dots;
    waived: ring with a bar across."""
    pixmap = QPixmap(QSize(edge, edge) * ratio)
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(edge / 16, edge / 16)
    if severity == "open":
        _paint_open(painter)
        painter.end()
        return pixmap
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(MARK_COLOURS[severity])
    painter.drawPath(_outline(severity))
    if severity == "waived":
        painter.end()
        return pixmap
    painter.setPen(QPen(Qt.GlobalColor.white, 1.8, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    for points in _sign(severity):
        painter.drawPolyline(QPolygonF([QPointF(*p) for p in points]))
    painter.end()
    return pixmap


def _paint_open(painter: QPainter) -> None:
    colour = MARK_COLOURS["open"]
    painter.setPen(QPen(colour, 1.6))
    painter.setBrush(Qt.GlobalColor.white)  # it is seen on a chosen row, too
    painter.drawRoundedRect(QRectF(1.8, 1.8, 12.4, 12.4), 4, 4)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(colour)
    for x in (4.9, 8.0, 11.1):
        painter.drawEllipse(QPointF(x, 8.0), 1.1, 1.1)


def _outline(severity: str) -> QPainterPath:
    path = QPainterPath()
    if severity == "error":
        corners = [(8 + 7.6 * cos(a), 8 + 7.6 * sin(a)) for a in _eighths()]
        path.addPolygon(QPolygonF([QPointF(*corner) for corner in corners]))
    elif severity == "warning":
        path.addPolygon(QPolygonF([QPointF(8, 0.8), QPointF(15.6, 15), QPointF(0.4, 15)]))
    elif severity == "fails":
        path.addRect(QRectF(1, 1, 14, 14))
    elif severity == "holds":
        path.addRoundedRect(QRectF(1, 1, 14, 14), 4, 4)
    elif severity == "waived":
        bar = QPainterPath()
        bar.addRect(QRectF(3.5, 7.1, 9, 1.8))
        ring = QPainterPath()
        ring.addEllipse(QPointF(8, 8), 7.2, 7.2)
        hole = QPainterPath()
        hole.addEllipse(QPointF(8, 8), 5.6, 5.6)
        return ring.subtracted(hole).united(bar)
    else:
        path.addEllipse(QPointF(8, 8), 7.2, 7.2)
    path.closeSubpath()
    return path


def _eighths() -> list[float]:
    return [pi / 8 + step * pi / 4 for step in range(8)]


def _sign(severity: str) -> list[list[tuple[float, float]]]:
    """The white signs inside, each a chain of points."""
    if severity in ("error", "fails"):
        return [[(5.2, 5.2), (10.8, 10.8)], [(10.8, 5.2), (5.2, 10.8)]]
    if severity == "warning":
        return [[(8, 5.8), (8, 10)], [(8, 12.7), (8, 12.8)]]
    if severity == "holds":
        return [[(4.6, 8.4), (7.0, 10.8), (11.6, 5.4)]]
    return [[(8, 7.4), (8, 11.6)], [(8, 4.5), (8, 4.6)]]
