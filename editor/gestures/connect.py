"""Connect: from a port to a port or to a line, by drag or from click to click."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent

from analysis.circuit import Line
from analysis.clear_ways import Ground, corners_of, ground_of
from analysis.errors import CircuitError
from analysis.routing import End, Point, end_at, route_between
from editor import theme
from editor.canvas.line_item import LineItem, LineStyle
from editor.editing import circuit_with, compound, new_line, split_line
from editor.gestures.gesture import Gesture, Threshold, snapped
from editor.undo_commands import AddElements, Edit

if TYPE_CHECKING:
    from editor.canvas.canvas import Canvas


class Connect(Gesture):
    """Draws a line from a port; clicks on empty sheet set corners, Escape gives up."""

    def __init__(self, canvas: Canvas, port: str, at: Point) -> None:
        super().__init__(canvas)
        self._start = port
        self._threshold = Threshold(canvas, at)
        self._clicking = False
        self._corners: list[Point] = []
        self._ground: Ground | None = None
        self._led: dict[str, list[Point]] = {}
        self._preview = LineItem("")
        self._preview.setZValue(9)
        canvas.sheet.addItem(self._preview)
        canvas.show_port(port)
        canvas.say(f"Line from {port}: release or click on a port or on a line; Escape gives up")

    def move(self, at: Point, event: QMouseEvent) -> None:
        """Show the line as it would run, and what is wrong with it."""
        self._threshold.pass_by(at)
        target = self.canvas.port_near(at, catching=True)
        line = "" if target else self.canvas.line_near(at)
        refusal = self._refusal(target, line)
        self._show(at, target, refusal)
        if refusal and (target != self._start or self._threshold.passed):
            self.canvas.say(refusal, wrong=True)
        elif target:
            self.canvas.say(f"Line from {self._start} to {target}")
        elif line:
            self.canvas.say(f"Line from {self._start}, joining {line} at a junction")

    def _refusal(self, target: str, line: str) -> str:
        """Why no line may run there; empty if it may."""
        if target:
            try:
                self.canvas.circuit.check_connection(self._start, target)
            except CircuitError as error:
                return error.message
        elif line and self._start in self._ends(line):
            return f"Line {line} starts at {self._start} already; choose another line or a port"
        return ""

    def _ends(self, line: str) -> tuple[str, str]:
        found = self.canvas.circuit.lines[line]
        return found.start, found.end

    def _show(self, at: Point, target: str, refusal: str) -> None:
        start = end_at(self.canvas.circuit, self._start, self.canvas.places())
        end = End(snapped(at))
        if target and target != self._start:
            end = end_at(self.canvas.circuit, target, self.canvas.places())
        colour = theme.REFUSED if refusal else theme.ACCEPTED if target else theme.SELECTED
        self._preview.set_style(LineStyle(colour.name(), 0.5))
        corners = self._corners
        if target and target != self._start and not refusal:
            corners = self._clear_corners(target)
        points = [] if end.at == start.at else route_between(start, end, corners)
        self._preview.set_points(points)
        self.canvas.show_port(
            target or self._start, refused=bool(refusal) and target != self._start
        )

    def _clear_corners(self, target: str) -> list[Point]:
        """The corners set by clicks; without any, those that lead round what is in the way."""
        if self._corners:
            return self._corners
        if target not in self._led:
            self._led[target] = self._lead_to(target)
        return self._led[target]

    def _lead_to(self, target: str) -> list[Point]:
        circuit, places = self.canvas.circuit, self.canvas.places()
        start, end = (end_at(circuit, port, places) for port in (self._start, target))
        if self._ground is None:
            ways = self.canvas.ways()
            drawn = [(line, ways[line.id]) for line in circuit.lines.values()]
            self._ground = ground_of(circuit, places, drawn)
        line = Line("", self._start, target)
        if self._ground.is_clear(line, route_between(start, end)):
            return []
        return corners_of(self._ground.find_way(line, start, end))

    def press(self, at: Point, event: QMouseEvent) -> None:
        """A click of the click-to-click way."""
        if event.button() != Qt.MouseButton.LeftButton:
            self.cancel()
            return
        self._clicking = True
        self._threshold = Threshold(self.canvas, at)

    def release(self, at: Point, event: QMouseEvent) -> None:
        """Connect here, or, after a mere click, go on from click to click."""
        target = self.canvas.port_near(at, catching=True)
        if not self._threshold.passed and not self._clicking and target == self._start:
            self._begin_clicking()
            return
        line = "" if target else self.canvas.line_near(at)
        refusal = self._refusal(target, line)
        if refusal:
            self.canvas.say(refusal, wrong=True)
            if not self._clicking:
                self._end()
        elif target or line:
            self._finish(target, line, at)
        elif self._clicking:
            self._corners.append(snapped(at))
        else:
            self.canvas.say("Not connected: release on a port or on a line", wrong=True)
            self._end()

    def _begin_clicking(self) -> None:
        identifier = self._start.rpartition(".")[0]
        if self.canvas.circuit.components[identifier].kind == "junction":
            # a junction is all port: a mere click selects it, and then a drag moves it
            self._end()
            self.canvas.selection.set([identifier])
            self.canvas.say(f"{identifier} selected: a drag moves it now")
        else:
            self._clicking = True

    def _finish(self, target: str, line: str, at: Point) -> None:
        circuit = self.canvas.circuit
        try:
            if target:
                corners = self._clear_corners(target)
                drawn = new_line(circuit, self._start, target, corners)
                command: Edit = AddElements(circuit, [drawn], f"Connect {self._start} to {target}")
            else:
                drawn, command = self._join(circuit.lines[line], at)
        except CircuitError as error:
            self.canvas.say(error.message, wrong=True)
            self._end()
            return
        self._end()
        self.canvas.do(command)
        self.canvas.selection.set([drawn.id])
        self.canvas.say(
            f"{command.text()}. {line} keeps its length; give {drawn.id} and the new part theirs"
            if line
            else f"{drawn.id} connects {drawn.start} and {drawn.end}"
        )

    def _join(self, line: Line, at: Point) -> tuple[Line, Edit]:
        """A new line to a junction that is put on another line."""
        circuit = self.canvas.circuit
        points = self.canvas.sheet.lines[line.id].points
        junction, rest, edits = split_line(circuit, line, nearest_on(points, at), points)
        trial = circuit_with(circuit, junction, rest)
        drawn = new_line(trial, self._start, f"{junction.id}.A", self._corners)
        drawn.role = line.role if drawn.role == "pressure" else drawn.role
        edits.append(AddElements(trial, [drawn]))
        return drawn, compound(circuit, f"Connect {self._start} to line {line.id}", edits)

    def cancel(self) -> None:
        """No line."""
        self.canvas.say("")
        self._end()

    def _end(self) -> None:
        self.canvas.sheet.removeItem(self._preview)
        self.canvas.show_port("")
        self.is_over = True


def nearest_on(points: list[Point], at: Point) -> Point:
    """The grid point on a way that is nearest to a point, off its two ends."""
    best: tuple[float, Point] | None = None
    for (x0, y0), (x1, y1) in pairwise(points):
        x = round(min(max(at[0], min(x0, x1)), max(x0, x1)))
        y = round(min(max(at[1], min(y0, y1)), max(y0, y1)))
        distance = abs(at[0] - x) + abs(at[1] - y)
        if (x, y) in (points[0], points[-1]):
            distance += 1000.0
        if best is None or distance < best[0]:
            best = distance, (x, y)
    return best[1] if best else snapped(at)
