"""The legend of the pressures, in a corner of the canvas, in the user's unit."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QLinearGradient, QPainter, QPen, QPixmap, QPolygonF
from PySide6.QtWidgets import QWidget

from editor import theme
from editor.canvas.corners import move_to_corner
from editor.canvas.overlay import PressureOverlay
from editor.display_units import DisplayUnits

_CORNERS = ((False, False), (True, False), (True, True), (False, True))
"""(at the right, at the top), the first that hides least is taken."""

_ROOM = (640, 540)
"""A canvas narrower or lower than this has a small legend [pixels]."""
_STEPS = 4
_PIXELS_PER_MM = 4.0
_UNPINNED, _FLOW = "undetermined", "flow, closer is faster"


class Legend(QWidget):
    """Ramp with widths, hollow lines, arrowheads; clicks go through it."""

    def __init__(
        self,
        overlay: PressureOverlay,
        units: DisplayUnits,
        over: QWidget,
        covered: Callable[[QRect], int],
    ) -> None:
        """`covered` counts what lies under a rectangle of the widget it stands over."""
        super().__init__(over)
        self._covered = covered
        self._picture = QPixmap()
        self._picture_key: tuple = ()
        self._corner = _CORNERS[0]
        self._overlay = overlay
        self._units = units
        self._over = over
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName("Legend of the pressures")
        over.installEventFilter(self)
        overlay.changed.connect(self.refresh)
        self.refresh()

    def sizeHint(self) -> QSize:
        """As much as its lettering needs."""
        metrics = self.fontMetrics()
        if self._is_small():
            return QSize(150, 2 * metrics.height() + 34)
        signs = sum(metrics.horizontalAdvance(text) for text in (_UNPINNED, _FLOW))
        return QSize(max(252, signs + 105), 3 * metrics.height() + 46)

    def _is_small(self) -> bool:
        """Whether there is room for the ramp alone: on a low canvas it would hide parts."""
        return self._over.width() < _ROOM[0] or self._over.height() < _ROOM[1]

    def refresh(self) -> None:
        """Show the scale as it is now."""
        appears = self.isHidden() and self._overlay.top > 0
        self.setVisible(self._overlay.top > 0)
        self.resize(self.sizeHint())
        if appears:
            self.choose_corner()
        self._settle()
        self.update()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the corner when the canvas changes its size."""
        if event.type() == QEvent.Type.Resize:
            self.resize(self.sizeHint())
            self._settle()
        return False

    def _settle(self) -> None:
        move_to_corner(self, self._over, self._corner)

    def choose_corner(self) -> None:
        """Go where least is drawn; asked for when it appears or the view is fitted."""

        def hidden(corner: tuple[bool, bool]) -> int:
            self._corner = corner
            self._settle()
            return self._covered(self.geometry())

        self._corner = min(_CORNERS, key=hidden)
        self._settle()

    def marks(self) -> list[str]:
        """The lettering under the ramp, from zero to the top."""
        top = self._overlay.top
        return [self._units.number(top * i / _STEPS, "pressure", 4) for i in range(_STEPS + 1)]

    def paintEvent(self, _event: object) -> None:
        """Show the picture; the canvas beneath repaints often, the scale changes seldom."""
        ratio = self.devicePixelRatioF()
        key = (self.size(), ratio, self._units.symbol("pressure"), *self.marks())
        if key != self._picture_key:
            self._picture_key, self._picture = key, self._make_picture(ratio)
        painter = QPainter(self)
        painter.drawPixmap(0, 0, self._picture)
        painter.end()

    def _make_picture(self, ratio: float) -> QPixmap:
        picture = QPixmap(self.size() * ratio)
        picture.setDevicePixelRatio(ratio)
        picture.fill(Qt.GlobalColor.transparent)
        painter = QPainter(picture)
        painter.setFont(self.font())
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(theme.GRID.darker(115), 1))
        painter.setBrush(QColor(255, 255, 255, 232))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 4, 4)
        line = self.fontMetrics().height()
        painter.setPen(theme.INK)
        title = f"Pressure, gauge [{self._units.symbol('pressure')}]"
        painter.drawText(QPointF(12, 6 + line * 0.8), title)
        ramp = QRectF(14, line + 14, self.width() - 28, 0)
        self._paint_ramp(painter, ramp)
        self._paint_marks(painter, ramp, line)
        if not self._is_small():
            self._paint_signs(painter, self.height() - line * 0.5 - 8)
        painter.end()
        return picture

    def _paint_ramp(self, painter: QPainter, ramp: QRectF) -> None:
        """A wedge as wide as the lines are at that pressure."""
        thin = theme.pressure_width(0) * _PIXELS_PER_MM / 2
        thick = theme.pressure_width(1) * _PIXELS_PER_MM / 2
        y = ramp.top() + thick
        fill = QLinearGradient(ramp.left(), 0, ramp.right(), 0)
        for step in range(17):
            fill.setColorAt(step / 16, theme.pressure_colour(step / 16))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(fill)
        left, right = ramp.left(), ramp.right()
        corners = ((left, y - thin), (right, y - thick), (right, y + thick), (left, y + thin))
        painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in corners]))

    def _paint_marks(self, painter: QPainter, ramp: QRectF, line: int) -> None:
        y = ramp.top() + theme.pressure_width(1) * _PIXELS_PER_MM + 2
        painter.setPen(theme.INK)
        marks = list(enumerate(self.marks()))
        for i, text in marks[::2] if self._is_small() else marks:
            x = ramp.left() + ramp.width() * i / _STEPS
            painter.drawLine(QPointF(x, y), QPointF(x, y + 3))
            width = self.fontMetrics().horizontalAdvance(text)
            left = min(max(x - width / 2, 6), self.width() - width - 6)
            painter.drawText(QPointF(left, y + 3 + line * 0.85), text)

    def _paint_signs(self, painter: QPainter, y: float) -> None:
        painter.setPen(theme.pen(theme.UNDETERMINED.name(), 0.4))
        painter.drawLine(QPointF(14, y), QPointF(38, y))
        painter.setPen(theme.pen(theme.PAPER.name(), 0.2))
        painter.drawLine(QPointF(15, y), QPointF(37, y))
        baseline = y + self.fontMetrics().ascent() / 2 - 1
        painter.setPen(theme.INK)
        painter.drawText(QPointF(44, baseline), _UNPINNED)
        x = 52.0 + self.fontMetrics().horizontalAdvance(_UNPINNED) + 10
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.pressure_colour(0.5))
        for i in range(3):
            tip = x + 9 + 8 * i
            corners = ((tip, y), (tip - 8, y - 4), (tip - 6, y), (tip - 8, y + 4))
            painter.drawPolygon(QPolygonF([QPointF(*corner) for corner in corners]))
        painter.setPen(theme.INK)
        painter.drawText(QPointF(x + 31, baseline), _FLOW)
