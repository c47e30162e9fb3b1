"""The lever positions that a requirement is to hold in, taken from the sheet or chosen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit, Component
from analysis.reach import levers
from analysis.resolved import position_of
from editor.panes.labels import position_choices


class _Tick(QCheckBox):
    """A long name ends in an ellipsis, and does not make the pane wide."""

    def __init__(self, words: str) -> None:
        super().__init__(words)
        self._words = words
        self.setToolTip(words)
        self.setAccessibleName(words)
        self.setMinimumWidth(60)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """As much of the name as there is room for."""
        super().resizeEvent(event)
        room = self.width() - 24
        words = self.fontMetrics().elidedText(self._words, Qt.TextElideMode.ElideRight, room)
        self.setText(words.replace("&", "&&"))


class LeversField(QWidget):
    """A row for each lever: whether it is set, and where to."""

    changed = Signal()

    def __init__(self, circuit: Circuit) -> None:
        super().__init__()
        self._circuit = circuit
        self.rows: dict[str, tuple[QCheckBox, QComboBox]] = {}
        self.take_button = QPushButton("As on the sheet")
        self.take_button.setToolTip("Take all levers as they stand on the sheet now")
        self._none = QLabel("This circuit has no levers.")
        self._hint = QLabel("One that is not ticked stands as it is drawn.")
        self._hint.setStyleSheet("color: #6d747c;")
        self._grid = QGridLayout()
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        row = QHBoxLayout()
        row.addWidget(QLabel("<b>Levers</b>"), 1)
        row.addWidget(self.take_button)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(3)
        box.addLayout(row)
        box.addWidget(self._none)
        box.addWidget(self._hint)
        box.addLayout(self._grid)
        self.take_button.clicked.connect(self.take)

    def show_levers(self, changes: Mapping[str, Mapping[str, Any]]) -> None:
        """Show all levers of the circuit, those that `changes` sets ticked."""
        for tick, choice in self.rows.values():
            tick.deleteLater()
            choice.deleteLater()
        self.rows = {}
        for number, identifier in enumerate(_levers(self._circuit)):
            component = self._circuit.components[identifier]
            written = changes.get(identifier, {}).get("position")
            self._add_row(number, component, written)
        self._none.setVisible(not self.rows)
        self._hint.setVisible(bool(self.rows))
        self.take_button.setEnabled(bool(self.rows))

    def _add_row(self, number: int, component: Component, written: Any) -> None:
        tick, choice = _Tick(f"{component.id} {component.name}".strip()), QComboBox()
        for position, label in position_choices(component):
            choice.addItem(label, position)
        position = _position(component, written) or position_of(self._circuit, component)
        choice.setCurrentIndex(max(choice.findData(position), 0))
        tick.setChecked(written is not None)
        choice.setEnabled(written is not None)
        choice.setAccessibleName(f"Position of {component.id}")
        choice.setMaximumWidth(130)
        self._grid.addWidget(tick, number, 0)
        self._grid.addWidget(choice, number, 1)
        self.rows[component.id] = tick, choice
        tick.toggled.connect(choice.setEnabled)
        tick.toggled.connect(self._tell)
        choice.currentIndexChanged.connect(self._tell)

    def _tell(self, *_: object) -> None:
        self.changed.emit()

    def take(self) -> None:
        """Tick all levers, as they stand on the sheet."""
        for identifier, (tick, choice) in self.rows.items():
            component = self._circuit.components.get(identifier)
            if component is None:
                continue
            for widget in (tick, choice):
                widget.blockSignals(True)
            choice.setCurrentIndex(choice.findData(position_of(self._circuit, component)))
            tick.setChecked(True)
            choice.setEnabled(True)
            for widget in (tick, choice):
                widget.blockSignals(False)
        self.changed.emit()

    def changes(self, before: Mapping[str, Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
        """What `set` becomes: the levers as they are chosen, all else as it was `before`."""
        found = {identifier: dict(values) for identifier, values in before.items()}
        for identifier, (tick, choice) in self.rows.items():
            component = self._circuit.components.get(identifier)
            if component is None:
                continue
            own = found.setdefault(identifier, {})
            position = str(choice.currentData())
            if not tick.isChecked():
                own.pop("position", None)
            elif _position(component, own.get("position")) != position:
                own["position"] = component.labels.get(position) or position
        return {identifier: values for identifier, values in found.items() if values}


def _levers(circuit: Circuit) -> list[str]:
    """The levers that a hand moves; a roller's valve is moved by its cylinder."""
    components = circuit.components
    return [i for i in levers(circuit) if components[i].settings.get("operator") != "roller"]


def _position(component: Component, written: Any) -> str:
    """The position that is written, by its label or plainly; empty if none is."""
    choices = position_choices(component)
    return next((p for p, label in choices if written in (p, label)), "")
