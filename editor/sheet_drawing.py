"""The circuit drawn on its sheet with a painter: the same pictures as on the canvas, in ink.

What a sheet is made of and where the circuit goes on it is decided in `analysis.sheet`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPainterPath

from analysis.circuit import Circuit, Line
from analysis.clear_ways import lead_lines
from analysis.joints import find_joints
from analysis.layout import lay_out
from analysis.routing import Point
from analysis.sheet import DEFAULT_SIZE, Sheet, block_of, compose, frame_of
from analysis.sheet_texts import Box, Label
from editor import theme
from editor.canvas.lettering import Words, lever_words, position_lines
from editor.canvas.line_item import LineItem
from editor.canvas.scene import plain_style
from editor.looks import look_of
from editor.painting import DOT_RADIUS, Picture, picture_of
from editor.sheet_lettering import (
    Named,
    keep_inside,
    line_ids,
    occupy,
    pieces,
    place_faults,
    place_names,
)

M = theme.MODULE
MM = theme.MILLIMETRE


@dataclass
class Symbol:
    """A component's picture and lettering, around its place in scene units."""

    identifier: str
    at: QPointF
    picture: Picture
    words: list[Words]

    def areas(self) -> list[QRectF]:
        """What it covers in scene units."""
        areas = [self.picture.bounds, *(line.area() for line in self.words)]
        return [area.translated(self.at) for area in areas]


@dataclass
class SheetDrawing:
    """A circuit as it is drawn, made ready to paint."""

    sheet: Sheet
    symbols: list[Symbol] = field(default_factory=list)
    lines: list[LineItem] = field(default_factory=list)
    line_ids: list[Words] = field(default_factory=list)
    joints: list[Point] = field(default_factory=list)
    gaps: list[QRectF] = field(default_factory=list)
    """Where a line is broken by lettering that found no other place [scene units]."""

    def paint(self, painter: QPainter) -> None:
        """Paint the whole sheet: its upper left corner at the painter's origin, in 0.1 mm."""
        self.paint_form(painter)
        painter.save()
        painter.translate(self.sheet.origin[0] * MM, self.sheet.origin[1] * MM)
        painter.scale(self.sheet.module * MM / M, self.sheet.module * MM / M)
        self.paint_circuit(painter)
        painter.restore()

    def paint_form(self, painter: QPainter) -> None:
        """Paint frame, references, title block and notes."""
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for rule in self.sheet.rules:
            painter.setPen(theme.pen(theme.INK.name(), rule.width))
            path = QPainterPath(QPointF(*rule.points[0]) * MM)
            for point in rule.points[1:]:
                path.lineTo(QPointF(*point) * MM)
            painter.drawPath(path)
        for label in self.sheet.labels:
            _paint_label(painter, label)

    def paint_circuit(self, painter: QPainter) -> None:
        """Paint lines, symbols, dots and lettering, in the circuit's own scene units."""
        for line in self.lines:
            line.paint(painter, None)  # type: ignore[arg-type]
        for gap in self.gaps:
            painter.fillRect(gap, Qt.GlobalColor.white)
        for line in self.lines:
            if line.fault:
                line.paint_fault(painter)
        for symbol in self.symbols:
            painter.save()
            painter.translate(symbol.at)
            symbol.picture.paint(painter)
            for words in symbol.words:
                words.paint(painter)
            painter.restore()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.INK)
        for x, y in self.joints:
            painter.drawEllipse(QPointF(x * M, y * M), DOT_RADIUS * M, DOT_RADIUS * M)
        for words in self.line_ids:
            words.paint(painter)


def draw_sheet(circuit: Circuit) -> SheetDrawing:
    """The sheet of a circuit; components without a place are laid out."""
    places: dict[str, Point] = {
        component.id: component.at
        for component in circuit.components.values()
        if component.at is not None
    }
    places.update(lay_out(circuit))
    routes = lead_lines(circuit, places)
    lines = [_line(circuit.lines[identifier], way) for identifier, way in routes.items()]
    symbols, ids = _lettered(circuit, places, routes, lines)
    areas = [area for symbol in symbols for area in symbol.areas()]
    areas += [area for way in routes.values() for area in pieces(way)]
    areas += [words.area() for words in ids]
    sheet = compose(circuit, [_box(area) for area in areas])
    joints = find_joints(circuit, places)
    return SheetDrawing(sheet, symbols, lines, ids, joints, _gaps(symbols, lines, routes))


def _gaps(
    symbols: list[Symbol], lines: list[LineItem], routes: Mapping[str, list[Point]]
) -> list[QRectF]:
    """The lettering that lies on a line, as near around it as it can still be read."""
    covered = [area for way in routes.values() for area in pieces(way)]
    letters = [words.area().translated(s.at) for s in symbols for words in s.words]
    letters += [line.fault_area() for line in lines if line.fault]
    found = []
    for area in letters:
        near = area.adjusted(0, 0.2 * area.height(), 0, -0.15 * area.height())
        if any(near.intersects(piece) for piece in covered):
            found.append(near)
    return found


def _lettered(
    circuit: Circuit,
    places: Mapping[str, Point],
    routes: dict[str, list[Point]],
    lines: Sequence[LineItem],
) -> tuple[list[Symbol], list[Words]]:
    """The symbols with their names, and the ids of the lines; faults of lines get their place."""
    named: list[Named] = []
    pictures: list[Picture] = []
    for identifier, at in places.items():
        component = circuit.components[identifier]
        look = look_of(circuit, component)
        picture = picture_of(component.declared, look, component.turn, component.mirror)
        pictures.append(picture)
        where, levers = QPointF(at[0] * M, at[1] * M), lever_words(component, look)
        more = position_lines(component, look)
        named.append(Named(component, look, where, picture.bounds, levers, more=more))
    occupancy = occupy(named, routes.values())
    size = str(circuit.sheet.get("size", DEFAULT_SIZE))
    keep_inside(occupancy, frame_of(size), block_of(size))
    place_names(named, occupancy)
    place_faults(lines, occupancy)
    ids = line_ids(routes, occupancy)
    symbols = [
        Symbol(symbol.component.id, symbol.at, picture, [*symbol.words, *symbol.fixed])
        for symbol, picture in zip(named, pictures, strict=True)
    ]
    return symbols, ids


def _line(line: Line, way: list[Point]) -> LineItem:
    item = LineItem(line.id)
    item.set_points(way)
    item.set_style(plain_style(line))
    fault = str(line.state.get("fault", "none"))
    item.set_fault("" if fault == "none" else fault)
    return item


def _box(area: QRectF) -> Box:
    """A rectangle of scene units in modules."""
    return Box(area.left() / M, area.top() / M, area.right() / M, area.bottom() / M)


# -- lettering of the form ---------------------------------------------------------------


def _paint_label(painter: QPainter, label: Label) -> None:
    """Lettering of the form, drawn together where it is too long for its field."""
    font = theme.sheet_font(label.height, label.bold)
    metrics = QFontMetricsF(font)
    width, height = metrics.horizontalAdvance(label.text), metrics.height()
    squeeze = 1.0
    if label.most is not None and width > label.most * MM:
        squeeze = label.most * MM / width
    painter.save()
    painter.translate(label.at[0] * MM, label.at[1] * MM)
    painter.scale(squeeze, squeeze)
    left = {"left": 0.0, "centre": -width / 2, "right": -width}[label.anchor]
    painter.setFont(font)
    painter.setPen(theme.INK)
    flags = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip
    painter.drawText(QRectF(left, -height / 2, width + 2, height), flags, label.text)
    painter.restore()
