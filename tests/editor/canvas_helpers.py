"""A window for tests, and a hand that works its canvas by real mouse and key events."""

from __future__ import annotations

from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from analysis.circuit_file import circuit_text
from editor.main_window import MainWindow

LEFT = Qt.MouseButton.LeftButton


class Hand:
    """Works a window as a person does; points are in modules on the sheet."""

    def __init__(self, qtbot, window: MainWindow) -> None:
        self.qtbot, self.window = qtbot, window
        self.canvas = window.canvas
        self.circuit = window.document.circuit
        self.stack = window.document.stack

    def text(self) -> str:
        """The circuit as it would be saved."""
        return circuit_text(self.circuit)

    def pixel(self, at: tuple[float, float]) -> QPoint:
        """The pixel of the viewport where a point of the sheet is; it must be in sight."""
        pixel = self.canvas.to_viewport(at)
        assert self.canvas.viewport().rect().contains(pixel), f"{at} is out of sight"
        return pixel

    def hover(self, at: tuple[float, float]) -> None:
        self.qtbot.mouseMove(self.canvas.viewport(), self.pixel(at))

    def click(self, at, modifiers=Qt.KeyboardModifier.NoModifier) -> None:
        self.hover(at)
        self.qtbot.mouseClick(self.canvas.viewport(), LEFT, modifiers, self.pixel(at))

    def press(self, at) -> None:
        self.hover(at)
        self.qtbot.mousePress(self.canvas.viewport(), LEFT, pos=self.pixel(at))

    def release(self, at) -> None:
        self.qtbot.mouseRelease(self.canvas.viewport(), LEFT, pos=self.pixel(at))

    def drag(self, start, end) -> None:
        self.press(start)
        halfway = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        for at in (halfway, end):
            self.qtbot.mouseMove(self.canvas.viewport(), self.pixel(at))
        self.release(end)

    def key(self, key, modifiers=Qt.KeyboardModifier.NoModifier) -> None:
        self.canvas.setFocus()
        QTest.keyClick(self.canvas, key, modifiers)

    def control(self, key) -> None:
        self.key(key, Qt.KeyboardModifier.ControlModifier)

    def port(self, name: str) -> tuple[float, float]:
        return self.canvas.sheet.port_at(name)

    def settled(self) -> None:
        """Wait until the readings belong to the circuit as it is."""
        live = self.window.live
        self.qtbot.waitUntil(lambda: live.is_current and live.readings is not None, timeout=20000)


def open_window(qtbot) -> Hand:
    """A shown window with an empty sheet at full size."""
    window = MainWindow()
    qtbot.addWidget(window, before_close_func=_forget_changes)
    with qtbot.waitExposed(window):
        window.show()
    # the screen of the offscreen platform is smaller than what people have
    window.resize(1280, 800)
    window.document.new()
    qtbot.waitUntil(lambda: window.canvas.width() > 600)
    window.canvas.show_corner()
    return Hand(qtbot, window)


def _forget_changes(window: MainWindow) -> None:
    window.document.stack.setClean()
    window.document.is_recovered = False
