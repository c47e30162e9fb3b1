"""Drag a corner or a piece of a line; the line stays orthogonal."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtGui import QMouseEvent

from analysis.routing import Point, simplified
from editor.gestures.gesture import ADDING, Gesture, Threshold
from editor.undo_commands import SetFields

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas

_STUB = 2.0
"""How much of the first and last piece stays at its port when it is dragged off."""


class BendLine(Gesture):
    """Moves the piece or the corner of a line that was pressed."""

    def __init__(self, canvas: Canvas, identifier: str, at: Point, event: QMouseEvent) -> None:
        super().__init__(canvas)
        self._line = canvas.circuit.lines[identifier]
        self._from = at
        self._threshold = Threshold(canvas, at)
        self._via: list[Point] | None = None
        if event.modifiers() & ADDING:
            canvas.selection.toggle(identifier)
        else:
            canvas.selection.set([identifier])
        points = list(canvas.sheet.lines[identifier].points)
        self._corner = corner_near(points, at, max(0.6, canvas.pixels(6)))
        self._points = points

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Show the line as it would run."""
        if not self._threshold.pass_by(at):
            return
        dx, dy = round(at[0] - self._from[0]), round(at[1] - self._from[1])
        if self._corner is not None:
            points = move_corner(self._points, self._corner, dx, dy)
        else:
            points = move_piece(self._points, piece_near(self._points, self._from), dx, dy)
        self._via = simplified(points)[1:-1]
        self.canvas.sheet.show_line(replace(self._line), via=self._via)

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Keep the new corners."""
        self.is_over = True
        self.canvas.sheet.show_line(self._line)
        if self._via is not None and self._via != list(self._line.via):
            via = [(round(x), round(y)) for x, y in self._via]
            text = f"Bend line {self._line.id}"
            change = [(self._line.id, "via", via)]
            self.canvas.do(SetFields(self.canvas.circuit, text, change))

    def cancel(self) -> None:
        """Let the line run as before, if it is still there."""
        if self.canvas.circuit.lines.get(self._line.id) is self._line:
            self.canvas.sheet.show_line(self._line)
        super().cancel()


def corner_near(points: list[Point], at: Point, reach: float) -> int | None:
    """The inner corner within reach of a point."""
    for i in range(1, len(points) - 1):
        if max(abs(points[i][0] - at[0]), abs(points[i][1] - at[1])) <= reach:
            return i
    return None


def piece_near(points: list[Point], at: Point) -> int:
    """The number of the straight piece nearest to a point."""

    def distance(i: int) -> float:
        (x0, y0), (x1, y1) = points[i], points[i + 1]
        x = min(max(at[0], min(x0, x1)), max(x0, x1))
        y = min(max(at[1], min(y0, y1)), max(y0, y1))
        return abs(at[0] - x) + abs(at[1] - y)

    return min(range(len(points) - 1), key=distance)


def move_corner(points: list[Point], corner: int, dx: float, dy: float) -> list[Point]:
    """The way with a corner moved and its neighbours led along.

    A neighbour that is a port stays, so the corner keeps in line with it.
    """
    moved = list(points)
    for neighbour in (corner - 1, corner + 1):
        across = points[neighbour][1] == points[corner][1]
        if neighbour in (0, len(points) - 1):
            dx, dy = (dx, 0) if across else (0, dy)
    x, y = points[corner]
    moved[corner] = x + dx, y + dy
    for neighbour in (corner - 1, corner + 1):
        nx, ny = points[neighbour]
        if neighbour in (0, len(points) - 1):
            continue
        moved[neighbour] = (nx, ny + dy) if ny == y else (nx + dx, ny)
    return moved


def move_piece(points: list[Point], piece: int, dx: float, dy: float) -> list[Point]:
    """The way with a straight piece moved across itself; at a port a stub stays behind."""
    moved = list(points)
    (x0, y0), (x1, y1) = points[piece], points[piece + 1]
    across = y0 == y1
    length = abs(x1 - x0) + abs(y1 - y0)
    way = ((x1 > x0) - (x1 < x0), (y1 > y0) - (y1 < y0))
    stub = min(_STUB, length // 2)
    if piece + 1 == len(points) - 1:
        keep = (x1 - way[0] * stub, y1 - way[1] * stub)
        moved[piece + 1 :] = [keep, keep, points[-1]]
    if piece == 0:
        keep = (x0 + way[0] * stub, y0 + way[1] * stub)
        moved[:1] = [points[0], keep, keep]
        piece += 2
    for i in (piece, piece + 1):
        x, y = moved[i]
        moved[i] = (x, y + dy) if across else (x + dx, y)
    return moved
