"""A line on the sheet: a polyline in its style, with arrowheads along it."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from math import hypot
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QPainter,
    QPainterPath,
    QPainterPathStroker,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem

from editor import theme
from editor.canvas.lettering import Words
from symbols.strokes import Anchor

M = theme.MODULE
Point = tuple[float, float]
_BACK = 1.25
"""Length of an arrowhead of size 1 [modules]."""

_GRIP = 0.9
"""How near [modules] a click must be."""


class LineStyle(NamedTuple):
    """How a line is painted.

    `arrows` is the distance between arrowheads in modules (0: none), `direction` 1 from
    start to end, -1 the other way; `hollow` marks a line that nothing pins down.
    """

    colour: str = theme.INK.name()
    width: float = theme.LINE_WIDTH
    dash: str = "solid"
    hollow: bool = False
    arrows: float = 0.0
    direction: int = 1


FaultPlace = tuple[float, float, Anchor]
FAULT_PLACES: tuple[FaultPlace, ...] = (
    (0.9, -1.2, "left"),
    (-0.9, -1.2, "right"),
    (0.9, 1.2, "left"),
    (-0.9, 1.2, "right"),
    (0.0, -2.2, "centre"),
    (0.0, 2.2, "centre"),
    (1.4, 0.0, "left"),
    (-1.4, 0.0, "right"),
    (0.9, -3.0, "left"),
    (-0.9, -3.0, "right"),
    (0.9, 3.0, "left"),
    (-0.9, 3.0, "right"),
    (0.0, -4.6, "centre"),
    (0.0, 4.6, "centre"),
    (2.8, -1.4, "left"),
    (2.8, 1.4, "left"),
    (-2.8, -1.4, "right"),
    (-2.8, 1.4, "right"),
    (0.9, -4.6, "left"),
    (-0.9, -4.6, "right"),
    (0.9, 4.6, "left"),
    (-0.9, 4.6, "right"),
    (4.2, 0.0, "left"),
    (-4.2, 0.0, "right"),
)
"""Where the word of a fault may stand, from the middle of the line [modules], the usual first."""


class LineItem(QGraphicsItem):
    """Paints what it is given; `identifier` is the id of the line it stands for."""

    def __init__(self, identifier: str) -> None:
        super().__init__()
        self.identifier = identifier
        self.points: list[Point] = []
        self.style = LineStyle()
        self.is_selected = False
        self.is_hovered = False
        self._fault = ""
        self._fault_place = FAULT_PLACES[0]
        self._path = QPainterPath()
        self._grip = QPainterPath()
        self._area = QRectF()
        self._heads = QPainterPath()
        self.setZValue(1)

    def set_points(self, points: list[Point]) -> None:
        """Another way, in modules."""
        if points == self.points:
            return
        self.points = list(points)
        self._rebuild()

    def set_style(self, style: LineStyle) -> None:
        """Another style."""
        if style == self.style:
            return
        old, self.style = self.style, style
        if (old.arrows, old.direction, old.width) != (style.arrows, style.direction, style.width):
            # within the area that the line has anyway
            self._make_heads()
        self.update()

    @property
    def fault(self) -> str:
        """The fault that is written at the line; empty for none."""
        return self._fault

    def set_fault(self, fault: str) -> None:
        """The word of the fault that is written at the line; empty for none."""
        if fault != self._fault:
            self._fault = fault
            self._rebuild()

    def set_look(self, *, selected: bool, hovered: bool) -> None:
        """Selected, under the pointer."""
        state = selected, hovered
        if state != (self.is_selected, self.is_hovered):
            self.is_selected, self.is_hovered = state
            self.setZValue(1.5 if selected else 1)
            self.update()

    def boundingRect(self) -> QRectF:
        """The line with its halo and its heads."""
        return self._area

    def shape(self) -> QPainterPath:
        """A band along the line takes clicks."""
        return self._grip

    def middle(self) -> QPointF:
        """The middle of the longest piece, in scene units."""
        if len(self.points) < 2:
            return QPointF()
        (x0, y0), (x1, y1) = max(
            pairwise(self.points), key=lambda p: abs(p[1][0] - p[0][0]) + abs(p[1][1] - p[0][1])
        )
        return QPointF((x0 + x1) / 2 * M, (y0 + y1) / 2 * M)

    def _rebuild(self) -> None:
        self.prepareGeometryChange()
        self._path = QPainterPath()
        self._path.addPolygon(QPolygonF([QPointF(x * M, y * M) for x, y in self.points]))
        stroker = QPainterPathStroker()
        stroker.setWidth(2 * _GRIP * M)
        self._grip = stroker.createStroke(self._path)
        self._area = self._path.boundingRect().adjusted(-1.2 * M, -1.2 * M, 1.2 * M, 1.2 * M)
        if self._fault:
            self._area |= self._fault_words().area()
        self._make_heads()
        self.update()

    def _make_heads(self) -> None:
        self._heads = QPainterPath()
        if not self.style.arrows:
            return
        ordered = self.points if self.style.direction > 0 else self.points[::-1]
        size = 0.8 + 0.4 * self.style.width
        heads = self._heads
        for tip, way in arrow_places(ordered, self.style.arrows, _BACK * size):
            # corner by corner: a polygon made of points takes three times as long
            start, *corners = _head_corners(tip, way, size)
            heads.moveTo(*start)
            for x, y in corners:
                heads.lineTo(x, y)
            heads.closeSubpath()

    def put_fault(self, place: FaultPlace) -> None:
        """Write the word of the fault elsewhere at its mark: one of `FAULT_PLACES`."""
        self._fault_place = place
        self._rebuild()

    def fault_area(self, place: FaultPlace | None = None) -> QRectF:
        """What the word of the fault covers, or would at another place, in scene units."""
        return self._fault_words(place).area()

    def _fault_words(self, place: FaultPlace | None = None) -> Words:
        middle = self.middle()
        across, down, anchor = place or self._fault_place
        return Words(
            self._fault.replace("_", " ").upper(),
            (middle.x() + across * M, middle.y() + down * M),
            anchor,
            bold=True,
            colour=theme.REFUSED.name(),
        )

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget=None) -> None:
        """Halo, line, heads, fault."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if self.is_selected or self.is_hovered:
            colour = QColor(theme.SELECTED if self.is_selected else theme.HOVER)
            colour.setAlpha(150 if self.is_selected else 110)
            halo = QPen(colour, (self.style.width + 1.3) * theme.MILLIMETRE)
            halo.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
            painter.setPen(halo)
            painter.drawPath(self._path)
        style = self.style
        if style.hollow:
            painter.setPen(theme.pen(theme.UNDETERMINED.name(), style.width))
            painter.drawPath(self._path)
            painter.setPen(theme.pen(theme.PAPER.name(), style.width * 0.5))
            painter.drawPath(self._path)
        else:
            painter.setPen(theme.pen(style.colour, style.width, style.dash))
            painter.drawPath(self._path)
        if not self._heads.isEmpty():
            painter.setPen(theme.pen(theme.PAPER.name(), 0.15))
            painter.setBrush(_brush(style.colour))
            painter.drawPath(self._heads)
        if self._fault:
            self.paint_fault(painter)
        if self.is_selected:
            self._paint_corners(painter)

    def paint_fault(self, painter: QPainter) -> None:
        """The mark of the fault and its word; a sheet paints them again over other lines."""
        at, r = self.middle(), 0.7 * M
        painter.setPen(theme.pen(theme.REFUSED.name(), 0.6))
        painter.drawLine(at + QPointF(-r, -r), at + QPointF(r, r))
        painter.drawLine(at + QPointF(-r, r), at + QPointF(r, -r))
        self._fault_words().paint(painter)

    def _paint_corners(self, painter: QPainter) -> None:
        painter.setPen(theme.pen(theme.SELECTED.name(), 0.3))
        painter.setBrush(theme.HANDLE)
        for x, y in self.points[1:-1]:
            painter.drawRect(QRectF(x * M - 9, y * M - 9, 18, 18))


@lru_cache(maxsize=256)
def _brush(colour: str) -> QBrush:
    return QBrush(QColor(colour))


def arrow_places(points: list[Point], spacing: float, head: float) -> list[tuple[Point, Point]]:
    """(tip, unit direction) of arrowheads every `spacing` modules along a way.

    A piece shorter than a `head` gets none; a line with a flow shows one at least.
    """
    places: list[tuple[Point, Point]] = []
    longest: tuple[float, Point, Point] = (0.0, (0, 0), (1, 0))
    left = spacing / 2
    for (x0, y0), (x1, y1) in pairwise(points):
        length = hypot(x1 - x0, y1 - y0)
        if length == 0:
            continue
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        if length > longest[0]:
            middle = (length + head) / 2
            longest = length, (x0 + ux * middle, y0 + uy * middle), (ux, uy)
        while left <= length:
            if head + 0.2 <= left <= length - 0.3:
                places.append(((x0 + ux * left, y0 + uy * left), (ux, uy)))
            left += spacing
        left -= length
    if not places and longest[0] > 0:
        places.append((longest[1], longest[2]))
    return places


def arrow_head(tip: Point, way: Point, size: float) -> QPolygonF:
    """An arrowhead at a tip [modules], in scene units; `way` is the unit direction."""
    return QPolygonF([QPointF(x, y) for x, y in _head_corners(tip, way, size)])


def _head_corners(tip: Point, way: Point, size: float) -> tuple[Point, Point, Point, Point]:
    (x, y), (ux, uy) = tip, way
    back, half = _BACK * size, 0.6 * size
    return (
        (x * M, y * M),
        ((x - back * ux - half * uy) * M, (y - back * uy + half * ux) * M),
        ((x - back * 0.75 * ux) * M, (y - back * 0.75 * uy) * M),
        ((x - back * ux + half * uy) * M, (y - back * uy - half * ux) * M),
    )
