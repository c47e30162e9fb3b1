"""Where ids and names go on a drawn sheet: beside their symbols, where they hide least.

On the canvas a name stands at a fixed side, so that nothing jumps while one edits. A sheet
is drawn once, and there is time to look for the place where each name can be read.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from textwrap import wrap

from PySide6.QtCore import QPointF, QRectF

from analysis.circuit import Component
from analysis.routing import Point
from analysis.sheet_texts import Box
from editor import theme
from editor.canvas.lettering import NAME_HEIGHT, Side, Words, free_side, heading_lines
from editor.canvas.line_item import FAULT_PLACES, LineItem
from symbols.kind import Look
from symbols.strokes import Anchor

M = theme.MODULE
_CELL = 10.0 * M
_GAP = 0.8 * M
_STEP = NAME_HEIGHT * theme.MILLIMETRE * 1.4
_LONG_NAME, _LONG_LINE = 10, 9
"""A name of more characters may be set in two lines, and in lines of about so many."""

_SYMBOL, _LINE, _WORDS = 8.0, 4.0, 10.0
"""What it costs to lie on these, by the share of the lettering that does."""
_OTHER_SIDE, _OFF_CENTRE, _MORE_LINES = 0.5, 0.15, (0.0, 0.1, 0.3)
_TOUCHING = 0.25
"""What it costs to touch something at all, as if this share lay on it."""
_EDGE = 3.0
"""What is kept free along the frame and the title block [mm]."""
_OFFSETS = (0.0, -0.5, 0.5, -1.0, 1.0)
"""How far off the middle of a side words may stand, up or left being negative."""
_APART, _BESIDE = 0.3 * _STEP, 1.2 * _STEP
"""What is kept free above and below a name, and at its ends: there two would read as one."""
_SWEEPS = 2

_LINE_ID_HEIGHT = 1.8
_SHORTEST_NAMED = 4.0
"""A piece of a line that is shorter [modules] carries no id."""


class Occupancy:
    """What lies where on the sheet, found by cells."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[tuple[QRectF, float]]] = defaultdict(list)

    def add(self, area: QRectF, cost: float) -> None:
        """Something covers this area; to lie on it costs this much."""
        for cell in _cells(area):
            self._cells[cell].append((area, cost))

    def remove(self, area: QRectF) -> None:
        """Take away what was added with this very rectangle."""
        for cell in _cells(area):
            self._cells[cell] = [entry for entry in self._cells[cell] if entry[0] is not area]

    def cost(self, area: QRectF) -> float:
        """The sum over what it covers: cost by share of the area, and a little for touching."""
        found: dict[int, float] = {}
        whole = area.width() * area.height()
        for cell in _cells(area):
            for other, cost in self._cells.get(cell, ()):
                if id(other) not in found and area.intersects(other):
                    common = area & other
                    share = common.width() * common.height() / whole
                    found[id(other)] = cost * (_TOUCHING + share)
        return sum(found.values())


def _cells(area: QRectF) -> Iterator[tuple[int, int]]:
    for x in range(int(area.left() // _CELL), int(area.right() // _CELL) + 1):
        for y in range(int(area.top() // _CELL), int(area.bottom() // _CELL) + 1):
            yield x, y


@dataclass
class Named:
    """A symbol to be named: its place and extent (around the place), in scene units."""

    component: Component
    look: Look
    at: QPointF
    bounds: QRectF
    fixed: list[Words]
    """Words that have their place already: those at the boxes of a directional valve."""
    more: list[tuple[str, bool, str]] = field(default_factory=list)
    """Lines below the name: the word for the position of a valve without boxes."""
    words: list[Words] = field(default_factory=list)
    """Id, name, fault, once they are placed."""


def occupy(symbols: Iterable[Named], routes: Iterable[list[Point]]) -> Occupancy:
    """What symbols, levers' words and lines cover."""
    occupancy = Occupancy()
    for symbol in symbols:
        occupancy.add(symbol.bounds.translated(symbol.at), _SYMBOL)
        for words in symbol.fixed:
            occupancy.add(words.area().translated(symbol.at), _WORDS)
    for way in routes:
        for area in pieces(way):
            occupancy.add(area, _LINE)
    return occupancy


def keep_inside(occupancy: Occupancy, frame: Box, block: Box) -> None:
    """Make it cost to lie outside the frame of the sheet, or on its title block [both mm]."""
    mm, beyond = theme.MILLIMETRE, 40.0
    outside = [
        Box(frame.left - beyond, frame.top - beyond, frame.left + _EDGE, frame.bottom + beyond),
        Box(frame.right - _EDGE, frame.top - beyond, frame.right + beyond, frame.bottom + beyond),
        Box(frame.left, frame.top - beyond, frame.right, frame.top + _EDGE),
        Box(frame.left, frame.bottom - _EDGE, frame.right, frame.bottom + beyond),
        block.grown(_EDGE),
    ]
    for box in outside:
        area = QRectF(box.left * mm, box.top * mm, box.width * mm, box.height * mm)
        occupancy.add(area, _WORDS)


def pieces(way: list[Point]) -> list[QRectF]:
    """What the pieces of a line cover, in scene units, a little air included."""
    air = 0.3 * M
    return [
        QRectF(QPointF(*start) * M, QPointF(*end) * M).normalized().adjusted(-air, -air, air, air)
        for start, end in pairwise(way)
    ]


# -- names of symbols --------------------------------------------------------------------


def place_names(symbols: list[Named], occupancy: Occupancy) -> None:
    """Give each symbol its words, each at the place that costs least beside the others."""
    areas: dict[int, list[QRectF]] = {}
    for _ in range(_SWEEPS):
        for number, symbol in enumerate(symbols):
            for area in areas.get(number, ()):
                occupancy.remove(area)
            symbol.words = _best(symbol, occupancy)
            # another's name keeps a little off, so that nobody reads the two as one
            areas[number] = [
                words.area().translated(symbol.at).adjusted(-_BESIDE, -_APART, _BESIDE, _APART)
                for words in symbol.words
            ]
            for area in areas[number]:
                occupancy.add(area, _WORDS)


def _best(symbol: Named, occupancy: Occupancy) -> list[Words]:
    best: tuple[float, list[Words]] = (float("inf"), [])
    for penalty, words in _candidates(symbol):
        if penalty >= best[0]:
            continue
        cost = penalty + sum(occupancy.cost(w.area().translated(symbol.at)) for w in words)
        if cost < best[0]:
            best = cost, words
    return best[1]


def _candidates(symbol: Named) -> Iterator[tuple[float, list[Words]]]:
    """(cost in itself, words) for each way to set the lines beside the symbol."""
    usual = free_side(symbol.component)
    lines = [*heading_lines(symbol.component, symbol.look), *symbol.more]
    sides: tuple[Side, ...] = ("right", "left", "up", "down")
    for more, set_lines in _settings(lines):
        for side in sides:
            for offset in _OFFSETS:
                penalty = _OTHER_SIDE * (side != usual) + _OFF_CENTRE * (offset != 0.0)
                words = _set_beside(symbol.bounds, set_lines, side, offset)
                yield penalty + more, words


Lines = list[tuple[str, bool, str]]


def _settings(lines: Lines) -> Iterator[tuple[float, Lines]]:
    """(cost in itself, lines) as they are, with a long name in two, and in narrow ones."""
    longest = 0
    for cost, breaks in zip(_MORE_LINES, (_unbroken, _halves, _narrow), strict=True):
        broken: Lines = []
        for text, bold, colour in lines:
            # ids have one word; the words of a fault are broken where the name is narrow
            pieces_of = breaks(text) if not bold or breaks is _narrow else [text]
            broken += [(piece, bold, colour) for piece in pieces_of]
        if len(broken) > longest:
            longest = len(broken)
            yield cost, broken


def _unbroken(name: str) -> list[str]:
    return [name]


def _narrow(name: str) -> list[str]:
    """A long name in lines as short as its words let them be."""
    return wrap(name, _LONG_LINE, break_long_words=False, break_on_hyphens=False) or [name]


def _halves(name: str) -> list[str]:
    """A long name broken at the space nearest to its middle."""
    spaces = [index for index, character in enumerate(name) if character == " "]
    if len(name) <= _LONG_NAME or not spaces:
        return [name]
    at = min(spaces, key=lambda index: abs(index - len(name) / 2))
    return [name[:at], name[at + 1 :]]


def _set_beside(bounds: QRectF, lines: Lines, side: Side, offset: float) -> list[Words]:
    """The lines at a side; `offset` moves them along it, up or left being negative."""
    height = len(lines) * _STEP
    centre = bounds.center()
    anchor: Anchor = "centre"
    if side in ("right", "left"):
        anchor = "left" if side == "right" else "right"
        x = bounds.right() + _GAP if side == "right" else bounds.left() - _GAP
        top = centre.y() - height / 2 + offset * (bounds.height() / 2 + 0.2 * _STEP)
    else:
        x = centre.x()
        if offset:
            anchor = "left" if offset > 0 else "right"
            # beside the line that leaves there: at the middle of the body, or of all there is
            x = (0.0 if abs(offset) == 1.0 else x) + (0.6 * M if offset > 0 else -0.6 * M)
        top = bounds.top() - 0.5 * M - height if side == "up" else bounds.bottom() + 0.5 * M
    return [
        Words(text, (x, top + (number + 0.5) * _STEP), anchor, NAME_HEIGHT, bold, colour)
        for number, (text, bold, colour) in enumerate(lines)
    ]


# -- faults of lines ---------------------------------------------------------------------


def place_faults(lines: Iterable[LineItem], occupancy: Occupancy) -> None:
    """Put the word of each broken line where it hides least."""
    for line in lines:
        if line.fault:
            best = min(FAULT_PLACES, key=lambda place: occupancy.cost(line.fault_area(place)))
            line.put_fault(best)
            occupancy.add(line.fault_area(best), _WORDS)
            mark = QRectF(-M, -M, 2 * M, 2 * M).translated(line.middle())
            occupancy.add(mark, _WORDS)


# -- ids of lines ------------------------------------------------------------------------


def line_ids(routes: dict[str, list[Point]], occupancy: Occupancy) -> list[Words]:
    """The ids of the lines beside them, where there is room; none hides anything."""
    placed = []
    for identifier, way in routes.items():
        words = _find_room(identifier, way, occupancy)
        if words is not None:
            placed.append(words)
            occupancy.add(words.area(), _WORDS)
    return placed


def _find_room(identifier: str, way: list[Point], occupancy: Occupancy) -> Words | None:
    for piece in sorted(pairwise(way), key=lambda piece: -_length(piece)):
        if _length(piece) < _SHORTEST_NAMED:
            return None
        for share in (0.5, 0.3, 0.7, 0.15, 0.85):
            for side in (-1, 1):
                words = _line_id(identifier, piece, share, side)
                if occupancy.cost(words.area()) == 0:
                    return words
    return None


def _length(piece: tuple[Point, Point]) -> float:
    (x0, y0), (x1, y1) = piece
    return abs(x1 - x0) + abs(y1 - y0)


def _line_id(identifier: str, piece: tuple[Point, Point], share: float, side: int) -> Words:
    """The id above or below a level piece, right or left of an upright one."""
    (x0, y0), (x1, y1) = piece
    x, y = x0 + (x1 - x0) * share, y0 + (y1 - y0) * share
    colour = theme.FAINT_INK.name()
    if y0 == y1:
        at = (x * M, (y + side * 1.0) * M)
        return Words(identifier, at, "centre", _LINE_ID_HEIGHT, colour=colour)
    anchor: Anchor = "left" if side < 0 else "right"
    at = ((x - side * 0.6) * M, y * M)
    return Words(identifier, at, anchor, _LINE_ID_HEIGHT, colour=colour)
