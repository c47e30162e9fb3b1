"""Painting strokes: the only place where the strokes of `symbols` meet a painter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPainterPath, QPen, QPixmap, QPolygonF

from editor import theme
from editor.looks import look_key
from symbols import Kind, find_kind
from symbols.kind import Look
from symbols.shapes import moved
from symbols.strokes import Arc, Circle, Dot, Line, Polygon, Stroke, Text

M = theme.MODULE
DOT_RADIUS = 0.45
"""Radius of a joint's dot, in modules."""

_WIDTHS = {
    "outline": theme.OUTLINE_WIDTH,
    "flow": theme.THIN_WIDTH,
    "operator": theme.THIN_WIDTH,
    "moving": theme.OUTLINE_WIDTH,
    "active": theme.THIN_WIDTH,
    "liquid": theme.THIN_WIDTH,
    "label": theme.THIN_WIDTH,
}
_FILLS = {"moving": theme.MOVING, "active": theme.ACTIVE, "liquid": theme.LIQUID}
_UNEDGED = ("active", "liquid")


@dataclass
class Layer:
    """One path with the pen and the brush it is painted with."""

    pen: QPen
    brush: QBrush
    path: QPainterPath = field(default_factory=QPainterPath)


@dataclass
class Picture:
    """Strokes made ready to paint: layers in the order of the strokes, and lettering."""

    layers: list[Layer]
    texts: list[Text]
    bounds: QRectF

    def paint(self, painter: QPainter, *, lettering: bool = True) -> None:
        """Paint around the painter's origin, a module being `theme.MODULE` units."""
        for layer in self.layers:
            painter.setPen(layer.pen)
            painter.setBrush(layer.brush)
            painter.drawPath(layer.path)
        if lettering:
            painter.setPen(theme.INK)
            for text in self.texts:
                draw_text(painter, text)


def draw_text(painter: QPainter, text: Text) -> None:
    """Lettering at its place, upright."""
    font = theme.sheet_font(text.height * M / theme.MILLIMETRE)
    painter.setFont(font)
    width, height = 12.0 * M, 2.0 * text.height * M
    x, y = text.at[0] * M, text.at[1] * M
    left = {"centre": x - width / 2, "left": x, "right": x - width}[text.anchor]
    area = QRectF(left, y - height / 2, width, height)
    painter.drawText(area, _FLAGS[text.anchor], text.text)


_FLAGS = {
    "centre": Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignVCenter,
    "left": Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter,
    "right": Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter,
}


def make_picture(strokes: Iterable[Stroke]) -> Picture:
    """Strokes as paths, neighbours of one pen and brush joined into one path."""
    layers: list[Layer] = []
    texts: list[Text] = []
    bounds = QRectF()
    for stroke in strokes:
        if isinstance(stroke, Text):
            texts.append(stroke)
            half = 0.4 * stroke.height * M * max(1, len(stroke.text))
            at = QPointF(stroke.at[0] * M, stroke.at[1] * M)
            bounds |= QRectF(at.x() - half, at.y() - M, 2 * half, 2 * M)
            continue
        pen, brush = _style(stroke)
        if not layers or layers[-1].pen != pen or layers[-1].brush != brush or brush.style():
            layers.append(Layer(pen, brush))
        _append(layers[-1].path, stroke)
    for layer in layers:
        bounds |= layer.path.boundingRect()
    edge = theme.OUTLINE_WIDTH * theme.MILLIMETRE
    return Picture(layers, texts, bounds.adjusted(-edge, -edge, edge, edge))


def _style(stroke: Stroke) -> tuple[QPen, QBrush]:
    part = stroke.part
    dash = stroke.dash if isinstance(stroke, Line | Polygon) else "solid"
    filled = isinstance(stroke, Dot) or (
        isinstance(stroke, Polygon | Circle) and (stroke.filled or part in ("moving", *_UNEDGED))
    )
    brush = QBrush(_FILLS.get(part, theme.INK)) if filled else QBrush()
    if (filled and part in _UNEDGED) or isinstance(stroke, Dot):
        return QPen(Qt.PenStyle.NoPen), brush
    return theme.pen(theme.INK.name(), _WIDTHS[part], dash), brush


def _append(path: QPainterPath, stroke: Stroke) -> None:
    match stroke:
        case Line(points=points):
            path.addPolygon(QPolygonF([QPointF(x * M, y * M) for x, y in points]))
        case Polygon(points=points):
            path.addPolygon(QPolygonF([QPointF(x * M, y * M) for x, y in points]))
            path.closeSubpath()
        case Circle(centre=(x, y), radius=radius):
            path.addEllipse(QPointF(x * M, y * M), radius * M, radius * M)
        case Arc(centre=(x, y), radius=radius, start=start, span=span):
            box = QRectF((x - radius) * M, (y - radius) * M, 2 * radius * M, 2 * radius * M)
            path.arcMoveTo(box, start)
            path.arcTo(box, start, span)
        case Dot(at=(x, y)):
            path.addEllipse(QPointF(x * M, y * M), DOT_RADIUS * M, DOT_RADIUS * M)


@lru_cache(maxsize=256)
def _default_picture(kind: str) -> Picture:
    declared = find_kind(kind)
    return make_picture(declared.drawing(declared.look()))


def picture_of(kind: Kind, look: Look, turn: int = 0, mirror: bool = False) -> Picture:
    """The picture of a kind, mirrored and turned as it is placed; lettering stays upright."""
    return make_picture(moved(kind.drawing(look), (0, 0), turn, mirror))


def cached_picture(kind: str, look: Look, turn: int = 0, mirror: bool = False) -> Picture:
    """The same, kept for the next component that looks alike. Do not change what it returns."""
    key = kind, look_key(look), turn, mirror
    picture = _PICTURES.get(key)
    if picture is None:
        if len(_PICTURES) > _MOST_PICTURES:
            _PICTURES.clear()
        picture = _PICTURES[key] = picture_of(find_kind(kind), look, turn, mirror)
    return picture


_PICTURES: dict[tuple, Picture] = {}
_MOST_PICTURES = 4000


def symbol_pixmap(kind: Kind | str, size: int, ratio: float = 1.0) -> QPixmap:
    """The symbol with its defaults, fitted into a square of `size` points, transparent.

    Small symbols are not blown up beyond four times a line's usual width.
    """
    picture = _default_picture(kind if isinstance(kind, str) else kind.name)
    pixmap = QPixmap(round(size * ratio), round(size * ratio))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    bounds = picture.bounds
    extent = max(bounds.width(), bounds.height(), 8 * M)
    scale = (size - 4) / extent
    painter.translate(size / 2, size / 2)
    painter.scale(scale, scale)
    painter.translate(-bounds.center())
    picture.paint(painter)
    painter.end()
    return pixmap
