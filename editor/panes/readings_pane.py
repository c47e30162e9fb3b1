"""The pane Readings: pressures and flows of ports, lines and parts, as the circuit stands."""

from __future__ import annotations

from PySide6.QtCore import QItemSelection, QItemSelectionModel, QModelIndex, QSize, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QLineEdit,
    QTableView,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.events import Change
from editor.display_units import DisplayUnits
from editor.listening import listen
from editor.live_analysis import LiveAnalysis
from editor.panes.reading_cells import TABLES, Table, element_of
from editor.panes.reading_model import ReadingModel
from editor.selection import Selection

_SHOWN_FIELDS = ("display_units", "name", "labels")
"""Changes that need other words although the analysis has nothing new to say."""
_CELL_EDGES = 14


class ReadingTable(QTableView):
    """One table, its rows linked with the selection both ways."""

    def __init__(
        self, table: Table, circuit: Circuit, units: DisplayUnits, selection: Selection
    ) -> None:
        super().__init__()
        self._selection = selection
        self._following = False
        self._is_due = True
        self.readings_model = ReadingModel(table, circuit, units, self)
        self.setModel(self.readings_model)
        self.setAccessibleName(table.title)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setAlternatingRowColors(True)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.verticalHeader().hide()
        self.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.verticalHeader().setDefaultSectionSize(self.fontMetrics().height() + 6)
        # never by contents: that asks for every cell again at every change
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        header.setHighlightSections(False)
        header.setSortIndicatorClearable(True)
        header.setSortIndicator(-1, Qt.SortOrder.AscendingOrder)
        self.setSortingEnabled(True)
        for number, column in enumerate(table.columns):
            self.setColumnWidth(number, self._width_of(column.title, column.fits))
        header.setMinimumSectionSize(44)
        header.setStretchLastSection(True)
        self.selectionModel().selectionChanged.connect(self._on_rows_selected)
        self.readings_model.modelReset.connect(self.follow)
        self.activated.connect(self._reveal)
        selection.changed.connect(self.follow)

    def _width_of(self, *texts: str) -> int:
        return max(self.fontMetrics().horizontalAdvance(text) for text in texts) + _CELL_EDGES

    def follow(self) -> None:
        """Select the rows of what is selected on the sheet, and show the first of them."""
        model = self.readings_model
        wanted = set(self._selection.ids())
        if {element_of(model.subject(i.row())) for i in self._selected_rows()} == wanted:
            return
        chosen = QItemSelection()
        rows = model.rows_of(wanted) if wanted else []
        last = model.columnCount() - 1
        for row in rows:
            chosen.select(model.index(row, 0), model.index(row, last))
        self._following = True
        clear = QItemSelectionModel.SelectionFlag.ClearAndSelect
        self.selectionModel().select(chosen, clear)
        self._following = False
        if rows:
            self.scrollTo(model.index(rows[0], 0))

    def _selected_rows(self) -> list[QModelIndex]:
        return self.selectionModel().selectedRows(0)

    def _on_rows_selected(self, *_selections: QItemSelection) -> None:
        if self._following:
            return
        subjects = [self.readings_model.subject(i.row()) for i in self._selected_rows()]
        self._selection.set(element_of(subject) for subject in subjects)

    def _reveal(self, index: QModelIndex) -> None:
        self._selection.set([element_of(self.readings_model.subject(index.row()))], reveal=True)


class ReadingsPane(QWidget):
    """Search, a line that says how the readings stand, and the three tables."""

    def __init__(
        self,
        circuit: Circuit,
        live: LiveAnalysis,
        selection: Selection,
        units: DisplayUnits,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self._live = circuit, live
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Search readings")
        self.search.setAccessibleName("Search readings")
        self.search.setClearButtonEnabled(True)
        self.status = QLabel(self)
        self.status.setWordWrap(True)
        self.status.setTextFormat(Qt.TextFormat.PlainText)
        self.tabs = QTabWidget(self)
        self.tabs.setDocumentMode(True)
        self.tables = [ReadingTable(table, circuit, units, selection) for table in TABLES]
        for table, view in zip(TABLES, self.tables, strict=True):
            self.tabs.addTab(view, table.title)
        self._due = set(self.tables)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(6, 6, 6, 6)
        layout.setSpacing(6)
        layout.addWidget(self.search)
        layout.addWidget(self.status)
        layout.addWidget(self.tabs, 1)
        self.search.textChanged.connect(self._search)
        self.tabs.currentChanged.connect(self._show_current)
        live.readings_changed.connect(self._on_readings)
        self._stop_listening = listen(circuit.changed, self._on_change)
        self.refresh()

    def sizeHint(self) -> QSize:
        return QSize(440, 420)

    def _on_readings(self) -> None:
        if self._live.figures_due:
            self.refresh()

    def refresh(self) -> None:
        """Show the latest readings: the table in sight now, the others when they come up."""
        self._due = set(self.tables)
        self._show_current()
        text = self._status_text()
        self.status.setText(text)
        self.status.setVisible(bool(text))

    def _show_current(self, _index: int = -1) -> None:
        table = self.tables[self.tabs.currentIndex()]
        if table in self._due:
            self._due.remove(table)
            table.readings_model.show_readings(self._live.readings)
            table.follow()

    def _status_text(self) -> str:
        readings = self._live.readings
        if not self._circuit.components:
            return "Nothing to read yet: place symbols on the sheet and connect them."
        if readings is None:
            return self._live.problem or "Computing …"
        if not readings.converged:
            return f"No steady state was found: {readings.message}"
        count = len(readings.undetermined)
        if count:
            are = "port is" if count == 1 else "ports are"
            return f"{count} {are} undetermined: nothing pins the pressure down there."
        return ""

    def _on_change(self, change: Change) -> None:
        if change.action in ("added", "removed", "renamed", "reset"):
            # a row of a part that is gone must not wait for the next readings
            self.refresh()
        elif change.name in _SHOWN_FIELDS:
            for table in self.tables:
                table.readings_model.tell_units()
            self.refresh()

    def _search(self, text: str) -> None:
        for table in self.tables:
            table.readings_model.search(text)
