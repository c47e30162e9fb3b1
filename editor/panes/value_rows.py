"""The rows for values: quantities as people type them, choices, flags, long texts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtGui import QFocusEvent, QPalette, QWheelEvent
from PySide6.QtWidgets import QCheckBox, QComboBox, QPlainTextEdit

from analysis.circuit import DEFAULT
from analysis.quantities import EXAMPLES
from analysis.values import default_of, resolve
from editor import theme
from editor.display_units import DisplayUnits
from editor.panes.bindings import MIXED, Binding
from editor.panes.rows import Row, TextRow
from editor.panes.written_values import parse_written, written_text
from symbols.kind import WORDS, Setting

_SMALL = 1e-3


class QuantityRow(TextRow):
    """A quantity, a number or a text of the catalogue, in the words people type."""

    def __init__(
        self,
        binding: Binding,
        declared: Setting,
        units: DisplayUnits,
        *,
        may_be_unknown: bool = True,
        if_absent: str = "not given",
    ) -> None:
        self._declared, self._units = declared, units
        self._if_absent = if_absent
        self._may_be_unknown = may_be_unknown
        super().__init__(declared.title, binding)

    def text_of(self, raw: Any) -> str:
        return written_text(raw)

    def parse(self, text: str) -> Any:
        return parse_written(text, self._declared, may_be_unknown=self._may_be_unknown)

    def note(self, raw: Any) -> str:
        if raw is None:
            default = self.default_text()
            used = f"; {default} is used" if default else ""
            return f"Not known{used}."
        if isinstance(raw, dict):
            middle = resolve(raw, self._declared).si
            assert isinstance(middle, float)
            return f"A range; its middle, {self._in_units(middle)}, is used."
        return ""

    def default_text(self) -> str:
        """The default in the units of the circuit; empty if there is none."""
        default = default_of(self._declared)
        if default is None or isinstance(default, bool):
            return ""
        if isinstance(default, str):
            return default
        assert isinstance(default, float)
        shown = self._units.value(default, self._declared.dimension)
        if 0.0 < abs(shown) < _SMALL:  # 1.5 um is read at a glance, 0.00005906 in is not
            return str(self._declared.default)
        return self._in_units(default)

    def show_written(self, raw: Any) -> None:
        super().show_written(raw)
        if raw is MIXED:
            return
        default = self.default_text()
        self.field.setPlaceholderText(default or self._if_absent)
        self.reset.setToolTip(f"Back to the default: {default}" if default else "Take it away")
        self.field.setToolTip(self._hint(raw))

    def _in_units(self, si: float) -> str:
        return self._units.format(si, self._declared.dimension)

    def _hint(self, raw: Any) -> str:
        if self._declared.dimension in WORDS:
            return ""
        lines = []
        if isinstance(raw, str):
            value = resolve(raw, self._declared).si
            if isinstance(value, float):
                lines.append(f"= {self._in_units(value)}")
        example = EXAMPLES[self._declared.dimension]
        forms = [f"Write it like {example}"]
        if self._may_be_unknown:
            forms.append("a range like 'low to high', or ? if it is not known")
        if self._declared.table:
            forms.append("a table like 0 in: 200 lbf; 6 in: 400 lbf")
        return "\n".join([*lines, ";\n".join(forms) + "."])


class _QuietComboBox(QComboBox):
    """A combo box that the wheel scrolls past: no value changes by accident."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class ChoiceRow(Row):
    """One of several words. `choices` are (raw value, shown text)."""

    def __init__(
        self,
        title: str,
        binding: Binding,
        choices: Sequence[tuple[Any, str]],
        *,
        default: Any = DEFAULT,
        resets: bool = True,
    ) -> None:
        super().__init__(title, binding, resets=resets)
        self._choices = list(choices)
        self._default = default
        self.field = _QuietComboBox(self)
        self.field.activated.connect(self._on_activated)
        self._fill()
        self.set_field(self.field)

    def set_choices(self, choices: Sequence[tuple[Any, str]]) -> None:
        """Other words for the choices, or other choices."""
        if list(choices) != self._choices:
            self._choices = list(choices)
            self._fill()
            self.refresh_anyway()

    def _fill(self) -> None:
        self.field.clear()
        self.field.addItems([shown for _, shown in self._choices])

    def show_written(self, raw: Any) -> None:
        value = self._default if raw is DEFAULT else raw
        known = [choice for choice, _ in self._choices]
        shown = [text for _, text in self._choices]
        if raw is MIXED:
            self.field.setCurrentIndex(-1)
            self.field.setPlaceholderText("different")
        elif value in known:
            self.field.setCurrentIndex(known.index(value))
        elif value in shown:  # written by its label
            self.field.setCurrentIndex(shown.index(value))
        else:
            self._choices.append((value, f"{value} (not among the choices)"))
            self._fill()
            self.field.setCurrentIndex(len(self._choices) - 1)
        palette = self.field.palette()
        pale = raw is DEFAULT
        colour = theme.FAINT_INK if pale else theme.INK
        for role in (QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
            palette.setColor(role, colour)
        self.field.setPalette(palette)
        self.field.setToolTip("The default; nothing is written" if pale and self._resets else "")
        self.reset.setToolTip(f"Back to the default: {self._shown_text(self._default)}")

    def _shown_text(self, value: Any) -> str:
        return dict(self._choices).get(value, "none") if value is not DEFAULT else "none"

    def _on_activated(self, index: int) -> None:
        if not self.commit(self._choices[index][0]):
            wrong = self.message.text()
            self.refresh_anyway()
            self.say(wrong, wrong=True)


class FlagRow(Row):
    """Yes or no."""

    def __init__(self, declared: Setting, binding: Binding) -> None:
        super().__init__(declared.title, binding)
        self._default = bool(declared.default)
        self.field = QCheckBox(self)
        self.field.clicked.connect(self.commit)
        self.set_field(self.field)
        self.reset.setToolTip(f"Back to the default: {_yes_no(self._default)}")

    def show_written(self, raw: Any) -> None:
        value = self._default if raw is DEFAULT else bool(raw)
        self.field.setChecked(value)
        default = " (default)" if raw is DEFAULT else ""
        self.field.setText(f"{_yes_no(value)}{default}")


class _NotesEdit(QPlainTextEdit):
    """A long text that tells when it is left."""

    def __init__(self, row: NotesRow) -> None:
        super().__init__(row)
        self._row = row
        self.setTabChangesFocus(True)
        self.setFixedHeight(5 * self.fontMetrics().lineSpacing() + 12)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._row.finish()


class NotesRow(Row):
    """A text of several lines, written when the field is left."""

    def __init__(self, title: str, binding: Binding) -> None:
        super().__init__(title, binding, resets=False)
        self.field = _NotesEdit(self)
        self.set_field(self.field)

    def show_written(self, raw: Any) -> None:
        text = "" if raw is DEFAULT else str(raw)
        if text != self.field.toPlainText():
            self.field.setPlainText(text)

    def finish(self) -> None:
        """Write the text if it has changed."""
        text = self.field.toPlainText().strip()
        if text != (str(self._shown[0]) if self._shown[0] is not DEFAULT else ""):
            self.commit(text or DEFAULT)


def _yes_no(value: bool) -> str:
    return "yes" if value else "no"
