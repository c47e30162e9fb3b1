"""The pane Findings: what is wrong with the circuit and how it is mended; the requirements."""

from __future__ import annotations

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
)
from PySide6.QtGui import QPainter, QPalette, QPixmap, QUndoStack
from PySide6.QtWidgets import (
    QAbstractItemView,
    QLabel,
    QListView,
    QStackedLayout,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from analysis.circuit import Circuit
from analysis.findings import Finding
from editor import theme
from editor.live_analysis import LiveAnalysis
from editor.panes.finding_entries import MARK_WORDS, WHAT_IS_CHECKED, Entry, entries, summary
from editor.panes.pictures import mark_picture
from editor.panes.waiver_actions import WaiverActions
from editor.selection import Selection

_INDEX = QModelIndex | QPersistentModelIndex
_NOWHERE = QModelIndex()
ENTRY_ROLE = Qt.ItemDataRole.UserRole
_MARK = 18
_PADDING = 8


class FindingModel(QAbstractListModel):
    """The entries of the latest check."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.entries: list[Entry] = []

    def rowCount(self, parent: _INDEX = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.entries)

    def data(self, index: _INDEX, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        entry = self.entries[index.row()]
        if role == ENTRY_ROLE:
            return entry
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return f"{MARK_WORDS[entry.mark]}: {entry.heading}. {entry.message} {entry.mend}"
        return None

    def show_entries(self, found: list[Entry]) -> None:
        """Replace the rows, unless they are the same."""
        if found != self.entries:
            self.beginResetModel()
            self.entries = found
            self.endResetModel()


class FindingDelegate(QStyledItemDelegate):
    """Mark, heading, message and mend below each other, wrapped to the width of the view."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view
        self._marks: dict[tuple[str, float], QPixmap] = {}

    def sizeHint(self, option: QStyleOptionViewItem, index: _INDEX) -> QSize:
        width = self._view.viewport().width()
        area = QRect(0, 0, width, 100_000)
        bottom = self._lay_out(None, area, option, index.data(ENTRY_ROLE), False)
        return QSize(width, bottom + _PADDING)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _INDEX) -> None:
        painter.save()
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(option.rect, option.palette.color(QPalette.ColorRole.Highlight))
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(option.rect, option.palette.color(QPalette.ColorRole.AlternateBase))
        entry = index.data(ENTRY_ROLE)
        self._lay_out(painter, option.rect, option, entry, chosen)
        painter.drawPixmap(
            option.rect.left() + _PADDING,
            option.rect.top() + _PADDING,
            self._mark(entry.mark, painter.device().devicePixelRatio()),
        )
        if not chosen:
            painter.setPen(theme.GRID)
            painter.drawLine(option.rect.bottomLeft(), option.rect.bottomRight())
        painter.restore()

    def _lay_out(
        self,
        painter: QPainter | None,
        area: QRect,
        option: QStyleOptionViewItem,
        entry: Entry,
        chosen: bool,
    ) -> int:
        """Paint the texts (or only measure them); returns where they end."""
        left = area.left() + 2 * _PADDING + _MARK
        room = QRect(left, area.top() + _PADDING, area.right() - left - _PADDING, area.height())
        bold = self._view.font()
        bold.setBold(True)
        ink = theme.FAINT_INK if entry.mark == "waived" else theme.INK
        for text, font, colour in (
            (entry.heading, bold, ink),
            (entry.message, self._view.font(), ink),
            (entry.mend, self._view.font(), theme.FAINT_INK),
        ):
            if not text:
                continue
            metrics = self._view.fontMetrics()
            if font is bold:
                metrics = type(metrics)(bold)
            needed = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, text).height()
            if painter is not None:
                painter.setFont(font)
                white = option.palette.color(QPalette.ColorRole.HighlightedText)
                painter.setPen(white if chosen else colour)
                painter.drawText(room, Qt.TextFlag.TextWordWrap, text)
            room.setTop(room.top() + needed + 2)
        return room.top() - area.top()

    def _mark(self, mark: str, ratio: float) -> QPixmap:
        key = (mark, ratio)
        if key not in self._marks:
            self._marks[key] = mark_picture(mark, _MARK, ratio)
        return self._marks[key]


class FindingsPane(QWidget):
    """A summary, and the findings; a click selects the parts concerned and shows them."""

    def __init__(
        self,
        circuit: Circuit,
        live: LiveAnalysis,
        selection: Selection,
        stack: QUndoStack,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._circuit, self._live, self._selection = circuit, live, selection
        self.summary = QLabel(self)
        self.summary.setWordWrap(True)
        self.list = QListView(self)
        self.model = FindingModel(self)
        self.list.setModel(self.model)
        self.list.setItemDelegate(FindingDelegate(self.list))
        self.list.setResizeMode(QListView.ResizeMode.Adjust)
        self.list.setMouseTracking(True)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setAccessibleName("Findings")
        self.empty = QLabel(self)
        self.empty.setWordWrap(True)
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.empty.setContentsMargins(12, 12, 12, 12)
        self._stack = QStackedLayout()
        self._stack.addWidget(self.list)
        self._stack.addWidget(self.empty)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(6, 6, 6, 6)
        layout.setSpacing(6)
        layout.addWidget(self.summary)
        layout.addLayout(self._stack, 1)
        self.waivers = WaiverActions(circuit, stack, self.list, self._current_finding)
        layout.addWidget(self.waivers.buttons)
        self.list.clicked.connect(self._show_subject)
        self.list.activated.connect(self._show_subject)
        live.check_changed.connect(self.refresh)
        self.refresh()

    def sizeHint(self) -> QSize:
        return QSize(380, 400)

    def refresh(self) -> None:
        """Show the latest check."""
        result = self._live.check
        found = entries(result) if result is not None else []
        current = self.list.currentIndex().data(ENTRY_ROLE)
        self.model.show_entries(found)
        if current is not None and not self.list.currentIndex().isValid():
            row = next((n for n, entry in enumerate(found) if entry.is_as(current)), None)
            if row is not None:
                self.list.setCurrentIndex(self.model.index(row))
        self._stack.setCurrentIndex(0 if found else 1)
        self.waivers.buttons.setVisible(bool(found))
        self.waivers.refresh()
        if result is not None:
            self.summary.setText(summary(result))
            self.empty.setText(f"Nothing to mend.\n\n{WHAT_IS_CHECKED}")
        else:
            self.summary.setText("")
            self.empty.setText(f"{self._live.problem or 'Checking …'}\n\n{WHAT_IS_CHECKED}")
        self.summary.setVisible(result is not None)

    def _current_finding(self) -> Finding | None:
        entry = self.list.currentIndex().data(ENTRY_ROLE)
        return entry.finding if entry is not None else None

    def _show_subject(self, index: QModelIndex) -> None:
        entry = self.model.entries[index.row()]
        ids = [i for subject in entry.subjects if (i := self._element_of(subject))]
        if ids:
            self._selection.set(ids, reveal=True)

    def _element_of(self, subject: str) -> str:
        """The id that a subject (`ID` or `ID.PORT`) stands for; empty if it is gone."""
        for candidate in (subject, subject.rpartition(".")[0]):
            if candidate in self._circuit:
                return candidate
        return ""
