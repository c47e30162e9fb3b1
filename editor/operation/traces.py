"""Traces of signals over the time of the recording, with a cursor and export."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from math import ceil, floor, inf, nan
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QCompleter,
    QFileDialog,
    QGraphicsItem,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QMessageBox,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.output_file import write_whole
from analysis.procedures import signal_dimension
from editor.canvas.overlay import rounded_up
from editor.operation.operation import Operation
from editor.operation.trace_picture import png_of
from editor.unit_presets import DisplayUnits

COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#000000", "#E69F00")
"""Okabe and Ito's set, told apart by colour-blind readers too."""


_LEAST_TIME = 5.0


def room_for(low: float, high: float) -> tuple[float, float]:
    """The range of an axis that holds values from `low` to `high`, in round steps.

    >>> room_for(0.0, 97.0), room_for(200.0, 1800.0)
    ((-10.0, 100.0), (0.0, 2000.0))
    """
    span = high - low or abs(high) or 1.0
    step = rounded_up(span) / 10.0
    margin = 0.02 * span
    return floor((low - margin) / step) * step, ceil((high + margin) / step) * step


def figures_of(column: Sequence[Any]) -> Any:
    """The values of a signal as an array of floats, NaN where there is no figure.

    >>> figures_of([1.5, None, True]).tolist(), figures_of(["locked", 2]).tolist()
    ([1.5, nan, 1.0], [nan, 2.0])
    """
    import numpy

    try:
        # None becomes NaN; to look at each value takes twice as long
        return numpy.array(column, dtype=float)
    except ValueError:
        figures = [v if isinstance(v, int | float) else nan for v in column]
        return numpy.array(figures, dtype=float)


def trace_names(circuit: Circuit, identifiers: Iterable[str]) -> list[str]:
    """The signals worth seeing of parts and lines: movement, effort, pressures; a line's flow."""
    names = []
    for identifier in identifiers:
        if identifier in circuit.lines:
            names += [f"{identifier}.flow", f"{circuit.lines[identifier].start}.pressure"]
            continue
        declared = circuit.components[identifier].declared
        names += [
            f"{identifier}.{state}"
            for state in ("extension", "volume", "fluid_volume")
            if state in declared.states
        ]
        if declared.name == "hand_pump":
            names.append(f"{identifier}.effort")
        names += [f"{identifier}.{port.name}.pressure" for port in declared.ports]
    return list(dict.fromkeys(names))


class Traces(QWidget):
    """A plot of chosen signals; the plotting library is loaded when it is first shown."""

    cursor_moved = Signal(float)

    def __init__(
        self, operation: Operation, units: DisplayUnits, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._operation, self._units = operation, units
        self._view: Any = None
        self._plots: dict[str, Any] = {}
        self._curves: dict[str, Any] = {}
        self._cursors: list[Any] = []
        self._room: dict[str, tuple[float, float]] = {}
        self._by_hand = False
        self.names: list[str] = []
        self._picker = QComboBox()
        self._picker.setEditable(True)
        self._picker.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self._picker.setMinimumContentsLength(22)
        line = QLineEdit()
        line.setPlaceholderText("Signal, like 1A1.extension")
        self._picker.setLineEdit(line)
        completer = QCompleter(self._picker.model(), self._picker)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        completer.setFilterMode(Qt.MatchFlag.MatchContains)
        completer.setCompletionMode(QCompleter.CompletionMode.PopupCompletion)
        self._picker.setCompleter(completer)
        add = QPushButton("Add trace")
        clear = QPushButton("Clear")
        export = QPushButton("Export data…")
        picture = QPushButton("Export picture…")
        add.clicked.connect(self._add_picked)
        clear.clicked.connect(self.clear)
        export.clicked.connect(self._export)
        picture.clicked.connect(self._export_picture)
        self._readout = QLabel("Choose a signal to see it over time.")
        self._readout.setWordWrap(True)
        row = QHBoxLayout()
        for widget in (self._picker, add, clear, export, picture):
            row.addWidget(widget)
        row.setStretch(0, 1)
        self._box = QVBoxLayout(self)
        self._box.setContentsMargins(8, 6, 8, 6)
        self._box.addLayout(row)
        self._box.addWidget(self._readout)
        self._box.addStretch(1)

    def offer(self) -> None:
        """Fill the picker with the signals there are."""
        names = list(self._operation.history.signals)
        if names != [self._picker.itemText(i) for i in range(self._picker.count())]:
            self._picker.clear()
            self._picker.addItems(names)
            self._picker.setCurrentIndex(-1)

    def add(self, name: str) -> None:
        """Show a signal; a name that is no signal is said so."""
        if name in self.names:
            return
        if name not in self._operation.history.signals:
            self._readout.setText(f"There is no signal '{name}' in this recording.")
            return
        if len(self.names) >= len(COLOURS):
            self._readout.setText(f"{len(COLOURS)} traces are shown; clear them to add another.")
            return
        plot = self._plot_for(signal_dimension(self._operation.circuit, name))
        import pyqtgraph

        # a pen of width 1: wider antialiased ones cost a hundred times more
        pen = pyqtgraph.mkPen(COLOURS[len(self.names)], width=1)
        self._curves[name] = plot.plot([], [], pen=pen, name=name)
        self.names.append(name)
        self.refresh()

    def clear(self) -> None:
        """Take all traces away."""
        if self._view is not None:
            self._view.clear()
        self._plots, self._curves, self._cursors, self.names = {}, {}, [], []
        self._room, self._by_hand = {}, False
        self._readout.setText("Choose a signal to see it over time.")

    def refresh(self) -> None:
        """Draw what there is up to now, in the circuit's units."""
        if not self.names or not self.isVisible():
            return
        history = self._operation.history
        import numpy

        spans: dict[str, tuple[float, float]] = {}
        recorded = numpy.array(history.times, dtype=float)
        for name in self.names:
            times, values = self._points(name, recorded)
            self._curves[name].setData(times, values)
            if len(values):
                dimension = signal_dimension(self._operation.circuit, name)
                low, high = spans.get(dimension, (inf, -inf))
                spans[dimension] = min(low, values.min()), max(high, values.max())
        self._give_room(history.times[-1] if history.times else 0.0, spans)
        for cursor in self._cursors:
            cursor.setValue(self._operation.time)
        self._say(self._operation.time)

    def _points(self, name: str, recorded: Any) -> tuple[Any, Any]:
        """Times [s] and values in the circuit's unit, where there is a figure.

        `recorded`: the times of the recording, as an array.
        """
        import numpy

        values = figures_of(self._operation.history.signals.get(name, []))
        times, known = recorded[: len(values)], ~numpy.isnan(values)
        dimension = signal_dimension(self._operation.circuit, name)
        if dimension not in ("word", "number"):
            # every unit is a factor and a zero of its own
            zero = self._units.value(0.0, dimension)
            values = zero + values * (self._units.value(1.0, dimension) - zero)
        return times[known], values[known]

    def _give_room(self, end: float, spans: Mapping[str, tuple[float, float]]) -> None:
        """Let the plots reach as far as the curves, in steps: each costs the axes anew.

        Whoever has zoomed by hand is left alone, until the button of the plot is pressed.
        """
        if any(any(plot.vb.autoRangeEnabled()) for plot in self._plots.values()):
            self._by_hand, self._room = False, {}
        if self._by_hand:
            return
        wanted: dict[str, tuple[float, float]] = {name: room_for(*s) for name, s in spans.items()}
        wanted[""] = (0.0, rounded_up(max(end, _LEAST_TIME)))
        for name, room in wanted.items():
            if self._room.get(name) == room:
                continue
            self._room[name] = room
            if name:
                self._plots[name].setYRange(*room, padding=0)
            else:
                # the others are linked to it
                next(iter(self._plots.values())).setXRange(*room, padding=0)

    def _on_zoomed(self, *_: object) -> None:
        self._by_hand = True

    def _say(self, time: float) -> None:
        history = self._operation.history
        moment = history.nearest(time)
        if moment is None:
            return
        index = bisect_right(history.times, time + 1e-9) - 1
        words = [f"{moment.time:.2f} s"]
        for name in self.names:
            value = history.signals[name][index]
            words.append(f"{name}  {self._text(name, value)}")
        self._readout.setText("     ".join(words))

    def _text(self, name: str, value: Any) -> str:
        dimension = signal_dimension(self._operation.circuit, name)
        if value is None:
            return "not known"
        if dimension in ("word", "number") or isinstance(value, str | bool):
            return f"{value:.1f}" if isinstance(value, float) else str(value)
        return self._units.format(float(value), dimension)

    def _plot_for(self, dimension: str) -> Any:
        """One plot for each dimension, one below the other on the same time."""
        if dimension in self._plots:
            return self._plots[dimension]
        import pyqtgraph

        if self._view is None:
            self._view = pyqtgraph.GraphicsLayoutWidget()
            self._view.setBackground("#FFFFFF")
            self._view.setMinimumHeight(120)
            self._box.insertWidget(2, self._view, 10)
        plot = self._view.addPlot(row=len(self._plots), col=0)
        plot.showGrid(x=True, y=True, alpha=0.2)
        plot.addLegend(offset=(8, 4), labelTextColor="#222222")
        for side in ("left", "bottom"):
            plot.getAxis(side).setTextPen("#222222")
            # grid and figures cost more than all curves; they stay while the range does
            plot.getAxis(side).setCacheMode(QGraphicsItem.CacheMode.DeviceCoordinateCache)
        plot.disableAutoRange()
        plot.vb.sigRangeChangedManually.connect(self._on_zoomed)
        self._room.pop("", None)
        plot.getAxis("left").setWidth(64)
        plot.setLabel("left", self._axis_words(dimension))
        if self._plots:
            plot.setXLink(next(iter(self._plots.values())))
        cursor = pyqtgraph.InfiniteLine(0, movable=True, pen=pyqtgraph.mkPen("#777777"))
        cursor.sigDragged.connect(self._on_cursor)
        plot.addItem(cursor)
        self._cursors.append(cursor)
        self._plots[dimension] = plot
        return plot

    def _axis_words(self, dimension: str) -> str:
        return "" if dimension in ("word", "number") else self._units.symbol(dimension)

    def _on_cursor(self, cursor: Any) -> None:
        time = float(cursor.value())
        self._say(time)
        self.cursor_moved.emit(time)

    def _add_picked(self) -> None:
        self.add(self._picker.currentText().strip())

    def _export(self) -> None:
        """Write the shown signals (all, if none is shown) as CSV in SI."""
        history = self._operation.history
        if not history.times:
            self._readout.setText("There is nothing recorded yet; let the clock run first.")
            return
        path, _ = QFileDialog.getSaveFileName(self, "Export data", "traces.csv", "CSV (*.csv)")
        if not path:
            return
        names = self.names or list(history.signals)
        lines = [",".join(["time", *names])]
        for index, time in enumerate(history.times):
            cells = [history.signals[name][index] for name in names]
            lines.append(",".join([f"{time:.6g}", *("" if c is None else str(c) for c in cells)]))
        try:
            write_whole(path, ("\n".join(lines) + "\n").encode())
        except CircuitError as error:
            QMessageBox.warning(self, "Export data", str(error))

    def _export_picture(self) -> None:
        """Write the plots, with the circuit's name and what the cursor reads, as PNG."""
        if not self.names or self._view is None:
            self._readout.setText("There is no trace to picture yet; add one first.")
            return
        path, _ = QFileDialog.getSaveFileName(
            self, "Export picture", "traces.png", "Picture (*.png)"
        )
        if not path:
            return
        title = str(self._operation.circuit.title.get("name") or "Untitled circuit")
        try:
            write_whole(path, png_of(self._view, [title, self._readout.text()]))
        except CircuitError as error:
            QMessageBox.warning(self, "Export picture", str(error))
