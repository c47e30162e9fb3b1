"""Ways of lines round what stands on the sheet: off foreign symbols, off other lines' lanes.

`analysis.routing` looks at the two symbols at a line's ends alone, so that a line stays
where it is while others move. Where such a way runs through a foreign symbol, or lies upon
another line, the drawing says what is not so; then a way is searched here, over the points
of the grid, by the A* method of Hart, Nilsson and Raphael, IEEE Trans. SSC 4 (1968) 100.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from heapq import heappop, heappush
from itertools import pairwise
from math import ceil, floor, inf

from analysis.circuit import Circuit, Line
from analysis.layout import symbol_box
from analysis.routing import Box, End, Point, placed_end, route_between, simplified
from symbols.kind import Facing

Cell = tuple[int, int]

_FACING: Mapping[Facing, int] = {"right": 0, "down": 1, "left": 2, "up": 3}
_BEND = 6
_NEAR = 3
"""What a step costs beside one of clear sheet [modules]: along the edge of a symbol, ..."""
_CROSSING = 4
"""... over another line, ..."""
_ALONG, _ALONG_OWN = 60, 4
"""... upon a line of another node, and upon one that starts or ends at the same port, ..."""
_CORNER = 80
"""... and over a corner or an end of another line, where it would look joined to it."""
_ROOM = 24
"""How far beyond the two ends a way is looked for [modules]."""
_HASTES = ((1.8, 40_000), (8.0, 160_000))
"""How much more the goal draws than it is worth, and the most steps: the more it draws, the
fewer steps are gone and the longer a way may be. The second is tried where the first fails.
"""


class Ground:
    """What stands on a sheet already: symbols and lines, in whole modules.

    Parameters
    ----------
    boxes
        What symbols cover, by id [modules].
    around
        Points that lines begin and end at, so that there is room around them too.
    """

    def __init__(self, boxes: Mapping[str, Box], around: Iterable[Point] = ()) -> None:
        self.boxes = dict(boxes)
        points = [*around, *(b[:2] for b in boxes.values()), *(b[2:] for b in boxes.values())]
        xs, ys = [p[0] for p in points] or [0.0], [p[1] for p in points] or [0.0]
        self.left, self.top = floor(min(xs)) - _ROOM, floor(min(ys)) - _ROOM
        self.width = ceil(max(xs)) + _ROOM - self.left + 1
        self.height = ceil(max(ys)) + _ROOM - self.top + 1
        # what a step into a cell costs: gone across the sheet, and gone up or down
        self.costs = [[1.0] * (self.width * self.height) for _ in range(2)]
        self._close_rim()
        for box in boxes.values():
            self._cover(box)
        self._lanes: list[dict[Cell, set[str]]] = [defaultdict(set), defaultdict(set)]
        self._ways: dict[str, tuple[frozenset[str], list[Cell]]] = {}

    def number(self, cell: Cell) -> int | None:
        """A cell's place in `costs`; None if it is off the ground."""
        x, y = cell[0] - self.left, cell[1] - self.top
        return x * self.height + y if 0 <= x < self.width and 0 <= y < self.height else None

    def cell(self, number: int) -> Cell:
        """The cell at a place in `costs`."""
        x, y = divmod(number, self.height)
        return x + self.left, y + self.top

    def _close_rim(self) -> None:
        for costs in self.costs:
            costs[: self.height] = costs[-self.height :] = [inf] * self.height
            costs[:: self.height] = costs[self.height - 1 :: self.height] = [inf] * self.width

    def _cover(self, box: Box) -> None:
        left, top, right, bottom = box
        for x in range(ceil(left - 1), floor(right + 1) + 1):
            for y in range(ceil(top - 1), floor(bottom + 1) + 1):
                inside = left < x < right and top < y < bottom
                self._charge((x, y), inf if inside else _NEAR, inf if inside else _NEAR)

    def _charge(self, cell: Cell, across: float, upright: float) -> None:
        number = self.number(cell)
        if number is not None:
            self.costs[0][number] += across
            self.costs[1][number] += upright

    def add(self, line: Line, way: Sequence[Point]) -> None:
        """A line that is drawn already."""
        cells = [_cell(point) for point in way]
        self._ways[line.id] = frozenset((line.start, line.end)), cells
        self._charge_way(cells, 1.0, 0.0)
        for upright, cell in _course(cells):
            self._lanes[upright][cell].add(line.id)

    def _charge_way(self, cells: Sequence[Cell], share: float, own: float) -> None:
        """Put `share` of what a line costs on its cells, or of what one of the node costs less."""
        along = share * (_ALONG - own)
        over = share * _CROSSING if own == 0 else 0.0
        for upright, cell in _course(cells):
            self._charge(cell, over if upright else along, along if upright else over)
        for cell in cells:
            self._charge(cell, share * _CORNER, share * _CORNER)

    def is_clear(self, line: Line, way: Sequence[Point]) -> bool:
        """Whether a way keeps off foreign symbols and runs along no line of another node."""
        own = {port.rpartition(".")[0] for port in (line.start, line.end)}
        foreign = [box for identifier, box in self.boxes.items() if identifier not in own]
        for (x0, y0), (x1, y1) in pairwise(way):
            low_x, high_x = (x0, x1) if x0 < x1 else (x1, x0)
            low_y, high_y = (y0, y1) if y0 < y1 else (y1, y0)
            for left, top, right, bottom in foreign:
                if low_x < right and high_x > left and low_y < bottom and high_y > top:
                    return False
        ends = {line.start, line.end}
        before: set[str] = set()
        for upright, cell in _course([_cell(point) for point in way]):
            here = self._lanes[upright].get(cell, set()) - {line.id}
            # one point in common is a corner beside it; two are a piece upon it
            if any(not ends & self._ways[other][0] for other in here & before):
                return False
            before = here
        return True

    def find_way(self, line: Line, start: End, end: End) -> list[Point] | None:
        """A cheap way from port to port over the grid; None if there is none."""
        first, last = self.number(_cell(start.at)), self.number(_cell(end.at))
        whole = (start.at, end.at) == (_cell(start.at), _cell(end.at))
        if first is None or last is None or first == last or not whole:
            return None
        ends = {line.start, line.end}
        node = [cells for ports, cells in self._ways.values() if ends & ports]
        for cells in node:
            self._charge_way(cells, -1.0, _ALONG_OWN)
        try:
            for haste, most in _HASTES:
                found = _search(self, (first, last), (start.facing, end.facing), haste, most)
                if found is not None:
                    break
        finally:
            for cells in node:
                self._charge_way(cells, 1.0, _ALONG_OWN)
        if found is None:
            return None
        return simplified([(float(x), float(y)) for x, y in map(self.cell, found)])


def _search(
    ground: Ground,
    ends: tuple[int, int],
    facings: tuple[Facing | None, Facing | None],
    haste: float,
    most: int,
) -> list[int] | None:
    """The numbers of the cells of a way; a state is a cell and the way it was entered by."""
    (first, last), (leaves, enters) = ends, facings
    height, (across, upright) = ground.height, ground.costs
    steps = (height, 1, -height, -1)
    goal_x, goal_y = divmod(last, height)
    arrives = None if enters is None else (_FACING[enters] + 2) % 4
    best: dict[int, float] = {}
    came: dict[int, int] = {}
    heap: list[tuple[float, float, int]] = []
    for way in range(4) if leaves is None else (_FACING[leaves],):
        best[first * 4 + way] = 0.0
        heap.append((0.0, 0.0, first * 4 + way))
    for _ in range(most):
        if not heap:
            break
        _, cost, state = heappop(heap)
        if cost > best[state]:
            continue
        number, way = divmod(state, 4)
        if number == last:
            return _trace(state, came)
        for turn in (way,) if number == first else (way, (way + 1) % 4, (way + 3) % 4):
            there = number + steps[turn]
            if there == last:
                price = 1.0 if arrives in (None, turn) else inf
            else:
                price = upright[there] if turn % 2 else across[there]
            total = cost + price + (_BEND if turn != way else 0)
            after = there * 4 + turn
            if total < best.get(after, inf):
                best[after] = total
                came[after] = state
                x, y = divmod(there, height)
                dx, dy = abs(x - goal_x), abs(y - goal_y)
                least = dx + dy + (_BEND if dx and dy else 0)
                heappush(heap, (total + haste * least, total, after))
    return None


def _trace(state: int, came: Mapping[int, int]) -> list[int]:
    numbers = [state // 4]
    while state in came:
        state = came[state]
        numbers.append(state // 4)
    return numbers[::-1]


def _course(cells: Sequence[Cell]) -> Iterator[tuple[int, Cell]]:
    """The cells of a way piece by piece, a corner with both of its own: (is upright, cell)."""
    for (x0, y0), (x1, y1) in pairwise(cells):
        if y0 == y1:
            step = 1 if x1 > x0 else -1
            for x in range(x0, x1 + step, step):
                yield 0, (x, y0)
        else:
            step = 1 if y1 > y0 else -1
            for y in range(y0, y1 + step, step):
                yield 1, (x0, y)


def ground_of(
    circuit: Circuit,
    places: Mapping[str, Point],
    ways: Iterable[tuple[Line, Sequence[Point]]] = (),
) -> Ground:
    """The symbols of a circuit, standing at `places`, and the lines drawn already."""
    boxes = {
        component.id: symbol_box(component, places[component.id])
        for component in circuit.components.values()
        if component.kind != "junction"
    }
    ground = Ground(boxes, places.values())
    for line, way in ways:
        ground.add(line, way)
    return ground


def lead_lines(circuit: Circuit, places: Mapping[str, Point]) -> dict[str, list[Point]]:
    """The corners of every line, ends included, by id, in the order of the file.

    Lines with corners of their own keep them, and so do those whose simple way is clear;
    the others are led round symbols and beside other lines, one after the other. The same
    circuit gives the same ways.

    Parameters
    ----------
    places
        Where every component stands, by id [modules].
    """
    ends = {line.id: _ends(circuit, line, places) for line in circuit.lines.values()}
    ways = {
        line.id: route_between(*ends[line.id], line.via) for line in circuit.lines.values()
    }  # fmt: skip
    ground = ground_of(circuit, places)
    waiting = []
    for line in circuit.lines.values():
        if line.via or ground.is_clear(line, ways[line.id]):
            ground.add(line, ways[line.id])
        else:
            waiting.append(line)
    for line in waiting:
        way = ground.find_way(line, *ends[line.id])
        ways[line.id] = way or ways[line.id]
        ground.add(line, ways[line.id])
    return ways


def corners_of(way: Sequence[Point] | None) -> list[Point]:
    """What a line keeps of a way as its own corners, in whole modules."""
    return [(round(x), round(y)) for x, y in (way or ())[1:-1]]


def _ends(circuit: Circuit, line: Line, places: Mapping[str, Point]) -> tuple[End, End]:
    found = []
    for port in (line.start, line.end):
        identifier, name = circuit.split_port(port)
        found.append(placed_end(circuit.components[identifier], name, places[identifier]))
    return found[0], found[1]


def _cell(point: Point) -> Cell:
    return round(point[0]), round(point[1])
