"""Pick parts or ports on the sheet, for something that is being written in a pane.

What can be picked is framed, all else stands back; a click picks, a click again takes
back. The circuit is not changed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QGraphicsItem, QStyleOptionGraphicsItem

from analysis.routing import Point
from editor import theme
from editor.canvas.way_paths import frame_of
from editor.gestures.gesture import Gesture

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas

M = theme.MODULE
_STAND_BACK = 0.28
_PORT_REACH = 3.0
"""A click so many modules from a port that can be picked, or nearer, picks it."""

_TICK = ((-0.5, 0.0), (-0.12, 0.4), (0.55, -0.45))


class PickMarks(QGraphicsItem):
    """Frames: dashed around what can be picked, full with a tick around what is."""

    def __init__(self) -> None:
        super().__init__()
        self._frames: dict[str, QRectF] = {}
        self._picked: Sequence[str] = ()
        self._current = ""
        self._area = QRectF()
        self.setZValue(6)
        self.setAcceptedMouseButtons(Qt.MouseButton.NoButton)

    def show_frames(
        self, frames: dict[str, QRectF], picked: Sequence[str], current: str = ""
    ) -> None:
        """Paint these; `current` is under the pointer or chosen by the arrow keys."""
        self.prepareGeometryChange()
        self._frames, self._picked, self._current = frames, list(picked), current
        self._area = QRectF()
        for frame in frames.values():
            self._area |= frame.adjusted(-2 * M, -2 * M, 2 * M, 2 * M)
        self.update()

    def boundingRect(self) -> QRectF:
        """All frames."""
        return self._area

    def shape(self) -> QPainterPath:
        """Nothing: clicks are the gesture's."""
        return QPainterPath()

    def paint(self, painter: QPainter, option: QStyleOptionGraphicsItem, widget=None) -> None:
        """The frames, the current one last."""
        for name, frame in self._frames.items():
            picked, current = name in self._picked, name == self._current
            soft = QColor(theme.ACCENT)
            soft.setAlpha(60 if current else 34 if picked else 0)
            pen = QPen(theme.ACCENT, 7.0 if picked or current else 3.5)
            if not picked and not current:
                pen.setDashPattern([3.0, 2.0])
            painter.setPen(pen)
            painter.setBrush(soft)
            painter.drawRoundedRect(frame, 0.6 * M, 0.6 * M)
            if picked:
                _paint_tick(painter, frame.topRight())


def _paint_tick(painter: QPainter, at: QPointF) -> None:
    painter.setPen(QPen(QColor(theme.PAPER), 3))
    painter.setBrush(theme.ACCENT)
    painter.drawEllipse(at, 1.1 * M, 1.1 * M)
    painter.setPen(QPen(QColor("#ffffff"), 7))
    painter.drawPolyline([at + QPointF(x * M, y * M) for x, y in _TICK])


class PickParts(Gesture):
    """Lasts from click to click until Done, a right click or Escape.

    Parameters
    ----------
    what
        What is picked, in words (`the targets: actuator ports`).
    candidates
        Ids, or `ID.PORT`, that can be picked; of one sort.
    picked
        Those picked already.
    on_change
        Called with what is picked, after every click.
    on_end
        Called once with whether what was picked is to be kept.
    why_not
        What is said of a part that cannot be picked.
    """

    def __init__(
        self,
        canvas: Canvas,
        what: str,
        candidates: Sequence[str],
        picked: Sequence[str],
        on_change: Callable[[list[str]], None],
        on_end: Callable[[bool], None],
        why_not: str = "",
    ) -> None:
        super().__init__(canvas)
        self._what, self._why_not = what, why_not
        self.candidates = [c for c in candidates if self._owner(c) in canvas.circuit]
        self.picked, self._before = list(picked), list(picked)
        self._on_change, self._on_end = on_change, on_end
        self._current = ""
        self._marks = PickMarks()
        canvas.sheet.addItem(self._marks)
        self._stand_back()
        self._show()
        self._say()

    def _owner(self, name: str) -> str:
        return name if name in self.canvas.circuit else name.rpartition(".")[0]

    def _stand_back(self) -> None:
        """All that cannot be picked is drawn faintly."""
        owners = {self._owner(c) for c in self.candidates}
        sheet = self.canvas.sheet
        for identifier, item in (*sheet.components.items(), *sheet.lines.items()):
            item.setOpacity(1.0 if identifier in owners else _STAND_BACK)

    def _say(self) -> None:
        self.canvas.say(
            f"Pick {self._what}. Click again takes back; Done or right click keeps, Esc gives up"
        )

    def _frames(self) -> dict[str, QRectF]:
        frames = {}
        for name in self.candidates:
            owner = self._owner(name)
            if owner not in self.canvas.circuit:
                continue
            if owner == name:
                frames[name] = frame_of(self.canvas.sheet, self.canvas.circuit, name)
            else:
                x, y = self.canvas.sheet.port_at(name)
                frames[name] = QRectF((x - 1) * M, (y - 1) * M, 2 * M, 2 * M)
        return frames

    def _show(self) -> None:
        self._marks.show_frames(self._frames(), self.picked, self._current)

    def under(self, at: Point) -> str:
        """What can be picked under the pointer: the nearest port, or the part; empty if none."""
        canvas = self.canvas
        ports = [c for c in self.candidates if self._owner(c) != c]
        if not ports:
            found = canvas.component_near(at) or canvas.line_near(at)
            return found if found in self.candidates else ""
        beneath = canvas.component_near(at)
        own = [p for p in ports if self._owner(p) == beneath]

        def distance(port: str) -> float:
            x, y = canvas.sheet.port_at(port)
            return max(abs(x - at[0]), abs(y - at[1]))

        near = [p for p in own or ports if own or distance(p) <= _PORT_REACH]
        return min(near, key=distance, default="")

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Frame what a click would pick."""
        found = self.under(at)
        shape = Qt.CursorShape.PointingHandCursor if found else Qt.CursorShape.ArrowCursor
        self.canvas.viewport().setCursor(shape)
        if found != self._current:
            self._current = found
            self._show()
            if found:
                verb = "take back" if found in self.picked else "pick"
                self.canvas.say(f"Click: {verb} {self.canvas.describe(found) or found}")
            else:
                self._say()

    def press(self, at: Point, event: QMouseEvent) -> None:
        """Pick or take back; any button but the left one is done."""
        if event.button() != Qt.MouseButton.LeftButton:
            self.finish()
            return
        found = self.under(at)
        if found:
            self.toggle(found)
        elif self.canvas.component_near(at) or self.canvas.line_near(at):
            identifier = self.canvas.component_near(at) or self.canvas.line_near(at)
            self.canvas.say(f"{identifier} cannot be picked here: {self._why_not}", True)

    def toggle(self, name: str) -> None:
        """Pick it, or take it back."""
        if name in self.picked:
            self.picked.remove(name)
        else:
            self.picked.append(name)
        self._show()
        self._on_change(list(self.picked))

    def show_picked(self, picked: Sequence[str]) -> None:
        """Something was taken out of the list meanwhile."""
        if self.picked != list(picked):
            self.picked = list(picked)
            self._show()

    def step(self, dx: int, dy: int) -> None:
        """The arrow keys go from one to the next, across and down the sheet."""
        frames = self._frames()
        order = sorted(frames, key=lambda n: (frames[n].center().y(), frames[n].center().x()))
        if not order:
            return
        at = order.index(self._current) + (dx or dy) if self._current in order else 0
        self._current = order[at % len(order)]
        self.canvas.reveal(self._owner(self._current))
        self._show()
        self.canvas.say(f"Enter: pick or take back {self._current}")

    def put_here(self) -> None:
        """Enter picks what the arrow keys are at; with nothing there it is done."""
        if self._current:
            self.toggle(self._current)
        else:
            self.finish()

    def finish(self) -> None:
        """Keep what is picked."""
        self._end(True)

    def cancel(self) -> None:
        """What was picked before stays picked, and no more."""
        self._on_change(list(self._before))
        self._end(False)

    def _end(self, kept: bool) -> None:
        if self.is_over:
            return
        self.is_over = True
        self.canvas.sheet.removeItem(self._marks)
        sheet = self.canvas.sheet
        for item in (*sheet.components.values(), *sheet.lines.values()):
            item.setOpacity(1.0)
        self.canvas.say("")
        self._on_end(kept)
