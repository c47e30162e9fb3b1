"""Which components and lines lie on some way from a source to a target: exact.

An element lies on some way if a way exists that meets no port twice and passes it. Walks
are not enough: a gauge on a branch line is passed by a walk to it and back, but by no way.
Such dead ends are taken off first; what is left is asked about element by element.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import pairwise

from analysis.disjoint_paths import Budget, Leg, find_disjoint_paths
from analysis.passages import SOURCES
from analysis.port_graph import bits, flood
from analysis.ways import Ways


def elements_on_ways(
    ways: Ways, targets: Sequence[str], candidates: Iterable[str] | None = None
) -> set[str]:
    """The ids of components and lines on some way from any of the sources to any target.

    Parameters
    ----------
    ways
        The ways of the sources.
    targets
        Ports, `ID.PORT`.
    candidates
        Only these ids are asked about; None: all.

    Raises
    ------
    TooTangled
        If an exact answer would take too long.
    """
    return OnWays(ways, targets).exactly(candidates)


class OnWays:
    """What lies on ways from any of the sources to any of the targets, roughly and exactly."""

    def __init__(self, ways: Ways, targets: Sequence[str]) -> None:
        self.ways = ways
        self._pairs = [
            _Pair(ways, source, target)
            for source in ways.sources
            for target in targets
            if ways.reaches(source, target)
        ]

    @cached_property
    def possible(self) -> set[str]:
        """The ids on some walk, quickly found: all that lie on ways, and some more."""
        return set().union(*(pair.possible() for pair in self._pairs))

    def exactly(self, candidates: Iterable[str] | None = None) -> set[str]:
        """As `elements_on_ways`; raises TooTangled."""
        wanted = self.possible if candidates is None else self.possible.intersection(candidates)
        found: set[str] = set()
        for pair in self._pairs:
            budget = Budget()
            for element in sorted(wanted):
                if element not in found:
                    found |= pair.elements_with(element, budget)
        return found & wanted


class _Pair:
    """The ways from one source to one target port, asked element by element."""

    def __init__(self, ways: Ways, source: str, target: str) -> None:
        self.graph = graph = ways.graph
        inlet, outlet = SOURCES[ways.circuit.components[source].kind]
        self.outlet = graph.index[f"{source}.{outlet}"]
        self.target = graph.index[target]
        self.inlet = graph.index[f"{source}.{inlet}"] if inlet else None
        self.pressed, self.drawn = self._sides()

    def _sides(self) -> tuple[int, int]:
        """The ports on walks from outlet to target, and from a reservoir to the inlet."""
        graph, ends = self.graph, 1 << self.outlet | 1 << self.target
        room = graph.all if self.inlet is None else graph.all & ~(1 << self.inlet)
        pressed = flood(graph.out, 1 << self.outlet, room) & self._before_target(room)
        pressed = self._without_dead_ends(pressed, ends)
        if self.inlet is None:
            return pressed, 0
        room = graph.all & ~(1 << self.outlet)
        drawn = flood(graph.into, 1 << self.inlet, room)
        leaving = 0
        for port in bits(drawn):
            leaving |= 1 << port if graph.into[port] & graph.feeding else 0
        drawn &= flood(graph.out, leaving, room) | graph.feeding
        return pressed, self._without_dead_ends(drawn, 1 << self.inlet | graph.feeding)

    def _without_dead_ends(self, side: int, ends: int) -> int:
        """The ports of a side but those from which there is only the way back, as to a gauge."""
        graph = self.graph
        waiting = side & ~ends
        while waiting:
            here = waiting.bit_length() - 1
            waiting ^= 1 << here
            beside = (graph.out[here] | graph.into[here]) & side
            if not beside & (beside - 1):
                side ^= 1 << here
                waiting |= beside & ~ends
        return side

    def _before_target(self, room: int) -> int:
        """The ports that lead to the target, itself included, though it be a reservoir's."""
        graph = self.graph
        leading = graph.into[self.target]
        if self._stops(self.target):  # `into` tells nothing of a reservoir's port
            leading = sum(1 << n for n, out in enumerate(graph.out) if out >> self.target & 1)
        return flood(graph.into, 1 << self.target | leading & ~graph.reservoir, room)

    def possible(self) -> set[str]:
        """Ids of elements on some walk of either side."""
        graph = self.graph
        found = {graph.plan.owners[port] for port in bits(self.pressed | self.drawn)}
        for side in (self.pressed, self.drawn):
            for port in bits(side):
                for end in bits(graph.out[port] & side):
                    found.update(graph.edges[port, end])
                # `out` tells nothing of a reservoir's port
                for start in bits(graph.into[port] & side & graph.reservoir):
                    found.update(graph.edges[start, port])
        return found

    def elements_with(self, element: str, budget: Budget) -> set[str]:
        """All ids on one way that passes the element; empty if there is no such way."""
        graph = self.graph
        if element in graph.circuit.lines:
            line = graph.circuit.lines[element]
            one, other = graph.index[line.start], graph.index[line.end]
            for start, end in ((one, other), (other, one)):
                if element in graph.edges.get((start, end), ()):
                    found = self._over(start, end, budget)
                    if found:
                        return {element, *found}
            return set()
        for port in graph.circuit.components[element].declared.ports:
            number = graph.index[f"{element}.{port.name}"]
            found = self._over(number, number, budget)
            if found:
                return {element, *found}
        return set()

    def _over(self, start: int, end: int, budget: Budget) -> set[str]:
        """All ids on one way that goes from port `start` straight to `end` (or passes it, if
        they are one), on either side of the source; empty if there is no such way."""
        for side, is_pressure in ((self.pressed, True), (self.drawn, False)):
            if not (side >> start & 1 and side >> end & 1):
                continue
            legs = self._legs(start, end, is_pressure)
            paths = find_disjoint_paths(legs, self.graph.all, budget) if legs else None
            if paths:
                return self._ids_along(legs, paths)
        return set()

    def _ids_along(self, legs: list[Leg], paths: list[list[int]]) -> set[str]:
        found: set[str] = set()
        for leg, path in zip(legs, paths, strict=True):
            found |= self._ids(path if leg.adjacent is self.graph.out else path[::-1])
        return found

    def _legs(self, start: int, end: int, pressure_side: bool) -> list[Leg]:
        """The paths that make up such a way; none if it would meet a port twice."""
        graph, straight = self.graph, start != end
        feed = [] if self.inlet is None else [Leg(graph.into, self.inlet, graph.feeding)]
        if pressure_side:
            if self.outlet == self.target and (straight or start != self.outlet):
                return []
            if straight and (end == self.outlet or start == self.target or self._stops(start)):
                return []
            onward = Leg(graph.out, end, 1 << self.target)
            return [*feed, Leg(graph.out, self.outlet, 1 << start), onward]
        if self.inlet is None or self.target in (start, end):
            return []
        if straight and (start == self.inlet or self._stops(end)):
            return []
        return [
            Leg(graph.into, self.inlet, 1 << end),
            Leg(graph.into, start, graph.feeding),
            Leg(graph.out, self.outlet, 1 << self.target),
        ]

    def _stops(self, port: int) -> bool:
        return bool(self.graph.reservoir >> port & 1)

    def _ids(self, path: list[int]) -> set[str]:
        found = {self.graph.plan.owners[port] for port in path}
        for start, end in pairwise(path):
            found.update(self.graph.edges[start, end])
        return found
