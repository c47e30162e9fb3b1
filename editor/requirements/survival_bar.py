"""Judge Now: the button that works a `survives` requirement out, with its progress."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QSizePolicy, QWidget

from editor.requirements.survival import Survival

JUDGE_NOW = "It takes a run over time for every failure: Judge Now works it out."
BEING_TRIED = "Being judged: its procedure is tried with every failure."


class SurvivalBar(QWidget):
    """There while the circuit has a requirement that takes runs over time.

    `asked`: the chosen requirement shall be judged.
    """

    asked = Signal()

    def __init__(self, survival: Survival, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._survival = survival
        self.button = QPushButton("Judge Now")
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setFormat("%p %")
        self.progress.setAccessibleName("Share of the failures tried")
        # its room is kept, so that the list does not jump as it comes and goes
        policy = self.progress.sizePolicy()
        policy.setRetainSizeWhenHidden(True)
        policy.setHorizontalPolicy(QSizePolicy.Policy.Expanding)
        self.progress.setSizePolicy(policy)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(4)
        row.addWidget(self.button)
        row.addWidget(self.progress, 1)
        self.button.clicked.connect(self._judge_or_cancel)
        survival.progressed.connect(self._on_progress)
        self.show_state(can_judge=False, wanted=False)

    def show_state(self, *, can_judge: bool, wanted: bool) -> None:
        """`can_judge`: an open one is chosen; `wanted`: there is one at all."""
        running = self._survival.running
        self.setVisible(wanted or running)
        self.button.setText("Cancel" if running else "Judge Now")
        self.button.setEnabled(running or can_judge)
        self.button.setToolTip(
            "Give the judgement up"
            if running
            else "Try the chosen requirement with every failure; go on drawing meanwhile"
        )
        self.progress.setVisible(running)
        if not running:
            self.progress.setValue(0)

    def _judge_or_cancel(self) -> None:
        if self._survival.running:
            self._survival.cancel()
        else:
            self.asked.emit()

    def _on_progress(self, share: float) -> None:
        self.progress.setValue(round(share * 1000))
