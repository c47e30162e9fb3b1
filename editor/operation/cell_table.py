"""A table whose cells are typed in place, with buttons that add and take away a row."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QBrush, QColor
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QTableWidget,
    QTableWidgetItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

_REFUSED_TEXT = QBrush(QColor("#b3261e"))


def cell(table: QTableWidget, row: int, column: int) -> QTableWidgetItem:
    """The item of a cell that was filled when the table was made."""
    item = table.item(row, column)
    assert item is not None
    return item


class CellTable(QWidget):
    """Rows of texts; `edited` carries row, column and what was typed, before it is shown.

    Parameters
    ----------
    title
        Stands over the table.
    headers
        Of the columns.
    fixed
        Columns that cannot be typed in.
    """

    edited = Signal(int, int, str)
    add_requested = Signal()
    remove_requested = Signal(int)

    def __init__(
        self, title: str, headers: Sequence[str], fixed: Sequence[int] = (), word: str = "row"
    ) -> None:
        super().__init__()
        self._fixed = set(fixed)
        self.table = QTableWidget(0, len(headers))
        self.table.setHorizontalHeaderLabels(list(headers))
        self.table.setAccessibleName(title)
        self.table.verticalHeader().setDefaultSectionSize(22)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setWordWrap(False)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        for column in self._fixed:
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.add_button, self.remove_button = QToolButton(), QToolButton()
        self.add_button.setText(f"Add {word}")
        self.remove_button.setText(f"Remove {word}")
        self.add_button.clicked.connect(self.add_requested)
        self.remove_button.clicked.connect(self._remove)
        self.table.itemChanged.connect(self._on_item)
        self.table.itemSelectionChanged.connect(self._show_buttons)
        row = QHBoxLayout()
        row.addWidget(QLabel(f"<b>{title}</b>"))
        row.addStretch(1)
        row.addWidget(self.add_button)
        row.addWidget(self.remove_button)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(3)
        box.addLayout(row)
        box.addWidget(self.table, 1)
        self._show_buttons()

    def show_rows(self, rows: Sequence[Sequence[str]]) -> None:
        """Show these texts; the chosen row stays chosen."""
        chosen = self.table.currentRow()
        self.table.blockSignals(True)
        self.table.setRowCount(len(rows))
        for number, texts in enumerate(rows):
            for column, text in enumerate(texts):
                self._put(number, column, text)
        self.table.blockSignals(False)
        if 0 <= chosen < len(rows):
            self.table.setCurrentCell(chosen, max(self.table.currentColumn(), 0))
        self._show_buttons()

    def set_text(self, row: int, column: int, text: str, colour: str = "") -> None:
        """Show another text in a cell; nothing is told."""
        item = self.table.item(row, column)
        if item is None or item.text() == text:
            return
        self.table.blockSignals(True)
        item.setText(text)
        item.setForeground(QBrush(QColor(colour)) if colour else QBrush())
        self.table.blockSignals(False)

    def mark_refused(self, row: int, column: int, text: str) -> None:
        """Leave what was typed, in red, so that it can be mended."""
        self.set_text(row, column, text)
        item = self.table.item(row, column)
        if item is not None:
            self.table.blockSignals(True)
            item.setForeground(_REFUSED_TEXT)
            self.table.blockSignals(False)

    def _put(self, row: int, column: int, text: str) -> None:
        # an item that is being edited tells of it just now, so it must not be replaced
        item = self.table.item(row, column)
        if item is None:
            item = QTableWidgetItem()
            if column in self._fixed:
                item.setFlags(item.flags() & ~Qt.ItemFlag.ItemIsEditable)
            self.table.setItem(row, column, item)
        item.setText(text)
        item.setToolTip(text)
        item.setForeground(QBrush())

    def _on_item(self, item: QTableWidgetItem) -> None:
        self.edited.emit(item.row(), item.column(), item.text())

    def _remove(self) -> None:
        if self.table.currentRow() >= 0:
            self.remove_requested.emit(self.table.currentRow())

    def _show_buttons(self) -> None:
        self.remove_button.setEnabled(self.table.currentRow() >= 0)
