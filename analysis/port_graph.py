"""The ports of a circuit as a graph of integers, for searches that must be quick.

`PortGraph` numbers the ports and keeps, for every port, the set of its neighbours as the
bits of one integer, so that a flood over a whole circuit costs microseconds. The same
passages make the networkx graph of `analysis.connectivity`; this one serves the exact
searches of `analysis.ways`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Iterator

from analysis.circuit import Circuit
from analysis.passages import FEEDING, SOURCES, Passage, find_passages, passages_of


def flood(adjacent: list[int], start: int, allowed: int) -> int:
    """The set of ports that can be got to from `start` over `allowed` ports.

    All sets are bits of integers; `start` belongs to the answer.
    """
    seen = waiting = start
    while waiting:
        lowest = waiting & -waiting
        fresh = adjacent[lowest.bit_length() - 1] & allowed & ~seen
        seen |= fresh
        waiting = (waiting ^ lowest) | fresh
    return seen


def bits(numbers: int) -> Iterator[int]:
    """The members of a set, from the lowest."""
    while numbers:
        lowest = numbers & -numbers
        yield lowest.bit_length() - 1
        numbers ^= lowest


class PortGraph:
    """Which port leads to which, for levers as they stand and the sources that are named.

    A pump that is not named carries nothing; what is in `lost` is taken out with its
    ports. A reservoir port leads nowhere further: a way starts or ends there, it never
    passes.

    Attributes
    ----------
    names
        `ID.PORT` by number.
    out, into
        By number: the ports it leads to, the ports that lead to it, as sets of bits.
    feeding, reservoir
        The reservoir outlets that may feed a source; all reservoir ports.
    edges, spans
        (from, to) -> the elements that carry there; element -> its (from, to) pairs.
    waiting
        Passages that need a pilot and are not open.
    returning
        Passages of shuttles that are open only in a return.
    """

    def __init__(
        self,
        circuit: Circuit,
        named: Collection[str],
        passages: Iterable[Passage] | None = None,
        lost: Collection[str] = (),
    ) -> None:
        self.circuit = circuit
        self.names = list(circuit.ports())
        self.index = {name: number for number, name in enumerate(self.names)}
        self.out = [0] * len(self.names)
        self.into = [0] * len(self.names)
        self.all = (1 << len(self.names)) - 1
        self.rank = {element.id: rank for rank, element in enumerate(circuit.elements())}
        self.edges: dict[tuple[int, int], tuple[str, ...]] = {}
        self.spans: dict[str, tuple[tuple[int, int], ...]] = {}
        self.waiting: list[Passage] = []
        self.returning: list[Passage] = []
        self.feeding = self.reservoir = 0
        for component in circuit.components.values():
            if component.kind == "reservoir":
                for port in component.declared.ports:
                    bit = 1 << self.index[f"{component.id}.{port.name}"]
                    self.reservoir |= bit
                    self.feeding |= bit if port.name in FEEDING else 0
        kinds = {c.id: c.kind for c in circuit.components.values()}
        for passage in find_passages(circuit) if passages is None else passages:
            idle = kinds.get(passage.element) in SOURCES and passage.element not in named
            if not idle and not (lost and _is_lost(passage, lost)):
                self._take(passage)

    def _take(self, passage: Passage) -> None:
        if passage.pilot:
            self.waiting.append(passage)
        elif passage.unless:
            self.returning.append(passage)
        else:
            self.add(passage)

    def add(self, passage: Passage) -> None:
        """Let fluid pass there."""
        element = passage.element
        start, end = step = self.index[passage.start], self.index[passage.end]
        self.edges[step] = (*self.edges.get(step, ()), element)
        self.spans[element] = (*self.spans.get(element, ()), step)
        if not self.reservoir >> start & 1:
            self.out[start] |= 1 << end
        if not self.reservoir >> end & 1:
            self.into[end] |= 1 << start

    def drop(self, element: str) -> None:
        """Let nothing pass that element any more."""
        for step in self.spans.pop(element, ()):
            left = tuple(e for e in self.edges[step] if e != element)
            if left:
                self.edges[step] = left
            else:
                del self.edges[step]
                self.out[step[0]] &= ~(1 << step[1])
                self.into[step[1]] &= ~(1 << step[0])
        if element in self.circuit.components:
            self.waiting = [p for p in self.waiting if p.element != element]
            self.returning = [p for p in self.returning if p.element != element]

    def copy(self) -> PortGraph:
        """A graph that can be changed without changing this one."""
        twin = object.__new__(PortGraph)
        vars(twin).update(vars(self))
        twin.out, twin.into = list(self.out), list(self.into)
        twin.edges, twin.spans = dict(self.edges), dict(self.spans)
        twin.waiting, twin.returning = list(self.waiting), list(self.returning)
        return twin

    def without(self, element: str) -> PortGraph:
        """A graph in which that element carries nothing."""
        twin = self.copy()
        twin.drop(element)
        return twin

    def varied(self, circuit: Circuit, named: Collection[str], changed: Iterable[str]) -> PortGraph:
        """The graph of a circuit that differs from this one's in the elements `changed`.

        This graph must have every source named; the new one has those in `named`.
        """
        twin = self.copy()
        twin.circuit = circuit
        for component in circuit.components.values():
            if component.kind in SOURCES and component.id not in named:
                twin.drop(component.id)
        for element in changed:
            twin.drop(element)
            if circuit.element(element).kind not in SOURCES or element in named:
                for passage in passages_of(circuit, element):
                    twin._take(passage)
        return twin

    def bit(self, port: str) -> int:
        """The set that holds only this port."""
        return 1 << self.index[port]

    def ports(self, numbers: int) -> set[str]:
        """The ports of a set, by name."""
        return {self.names[n] for n in bits(numbers)}

    def shortest(self, start: int, ends: int, allowed: int) -> list[int] | None:
        """A shortest way from port `start` to any of the set `ends`, as port numbers.

        All ports but the first must be in `allowed`; None if there is no way.
        """
        return search(self.out, start, ends, allowed)

    def shortest_back(self, end: int, starts: int, allowed: int) -> list[int] | None:
        """As `shortest`, against the flow: a way from any of `starts` to the port `end`."""
        way = search(self.into, end, starts, allowed)
        return None if way is None else way[::-1]

    def elements(self, way: list[int] | tuple[int, ...]) -> tuple[str, ...]:
        """The ids of components and lines along a way, in order; of parallel ones the first."""
        found: list[str] = []
        for place, port in enumerate(way):
            steps = [self.names[port].rpartition(".")[0]]
            if place:
                parallel = self.edges[way[place - 1], port]
                steps.insert(0, min(parallel, key=self.rank.__getitem__))
            for step in steps:
                if not found or found[-1] != step:
                    found.append(step)
        return tuple(found)


def _is_lost(passage: Passage, lost: Collection[str]) -> bool:
    """Whether the passage goes with what is lost: the element itself, or a port of it."""
    ends = (passage.start.rpartition(".")[0], passage.end.rpartition(".")[0])
    return passage.element in lost or ends[0] in lost or ends[1] in lost


def search(adjacent: list[int], start: int, ends: int, allowed: int) -> list[int] | None:
    """A shortest path from `start` to any of the set `ends`; None if there is none.

    All ports but the first must be in `allowed`.
    """
    if ends >> start & 1:
        return [start]
    before = {start: start}
    waiting = deque([start])
    seen = 1 << start
    while waiting:
        here = waiting.popleft()
        fresh = adjacent[here] & allowed & ~seen
        seen |= fresh
        for there in bits(fresh):
            before[there] = here
            if ends >> there & 1:
                way = [there]
                while way[-1] != start:
                    way.append(before[way[-1]])
                return way[::-1]
            waiting.append(there)
    return None
