"""The window of one circuit: canvas in the middle, panes around it."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QCloseEvent
from PySide6.QtWidgets import QDockWidget, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from editor import theme
from editor.canvas.canvas import Canvas
from editor.canvas.descriptions import Descriptions
from editor.canvas.legend import Legend
from editor.canvas.overlay import PressureOverlay
from editor.canvas.way_legend import WayLegend
from editor.canvas.way_overlay import WayOverlay
from editor.display_units import DisplayUnits, units_menu
from editor.documents import Document, recent_files, settings
from editor.file_actions import FileActions
from editor.listening import listen
from editor.live_analysis import LiveAnalysis
from editor.menus import Menus
from editor.operation.dock import OperationPane
from editor.operation.joint import OperationJoint
from editor.operation.operation import Operation
from editor.panes.findings_pane import FindingsPane
from editor.panes.part_form import PartForm
from editor.panes.readings_pane import ReadingsPane
from editor.panes.shelf import Shelf
from editor.panes.start_page import StartPage
from editor.requirements.pane import RequirementsPane
from editor.requirements.reach_pane import ReachPane
from editor.selection import Selection
from editor.single_failures.banner import WhatIfBanner
from editor.single_failures.failures_pane import FailuresPane
from editor.single_failures.what_if import WhatIf
from editor.single_failures.what_if_joint import WhatIfJoint
from editor.status_line import StatusLine

_SIZE = (1280, 800)
_FRAME = (4, 28)
"""What the window manager's frame adds, about; it is not known before the window shows."""

_LEAST_FORM = 150
"""Of a part's form less than this shows hardly more than its heading [pixels]."""
_LAYOUT_VERSION = 1
_Bottom = Qt.DockWidgetArea.BottomDockWidgetArea
_Left, _Right = Qt.DockWidgetArea.LeftDockWidgetArea, Qt.DockWidgetArea.RightDockWidgetArea


class MainWindow(QMainWindow):
    """Shows one document, or the start page while none is open."""

    new_window_requested = Signal()
    quit_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setObjectName("standpipe")
        # the sheet, its symbols and what is coloured in the panes are made for light ground
        self.setPalette(theme.palette())
        self.document = Document(self)
        circuit, stack = self.document.circuit, self.document.stack
        self.selection = Selection(circuit, self)
        self.live = LiveAnalysis(circuit, self)
        self.units = DisplayUnits(circuit)
        self.canvas = Canvas(circuit, self.selection, stack)
        self.overlay = PressureOverlay(circuit, self.canvas.sheet, self.live, self.units, self)
        self.legend = Legend(self.overlay, self.units, self.canvas, self.canvas.count_under)
        ways_legend = WayLegend(self.canvas, self.canvas.count_lettered_under, self.legend)
        self.ways = WayOverlay(circuit, self.canvas.sheet, ways_legend, self)
        self.descriptions = Descriptions(circuit, self.live, self.units)
        self.canvas.describe = self.descriptions.describe
        self.operation = Operation(circuit, self)
        self.joint = OperationJoint(self.operation, self.canvas.sheet, self.live, self)
        self.what_if = WhatIf(circuit, self.canvas.sheet, self.live, self.operation, self)
        self.files = FileActions(self.document, self)
        self.units_menu = units_menu(self, circuit, stack)
        self._make_centre()
        self._make_docks()
        self.status = StatusLine(self.live, self)
        self.setStatusBar(self.status)
        self.menus = Menus(self)
        self.menus.work.join_student_view()
        self.what_if_joint = WhatIfJoint(self)
        self._join()
        self._show_document()
        self._restore_place()

    # -- building ---------------------------------------------------------------------

    def _make_centre(self) -> None:
        self.start_page = StartPage(recent_files())
        self.pages = QStackedWidget()
        self.pages.addWidget(self.start_page)
        self.pages.addWidget(self.canvas)
        self.what_if_banner = WhatIfBanner(self.what_if)
        centre = QWidget()
        column = QVBoxLayout(centre)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.what_if_banner)
        column.addWidget(self.pages, 1)
        self.setCentralWidget(centre)

    def _make_docks(self) -> None:
        circuit, stack, selection = self.document.circuit, self.document.stack, self.selection
        self.shelf = Shelf()
        self.form = PartForm(circuit, selection, stack)
        self.readings_pane = ReadingsPane(circuit, self.live, selection, self.units)
        self.findings_pane = FindingsPane(circuit, self.live, selection, stack)
        self.requirements_pane = RequirementsPane(circuit, self.live, stack, self.canvas, self.ways)
        self.reach_pane = ReachPane(circuit, self.canvas, self.ways)
        self.docks = [
            self._dock("Symbols", "shelf", self.shelf, _Left),
            self._dock("Part", "part", self.form, _Right),
            self._dock("Readings", "readings", self.readings_pane, _Right),
            self._dock("Findings", "findings", self.findings_pane, _Right),
            self._dock("Requirements", "requirements", self.requirements_pane, _Right),
            self._dock("Reach", "reach", self.reach_pane, _Right),
        ]
        self.operation_pane = OperationPane(circuit, self.operation, selection, stack, self.units)
        self.operation_dock = self._dock("Operation", "operation", self.operation_pane, _Bottom)
        self.failures_pane = FailuresPane(circuit, selection, self.what_if)
        self.failures_dock = self._dock("Failures", "failures", self.failures_pane, _Bottom)
        self.tabifyDockWidget(self.operation_dock, self.failures_dock)
        self.bottom_docks = [self.operation_dock, self.failures_dock]
        for dock in self.bottom_docks:
            dock.hide()
        self._arrange()

    def _dock(self, title: str, name: str, widget: QWidget, area: Qt.DockWidgetArea) -> QDockWidget:
        dock = QDockWidget(title, self)
        dock.setObjectName(name)
        dock.setWidget(widget)
        self.addDockWidget(area, dock)
        return dock

    def _arrange(self) -> None:
        _shelf, part, readings, *others = self.docks
        self.splitDockWidget(part, readings, Qt.Orientation.Vertical)
        for dock in others:
            self.tabifyDockWidget(readings, dock)
        readings.raise_()
        self._share_space()

    def _share_space(self) -> None:
        shelf, part, readings = self.docks[:3]
        self.resizeDocks([shelf, part], [200, 350], Qt.Orientation.Horizontal)
        self.resizeDocks([part, readings], [320, 360], Qt.Orientation.Vertical)

    def keep_part_seen(self) -> None:
        """Give the form of the part its share where another pane has left it a slit."""
        part, readings = self.docks[1:3]
        if part.isVisible() and part.height() < _LEAST_FORM:
            self.resizeDocks([part, readings], [2, 3], Qt.Orientation.Vertical)

    def _join(self) -> None:
        """Connect what knows nothing of each other."""
        self.canvas.said.connect(self.status.say)
        self.canvas.zoomed.connect(self.status.show_zoom)
        self.canvas.fitted.connect(self.legend.choose_corner)
        self.status.show_zoom(self.canvas.transform().m11())
        for pane in (self.operation_pane, self.requirements_pane, self.reach_pane):
            pane.message.connect(self._complain)
        self.docks[4].visibilityChanged.connect(self.requirements_pane.set_seen)
        self.docks[5].visibilityChanged.connect(self.reach_pane.set_seen)
        self.failures_pane.message.connect(self.status.say)
        self.start_page.open_requested.connect(self.files.open)
        self.start_page.new_requested.connect(self.files.new)
        self.shelf.picked.connect(self.canvas.start_placing)
        self.shelf.drag_moved.connect(self.canvas.drag_over)
        self.shelf.dropped.connect(self._drop)
        self.shelf.drag_cancelled.connect(self.canvas.pointer.cancel)
        self.canvas.placing_ended.connect(self.shelf.list.clearSelection)
        self.document.changed.connect(self._show_document)
        self.document.autosave_failed.connect(self._complain)
        listen(self.document.circuit.changed, self._on_change)

    def _drop(self, kind: str, position: QPoint) -> None:
        self.canvas.drop(kind, position)

    def _complain(self, text: str) -> None:
        self.status.say(text, True)

    # -- following the document -------------------------------------------------------

    def _on_change(self, change) -> None:
        if change.name in ("display_units", "sheet"):
            self.overlay.refresh()
            self.canvas.update_limits()
        elif change.action == "reset":
            # the view is fitted once the new items are there and the page is shown
            self.canvas.pointer.cancel()

    def _show_document(self) -> None:
        is_open = self.document.is_open
        was_shown = self.pages.currentWidget() is self.canvas
        title = f"{self.document.name}[*] — Standpipe" if is_open else "Standpipe[*]"
        self.setWindowTitle(title)
        self.setWindowModified(is_open and self.document.is_modified)
        self.menus.enable(is_open)
        for action in self.menus.work.actions:
            action.setEnabled(is_open)
        self.units_menu.setEnabled(is_open)
        self.status.show_numbers(is_open)
        if is_open:
            self._show_canvas(first=not was_shown)
        else:
            self.start_page.set_recent(recent_files())
            self.pages.setCurrentWidget(self.start_page)
            for dock in (*self.docks, *self.bottom_docks):
                dock.hide()

    def _show_canvas(self, *, first: bool) -> None:
        self.pages.setCurrentWidget(self.canvas)
        if first:
            state = settings().value("window/state")
            # hidden panes have no size: what was kept holds only once they are shown
            if state is not None:
                self.restoreState(state, _LAYOUT_VERSION)
            for dock in self.docks:
                dock.show()
            for dock in self.bottom_docks:
                dock.hide()
            if state is None:
                self._share_space()
            self.docks[2].raise_()
        if first or self._shown_path != self.document.path:
            empty = not self.document.circuit.components
            show = self.canvas.show_corner if empty else self.canvas.fit
            show()
            self.canvas.setFocus()
        self._shown_path = self.document.path

    _shown_path = ""

    # -- coming and going -------------------------------------------------------------

    def _restore_place(self) -> None:
        room = self.screen().availableGeometry()
        # what the docks asked for while they were made, each below the other, still holds
        self.setMinimumSize(0, 0)
        self.resize(
            min(_SIZE[0], room.width() - _FRAME[0]), min(_SIZE[1], room.height() - _FRAME[1])
        )
        stored = settings()
        geometry, state = stored.value("window/geometry"), stored.value("window/state")
        if geometry is not None:
            self.restoreGeometry(geometry)
        if state is not None:
            self.restoreState(state, _LAYOUT_VERSION)
        for dock in self.bottom_docks:
            dock.hide()
        if not self.document.is_open:
            for dock in self.docks:
                dock.hide()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes, remember the place, stop all that runs."""
        if not (self.files.may_leave() and self.menus.exports.may_leave()):
            event.ignore()
            return
        stored = settings()
        stored.setValue("window/geometry", self.saveGeometry())
        if self.document.is_open:
            stored.setValue("window/state", self.saveState(_LAYOUT_VERSION))
        self.operation.finish()
        self.failures_pane.close_down()
        self.menus.exports.report_bar.close_down()
        self.what_if.close()
        self.live.close()
        self.requirements_pane.close_jobs()
        self.reach_pane.close_jobs()
        self.selection.close()
        self.document.release()
        event.accept()
