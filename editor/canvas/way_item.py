"""The item that paints ways over symbols and lines; each sense has a shape of its own.

A proving way is a full band with numbers in discs; the other side of a comparison a
hollow band; a way back dashes; a way that breaks the requirement is hatched across, with
numbers in squares and a cross where it ends.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPainterPathStroker, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem

from editor import theme
from editor.canvas.way_paths import Drawn, Tag

M = theme.MODULE
COLOURS = {
    "supply": theme.ACCEPTED,
    "other": QColor("#6d3f98"),
    "return": theme.NOTE,
    "stray": theme.REFUSED,
}
TAG_WORDS = {"shared": "shared", "barrier": "stopped here", "fault": "its failure costs it"}
_BAND = 26.0
_DISC = 1.15 * M


def paint_band(painter: QPainter, path: QPainterPath, sense: str, width: float = _BAND) -> None:
    """The band of a way, on the sheet and in the legend."""
    colour = COLOURS[sense]
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if sense == "supply":
        soft = QColor(colour)
        soft.setAlpha(110)
        painter.strokePath(path, _pen(soft, width))
    elif sense == "other":
        painter.strokePath(edges_of(path, width), _pen(colour, width * 0.17))
    elif sense == "return":
        painter.strokePath(path, _pen(QColor(theme.PAPER), width * 0.5))
        painter.strokePath(path, _pen(colour, width * 0.34, (3.2, 1.8)))
    else:
        soft = QColor(colour)
        soft.setAlpha(70)
        painter.strokePath(path, _pen(soft, width))
        soft.setAlpha(210)
        painter.strokePath(path, _pen(soft, width, (0.2, 0.24)))


def edges_of(path: QPainterPath, width: float = _BAND) -> QPainterPath:
    """The edges of the band along a path."""
    stroker = QPainterPathStroker(_pen(QColor(), width))
    return stroker.createStroke(path).simplified()


def _pen(colour: QColor, width: float, dashes: tuple[float, ...] = ()) -> QPen:
    """`dashes` in widths of the pen."""
    pen = QPen(colour, width)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap if dashes else Qt.PenCapStyle.RoundCap)
    if dashes:
        pen.setDashPattern(list(dashes))
    return pen


def paint_number(painter: QPainter, at: QPointF, text: str, sense: str, edge: float) -> None:
    """A number in a disc, on a stray way in a square; `edge` is half its width."""
    box = QRectF(at.x() - edge, at.y() - edge, 2 * edge, 2 * edge)
    painter.setPen(QPen(QColor(theme.PAPER), edge * 0.14))
    painter.setBrush(COLOURS[sense])
    if sense == "stray":
        painter.drawRect(box)
    else:
        painter.drawEllipse(box)
    painter.setPen(QColor("#ffffff"))
    painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)


def paint_cross(painter: QPainter, at: QPointF, edge: float) -> None:
    """The cross where a way ends that should not be there."""
    painter.setBrush(QColor("#ffffff"))
    painter.setPen(QPen(COLOURS["stray"], edge * 0.3))
    painter.drawEllipse(at, edge, edge)
    r = edge * 0.5
    painter.drawLine(at + QPointF(-r, -r), at + QPointF(r, r))
    painter.drawLine(at + QPointF(-r, r), at + QPointF(r, -r))


class WayItem(QGraphicsItem):
    """Paints what it is given; takes no clicks."""

    def __init__(self) -> None:
        super().__init__()
        self._drawn = Drawn()
        self._holds = True
        self._edges: QPainterPath | None = None
        self._area = QRectF()
        self.setZValue(5)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)

    def show_drawn(self, drawn: Drawn, holds: bool) -> None:
        """Paint these from now on; `holds` says whether what stops fluid is welcome."""
        self.prepareGeometryChange()
        self._drawn, self._holds = drawn, holds
        self._area = drawn.area()
        # simplifying costs far more than painting, so it is done once and not at every repaint
        other = drawn.bands.get("other")
        self._edges = edges_of(other) if other is not None else None
        self.update()

    def boundingRect(self) -> QRectF:
        """All bands and tags."""
        return self._area

    def shape(self) -> QPainterPath:
        """Nothing: clicks go to what is beneath."""
        return QPainterPath()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget=None) -> None:
        """Bands, the stray ones last; arrows at the ends, numbers, tags."""
        drawn = self._drawn
        for sense in ("return", "other", "supply", "stray"):
            if sense == "other" and self._edges is not None:
                painter.strokePath(self._edges, _pen(COLOURS[sense], _BAND * 0.17))
            elif sense in drawn.bands:
                paint_band(painter, drawn.bands[sense], sense)
        painter.setFont(theme.sheet_font(3.0, True))
        for tip, way, sense in drawn.ends:
            if sense == "stray":
                paint_cross(painter, tip, 1.3 * M)
            else:
                _paint_tip(painter, tip, way, COLOURS[sense])
        for at, number, sense in drawn.numbers:
            paint_number(painter, at, str(number), sense, _DISC)
        painter.setFont(theme.sheet_font(2.8, True))
        for tag in drawn.tags:
            self._paint_tag(painter, tag)

    def _paint_tag(self, painter: QPainter, tag: Tag) -> None:
        welcome = tag.kind == "barrier" and self._holds
        colour = theme.ACCEPTED if welcome else theme.REFUSED
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(colour, 5))
        painter.drawRoundedRect(tag.frame, 0.6 * M, 0.6 * M)
        if tag.kind == "shared":
            painter.setPen(QPen(colour, 3))
            inner = tag.frame.adjusted(-0.5 * M, -0.5 * M, 0.5 * M, 0.5 * M)
            painter.drawRoundedRect(inner, 0.8 * M, 0.8 * M)
        words = TAG_WORDS[tag.kind]
        width = painter.fontMetrics().horizontalAdvance(words) + 1.2 * M
        label = QRectF(tag.frame.left(), tag.frame.top() - 2.1 * M, width, 1.9 * M)
        if tag.kind == "shared":
            label.translate(0, -0.5 * M)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(colour)
        painter.drawRoundedRect(label, 0.4 * M, 0.4 * M)
        painter.setPen(QColor("#ffffff"))
        painter.drawText(label, Qt.AlignmentFlag.AlignCenter, words)


def _paint_tip(painter: QPainter, tip: QPointF, way: QPointF, colour: QColor) -> None:
    across = QPointF(-way.y(), way.x())
    back = tip - way * 1.6 * M
    head = QPolygonF([tip, back + across * 0.9 * M, back - across * 0.9 * M])
    painter.setPen(QPen(QColor(theme.PAPER), 2))
    painter.setBrush(colour)
    painter.drawPolygon(head)
