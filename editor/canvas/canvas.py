"""The canvas: the view of one circuit with everything that gestures and menus ask of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QKeyEvent, QUndoCommand, QUndoStack
from PySide6.QtWidgets import QMenu, QWidget

from analysis.circuit import Circuit
from analysis.events import Change
from analysis.routing import Point
from editor import theme
from editor.canvas.component_item import ComponentItem
from editor.canvas.empty_hint import EmptyHint
from editor.canvas.line_item import LineItem
from editor.canvas.port_mark import PortMark
from editor.canvas.scene import Scene
from editor.canvas.view import View
from editor.gestures.drawn_levers import DrawnLevers, Levers
from editor.gestures.nudge import Nudge
from editor.gestures.pointer import Pointer
from editor.listening import listen
from editor.selection import Selection
from editor.undo_commands import push

M = theme.MODULE
_PORT_REACH = (0.75, 1.3)
"""At least and at most so many modules from a port the pointer is taken to be on it."""

_PORT_CATCH = (1.4, 2.0)
_PORT_PIXELS = 8
_LINE_PIXELS = 5

_PLACING = ("at", "turn", "mirror", "via", "start", "end")
"""Fields that say where something is drawn."""

_ARROWS = {
    Qt.Key.Key_Left: (-1, 0),
    Qt.Key.Key_Right: (1, 0),
    Qt.Key.Key_Up: (0, -1),
    Qt.Key.Key_Down: (0, 1),
}


class Canvas(View):
    """Draws the circuit and lets it be edited by hand.

    `said` carries what the status line shall tell, and whether it is a refusal; `escaped`
    tells that Escape was pressed while no gesture was on.
    """

    said = Signal(str, bool)
    placing_ended = Signal()
    escaped = Signal()

    def __init__(
        self,
        circuit: Circuit,
        selection: Selection,
        stack: QUndoStack,
        parent: QWidget | None = None,
    ) -> None:
        self.sheet = Scene(circuit, selection)
        super().__init__(self.sheet, parent)
        self.sheet.setParent(self)
        self.circuit = circuit
        self.selection = selection
        self.stack = stack
        self.describe: Callable[[str], str] = lambda _name: ""
        self.context_menu: QMenu | None = None
        self._port_mark = PortMark()
        self.sheet.addItem(self._port_mark)
        self.pointer = Pointer(self)
        self.handler = self.pointer
        self._nudge = Nudge(self)
        self.drawn_levers = DrawnLevers(self)
        self.levers: Levers = self.drawn_levers
        self.empty_hint = EmptyHint(circuit, self)
        self.setObjectName("canvas")
        selection.reveal_requested.connect(self.reveal)
        listen(circuit.changed, self._on_change)

    def _on_change(self, change: Change) -> None:
        """An undo in the middle of a gesture may take away or move what the gesture holds."""
        if change.action != "changed" or change.name in _PLACING:
            self.pointer.give_up_stale()

    # -- what gestures do -------------------------------------------------------------

    def do(self, command: QUndoCommand | None) -> None:
        """Do a command, so that it can be undone."""
        if command is not None:
            push(self.stack, command)

    def say(self, text: str, wrong: bool = False) -> None:
        """Tell something in the status line."""
        self.said.emit(text, wrong)

    def show_port(self, port: str, refused: bool = False) -> None:
        """Put a ring around a port; empty takes it away."""
        if port:
            self._port_mark.show_at(self.sheet.port_at(port), port, refused)
        else:
            self._port_mark.hide()

    # -- what is where ----------------------------------------------------------------

    def places(self) -> dict[str, Point]:
        """Where every component stands."""
        return {c.id: self.sheet.place_of(c) for c in self.circuit.components.values()}

    def ways(self) -> dict[str, list[Point]]:
        """The corners of every line as it is drawn, ends included."""
        return {identifier: item.points for identifier, item in self.sheet.lines.items()}

    def port_near(self, at: Point, *, catching: bool = False) -> str:
        """The port under the pointer as `ID.PORT`; empty if there is none.

        `catching`: a line is being drawn, and the port catches its end from farther off.
        """
        least, most = _PORT_CATCH if catching else _PORT_REACH
        reach = min(max(least, self.pixels(_PORT_PIXELS)), most) * M
        here = QPointF(at[0] * M, at[1] * M)
        found, nearest = "", reach
        for item in self.sheet.items(_square(here, reach)):
            if not isinstance(item, ComponentItem) or not item.identifier:
                continue
            for name, offset in item.ports.items():
                gap = item.pos() + offset - here
                distance = max(abs(gap.x()), abs(gap.y()))
                if distance <= nearest:
                    found, nearest = f"{item.identifier}.{name}", distance
        return found

    def component_near(self, at: Point) -> str:
        """The component under the pointer: the smallest, where one lies within another."""
        here = QPointF(at[0] * M, at[1] * M)
        found = [
            item
            for item in self.sheet.items(here)
            if isinstance(item, ComponentItem) and item.identifier
        ]
        found.sort(key=lambda item: item.body().width() * item.body().height())
        return found[0].identifier if found else ""

    def line_near(self, at: Point) -> str:
        """The line under the pointer."""
        here = QPointF(at[0] * M, at[1] * M)
        for item in self.sheet.items(_square(here, self.pixels(_LINE_PIXELS) * M)):
            if isinstance(item, LineItem) and item.identifier:
                return item.identifier
        return ""

    def elements_in(self, area: QRectF) -> list[str]:
        """The components and lines that lie wholly within an area of the scene."""
        inside = []
        for identifier, item in self.sheet.components.items():
            if area.contains(item.body().translated(item.pos())):
                inside.append(identifier)
        for identifier, line in self.sheet.lines.items():
            if line.points and all(area.contains(QPointF(x * M, y * M)) for x, y in line.points):
                inside.append(identifier)
        return inside

    def count_lettered_under(self, area: QRect) -> int:
        """How many symbols, with their lettering, and lines a part of the viewport covers."""
        place = self.mapToScene(area).boundingRect()
        symbols = self.sheet.components.values()
        covered = sum(item.sceneBoundingRect().intersects(place) for item in symbols)
        return covered + sum(isinstance(item, LineItem) for item in self.sheet.items(place))

    # -- placing from the shelf -------------------------------------------------------

    def start_placing(self, kind: str) -> None:
        """Let a ghost of the kind follow the pointer until it is put down."""
        self.pointer.start_placing(kind)
        self.setFocus()

    def drag_over(self, kind: str, position: QPoint) -> None:
        """A part is dragged from the shelf over this point of the screen."""
        here = self.viewport().mapFromGlobal(position)
        inside = self.viewport().rect().contains(here)
        self.pointer.drag_over(kind, self.to_sheet(here) if inside else None)

    def drop(self, kind: str, position: QPoint) -> None:
        """A part dragged from the shelf is let go at this point of the screen."""
        here = self.viewport().mapFromGlobal(position)
        inside = self.viewport().rect().contains(here)
        self.pointer.drop(kind, self.to_sheet(here) if inside else None)
        if inside:
            self.setFocus()  # the keys turn what was just put down

    # -- keys -------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move what is selected, or the ghost that Enter puts down; with Shift by five."""
        key = Qt.Key(event.key())
        if self.handler is not self.pointer:
            # the drawing is only looked at: nothing is moved
            if key not in _ARROWS:
                super().keyPressEvent(event)
            return
        enter = key in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        far = 5 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
        dx, dy = _ARROWS.get(key, (0, 0))
        if not enter and key not in _ARROWS:
            super().keyPressEvent(event)
        elif not self.pointer.key(dx * far, dy * far, enter) and not enter:
            self._nudge.step(dx * far, dy * far, held=event.isAutoRepeat())

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """An arrow let go ends the move by it."""
        if event.key() in _ARROWS and not event.isAutoRepeat():
            self._nudge.settle()
        else:
            super().keyReleaseEvent(event)

    def focusOutEvent(self, event: Any) -> None:
        """Keys let go elsewhere are not told here."""
        self._nudge.settle()
        super().focusOutEvent(event)

    # -- the menu ---------------------------------------------------------------------

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Select what is under the pointer and offer what can be done with it."""
        if self.pointer.took_right_click() or self.context_menu is None:
            return
        at = self.to_sheet(event.pos())
        identifier = self.component_near(at) or self.line_near(at)
        if identifier and identifier not in self.selection.ids():
            self.selection.set([identifier])
        self.context_menu.popup(event.globalPos())


def _square(middle: QPointF, reach: float) -> QRectF:
    corner = middle - QPointF(reach, reach)
    return QRectF(corner, QSizeF(2 * reach, 2 * reach))
