"""The circuit's procedures: written down, edited in place, and worked live."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.errors import CircuitError, EditError
from analysis.events import Change
from analysis.procedures import Expectation, find_procedure
from editor import theme
from editor.listening import listen
from editor.operation import procedure_edits as edits
from editor.operation import procedure_words as words
from editor.operation.cell_table import CellTable
from editor.operation.operation import Operation

_EMPTY = (
    "This circuit has no procedures yet.\n\n"
    "Run the clock, work levers and pumps, then press “Keep as procedure…” above: what you did "
    "is kept as steps. Or write one by hand:"
)


class ProceduresTab(QWidget):
    """A list of procedures; steps and expectations of the chosen one; Replay."""

    def __init__(self, circuit: Circuit, operation: Operation, stack: QUndoStack) -> None:
        super().__init__()
        self._circuit, self._operation, self._stack = circuit, operation, stack
        self._replayed = ""
        self.list = QListWidget()
        self.list.setAccessibleName("Procedures")
        self.list.setToolTip("Double-click to rename")
        self.replay_button = QPushButton("Replay")
        self.new_button, self.first_button = QPushButton("New"), QPushButton("New procedure")
        self.delete_button = QPushButton("Delete")
        self.start = QLineEdit()
        self.start.setPlaceholderText("as drawn; or like 1A1.extension = 0 in; 0P1.running = false")
        self.start.setAccessibleName("State at the start")
        self.steps = CellTable("Steps", ("When", "Set"), word="step")
        self.expectations = CellTable(
            "Expectations", ("Of what", "Until when", "Outcome"), (2,), "expectation"
        )
        self.complaint = QLabel()
        self.complaint.setWordWrap(True)
        self.complaint.setStyleSheet(f"color: {theme.ERROR.name()};")
        self.complaint.hide()
        self.outcome = QLabel()
        self._lay_out()
        self._connect()
        self.rebuild()

    def _lay_out(self) -> None:
        buttons = QHBoxLayout()
        for button in (self.replay_button, self.new_button, self.delete_button):
            buttons.addWidget(button)
        left, left_box = QWidget(), QVBoxLayout()
        left.setLayout(left_box)
        left_box.setContentsMargins(0, 0, 0, 0)
        left_box.addWidget(self.list, 1)
        left_box.addLayout(buttons)
        tables = QSplitter()
        tables.addWidget(self.steps)
        tables.addWidget(self.expectations)
        right, right_box = QWidget(), QVBoxLayout()
        right.setLayout(right_box)
        right_box.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        row.addWidget(QLabel("Starts with"))
        row.addWidget(self.start, 1)
        row.addWidget(self.outcome)
        right_box.addLayout(row)
        right_box.addWidget(tables, 1)
        right_box.addWidget(self.complaint)
        whole = QSplitter()
        whole.addWidget(left)
        whole.addWidget(right)
        whole.setSizes([260, 900])
        empty, empty_box = QWidget(), QVBoxLayout()
        empty.setLayout(empty_box)
        said = QLabel(_EMPTY)
        said.setWordWrap(True)
        empty_box.addWidget(said)
        empty_box.addWidget(self.first_button, 0, Qt.AlignmentFlag.AlignLeft)
        empty_box.addStretch(1)
        self.pages = QStackedWidget()
        self.pages.addWidget(empty)
        self.pages.addWidget(whole)
        box = QVBoxLayout(self)
        box.setContentsMargins(8, 6, 8, 6)
        box.addWidget(self.pages)

    def _connect(self) -> None:
        self.list.currentRowChanged.connect(self._show_chosen)
        self.list.itemChanged.connect(self._on_renamed)
        self.replay_button.clicked.connect(self._replay)
        self.new_button.clicked.connect(self._new)
        self.first_button.clicked.connect(self._new)
        self.delete_button.clicked.connect(self._delete)
        self.start.editingFinished.connect(self._on_start)
        self.steps.edited.connect(self._on_step)
        self.steps.add_requested.connect(self._add_step)
        self.steps.remove_requested.connect(self._remove_step)
        self.expectations.edited.connect(self._on_expectation)
        self.expectations.add_requested.connect(self._add_expectation)
        self.expectations.remove_requested.connect(self._remove_expectation)
        self._operation.shown.connect(self._show_outcomes)
        self._operation.replay_changed.connect(self._show_outcomes)
        listen(self._circuit.changed, self._on_change)

    # -- showing ----------------------------------------------------------------------

    @property
    def chosen(self) -> int:
        """The row of the chosen procedure; -1 if there is none."""
        return self.list.currentRow()

    def rebuild(self) -> None:
        """Show the procedures as they are in the circuit."""
        row = max(self.chosen, 0)
        self.list.blockSignals(True)
        # an item that is being renamed tells of it just now, so those there are stay
        while self.list.count() > len(self._circuit.procedures):
            self.list.takeItem(self.list.count() - 1)
        for number, procedure in enumerate(self._circuit.procedures):
            item = self.list.item(number)
            if item is None:
                item = QListWidgetItem()
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsEditable)
                self.list.addItem(item)
            item.setText(str(procedure.get("name", "")))
            item.setToolTip(item.text())
        self.list.setCurrentRow(min(row, self.list.count() - 1))
        self.list.blockSignals(False)
        self.pages.setCurrentIndex(1 if self.list.count() else 0)
        self._show_chosen()

    def _on_change(self, change: Change) -> None:
        if change.action in ("reset", "renamed") or change.name == "procedures":
            self.rebuild()

    def _raw(self) -> dict[str, Any]:
        """A copy of the chosen procedure."""
        return copy.deepcopy(self._circuit.procedures[self.chosen])

    def _show_chosen(self, _row: int = 0) -> None:
        self._complain("")
        if not 0 <= self.chosen < len(self._circuit.procedures):
            return
        raw = self._raw()
        self.start.setText(words.changes_text(raw.get("start", {})))
        self.steps.show_rows(
            [(words.when_text(s), words.changes_text(s.get("set", {}))) for s in raw["steps"]]
            if raw.get("steps")
            else []
        )
        self.expectations.show_rows(
            [(words.condition_text(e), words.limit_text(e), "") for e in raw.get("expect", ())]
        )
        self._show_outcomes()

    def _show_outcomes(self) -> None:
        """What is decided by now, in shape and word; only of the procedure that is worked."""
        script = self._operation.script
        worked = script is not None and script.plan.name == self._chosen_name()
        decided = script.plan.expectations if worked and script is not None else []
        same = len(decided) == self.expectations.table.rowCount()
        for row in range(self.expectations.table.rowCount()):
            text, colour = outcome_words(decided[row]) if same else ("", "")
            self.expectations.set_text(row, 2, text, colour)
        if script is None or not worked:
            self.outcome.setText("")
            return
        held = sum(e.holds is True for e in decided)
        end = "done" if script.is_closed else f"{len(script.waiting)} steps to come"
        self.outcome.setText(f"{end}; {held} of {len(decided)} held")

    def _chosen_name(self) -> str:
        item = self.list.currentItem()
        return item.text() if item is not None else ""

    def _complain(self, text: str) -> None:
        self.complaint.setText(text)
        self.complaint.setVisible(bool(text))

    # -- editing ----------------------------------------------------------------------

    def _try(self, edit: Callable[[], None]) -> bool:
        """Do an edit; what is wrong with it is said and the circuit stays as it is."""
        self._complain("")
        try:
            edit()
        except CircuitError as error:
            self._complain(f"✖ {error.message}; nothing is changed.")
            return False
        return True

    def _put(self, raw: dict[str, Any]) -> None:
        edits.put_procedure(self._circuit, self._stack, self.chosen, raw)

    def _new(self) -> None:
        name = edits.free_name(self._circuit, "New procedure")
        raw = {"name": name, "steps": [], "expect": []}
        count = len(self._circuit.procedures)
        if self._try(lambda: edits.put_procedure(self._circuit, self._stack, count, raw)):
            self.list.setCurrentRow(count)

    def _delete(self) -> None:
        self._try(lambda: edits.remove_procedure(self._circuit, self._stack, self.chosen))

    def _on_renamed(self, item: QListWidgetItem) -> None:
        row, name = self.list.row(item), item.text()
        done = self._try(lambda: edits.rename_procedure(self._circuit, self._stack, row, name))
        if not done:
            self.list.blockSignals(True)
            item.setText(str(self._circuit.procedures[row]["name"]))
            self.list.blockSignals(False)

    def _on_start(self) -> None:
        text = self.start.text()
        if self.chosen < 0 or text == words.changes_text(self._raw().get("start", {})):
            return

        def edit() -> None:
            self._put({**self._raw(), "start": words.parse_changes(text)})

        self._try(edit)

    def _on_step(self, row: int, column: int, text: str) -> None:
        def edit() -> None:
            raw = self._raw()
            step = raw["steps"][row]
            if column == 0:
                kept = {"set": step.get("set", {})}
                raw["steps"][row] = {**words.parse_when(text), **kept}
            else:
                step["set"] = words.parse_changes(text)
            self._put(raw)

        if not self._try(edit):
            self.steps.mark_refused(row, column, text)

    def _add_step(self) -> None:
        raw = self._raw()
        raw["steps"] = [*raw.get("steps", ()), {"at": _last_time(raw), "set": {}}]
        self._try(lambda: self._put(raw))

    def _remove_step(self, row: int) -> None:
        raw = self._raw()
        del raw["steps"][row]
        self._try(lambda: self._put(raw))

    def _on_expectation(self, row: int, column: int, text: str) -> None:
        def edit() -> None:
            raw = self._raw()
            item = raw["expect"][row]
            condition = text if column == 0 else words.condition_text(item)
            limit = text if column == 1 else words.limit_text(item)
            raw["expect"][row] = {**words.parse_limit(limit), **words.parse_condition(condition)}
            self._put(raw)

        if not self._try(edit):
            self.expectations.mark_refused(row, column, text)

    def _add_expectation(self) -> None:
        def edit() -> None:
            raw = self._raw()
            new = {"by": "10 s", **_first_condition(self._circuit)}
            raw["expect"] = [*raw.get("expect", ()), new]
            self._put(raw)

        self._try(edit)

    def _remove_expectation(self, row: int) -> None:
        raw = self._raw()
        del raw["expect"][row]
        self._try(lambda: self._put(raw))

    # -- working ----------------------------------------------------------------------

    def _replay(self) -> None:
        name = self._chosen_name()
        self._try(lambda: self._begin(name))

    def _begin(self, name: str) -> None:
        self._operation.replay(find_procedure(self._circuit, name))


def outcome_words(expectation: Expectation) -> tuple[str, str]:
    """A sign and words for what is known of an expectation, and their colour."""
    at = f" at {expectation.time:.1f} s" if expectation.time is not None else ""
    if expectation.holds is None:
        return "○ open", ""
    if expectation.holds:
        return f"✔ held{at}", theme.ACCEPTED.name()
    return f"✖ not held{at}", theme.ERROR.name()


def _last_time(raw: dict[str, Any]) -> str:
    """A new step begins at the time of the last one that has a time."""
    times = [str(step["at"]) for step in raw.get("steps", ()) if "at" in step]
    return times[-1] if times else "0 s"


def _first_condition(circuit: Circuit) -> dict[str, Any]:
    """Something to begin with: the first cylinder's extension, else the first pressure."""
    for component in circuit.components.values():
        if component.kind == "cylinder":
            return {"signal": f"{component.id}.extension", "at_least": "0 mm"}
    for port in circuit.ports():
        return {"signal": f"{port}.pressure", "at_least": "0 bar"}
    raise EditError("there is nothing to expect of an empty sheet")
