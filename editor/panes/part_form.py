"""The form beside the sheet: what is selected, in fields that take what people type."""

from __future__ import annotations

from collections import Counter

from PySide6.QtCore import QSize, Qt, QTimer
from PySide6.QtGui import QUndoStack
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QScrollArea, QVBoxLayout, QWidget

from analysis.circuit import Circuit, Component, Line
from analysis.events import Change
from editor import theme
from editor.display_units import DisplayUnits
from editor.listening import listen
from editor.panes.bindings import Desk
from editor.panes.pictures import symbol_picture
from editor.panes.rows import Row
from editor.panes.sections import (
    Section,
    circuit_sections,
    component_sections,
    line_sections,
    several_sections,
)
from editor.panes.waiver_list import WaiverList
from editor.selection import Selection

_PICTURE = QSize(84, 56)


class PartForm(QScrollArea):
    """Follows the selection: one part, one line, several, or none (then the circuit)."""

    def __init__(
        self,
        circuit: Circuit,
        selection: Selection,
        undo_stack: QUndoStack,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk = Desk(circuit, undo_stack)
        self._selection = selection
        self._units = DisplayUnits(circuit)
        self.rows: list[Row] = []
        self._subject: tuple[object, ...] | None = None
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAccessibleName("Part")
        # a selection may change several times in one gesture, and a field may be the
        # sender of the change that makes it go: the form is made anew once, afterwards
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._follow)
        selection.changed.connect(self._soon.start)
        self._stop_listening = listen(circuit.changed, self._on_change)
        self._follow()

    def sizeHint(self) -> QSize:
        return QSize(340, 600)

    def show_of(self, circuit: Circuit) -> None:
        """Show what is selected as it stands in this circuit: the drawing, or a copy of it.

        Fields of a copy write to the stack all the same, so lock the form meanwhile.
        """
        self._stop_listening()
        self._desk = Desk(circuit, self._desk.stack)
        self._units = DisplayUnits(circuit)
        self._stop_listening = listen(circuit.changed, self._on_change)
        self._subject = None
        self._follow()

    def row(self, title: str) -> Row:
        """The row of that title; KeyError if the form has none."""
        for row in self.rows:
            if row.title.text() == title:
                return row
        raise KeyError(title)

    def _on_change(self, change: Change) -> None:
        if change.action == "changed":
            if change.subject in ("", *self._selection.ids()):
                self._refresh(anyway=change.name in ("display_units", "labels"))
                if change.name == "waivers":
                    # a button may be the sender of the change that takes it away
                    self._subject = None
                    self._soon.start()
            return
        self._soon.start()

    def _refresh(self, *, anyway: bool = False) -> None:
        for row in self.rows:
            if anyway and not row.hasFocus():
                row.refresh_anyway()
            else:
                row.refresh()
        self._retitle()

    def _follow(self) -> None:
        """Show the selection, made anew if it is not the one shown already."""
        circuit = self._desk.circuit
        ids = tuple(i for i in self._selection.ids() if i in circuit)
        # the objects, not the ids alone: after `reset` another part may have the id
        subject = (ids, *(id(circuit.element(i)) for i in ids))
        if subject == self._subject:
            self._refresh(anyway=True)
            return
        self._subject = subject
        self._show(self._sections(ids), ids)

    def _sections(self, ids: tuple[str, ...]) -> list[Section]:
        if not ids:
            return circuit_sections(self._desk, self._units)
        if len(ids) > 1:
            return several_sections(self._desk, ids)
        element = self._desk.circuit.element(ids[0])
        if isinstance(element, Line):
            return line_sections(self._desk, element, self._units)
        return component_sections(self._desk, element, self._units)

    def _show(self, sections: list[Section], ids: tuple[str, ...]) -> None:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(10, 10, 10, 10)
        column.setSpacing(5)
        self._heading = QLabel(page)
        self._heading.setWordWrap(True)
        self._subheading = QLabel(page)
        self._subheading.setWordWrap(True)
        font = self._heading.font()
        font.setBold(True)
        font.setPointSizeF(font.pointSizeF() * 1.15)
        self._heading.setFont(font)
        element = self._desk.circuit.element(ids[0]) if len(ids) == 1 else None
        top = QHBoxLayout()
        words = QVBoxLayout()
        words.addWidget(self._heading)
        words.addWidget(self._subheading)
        words.addStretch(1)
        top.addLayout(words, 1)
        if isinstance(element, Component):
            picture = QLabel(page)
            ratio = self.devicePixelRatioF()
            picture.setPixmap(symbol_picture(element.declared, _PICTURE, ratio))
            top.addWidget(picture, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(top)
        self.rows = []
        for section in sections:
            if section.title:
                column.addWidget(_section_heading(section.title))
            for row in section.rows:
                column.addWidget(row)
                self.rows.append(row)
        self._add_waivers(column, ids)
        column.addStretch(1)
        self.setWidget(page)
        self._retitle()

    def _retitle(self) -> None:
        heading, subheading = self._titles()
        self._heading.setText(heading)
        self._subheading.setText(subheading)
        self._subheading.setVisible(bool(subheading))

    def _titles(self) -> tuple[str, str]:
        circuit = self._desk.circuit
        ids = [i for i in self._selection.ids() if i in circuit]
        if not ids:
            return "Circuit", "Select a part or a line to see its settings here."
        if len(ids) > 1:
            counts = Counter("line" if i in circuit.lines else "component" for i in ids)
            parts = [f"{n} {word}{'s' if n > 1 else ''}" for word, n in counts.items()]
            return f"{len(ids)} selected", " and ".join(parts) + ". What is set is set for all."
        element = circuit.element(ids[0])
        if isinstance(element, Line):
            return f"Line {element.id}", f"{element.start} – {element.end}"
        return element.declared.title, " – ".join(x for x in (element.id, element.name) if x)

    def _add_waivers(self, column: QVBoxLayout, ids: tuple[str, ...]) -> None:
        """What somebody has waived on the part, if anything."""
        if len(ids) == 1 and self._desk.circuit.element(ids[0]).waivers:
            column.addWidget(_section_heading("Waived rules"))
            column.addWidget(WaiverList(self._desk, ids[0]))


def _section_heading(title: str) -> QLabel:
    label = QLabel(title)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    palette = label.palette()
    palette.setColor(label.foregroundRole(), theme.FAINT_INK)
    label.setPalette(palette)
    label.setContentsMargins(0, 10, 0, 2)
    return label
