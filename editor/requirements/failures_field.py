"""The failures that a procedure is to survive: all, or those ticked in a list."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.failure_modes import modes_of
from analysis.words import described

_ROWS = 8
Failure = str | list[str]


class FailuresField(QWidget):
    """`all` ticked, or a searchable list: each part with every mode, and its modes singly."""

    changed = Signal()

    def __init__(self, circuit: Circuit) -> None:
        super().__init__()
        self._circuit = circuit
        self.every = QCheckBox("every failure but the target's own")
        self.search = QLineEdit()
        self.search.setPlaceholderText("search: an id, a name, ruptured …")
        self.search.setClearButtonEnabled(True)
        self.search.setAccessibleName("Search failures")
        self.list = QListWidget()
        self.list.setAccessibleName("Failures")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setFixedHeight(_ROWS * self.fontMetrics().lineSpacing() + 12)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(3)
        for widget in (QLabel("<b>Failures</b>"), self.every, self.search, self.list):
            box.addWidget(widget)
        self.every.toggled.connect(self._on_every)
        self.search.textChanged.connect(self._filter)
        self.list.itemChanged.connect(self._tell)

    def show_failures(self, written: Iterable[Any]) -> None:
        """Offer all of the circuit, those written ticked; none written is all."""
        chosen = [list(item) if not isinstance(item, str) else item for item in written]
        self.list.blockSignals(True)
        self.list.clear()
        for element in self._circuit.elements():
            modes = modes_of(self._circuit, element.id)
            if not modes:
                continue
            name = described(element)
            self._add(f"{name}: any failure", element.id, chosen)
            for mode in modes:
                self._add(f"{name}: {mode.replace('_', ' ')}", [element.id, mode], chosen)
        self.list.blockSignals(False)
        self._unlisted = [item for item in chosen if item not in self._all()]
        self.every.blockSignals(True)
        self.every.setChecked(not chosen)
        self.every.blockSignals(False)
        self._show_list()

    _unlisted: list[Failure]
    """Failures of parts that are not there any more; they are the reviewer's and stay."""

    def _add(self, text: str, failure: Failure, chosen: list[Failure]) -> None:
        item = QListWidgetItem(text)
        item.setToolTip(text)
        item.setData(Qt.ItemDataRole.UserRole, failure)
        item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
        on = failure in chosen
        item.setCheckState(Qt.CheckState.Checked if on else Qt.CheckState.Unchecked)
        self.list.addItem(item)

    def _items(self) -> list[QListWidgetItem]:
        return [self.list.item(row) for row in range(self.list.count())]

    def _all(self) -> list[Failure]:
        return [item.data(Qt.ItemDataRole.UserRole) for item in self._items()]

    def failures(self, before: Iterable[Any] = ()) -> list[Failure]:
        """As the file has them, in the order in which they were written `before`."""
        if self.every.isChecked():
            return []
        ticked: list[Failure] = [
            item.data(Qt.ItemDataRole.UserRole)
            for item in self._items()
            if item.checkState() == Qt.CheckState.Checked
        ]
        ticked += self._unlisted
        kept: list[Failure] = [item if isinstance(item, str) else list(item) for item in before]
        kept = [item for item in kept if item in ticked]
        return kept + [item for item in ticked if item not in kept]

    def _filter(self, text: str) -> None:
        words = text.lower().split()
        for item in self._items():
            item.setHidden(not all(word in item.text().lower() for word in words))

    def _on_every(self, _on: bool) -> None:
        self._show_list()
        self._tell()

    def _show_list(self) -> None:
        for widget in (self.search, self.list):
            widget.setVisible(not self.every.isChecked())

    def _tell(self, *_: object) -> None:
        self.changed.emit()
