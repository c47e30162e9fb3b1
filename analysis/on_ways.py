"""Which components and lines lie on some way from a source to a target: exact.

An element lies on some way if a way exists that meets no port twice and passes it. Walks
are not enough: a gauge on a branch line is passed by a walk to it and back, but by no way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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
    found: set[str] = set()
    wanted = None if candidates is None else set(candidates)
    for source in ways.sources:
        for target in targets:
            if ways.way(source, target) is not None:
                asked = _Asked(ways, source, target)
                for element in sorted(asked.possible()):
                    if element not in found and (wanted is None or element in wanted):
                        found |= asked.elements_with(element)
    return found if wanted is None else found & wanted


def elements_possible(ways: Ways, targets: Sequence[str]) -> set[str]:
    """A quick superset of `elements_on_ways`: ids on some walk."""
    found: set[str] = set()
    for source in ways.sources:
        for target in targets:
            if ways.way(source, target) is not None:
                found |= _Asked(ways, source, target).possible()
    return found


class _Asked:
    """The ways from one source to one target port, asked element by element."""

    def __init__(self, ways: Ways, source: str, target: str) -> None:
        self.graph = graph = ways.graph
        inlet, outlet = SOURCES[ways.circuit.components[source].kind]
        self.outlet = graph.index[f"{source}.{outlet}"]
        self.target = graph.index[target]
        self.inlet = graph.index[f"{source}.{inlet}"] if inlet else None
        self.pressed, self.drawn = self._sides()
        self.budget = Budget()

    def _sides(self) -> tuple[int, int]:
        """The ports on walks from outlet to target, and from a reservoir to the inlet."""
        graph = self.graph
        if self.inlet is None:
            onward = flood(graph.out, 1 << self.outlet, graph.all)
            return onward & self._before_target(graph.all), 0
        room = graph.all & ~(1 << self.inlet)
        pressed = flood(graph.out, 1 << self.outlet, room)
        pressed &= self._before_target(room)
        room = graph.all & ~(1 << self.outlet)
        drawn = flood(graph.into, 1 << self.inlet, room)
        leaving = 0
        for port in bits(drawn):
            leaving |= 1 << port if graph.into[port] & graph.feeding else 0
        drawn &= flood(graph.out, leaving, room) | graph.feeding
        return pressed, drawn

    def _before_target(self, room: int) -> int:
        """The ports that lead to the target, itself included, though it be a reservoir's."""
        graph = self.graph
        before = 1 << self.target
        for start, end in graph.edges:
            before |= 1 << start if end == self.target and not self._stops(start) else 0
        return flood(graph.into, before, room)

    def possible(self) -> set[str]:
        """Ids of elements on some walk of either side."""
        graph = self.graph
        found = {graph.names[port].rpartition(".")[0] for port in bits(self.pressed | self.drawn)}
        for (start, end), elements in graph.edges.items():
            for side in (self.pressed, self.drawn):
                if side >> start & 1 and side >> end & 1:
                    found.update(elements)
        return found

    def elements_with(self, element: str) -> set[str]:
        """All ids on one way that passes the element; empty if there is no such way."""
        graph = self.graph
        if element in graph.circuit.lines:
            line = graph.circuit.lines[element]
            one, other = graph.index[line.start], graph.index[line.end]
            for start, end in ((one, other), (other, one)):
                if element in graph.edges.get((start, end), ()):
                    found = self._over(start, end, True) or self._over(start, end, False)
                    if found:
                        return {element, *found}
            return set()
        for port in graph.circuit.components[element].declared.ports:
            number = graph.index[f"{element}.{port.name}"]
            found = self._over(number, number, True) or self._over(number, number, False)
            if found:
                return {element, *found}
        return set()

    def _over(self, start: int, end: int, pressure_side: bool) -> set[str]:
        """All ids on one way that goes from port `start` straight to `end` (or passes it, if
        they are one), on the given side of the source; empty if there is no such way."""
        side = self.pressed if pressure_side else self.drawn
        if not (side >> start & 1 and side >> end & 1):
            return set()
        legs = self._legs(start, end, pressure_side)
        paths = find_disjoint_paths(legs, self.graph.all, self.budget) if legs else None
        found: set[str] = set()
        for leg, path in zip(legs, paths or (), strict=bool(paths)):
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
        found = {self.graph.names[port].rpartition(".")[0] for port in path}
        for start, end in pairwise(path):
            found.update(self.graph.edges[start, end])
        return found
