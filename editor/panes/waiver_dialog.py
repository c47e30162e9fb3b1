"""The question that a waiver asks: on which part, for what reason, in whose name."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QDate, QSize, Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from editor.documents import settings
from editor.panes.waiving import rule_words

_NAME_KEY = "waiver/by"


class WaiverDialog(QDialog):
    """Asks reason and name; can be accepted only once both are given.

    It is shown with `open`, so that nothing blocks; `accepted` tells the answer.
    """

    def __init__(self, rule: str, subjects: Sequence[str], message: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Waive a Rule")
        self.rule = rule
        self.subject = QComboBox()
        self.subject.addItems(list(subjects))
        self.subject.setEnabled(len(subjects) > 1)
        self.reason = _Reason()
        self.by = QLineEdit(str(settings().value(_NAME_KEY, "")))
        self.date = QLineEdit(QDate.currentDate().toString(Qt.DateFormat.ISODate))
        self.missing = QLabel()
        self.missing.setWordWrap(True)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.waive = self.buttons.addButton("Waive", QDialogButtonBox.ButtonRole.AcceptRole)
        self._build(message)
        self.reason.textChanged.connect(self._show_missing)
        self.by.textChanged.connect(self._show_missing)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self._show_missing()
        self.reason.setFocus()

    def sizeHint(self) -> QSize:
        return QSize(460, super().sizeHint().height())

    def _build(self, message: str) -> None:
        heading = QLabel(rule_words(self.rule))
        font = heading.font()
        font.setBold(True)
        heading.setFont(font)
        what = QLabel(message)
        what.setTextFormat(Qt.TextFormat.PlainText)
        what.setWordWrap(True)
        effect = QLabel(
            "All findings of this rule on the part become notes that name who waived them and "
            "why. The waiver is kept in the circuit file and shown in the report."
        )
        effect.setWordWrap(True)
        form = QFormLayout()
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        form.addRow("Waived &on", self.subject)
        form.addRow("&Reason", self.reason)
        form.addRow("Waived &by", self.by)
        form.addRow("&Date (optional)", self.date)
        column = QVBoxLayout(self)
        column.setSpacing(10)
        for widget in (heading, what, effect):
            column.addWidget(widget)
        column.addLayout(form)
        column.addWidget(self.missing)
        column.addWidget(self.buttons)

    def _show_missing(self) -> None:
        missing = [
            what
            for what, text in (
                ("a reason", self.reason.toPlainText()),
                ("the name of who waives it", self.by.text()),
            )
            if not text.strip()
        ]
        self.missing.setText(f"Still needed: {' and '.join(missing)}." if missing else " ")
        self.waive.setEnabled(not missing)

    def accept(self) -> None:
        """Remember the name for the next time."""
        settings().setValue(_NAME_KEY, self.by.text().strip())
        super().accept()


class _Reason(QPlainTextEdit):
    """Three lines of text; Tab goes on to the next field."""

    def __init__(self) -> None:
        super().__init__()
        self.setTabChangesFocus(True)
        self.setAccessibleName("Reason")
        self.setPlaceholderText("Why the rule need not be kept here")
        self.setFixedHeight(3 * self.fontMetrics().lineSpacing() + 12)
