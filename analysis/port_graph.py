"""The ports of a circuit as a graph of integers, for searches that must be quick.

`PortGraph` numbers the ports and keeps, for every port, the set of its neighbours as the
bits of one integer, so that a flood over a whole circuit costs microseconds. The same
passages make the networkx graph of `analysis.connectivity`; this one serves the exact
searches of `analysis.ways`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from itertools import pairwise

from analysis.circuit import Circuit
from analysis.passages import Passage, find_passages, passages_of
from analysis.ports import Ports


def flood(adjacent: list[int], start: int, allowed: int) -> int:
    """The set of ports that can be got to from `start` over `allowed` ports.

    All sets are bits of integers; `start` belongs to the answer.
    """
    room = left = allowed & ~start
    waiting = start
    while waiting:
        here = waiting.bit_length() - 1
        fresh = adjacent[here] & left
        left ^= fresh
        waiting ^= 1 << here | fresh
    return start | room ^ left


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
    plan
        The ports by number, as in all graphs of this circuit.
    names, index, feeding, reservoir
        Those of the plan.
    out, into
        By number: the ports it leads to, the ports that lead to it, as sets of bits.
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
        self.plan = plan = Ports(circuit)
        self.names, self.index = plan.names, plan.index
        self.feeding, self.reservoir = plan.feeding, plan.reservoir
        self.out = [0] * len(self.names)
        self.into = [0] * len(self.names)
        self.all = (1 << len(self.names)) - 1
        self.edges: dict[tuple[int, int], tuple[str, ...]] = {}
        self.spans: dict[str, tuple[tuple[int, int], ...]] = {}
        self.waiting: list[Passage] = []
        self.returning: list[Passage] = []
        idle = {source for source in plan.sources if source not in named}
        for passage in find_passages(circuit) if passages is None else passages:
            if passage.element not in idle and not (lost and _is_lost(passage, lost)):
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

    def drop(self, elements: Collection[str]) -> None:
        """Let nothing pass those elements any more."""
        for element in elements:
            for step in self.spans.pop(element, ()):
                left = tuple(e for e in self.edges[step] if e != element)
                if left:
                    self.edges[step] = left
                else:
                    del self.edges[step]
                    self.out[step[0]] &= ~(1 << step[1])
                    self.into[step[1]] &= ~(1 << step[0])
        self.waiting = [p for p in self.waiting if p.element not in elements]
        self.returning = [p for p in self.returning if p.element not in elements]

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
        twin.drop((element,))
        return twin

    def varied(
        self, circuit: Circuit, named: Collection[str], changed: Collection[str]
    ) -> PortGraph:
        """The graph of a circuit that differs from this one's in the elements `changed`.

        This graph must have every source named; the new one has those in `named`.
        """
        twin = self.copy()
        twin.circuit = circuit
        idle = {source for source in self.plan.sources if source not in named}
        twin.drop({*idle, *changed})
        for element in changed:
            if element not in idle:
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
        owners, rank = self.plan.owners, self.plan.rank
        found = [owners[way[0]]]
        for start, end in pairwise(way):
            parallel = self.edges[start, end]
            carrier = parallel[0] if len(parallel) == 1 else min(parallel, key=rank.__getitem__)
            for element in (carrier, owners[end]):
                if found[-1] != element:
                    found.append(element)
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
    left = allowed & ~(1 << start)
    before: dict[int, int] = {}
    waiting = [start]
    for here in waiting:
        fresh = adjacent[here] & left
        arrived = fresh & ends
        if arrived:
            way = [(arrived & -arrived).bit_length() - 1, here]
            while way[-1] != start:
                way.append(before[way[-1]])
            return way[::-1]
        left ^= fresh
        while fresh:
            lowest = fresh & -fresh
            there = lowest.bit_length() - 1
            before[there] = here
            waiting.append(there)
            fresh ^= lowest
    return None
