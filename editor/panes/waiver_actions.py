"""Waive and withdraw: the two actions on a finding, as buttons and in its menu."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QModelIndex, QObject, Qt
from PySide6.QtGui import QAction, QUndoStack
from PySide6.QtWidgets import QAbstractItemView, QHBoxLayout, QToolButton, QWidget

from analysis.circuit import Circuit
from analysis.findings import Finding
from editor.panes.waiver_dialog import WaiverDialog
from editor.panes.waiving import subjects_to_waive_on, waive_command, withdraw_command
from editor.undo_commands import push


class WaiverActions(QObject):
    """What can be done with the finding that is current in a view.

    Parameters
    ----------
    current
        Gives the finding of the current row; None for none.
    """

    def __init__(
        self,
        circuit: Circuit,
        stack: QUndoStack,
        view: QAbstractItemView,
        current: Callable[[], Finding | None],
    ) -> None:
        super().__init__(view)
        self._circuit, self._stack, self._view, self._current = circuit, stack, view, current
        self.waive = QAction("Waive…", self)
        self.waive.setIconText("Waive…")  # else the button would leave the dots out
        self.withdraw = QAction("Withdraw Waiver", self)
        self.waive.triggered.connect(self._ask)
        self.withdraw.triggered.connect(self._withdraw)
        self.dialog: WaiverDialog | None = None
        self._asked: Finding | None = None
        self._locked = False
        view.addActions([self.waive, self.withdraw])
        view.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)
        self.buttons = self._make_buttons()
        view.selectionModel().currentChanged.connect(self._on_current)
        view.model().modelReset.connect(self.refresh)
        self.refresh()

    def _make_buttons(self) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        for action in (self.waive, self.withdraw):
            button = QToolButton()
            button.setDefaultAction(action)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            row.addWidget(button)
        row.addStretch(1)
        return holder

    def set_locked(self, locked: bool) -> None:
        """Locked while the findings are those of another circuit than the drawn one."""
        self._locked = locked
        self.refresh()

    def refresh(self) -> None:
        """Offer what can be done with the current finding, and say why if nothing can."""
        finding = self._current()
        can_waive = finding is not None and bool(subjects_to_waive_on(self._circuit, finding))
        is_waived = finding is not None and finding.waived is not None
        self.waive.setEnabled(can_waive and not self._locked)
        self.withdraw.setEnabled(is_waived and not self._locked)
        if self._locked:
            hint = "These findings are of a circuit with a failure, not of the drawing"
        elif finding is None:
            hint = "Select a finding first"
        elif finding.waived is not None:
            hint = "It is waived already; withdraw the waiver to change it"
        elif not can_waive:
            hint = "It concerns the circuit as a whole; only a rule on a part or line is waived"
        else:
            hint = "Say why this rule need not be kept here, and who says so"
        self.waive.setToolTip(hint)
        self.withdraw.setToolTip("The finding counts again")

    def _on_current(self, _now: QModelIndex, _before: QModelIndex) -> None:
        self.refresh()

    def _ask(self) -> None:
        finding = self._current()
        subjects = subjects_to_waive_on(self._circuit, finding) if finding is not None else []
        if finding is None or not subjects:
            return
        self._asked = finding
        self.dialog = WaiverDialog(finding.rule, subjects, finding.message, self._view.window())
        self.dialog.accepted.connect(self._waive)
        self.dialog.finished.connect(self._forget)
        self.dialog.open()

    def _waive(self) -> None:
        dialog, finding = self.dialog, self._asked
        if dialog is None or finding is None or dialog.subject.currentText() not in self._circuit:
            return
        command = waive_command(
            self._circuit,
            dialog.subject.currentText(),
            finding.rule,
            dialog.reason.toPlainText(),
            dialog.by.text(),
            dialog.date.text(),
        )
        push(self._stack, command)

    def _forget(self, _result: int) -> None:
        self.dialog, self._asked = None, None

    def _withdraw(self) -> None:
        finding = self._current()
        if finding is not None:
            command = withdraw_command(self._circuit, finding.subjects, finding.rule)
            if command is not None:
                push(self._stack, command)
