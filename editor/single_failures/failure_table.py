"""The table of failures: model, order and filter, and the view."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelection,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QSortFilterProxyModel,
    Qt,
    Signal,
)
from PySide6.QtGui import QFont, QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QHeaderView, QTableView

from editor import theme
from editor.selection import Selection
from editor.single_failures.failure_rows import HEADING_TIPS, HEADINGS, FailureRow, details

_INDEX = QModelIndex | QPersistentModelIndex
_ROLE = Qt.ItemDataRole
_NOWHERE = QModelIndex()
_POINT, _EFFECTS = 3, (4, 5)
_WIDTHS = (64, 210, 96, 132, 290)
ROW_ROLE = _ROLE.UserRole
SORT_ROLE = _ROLE.UserRole + 1


class FailureModel(QAbstractTableModel):
    """All rows, in the order of the file."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.rows: list[FailureRow] = []
        self._stale = False

    def rowCount(self, parent: _INDEX = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: _INDEX = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(HEADINGS)

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole
    ) -> Any:
        if orientation == Qt.Orientation.Horizontal and role == _ROLE.DisplayRole:
            return HEADINGS[section]
        if orientation == Qt.Orientation.Horizontal and role == _ROLE.ToolTipRole:
            return HEADING_TIPS.get(section)
        if orientation == Qt.Orientation.Horizontal and role == _ROLE.TextAlignmentRole:
            return int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return None

    def data(self, index: _INDEX, role: int = _ROLE.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row, column = self.rows[index.row()], index.column()
        if role == _ROLE.DisplayRole:
            return row.cells()[column]
        if role == _ROLE.ToolTipRole:
            if column in _EFFECTS:
                return details(row)
            return (row.point_words() if column == _POINT else row.cells()[column]) or None
        if role == _ROLE.ForegroundRole:
            faint = self._stale or (column in _EFFECTS and row.cells()[column] in _NOTHING)
            return theme.FAINT_INK if faint else None
        if role == _ROLE.FontRole and self._stale:
            font = QFont()
            font.setItalic(True)
            return font
        if role == ROW_ROLE:
            return row
        if role == SORT_ROLE:
            return _sort_key(row, column, index.row())
        return None

    def show_rows(self, rows: list[FailureRow]) -> None:
        """Replace the rows, unless they are the same."""
        if rows != self.rows:
            self.beginResetModel()
            self.rows = rows
            self.endResetModel()

    def set_stale(self, stale: bool) -> None:
        """Show them as of an earlier state of the drawing."""
        if stale != self._stale:
            self._stale = stale
            if self.rows:
                corner = self.index(len(self.rows) - 1, len(HEADINGS) - 1)
                self.dataChanged.emit(self.index(0, 0), corner)


_NOTHING = ("—", "not worked out")


def _sort_key(row: FailureRow, column: int, number: int) -> Any:
    """What the rows are ordered by: effects by how many they are, parts as in the file."""
    if column == 0:
        return number
    if column == _POINT:
        return int(not row.lost) if row.single_point else 2
    if column == 4:
        return -len(row.lost)
    if column == 5:
        return -len(row.degraded)
    return row.cells()[column].lower()


class FailureOrder(QSortFilterProxyModel):
    """The rows that are asked for, in the order that is asked for."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._words: list[str] = []
        self._function = ""
        self._costly = False
        self._only: frozenset[str] | None = None
        self.setSortRole(SORT_ROLE)

    def ask(
        self, text: str, function: str, *, costly: bool, only: Iterable[str] | None = None
    ) -> None:
        """Show what contains every word, costs that function, costs anything, is of `only`."""
        wanted = None if only is None else frozenset(only)
        asked = (text.lower().split(), function, costly, wanted)
        if asked != (self._words, self._function, self._costly, self._only):
            self._words, self._function, self._costly, self._only = asked
            self.invalidate()

    def filterAcceptsRow(self, source_row: int, _parent: _INDEX) -> bool:
        row = self.sourceModel().index(source_row, 0).data(ROW_ROLE)
        if self._only is not None and row.failure.subject not in self._only:
            return False
        if self._costly and not row.costs:
            return False
        if self._function and self._function not in (*row.lost, *row.degraded):
            return False
        text = " ".join(row.cells()).lower()
        return all(word in text for word in self._words)


class FailureTableView(QTableView):
    """The rows, linked with the selection both ways; Enter or a double click asks what if."""

    asked = Signal(object)
    current_changed = Signal()

    def __init__(self, selection: Selection) -> None:
        super().__init__()
        self._selection = selection
        self._following = False
        self.failures = FailureModel(self)
        self.order = FailureOrder(self)
        self.order.setSourceModel(self.failures)
        self.setModel(self.order)
        self.setAccessibleName("Failures")
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 6)
        header = self.horizontalHeader()
        header.setHighlightSections(False)
        header.setSortIndicatorClearable(True)
        header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.setSortingEnabled(True)
        for column, width in enumerate(_WIDTHS):
            self.setColumnWidth(column, width)
        header.setStretchLastSection(True)
        self.selectionModel().selectionChanged.connect(self._on_rows_selected)
        self.order.modelReset.connect(self.follow)
        self.doubleClicked.connect(self._ask)
        selection.changed.connect(self.follow)

    def current_row(self) -> FailureRow | None:
        """The row that is current, if it is selected."""
        index = self.currentIndex()
        if index.isValid() and self.selectionModel().isRowSelected(index.row(), _NOWHERE):
            return index.data(ROW_ROLE)
        return None

    def shown_rows(self) -> list[FailureRow]:
        """The rows that are shown, in their order."""
        return [self.order.index(n, 0).data(ROW_ROLE) for n in range(self.order.rowCount())]

    def ask_for(
        self, text: str, function: str, *, costly: bool, only: Iterable[str] | None = None
    ) -> None:
        """Show only some rows (see `FailureOrder.ask`); what is selected on the sheet stays."""
        self._following = True
        self.order.ask(text, function, costly=costly, only=only)
        self._following = False
        self.follow()

    def follow(self) -> None:
        """Select the rows of what is selected on the sheet, and show the first of them."""
        wanted = set(self._selection.ids())
        if {row.failure.subject for row in self._selected()} != wanted:
            chosen, first = QItemSelection(), None
            for number in range(self.order.rowCount()):
                index = self.order.index(number, 0)
                if index.data(ROW_ROLE).failure.subject in wanted:
                    first = first or index
                    chosen.select(index, self.order.index(number, len(HEADINGS) - 1))
            self._following = True
            # the current row is that of the keyboard, and must be one of them
            self.setCurrentIndex(first or QModelIndex())
            self.selectionModel().select(chosen, QItemSelectionModel.SelectionFlag.ClearAndSelect)
            self._following = False
            if first is not None:
                self.scrollTo(first)
        self.current_changed.emit()

    def _selected(self) -> list[FailureRow]:
        return [index.data(ROW_ROLE) for index in self.selectionModel().selectedRows(0)]

    def _on_rows_selected(self, *_selections: QItemSelection) -> None:
        if self._following:
            return
        subjects = [row.failure.subject for row in self._selected()]
        self._following = True
        self._selection.set(subjects, reveal=len(set(subjects)) == 1)
        self._following = False
        self.current_changed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter asks what if."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._ask(self.currentIndex())
        else:
            super().keyPressEvent(event)

    def _ask(self, index: _INDEX) -> None:
        row = index.data(ROW_ROLE) if index.isValid() else None
        if row is not None:
            self.asked.emit(row)
