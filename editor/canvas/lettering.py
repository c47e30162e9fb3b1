"""Where the lettering of a placed component stands: its id and name, its lever's positions.

All of it is set upright beside the symbol, whichever way the symbol is turned.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter

from analysis.circuit import Component
from editor import theme
from symbols.kind import Look, place, place_facing
from symbols.strokes import Anchor

M = theme.MODULE
NAME_HEIGHT = 2.6
"""Height of lettering [mm on paper]."""

_GAP = 0.9
_DIRECTIONAL = ("valve_3_2", "valve_4_2", "valve_4_3")


@dataclass(frozen=True)
class Words:
    """One line of lettering; `at` is the middle of its anchored end, in scene units."""

    text: str
    at: tuple[float, float]
    anchor: Anchor = "centre"
    height: float = NAME_HEIGHT
    bold: bool = False
    colour: str = theme.INK.name()

    def area(self) -> QRectF:
        """What it covers."""
        width, height = _extent(self.text, self.height, self.bold)
        x, y = self.at
        left = {"centre": x - width / 2, "left": x, "right": x - width}[self.anchor]
        return QRectF(left, y - height / 2, width, height)

    def paint(self, painter: QPainter) -> None:
        """Paint it."""
        painter.setFont(theme.sheet_font(self.height, self.bold))
        painter.setPen(_colour(self.colour))
        painter.drawText(self.area(), _FLAGS, self.text)


# made once: to join flags costs more than to paint the text
_FLAGS = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextDontClip


@lru_cache(maxsize=256)
def _colour(name: str) -> QColor:
    return QColor(name)


@lru_cache(maxsize=4096)
def _extent(text: str, height: float, bold: bool) -> tuple[float, float]:
    """Width and height of a text; measuring it costs more than painting it."""
    metrics = QFontMetricsF(theme.sheet_font(height, bold))
    return metrics.horizontalAdvance(text) + 2, metrics.height()


def words_of(component: Component, look: Look, bounds: QRectF) -> list[Words]:
    """All lettering around a component whose drawing covers `bounds` (scene units)."""
    lines = [*heading_lines(component, look), *position_lines(component, look)]
    return [*_beside(component, bounds, lines), *lever_words(component, look)]


def heading_lines(component: Component, look: Look) -> list[tuple[str, bool, str]]:
    """Id, name and fault as (text, bold, colour), for whoever places them."""
    lines: list[tuple[str, bool, str]] = []
    if component.kind != "junction":
        lines.append((component.id, True, theme.INK.name()))
        if component.name:
            lines.append((component.name, False, theme.FAINT_INK.name()))
    fault = look.choices.get("fault", "none")
    if fault != "none":
        lines.append((fault.replace("_", " ").upper(), True, theme.REFUSED.name()))
    return lines


def position_lines(component: Component, look: Look) -> list[tuple[str, bool, str]]:
    """The word for where a shut-off valve stands, set below its name: it has no boxes."""
    if component.kind in _DIRECTIONAL or "position" not in component.declared.states:
        return []
    text = component.labels.get(look.choices.get("position", ""), "")
    return [(text, True, theme.INK.name())] if text else []


def _beside(
    component: Component, bounds: QRectF, lines: list[tuple[str, bool, str]]
) -> list[Words]:
    """The lines one below the other, on a side that no port faces."""
    side = free_side(component)
    step = NAME_HEIGHT * theme.MILLIMETRE * 1.45
    anchor: Anchor = "centre"
    x, y = bounds.center().x(), bounds.center().y()
    if side == "right":
        anchor, x = "left", bounds.right() + _GAP * M
    elif side == "left":
        anchor, x = "right", bounds.left() - _GAP * M
    if side == "up":
        first = bounds.top() - _GAP * 0.6 * M - (len(lines) - 0.5) * step
    elif side == "down":
        first = bounds.bottom() + _GAP * 0.6 * M + 0.5 * step
    else:
        first = y - (len(lines) - 1) * step / 2
    return [
        Words(text, (x, first + i * step), anchor, NAME_HEIGHT, bold, colour)
        for i, (text, bold, colour) in enumerate(lines)
    ]


Side = Literal["up", "down", "left", "right"]


def free_side(component: Component) -> Side:
    """The side for the name: one that no line leaves from."""
    taken = {
        place_facing(port.facing, component.turn, component.mirror)
        for port in component.declared.ports
    }
    order: tuple[Side, ...] = ("right", "up", "down", "left")
    if taken & {"left", "right"}:
        order = ("up", "down", "right", "left")
    if component.kind.startswith("cylinder"):
        order = ("up", "down", "right", "left")
    for side in order:
        if side not in taken:
            return side
    return "right"


def lever_words(component: Component, look: Look) -> list[Words]:
    """The user's words for the positions, at the boxes; the one that holds is bold."""
    if not component.labels or component.kind not in _DIRECTIONAL:
        return []
    position = look.choices.get("position", "")
    words = []
    for zone in component.declared.zones(look):
        text = component.labels.get(zone.value or "", "")
        if not text:
            continue
        left, _top, width, _height = zone.rectangle
        words.append(_box_words(component, text, left + width / 2, zone.value == position))
    return words


def _box_words(component: Component, text: str, box: float, holds: bool) -> Words:
    """Words at the box whose centre lies at x = `box`: above it, the middle one below.

    Ports and their letters are at the box at x = 0, so its words stand clear of them.
    """
    three = component.kind == "valve_4_3"
    if component.turn in (90, 270):
        return _placed_words(component, text, (box, 2.7 if box == 0 and three else -2.7), "", holds)
    if box < 0:
        return _placed_words(component, text, (-2.8, -2.9), "right", holds)
    if box == 0 and three:
        return _placed_words(component, text, (-2.8, 2.9), "right", holds)
    return _placed_words(component, text, (2.8, -2.9), "left", holds)


def _placed_words(
    component: Component, text: str, at: tuple[float, float], anchor: str, holds: bool
) -> Words:
    x, y = place(at, (0, 0), component.turn, component.mirror)
    shown: Anchor = "centre"
    if component.turn in (90, 270):
        shown = "left" if x > 0 else "right"
    elif anchor in ("left", "right"):
        turned_over = component.mirror != (component.turn == 180)
        shown = {"left": "right", "right": "left"}[anchor] if turned_over else anchor  # type: ignore[assignment]
    colour = theme.INK if holds else theme.FAINT_INK
    return Words(text, (x * M, y * M), shown, 2.1, holds, colour.name())


def to_scene(point: tuple[float, float]) -> QPointF:
    """A point of the sheet (modules) in scene units."""
    return QPointF(point[0] * M, point[1] * M)
