"""The drawn way of a line: an orthogonal polyline from port to port, in grid modules.

A line leaves a port on the side that the port faces. Corners that the user set (`via`)
are kept; between them, and where there are none, the way is the cheapest of a few simple
ones (straight, L, Z, U) that keep off the two symbols at its ends. Nothing else on the
sheet is looked at, so that a line never moves because of a part it does not touch; round
other symbols a line is led once, when it is drawn or its part is moved (`clear_ways`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from analysis.circuit import Circuit, Component, Line
from symbols import find_kind
from symbols.kind import Facing, place, place_facing

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""(left, top, right, bottom)."""

_STEPS: Mapping[Facing, Point] = {"right": (1, 0), "left": (-1, 0), "down": (0, 1), "up": (0, -1)}
_STUBS = (2.0, 1.0, 0.0)
"""How far a line goes straight on from a port before it may turn; the first that fits."""

_BEND, _CROSSING, _REVERSAL = 6.0, 400.0, 2000.0
"""What a bend, a way through an own symbol, and a step back cost, in modules of length."""


@dataclass(frozen=True)
class End:
    """One end of a line: where it is, which way it leaves (None: any), what it keeps off."""

    at: Point
    facing: Facing | None = None
    box: Box | None = None


def route(circuit: Circuit, line: Line, places: Mapping[str, Point] | None = None) -> list[Point]:
    """The corners of the drawn line, its two ends included.

    Parameters
    ----------
    places
        Where components stand, by id, in place of their own `at` (for components without
        a place, or while they are dragged).

    Raises
    ------
    UnknownElement
        If an end names no port of the circuit.
    """
    start, end = (end_at(circuit, port, places) for port in (line.start, line.end))
    return route_between(start, end, line.via)


def end_at(circuit: Circuit, port: str, places: Mapping[str, Point] | None = None) -> End:
    """The end of a line at `ID.PORT`; raises UnknownElement."""
    identifier, name = circuit.split_port(port)
    component = circuit.components[identifier]
    at = (places or {}).get(identifier) or component.at or (0, 0)
    return placed_end(component, name, at)


def placed_end(component: Component, port: str, at: Point) -> End:
    """The end of a line at a port of a component that stands at `at`."""
    offset, facing, (left, top, right, bottom) = _placed(
        component.kind, port, component.turn, component.mirror
    )
    where = (at[0] + offset[0], at[1] + offset[1])
    if facing is None:
        return End(where)
    return End(where, facing, (at[0] + left, at[1] + top, at[0] + right, at[1] + bottom))


@lru_cache(maxsize=4096)
def _placed(
    kind_name: str, port_name: str, turn: int, mirror: bool
) -> tuple[Point, Facing | None, Box]:
    kind = find_kind(kind_name)
    port = kind.port(port_name)
    left, top, width, height = kind.bounds()
    corners = [
        place(corner, (0, 0), turn, mirror)
        for corner in ((left, top), (left + width, top + height))
    ]
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    facing = None if kind.name == "junction" else place_facing(port.facing, turn, mirror)
    return place(port.at, (0, 0), turn, mirror), facing, (min(xs), min(ys), max(xs), max(ys))


def route_between(start: End, end: End, via: Sequence[Point] = ()) -> list[Point]:
    """The corners from one end to the other, through the corners of `via` if there are any."""
    if via:
        return simplified(_through(start, end, via))
    if _is_straight(start, end):
        return [start.at, end.at]
    best: tuple[float, list[Point]] | None = None
    for stub in _STUBS:
        found = _cheapest(start, end, stub)
        if best is None or found[0] < best[0]:
            best = found
        if best[0] < _CROSSING:
            break
    assert best is not None
    return simplified(best[1])


def simplified(points: Iterable[Point]) -> list[Point]:
    """The same way without repeated points and without corners that are none."""
    kept: list[Point] = []
    for point in points:
        if kept and point == kept[-1]:
            continue
        if len(kept) > 1 and _in_row(kept[-2], kept[-1], point):
            kept.pop()
            if point == kept[-1]:
                continue
        kept.append(point)
    return kept


def _in_row(a: Point, b: Point, c: Point) -> bool:
    return a[0] == b[0] == c[0] or a[1] == b[1] == c[1]


def _is_straight(start: End, end: End) -> bool:
    dx, dy = end.at[0] - start.at[0], end.at[1] - start.at[1]
    if (dx == 0) == (dy == 0):
        return False
    way: Point = ((dx > 0) - (dx < 0), (dy > 0) - (dy < 0))
    leaves = start.facing is None or _STEPS[start.facing] == way
    return leaves and (end.facing is None or _STEPS[end.facing] == (-way[0], -way[1]))


def _stub(end: End, length: float) -> Point:
    if end.facing is None:
        return end.at
    dx, dy = _STEPS[end.facing]
    return end.at[0] + dx * length, end.at[1] + dy * length


def _cheapest(start: End, end: End, stub: float) -> tuple[float, list[Point]]:
    a, b = _stub(start, stub), _stub(end, stub)
    boxes = [box for box in (start.box, end.box) if box is not None]
    xs, ys = _ordinates(a, b, boxes)
    best = _best(start.at, end.at, _one_leg(a, b, xs, ys), boxes)
    if best[0] >= _CROSSING:
        two = _best(start.at, end.at, _two_legs(a, b, xs, ys), boxes)
        best = min(best, two, key=lambda found: found[0])
    return best


def _ordinates(a: Point, b: Point, boxes: list[Box]) -> tuple[list[float], list[float]]:
    """Where legs between the stubs may run: at the stubs, half-way, beside the symbols."""
    xs = [a[0], b[0], float((a[0] + b[0]) // 2)]
    ys = [a[1], b[1], float((a[1] + b[1]) // 2)]
    for left, top, right, bottom in boxes:
        xs += [float(left // 1 - 1), float(-(-right // 1) + 1)]
        ys += [float(top // 1 - 1), float(-(-bottom // 1) + 1)]
    return list(dict.fromkeys(xs)), list(dict.fromkeys(ys))


def _one_leg(a: Point, b: Point, xs: list[float], ys: list[float]) -> Iterator[list[Point]]:
    for x in xs:
        yield [a, (x, a[1]), (x, b[1]), b]
    for y in ys:
        yield [a, (a[0], y), (b[0], y), b]


def _two_legs(a: Point, b: Point, xs: list[float], ys: list[float]) -> Iterator[list[Point]]:
    for x in xs:
        for y in ys:
            yield [a, (x, a[1]), (x, y), (b[0], y), b]
            yield [a, (a[0], y), (x, y), (x, b[1]), b]


def _best(
    first: Point, last: Point, ways: Iterable[list[Point]], boxes: list[Box]
) -> tuple[float, list[Point]]:
    found: tuple[float, list[Point]] | None = None
    for way in ways:
        points = [first, *way, last]
        cost = _cost(points, boxes)
        if found is None or cost < found[0]:
            found = cost, points
    assert found is not None
    return found


def _cost(points: list[Point], boxes: list[Box]) -> float:
    cost = 0.0
    before: Point | None = None
    for (x0, y0), (x1, y1) in pairwise(points):
        dx, dy = x1 - x0, y1 - y0
        if dx == 0 and dy == 0:
            continue
        way = ((dx > 0) - (dx < 0), (dy > 0) - (dy < 0))
        cost += abs(dx) + abs(dy)
        if before is not None and way != before:
            cost += _REVERSAL if (way[0] == -before[0] and way[1] == -before[1]) else _BEND
        before = way
        low_x, high_x = (x0, x1) if x0 < x1 else (x1, x0)
        low_y, high_y = (y0, y1) if y0 < y1 else (y1, y0)
        for left, top, right, bottom in boxes:
            if low_x < right and high_x > left and low_y < bottom and high_y > top:
                cost += _CROSSING
    return cost


def _through(start: End, end: End, via: Sequence[Point]) -> list[Point]:
    """From corner to corner; an elbow is put in where two are not in line."""
    points = [start.at]
    lead = start.facing
    for corner in via:
        points += _elbow(points[-1], corner, horizontal_first=_goes_across(points, lead))
        points.append((float(corner[0]), float(corner[1])))
    last = points[-1]
    if last[0] != end.at[0] and last[1] != end.at[1]:
        # arrive along the way the port faces
        across = end.facing in ("left", "right") if end.facing else not _goes_across(points, lead)
        points += _elbow(last, end.at, horizontal_first=not across)
    points.append(end.at)
    return points


def _goes_across(points: list[Point], lead: Facing | None) -> bool:
    """Whether the next leg should run across the sheet rather than up or down."""
    if len(points) < 2:
        return lead in ("left", "right")
    return points[-2][0] == points[-1][0]


def _elbow(a: Point, b: Point, *, horizontal_first: bool) -> list[Point]:
    if a[0] == b[0] or a[1] == b[1]:
        return []
    return [(b[0], a[1])] if horizontal_first else [(a[0], b[1])]
