"""The menu that works the circuit from the keyboard."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QDockWidget, QMenu

from editor.operation.student_view import StudentView
from editor.single_failures.fail_menu import FailMenu

if TYPE_CHECKING:
    from editor.main_window import MainWindow

PUMP_KEY = Qt.Key.Key_P
_HEIGHT, _FAILURES_HEIGHT = 190, 250


class WorkMenu(QObject):
    """Run, step, return, and a key that pumps while it is held down on the sheet."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        menu = window.menuBar().addMenu("&Work")
        self.actions: list[QAction] = []
        for text, does, keys in (
            ("&Run or Hold the Clock", self._run, "F5"),
            ("&Step 0.1 s", self._step, "F6"),
            ("Back to the &Instant", window.operation.finish, "F8"),
            ("One Stroke of the &Hand Pump", self._stroke, "F7"),
        ):
            action = QAction(text, self)
            action.setShortcut(QKeySequence(keys))
            action.triggered.connect(does)
            menu.addAction(action)
            self.actions.append(action)
        menu.addSeparator()
        toggle = window.operation_dock.toggleViewAction()
        toggle.triggered.connect(self._on_toggled)
        menu.addAction(toggle)
        self.actions.append(toggle)
        self.failures = QAction("Single &Failures", self)
        self.failures.setShortcut(QKeySequence("F9"))
        self.failures.triggered.connect(self._show_failures)
        menu.addAction(self.failures)
        self.actions.append(self.failures)
        self.fail_menu = FailMenu(window.document.circuit, window.selection, window.failures_pane)
        menu.addMenu(self.fail_menu)
        self._add_trace(menu)
        window.canvas.installEventFilter(self)

    def join_student_view(self) -> None:
        """Called once the window's menus are there, which the view covers in part."""
        self.student_view = StudentView(self._window)
        menu = self._window.canvas.context_menu
        if menu is not None:
            menu.addAction(self.trace)
            menu.addMenu(self.fail_menu)

    def _add_trace(self, menu: QMenu) -> None:
        trace = QAction("&Trace This", self)
        trace.setShortcut(QKeySequence("T"))
        trace.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        trace.triggered.connect(self._trace)
        menu.addAction(trace)
        # the key counts on the sheet only, not in a field that is typed in
        self._window.canvas.addAction(trace)
        self.trace = trace
        self.actions.append(trace)

    def _trace(self) -> None:
        """Add what moves and the pressures of the selected parts to the traces."""
        chosen = self._window.selection.ids()
        if not chosen:
            self._window.status.say("Select a part or line to trace it.", True)
            return
        self._show_dock()
        if not self._window.operation.active and not self._window.operation.begin():
            return
        self._window.operation_pane.trace(chosen)

    def _run(self) -> None:
        self._show_dock()
        self._window.operation_pane.toggle()

    def _step(self) -> None:
        self._show_dock()
        self._window.operation.step(0.1)

    def _show_failures(self) -> None:
        """Show the pane Failures in front, the keys on its table."""
        self._show_dock(self._window.failures_dock)
        self._window.failures_pane.view.setFocus()

    def _show_dock(self, dock: QDockWidget | None = None) -> None:
        """Show a pane (Operation), low enough to leave the sheet its room, and the whole sheet."""
        window = self._window
        dock = dock or window.operation_dock
        is_below = any(other.isVisible() for other in window.bottom_docks)
        was_shown = not dock.isHidden()
        dock.show()
        dock.raise_()
        if not (was_shown or is_below):
            self._take_room(dock)

    def _on_toggled(self, shown: bool) -> None:
        """The pane Operation was shown or hidden by its entry."""
        window = self._window
        others = [dock for dock in window.bottom_docks if dock is not window.operation_dock]
        if shown and not any(dock.isVisible() for dock in others):
            self._take_room(window.operation_dock)

    def _take_room(self, dock: QDockWidget) -> None:
        """Give a pane at the foot its height, and show the whole sheet in what is left."""
        window = self._window
        height = _HEIGHT if dock is window.operation_dock else _FAILURES_HEIGHT
        window.resizeDocks([dock], [height], Qt.Orientation.Vertical)
        QTimer.singleShot(0, window.keep_part_seen)
        # the sheet is fitted once the panes have taken their places
        QTimer.singleShot(0, window.canvas.fit)

    def _stroke(self) -> None:
        pump = self._hand_pump()
        if pump:
            operation = self._window.operation
            self._show_dock()
            if not operation.running:
                operation.run()
            operation.stroke(pump)

    def _hand_pump(self) -> str:
        """The selected hand pump, else the first there is; says so if there is none."""
        components = self._window.document.circuit.components
        chosen = [i for i in self._window.selection.ids() if i in components]
        for identifier in (*chosen, *components):
            if components[identifier].kind == "hand_pump":
                return identifier
        self._window.status.say("This circuit has no hand pump.", True)
        return ""

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Pump while the key is held on the sheet and the circuit is at work."""
        pumps = event.type() in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease)
        if not pumps or not isinstance(event, QKeyEvent) or event.key() != PUMP_KEY:
            return False
        if event.modifiers() or not self._window.operation.active:
            return False
        pump = "" if event.isAutoRepeat() else self._hand_pump()
        if pump:
            self._window.operation.work(pump, event.type() == QEvent.Type.KeyPress)
        return True
