"""Where the lines run on the sheet, point by point, to find crossings that mislead."""

from __future__ import annotations

from collections import defaultdict
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
    told: set[frozenset[str]] = set()
    for point, passings in _at_points(circuit).items():
        for number, one in enumerate(passings):
            for other in passings[number + 1 :]:
                pair = frozenset((one.line, other.line))
                if len(pair) == 2 and pair not in told and _misleads(one, other):
                    told.add(pair)
                    yield one.line, other.line, point


def _misleads(one: Passing, other: Passing) -> bool:
    if one.port or other.port:
        return one.port != other.port
    return not (one.run and other.run and one.run != other.run)


def _at_points(circuit: Circuit) -> dict[Point, list[Passing]]:
    """Grid point -> the lines that come by, where there are several."""
    found: dict[Point, list[Passing]] = defaultdict(list)
    for line in circuit.lines.values():
        corners = drawn(circuit, line)
        if len(corners) < 2:
            continue
        found[corners[0]].append(Passing(line.id, "", line.start))
        found[corners[-1]].append(Passing(line.id, "", line.end))
        for corner in corners[1:-1]:
            found[corner].append(Passing(line.id, ""))
        for start, end in pairwise(corners):
            for point, run in _between(start, end):
                found[point].append(Passing(line.id, run))
    return {point: passings for point, passings in found.items() if len(passings) > 1}


def _between(start: Point, end: Point) -> Iterator[tuple[Point, str]]:
    """The grid points inside a straight piece."""
    (x1, y1), (x2, y2) = start, end
    if y1 == y2:
        low, high = sorted((x1, x2))
        for step in range(1, int(high - low)):
            yield (low + step, y1), "-"
    elif x1 == x2:
        low, high = sorted((y1, y2))
        for step in range(1, int(high - low)):
            yield (x1, low + step), "|"


def drawn(circuit: Circuit, line: Line) -> list[Point]:
    """The corners of a line from port to port; empty if one of its ends has no place yet."""
    ends = [circuit.components[port.rpartition(".")[0]] for port in (line.start, line.end)]
    if any(component.at is None for component in ends):
        return []
    return route(circuit, line)
