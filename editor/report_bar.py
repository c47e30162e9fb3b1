"""A report that is being written, at the foot of the window: how far it is, and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QWidget

from analysis.apart import Apart, Tell
from analysis.errors import CircuitError
from analysis.output_file import write_whole
from editor import theme
from editor.apart_run import ApartRun

_MOST_LETTERS = 70
"""A longer outcome stands in full in the tip: the line at the foot has other uses too."""
_LEAST_WORDS = 120
"""Of the words at least so much is shown [pixels]."""


class ReportBar(QWidget):
    """Writes one report at a time; out of sight while there is none.

    The file is written whole when all is there, so giving up and failing leave none. What
    came of it stays to be read until it is put away or the next one begins. `changed` tells
    that it begins or ends.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.run = ApartRun(self)
        self._path = ""
        self.words = QLabel()
        self.words.setAccessibleName("Report")
        # a small window stays small; the tip has it in full
        self.words.setMinimumWidth(_LEAST_WORDS)
        self.progress = QProgressBar()
        self.progress.setRange(0, 1000)
        self.progress.setFormat("%p %")
        self.progress.setFixedWidth(110)
        self.progress.setAccessibleName("Share of the report done")
        self.button = QPushButton()
        self.button.setAutoDefault(False)
        row = QHBoxLayout(self)
        row.setContentsMargins(6, 0, 6, 0)
        row.addWidget(self.words)
        row.addWidget(self.progress)
        row.addWidget(self.button)
        self.button.clicked.connect(self._cancel_or_put_away)
        self.run.progressed.connect(self._on_progress)
        self.run.finished.connect(self._take)
        self.hide()

    @property
    def file_name(self) -> str:
        """What is being written, or was written last."""
        return Path(self._path).name

    def write(self, path: str, make: Callable[[Tell], Apart]) -> None:
        """Write to `path` what `make` works out."""
        self._path = path
        self.progress.setValue(0)
        self._say(f"Writing {self.file_name}", "Cancel")
        self.progress.show()
        self.show()
        self.run.start(make)
        self.changed.emit()

    def close_down(self) -> None:
        """Give up what is being written, as the window goes."""
        self.run.close()

    def _cancel_or_put_away(self) -> None:
        if self.run.running:
            self.run.cancel()
            self._end("Cancelled: no report is written", wrong=False)
        else:
            self.hide()

    def _on_progress(self, share: float) -> None:
        self.progress.setValue(round(share * 1000))

    def _take(self, data: bytes | None, problem: str) -> None:
        if data is not None:
            try:
                write_whole(self._path, data)
            except CircuitError as error:
                problem = f"{self.file_name} {error.message}"
        if problem:
            self._end(f"No report is written: {problem}", wrong=True)
        else:
            self._end(f"Report written: {self.file_name}", wrong=False, where=self._path)

    def _end(self, text: str, *, wrong: bool, where: str = "") -> None:
        self.progress.hide()
        self._say(text, "Close", wrong)
        if where:
            self.words.setToolTip(where)
        self.changed.emit()

    def _say(self, text: str, button: str, wrong: bool = False) -> None:
        shown = text if len(text) <= _MOST_LETTERS else f"{text[: _MOST_LETTERS - 1]}…"
        self.words.setText(shown)
        self.words.setToolTip(text)
        self.button.setText(button)
        palette = self.words.palette()
        palette.setColor(self.words.foregroundRole(), theme.REFUSED if wrong else theme.INK)
        self.words.setPalette(palette)
