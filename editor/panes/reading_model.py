"""The model of one table of readings: sorts and filters by itself, tells changes at once.

A sorting proxy would ask for every cell several times at every change; here each is made
once, when it is first asked for, so that rows out of sight cost nothing, and the change of
all figures is told as one. The order of the rows changes only if figures have changed
places, and the selection survives it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.readings import Readings
from editor import theme
from editor.panes.reading_cells import Cell, Table, element_of, order_key
from editor.unit_presets import DisplayUnits

_INDEX = QModelIndex | QPersistentModelIndex
_ROLE = Qt.ItemDataRole
SUBJECT_ROLE = _ROLE.UserRole
_ANSWERED = tuple(
    int(role)
    for role in (
        _ROLE.DisplayRole,
        _ROLE.TextAlignmentRole,
        _ROLE.ForegroundRole,
        _ROLE.ToolTipRole,
        SUBJECT_ROLE,
    )
)
_NOWHERE = QModelIndex()


class _Cells(dict[str, list[Cell]]):
    """The cells of each subject, made when they are first asked for."""

    def __init__(self, make: Callable[[str], list[Cell]], columns: int) -> None:
        super().__init__()
        self._make, self._columns = make, columns

    def __missing__(self, subject: str) -> list[Cell]:
        try:
            cells = self._make(subject)
        except CircuitError:
            # taken off the sheet a moment ago; the next readings take the row away
            return [Cell("")] * self._columns
        self[subject] = cells
        return cells


class ReadingModel(QAbstractTableModel):
    """Rows of one `Table`."""

    def __init__(
        self, table: Table, circuit: Circuit, units: DisplayUnits, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._table, self._circuit, self._units = table, circuit, units
        self._subjects: list[str] = []
        self._cells = _Cells(lambda _subject: [], len(table.columns))
        self._rows: list[str] = []
        self._search = ""
        self._sorted_by = -1
        self._descending = False

    # -- what the view asks ---------------------------------------------------------

    def rowCount(self, parent: _INDEX = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: _INDEX = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self._table.columns)

    def data(self, index: _INDEX, role: int = _ROLE.DisplayRole) -> Any:
        row, column = index.row(), index.column()
        # most of what a view asks at each cell is of no concern here: fonts, icons, boxes
        if role not in _ANSWERED or not 0 <= row < len(self._rows):
            return None
        subject = self._rows[row]
        if role == SUBJECT_ROLE:
            return subject
        if role == _ROLE.TextAlignmentRole:
            return _RIGHT if self._is_figure(column) else _LEFT
        cell = self._cells[subject][column]
        if role == _ROLE.DisplayRole:
            return cell.text
        if role == _ROLE.ForegroundRole:
            wordy = self._is_figure(column) and not cell.is_number
            return theme.FAINT_INK if wordy else None
        return cell.hint or None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = _ROLE.DisplayRole
    ) -> Any:
        if orientation != Qt.Orientation.Horizontal:
            return None
        column = self._table.columns[section]
        if role == _ROLE.DisplayRole:
            unit = self._units.symbol(column.dimension) if column.dimension else ""
            return f"{column.title}\n[{unit}]" if unit else f"{column.title}\n"
        if role == _ROLE.ToolTipRole:
            return column.hint or None
        if role == _ROLE.TextAlignmentRole:
            return _RIGHT if self._is_figure(section) else _LEFT
        return None

    def sort(self, column: int, order: Qt.SortOrder = Qt.SortOrder.AscendingOrder) -> None:
        """Sort by a column, numbers by size; -1 gives the order of the file."""
        self._sorted_by = column
        self._descending = order == Qt.SortOrder.DescendingOrder
        self._reorder(self._arranged())

    # -- what the pane says ---------------------------------------------------------

    def subject(self, row: int) -> str:
        """`ID.PORT` or id of a row."""
        return self._rows[row]

    def rows_of(self, identifiers: set[str]) -> list[int]:
        """The rows that belong to components or lines of these ids."""
        return [r for r, s in enumerate(self._rows) if element_of(s) in identifiers]

    def search(self, text: str) -> None:
        """Show only rows that contain every word of the text."""
        self._search = text.lower()
        self._renew()

    def show_readings(self, readings: Readings | None) -> None:
        """Show other figures; one notification, whatever has changed."""
        circuit, units, make = self._circuit, self._units, self._table.cells
        self._subjects = list(self._table.subjects(circuit))
        self._cells = _Cells(
            lambda subject: make(circuit, readings, units, subject), len(self._table.columns)
        )
        wanted = self._arranged()
        if wanted == self._rows:
            self._tell_all()
        elif set(wanted) == set(self._rows):
            self._reorder(wanted)
        else:
            self._renew()

    def tell_units(self) -> None:
        """The headings name other units."""
        last = self.columnCount() - 1
        self.headerDataChanged.emit(Qt.Orientation.Horizontal, 0, last)

    # -- rows -----------------------------------------------------------------------

    def _is_figure(self, column: int) -> bool:
        declared = self._table.columns[column]
        return bool(declared.dimension) or declared.title == "Reynolds"

    def _arranged(self) -> list[str]:
        words = self._search.split()
        rows = [s for s in self._subjects if not words or _contains(self._cells[s], words)]
        if self._sorted_by >= 0:
            column, descending = self._sorted_by, self._descending
            figures = [s for s in rows if self._cells[s][column].number is not None]
            words_only = [s for s in rows if self._cells[s][column].number is None]
            figures.sort(key=lambda s: order_key(self._cells[s][column], descending=descending))
            words_only.sort(
                key=lambda s: order_key(self._cells[s][column], descending=False),
                reverse=descending,
            )
            rows = figures + words_only
        return rows

    def _renew(self) -> None:
        self.beginResetModel()
        self._rows = self._arranged()
        self.endResetModel()

    def _reorder(self, wanted: list[str]) -> None:
        if wanted == self._rows:
            self._tell_all()
            return
        self.layoutAboutToBeChanged.emit()
        places = {subject: row for row, subject in enumerate(wanted)}
        before = self.persistentIndexList()
        after = [self.index(places[self._rows[i.row()]], i.column()) for i in before]
        self._rows = wanted
        self.changePersistentIndexList(before, after)
        self.layoutChanged.emit()

    def _tell_all(self) -> None:
        if self._rows:
            corner = self.index(len(self._rows) - 1, self.columnCount() - 1)
            self.dataChanged.emit(self.index(0, 0), corner)


_RIGHT = int(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
_LEFT = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)


def _contains(cells: list[Cell], words: list[str]) -> bool:
    text = " ".join(cell.text for cell in cells).lower()
    return all(word in text for word in words)
