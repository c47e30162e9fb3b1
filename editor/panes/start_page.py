"""What the window shows before a circuit is open: samples, recent files, an empty sheet."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFont
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

import editor
from editor import theme
from editor.file_names import SUFFIX
from editor.panes.link_button import LinkButton

_WIDTH = 880
_LARGEST_TITLE_FILE = 5_000_000
"""A larger file [bytes] is not opened only to show its title."""


@dataclass(frozen=True)
class Sample:
    """A circuit file with what its title block says."""

    path: Path
    name: str
    notes: str
    parts: int


def samples_folder() -> Path:
    """Where the samples lie: beside the editor package, in a clone as where it is installed."""
    return Path(editor.__file__).parent.parent / "sample_circuits"


def find_samples(folder: Path) -> list[Sample]:
    """The circuits of a folder, the small ones first; what cannot be read is left out."""
    found = [sample for path in folder.glob(f"*{SUFFIX}") if (sample := _read_sample(path))]
    return sorted(found, key=lambda sample: (sample.parts, sample.name))


def _read_sample(path: Path) -> Sample | None:
    """Title, notes and size of a file; None if it is none. Opening it will say why."""
    try:
        if path.stat().st_size > _LARGEST_TITLE_FILE:
            return None
        record = json.loads(path.read_text(encoding="utf-8-sig"))
        title = record.get("title") or {}
        name = str(title.get("name") or path.name.removesuffix(SUFFIX).replace("_", " "))
        return Sample(path, name, str(title.get("notes") or ""), len(record["components"]))
    except (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError):
        return None


class StartPage(QScrollArea):
    """Samples on the left, empty sheet and recent files on the right."""

    open_requested = Signal(str)
    new_requested = Signal()

    def __init__(self, recent: Iterable[str] = (), parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        page = QWidget()
        column = QWidget(page)
        column.setMaximumWidth(_WIDTH)
        around = QHBoxLayout(page)
        around.addStretch(1)
        around.addWidget(column, 100)
        around.addStretch(1)
        layout = QVBoxLayout(column)
        layout.setContentsMargins(24, 32, 24, 24)
        layout.setSpacing(6)
        layout.addWidget(_heading("Standpipe", 2.0))
        layout.addWidget(
            _faint("Draw a hydraulic circuit and see its pressures and flows as you draw.")
        )
        layout.addSpacing(18)
        halves = QHBoxLayout()
        halves.setSpacing(32)
        layout.addLayout(halves)
        halves.addLayout(self._samples(), 3)
        right = QVBoxLayout()
        right.setSpacing(4)
        halves.addLayout(right, 2)
        self.new_button = QPushButton("New empty sheet")
        self.new_button.setMinimumHeight(36)
        self.new_button.clicked.connect(self._ask_new)
        right.addWidget(_heading("Begin"))
        right.addWidget(self.new_button)
        right.addSpacing(18)
        right.addWidget(_heading("Recent files"))
        self._recent = QVBoxLayout()
        self._recent.setSpacing(2)
        right.addLayout(self._recent)
        right.addStretch(1)
        layout.addStretch(1)
        layout.addSpacing(12)
        layout.addWidget(
            _faint(
                "For training, study and review. Not a release to service: approved data, local "
                "codes and licensed persons decide. Help → About lists the cautions."
            )
        )
        self.setWidget(page)
        self.set_recent(list(recent))

    def sizeHint(self) -> QSize:
        return QSize(_WIDTH, 600)

    def _samples(self) -> QVBoxLayout:
        column = QVBoxLayout()
        column.setSpacing(2)
        column.addWidget(_heading("Sample circuits"))
        self.sample_buttons: list[LinkButton] = []
        for sample in find_samples(samples_folder()):
            button = LinkButton(sample.name, sample.notes, str(sample.path))
            notes = f"\n\n{textwrap.fill(sample.notes, 80)}" if sample.notes else ""
            button.setToolTip(f"{sample.path.name}, {sample.parts} parts{notes}")
            button.chosen.connect(self.open_requested)
            column.addWidget(button)
            self.sample_buttons.append(button)
        if not self.sample_buttons:
            column.addWidget(_faint("No samples are installed beside the program."))
        column.addStretch(1)
        return column

    def set_recent(self, paths: Sequence[str]) -> None:
        """Offer these files, the latest first."""
        while (item := self._recent.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.hide()
                widget.deleteLater()
        self.recent = list(paths)
        for path in self.recent[:8]:
            file = Path(path)
            button = LinkButton(file.name.removesuffix(SUFFIX), str(file.parent), path)
            button.setToolTip(path)
            button.setEnabled(file.exists())
            button.chosen.connect(self.open_requested)
            self._recent.addWidget(button)
        if not self.recent:
            self._recent.addWidget(_faint("None yet."))

    def _ask_new(self) -> None:
        self.new_requested.emit()


def _heading(text: str, size: float = 1.15) -> QLabel:
    label = QLabel(text)
    font = QFont(label.font())
    font.setPointSizeF(font.pointSizeF() * size)
    font.setBold(True)
    label.setFont(font)
    label.setContentsMargins(0, 0, 0, 6)
    label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
    return label


def _faint(text: str) -> QLabel:
    label = QLabel(text)
    label.setWordWrap(True)
    label.setAlignment(Qt.AlignmentFlag.AlignTop)
    palette = label.palette()
    palette.setColor(label.foregroundRole(), theme.FAINT_INK)
    label.setPalette(palette)
    return label
