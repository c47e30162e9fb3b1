"""Where the ways of a verdict run on the sheet: from ids to paths, from the items that show them.

Drawn things only: which way means what is told by `analysis.verdict_ways`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath

from analysis.circuit import Circuit, Line
from analysis.verdict_ways import Shown, ShownWay
from editor import theme
from editor.canvas.scene import Scene

M = theme.MODULE
_BACK = 2.0
"""How far [modules] before a symbol its number stands on the line."""


@dataclass
class Tag:
    """A word at a place, with the frame of what it belongs to."""

    kind: str
    frame: QRectF


@dataclass
class Drawn:
    """What is painted: a path for each sense, numbers, ends, tags; in scene units."""

    bands: dict[str, QPainterPath] = field(default_factory=dict)
    numbers: list[tuple[QPointF, int, str]] = field(default_factory=list)
    ends: list[tuple[QPointF, QPointF, str]] = field(default_factory=list)
    """(tip, unit direction, sense)"""
    tags: list[Tag] = field(default_factory=list)

    def area(self) -> QRectF:
        """All that may be painted on."""
        area = QRectF()
        for band in self.bands.values():
            area |= band.boundingRect()
        for tag in self.tags:
            area |= tag.frame
        return area.adjusted(-8 * M, -8 * M, 8 * M, 8 * M)


@dataclass(frozen=True)
class _Piece:
    """A line as it is passed: its points from one component to the next."""

    points: tuple[QPointF, ...]

    def back_from_end(self, length: float) -> QPointF:
        """The point so far before the end, or the middle of the last piece if that is short."""
        a, b = self.points[-2], self.points[-1]
        return _between(b, a, length)

    def on_from_start(self, length: float) -> QPointF:
        """The point so far after the start."""
        return _between(self.points[0], self.points[1], length)


def drawn(scene: Scene, circuit: Circuit, shown: Shown) -> Drawn:
    """What the sheet shows of it; a way whose parts are not there any more is left out."""
    found = Drawn()
    done: set[tuple] = set()
    junctions = [c.id for c in circuit.components.values() if c.kind == "junction"]
    numbers = shown.numbers(junctions)
    numbered: set[str] = set()
    for way in shown.ways:
        pieces = _pieces(scene, circuit, way)
        if pieces is None:
            continue
        band = found.bands.setdefault(way.sense, QPainterPath())
        for index, piece in enumerate(pieces):
            key = (way.sense, way.elements[2 * index + 1], way.elements[2 * index])
            if key not in done:
                done.add(key)
                _append(band, piece.points)
            if index:
                _cross(band, done, way, index, pieces[index - 1], piece)
        if way.sense != "return":
            _number(found, way, pieces, numbers, numbered)
        if pieces:
            _end(found, way, pieces[-1])
    _collect_tags(scene, circuit, shown, found)
    return found


def _pieces(scene: Scene, circuit: Circuit, way: ShownWay) -> list[_Piece] | None:
    """The lines of a way in order; None if the sheet does not have them so any more."""
    pieces = []
    for number in range(1, len(way.elements) - 1, 2):
        before, identifier, after = way.elements[number - 1 : number + 2]
        line, item = circuit.lines.get(identifier), scene.lines.get(identifier)
        if line is None or item is None or len(item.points) < 2:
            return None
        owners = line.start.rpartition(".")[0], line.end.rpartition(".")[0]
        points = [QPointF(x * M, y * M) for x, y in item.points]
        if owners == (after, before):
            points.reverse()
        elif owners != (before, after):
            return None
        pieces.append(_Piece(tuple(points)))
    return pieces


def _append(path: QPainterPath, points: tuple[QPointF, ...]) -> None:
    path.moveTo(points[0])
    for point in points[1:]:
        path.lineTo(point)


def _cross(
    band: QPainterPath, done: set[tuple], way: ShownWay, index: int, before: _Piece, after: _Piece
) -> None:
    """Through the symbol between two lines, straight from port to port."""
    start, end = before.points[-1], after.points[0]
    key = (way.sense, way.elements[2 * index], start.x(), start.y(), end.x(), end.y())
    if start != end and key not in done:
        done.add(key)
        _append(band, (start, end))


def _number(
    found: Drawn,
    way: ShownWay,
    pieces: list[_Piece],
    numbers: dict[str, int],
    numbered: set[str],
) -> None:
    for place, part in enumerate(way.elements[::2]):
        if part not in numbers or part in numbered or not pieces:
            continue
        numbered.add(part)
        if place:
            at = pieces[place - 1].back_from_end(_BACK * M)
        else:
            at = pieces[0].on_from_start(_BACK * M)
        found.numbers.append((at, numbers[part], way.sense))


def _end(found: Drawn, way: ShownWay, last: _Piece) -> None:
    tip, before = last.points[-1], last.points[-2]
    length = hypot(tip.x() - before.x(), tip.y() - before.y()) or 1.0
    end = (tip, (tip - before) / length, way.sense)
    if end not in found.ends:
        found.ends.append(end)


def _collect_tags(scene: Scene, circuit: Circuit, shown: Shown, found: Drawn) -> None:
    for identifier, mark in shown.marks.items():
        if identifier in circuit:
            found.tags.append(Tag(mark, frame_of(scene, circuit, identifier)))


def frame_of(scene: Scene, circuit: Circuit, identifier: str) -> QRectF:
    """A frame around a symbol, or around the middle of a line."""
    if isinstance(circuit.element(identifier), Line):
        middle = scene.lines[identifier].middle()
        return QRectF(middle.x() - M, middle.y() - M, 2 * M, 2 * M)
    item = scene.components[identifier]
    return item.body().translated(item.pos()).adjusted(-0.4 * M, -0.4 * M, 0.4 * M, 0.4 * M)


def _between(a: QPointF, b: QPointF, length: float) -> QPointF:
    """From a so far towards b, half way at most."""
    whole = hypot(b.x() - a.x(), b.y() - a.y()) or 1.0
    return a + (b - a) * min(length / whole, 0.5)
