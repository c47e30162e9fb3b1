"""The actions of the window and the menus that hold them; each key does one thing."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu

from editor.documents import recent_files
from editor.exports import Exports
from editor.gestures import levers, menu_edits
from editor.gestures.sheet_menu import SheetMenu
from editor.operation.work_menu import WorkMenu
from editor.panes.help import show_about, show_keys
from editor.panes.start_page import find_samples, samples_folder

if TYPE_CHECKING:
    from editor.main_window import MainWindow

_Key = QKeySequence.StandardKey
Keys = str | QKeySequence.StandardKey | None


class Menus(QObject):
    """Builds the menu bar of a window; knows which actions need an open circuit."""

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.needs_circuit: list[QAction] = []
        self.named: dict[str, QAction] = {}
        self._exports_withheld = False
        self._file_menu()
        self._edit_menu()
        self._view_menu()
        self.work = WorkMenu(window)
        self._window.menuBar().addMenu(window.units_menu)
        self._help_menu()
        window.canvas.context_menu = self._context_menu()

    # -- the menus --------------------------------------------------------------------

    def _file_menu(self) -> None:
        files, window = self._window.files, self._window
        menu = window.menuBar().addMenu("&File")
        self._add(menu, "&New", files.new, _Key.New)
        self._add(menu, "New &Window", window.new_window_requested.emit, "Ctrl+Shift+N")
        self._add(menu, "&Open…", files.ask_open, _Key.Open)
        self.recent = FileMenu("Open &Recent", _recent_entries, menu)
        self.recent.chosen.connect(files.open)
        menu.addMenu(self.recent)
        self.samples = FileMenu("Open Sa&mple", _sample_entries, menu)
        self.samples.chosen.connect(files.open)
        menu.addMenu(self.samples)
        menu.addSeparator()
        self._add(menu, "&Save", self._save, _Key.Save, circuit=True)
        self._add(menu, "Save &As…", self._save_as, "Ctrl+Shift+S", circuit=True)
        menu.addSeparator()
        self.exports = Exports(window)
        self._add(menu, "&Export Drawing…", self.exports.drawing, "Ctrl+E", circuit=True)
        self._add(menu, "Export Re&port…", self.exports.report, circuit=True)
        self.exports.report_bar.changed.connect(self._offer_exports)
        menu.addSeparator()
        self._add(menu, "&Close", files.close, "Ctrl+W", circuit=True)
        self._add(menu, "&Quit", window.quit_requested.emit, "Ctrl+Q")

    def _save(self) -> None:
        self._window.files.save()

    def _save_as(self) -> None:
        self._window.files.save_as()

    def _edit_menu(self) -> None:
        window = self._window
        menu = window.menuBar().addMenu("&Edit")
        undo = window.document.stack.createUndoAction(window, "&Undo")
        undo.setShortcut(QKeySequence("Ctrl+Z"))
        redo = window.document.stack.createRedoAction(window, "&Redo")
        redo.setShortcuts([QKeySequence("Ctrl+Shift+Z"), QKeySequence("Ctrl+Y")])
        menu.addActions([undo, redo])
        self.named["Undo"], self.named["Redo"] = undo, redo
        menu.addSeparator()
        for text, does, keys in (
            ("Cu&t", menu_edits.cut, "Ctrl+X"),
            ("&Copy", menu_edits.copy, "Ctrl+C"),
            ("&Paste", menu_edits.paste, "Ctrl+V"),
            ("&Duplicate", menu_edits.duplicate, "Ctrl+D"),
            ("De&lete", menu_edits.delete, "Del"),
            ("Select &All", menu_edits.select_all, "Ctrl+A"),
        ):
            self._add_edit(menu, text, does, keys)
        menu.addSeparator()
        self._add_edit(menu, "Tu&rn", menu_edits.turn, "R")
        self._add_edit(menu, "&Mirror", menu_edits.mirror, "M")
        menu.addSeparator()
        self._add_edit(menu, "&Work Lever or Switch", levers.work_forward, "L")
        self._add_edit(menu, "Work Lever &Back", levers.work_back, "Shift+L")

    def _view_menu(self) -> None:
        window, canvas = self._window, self._window.canvas
        menu = window.menuBar().addMenu("&View")
        pressures = self._add(
            menu, "&Pressures on the Lines", window.overlay.set_on, "Ctrl+P", circuit=True
        )
        pressures.setCheckable(True)
        pressures.setChecked(True)
        menu.addSeparator()
        zoom_in = self._add(menu, "Zoom &In", canvas.zoom_in, "Ctrl++", circuit=True)
        zoom_in.setShortcuts([QKeySequence("Ctrl++"), QKeySequence("Ctrl+=")])
        self._add(menu, "Zoom &Out", canvas.zoom_out, "Ctrl+-", circuit=True)
        self._add(menu, "&Full Size", canvas.zoom_full_size, "Ctrl+0", circuit=True)
        self._on_canvas(self._add(menu, "Fit to &Window", canvas.fit, "F", circuit=True))
        menu.addSeparator()
        for dock in window.docks:
            toggle = dock.toggleViewAction()
            menu.addAction(toggle)
            self.needs_circuit.append(toggle)

    def _help_menu(self) -> None:
        menu = self._window.menuBar().addMenu("&Help")
        self._add(menu, "&Keys and Gestures", self._show_keys, "F1")
        self._add(menu, "&About Standpipe and Its Cautions", self._show_about)

    def _show_keys(self) -> None:
        show_keys(self._window)

    def _show_about(self) -> None:
        show_about(self._window)

    def _context_menu(self) -> SheetMenu:
        menu = SheetMenu(self._window.canvas)
        for name in (
            "Turn",
            "Mirror",
            "-",
            "Cut",
            "Copy",
            "Paste",
            "Duplicate",
            "Delete",
            "-",
            "Fit to Window",
        ):
            if name == "-":
                menu.addSeparator()
            else:
                menu.addAction(self.named[name])
        lever, turn = self.named["Work Lever or Switch"], self.named["Turn"]
        menu.add_where(lever, turn, self._has_lever)
        return menu

    def _has_lever(self) -> bool:
        """Whether something that is selected has a lever or a switch."""
        return levers.has_switch(self._window.canvas)

    # -- making them ------------------------------------------------------------------

    def _add(
        self,
        menu: QMenu,
        text: str,
        does: Callable[..., object],
        keys: Keys = None,
        *,
        circuit: bool = False,
    ) -> QAction:
        action = QAction(text, self)
        if keys is not None:
            action.setShortcut(QKeySequence(keys))
        action.triggered.connect(does)
        menu.addAction(action)
        self.named[text.replace("&", "").rstrip("…")] = action
        if circuit:
            self.needs_circuit.append(action)
        return action

    def _add_edit(self, menu: QMenu, text: str, does: Callable, keys: str) -> None:
        """An action on the canvas: its keys count there only, not in a field of the form."""
        doer = _OnCanvas(does, self._window)
        action = self._add(menu, text, doer.do, keys, circuit=True)
        doer.setParent(action)
        self._on_canvas(action)

    def _on_canvas(self, action: QAction) -> None:
        action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        self._window.canvas.addAction(action)

    def enable(self, is_open: bool) -> None:
        """Offer what needs a circuit only while one is open."""
        for action in self.needs_circuit:
            action.setEnabled(is_open)
        self._offer_exports()

    def withhold_exports(self, withheld: bool) -> None:
        """Offer no file that tells what the sheet does not."""
        self._exports_withheld = withheld
        self._offer_exports()

    def _offer_exports(self) -> None:
        """One report at a time: the next one is offered when it is written or given up."""
        offered = self._window.document.is_open and not self._exports_withheld
        writing = self.exports.report_bar.run.running
        self.named["Export Drawing"].setEnabled(offered)
        self.named["Export Report"].setEnabled(offered and not writing)


class _OnCanvas(QObject):
    """Calls a function with the window's canvas; a bound method keeps no window alive."""

    def __init__(self, does: Callable, window: MainWindow) -> None:
        super().__init__()
        self._does = does
        self._canvas = window.canvas

    def do(self) -> None:
        self._does(self._canvas)


class FileMenu(QMenu):
    """A menu of files, made up anew whenever it is opened."""

    chosen = Signal(str)

    def __init__(
        self, title: str, entries: Callable[[], list[tuple[str, str]]], parent: QMenu
    ) -> None:
        super().__init__(title, parent)
        self._entries = entries
        self.setToolTipsVisible(True)
        self.aboutToShow.connect(self.refresh)
        self.triggered.connect(self._choose)
        self.refresh()

    def refresh(self) -> None:
        """Offer the files there are now."""
        self.clear()
        for text, path in self._entries():
            action = self.addAction(text.replace("&", "&&"))
            action.setData(path)
            action.setToolTip(path)
        if self.isEmpty():
            self.addAction("None").setEnabled(False)

    def _choose(self, action: QAction) -> None:
        if action.data():
            self.chosen.emit(action.data())


def _recent_entries() -> list[tuple[str, str]]:
    return [(path, path) for path in recent_files()]


def _sample_entries() -> list[tuple[str, str]]:
    return [(sample.name, str(sample.path)) for sample in find_samples(samples_folder())]
