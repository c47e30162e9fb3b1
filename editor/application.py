"""Starts the editor: the application, its windows, and what an earlier run left unsaved."""

from __future__ import annotations

import sys

from PySide6.QtCore import QObject, QPoint, Qt
from PySide6.QtGui import QFont, QFontDatabase
from PySide6.QtWidgets import QApplication, QLabel, QMessageBox, QToolTip

from analysis import preparation
from editor import theme
from editor.documents import find_recoverable
from editor.main_window import MainWindow
from editor.tidying import Tidying

_STAGGER = 32
"""How far right and down of the last window a new one opens [pixels]."""


class Windows(QObject):
    """All open windows of the program."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.open_windows: list[MainWindow] = []

    def open(self) -> MainWindow:
        """One more window."""
        window = MainWindow()
        window.new_window_requested.connect(self._open_empty)
        window.quit_requested.connect(self.quit)
        window.destroyed.connect(self._forget)
        self.open_windows.append(window)
        if len(self.open_windows) > 1:
            window.move(_beside(self.open_windows[-2], window))
        window.show()
        return window

    def _open_empty(self) -> None:
        self.open().document.new()

    def quit(self) -> None:
        """Close all windows; one that is to stay keeps the program going."""
        for window in list(self.open_windows):
            if not window.close():
                return

    def _forget(self) -> None:
        from shiboken6 import isValid

        self.open_windows = [w for w in self.open_windows if isValid(w)]


def _beside(other: MainWindow, window: MainWindow) -> QPoint:
    """A little off another window, where the screen has room for that."""
    room = other.screen().availableGeometry()
    frame = other.frameGeometry().size() - other.size()
    farthest = room.bottomRight() - QPoint(
        window.width() + frame.width(), window.height() + frame.height()
    )
    wanted = other.pos() + QPoint(_STAGGER, _STAGGER)
    return QPoint(
        max(room.left(), min(wanted.x(), farthest.x())),
        max(room.top(), min(wanted.y(), farthest.y())),
    )


def prepare(application: QApplication) -> None:
    """Give the program its look."""
    application.setApplicationName("Standpipe")
    application.setDesktopFileName("standpipe")
    # a dark desktop would show through in what the palette does not reach: tips, frames
    application.styleHints().setColorScheme(Qt.ColorScheme.Light)
    application.setStyle("Fusion")
    application.setPalette(theme.palette())
    QToolTip.setPalette(theme.palette())
    if theme.FONT_FAMILY in QFontDatabase.families():
        application.setFont(QFont(theme.FONT_FAMILY, 9))


def run_editor(path: str | None = None) -> int:
    """Open the window, with a circuit if `path` names one; returns the exit status."""
    running = QApplication.instance()
    application = running if isinstance(running, QApplication) else QApplication(sys.argv[:1])
    prepare(application)
    _get_solver_ready()
    Tidying(application)
    windows = Windows(application)
    window = windows.open()
    if path is not None:
        window.files.open(path)
    offer_recovery(windows, window)
    return application.exec()


def _get_solver_ready() -> None:
    """Load the compiled solver, which takes half a second, so that the first figures are there
    with the window; compile it where that was not done at set-up, and tell who waits for it."""
    if preparation.is_prepared():
        preparation.prepare()
        return
    words = preparation.why_now()
    print(f"standpipe: {words}", file=sys.stderr)
    notice = QLabel(f"{words[0].upper()}{words[1:]}.")
    notice.setWordWrap(True)
    notice.setFixedWidth(420)
    notice.setWindowTitle("Standpipe")
    notice.setMargin(32)
    notice.adjustSize()
    notice.move(QApplication.primaryScreen().availableGeometry().center() - notice.rect().center())
    notice.show()
    QApplication.processEvents()
    preparation.prepare()
    notice.close()


def offer_recovery(windows: Windows, window: MainWindow) -> None:
    """Ask about each circuit that an earlier run could not save, and open it if wanted."""
    button = QMessageBox.StandardButton
    for found in find_recoverable():
        answer = QMessageBox.question(
            window,
            "Standpipe",
            f"Standpipe ended while {found.name} had unsaved changes. Open what was kept of it? "
            "Cancel keeps it and asks again next time.",
            button.Open | button.Discard | button.Cancel,
            button.Open,
        )
        if answer == button.Open:
            target = windows.open() if window.document.is_open else window
            target.files.recover(found)
        elif answer == button.Discard:
            found.discard()
