"""The kinds of requirement in plain words, to begin a new one."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from analysis.requirement_words import KIND_MEANINGS, KIND_WORDS
from editor.panes.link_button import LinkButton

_CHOOSE = "What shall be shown? Choose, then pick pumps and ports on the sheet:"
_EMPTY = (
    "This circuit has no requirements yet.\n\n"
    "They say what a reviewer must be able to show, and are judged at every change. Choose one, "
    "then pick pumps and ports on the sheet:"
)


class KindChooser(QScrollArea):
    """`chosen` carries the kind; `left` when none is wanted."""

    chosen = Signal(str)
    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.text = QLabel()
        self.text.setWordWrap(True)
        self.buttons = {
            kind: LinkButton(words, KIND_MEANINGS[kind], kind) for kind, words in KIND_WORDS.items()
        }
        self.back_button = QPushButton("Back to the list")
        page, box = QWidget(), QVBoxLayout()
        page.setLayout(box)
        box.setContentsMargins(6, 6, 6, 6)
        box.setSpacing(2)
        box.addWidget(self.text)
        box.addSpacing(6)
        for button in self.buttons.values():
            box.addWidget(button)
            button.chosen.connect(self.chosen)
        box.addSpacing(6)
        box.addWidget(self.back_button, 0, Qt.AlignmentFlag.AlignLeft)
        box.addStretch(1)
        self.setWidget(page)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.back_button.clicked.connect(self.left)
        self._empty = False

    def show_for(self, *, empty: bool) -> None:
        """Say what requirements are for, where there are none; else offer the way back."""
        self._empty = empty
        self.text.setText(_EMPTY if empty else _CHOOSE)
        self.back_button.setVisible(not empty)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape goes back to the list."""
        if event.key() == Qt.Key.Key_Escape and not self._empty:
            self.left.emit()
        else:
            super().keyPressEvent(event)
