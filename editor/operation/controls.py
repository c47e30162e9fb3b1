"""The levers, pumps and switches of a circuit as controls."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QShowEvent, QUndoStack
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QWidget,
)

from analysis.circuit import Circuit, Component
from analysis.events import Change
from analysis.resolved import resolve_element
from editor.listening import listen
from editor.operation.hands import set_state
from editor.operation.operation import Operation


class Controls(QWidget):
    """One row for each lever and pump; each press is an undoable change of state.

    A hand pump has two more: one press one stroke, and a handle that works while held.
    """

    def __init__(
        self,
        circuit: Circuit,
        operation: Operation,
        stack: QUndoStack,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self._operation, self._stack = circuit, operation, stack
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(8, 6, 8, 6)
        self._grid.setHorizontalSpacing(10)
        self._grid.setVerticalSpacing(4)
        self._refreshers: list[Callable[[], None]] = []
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._rebuild_if_seen)
        listen(circuit.changed, self._on_change)

    def _on_change(self, change: Change) -> None:
        """Follow the drawing: its parts, what they are called, and how its levers stand."""
        if change.action != "changed" or change.name in ("name", "labels"):
            self._soon.start()
        elif change.name.startswith("state.") and self.isVisible():
            self.refresh()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._soon.start()

    def _rebuild_if_seen(self) -> None:
        if self.isVisible():
            self.rebuild()

    def rebuild(self) -> None:
        """Make the rows anew for the circuit as it is."""
        while self._grid.count():
            item = self._grid.takeAt(0)
            widget = item.widget() if item is not None else None
            if widget is not None:
                widget.deleteLater()
        self._refreshers = []
        row = 0
        for component in self._circuit.components.values():
            states = component.declared.states
            if "position" in states:
                self._add_lever(row, component)
            elif "running" in states:
                self._add_pump(row, component)
            else:
                continue
            row += 1
        if not row:
            self._grid.addWidget(QLabel("This circuit has no levers and no pumps."), 0, 0)
        self._grid.setColumnStretch(1, 1)
        self._grid.setRowStretch(row + 1, 1)
        self.refresh()

    def refresh(self) -> None:
        """Show the states as they are."""
        for refresh in self._refreshers:
            refresh()

    def _is_there(self, component: Component) -> bool:
        """Not so for the rows of another circuit that was opened since: they are made anew."""
        now = self._circuit.components.get(component.id)
        return now is not None and now.kind == component.kind

    def _label(self, row: int, component: Component) -> None:
        label = QLabel(f"<b>{component.id}</b>  {component.name or component.declared.title}")
        label.setTextFormat(Qt.TextFormat.RichText)
        self._grid.addWidget(label, row, 0)

    def _add_lever(self, row: int, component: Component) -> None:
        self._label(row, component)
        holder, buttons, group = QWidget(), QHBoxLayout(), QButtonGroup(self)
        holder.setLayout(buttons)
        buttons.setContentsMargins(0, 0, 0, 0)
        buttons.setSpacing(0)
        made: dict[str, QToolButton] = {}
        for choice in component.declared.states["position"].choices:
            button = QToolButton()
            button.setText(component.labels.get(choice, choice))
            button.setCheckable(True)
            button.setMinimumWidth(64)
            button.clicked.connect(partial(self._set, component.id, "position", choice))
            group.addButton(button)
            buttons.addWidget(button)
            made[choice] = button
        buttons.addStretch(1)
        self._grid.addWidget(holder, row, 1)

        def refresh() -> None:
            if self._is_there(component):
                now = self._now(component)
                made[str(resolve_element(now).state["position"])].setChecked(True)

        self._refreshers.append(refresh)

    def _add_pump(self, row: int, component: Component) -> None:
        self._label(row, component)
        holder, buttons = QWidget(), QHBoxLayout()
        holder.setLayout(buttons)
        buttons.setContentsMargins(0, 0, 0, 0)
        switch = QToolButton()
        switch.setCheckable(True)
        switch.setMinimumWidth(64)
        switch.clicked.connect(
            lambda checked=False, i=component.id: self._set(i, "running", bool(checked))
        )
        buttons.addWidget(switch)
        if component.kind == "hand_pump":
            stroke = QPushButton("One stroke")
            stroke.clicked.connect(partial(self._stroke, component.id))
            handle = QPushButton("Hold to pump")
            handle.setToolTip("The pump works while the button is held down")
            handle.pressed.connect(partial(self._work, component.id, True))
            handle.released.connect(partial(self._work, component.id, False))
            buttons.addWidget(stroke)
            buttons.addWidget(handle)
        buttons.addStretch(1)
        self._grid.addWidget(holder, row, 1)

        def refresh() -> None:
            if self._is_there(component):
                running = bool(resolve_element(self._now(component)).state["running"])
                switch.setChecked(running)
                switch.setText("running" if running else "at rest")

        self._refreshers.append(refresh)

    def _set(self, identifier: str, name: str, value: object, _checked: bool = False) -> None:
        set_state(self._operation, self._stack, identifier, name, value)
        self.refresh()

    def _now(self, component: Component) -> Component:
        """The component as it stands in the motion while there is one."""
        return self._operation.worked_circuit.components.get(component.id, component)

    def _stroke(self, pump: str, _checked: bool = False) -> None:
        if not self._operation.active:
            self._operation.run()
        self._operation.stroke(pump)
        self.refresh()

    def _work(self, pump: str, running: bool) -> None:
        if not self._operation.active:
            self._operation.run()
        self._operation.work(pump, running)
        self.refresh()
