"""Where the lines run on the sheet, point by point, to find crossings that mislead."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from itertools import pairwise
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
    told: dict[str, set[str]] = defaultdict(set)
    seen: set[tuple[Passing, ...]] = set()
    for point, passings in _at_points(circuit).items():
        together = tuple(passings)
        if together in seen:
            continue  # lines that run along each other do so for many points
        seen.add(together)
        for number, one in enumerate(passings):
            for other in passings[number + 1 :]:
                if one.line == other.line or other.line in told[one.line]:
                    continue
                if _misleads(one, other):
                    told[one.line].add(other.line)
                    yield one.line, other.line, point


def _misleads(one: Passing, other: Passing) -> bool:
    if one.port or other.port:
        return one.port != other.port
    return not (one.run and other.run and one.run != other.run)


def _at_points(circuit: Circuit) -> dict[Point, list[Passing]]:
    """Grid point -> the lines that come by in the order of the file, where there are several."""
    ways = [(line, drawn(circuit, line)) for line in circuit.lines.values()]
    # gone through twice: kept, all points would be far more than those of interest
    counts = Counter(
        point for line, way in ways for _, points in _pieces(line, way) for point in points
    )
    shared = {point for point, count in counts.items() if count > 1}
    found: dict[Point, list[Passing]] = defaultdict(list)
    for line, way in ways:
        for passing, points in _pieces(line, way):
            if not shared.isdisjoint(points):
                for point in points:
                    if point in shared:
                        found[point].append(passing)
    return found


def _pieces(line: Line, way: list[Point]) -> Iterator[tuple[Passing, list[Point]]]:
    """The ends of a line, its corners and its straight pieces, each with its grid points."""
    if len(way) < 2:
        return
    yield Passing(line.id, "", line.start), way[:1]
    yield Passing(line.id, "", line.end), way[-1:]
    yield Passing(line.id, ""), way[1:-1]
    for start, end in pairwise(way):
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
