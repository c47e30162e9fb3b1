"""One row of a form: a title, a field, a way back to the default, and what is wrong.

A row shows what is written; a default shows as a pale placeholder. Only the user's own
hand writes, through the row's binding. An entry that cannot be accepted stays in the
field with the reason below it, and the circuit stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence, QPalette
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QLineEdit,
    QSizePolicy,
    QToolButton,
    QWidget,
)

from analysis.circuit import DEFAULT
from analysis.errors import CircuitError, UnknownElement
from editor import theme
from editor.panes.bindings import MIXED, Binding

TITLE_WIDTH = 132
_WRONG_BASE = theme.ERROR.lighter(340)


class Row(QWidget):
    """Title, field, reset button and message; subclasses bring the field.

    A subclass makes the field, calls `set_field`, and has `show_written`.
    """

    show_written: Callable[[Any], None]
    """Shows a raw value in the subclass's field."""

    def __init__(self, title: str, binding: Binding, *, resets: bool = True) -> None:
        super().__init__()
        self.binding = binding
        self.title = QLabel(title, self)
        self.title.setWordWrap(True)
        self.title.setFixedWidth(TITLE_WIDTH)
        self.title.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.title.setContentsMargins(0, 4, 0, 0)
        self.message = QLabel(self)
        self.message.setWordWrap(True)
        self.message.setTextFormat(Qt.TextFormat.PlainText)
        self.message.hide()
        self.reset = QToolButton(self)
        self.reset.setText("↺")
        self.reset.setAutoRaise(True)
        self.reset.setFixedWidth(22)
        self.reset.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.reset.setAccessibleName(f"{title}: back to the default")
        self.reset.clicked.connect(self.reset_to_default)
        self._keep_room(self.reset)
        self._resets = resets
        self._shown: Any = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(6)
        self._grid.setVerticalSpacing(1)
        self._grid.addWidget(self.title, 0, 0)
        self._grid.addWidget(self.reset, 0, 2, Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(self.message, 1, 1, 1, 2)
        self._grid.setColumnStretch(1, 1)

    def set_field(self, field: QWidget) -> None:
        """Put the subclass's field in its place."""
        field.setAccessibleName(self.title.text())
        field.setMinimumWidth(60)
        policy = QSizePolicy.Policy
        field.setSizePolicy(policy.Ignored, field.sizePolicy().verticalPolicy())
        self._grid.addWidget(field, 0, 1, Qt.AlignmentFlag.AlignTop)
        self.setFocusProxy(field)
        self.refresh()

    def refresh(self) -> None:
        """Show what the circuit holds now, unless it is shown already."""
        try:
            raw = self.binding.read()
        except UnknownElement:
            return  # the part is gone; the form follows in a moment
        if self._shown is not None and raw == self._shown[0] and type(raw) is type(self._shown[0]):
            return
        self._shown = (raw,)
        self.show_written(raw)
        self.say("")
        self.reset.setVisible(self._resets and raw is not DEFAULT and raw is not MIXED)

    def refresh_anyway(self) -> None:
        """Show it again, although it is written as before: units or labels have changed."""
        self._shown = None
        self.refresh()

    def commit(self, raw: Any) -> bool:
        """Write what the user entered; say what is wrong if it cannot be."""
        try:
            self.binding.write(raw)
        except CircuitError as error:
            self.say(error.message, wrong=True)
            return False
        self.refresh_anyway()
        return True

    def reset_to_default(self) -> None:
        """Take away what is written."""
        self.commit(DEFAULT)

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show a note below the field; in red if something is wrong; nothing if empty."""
        self.message.setText(text[:1].upper() + text[1:])
        self.message.setVisible(bool(text))
        palette = self.message.palette()
        colour = theme.ERROR if wrong else theme.FAINT_INK
        palette.setColor(QPalette.ColorRole.WindowText, colour)
        self.message.setPalette(palette)
        self.show_wrong(wrong)

    def show_wrong(self, wrong: bool) -> None:
        """Mark the field itself; a field that cannot be wrong needs no mark."""

    @staticmethod
    def _keep_room(widget: QWidget) -> None:
        policy = widget.sizePolicy()
        policy.setRetainSizeWhenHidden(True)
        widget.setSizePolicy(policy)


class FormLineEdit(QLineEdit):
    """A line edit that leaves Undo to the window while it has nothing of its own to undo."""

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            standard = QKeySequence.StandardKey
            spent = (event.matches(standard.Undo) and not self.isUndoAvailable()) or (
                event.matches(standard.Redo) and not self.isRedoAvailable()
            )
            if spent:
                event.ignore()
                return False
        return super().event(event)


class TextRow(Row):
    """A row with a line to type in; subclasses say how text is read and shown."""

    def __init__(
        self, title: str, binding: Binding, *, resets: bool = True, placeholder: str = ""
    ) -> None:
        super().__init__(title, binding, resets=resets)
        self.field = FormLineEdit(self)
        self.field.setPlaceholderText(placeholder)
        self.field.textEdited.connect(self._on_typed)
        self.field.editingFinished.connect(self._on_finished)
        self.set_field(self.field)

    def text_of(self, raw: Any) -> str:
        """The text that stands for a raw value."""
        return "" if raw is DEFAULT or raw is None else str(raw)

    def parse(self, text: str) -> Any:
        """The raw value of a text; raises CircuitError."""
        return text.strip() or DEFAULT

    def note(self, raw: Any) -> str:
        """What there is to say about a value that is all right."""
        return ""

    def show_written(self, raw: Any) -> None:
        text = "" if raw is MIXED else self.text_of(raw)
        if raw is MIXED:
            self.field.setPlaceholderText("different")
        if text != self.field.text():
            self.field.setText(text)
            self.field.setCursorPosition(0)

    def say(self, text: str, *, wrong: bool = False) -> None:
        if not text and self._shown is not None and self._shown[0] not in (MIXED, DEFAULT):
            text = self.note(self._shown[0])
        super().say(text, wrong=wrong)

    def show_wrong(self, wrong: bool) -> None:
        palette = self.field.palette()
        palette.setColor(QPalette.ColorRole.Base, _WRONG_BASE if wrong else theme.PANEL)
        palette.setColor(QPalette.ColorRole.Text, theme.ERROR if wrong else theme.INK)
        self.field.setPalette(palette)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._is_edited():
            self.refresh_anyway()
            return
        super().keyPressEvent(event)

    def _is_edited(self) -> bool:
        shown = "" if self._shown is None or self._shown[0] is MIXED else self._shown[0]
        return self.field.text() != (self.text_of(shown) if shown != "" else "")

    def _on_typed(self, text: str) -> None:
        """Say at once what is wrong; write nothing yet."""
        try:
            self.binding.command(self.parse(text))
        except CircuitError as error:
            self.say(error.message, wrong=True)
        else:
            super().say("")

    def _on_finished(self) -> None:
        if not self._is_edited():
            return
        try:
            raw = self.parse(self.field.text())
        except CircuitError as error:
            self.say(error.message, wrong=True)
            return
        self.commit(raw)
