"""Faults: what is broken now, and a way to break and mend any part or line."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import DEFAULT, Circuit, Component
from analysis.elements import Element
from analysis.errors import CircuitError
from analysis.events import Change
from editor.listening import listen
from editor.operation.cell_table import cell
from editor.operation.hands import set_state
from editor.operation.operation import Operation
from editor.selection import Selection

_HEADERS = ("Id", "Name", "Fault now")


class FaultsTab(QWidget):
    """Every part and line with its fault; the selected one can be broken and mended.

    `hide_requested` asks for the student's view; `message` says what was refused.
    """

    hide_requested = Signal()
    message = Signal(str)

    def __init__(
        self, circuit: Circuit, operation: Operation, selection: Selection, stack: QUndoStack
    ) -> None:
        super().__init__()
        self._circuit, self._operation = circuit, operation
        self._selection, self._stack = selection, stack
        self.picked = QLabel()
        self.buttons: dict[str, QPushButton] = {}
        self._choices = QHBoxLayout()
        self._choices.setSpacing(4)
        self.hide_button = QPushButton("Hide faults")
        self.hide_button.setToolTip(
            "For an instructor: the student sees gauges, effort, motion and levels only"
        )
        self.table = QTableWidget(0, len(_HEADERS))
        self.table.setAccessibleName("Faults")
        self.table.setHorizontalHeaderLabels(list(_HEADERS))
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(22)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        header.resizeSection(2, 160)
        row = QHBoxLayout()
        row.addWidget(self.picked)
        row.addLayout(self._choices)
        row.addStretch(1)
        row.addWidget(self.hide_button)
        box = QVBoxLayout(self)
        box.setContentsMargins(8, 6, 8, 6)
        box.addLayout(row)
        box.addWidget(self.table, 1)
        self.hide_button.clicked.connect(self.hide_requested)
        self.table.itemSelectionChanged.connect(self._on_row)
        selection.changed.connect(self._show_selection)
        self._worked: Circuit | None = None
        operation.shown.connect(self._on_shown)
        operation.ended.connect(self.refresh)
        listen(circuit.changed, self._on_change)
        self.rebuild()

    def rebuild(self) -> None:
        """Make the rows anew for the circuit as it is; what can break comes in, in its order."""
        elements = [e for e in self._circuit.elements() if len(faults_of(e)) > 1]
        self.table.blockSignals(True)
        self.table.setRowCount(len(elements))
        for row, element in enumerate(elements):
            for column, text in enumerate((element.id, name_of(element), "")):
                self.table.setItem(row, column, QTableWidgetItem(text))
        self.table.blockSignals(False)
        self.refresh()
        self._show_selection()

    def _on_shown(self) -> None:
        # it is another circuit whenever something was set in it
        if self._operation.worked_circuit is not self._worked:
            self.refresh()

    def refresh(self) -> None:
        """Show the faults as they are now, in the motion while the circuit is at work."""
        worked = self._worked = self._operation.worked_circuit
        for row in range(self.table.rowCount()):
            identifier = cell(self.table, row, 0).text()
            if identifier not in worked:
                continue
            fault = fault_now(worked.element(identifier))
            text = "" if fault == "none" else f"✖ {fault.replace('_', ' ')}"
            if cell(self.table, row, 2).text() != text:
                cell(self.table, row, 2).setText(text)
        self._check_button()

    def _on_change(self, change: Change) -> None:
        if change.action != "changed" or change.name == "name":
            self.rebuild()
        elif change.name == "state.fault":
            self.refresh()

    # -- the selected one -------------------------------------------------------------

    @property
    def _chosen(self) -> str:
        ids = [i for i in self._selection.ids() if i in self._circuit]
        return ids[0] if len(ids) == 1 else ""

    def _on_row(self) -> None:
        rows = self.table.selectionModel().selectedRows()
        if len(rows) == 1:
            self._selection.set((cell(self.table, rows[0].row(), 0).text(),), reveal=True)

    def _show_selection(self) -> None:
        while self._choices.count():
            item = self._choices.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                # hidden at once, since it is deleted only when the event is over
                widget.hide()
                widget.deleteLater()
        self.buttons = {}
        chosen = self._chosen
        self._select_row(chosen)
        if not chosen:
            self.picked.setText("Select one part or line on the sheet or below to break it.")
            return
        faults = faults_of(self._circuit.element(chosen))
        if len(faults) < 2:
            self.picked.setText(f"Selected: {chosen} — has no faults")
            return
        self.picked.setText(f"Selected: {chosen} —")
        for fault in faults:
            button = QPushButton("no fault" if fault == "none" else fault.replace("_", " "))
            button.setCheckable(True)
            button.clicked.connect(partial(self._set, chosen, fault))
            self._choices.addWidget(button)
            self.buttons[fault] = button
        self._check_button()

    def _select_row(self, identifier: str) -> None:
        self.table.blockSignals(True)
        self.table.clearSelection()
        for row in range(self.table.rowCount()):
            if cell(self.table, row, 0).text() == identifier:
                self.table.selectRow(row)
                self.table.scrollToItem(cell(self.table, row, 0))
        self.table.blockSignals(False)

    def _check_button(self) -> None:
        worked = self._worked = self._operation.worked_circuit
        if self._chosen in worked:
            now = fault_now(worked.element(self._chosen))
            for fault, button in self.buttons.items():
                button.setChecked(fault == now)

    def _set(self, identifier: str, fault: str, _checked: bool = False) -> None:
        value = DEFAULT if fault == "none" else fault
        try:
            set_state(self._operation, self._stack, identifier, "fault", value)
        except CircuitError as error:
            self.message.emit(str(error))
        self.refresh()


def faults_of(element: Element) -> tuple[str, ...]:
    """The faults a part or line can have, `none` the first."""
    return tuple(element.state_of("fault").choices)


def fault_now(element: Element) -> str:
    """The fault it has, or `none`."""
    return str(element.state.get("fault", "none"))


def name_of(element: Element) -> str:
    """The name it was given, else what it is."""
    if isinstance(element, Component):
        return element.name or element.declared.title
    return f"{element.role} line {element.start} to {element.end}"
