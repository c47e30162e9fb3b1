"""What the ways on the sheet mean, in words, in a corner of the canvas."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QWidget

from analysis.verdict_ways import Shown
from editor import theme
from editor.canvas.corners import move_to_corner
from editor.canvas.way_item import TAG_WORDS, paint_band, paint_cross, paint_number

_PADDING, _SAMPLE = 10, 58
_WIDTH = 330
_CORNERS = ((False, True), (True, True), (False, False), (True, False))
"""(at the right, at the top)"""

WORDS = {
    "supply": "way under pressure, in this order",
    "other": "way of the other supply",
    "return": "way back to a reservoir",
    "stray": "way that should not be there",
}
_HOLDING_SUPPLY = "way that proves it, in this order"
_PUT_AWAY = "Esc puts this away"


class WayLegend(QWidget):
    """Title, outcome and a sample of each line; clicks go through it."""

    def __init__(
        self, over: QWidget, covered: Callable[[QRect], int], other: QWidget | None = None
    ) -> None:
        """`covered` counts what lies under a rectangle; `other` is a legend to keep clear of."""
        super().__init__(over)
        self._over, self._covered, self._other = over, covered, other
        self.title = self.outcome = ""
        self._rows: list[tuple[str, str]] = []
        self._corner = _CORNERS[0]
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName("Legend of the ways")
        over.installEventFilter(self)
        self.hide()

    def rows(self) -> list[str]:
        """The lines of words, as they are read."""
        return [words for _, words in self._rows]

    def show_words(self, title: str, outcome: str, shown: Shown, *, holds: bool) -> None:
        """Explain what is drawn."""
        rows: list[tuple[str, str]] = []
        for sense in dict.fromkeys(way.sense for way in shown.ways):
            words = _HOLDING_SUPPLY if sense == "supply" and holds else WORDS[sense]
            rows.append((sense, words))
        for mark in dict.fromkeys(shown.marks.values()):
            rows.append(("", f"framed: {TAG_WORDS[mark]}"))
        changed = (title, outcome, rows) != (self.title, self.outcome, self._rows)
        self.title, self.outcome, self._rows = title, outcome, rows
        self.resize(self.sizeHint())
        if changed or self.isHidden():
            self._choose_corner()
        self.show()
        self.raise_()
        self.update()

    def sizeHint(self) -> QSize:
        """As high as its lines."""
        line = self.fontMetrics().height()
        title = self._title_area().height()
        return QSize(_WIDTH, title + (len(self._rows) + 2) * (line + 5) + 2 * _PADDING)

    def _title_area(self) -> QRect:
        room = QRect(_PADDING, _PADDING, _WIDTH - 2 * _PADDING, 1000)
        found = QFontMetrics(self._bold()).boundingRect(room, Qt.TextFlag.TextWordWrap, self.title)
        return QRect(room.left(), room.top(), room.width(), found.height())

    def _bold(self) -> QFont:
        bold = QFont(self.font())
        bold.setBold(True)
        return bold

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the corner when the canvas changes its size."""
        if event.type() == QEvent.Type.Resize and not self.isHidden():
            self._settle()
        return False

    def _settle(self) -> None:
        move_to_corner(self, self._over, self._corner)

    def _choose_corner(self) -> None:
        """Go where least is drawn and no other legend stands."""

        def hidden(corner: tuple[bool, bool]) -> int:
            self._corner = corner
            self._settle()
            other = self._other
            taken = other is not None and other.isVisible()
            if taken and other is not None and other.geometry().intersects(self.geometry()):
                return 10_000
            return self._covered(self.geometry())

        self._corner = min(_CORNERS, key=hidden)
        self._settle()

    def paintEvent(self, _event: object) -> None:
        """Title, outcome, rows."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.GRID.darker(115), 1))
        painter.setBrush(QColor(255, 255, 255, 238))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)
        line = self.fontMetrics().height() + 5
        title = self._title_area()
        painter.setPen(theme.INK)
        painter.setFont(self._bold())
        painter.drawText(title, Qt.TextFlag.TextWordWrap, self.title)
        painter.setFont(self.font())
        y = title.bottom() + 4
        painter.drawText(QPointF(_PADDING, y + line * 0.7), self.outcome)
        for sense, words in self._rows:
            y += line
            self._paint_sample(painter, sense, y + line / 2)
            painter.setPen(theme.INK)
            painter.setFont(self.font())
            left = _PADDING + (_SAMPLE + 8 if sense else 0)
            painter.drawText(QPointF(left, y + line * 0.7), words)
        painter.setPen(theme.FAINT_INK)
        painter.drawText(QPointF(_PADDING, y + line * 1.7), _PUT_AWAY)
        painter.end()

    def _paint_sample(self, painter: QPainter, sense: str, y: float) -> None:
        if not sense:
            return
        path = QPainterPath(QPointF(_PADDING + 3, y))
        path.lineTo(QPointF(_PADDING + _SAMPLE - 3, y))
        paint_band(painter, path, sense, 9)
        small = QFont(self._bold())
        small.setPixelSize(9)
        painter.setFont(small)
        if sense != "return":
            paint_number(painter, QPointF(_PADDING + 18, y), "1", sense, 6.5)
            paint_number(painter, QPointF(_PADDING + 36, y), "2", sense, 6.5)
        if sense == "stray":
            paint_cross(painter, QPointF(_PADDING + _SAMPLE - 4, y), 5.5)
