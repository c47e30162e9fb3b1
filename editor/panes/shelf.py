"""The symbol shelf: every kind there is, by family, with its picture and a search.

A symbol is taken by a click (then clicked onto the sheet) or dragged there. The shelf
keeps the mouse during a drag and tells where it was let go: a nested drag-and-drop loop
would stop the rest of the program meanwhile.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPoint, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QLabel,
    QLineEdit,
    QListView,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from editor.panes.shelf_delegate import ShelfDelegate
from symbols.catalogue import KINDS
from symbols.kind import Kind

KIND_ROLE = Qt.ItemDataRole.UserRole
"""The kind's name; empty for the heading of a family."""


def matches(kind: Kind, search: str) -> bool:
    """Whether every word of the search is in the title, name, family or keywords.

    >>> matches(KINDS["cylinder"], "JACK double"), matches(KINDS["cylinder"], "pump")
    (True, False)
    """
    text = f"{kind.title} {kind.name} {kind.family} {kind.keywords}".lower()
    return all(word in text or word in text.replace("_", " ") for word in search.lower().split())


class ShelfList(QListView):
    """The list of kinds; it tells clicks and drags, and filters by a search."""

    picked = Signal(str)
    dropped = Signal(str, QPoint)
    drag_moved = Signal(str, QPoint)
    drag_cancelled = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = QStandardItemModel(self)
        self.setModel(self._model)
        self.setItemDelegate(ShelfDelegate(self))
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setMouseTracking(True)
        self.setAccessibleName("Symbols")
        self._fill()
        self._pressed_at: QPoint | None = None
        self._pressed_kind = ""
        self._dragging = False

    def _fill(self) -> None:
        family = ""
        for kind in KINDS.values():
            if kind.family != family:
                family = kind.family
                heading = QStandardItem(family.capitalize())
                heading.setFlags(Qt.ItemFlag.NoItemFlags)
                heading.setData("", KIND_ROLE)
                self._model.appendRow(heading)
            item = QStandardItem(kind.title)
            item.setData(kind.name, KIND_ROLE)
            item.setToolTip(_hint(kind))
            self._model.appendRow(item)

    def filter(self, search: str) -> int:
        """Show only what matches; returns how many kinds that are."""
        shown, heading, in_family = 0, -1, 0
        for row in range(self._model.rowCount() + 1):
            name = self._model.item(row).data(KIND_ROLE) if row < self._model.rowCount() else ""
            if not name:
                if heading >= 0:
                    self.setRowHidden(heading, in_family == 0)
                heading, in_family = row, 0
                continue
            fits = matches(KINDS[name], search)
            self.setRowHidden(row, not fits)
            in_family += fits
            shown += fits
        return shown

    def kinds_shown(self) -> list[str]:
        """The names of the kinds that are not filtered out, from top to bottom."""
        return [
            name
            for row in range(self._model.rowCount())
            if not self.isRowHidden(row) and (name := self._model.item(row).data(KIND_ROLE))
        ]

    def index_of(self, kind: str) -> QModelIndex:
        """Where a kind stands in the list."""
        found = self._model.match(
            self._model.index(0, 0), KIND_ROLE, kind, 1, Qt.MatchFlag.MatchExactly
        )
        return found[0] if found else QModelIndex()

    # -- the pointer ----------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        super().mousePressEvent(event)
        if event.button() == Qt.MouseButton.LeftButton:
            self._pressed_kind = self._kind_at(event.position().toPoint())
            self._pressed_at = event.globalPosition().toPoint() if self._pressed_kind else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._pressed_at is None:
            if not event.buttons():
                super().mouseMoveEvent(event)
            return
        position = event.globalPosition().toPoint()
        far = (position - self._pressed_at).manhattanLength()
        if not self._dragging and far >= QApplication.startDragDistance():
            self._dragging = True
            self.setCursor(Qt.CursorShape.DragCopyCursor)
        if self._dragging:
            self.drag_moved.emit(self._pressed_kind, position)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        if event.button() != Qt.MouseButton.LeftButton or self._pressed_at is None:
            return
        kind, dragged = self._pressed_kind, self._dragging
        self._end_drag()
        if dragged:
            self.dropped.emit(kind, event.globalPosition().toPoint())
        elif self._kind_at(event.position().toPoint()) == kind:
            self.picked.emit(kind)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._pressed_at is not None:
            self._end_drag()
            self.drag_cancelled.emit()
            return
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            kind = self.currentIndex().data(KIND_ROLE)
            if kind:
                self.picked.emit(kind)
            return
        super().keyPressEvent(event)

    def _end_drag(self) -> None:
        self._pressed_at, self._pressed_kind, self._dragging = None, "", False
        self.unsetCursor()

    def _kind_at(self, position: QPoint) -> str:
        return self.indexAt(position).data(KIND_ROLE) or ""


class Shelf(QWidget):
    """Search, the list of kinds, and a hint when nothing matches."""

    picked = Signal(str)
    dropped = Signal(str, QPoint)
    drag_moved = Signal(str, QPoint)
    drag_cancelled = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.search = QLineEdit(self)
        self.search.setPlaceholderText("Search symbols")
        self.search.setAccessibleName("Search symbols")
        self.search.setClearButtonEnabled(True)
        self.search.setToolTip("By title, kind or use: relief, jack, orifice …")
        self.list = ShelfList(self)
        self.hint = QLabel(self)
        self.hint.setWordWrap(True)
        self.hint.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignHCenter)
        self.hint.setContentsMargins(16, 32, 16, 16)
        self._stack = QStackedLayout()
        self._stack.addWidget(self.list)
        self._stack.addWidget(self.hint)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(6, 6, 6, 6)
        layout.setSpacing(6)
        layout.addWidget(self.search)
        layout.addLayout(self._stack, 1)
        self.search.textChanged.connect(self._filter)
        self.search.returnPressed.connect(self._pick_best)
        self.list.picked.connect(self.picked)
        self.list.dropped.connect(self.dropped)
        self.list.drag_moved.connect(self.drag_moved)
        self.list.drag_cancelled.connect(self.drag_cancelled)

    def sizeHint(self) -> QSize:
        return QSize(240, 600)

    def _filter(self, search: str) -> None:
        shown = self.list.filter(search)
        self.hint.setText(
            f"No symbol matches “{search.strip()}”.\n\n"
            "Try the part's use, such as lock, emergency or throttle, or a shorter word."
        )
        self._stack.setCurrentIndex(0 if shown else 1)

    def _pick_best(self) -> None:
        """Enter takes what is called as it was searched for, rather than what comes first."""
        kinds = self.list.kinds_shown()
        if kinds and self.search.text().strip():
            best = best_match(kinds, self.search.text())
            self.list.setCurrentIndex(self.list.index_of(best))
            self.picked.emit(best)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Down and self.search.hasFocus():
            kinds = self.list.kinds_shown()
            if kinds:
                self.list.setCurrentIndex(self.list.index_of(kinds[0]))
                self.list.setFocus()
            return
        super().keyPressEvent(event)


def best_match(kinds: Sequence[str], search: str) -> str:
    """Of the kinds that match: one whose title begins so, else one whose title holds it."""
    wanted = search.strip().lower()

    def rank(kind: str) -> tuple[bool, bool]:
        title = KINDS[kind].title.lower()
        return not title.startswith(wanted), wanted not in title

    return min(kinds, key=rank)


def _hint(kind: Kind) -> str:
    ports = ", ".join(port.name for port in kind.ports)
    return f"{kind.title}\nPorts: {ports}\nClick, then click on the sheet; or drag it there."
