"""Where the lines run on the sheet, point by point, to find crossings that mislead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import chain, pairwise
from typing import NamedTuple

from analysis.circuit import Circuit, Line
from analysis.routing import Point, route


class Passing(NamedTuple):
    """A line at a point of the grid: `run` is `-` or `|` where it goes straight on, empty
    where it turns or ends; `port` is the port it ends at there."""

    line: str
    run: str
    port: str = ""


def misleading_crossings(circuit: Circuit) -> Iterator[tuple[str, str, Point]]:
    """Pairs of lines, and the point, where a crossing could be read as a joint.

    Two lines that cross straight are plainly a crossing, and two that end at one port are
    plainly a joint. Everything else is not plain: a line that turns or ends on another, or
    runs along it.
    """
    told: set[frozenset[str]] = set()
    seen: set[tuple[Passing, ...]] = set()
    for point, passings in _at_points(circuit).items():
        together = tuple(passings)
        if together in seen:
            continue  # lines that run along each other do so for many points
        seen.add(together)
        for number, one in enumerate(passings):
            for other in passings[number + 1 :]:
                if one.line != other.line and _misleads(one, other):
                    pair = frozenset((one.line, other.line))
                    if pair not in told:
                        told.add(pair)
                        yield one.line, other.line, point


def _misleads(one: Passing, other: Passing) -> bool:
    if one.port or other.port:
        return one.port != other.port
    return not (one.run and other.run and one.run != other.run)


def _at_points(circuit: Circuit) -> dict[Point, list[Passing]]:
    """Grid point -> the lines that come by, where there are several."""
    pieces = [piece for line in circuit.lines.values() for piece in _pieces(circuit, line)]
    counts = Counter(chain.from_iterable(points for _, points in pieces))
    found: dict[Point, list[Passing]] = {}
    for passing, points in pieces:
        for point in points:
            if counts[point] > 1:
                found.setdefault(point, []).append(passing)
    return found


def _pieces(circuit: Circuit, line: Line) -> Iterator[tuple[Passing, list[Point]]]:
    """The ends of a line, its corners and its straight pieces, each with its grid points."""
    corners = drawn(circuit, line)
    if len(corners) < 2:
        return
    yield Passing(line.id, "", line.start), corners[:1]
    yield Passing(line.id, "", line.end), corners[-1:]
    yield Passing(line.id, ""), corners[1:-1]
    for start, end in pairwise(corners):
        points, run = _inside(start, end)
        yield Passing(line.id, run), points


def _inside(start: Point, end: Point) -> tuple[list[Point], str]:
    """The grid points inside a straight piece, and which way it runs."""
    (x1, y1), (x2, y2) = start, end
    if y1 == y2:
        low, high = sorted((x1, x2))
        return [(low + step, y1) for step in range(1, int(high - low))], "-"
    low, high = sorted((y1, y2))
    if x1 != x2:
        return [], ""  # a slanting piece lies on no line of the grid
    return [(x1, low + step) for step in range(1, int(high - low))], "|"


def drawn(circuit: Circuit, line: Line) -> list[Point]:
    """The corners of a line from port to port; empty if one of its ends has no place yet."""
    ends = [circuit.components[port.rpartition(".")[0]] for port in (line.start, line.end)]
    if any(component.at is None for component in ends):
        return []
    return route(circuit, line)
