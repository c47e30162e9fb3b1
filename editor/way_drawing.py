"""The drawing that shows a verdict: its ways in heavy black, everything else in thin grey.

It is made for paper without colours. What a line is, its look alone tells: solid with
arrowheads, hollow, or barred. Widths and lettering are those on paper, however much the
circuit itself is drawn smaller.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from analysis.report_ways import WayPicture
from analysis.routing import Point
from editor import theme
from editor.canvas.line_item import arrow_head, arrow_places
from editor.painting import DOT_RADIUS
from editor.sheet_drawing import SheetDrawing, Symbol, draw_sheet
from editor.sheet_lettering import Occupancy, pieces

M, MM = theme.MODULE, theme.MILLIMETRE

_BLACK, _GREY, _WHITE = "#000000", "#9a9a9a", "#ffffff"
_THIN, _SYMBOL, _REACHED = 0.13, 0.3, 0.6
_SOLID, _EDGE, _CORE = 0.85, 1.15, 0.6
_BAR = (1.1, 1.1)
"""Lengths of dash and gap of a barred line [mm]."""
_HEAD, _SPACING = 3.0, 22.0
"""Length of an arrowhead, and how far apart they are [mm]."""
_LETTERS, _RING = 1.9, 1.75
"""Height of lettering and radius of the ring around a number [mm]."""
_LARGEST = 0.62
"""The circuit is drawn no larger than this, against the sheet."""
_AIR = 6.0
"""What is kept around the ways [mm]."""


@dataclass
class _Label:
    """A number in a ring and words, as large on paper as they are placed."""

    number: str
    words: str
    area: QRectF


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
    labels: list[_Label] = field(default_factory=list)

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
        shown = _elements(self.picture)
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
            runs = {run for way in ways if way.role == role for run in _runs(self.picture, way)}
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
        for area in _marked_areas(self.picture, self.drawing, self.scale):
            painter.drawRect(area)

    def _paint_ends(self, painter: QPainter) -> None:
        """A cross where a stray way ends."""
        radius = 2.0 / self.scale * MM
        for at in _stray_ends(self.picture, self.drawing):
            painter.setPen(self._pen(_BLACK, 0.5))
            painter.setBrush(QColor(_WHITE))
            painter.drawEllipse(at, radius, radius)
            arm = radius * 0.65
            painter.drawLine(at + QPointF(-arm, -arm), at + QPointF(arm, arm))
            painter.drawLine(at + QPointF(-arm, arm), at + QPointF(arm, -arm))

    def _paint_label(self, painter: QPainter, label: _Label) -> None:
        area, ring = label.area, _RING / self.scale * MM
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
        painter.setFont(theme.sheet_font(_LETTERS / self.scale, True))
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
    for area in _areas(drawing, _elements(picture) | picture.reached):
        wanted |= area
    air = 2 * _AIR
    scale = min(
        (width - air) / (wanted.width() / MM), (height - air) / (wanted.height() / MM), _LARGEST
    )
    grown = _AIR / scale * MM
    region = wanted.adjusted(-grown, -grown, grown, grown)
    # what stands beside the ways is shown as far as the page is wide, so that one finds one's way
    spare = (width / scale * MM - region.width()) / 2
    region.adjust(-spare, 0, spare, 0)
    left = max(region.left(), min(whole.left() - grown, wanted.left() - grown))
    right = min(region.right(), max(whole.right() + grown, wanted.right() + grown))
    region.setLeft(left)
    region.setRight(right)
    figure = WayFigure(picture, drawing, region, scale)
    figure.labels = _place_labels(figure)
    return figure


def _elements(picture: WayPicture) -> set[str]:
    elements = (e for way in picture.ways for e in way.elements)
    return {*picture.marked, *picture.targets, *elements}


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


def _runs(picture: WayPicture, way) -> Iterator[tuple[str, int]]:
    """(line, 1 if the way runs from its start to its end, -1 if back, 0 if none can tell)."""
    lines = picture.circuit.lines
    for before, element, after in zip(
        ("", *way.elements), way.elements, (*way.elements[1:], ""), strict=False
    ):
        line = lines.get(element)
        if line is None:
            continue
        start, end = (port.rpartition(".")[0] for port in (line.start, line.end))
        if start == end:
            yield element, 0
        else:
            yield element, 1 if before == start or after == end else -1


def _stray_ends(picture: WayPicture, drawing: SheetDrawing) -> list[QPointF]:
    routes = {line.identifier: line.points for line in drawing.lines}
    ends = []
    for way in picture.ways:
        runs = list(_runs(picture, way)) if way.role == "stray" else []
        if runs:
            identifier, direction = runs[-1]
            x, y = routes[identifier][0 if direction < 0 else -1]
            ends.append(QPointF(x * M, y * M))
    return ends


def _marked_areas(picture: WayPicture, drawing: SheetDrawing, scale: float) -> list[QRectF]:
    air, half = 0.7 / scale * MM, 1.5 / scale * MM
    areas = []
    for symbol in drawing.symbols:
        if symbol.identifier in picture.marked:
            areas.append(symbol.picture.bounds.translated(symbol.at).adjusted(-air, -air, air, air))
    for line in drawing.lines:
        if line.identifier in picture.marked and len(line.points) > 1:
            middle = line.middle()
            areas.append(QRectF(middle.x() - half, middle.y() - half, 2 * half, 2 * half))
    return areas


def _brush(brush: QBrush, colour: str, heavy: bool) -> QBrush:
    if brush.style() == Qt.BrushStyle.NoBrush:
        return brush
    if brush.color() == theme.INK:
        return QBrush(QColor(colour))
    # tints of moving parts and of the position that holds
    return QBrush(QColor("#d8d8d8" if heavy else "#f2f2f2"))


# -- lettering ---------------------------------------------------------------------------


def _place_labels(figure: WayFigure) -> list[_Label]:
    picture, drawing, scale = figure.picture, figure.drawing, figure.scale
    shown = _elements(picture) | picture.reached
    occupancy = Occupancy()
    for symbol in drawing.symbols:
        heavy = symbol.identifier in shown
        area = symbol.picture.bounds.translated(symbol.at)
        occupancy.add(area, 8.0 if heavy else 1.5)
    for line in drawing.lines:
        for area in pieces(line.points):
            occupancy.add(area, 6.0 if line.identifier in shown else 0.4)
    within = 1.0 / scale * MM
    for edge in _outside(figure.region.adjusted(within, within, -within, -within)):
        occupancy.add(edge, 50.0)
    for area in _marked_areas(picture, drawing, scale):
        occupancy.add(area, 8.0)
    for at in _stray_ends(picture, drawing):
        radius = 2.0 / scale * MM
        occupancy.add(QRectF(at.x() - radius, at.y() - radius, 2 * radius, 2 * radius), 10.0)
    labels = []
    for number, words, around in _to_label(picture, drawing, scale):
        best = min(
            _candidates(number, words, around, scale),
            key=lambda label: occupancy.cost(label[1].area) + label[0],
        )[1]
        occupancy.add(best.area, 12.0)
        labels.append(best)
    return labels


def _outside(region: QRectF) -> list[QRectF]:
    beyond = 100 * M
    around = region.adjusted(-beyond, -beyond, beyond, beyond)
    return [
        QRectF(around.left(), around.top(), beyond, around.height()),
        QRectF(region.right(), around.top(), beyond, around.height()),
        QRectF(around.left(), around.top(), around.width(), beyond),
        QRectF(around.left(), region.bottom(), around.width(), beyond),
    ]


def _to_label(
    picture: WayPicture, drawing: SheetDrawing, scale: float
) -> Iterator[tuple[str, str, QRectF]]:
    """(number, words, what it names) for each part that is to be named."""
    numbers = picture.numbers
    wanted = {*numbers, *picture.marked, *picture.targets}
    for symbol in drawing.symbols:
        component = picture.circuit.components[symbol.identifier]
        if symbol.identifier in wanted and component.kind != "junction":
            number = str(numbers.get(symbol.identifier, ""))
            words = f"{symbol.identifier} {_standing(picture, symbol.identifier)}".strip()
            # clear of the frame, where it has one
            air = 0.7 / scale * MM * (symbol.identifier in picture.marked)
            around = symbol.picture.bounds.translated(symbol.at)
            yield number, words, around.adjusted(-air, -air, air, air)
    half = 1.5 / scale * MM
    for line in drawing.lines:
        if line.identifier in picture.marked and len(line.points) > 1:
            at = line.middle()
            words = f"{line.identifier} {_standing(picture, line.identifier)}".strip()
            yield "", words, QRectF(at.x() - half, at.y() - half, 2 * half, 2 * half)


def _standing(picture: WayPicture, identifier: str) -> str:
    """How the lever stands, and what has failed."""
    element = picture.circuit.element(identifier)
    labels = getattr(element, "labels", {})
    fault = str(element.state.get("fault", "none"))
    position = str(element.state.get("position", ""))
    words = [labels.get(position, position) if labels or position else ""]
    words += [fault.replace("_", " ")] if fault != "none" else []
    return " ".join(words).strip()


def _candidates(
    number: str, words: str, around: QRectF, scale: float
) -> Iterator[tuple[float, _Label]]:
    """(cost in itself, label) for each place beside what it names."""
    unit = MM / scale
    metrics = QFontMetricsF(theme.sheet_font(_LETTERS / scale, True))
    width = metrics.horizontalAdvance(words) + (2 * _RING + 0.5) * unit * bool(number)
    height = max(2 * _RING * unit if number else 0.0, 1.3 * _LETTERS * unit)
    for step, gap in enumerate((0.9 * unit, 3.0 * unit, 6.0 * unit)):
        beside = ((around.right() + gap, 0), (around.left() - gap - width, 1))
        below = ((around.top() - gap - height, 0), (around.bottom() + gap, 1))
        for x, side in beside:
            for share in (0.5, 0.0, 1.0):
                y = around.top() + share * around.height() - height / 2
                cost = 1.5 * step + 0.05 * side + 0.1 * (share != 0.5)
                yield cost, _Label(number, words, QRectF(x, y, width, height))
        for y, side in below:
            for share in (0.5, 0.0, 1.0):
                x = around.left() + share * around.width() - width / 2
                cost = 1.5 * step + 0.05 * side + 0.1 * (share != 0.5)
                yield cost, _Label(number, words, QRectF(x, y, width, height))
