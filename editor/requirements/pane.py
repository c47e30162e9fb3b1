"""The pane Requirements: the list with its verdicts, and the form of the one being written."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QUndoStack
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QListView,
    QPushButton,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.events import Change
from analysis.findings import Verdict
from analysis.requirement_words import asked_words
from analysis.verdict_ways import Shown, shown_by
from editor.canvas.canvas import Canvas
from editor.canvas.way_overlay import WayOverlay
from editor.listening import listen
from editor.live_analysis import LiveAnalysis
from editor.panes.finding_entries import Entry, verdict_mark
from editor.panes.findings_pane import FindingDelegate, FindingModel
from editor.requirements import requirement_edits as edits
from editor.requirements.draft_judge import DraftJudge
from editor.requirements.form import RequirementForm
from editor.requirements.kind_chooser import KindChooser
from editor.requirements.survival import Survival
from editor.requirements.survival_bar import BEING_TRIED, JUDGE_NOW, SurvivalBar

OUTCOMES = {"holds": "✔ holds", "fails": "✖ does not hold", "open": "○ open"}
_LEAST_HEIGHT, _FORM_HEIGHT = 200, 300
"""Of the list and of the form, which scrolls: a screen 768 pixels high has no more."""
_LIST, _CHOOSER, _FORM = range(3)


class _List(QListView):
    """The list of requirements; Escape puts the way away, `moved` by the arrow keys."""

    escaped = Signal()
    delete_pressed = Signal()
    moved = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.escaped.emit()
        elif event.key() == Qt.Key.Key_Delete:
            self.delete_pressed.emit()
        else:
            before = self.currentIndex().row()
            super().keyPressEvent(event)
            if self.currentIndex().row() != before:
                self.moved.emit()


class RequirementsPane(QWidget):
    """Lists, writes and shows requirements; `message` is for the status line."""

    message = Signal(str)

    def __init__(
        self,
        circuit: Circuit,
        live: LiveAnalysis,
        stack: QUndoStack,
        canvas: Canvas,
        overlay: WayOverlay,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self._live, self._stack = circuit, live, stack
        self._canvas, self.overlay = canvas, overlay
        self._seen = False
        self.survival = Survival(circuit, self)
        live.complete = self.survival.complete
        self.judge = DraftJudge(circuit, self)
        self.judge.judged.connect(self._on_judged)
        self.summary = QLabel()
        self.summary.setWordWrap(True)
        self.list, self.model = _List(), FindingModel(self)
        self.form = RequirementForm(circuit, canvas)
        self.chooser = KindChooser()
        self.new_button, self.change_button = QPushButton("New…"), QPushButton("Change…")
        self.twin_button, self.delete_button = QPushButton("Duplicate"), QPushButton("Delete")
        self.up_button, self.down_button = QPushButton("▲"), QPushButton("▼")
        self.survival_bar = SurvivalBar(self.survival)
        self._lay_out()
        self._connect()
        self.rebuild()

    # -- building ---------------------------------------------------------------------

    def _lay_out(self) -> None:
        view = self.list
        view.setModel(self.model)
        view.setItemDelegate(FindingDelegate(view))
        view.setResizeMode(QListView.ResizeMode.Adjust)
        view.setMouseTracking(True)
        view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        view.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        view.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        view.setAccessibleName("Requirements")
        first, second = QHBoxLayout(), QHBoxLayout()
        for button in (self.new_button, self.change_button, self.twin_button):
            first.addWidget(button)
        second.addWidget(self.delete_button)
        for button, word in ((self.up_button, "up"), (self.down_button, "down")):
            button.setToolTip(f"Move {word} in the list")
            button.setAccessibleName(f"Move {word}")
            second.addWidget(button)
        for row in (first, second):
            row.setSpacing(4)
        listed, box = QWidget(), QVBoxLayout()
        listed.setLayout(box)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(6)
        box.addWidget(self.summary)
        box.addWidget(view, 1)
        box.addWidget(self.survival_bar)
        box.addLayout(first)
        box.addLayout(second)
        self.pages = QStackedWidget()
        self.pages.addWidget(listed)
        self.pages.addWidget(self.chooser)
        self.pages.addWidget(self.form)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(6, 6, 6, 6)
        whole.addWidget(self.pages)
        self.pages.currentChanged.connect(self._give_room)
        self._give_room(_LIST)

    def _connect(self) -> None:
        self.list.selectionModel().currentChanged.connect(self._on_current)
        self.list.clicked.connect(self._on_clicked)
        self.list.moved.connect(self._go_there)
        self.list.activated.connect(self._change)
        self.list.escaped.connect(self.put_away)
        self.list.delete_pressed.connect(self._delete)
        self.new_button.clicked.connect(self.choose_kind)
        self.change_button.clicked.connect(self._change)
        self.twin_button.clicked.connect(self._duplicate)
        self.delete_button.clicked.connect(self._delete)
        self.up_button.clicked.connect(self._move_up)
        self.down_button.clicked.connect(self._move_down)
        self.chooser.chosen.connect(self.begin)
        self.chooser.left.connect(self._show_list)
        self.survival_bar.asked.connect(self._judge_now)
        self.survival.changed.connect(self.rebuild)
        self.survival.found.connect(self._live.complete_check)
        self.survival.failed.connect(self.message)
        self.form.keep_requested.connect(self._keep)
        self.form.left.connect(self._leave)
        self.form.changed.connect(self._on_draft)
        self._canvas.escaped.connect(self.put_away)
        self._live.check_changed.connect(self._on_check)
        listen(self._circuit.changed, self._on_change)

    def sizeHint(self) -> QSize:
        return QSize(380, 400)

    def _give_room(self, page: int) -> None:
        """A form needs more than a list."""
        self.setMinimumHeight(_FORM_HEIGHT if page == _FORM else _LEAST_HEIGHT)

    def close_jobs(self) -> None:
        """Compute nothing any more."""
        self.judge.close()
        self.survival.close()

    # -- the list ---------------------------------------------------------------------

    @property
    def chosen(self) -> int:
        """The row of the chosen requirement; -1 if none is."""
        return self.list.currentIndex().row()

    def rebuild(self) -> None:
        """Show the requirements as they are, with the latest verdicts."""
        row = self.chosen
        entries = [self._entry(n, raw) for n, raw in enumerate(self._circuit.requirements)]
        self.model.show_entries(entries)
        row = min(row, len(entries) - 1)
        if row >= 0 and row != self.chosen:
            self.list.setCurrentIndex(self.model.index(row))
        marks = [entry.mark for entry in entries]
        self.summary.setText(_summary(marks))
        if not entries and self.pages.currentIndex() == _LIST:
            self._open_chooser()
        elif entries and self.pages.currentIndex() == _CHOOSER and self._was_empty:
            self.pages.setCurrentIndex(_LIST)
        self._show_buttons()

    _was_empty = False

    def verdict(self, row: int) -> Verdict | None:
        """The latest verdict on the requirement of a row; None while it has none."""
        verdicts = self._live.check.requirements if self._live.check is not None else ()
        raw = self._circuit.requirements[row]
        if row < len(verdicts) and verdicts[row].name == (
            raw.get("name") or f"Requirement {row + 1}"
        ):
            return verdicts[row]
        return None

    def _entry(self, row: int, raw: edits.Raw) -> Entry:
        verdict, asked = self.verdict(row), asked_words(self._circuit, raw)
        if verdict is None:
            return Entry("open", str(raw.get("name", "")), "Being judged …", asked, ())
        message = verdict.message
        if not verdict.judged:
            message = BEING_TRIED if self.survival.is_running(raw) else JUDGE_NOW
        return Entry(verdict_mark(verdict), verdict.name, message, asked, verdict.witness)

    def _show_buttons(self) -> None:
        count, row = len(self._circuit.requirements), self.chosen
        for button in (self.change_button, self.twin_button, self.delete_button):
            button.setEnabled(row >= 0)
        is_open = 0 <= row < len(self.model.entries) and self.model.entries[row].mark == "open"
        takes_runs = [raw.get("kind") == "survives" for raw in self._circuit.requirements]
        self.survival_bar.show_state(
            can_judge=is_open and row < count and takes_runs[row],
            wanted=any(takes_runs),
        )
        self.up_button.setEnabled(row > 0)
        self.down_button.setEnabled(0 <= row < count - 1)

    def _on_change(self, change: Change) -> None:
        if change.action == "reset":
            self.list.setCurrentIndex(QModelIndex())
            self._show_list()
        elif change.name == "requirements" or change.action == "renamed":
            self.rebuild()
            self._show_ways()
        if self.pages.currentIndex() == _FORM:
            self._on_draft()

    def _on_check(self) -> None:
        self.rebuild()
        self._show_ways()

    def _on_current(self, *_: object) -> None:
        self._show_buttons()
        self._show_ways()

    def _on_clicked(self, _index: QModelIndex) -> None:
        # put away by Escape on the sheet, and clicked again where it is still the current row
        self._show_ways()
        self._go_there()

    def _go_there(self) -> None:
        """Bring the way into view; asked for by the user's hand only, never by a new verdict."""
        if self.overlay.item.isVisible():
            self._canvas.show_area(self.overlay.item.sceneBoundingRect())

    def _judge_now(self) -> None:
        if 0 <= self.chosen < len(self._circuit.requirements):
            self.survival.judge(self.chosen)

    # -- the ways on the sheet --------------------------------------------------------

    def put_away(self) -> None:
        """Draw no way any more, and choose none."""
        if self.pages.currentIndex() == _LIST:
            self.list.setCurrentIndex(QModelIndex())
            self.list.clearSelection()
            self.overlay.clear(self)

    def set_seen(self, seen: bool) -> None:
        """Told by the dock: a pane behind another counts as visible to Qt, but is not seen."""
        self._seen = seen
        if seen:
            self._show_ways()
        elif not self.form.is_picking:
            self.overlay.clear(self)

    def _show_ways(self) -> None:
        if not self._seen:
            return
        if self.pages.currentIndex() == _FORM:
            self._show_drafted()
            return
        row = self.chosen
        verdict = self.verdict(row) if 0 <= row < len(self._circuit.requirements) else None
        if verdict is None:
            self.overlay.clear(self)
            return
        self._draw(shown_by(self._circuit, self._circuit.requirements[row], verdict), verdict)

    def _draw(self, shown: Shown, verdict: Verdict) -> None:
        outcome = OUTCOMES[verdict_mark(verdict)]
        self.overlay.show(self, shown, verdict.name, outcome, holds=verdict.holds)

    # -- writing ----------------------------------------------------------------------

    def choose_kind(self) -> None:
        """Ask which kind the new one is."""
        self.overlay.clear(self)
        self._open_chooser()
        self.chooser.buttons["reaches"].setFocus()

    def _open_chooser(self) -> None:
        self._was_empty = not self._circuit.requirements
        self.chooser.show_for(empty=self._was_empty)
        self.pages.setCurrentIndex(_CHOOSER)

    def _show_list(self) -> None:
        self.form.finish_picking()
        self.pages.setCurrentIndex(_LIST)
        self.rebuild()
        self._show_ways()
        if self.pages.currentIndex() == _LIST:
            self.list.setFocus()

    def begin(self, kind: str) -> None:
        """Write a new requirement of this kind."""
        self.judge.forget()
        self.pages.setCurrentIndex(_FORM)
        self.overlay.clear(self)
        self.form.begin(kind)

    def _change(self, *_: object) -> None:
        if 0 <= self.chosen < len(self._circuit.requirements):
            self.judge.forget()
            self.pages.setCurrentIndex(_FORM)
            self.form.change(self._circuit.requirements[self.chosen])

    def _leave(self) -> None:
        self._show_list()

    def _keep(self) -> None:
        self.form.finish_picking()
        missing = self.form.missing()
        if missing:
            self.form.say(f"✖ Not kept: {missing}.", True)
            return
        requirements, original = self._circuit.requirements, self.form.original
        # what was being changed may be gone by an undo; then it is a new one
        known = original is not None and original in requirements
        row = requirements.index(original) if known and original else len(requirements)
        try:
            edits.put_requirement(self._circuit, self._stack, row, self.form.raw())
        except CircuitError as error:
            self.form.say(f"✖ Not kept: {error.message}.", True)
            return
        self._show_list()
        self.list.setCurrentIndex(self.model.index(row))

    def _try(self, edit: Callable[[], object]) -> bool:
        try:
            edit()
        except CircuitError as error:
            self.message.emit(f"{error.message}; nothing is changed.")
            return False
        return True

    def _duplicate(self) -> None:
        row = self.chosen
        if row >= 0 and self._try(
            lambda: edits.duplicate_requirement(self._circuit, self._stack, row)
        ):
            self.list.setCurrentIndex(self.model.index(row + 1))

    def _delete(self) -> None:
        row = self.chosen
        if row >= 0:
            self._try(lambda: edits.remove_requirement(self._circuit, self._stack, row))

    def _move_up(self) -> None:
        self._move(-1)

    def _move_down(self) -> None:
        self._move(1)

    def _move(self, step: int) -> None:
        row = self.chosen
        if row >= 0 and self._try(
            lambda: edits.move_requirement(self._circuit, self._stack, row, step)
        ):
            self.list.setCurrentIndex(self.model.index(row + step))

    # -- the verdict on what is being written -----------------------------------------

    def _on_draft(self) -> None:
        if self.pages.currentIndex() != _FORM:
            return
        self.judge.forget()
        missing = self.form.missing()
        raw = {} if missing else self.form.raw()
        if missing:
            self.form.say(f"Still to do: {missing}.")
            self.overlay.clear(self)
        elif raw["kind"] == "survives":
            self.form.say(f"○ Open here. {JUDGE_NOW}")
            self.overlay.clear(self)
        else:
            # the verdict on what stood there before must not be taken for that on this
            self.form.say("Being judged …")
            self.judge.judge(raw)

    def _on_judged(self) -> None:
        if self.pages.currentIndex() != _FORM:
            return
        if self.judge.problem:
            self.form.say(self.judge.problem, True)
        else:
            self._show_drafted()

    def _show_drafted(self) -> None:
        if self.judge.found is None:
            return
        verdict, shown = self.judge.found
        self.form.say(f"{OUTCOMES[verdict_mark(verdict)]}: {verdict.message}")
        if self.form.is_picking:
            self.overlay.clear(self)
        else:
            self._draw(shown, verdict)


def _summary(marks: list[str]) -> str:
    """`5 of 7 hold, 1 does not, 1 is open`."""
    holding, failing, unjudged = (marks.count(mark) for mark in ("holds", "fails", "open"))
    parts = [f"{holding} of {len(marks)} {'holds' if holding == 1 else 'hold'}"]
    if failing:
        parts.append(f"{failing} {'does' if failing == 1 else 'do'} not")
    if unjudged:
        parts.append(f"{unjudged} {'is' if unjudged == 1 else 'are'} open")
    return ", ".join(parts)
