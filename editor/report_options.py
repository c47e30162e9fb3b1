"""The question what a report shall hold: how far single failures are tried."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

_AT_ONCE = "In the requirements that are judged at once"
_NOT_AT_ALL = "In no requirement: none is judged at once, and they are left out"
_WITH_RUNS = "In the procedures too, each run over time with every failure"
_TIME = "That takes seconds to minutes. Go on working meanwhile; it can be cancelled at the foot."
_NO_TIME = "They are worked out already in the pane Failures, and are taken from there."


class ReportOptions(QDialog):
    """Asks how far single failures are tried; `chosen` carries whether with runs.

    Parameters
    ----------
    failures
        How many there are to try.
    judged_at_once
        Whether there is a requirement that takes no run over time.
    worked_out
        Whether their table is there already, so that it costs no time.
    """

    chosen = Signal(bool)

    def __init__(
        self, parent: QWidget, failures: int, *, judged_at_once: bool, worked_out: bool
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Export report")
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.at_once = QRadioButton(_AT_ONCE if judged_at_once else _NOT_AT_ALL)
        self.with_runs = QRadioButton(_WITH_RUNS)
        self.at_once.setChecked(True)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.go_on = self.buttons.addButton("Choose File…", QDialogButtonBox.ButtonRole.AcceptRole)
        self._lay_out(failures, worked_out)
        # once it stands in the dialog: before, Cancel would take the Enter key
        self.go_on.setDefault(True)
        self.go_on.setFocus()
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.accepted.connect(self._tell)

    def _lay_out(self, failures: int, worked_out: bool) -> None:
        one = failures == 1
        count = "The one single failure is" if one else f"All {failures} single failures are"
        cost = _NO_TIME if worked_out else _TIME
        note = QLabel(cost)
        note.setWordWrap(True)
        note.setIndent(22)
        column = QVBoxLayout(self)
        column.addWidget(QLabel(f"{count} tried:"))
        column.addWidget(self.at_once)
        column.addWidget(self.with_runs)
        column.addWidget(note)
        column.addSpacing(8)
        column.addWidget(self.buttons)

    def _tell(self) -> None:
        self.chosen.emit(self.with_runs.isChecked())
