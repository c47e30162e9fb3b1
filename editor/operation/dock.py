"""The pane in which the circuit is worked: clock, controls, events, traces, procedures."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QInputDialog,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QScrollArea,
    QSlider,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from editor.operation.controls import Controls
from editor.operation.faults_tab import FaultsTab
from editor.operation.operation import Operation
from editor.operation.procedures_tab import ProceduresTab
from editor.operation.student_view import Instruments
from editor.operation.traces import Traces, trace_names
from editor.selection import Selection
from editor.undo_commands import SetField, push
from editor.unit_presets import DisplayUnits

_TRACES_TURN = 3
"""Not on the frame on which the readings are shown."""

SPEEDS = ("0.1", "0.25", "0.5", "1", "2", "5", "10", "20")


class OperationPane(QWidget):
    """Work the circuit by the clock; `message` is for the status line."""

    message = Signal(str)

    def __init__(
        self,
        circuit: Circuit,
        operation: Operation,
        selection: Selection,
        stack: QUndoStack,
        units: DisplayUnits,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self.operation = circuit, operation
        self._selection, self._stack = selection, stack
        self.run_button = QPushButton("Run")
        self.step_button = QPushButton("Step 0.1 s")
        self.finish_button = QPushButton("Back to the instant")
        self._keep = QPushButton("Keep as procedure…")
        self._speed = QComboBox()
        self._speed.addItems([f"{speed} ×" for speed in SPEEDS])
        self._speed.setCurrentIndex(SPEEDS.index("1"))
        self._speed.setToolTip("How fast the clock runs")
        self._clock = QLabel("0.00 s")
        self._clock.setMinimumWidth(84)
        self._clock.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        self._slider = QSlider(Qt.Orientation.Horizontal)
        self._slider.setToolTip("Back to any moment of the recording")
        self.controls = Controls(circuit, operation, stack)
        self.traces = Traces(operation, units)
        self.procedures = ProceduresTab(circuit, operation, stack)
        self.faults = FaultsTab(circuit, operation, selection, stack)
        self.instruments = Instruments(circuit, operation, units)
        self.events = QListWidget()
        self.events.setAlternatingRowColors(True)
        self._lay_out()
        self._connect()
        self._worked: Circuit | None = None
        self.controls.rebuild()
        self._show_state()

    def _lay_out(self) -> None:
        bar = QHBoxLayout()
        for widget in (self.run_button, self.step_button, self.finish_button, self._speed):
            bar.addWidget(widget)
        bar.addWidget(self._clock)
        bar.addWidget(self._slider, 1)
        bar.addWidget(self._keep)
        self._controls_scroll = scroll = QScrollArea()
        scroll.setWidget(self.controls)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QScrollArea.Shape.NoFrame)
        self.tabs = QTabWidget()
        self.tabs.setDocumentMode(True)
        self.tabs.addTab(scroll, "Controls")
        self.tabs.addTab(self.events, "Events")
        self.tabs.addTab(self.traces, "Traces")
        self.tabs.addTab(self.procedures, "Procedures")
        self.tabs.addTab(self.faults, "Faults")
        self.tabs.addTab(self.instruments, "Instruments")
        self.cover(False)
        box = QVBoxLayout(self)
        box.setContentsMargins(6, 6, 6, 4)
        box.addLayout(bar)
        box.addWidget(self.tabs, 1)

    def _connect(self) -> None:
        operation = self.operation
        self.run_button.clicked.connect(self.toggle)
        self.step_button.clicked.connect(self._step)
        self.finish_button.clicked.connect(operation.finish)
        self._keep.clicked.connect(self._keep_procedure)
        self._speed.currentIndexChanged.connect(self._on_speed)
        self._slider.sliderMoved.connect(self._on_slider)
        self.traces.cursor_moved.connect(operation.view)
        self.events.itemClicked.connect(self._on_event)
        operation.shown.connect(self._on_shown)
        operation.started.connect(self._on_started)
        operation.ended.connect(self._show_state)
        operation.running_changed.connect(self._show_state)
        operation.running_changed.connect(self._on_running)
        operation.failed.connect(self.message)
        self.faults.message.connect(self.message)

    def cover(self, covered: bool) -> None:
        """Show controls and instruments only, or (False) all tabs but the instruments."""
        for index in range(self.tabs.count()):
            widget = self.tabs.widget(index)
            student = widget is self.instruments
            if widget is not self._controls_scroll:
                self.tabs.setTabVisible(index, student == covered)
        self._keep.setVisible(not covered)
        if covered:
            self.tabs.setCurrentWidget(self.instruments)
            self.instruments.rebuild()

    def trace(self, identifiers: Iterable[str]) -> None:
        """Add to the traces what moves in these parts, and their pressures and flows."""
        self.traces.offer()
        self.tabs.setCurrentWidget(self.traces)
        for name in trace_names(self._circuit, identifiers):
            self.traces.add(name)

    # -- buttons ----------------------------------------------------------------------

    def toggle(self) -> None:
        """Run the clock, or hold it."""
        if self.operation.running:
            self.operation.pause()
        else:
            self.operation.run()

    def _step(self) -> None:
        self.operation.step(0.1)

    def _on_speed(self, index: int) -> None:
        self.operation.speed = float(SPEEDS[index])

    def _on_slider(self, value: int) -> None:
        self.operation.view(value / 100.0)

    def _keep_procedure(self) -> None:
        name, given = QInputDialog.getText(self, "Keep as procedure", "Name of the procedure:")
        name = name.strip()
        if not given or not name:
            return
        taken = {p.get("name") for p in self._circuit.procedures}
        if name in taken:
            self.message.emit(f"There is a procedure '{name}' already; choose another name.")
            return
        procedures = [*self._circuit.procedures, self.operation.as_procedure(name)]
        push(self._stack, SetField(self._circuit, "", "procedures", procedures))
        self.message.emit(f"Kept as procedure '{name}'; standpipe run works it again.")

    # -- showing ----------------------------------------------------------------------

    def _on_started(self) -> None:
        self.events.clear()
        self.controls.rebuild()
        self.traces.offer()
        self._show_state()

    def _on_shown(self) -> None:
        operation = self.operation
        self._clock.setText(f"{operation.time:.2f} s")
        if not self._slider.isSliderDown():
            self._slider.setRange(0, int(operation.end * 100))
            self._slider.setValue(int(operation.time * 100))
        self._keep.setEnabled(bool(operation.deeds))
        self._show_events()
        if operation.is_due(_TRACES_TURN):
            self.traces.refresh()
        # it is another circuit whenever something was set in it
        if operation.worked_circuit is not self._worked:
            self._worked = operation.worked_circuit
            self.controls.refresh()

    def _on_running(self, running: bool) -> None:
        if not running:
            self.traces.refresh()

    def _show_events(self) -> None:
        events = self.operation.events
        if self.events.count() == len(events):
            return
        if self.events.count() > len(events):
            self.events.clear()
        for event in events[self.events.count() :]:
            item = QListWidgetItem(f"{event.time:8.2f} s   {event.subject}   {event.message}")
            item.setData(Qt.ItemDataRole.UserRole, event.subject)
            self.events.addItem(item)
        if events:
            self.events.scrollToBottom()

    def _on_event(self, item: QListWidgetItem) -> None:
        self._selection.set((item.data(Qt.ItemDataRole.UserRole),), reveal=True)

    def _show_state(self, *_: object) -> None:
        operation = self.operation
        self.run_button.setText("Hold the clock" if operation.running else "Run")
        self.finish_button.setEnabled(operation.active)
        self._slider.setEnabled(operation.active)
        self._keep.setEnabled(bool(operation.deeds))
        if not operation.active:
            self._clock.setText("instant")
            self._slider.setValue(0)
        self.controls.refresh()
