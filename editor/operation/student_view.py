"""The student's view: faults are hidden, only what a crew would see is shown.

Hidden are the panes Part, Readings, Findings and Failures, the pressures on the lines, the
words of faults on the sheet, the tabs that name them, the numbers of the status line, Undo,
which names what it undoes, and the exports, which tell all. In their place stands a table of
gauges and efforts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
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

from analysis.circuit import Circuit
from analysis.events import Change
from editor.listening import listen
from editor.operation.cell_table import cell
from editor.operation.operation import Operation
from editor.unit_presets import DisplayUnits

if TYPE_CHECKING:
    from editor.main_window import MainWindow


_DEAD_BAND = 100.0
"""No gauge of a hydraulic circuit shows a pressure below this [Pa]; its needle rests."""


class Instruments(QWidget):
    """What a crew can read while the circuit is at work: gauges, levels and efforts."""

    def __init__(self, circuit: Circuit, operation: Operation, units: DisplayUnits) -> None:
        super().__init__()
        self._circuit, self._operation, self._units = circuit, operation, units
        self.reveal_button = QPushButton("Reveal faults")
        self.table = QTableWidget(0, 3)
        self.table.setAccessibleName("Gauges, levels and efforts")
        self.table.setHorizontalHeaderLabels(["Instrument", "Name", "Reads"])
        self.table.verticalHeader().hide()
        self.table.verticalHeader().setDefaultSectionSize(22)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        self.table.horizontalHeader().resizeSection(2, 150)
        self._rows: list[tuple[str, str]] = []
        said = QLabel("Faults are hidden. Run the clock and find them by what you see and feel.")
        said.setWordWrap(True)
        box = QVBoxLayout(self)
        box.setContentsMargins(8, 6, 8, 6)
        # where Hide faults was: below the table it would take the room of an instrument
        top = QHBoxLayout()
        top.addWidget(said, 1)
        top.addWidget(self.reveal_button)
        box.addLayout(top)
        box.addWidget(self.table, 1)
        operation.shown.connect(self.refresh)
        operation.ended.connect(self.refresh)

    def rebuild(self) -> None:
        """A row for each gauge, reservoir and hand pump."""
        asked = {
            "pressure_gauge": ("{0}.{1}.pressure", "pressure"),
            "reservoir": ("{0}.volume", "volume"),
            "hand_pump": ("{0}.effort", "force"),
        }
        self._rows = []
        names = []
        for component in self._circuit.components.values():
            if component.kind in asked:
                signal, dimension = asked[component.kind]
                port = component.declared.ports[0].name
                self._rows.append((signal.format(component.id, port), dimension))
                names.append((component.id, component.name or component.declared.title))
        self.table.setRowCount(len(names))
        for row, texts in enumerate(names):
            for column, text in enumerate((*texts, "")):
                self.table.setItem(row, column, QTableWidgetItem(text))
        self.refresh()

    def refresh(self) -> None:
        """Show what the instruments read at the time that is shown."""
        if not self._rows or self.isHidden():
            return
        signals = self._operation.signals_shown()
        for row, (signal, dimension) in enumerate(self._rows):
            value = signals.get(signal)
            if dimension == "pressure" and isinstance(value, float) and abs(value) < _DEAD_BAND:
                value = 0.0
            read = self._units.format(value, dimension) if isinstance(value, float) else "—"
            cell(self.table, row, 2).setText(read)


class StudentView(QObject):
    """Covers what names the faults, and brings back just what was shown before."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self._pane = window.operation_pane
        self.hidden = False
        self._docks: list[bool] = []
        self._overlay_on = True
        self._tab = 0
        self._describe = window.canvas.describe
        self._pane.faults.hide_requested.connect(self.hide)
        self._pane.instruments.reveal_button.clicked.connect(self.reveal)
        # queued: the window answers the same signal first
        window.document.changed.connect(self._disable, Qt.ConnectionType.QueuedConnection)
        listen(window.document.circuit.changed, self._on_change)

    def hide(self) -> None:
        """Show symptoms only."""
        if self.hidden:
            return
        self.hidden = True
        window, named = self._window, self._window.menus.named
        window.what_if.leave()
        self._docks = [not dock.isHidden() for dock in self._telling_docks()]
        self._overlay_on = window.overlay.is_on
        self._tab = self._pane.tabs.currentIndex()
        for dock in self._telling_docks():
            dock.hide()
        window.overlay.set_on(False)
        for name in ("Undo", "Redo"):
            named[name].setVisible(False)
        # what was broken last is still selected, and would give it away
        window.selection.clear()
        window.canvas.describe = _only_the_name
        window.canvas.sheet.show_faults(False)
        window.status.say("")
        self._disable()
        self._pane.cover(True)

    def _disable(self) -> None:
        """Offer nothing that tells; the window offers it anew whenever its document changes."""
        if not self.hidden:
            return
        window = self._window
        for dock in self._telling_docks():
            dock.toggleViewAction().setEnabled(False)
        window.menus.named["Pressures on the Lines"].setEnabled(False)
        window.menus.withhold_exports(True)
        window.menus.work.trace.setEnabled(False)
        window.menus.work.failures.setEnabled(False)
        window.menus.work.fail_menu.set_offered(False)
        window.status.show_numbers(False)

    def reveal(self) -> None:
        """Show again what was shown before, and the faults with it."""
        if not self.hidden:
            return
        self.hidden = False
        window, named = self._window, self._window.menus.named
        for dock, shown in zip(self._telling_docks(), self._docks, strict=True):
            dock.toggleViewAction().setEnabled(True)
            dock.setVisible(shown and window.document.is_open)
        window.overlay.set_on(self._overlay_on)
        named["Pressures on the Lines"].setEnabled(window.document.is_open)
        window.menus.withhold_exports(False)
        for name in ("Undo", "Redo"):
            named[name].setVisible(True)
        window.menus.work.trace.setEnabled(window.document.is_open)
        window.menus.work.failures.setEnabled(window.document.is_open)
        window.menus.work.fail_menu.set_offered(True)
        window.canvas.describe = self._describe
        window.canvas.sheet.show_faults(True)
        window.status.show_numbers(window.document.is_open)
        self._pane.cover(False)
        self._pane.tabs.setCurrentIndex(self._tab)

    def _telling_docks(self) -> list:
        return [*self._window.docks[1:], self._window.failures_dock]

    def _on_change(self, change: Change) -> None:
        # another circuit is opened: there is nothing to guess any more
        if change.action == "reset":
            self.reveal()


def _only_the_name(name: str) -> str:
    return name
