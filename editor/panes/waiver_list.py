"""What has been waived on a part, in its form, each with a button that withdraws it.

A waiver whose finding is gone stands in no list of findings; here it can still be withdrawn.
"""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from editor.panes.bindings import Desk
from editor.panes.waiving import rule_words, withdraw_command
from editor.undo_commands import push


class WaiverList(QWidget):
    """The waivers of one component or line."""

    def __init__(self, desk: Desk, identifier: str) -> None:
        super().__init__()
        self._desk, self._identifier = desk, identifier
        self.buttons: dict[str, QToolButton] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        for waiver in desk.circuit.element(identifier).waivers:
            rule = waiver.get("rule", "")
            signed = ", ".join(waiver[key] for key in ("by", "date") if waiver.get(key))
            label = QLabel(f"{rule_words(rule)}: {waiver.get('reason', '')} ({signed})")
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
            button = QToolButton()
            button.setText("Withdraw")
            button.setAccessibleName(f"Withdraw waiver of {rule_words(rule).lower()}")
            button.setProperty("rule", rule)
            button.clicked.connect(self._withdraw)
            self.buttons[rule] = button
            row = QHBoxLayout()
            row.addWidget(label, 1)
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
            column.addLayout(row)

    def _withdraw(self) -> None:
        rule = str(self.sender().property("rule"))
        command = withdraw_command(self._desk.circuit, [self._identifier], rule)
        if command is not None:
            push(self._desk.stack, command)
