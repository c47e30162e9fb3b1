"""A button that reads as a link: a title, and below it up to two lines of description."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy

from editor import theme

_PADDING = 8
_LINES = 2


class LinkButton(QAbstractButton):
    """Tells which file it stands for when it is clicked, or Space or Enter is pressed."""

    chosen = Signal(str)

    def __init__(self, title: str, description: str, path: str) -> None:
        super().__init__()
        self.path = path
        self.description = " ".join(description.split())
        self.setText(title)
        self.setAccessibleName(title)
        self.setAccessibleDescription(description)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.clicked.connect(self._tell)

    def sizeHint(self) -> QSize:
        lines = 1 + (_LINES if self.description else 0)
        return QSize(260, lines * self.fontMetrics().lineSpacing() + 2 * _PADDING)

    def minimumSizeHint(self) -> QSize:
        return QSize(140, self.sizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self.underMouse() and self.isEnabled():
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(theme.PANEL)
            painter.drawRoundedRect(self.rect(), 4, 4)
        if self.hasFocus():
            painter.setPen(theme.ACCENT)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(self.rect().adjusted(1, 1, -1, -1), 4, 4)
        area = self.rect().adjusted(_PADDING, _PADDING, -_PADDING, -_PADDING)
        bold = QFont(self.font())
        bold.setBold(True)
        metrics = QFontMetrics(bold)
        painter.setFont(bold)
        painter.setPen(theme.ACCENT if self.isEnabled() else theme.UNDETERMINED)
        title = metrics.elidedText(self.text(), Qt.TextElideMode.ElideRight, area.width())
        painter.drawText(area, Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft, title)
        painter.setFont(self.font())
        painter.setPen(theme.FAINT_INK if self.isEnabled() else theme.UNDETERMINED)
        self._paint_description(painter, area.adjusted(0, metrics.lineSpacing(), 0, 0))

    def _paint_description(self, painter: QPainter, area: QRect) -> None:
        metrics = self.fontMetrics()
        for number, line in enumerate(_wrapped(self.description, metrics, area.width())):
            at = area.translated(0, number * metrics.lineSpacing())
            painter.drawText(at, Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft, line)

    def _tell(self) -> None:
        self.chosen.emit(self.path)


def _wrapped(text: str, metrics: QFontMetrics, width: int) -> list[str]:
    """The text in at most two lines; the last ends in an ellipsis if there is more."""
    lines: list[str] = []
    rest = text.split()
    while rest and len(lines) < _LINES - 1:
        count = len(rest)
        while count > 1 and metrics.horizontalAdvance(" ".join(rest[:count])) > width:
            count -= 1
        lines.append(" ".join(rest[:count]))
        rest = rest[count:]
    lines.append(" ".join(rest))
    return [metrics.elidedText(line, Qt.TextElideMode.ElideRight, width) for line in lines]
