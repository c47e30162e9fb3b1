"""The drawing that shows a verdict: its ways in heavy black, everything else in thin grey.

It is made for paper without colours. What a line is, its look alone tells: solid with
arrowheads, hollow, or barred. Widths and lettering are those on paper, however much the
circuit itself is drawn smaller.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPainterPath, QPen, QPolygonF

from analysis.report_ways import WayPicture
from analysis.routing import Point
from editor import theme
from editor.canvas.line_item import arrow_head, arrow_places
from editor.painting import DOT_RADIUS
from editor.sheet_drawing import SheetDrawing, Symbol, draw_sheet
from editor.sheet_lettering import pieces
from editor.way_labels import (
    LETTERS,
    RING,
    Label,
    marked_areas,
    place_labels,
    runs_of,
    shown_elements,
    stray_ends,
)

M, MM = theme.MODULE, theme.MILLIMETRE

_BLACK, _GREY, _WHITE = "#000000", "#9a9a9a", "#ffffff"
_THIN, _SYMBOL, _REACHED = 0.13, 0.3, 0.6
_SOLID, _EDGE, _CORE = 0.85, 1.15, 0.6
_BAR = (1.1, 1.1)
"""Lengths of dash and gap of a barred line [mm]."""
_HEAD, _SPACING = 3.0, 22.0
"""Length of an arrowhead, and how far apart they are [mm]."""
_LARGEST = 0.62
"""The circuit is drawn no larger than this, against the sheet."""
_LEAST_SHARE, _MOST_ROUNDS = 0.85, 4
"""By how much it may become smaller so that its edge cuts through fewer symbols; what is
taken in brings others to the edge, so many times at most."""
_AIR, _SIDE_AIR = 6.0, 15.0
"""What is kept above and below the ways, and for a name beside them on either side [mm]."""


@dataclass
class WayFigure:
    """A verdict's drawing, made ready to paint.

    `region` is what is shown of the circuit [scene units], `scale` what a millimetre of
    the sheet measures here [mm].
    """

    picture: WayPicture
    drawing: SheetDrawing
    region: QRectF
    scale: float
    labels: list[Label] = field(default_factory=list)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height on paper [mm]."""
        return self.region.width() / MM * self.scale, self.region.height() / MM * self.scale

    def paint(self, painter: QPainter) -> None:
        """Paint it, its upper left corner at the painter's origin, in 0.1 mm on paper."""
        painter.save()
        painter.scale(self.scale, self.scale)
        painter.translate(-self.region.topLeft())
        painter.setClipRect(self.region)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        shown = shown_elements(self.picture)
        self._paint_lines(painter)
        self._paint_ways(painter)
        for symbol in self.drawing.symbols:
            heavy = symbol.identifier in shown or symbol.identifier in self.picture.reached
            self._paint_symbol(painter, symbol, heavy)
        self._paint_joints(painter, shown)
        self._paint_frames(painter)
        self._paint_ends(painter)
        for label in self.labels:
            self._paint_label(painter, label)
        painter.restore()

    def _pen(self, colour: str, width: float) -> QPen:
        """A pen of that width on paper [mm]."""
        return theme.pen(colour, width / self.scale)

    def _paint_lines(self, painter: QPainter) -> None:
        for line in self.drawing.lines:
            reached = line.identifier in self.picture.reached
            pen = self._pen(_BLACK, _REACHED) if reached else self._pen(_GREY, _THIN)
            painter.setPen(pen)
            painter.drawPath(_path(line.points))

    def _paint_ways(self, painter: QPainter) -> None:
        routes = {line.identifier: line.points for line in self.drawing.lines}
        order = ("return", "other", "supply", "stray")
        ways = sorted(self.picture.ways, key=lambda way: order.index(way.role))
        for role in order:
            runs = {run for way in ways if way.role == role for run in runs_of(self.picture, way)}
            # in the order of the drawing, so that the same circuit gives the same bytes
            ordered = sorted(runs)
            for identifier, _ in ordered:
                self._paint_run(painter, role, _path(routes[identifier]))
            for identifier, direction in ordered:
                both = direction and (identifier, -direction) in runs
                if direction and not both:
                    self._paint_heads(painter, routes[identifier], direction)

    def _paint_run(self, painter: QPainter, role: str, path: QPainterPath) -> None:
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if role == "supply":
            painter.setPen(self._pen(_BLACK, _SOLID))
            painter.drawPath(path)
            return
        painter.setPen(self._pen(_BLACK, _EDGE))
        painter.drawPath(path)
        core = QPen(self._pen(_WHITE, _CORE))
        if role == "stray":
            core.setDashPattern([length / _CORE for length in _BAR])
            core.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(core)
        painter.drawPath(path)

    def _paint_heads(self, painter: QPainter, points: list[Point], direction: int) -> None:
        unit = MM / M / self.scale
        ordered = points if direction > 0 else points[::-1]
        size = _HEAD * unit / 1.25
        painter.setPen(self._pen(_WHITE, 0.15))
        painter.setBrush(QBrush(QColor(_BLACK)))
        for tip, way in arrow_places(ordered, _SPACING * unit, _HEAD * unit):
            painter.drawPolygon(arrow_head(tip, way, size))

    def _paint_symbol(self, painter: QPainter, symbol: Symbol, heavy: bool) -> None:
        colour = _BLACK if heavy else _GREY
        width = (_SYMBOL if heavy else _THIN) / self.scale * MM
        painter.save()
        painter.translate(symbol.at)
        for layer in symbol.picture.layers:
            pen = QPen(layer.pen)
            pen.setColor(QColor(colour))
            pen.setWidthF(width)
            painter.setPen(pen if layer.pen.style() != Qt.PenStyle.NoPen else Qt.PenStyle.NoPen)
            painter.setBrush(_brush(layer.brush, colour, heavy))
            painter.drawPath(layer.path)
        painter.restore()

    def _paint_joints(self, painter: QPainter, shown: set[str]) -> None:
        heavy = [
            line.points
            for line in self.drawing.lines
            if line.identifier in shown or line.identifier in self.picture.reached
        ]
        ends = {point for points in heavy for point in (points[0], points[-1]) if points}
        painter.setPen(Qt.PenStyle.NoPen)
        for x, y in self.drawing.joints:
            on_way = (x, y) in ends
            painter.setBrush(QColor(_BLACK if on_way else _GREY))
            radius = 0.75 / self.scale * MM if on_way else DOT_RADIUS * M
            painter.drawEllipse(QPointF(x * M, y * M), radius, radius)

    def _paint_frames(self, painter: QPainter) -> None:
        """A frame around each part that is marked."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pen(_BLACK, 0.5))
        for area in marked_areas(self.picture, self.drawing, self.scale):
            painter.drawRect(area)

    def _paint_ends(self, painter: QPainter) -> None:
        """A cross where a stray way ends."""
        radius = 2.0 / self.scale * MM
        for at in stray_ends(self.picture, self.drawing):
            painter.setPen(self._pen(_BLACK, 0.5))
            painter.setBrush(QColor(_WHITE))
            painter.drawEllipse(at, radius, radius)
            arm = radius * 0.65
            painter.drawLine(at + QPointF(-arm, -arm), at + QPointF(arm, arm))
            painter.drawLine(at + QPointF(-arm, arm), at + QPointF(arm, -arm))

    def _paint_label(self, painter: QPainter, label: Label) -> None:
        area, ring = label.area, RING / self.scale * MM
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(_WHITE))
        painter.drawRect(area)
        middle = QPointF(area.left() + ring, area.center().y())
        if label.number:
            painter.setPen(self._pen(_BLACK, 0.2))
            painter.drawEllipse(middle, ring, ring)
            small = 1.5 if len(label.number) < 3 else 1.2
            painter.setFont(theme.sheet_font(small / self.scale))
            square = QRectF(middle.x() - ring, middle.y() - ring, 2 * ring, 2 * ring)
            painter.drawText(square, Qt.AlignmentFlag.AlignCenter, label.number)
        painter.setPen(QColor(_BLACK))
        painter.setFont(theme.sheet_font(LETTERS / self.scale, True))
        left = 2 * ring + 0.5 / self.scale * MM if label.number else 0.0
        flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        painter.drawText(
            area.adjusted(left, 0, 0, 0), flags | Qt.TextFlag.TextDontClip, label.words
        )


def draw_ways(picture: WayPicture, width: float, height: float) -> WayFigure:
    """The drawing of a verdict, no larger than that on paper [mm]."""
    drawing = draw_sheet(picture.circuit)
    whole = QRectF()
    for area in _areas(drawing, None):
        whole |= area
    wanted = QRectF()
    for area in _areas(drawing, shown_elements(picture) | picture.reached):
        wanted |= area
    region, scale = _framed(whole, wanted, width, height)
    region, scale = _with_whole_symbols(drawing, whole, wanted, (width, height), (region, scale))
    figure = WayFigure(picture, drawing, region, scale)
    figure.labels = place_labels(picture, drawing, region, scale)
    return figure


def _framed(whole: QRectF, wanted: QRectF, width: float, height: float) -> tuple[QRectF, float]:
    """The region of the sheet that is shown, and how large, so that it fits on paper [mm]."""
    scale = min(
        (width - 2 * _SIDE_AIR) / (wanted.width() / MM),
        (height - 2 * _AIR) / (wanted.height() / MM),
        _LARGEST,
    )
    grown, beside = _AIR / scale * MM, _SIDE_AIR / scale * MM
    region = wanted.adjusted(-beside, -grown, beside, grown)
    # what stands beside the ways is shown as far as the page is wide, so that one finds one's way
    spare = (width / scale * MM - region.width()) / 2
    region.adjust(-spare, 0, spare, 0)
    left = max(region.left(), min(whole.left() - grown, wanted.left() - beside))
    right = min(region.right(), max(whole.right() + grown, wanted.right() + beside))
    region.setLeft(left)
    region.setRight(right)
    return region, scale


def _with_whole_symbols(
    drawing: SheetDrawing,
    whole: QRectF,
    wanted: QRectF,
    room: tuple[float, float],
    found: tuple[QRectF, float],
) -> tuple[QRectF, float]:
    """The region with the symbols in it whole that its edge would cut through.

    Not at any price: if the drawing became much smaller by it, they stay cut.
    """
    best, fewest = found, len(_cut(drawing, found[0]))
    region, least = found[0], _LEAST_SHARE * found[1]
    for _ in range(_MOST_ROUNDS):
        for area in _cut(drawing, region):
            wanted = wanted | area
        region, scale = _framed(whole, wanted, *room)
        count = len(_cut(drawing, region))
        if scale >= least and count < fewest:
            best, fewest = (region, scale), count
    return best


def _cut(drawing: SheetDrawing, region: QRectF) -> list[QRectF]:
    """The symbols that the edge of the region cuts through."""
    areas = (symbol.picture.bounds.translated(symbol.at) for symbol in drawing.symbols)
    return [area for area in areas if region.intersects(area) and not region.contains(area)]


def _areas(drawing: SheetDrawing, wanted: Iterable[str] | None) -> Iterator[QRectF]:
    for symbol in drawing.symbols:
        if wanted is None or symbol.identifier in wanted:
            yield symbol.picture.bounds.translated(symbol.at)
    for line in drawing.lines:
        if wanted is None or line.identifier in wanted:
            yield from pieces(line.points)


def _path(points: list[Point]) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(x * M, y * M) for x, y in points]))
    return path


def _brush(brush: QBrush, colour: str, heavy: bool) -> QBrush:
    if brush.style() == Qt.BrushStyle.NoBrush:
        return brush
    if brush.color() == theme.INK:
        return QBrush(QColor(colour))
    # tints of moving parts and of the position that holds
    return QBrush(QColor("#d8d8d8" if heavy else "#f2f2f2"))
