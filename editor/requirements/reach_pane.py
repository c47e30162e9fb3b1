"""The pane Reach: each supply against each actuator port, over all settings of the levers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHeaderView,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.events import Change
from analysis.verdict_ways import Shown, ShownWay
from analysis.words import described, described_port, listed
from editor import theme
from editor.canvas.canvas import Canvas
from editor.canvas.way_overlay import WayOverlay
from editor.listening import listen
from editor.live_analysis import IDLE_MS, Job

if TYPE_CHECKING:
    from analysis.reach_matrix import Cell, ReachMatrix

_DRAWING = {"at", "turn", "mirror", "via", "title", "sheet", "display_units", "evidence"}
_EMPTY = (
    "Nothing to show yet: draw a pump, accumulator or pressure source and an actuator. This "
    "table then says with which levers each supply gets to each port."
)
_COLUMNS_THAT_FIT = 3
_CELL_ROLE = Qt.ItemDataRole.UserRole


class ReachPane(QWidget):
    """A table, and below it the lever settings of the chosen cell; a click shows the way.

    It computes in a thread, and only while it is seen.
    """

    message = Signal(str)

    def __init__(
        self,
        circuit: Circuit,
        canvas: Canvas,
        overlay: WayOverlay,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self.overlay = circuit, overlay
        self.matrix: ReachMatrix | None = None
        self._stale, self._seen = True, False
        self._asked: tuple[Cell, dict[str, dict[str, str]], str] | None = None
        self._job = Job(circuit, _find_matrix, self, in_thread=True)
        self._job.finished.connect(self._take_matrix)
        self._way_job = Job(circuit, self._find_way, self, in_thread=True)
        self._way_job.finished.connect(self._take_way)
        self._idle = QTimer(self)
        self._idle.setSingleShot(True)
        self._idle.setInterval(IDLE_MS)
        self._idle.timeout.connect(self._start)
        self.summary = _wrapped()
        self.warning = _wrapped()
        self.table = _Table()
        self.heading = _wrapped()
        self.settings = QListWidget()
        self.settings.setAccessibleName("Lever settings of the chosen cell")
        self.settings.setWordWrap(True)
        box = QVBoxLayout(self)
        box.setContentsMargins(6, 6, 6, 6)
        box.setSpacing(6)
        for widget in (self.summary, self.warning):
            box.addWidget(widget)
        box.addWidget(self.table, 3)
        box.addWidget(self.heading)
        box.addWidget(self.settings, 2)
        self.setMinimumHeight(200)
        self.table.currentCellChanged.connect(self._on_cell)
        self.table.cellClicked.connect(self._on_cell)
        self.table.escaped.connect(self.put_away)
        self.settings.currentRowChanged.connect(self._on_setting)
        self.settings.itemClicked.connect(self._ask_current)
        canvas.escaped.connect(self.put_away)
        listen(circuit.changed, self._on_change)
        self._show_matrix()

    def sizeHint(self) -> QSize:
        return QSize(380, 400)

    def close_jobs(self) -> None:
        """Compute nothing any more."""
        self._idle.stop()
        self._job.close()
        self._way_job.close()

    @property
    def is_current(self) -> bool:
        """Whether the table belongs to the circuit as it is now."""
        return not (self._stale or self._idle.isActive() or self._job.busy)

    # -- computing --------------------------------------------------------------------

    def _on_change(self, change: Change) -> None:
        if change.action == "changed" and change.name in _DRAWING:
            return
        self._stale = True
        if self._seen:
            self._idle.start()
        if change.action == "reset":
            self.put_away()

    def set_seen(self, seen: bool) -> None:
        """Told by the dock: a pane behind another counts as visible to Qt, but is not seen."""
        self._seen = seen
        if not seen:
            self._idle.stop()
            self.put_away()
        elif self._stale:
            self._idle.start()

    def _start(self) -> None:
        self._stale = False
        self._job.start()

    def _take_matrix(self, result: Any, problem: Any, _ms: float, _revision: int) -> None:
        self.matrix = result
        if problem:
            self.message.emit(str(problem))
        self._show_matrix()

    # -- the table --------------------------------------------------------------------

    def _show_matrix(self) -> None:
        matrix = self.matrix
        sources = _sources(self._circuit) if matrix is not None else []
        ports = _ports(self._circuit) if matrix is not None else []
        filled = bool(sources and ports) and matrix is not None
        for widget in (self.table, self.heading, self.settings):
            widget.setVisible(filled)
        self.warning.setVisible(False)
        if not filled or matrix is None:
            self.summary.setText("Computing …" if matrix is None else _EMPTY)
            return
        levers = len(matrix.levers)
        self.summary.setText(
            f"{matrix.total} settings of {levers} lever{'' if levers == 1 else 's'}; in how many "
            "of them each supply, working alone, gets to each port. A cell shows which."
        )
        self._warn(matrix)
        self._fill(matrix, sources, ports)

    def _warn(self, matrix: ReachMatrix) -> None:
        lines = []
        if matrix.never:
            names = listed(described(self._circuit.components[i]) for i in matrix.never
                           if i in self._circuit.components)  # fmt: skip
            lines.append(f"✖ No supply gets to {names}, whatever the levers.")
        if matrix.pressing:
            pairs = listed(f"{cell.source} on {cell.port}" for cell in matrix.pressing)
            lines.append(f"▲ Supplies press on each other: {pairs}; see the last rows.")
        if matrix.inexact:
            lines.append(
                f"▲ The suction of {listed(matrix.inexact)} is so tangled that its cells may "
                "count settings too many."
            )
        self.warning.setText("\n".join(lines))
        self.warning.setVisible(bool(lines))

    def _fill(self, matrix: ReachMatrix, sources: list[str], ports: list[str]) -> None:
        pressing = {(cell.source, cell.port): cell for cell in matrix.pressing}
        outlets = list(dict.fromkeys(cell.port for cell in matrix.pressing))
        table, chosen = self.table, (self.table.currentRow(), self.table.currentColumn())
        table.blockSignals(True)
        table.setColumnCount(len(sources))
        fits = len(sources) <= _COLUMNS_THAT_FIT
        mode = QHeaderView.ResizeMode.Stretch if fits else QHeaderView.ResizeMode.Fixed
        table.horizontalHeader().setSectionResizeMode(mode)
        table.setRowCount(len(ports) + len(outlets))
        for column, source in enumerate(sources):
            header = QTableWidgetItem(source)
            header.setToolTip(described(self._circuit.components[source]))
            table.setHorizontalHeaderItem(column, header)
        for row, port in enumerate((*ports, *outlets)):
            header = QTableWidgetItem(port)
            header.setToolTip(described_port(self._circuit, port))
            table.setVerticalHeaderItem(row, header)
            for column, source in enumerate(sources):
                cell = matrix.cells.get((source, port)) or pressing.get((source, port))
                table.setItem(row, column, _item(cell, matrix.total, source, port))
        table.blockSignals(False)
        if 0 <= chosen[0] < table.rowCount() and 0 <= chosen[1] < table.columnCount():
            table.setCurrentCell(*chosen)
        self._on_cell()

    def _cell(self) -> Cell | None:
        item = self.table.currentItem()
        return item.data(_CELL_ROLE) if item is not None else None

    def _on_cell(self, *_: int) -> None:
        """List the settings of the cell; the first one's way is shown."""
        from analysis.reach_ways import settings_words

        cell = self._cell()
        self.settings.blockSignals(True)
        self.settings.clear()
        for part in cell.parts if cell is not None else ():
            words = settings_words(self._circuit, part) or "whatever the levers"
            item = QListWidgetItem(words)
            item.setData(_CELL_ROLE, dict(part))
            item.setToolTip(words)
            self.settings.addItem(item)
        self.settings.blockSignals(False)
        if cell is None:
            chosen = self.table.currentItem() is not None
            self.heading.setText("No setting does." if chosen else "Choose a cell.")
            self.overlay.clear(self)
            self._asked = None
            return
        self.heading.setText(f"<b>{cell.source} gets to {cell.port}</b> with:")
        self.settings.setCurrentRow(0)
        self._ask_current()

    # -- the way ----------------------------------------------------------------------

    def _on_setting(self, _row: int) -> None:
        self._ask_current()

    def _ask_current(self, *_: object) -> None:
        from analysis.reach_ways import setting_of

        cell, item = self._cell(), self.settings.currentItem()
        if cell is not None and item is not None:
            self._asked = cell, setting_of(item.data(_CELL_ROLE)), item.text()
            self._way_job.start()

    def _find_way(self, circuit: Circuit) -> Any:
        """In a thread: the way of the setting that is asked for last."""
        from analysis.reach_ways import way_in_setting

        asked = self._asked
        if asked is None:
            return None
        cell, setting, _words = asked
        return asked, way_in_setting(circuit, cell.source, cell.port, setting)

    def _take_way(self, result: Any, problem: Any, _ms: float, _revision: int) -> None:
        if problem:
            self.message.emit(str(problem))
        if not isinstance(result, tuple) or result[0] is not self._asked or not self._seen:
            return
        (cell, _setting, words), way = result
        if way is None:
            self.overlay.clear(self)
            self.message.emit(f"There is no such way from {cell.source} to {cell.port}.")
            return
        actuator = (cell.source, cell.port) in (self.matrix.cells if self.matrix else ())
        shown = Shown((ShownWay(way.whole, "supply" if actuator else "stray"),))
        title = f"{cell.source} gets to {described_port(self._circuit, cell.port)}"
        self.overlay.show(self, shown, title, f"with {words}", holds=False)

    def put_away(self) -> None:
        """Draw no way any more, and choose no cell."""
        self._asked = None
        self.overlay.clear(self)
        self.table.blockSignals(True)
        self.table.setCurrentItem(None)  # type: ignore[call-overload]
        self.table.clearSelection()
        self.table.blockSignals(False)
        self.settings.clear()
        self.heading.setText("Choose a cell.")


class _Table(QTableWidget):
    """The matrix; Escape puts the shown way away."""

    escaped = Signal()

    def __init__(self) -> None:
        super().__init__(0, 0)
        self.setAccessibleName("Reach of the supplies")
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.horizontalHeader().setDefaultSectionSize(82)
        self.verticalHeader().setDefaultSectionSize(24)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.escaped.emit()
        else:
            super().keyPressEvent(event)


def _item(cell: Cell | None, total: int, source: str, port: str) -> QTableWidgetItem:
    if cell is None:
        item = QTableWidgetItem("never")
        item.setForeground(QColor(theme.FAINT_INK))
        said = f"{source} never gets to {port}"
    elif cell.count == total:
        item = QTableWidgetItem("always")
        said = f"{source} gets to {port} whatever the levers"
    else:
        item = QTableWidgetItem(f"{cell.count} of {total}")
        said = f"{source} gets to {port} in {cell.count} of {total} settings"
    if cell is not None:
        font = item.font()
        font.setBold(True)
        item.setFont(font)
    item.setTextAlignment(Qt.AlignmentFlag.AlignCenter)
    item.setData(_CELL_ROLE, cell)
    item.setToolTip(said)
    item.setData(Qt.ItemDataRole.AccessibleTextRole, said)
    return item


def _wrapped() -> QLabel:
    label = QLabel()
    label.setWordWrap(True)
    return label


def _sources(circuit: Circuit) -> list[str]:
    from analysis.ways import sources_of

    return sources_of(circuit)


def _ports(circuit: Circuit) -> list[str]:
    from analysis.passages import actuator_ports

    return list(actuator_ports(circuit))


def _find_matrix(circuit: Circuit) -> ReachMatrix:
    from analysis.reach_matrix import find_reach_matrix

    return find_reach_matrix(circuit)
