"""The pane Failures: every single failure, what it costs, and a look at the sheet with it."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.events import Change
from analysis.failure_modes import Failure
from analysis.failures_apart import FailuresApart
from analysis.output_file import write_whole
from editor.apart_run import ApartRun
from editor.commands.tables import csv_text
from editor.listening import listen
from editor.selection import Selection
from editor.single_failures.failure_rows import (
    CSV_HEADINGS,
    FailureRow,
    details,
    judged_state,
    rows_of,
    summary,
)
from editor.single_failures.failure_table import FailureTableView
from editor.single_failures.what_if import WhatIf

if TYPE_CHECKING:
    from analysis.failures import Case, FailureTable

_ALL = "All functions"
NOTHING_DRAWN = "Nothing can fail yet: place symbols on the sheet and connect them."
NO_FUNCTIONS = (
    "This circuit names no function that a failure could cost. A function is a requirement or a "
    "procedure: say what must reach where, or keep what you do in the pane Operation as a "
    "procedure with what is expected of it. What If works without."
)
NOT_YET = "Not worked out yet. Every failure is tried on every requirement and procedure."
STALE = "Of an earlier state of the drawing."


class FailuresPane(QWidget):
    """A button that works the table out, the table, and what the selected row costs and why.

    `message` is for the status line: the text, and whether it tells of something wrong.
    """

    message = Signal(str, bool)

    def __init__(
        self,
        circuit: Circuit,
        selection: Selection,
        what_if: WhatIf,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self._selection, self._what_if = circuit, selection, what_if
        self.run = ApartRun(self)
        self.table: FailureTable | None = None
        self._judged: tuple = ()
        self._running_on: tuple = ()
        self._stale = False
        self._problem = ""
        self._make_widgets()
        self._lay_out()
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._refresh_if_seen)
        self._connect()
        self.refresh()

    def sizeHint(self) -> QSize:
        return QSize(900, 260)

    # -- building ---------------------------------------------------------------------

    def _make_widgets(self) -> None:
        self.run_button = QPushButton("Work Out Failures")
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setFormat("%p %")
        self.progress.setMaximumWidth(220)
        self.status = QLabel()
        self.status.setWordWrap(True)
        self.status.setTextFormat(Qt.TextFormat.PlainText)
        self.what_if_button = QPushButton("What If")
        self.what_if_button.setToolTip(
            "Show the sheet with the selected failure in (Enter, or a double click on the row); "
            "nothing in the drawing is changed"
        )
        self.export_button = QPushButton("Export…")
        self.export_button.setToolTip("Write the rows that are shown to a file for spreadsheets")
        self.search = QLineEdit()
        self.search.setPlaceholderText("Search failures")
        self.search.setAccessibleName("Search failures")
        self.search.setClearButtonEnabled(True)
        self.function = QComboBox()
        self.function.setAccessibleName("Function")
        self.function.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.function.setMinimumContentsLength(24)
        self.costly = QCheckBox("Only what costs something")
        self.selected_only = QCheckBox("Only what is selected")
        self.view = FailureTableView(self._selection)
        self.details = QPlainTextEdit()
        self.details.setReadOnly(True)
        self.details.setTabChangesFocus(True)
        self.details.setAccessibleName("What the failure costs and why")

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.addWidget(self.run_button)
        top.addWidget(self.progress)
        top.addWidget(self.status, 1)
        top.addWidget(self.what_if_button)
        top.addWidget(self.export_button)
        asked = QHBoxLayout()
        asked.addWidget(self.search, 1)
        asked.addWidget(self.function, 1)
        asked.addWidget(self.costly)
        asked.addWidget(self.selected_only)
        self._splitter = QSplitter(Qt.Orientation.Horizontal)
        self._splitter.addWidget(self.view)
        self._splitter.addWidget(self.details)
        self._splitter.setStretchFactor(0, 3)
        self._splitter.setStretchFactor(1, 1)
        self._splitter.setChildrenCollapsible(False)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 6, 8, 6)
        column.setSpacing(5)
        column.addLayout(top)
        column.addLayout(asked)
        column.addWidget(self._splitter, 1)

    def _connect(self) -> None:
        self.run_button.clicked.connect(self.start_or_cancel)
        self.run.started.connect(self._show_state)
        self.run.progressed.connect(self._on_progress)
        self.run.finished.connect(self._take)
        self.run.cancelled.connect(self._show_state)
        self.search.textChanged.connect(self._ask)
        self.function.currentIndexChanged.connect(self._ask)
        self.costly.toggled.connect(self._ask)
        self.selected_only.toggled.connect(self._ask)
        self._selection.changed.connect(self._on_selection)
        self.view.asked.connect(self._ask_row)
        self.view.current_changed.connect(self._show_row)
        self.what_if_button.clicked.connect(self._ask_current)
        self.export_button.clicked.connect(self._export)
        listen(self._circuit.changed, self._on_change)

    # -- working it out -----------------------------------------------------------------

    def start_or_cancel(self) -> None:
        """Work the table out, or give that up."""
        if self.run.running:
            self.run.cancel()
            return
        self._problem = ""
        self._running_on = judged_state(self._circuit)
        self.progress.setValue(0)
        self.run.start(partial(FailuresApart, self._circuit.copy()))

    def _on_progress(self, share: float) -> None:
        self.progress.setValue(round(share * 1000))

    def _take(self, table: FailureTable | None, problem: str) -> None:
        if table is None:
            self._problem = problem
        else:
            self.table, self._judged = table, self._running_on
            self._offer_functions()
        self.refresh()

    def _on_change(self, change: Change) -> None:
        if change.action == "reset":
            # another circuit: what was found of the last one is of no use here
            self.run.cancel()
            self.table, self._judged, self._problem = None, (), ""
            self.search.clear()
            self.costly.setChecked(False)
            self.selected_only.setChecked(False)
            self._offer_functions()
        self._soon.start()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._soon.start()

    def _refresh_if_seen(self) -> None:
        # every change of the drawing asks for it, and the pane is mostly out of sight
        if self.isVisible():
            self.refresh()

    def refresh(self) -> None:
        """Show the rows there are, and whether they are of the circuit as it is now."""
        self._stale = self.table is not None and judged_state(self._circuit) != self._judged
        self.view.failures.show_rows(rows_of(self._circuit, self.table))
        self.view.failures.set_stale(self._stale)
        self._ask()
        self._show_state()
        self._show_row()

    def close_down(self) -> None:
        """Stop all that runs, as the window goes."""
        self._soon.stop()
        self.run.close()

    # -- showing --------------------------------------------------------------------------

    def _show_state(self) -> None:
        running = self.run.running
        has_functions = bool(self._circuit.requirements or self._circuit.procedures)
        can_run = bool(self._circuit.components) and has_functions
        words = "Work Out Failures" if self.table is None else "Work Out Again"
        self.run_button.setText("Cancel" if running else words)
        self.run_button.setEnabled(running or can_run)
        self.progress.setVisible(running)
        self.status.setText(self._state_words(has_functions))
        has_rows = bool(self.view.failures.rows)
        self.export_button.setEnabled(self.table is not None)
        needs_rows: list[QWidget] = [self.search, self.selected_only, self._splitter]
        for widget in needs_rows:
            widget.setEnabled(has_rows)
        needs_table: list[QWidget] = [self.function, self.costly]
        for widget in needs_table:
            widget.setEnabled(self.table is not None)

    def _state_words(self, has_functions: bool) -> str:
        if self.run.running:
            return "Trying every failure. Go on drawing meanwhile."
        if self._problem:
            return self._problem
        if self.table is not None:
            found = summary(self.table)
            return f"{STALE} {found}" if self._stale else found
        if not self._circuit.components:
            return NOTHING_DRAWN
        return NOT_YET if has_functions else NO_FUNCTIONS

    def _offer_functions(self) -> None:
        chosen = self.function.currentText()
        self.function.blockSignals(True)
        self.function.clear()
        self.function.addItem(_ALL)
        if self.table is not None:
            self.function.addItems(list(self.table.functions))
        self.function.setCurrentIndex(max(self.function.findText(chosen), 0))
        self.function.blockSignals(False)

    def _ask(self) -> None:
        function = self.function.currentText() if self.function.currentIndex() > 0 else ""
        self.view.ask_for(
            self.search.text(),
            function,
            costly=self.costly.isChecked() and self.table is not None,
            only=self._selection.ids() if self.selected_only.isChecked() else None,
        )

    def _on_selection(self) -> None:
        if self.selected_only.isChecked():
            self._ask()

    def _show_row(self) -> None:
        row = self.view.current_row()
        text = details(row)
        if row is not None and self._stale:
            text = f"{STALE}\n{text}"
        if self.details.toPlainText() != text:
            self.details.setPlainText(text)
        self.what_if_button.setEnabled(row is not None)

    # -- doing ------------------------------------------------------------------------------

    def _ask_current(self) -> None:
        row = self.view.current_row()
        if row is not None:
            self._ask_row(row)

    def _ask_row(self, row: FailureRow) -> None:
        self.ask_what_if(row.failure)

    def ask_what_if(self, failure: Failure) -> None:
        """Show the sheet with a failure in, and what the table says of it, if there is one."""
        try:
            self._what_if.show(failure, self._case(failure))
        except CircuitError as error:
            self.message.emit(f"{error}; work the failures out again", True)

    def _case(self, failure: Failure) -> Case | None:
        """What the table says of the failure, unless it is of an earlier state."""
        # asked from the sheet the pane may be out of sight, and know of no change
        table = self.current_table()
        if table is None:
            return None
        asked = tuple(failure)
        return next((c for c in table.cases if (c.subject, c.mode) == asked), None)

    def current_table(self) -> FailureTable | None:
        """The table, if it is of the circuit as it is now."""
        if self.table is None or judged_state(self._circuit) != self._judged:
            return None
        return self.table

    def _export(self) -> None:
        path, _ = QFileDialog.getSaveFileName(
            self, "Export failures", "failures.csv", "Tables (*.csv)"
        )
        if not path:
            return
        try:
            write_whole(path, self.csv().encode())
        except CircuitError as error:
            self.message.emit(str(error), True)
            return
        self.message.emit(f"{self.view.order.rowCount()} rows written to {Path(path).name}", False)

    def csv(self) -> str:
        """The rows that are shown, in the order in which they are shown."""
        return csv_text(CSV_HEADINGS, [row.csv_cells() for row in self.view.shown_rows()])
