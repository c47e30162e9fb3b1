"""A component on the sheet: a picture, lettering, ports; no domain logic."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem

from editor import theme
from editor.canvas.lettering import Words
from editor.painting import Picture

M = theme.MODULE
NO_LETTERING_BELOW = 0.18
"""View scale below which lettering is a smudge: ids alone are written there, and larger."""

_NO_IDS_BELOW = 0.085
_FAR_SIZE = 2.1
"""How many times larger an id is written where the names are left out [1]."""

_NO_SYMBOL_BELOW = 0.05


class ComponentItem(QGraphicsItem):
    """Paints what it is given; `identifier` is the id of the component it stands for."""

    def __init__(self, identifier: str) -> None:
        super().__init__()
        self.identifier = identifier
        self.picture = Picture([], [], QRectF())
        self._words: list[Words] = []
        self._far: Words | None = None
        self._area = QRectF()
        self._body = QRectF()
        self.ports: dict[str, QPointF] = {}
        self.is_selected = False
        self.is_hovered = False
        self.setZValue(2)

    def show_as(self, picture: Picture, words: list[Words], ports: dict[str, QPointF]) -> None:
        """Take over another picture; ports are in scene units from the item's place."""
        if picture is self.picture and (words, ports) == (self._words, self.ports):
            return  # pictures are shared: a part that moves on unseen is not painted anew
        self.prepareGeometryChange()
        self.picture, self._words, self.ports = picture, words, ports
        self._body = picture.bounds.adjusted(-0.4 * M, -0.4 * M, 0.4 * M, 0.4 * M)
        self._area = QRectF(self._body)
        self._far = _seen_from_far(words, self.identifier)
        for line in [*words, self._far] if self._far is not None else words:
            self._area |= line.area()
        self._area.adjust(-4, -4, 4, 4)
        self.update()

    def body(self) -> QRectF:
        """What the symbol covers, without lettering, from the item's place."""
        return self._body

    def boundingRect(self) -> QRectF:
        """Symbol and lettering."""
        return self._area

    def shape(self) -> QPainterPath:
        """The symbol alone takes clicks, not its lettering."""
        path = QPainterPath()
        path.addRect(self._body)
        return path

    def set_look(self, *, selected: bool, hovered: bool) -> None:
        """Selected, under the pointer."""
        state = selected, hovered
        if state != (self.is_selected, self.is_hovered):
            self.is_selected, self.is_hovered = state
            self.update()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget=None) -> None:
        """The picture; lettering only where it can be read."""
        scale = option.levelOfDetailFromTransform(painter.worldTransform())
        if self.is_selected or self.is_hovered:
            self._paint_frame(painter)
        if scale < _NO_SYMBOL_BELOW:
            painter.fillRect(self.picture.bounds, theme.MOVING)
            return
        readable = scale >= NO_LETTERING_BELOW
        self.picture.paint(painter, lettering=readable)
        if readable:
            for line in self._words:
                line.paint(painter)
        elif self._far is not None and scale >= _NO_IDS_BELOW:
            self._far.paint(painter)

    def _paint_frame(self, painter: QPainter) -> None:
        colour = theme.SELECTED if self.is_selected else theme.HOVER
        frame = QPen(colour, 0)
        frame.setCosmetic(True)
        frame.setWidthF(1.0)
        painter.setPen(frame)
        fill = theme.SELECTED.lighter(150)
        fill.setAlpha(36 if self.is_selected else 0)
        painter.setBrush(fill if self.is_selected else Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(self._body, 0.5 * M, 0.5 * M)


def _seen_from_far(words: list[Words], identifier: str) -> Words | None:
    """The id among the words, larger, moved off the symbol by as much as it grows."""
    found = next((line for line in words if line.text == identifier), None)
    if found is None:
        return None
    x, y = found.at
    if found.anchor == "centre":
        growth = (_FAR_SIZE - 1.0) * found.area().height() / 2
        y += growth if y > 0.0 else -growth
    return replace(found, at=(x, y), height=found.height * _FAR_SIZE)
