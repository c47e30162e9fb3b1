"""How a row of the shelf looks: the symbol's picture beside its title, families as headings."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPalette, QPixmap
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from editor import theme
from editor.panes.pictures import symbol_picture
from symbols.catalogue import KINDS

PICTURE = QSize(64, 44)
_GAP = 8
_INDEX = QModelIndex | QPersistentModelIndex


class ShelfDelegate(QStyledItemDelegate):
    """Paints kinds and families; the pictures are painted once for each screen scale."""

    def __init__(self, view: QWidget) -> None:
        super().__init__(view)
        self._pictures: dict[tuple[str, float], QPixmap] = {}

    def sizeHint(self, option: QStyleOptionViewItem, index: _INDEX) -> QSize:
        if not index.data(Qt.ItemDataRole.UserRole):
            return QSize(100, option.fontMetrics.height() + 16)
        return QSize(100, PICTURE.height() + 8)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _INDEX) -> None:
        painter.save()
        kind = index.data(Qt.ItemDataRole.UserRole)
        if kind:
            self._paint_kind(painter, option, index, kind)
        else:
            self._paint_heading(painter, option, index.data(Qt.ItemDataRole.DisplayRole))
        painter.restore()

    def _paint_heading(self, painter: QPainter, option: QStyleOptionViewItem, title: str) -> None:
        font = QFont(option.font)
        font.setBold(True)
        painter.setFont(font)
        painter.setPen(theme.FAINT_INK)
        area = option.rect.adjusted(_GAP, 0, -_GAP, -5)
        bottom_left = Qt.AlignmentFlag.AlignBottom | Qt.AlignmentFlag.AlignLeft
        painter.drawText(area, bottom_left, title)
        painter.setPen(theme.GRID)
        painter.drawLine(option.rect.bottomLeft(), option.rect.bottomRight())

    def _paint_kind(
        self, painter: QPainter, option: QStyleOptionViewItem, index: _INDEX, kind: str
    ) -> None:
        palette, state = option.palette, option.state
        chosen = bool(state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(option.rect, palette.color(QPalette.ColorRole.Highlight))
        elif state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(option.rect, palette.color(QPalette.ColorRole.AlternateBase))
        role = QPalette.ColorRole.HighlightedText if chosen else QPalette.ColorRole.Text
        colour = palette.color(role)
        ratio = painter.device().devicePixelRatio()
        key = (kind, ratio)
        if key not in self._pictures:
            self._pictures[key] = symbol_picture(KINDS[kind], PICTURE, ratio)
        corner = option.rect.topLeft() + QPoint(_GAP, 4)
        if chosen:  # the picture's ink needs its paper
            painter.fillRect(QRect(corner, PICTURE), theme.PAPER)
        painter.drawPixmap(corner, self._pictures[key])
        area = option.rect.adjusted(PICTURE.width() + 2 * _GAP, 2, -4, -2)
        painter.setPen(colour)
        # wraps at hyphens too, so that the longest title is whole in a narrow shelf
        wrapped = Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
        painter.drawText(area, wrapped, index.data(Qt.ItemDataRole.DisplayRole))
