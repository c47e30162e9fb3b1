"""The menu What If This Fails: the failure modes of the selected part or line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu

from analysis.circuit import Circuit
from analysis.events import Change
from analysis.failure_modes import Failure, modes_of
from editor.listening import listen
from editor.selection import Selection
from editor.single_failures.words import mode_words

if TYPE_CHECKING:
    from editor.single_failures.failures_pane import FailuresPane


class FailMenu(QMenu):
    """One entry for each way in which the one selected part or line can fail.

    Choosing one shows the sheet with it; the table of failures need not be worked out. A
    mode that is in the drawing already is not offered.
    """

    def __init__(self, circuit: Circuit, selection: Selection, pane: FailuresPane) -> None:
        super().__init__("What If This &Fails", pane)
        self._circuit, self._selection, self._pane = circuit, selection, pane
        self._offered = True
        self.setToolTipsVisible(True)
        self.triggered.connect(self._choose)
        selection.changed.connect(self.refresh)
        listen(circuit.changed, self._on_change)
        self.refresh()

    def set_offered(self, offered: bool) -> None:
        """Not offered in the student's view, which shows symptoms only."""
        self._offered = offered
        self.refresh()

    def refresh(self) -> None:
        """Offer the modes of what is selected now."""
        self.clear()
        chosen = [i for i in self._selection.ids() if i in self._circuit]
        subject = chosen[0] if len(chosen) == 1 and self._offered else ""
        for mode in modes_of(self._circuit, subject) if subject else ():
            self._add(Failure(subject, mode))
        self.menuAction().setEnabled(not self.isEmpty())

    def _add(self, failure: Failure) -> None:
        action = QAction(mode_words(failure.mode).capitalize(), self)
        action.setData(failure)
        now = self._circuit.element(failure.subject).state.get("fault")
        if now == failure.mode:
            action.setEnabled(False)
            action.setToolTip("It is drawn so")
        self.addAction(action)

    def _on_change(self, change: Change) -> None:
        if change.action != "changed" or change.name == "state.fault":
            self.refresh()

    def _choose(self, action: QAction) -> None:
        subject, mode = action.data()
        self._pane.ask_what_if(Failure(subject, mode))
