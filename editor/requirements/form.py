"""The form of one requirement: its kind in words, parts picked on the sheet, levers, a name."""

from __future__ import annotations

import copy

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.passages import SOURCES, actuator_ports
from analysis.requirement_words import (
    KIND_MEANINGS,
    KIND_WORDS,
    needed_keys,
    suggested_name,
    what_is_missing,
)
from analysis.words import described, described_port
from editor import theme
from editor.canvas.canvas import Canvas
from editor.gestures.pick_parts import PickParts
from editor.operation import procedure_words
from editor.requirements.failures_field import FailuresField
from editor.requirements.levers_field import LeversField
from editor.requirements.pick_field import PickField
from editor.requirements.requirement_edits import Raw, free_name, tidied

_SUPPLIES = "pumps, pressure sources and accumulators"
_PICKS = (
    ("from", "Supplies", "None yet: click pumps or accumulators on the sheet."),
    ("other", "Supplies of the other side", "None yet: click those of the other side."),
    ("targets", "Targets", "None yet: click ports of cylinders or motors."),
    ("may_share", "May share", "Nothing but the target itself."),
)
_WHAT = {
    "from": f"the supplies: {_SUPPLIES}",
    "other": f"the supplies of the other side: {_SUPPLIES}",
    "targets": "the targets: ports of cylinders and motors",
    "may_share": "what both ways may share: parts and lines",
}
_WHY_NOT = {
    "from": f"only {_SUPPLIES} supply",
    "other": f"only {_SUPPLIES} supply",
    "targets": "targets are ports of cylinders and motors",
    "may_share": "it is no part of a way",
}


class RequirementForm(QWidget):
    """`keep_requested` and `left` when it is done; `changed` at every edit."""

    keep_requested = Signal()
    left = Signal()
    changed = Signal()

    def __init__(self, circuit: Circuit, canvas: Canvas) -> None:
        super().__init__()
        self._circuit, self._canvas = circuit, canvas
        self.original: Raw | None = None
        self._base: Raw = {}
        self._named_by_hand = False
        self._picking = ""
        self._guided = False
        self._setting = False
        self.heading = QLabel()
        self.kind, self.procedure = QComboBox(), QComboBox()
        self.kind.setAccessibleName("Kind of requirement")
        for choice in (self.kind, self.procedure):
            _let_shrink(choice)
        for kind, words in KIND_WORDS.items():
            self.kind.addItem(words, kind)
        self.meaning = QLabel()
        self.meaning.setWordWrap(True)
        self.meaning.setStyleSheet(f"color: {theme.FAINT_INK.name()};")
        self.fields = {
            key: PickField(key, caption, hint, self._named) for key, caption, hint in _PICKS
        }
        self.procedure.setAccessibleName("Procedure")
        self.failures = FailuresField(circuit)
        self.levers = LeversField(circuit)
        self.also = QLineEdit()
        self.also.setAccessibleName("Also set")
        self.also.setPlaceholderText("nothing; or like L7.fault = blocked")
        self.name, self.notes = QLineEdit(), QLineEdit()
        self.name.setAccessibleName("Name")
        self.notes.setAccessibleName("Notes")
        self.notes.setPlaceholderText("none")
        self.outcome = QLabel()
        self.outcome.setWordWrap(True)
        self.outcome.setTextFormat(Qt.TextFormat.PlainText)
        self.keep_button, self.leave_button = QPushButton("Keep"), QPushButton("Leave off")
        self.leave_button.setToolTip("Forget what is written here (Esc)")
        self._lay_out()
        self._connect()

    # -- building ---------------------------------------------------------------------

    def _lay_out(self) -> None:
        inner, box = QWidget(), QVBoxLayout()
        inner.setLayout(box)
        box.setContentsMargins(4, 4, 8, 4)
        box.setSpacing(8)
        self._procedure_part = _titled("Procedure", self.procedure)
        self._also_part = _titled("Also set", self.also)
        for widget in (
            self.heading,
            self.kind,
            self.meaning,
            self.fields["from"],
            self.fields["other"],
            self._procedure_part,
            self.fields["targets"],
            self.fields["may_share"],
            self.failures,
            self.levers,
            self._also_part,
            _titled("Name", self.name),
            _titled("Notes", self.notes),
        ):
            box.addWidget(widget)
        box.addStretch(1)
        self._scroll = scroll = QScrollArea()
        scroll.setWidget(inner)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        row = QHBoxLayout()
        row.addWidget(self.keep_button)
        row.addWidget(self.leave_button)
        row.addStretch(1)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(scroll, 1)
        whole.addWidget(self.outcome)
        whole.addLayout(row)

    def _connect(self) -> None:
        self.kind.activated.connect(self._on_kind)
        for field in self.fields.values():
            field.pick_toggled.connect(self._on_pick_toggled)
            field.changed.connect(self._on_edit)
        self.procedure.currentIndexChanged.connect(self._on_edit)
        self.failures.changed.connect(self._on_edit)
        self.levers.changed.connect(self._on_edit)
        self.also.textEdited.connect(self._on_edit)
        self.notes.textEdited.connect(self._on_edit)
        self.name.textEdited.connect(self._on_name)
        self.name.returnPressed.connect(self.keep_requested)
        self.keep_button.clicked.connect(self.keep_requested)
        self.leave_button.clicked.connect(self.left)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves off picking first, then the form; Ctrl+Enter keeps."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.key() == Qt.Key.Key_Escape:
            if self._picking:
                self._canvas.pointer.cancel()
            else:
                self.left.emit()
        elif enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.keep_requested.emit()
        else:
            super().keyPressEvent(event)

    # -- what it holds ----------------------------------------------------------------

    def begin(self, kind: str) -> None:
        """A new requirement: its levers as they stand; the first pick begins at once."""
        self.original = None
        self._show({"kind": kind})
        if kind != "survives":
            self.levers.take()
        self._guided = True
        self._pick_next()

    def change(self, raw: Raw) -> None:
        """Edit one that is there."""
        self.original = copy.deepcopy(raw)
        self._guided = False
        self._show(raw)
        self.kind.setFocus()

    def _show(self, raw: Raw) -> None:
        self._setting = True
        self._base = copy.deepcopy(raw)
        self.heading.setText("<b>New requirement</b>" if self.original is None else "<b>Change</b>")
        self.kind.setCurrentIndex(self.kind.findData(raw.get("kind")))
        for key, field in self.fields.items():
            field.show_picked(raw.get(key) or [])
        self.procedure.clear()
        for procedure in self._circuit.procedures:
            self.procedure.addItem(str(procedure["name"]))
        self.procedure.setCurrentIndex(max(self.procedure.findText(raw.get("procedure", "")), 0))
        self.failures.show_failures(raw.get("failures") or ())
        changes = raw.get("set") or {}
        self.levers.show_levers(changes)
        self.also.setText(procedure_words.changes_text(self._others(changes)))
        self.notes.setText(raw.get("notes", ""))
        self.name.setText(raw.get("name", ""))
        self._named_by_hand = bool(raw.get("name"))
        self._setting = False
        self._show_kind()
        self._on_edit()

    def _others(self, changes: Raw) -> Raw:
        """What is set besides the positions of the levers that have a row."""
        found = {}
        for identifier, values in changes.items():
            lever = identifier in self.levers.rows
            rest = {n: v for n, v in values.items() if not (lever and n == "position")}
            if rest:
                found[identifier] = rest
        return found

    def raw(self) -> Raw:
        """The requirement as it is written now; raises EditError where words cannot be read."""
        kind = self.kind.currentData()
        changes = {
            identifier: {"position": values["position"]}
            for identifier, values in (self._base.get("set") or {}).items()
            if identifier in self.levers.rows and "position" in values
        }
        also = procedure_words.parse_changes(self.also.text())
        written = self._base.get("set") or {}
        merged = self.levers.changes(changes)
        for identifier, values in also.items():
            merged[identifier] = {**merged.get(identifier, {}), **values}
        raw = {
            **{key: field.picked for key, field in self.fields.items()},
            "name": self.name.text().strip(),
            "kind": kind,
            "notes": self.notes.text().strip(),
            "set": _ordered(merged, written),
            "procedure": self.procedure.currentText(),
            "failures": self.failures.failures(self._base.get("failures") or ()),
        }
        return tidied(raw, self.original)

    def missing(self) -> str:
        """What is still missing or cannot be read, in one line; empty if nothing is."""
        try:
            raw = self.raw()
        except CircuitError as error:
            return f"Also set: {error.message}"
        if raw["kind"] == "survives":
            if not self._circuit.procedures:
                return "write a procedure first (Operation, Procedures); there is none to survive"
            if not self.failures.every.isChecked() and not raw.get("failures"):
                return "tick at least one failure, or every one"
        return what_is_missing(raw)

    # -- edits ------------------------------------------------------------------------

    def _on_kind(self, _index: int) -> None:
        self.finish_picking()
        self._show_kind()
        self._on_edit()

    def _show_kind(self) -> None:
        kind = str(self.kind.currentData())
        self.meaning.setText(KIND_MEANINGS.get(kind, ""))
        survives = kind == "survives"
        self.fields["from"].setVisible(not survives)
        for key in ("other", "may_share"):
            self.fields[key].setVisible(kind == "independent")
        self._procedure_part.setVisible(survives)
        self.failures.setVisible(survives)

    def _on_name(self, text: str) -> None:
        self._named_by_hand = bool(text.strip())
        self._on_edit()

    def _on_edit(self, *_: object) -> None:
        if self._setting:
            return
        gesture = self._canvas.pointer.gesture
        if self._picking and isinstance(gesture, PickParts):
            gesture.show_picked(self.fields[self._picking].picked)
        if not self._named_by_hand:
            self._suggest()
        self.changed.emit()

    def _suggest(self) -> None:
        try:
            stem = suggested_name(self._circuit, self.raw())
        except CircuitError:
            return
        self.name.setText(free_name(self._circuit, stem) if stem else "")
        self.name.setCursorPosition(0)

    def _named(self, name: str) -> str:
        if name in self._circuit:
            return described(self._circuit.element(name))
        return described_port(self._circuit, name)

    def say(self, text: str, wrong: bool = False) -> None:
        """What is missing, or the verdict as it would be."""
        self.outcome.setText(text)
        colour = theme.ERROR if wrong else theme.INK
        self.outcome.setStyleSheet(f"color: {colour.name()}; padding: 2px 8px;")

    # -- picking ----------------------------------------------------------------------

    def _candidates(self, key: str) -> list[str]:
        circuit = self._circuit
        if key == "targets":
            return list(actuator_ports(circuit))
        if key == "may_share":
            return [element.id for element in circuit.elements()]
        taken = self.fields["other" if key == "from" else "from"].picked
        free = taken if self.kind.currentData() == "independent" else []
        return [c.id for c in circuit.components.values() if c.kind in SOURCES and c.id not in free]

    @property
    def is_picking(self) -> bool:
        """Whether parts are being picked on the sheet."""
        return bool(self._picking)

    def _on_pick_toggled(self, key: str, on: bool) -> None:
        if on:
            self._guided = False
            self.pick(key)
        else:
            # Done: a new requirement goes on to what it needs next
            self._canvas.pointer.finish_picking()

    def pick(self, key: str) -> None:
        """Let the parts of a field be picked on the sheet."""
        self.finish_picking()
        candidates = self._candidates(key)
        field = self.fields[key]
        if not candidates:
            field.show_picking(False)
            self.say(f"There is nothing to pick: {_WHY_NOT[key]}, and the sheet has none.", True)
            return
        self._picking = key
        field.show_picking(True)
        self._scroll.ensureWidgetVisible(field)
        gesture = PickParts(
            self._canvas,
            _WHAT[key],
            candidates,
            field.picked,
            field.set_picked,
            self._on_picked,
            _WHY_NOT[key],
        )
        self._canvas.pointer.start_picking(gesture)
        self._canvas.setFocus()
        self.changed.emit()

    def finish_picking(self) -> None:
        """End the picking that is on; what is picked is kept."""
        guided, self._guided = self._guided, False
        self._canvas.pointer.finish_picking()
        self._guided = guided

    def _on_picked(self, kept: bool) -> None:
        key, self._picking = self._picking, ""
        if key:
            self.fields[key].show_picking(False)
        self.changed.emit()
        if self._guided and kept and self.fields[key].picked:
            self._pick_next()
        else:
            self._guided = False

    def _pick_next(self) -> None:
        """Go on with what is still missing; once nothing is, to the button that keeps it."""
        for key in needed_keys(str(self.kind.currentData())):
            if key in self.fields and not self.fields[key].picked:
                self.pick(key)
                return
        self._guided = False
        self.keep_button.setFocus()


def _let_shrink(choice: QComboBox) -> None:
    """A long entry must not make the pane wide."""
    choice.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    choice.setMinimumContentsLength(8)


def _titled(title: str, widget: QWidget) -> QWidget:
    part, box = QWidget(), QVBoxLayout()
    part.setLayout(box)
    box.setContentsMargins(0, 0, 0, 0)
    box.setSpacing(3)
    label = QLabel(f"<b>{title}</b>")
    label.setBuddy(widget)
    box.addWidget(label)
    box.addWidget(widget)
    return part


def _ordered(found: Raw, written: Raw) -> Raw:
    """What is set, in the order in which it was written, what is new behind it."""
    keys = [key for key in written if key in found]
    keys += [key for key in found if key not in written]
    made = {}
    for key in keys:
        own, before = found[key], written.get(key, {})
        names = [n for n in before if n in own] + [n for n in own if n not in before]
        made[key] = {name: own[name] for name in names}
    return made
