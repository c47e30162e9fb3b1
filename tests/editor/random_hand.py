"""A hand that does anything: clicks, drags, keys and entries at random, by real events."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLineEdit

from symbols import KINDS

_LEFT, _RIGHT, _NONE = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton, Qt.MouseButton(0)
_PLAIN = Qt.KeyboardModifier.NoModifier
_MODIFIERS = (
    *[_PLAIN] * 6,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
)
_KEYS = [
    getattr(Qt.Key, f"Key_{name}")
    for name in [
        "R",
        "M",
        "L",
        "F",
        "Delete",
        "Escape",
        "Left",
        "Right",
        "Up",
        "Down",
        "Return",
        "Space",
    ]
]
_ACTIONS = [
    "Cut",
    "Copy",
    "Paste",
    "Duplicate",
    "Delete",
    "Turn",
    "Mirror",
    "Work Lever or Switch",
    "Work Lever Back",
    "Undo",
    "Undo",
    "Redo",
    "Redo",
    "Zoom In",
    "Zoom Out",
    "Fit to Window",
    "Full Size",
    "Pressures on the Lines",
]
_ENTRIES = [
    "1000 psi",
    "1/4 in",
    "?",
    "900 to 1100 psi",
    "-3 mm",
    "nan",
    "1e400 bar",
    "0V1",
    "1V1",
    "2.5 imp_gal/min",
    "0 in: 200 lbf; 6 in: 400 lbf",
    "0.5",
    "10 mm",
    "°C",
    "15 degC",
    "none",
    "L1",
    "5 L",
    "300 N",
    "20 rpm",
    "<b>",
    "",
]


class RandomHand:
    """Works a window at random; the same `random.Random` does the same again."""

    def __init__(self, window, random) -> None:
        self.window, self.random = window, random
        self.canvas, self.circuit = window.canvas, window.document.circuit
        self.stack = window.document.stack
        self.done: list[object] = []

    def act(self) -> None:
        """One thing, chosen at random; `done` says what."""
        acts = (self.place, self.drag, self.click, self.key, self.choose, self.enter, self.jump)
        act = self.random.choices(acts, (12, 22, 18, 14, 12, 19, 3))[0]
        self.done.append(act.__name__)
        act()
        QApplication.processEvents()

    # -- where ------------------------------------------------------------------------

    def spot(self) -> QPoint:
        """A port, the middle or lever of a part, a corner of a line, or anywhere."""
        area = self.canvas.viewport().rect()
        pick = self.random.random()
        at = None
        if pick < 0.6 and self.circuit.components:
            part = self.random.choice(list(self.circuit.components.values()))
            port = self.random.choice(part.declared.ports)
            at = self.canvas.sheet.port_at(f"{part.id}.{port.name}")
            if pick > 0.35 and part.at is not None:
                at = part.at[0] + self.random.choice((-4, 0, 0, 4)), part.at[1]
        elif pick < 0.75 and self.canvas.sheet.lines:
            line = self.random.choice(list(self.canvas.sheet.lines.values()))
            at = self.random.choice(line.points) if line.points else None
        pixel = self.canvas.to_viewport(at) if at is not None else QPoint(-1, -1)
        if area.contains(pixel):
            return pixel
        return QPoint(self.random.randrange(area.width()), self.random.randrange(area.height()))

    def _send(self, kind, at: QPoint, button, buttons, modifiers=_PLAIN) -> None:
        viewport = self.canvas.viewport()
        there = QPointF(viewport.mapToGlobal(at))
        event = QMouseEvent(kind, QPointF(at), there, button, buttons, modifiers)
        QApplication.sendEvent(viewport, event)

    # -- what -------------------------------------------------------------------------

    def place(self) -> None:
        """Take a symbol, perhaps turn it, and put it down."""
        self.canvas.start_placing(self.random.choice(list(KINDS)))
        if self.random.random() < 0.3:
            QTest.keyClick(self.canvas, self.random.choice((Qt.Key.Key_R, Qt.Key.Key_M)))
        self.click()

    def click(self) -> None:
        """Mostly with the left button."""
        at, modifiers = self.spot(), self.random.choice(_MODIFIERS)
        button = _RIGHT if self.random.random() < 0.1 else _LEFT
        self._send(QEvent.Type.MouseMove, at, _NONE, _NONE)
        self._send(QEvent.Type.MouseButtonPress, at, button, button, modifiers)
        self._send(QEvent.Type.MouseButtonRelease, at, button, _NONE, modifiers)

    def drag(self) -> None:
        """From one spot to another; now and then an undo or Escape comes in between."""
        start, end, modifiers = self.spot(), self.spot(), self.random.choice(_MODIFIERS)
        self._send(QEvent.Type.MouseMove, start, _NONE, _NONE)
        self._send(QEvent.Type.MouseButtonPress, start, _LEFT, _LEFT, modifiers)
        for share in (0.2, 0.6, 1.0):
            self._send(QEvent.Type.MouseMove, start + (end - start) * share, _NONE, _LEFT)
        between = self.random.random()
        if between < 0.08:
            QTest.keyClick(self.canvas, Qt.Key.Key_Escape)
        elif between < 0.16:
            self.stack.undo()
        self._send(QEvent.Type.MouseMove, end, _NONE, _LEFT)
        self._send(QEvent.Type.MouseButtonRelease, end, _LEFT, _NONE, modifiers)

    def key(self) -> None:
        """A key on the canvas."""
        QTest.keyClick(self.canvas, self.random.choice(_KEYS), self.random.choice(_MODIFIERS))

    def choose(self) -> None:
        """An action of the menus."""
        name = self.random.choice(_ACTIONS)
        self.done.append(name)
        self.window.menus.named[name].trigger()

    def enter(self) -> None:
        """Something, sensible or not, in a field of the form."""
        row = self.random.choice(self.window.form.rows)
        self.done.append(row.title.text())
        field = row.field
        if isinstance(field, QLineEdit):
            field.selectAll()
            QTest.keyClick(field, Qt.Key.Key_Delete)
            entry = self.random.choice(_ENTRIES)
            self.done.append(entry)
            QTest.keyClicks(field, entry)
            ends = (Qt.Key.Key_Return, Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Escape)
            QTest.keyClick(field, self.random.choice(ends))
        elif isinstance(field, QComboBox):
            index = self.random.randrange(field.count())
            field.setCurrentIndex(index)
            field.activated.emit(index)
        elif isinstance(field, QCheckBox):
            field.click()

    def jump(self) -> None:
        """Some steps back or forth in the history."""
        self.stack.setIndex(self.random.randrange(self.stack.count() + 1))
