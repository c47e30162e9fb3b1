"""The band over the sheet that says what is shown there is not the drawing."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from editor import theme
from editor.single_failures.what_if import WhatIf
from editor.single_failures.words import quoted

_MOST_NAMES = 4
_MOST_LEVERS = 8


class WhatIfBanner(QFrame):
    """What has failed, what it costs, and the way back; hidden while nothing is shown."""

    leave_requested = Signal()

    def __init__(self, what_if: WhatIf, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._what_if = what_if
        self.headline, self.effect, self.moved = QLabel(), QLabel(), QLabel()
        self.put_back = QPushButton("Levers as Drawn")
        self.put_back.setToolTip("Put levers and pumps back to where they are drawn")
        self.back = QPushButton("Back to the Drawing")
        self.back.setToolTip("Esc")
        self._build()
        self.back.clicked.connect(self.leave_requested)
        self.put_back.clicked.connect(what_if.put_levers_back)
        what_if.changed.connect(self._say)
        self.refresh()

    def _build(self) -> None:
        self.setAccessibleName("What if")
        self.setAutoFillBackground(True)
        palette = self.palette()
        palette.setColor(QPalette.ColorRole.Window, theme.ACTIVE)
        self.setPalette(palette)
        bold = self.headline.font()
        bold.setBold(True)
        self.headline.setFont(bold)
        for label in (self.headline, self.effect, self.moved):
            label.setWordWrap(True)
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        words = QVBoxLayout()
        words.setSpacing(2)
        words.addWidget(self.headline)
        words.addWidget(self.effect)
        words.addWidget(self.moved)
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 6, 10, 6)
        row.setSpacing(16)
        row.addLayout(words, 1)
        row.addWidget(self.put_back, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.back, 0, Qt.AlignmentFlag.AlignVCenter)

    def refresh(self) -> None:
        """Come or go, which takes room from the sheet; and say what is shown."""
        self.setVisible(self._what_if.active)
        self._say()

    def _say(self) -> None:
        if self._what_if.active:
            self.headline.setText(
                f"What if: {self._what_if.words}. Nothing in the drawing is changed."
            )
            self.effect.setText(effect_words(self._what_if))
        moved = self._what_if.moved
        self.moved.setText(f"Worked here only: {_listed(moved)}." if moved else "")
        self.moved.setVisible(bool(moved))
        self.put_back.setVisible(bool(moved))


def effect_words(what_if: WhatIf) -> str:
    """What the failure costs: by the table where it was worked out, else by the requirements."""
    case, changes = what_if.case, what_if.verdict_changes()
    lost = list(case.lost) if case is not None else []
    degraded = list(case.degraded) if case is not None else []
    broken, mended = changes if changes is not None else ([], [])
    lost += [name for name in broken if name not in lost]
    parts = []
    if lost:
        parts.append(f"Lost: {_some(lost)}.")
    if degraded:
        parts.append(f"Degraded: {_some(degraded)}.")
    if mended:
        parts.append(
            f"Holds only {'as it stands here' if what_if.moved else 'with it'}: {_some(mended)}."
        )
    if not lost and not degraded:
        parts.append("Judging the requirements …" if changes is None else _nothing_lost(case))
    elif case is None:
        parts.append("Procedures are judged only when the failures are worked out.")
    return " ".join(parts)


def _nothing_lost(case: object | None) -> str:
    if case is not None:
        return "It costs no requirement and no procedure."
    return (
        "No requirement changes its verdict; procedures are judged only when the failures are "
        "worked out."
    )


def _listed(moved: list[str]) -> str:
    more = len(moved) - _MOST_LEVERS
    return ", ".join(moved[:_MOST_LEVERS]) + (f" and {more} more" if more > 0 else "")


def _some(names: list[str]) -> str:
    more = len(names) - _MOST_NAMES
    return quoted(names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
