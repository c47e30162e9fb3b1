"""A list of picked parts with a button that begins and ends picking on the sheet."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

_ROWS_SHOWN = 5


class _Names(QListWidget):
    """The names; Delete takes the current one out."""

    removed = Signal(str)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        item = self.currentItem()
        if event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and item is not None:
            self.removed.emit(item.data(Qt.ItemDataRole.UserRole))
            return
        super().keyPressEvent(event)


class PickField(QWidget):
    """`changed` carries nothing: ask `picked`; `pick_toggled` when picking shall begin or end."""

    changed = Signal()
    pick_toggled = Signal(str, bool)

    def __init__(self, key: str, caption: str, hint: str, named: Callable[[str], str]) -> None:
        """`named` gives what is shown for an id or port."""
        super().__init__()
        self.key, self._named = key, named
        self.picked: list[str] = []
        self.caption = QLabel(f"<b>{caption}</b>")
        self.pick_button = QPushButton("Pick")
        self.pick_button.setCheckable(True)
        self.pick_button.setToolTip("Pick on the sheet: click, or arrow keys and Enter")
        self.pick_button.setAccessibleName(f"Pick {caption.lower()}")
        self.list = _Names()
        self.list.setAccessibleName(caption)
        self.list.setToolTip("Delete takes the chosen one out")
        self.hint = QLabel(hint)
        self.hint.setWordWrap(True)
        self.hint.setStyleSheet("color: #6d747c;")
        row = QHBoxLayout()
        row.addWidget(self.caption, 1)
        row.addWidget(self.pick_button)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(3)
        box.addLayout(row)
        box.addWidget(self.list)
        box.addWidget(self.hint)
        self.pick_button.clicked.connect(self._on_pick)
        self.list.removed.connect(self._remove)
        self.show_picked([])

    def show_picked(self, names: Sequence[str]) -> None:
        """Show these as picked."""
        self.picked = list(names)
        self.list.clear()
        for name in names:
            item = QListWidgetItem(self._named(name))
            item.setData(Qt.ItemDataRole.UserRole, name)
            item.setToolTip(item.text())
            self.list.addItem(item)
        row = self.list.sizeHintForRow(0) if names else 0
        self.list.setFixedHeight(min(len(names), _ROWS_SHOWN) * row + 6)
        self.list.setVisible(bool(names))
        self.hint.setVisible(not names)

    def set_picked(self, names: Sequence[str]) -> None:
        """As `show_picked`, and tell."""
        self.show_picked(names)
        self.changed.emit()

    def show_picking(self, on: bool) -> None:
        """Show whether parts are being picked for it."""
        self.pick_button.setChecked(on)
        self.pick_button.setText("Done" if on else "Pick")

    def _on_pick(self, on: bool) -> None:
        self.pick_toggled.emit(self.key, on)

    def _remove(self, name: str) -> None:
        self.set_picked([n for n in self.picked if n != name])
