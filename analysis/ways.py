"""Ways: where fluid under pressure can get, from a reservoir outlet through a source.

The definition is the contract's (section 4). A way starts at a `supply` or `standpipe`
port, enters the source at its inlet, leaves at its outlet and ends at a port, and meets
no port twice; an accumulator and a pressure source need no reservoir. That no port is met
twice makes this more than a flood where a suction line and a pressure line have ports in
common: the suction ways are then searched one by one, as far as they differ in effect.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_

from analysis.circuit import Circuit
from analysis.disjoint_paths import Budget
from analysis.passages import SOURCES
from analysis.port_graph import PortGraph, bits, flood
from analysis.resolved import resolve_element


@dataclass(frozen=True)
class Way:
    """One way through the circuit.

    `ports` from the reservoir outlet (or the source) to the end; `elements` the ids of
    components and lines from the source on, in order; `suction` those before the source.
    """

    ports: tuple[str, ...]
    elements: tuple[str, ...]
    suction: tuple[str, ...] = ()

    @property
    def whole(self) -> tuple[str, ...]:
        """All ids in order, from the reservoir on."""
        return (*self.suction, *self.elements)


@dataclass
class Supply:
    """What one source reaches: pairs of a suction way and the ports that it leaves to reach.

    Numbers and sets of bits of the `PortGraph`; no pair if nothing feeds the source.
    """

    outlet: int
    reached: int
    suctions: list[tuple[tuple[int, ...], int]]


def is_dead(circuit: Circuit, source: str) -> bool:
    """Whether a source supplies nothing because of its fault."""
    return resolve_element(circuit.components[source]).fault in ("no_output", "blocked")


class Ways:
    """All ways that the named sources have, with the levers as they stand.

    Parameters
    ----------
    circuit
        As it stands; not changed. Change it and make a new one.
    sources
        Ids of pumps, pressure sources and accumulators that supply; no other does.
    lost
        Ids of components and lines that are taken out, with all their ports.
    graph
        The graph of this circuit with these sources, if there is one already; it is
        changed as pilots open.

    Raises
    ------
    TooTangled
        If an exact answer would take too long.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("pressure_source", id="0P1"), circuit.add("cylinder", id="1A1")
    >>> _ = circuit.connect("0P1.outlet", "1A1.cap")
    >>> Ways(circuit, ["0P1"]).way("0P1", "1A1.cap").elements
    ('0P1', 'L1', '1A1')
    """

    def __init__(
        self,
        circuit: Circuit,
        sources: Sequence[str],
        lost: Collection[str] = (),
        graph: PortGraph | None = None,
    ) -> None:
        self.circuit = circuit
        self.sources = tuple(dict.fromkeys(sources))
        self.lost = lost
        self.graph = graph or PortGraph(circuit, self.sources, lost=lost)
        self.supplies: dict[str, Supply] = {}
        self.pressed = 0
        """The ports that any of the sources reaches, as a set of bits."""
        self._settle_pilots()

    def _settle_pilots(self) -> None:
        """Open what a reached pilot opens, until no more pilots are reached."""
        graph = self.graph
        while True:
            self.supplies = {s: self._supply(graph, s) for s in self.sources}
            self.pressed = reduce(or_, (s.reached for s in self.supplies.values()), 0)
            opened = [p for p in graph.waiting if graph.bit(p.pilot) & self.pressed]
            if not opened:
                return
            graph.waiting = [p for p in graph.waiting if p not in opened]
            for passage in opened:
                graph.add(passage)

    def reaches(self, source: str, port: str) -> bool:
        """Whether this source reaches the port."""
        return bool(self.supplies[source].reached & self.graph.bit(port))

    def reached(self, source: str) -> set[str]:
        """The ports that this source reaches, its own outlet included."""
        return self.graph.ports(self.supplies[source].reached)

    def way(self, source: str, port: str, avoid: str = "") -> Way | None:
        """A way from this source to the port, not through `avoid`; None if there is none."""
        graph = self.graph.without(avoid) if avoid else self.graph
        supply = self._supply(graph, source) if avoid else self.supplies[source]
        end = graph.index[port]
        for suction, reached in supply.suctions:
            if reached >> end & 1:
                return self._join(graph, suction, supply.outlet, end)
        return None

    def return_way(self, port: str) -> Way | None:
        """A way from an actuator's port outward to any reservoir port; None if there is none.

        A shuttle carries back to an inlet that is not under pressure.
        """
        graph = self._outward(port)
        found = graph.shortest(graph.index[port], graph.reservoir, graph.all)
        if found is None:
            return None
        return Way(tuple(graph.names[n] for n in found), graph.elements(found))

    def return_reach(self, port: str) -> tuple[PortGraph, int]:
        """The graph for a return from that actuator port, and the ports it gets to, as bits."""
        graph = self._outward(port)
        return graph, flood(graph.out, graph.bit(port), graph.all)

    def _outward(self, port: str) -> PortGraph:
        own = port.rpartition(".")[0]
        return self._homeward.without(own) if own in self._homeward.spans else self._homeward

    @cached_property
    def _homeward(self) -> PortGraph:
        """The graph for returns, of what they come from too."""
        graph = self.graph
        opened = [p for p in graph.returning if not graph.bit(p.unless) & self.pressed]
        if not opened:
            return graph
        homeward = graph.copy()
        for passage in opened:
            homeward.add(passage)
        return homeward

    def _join(self, graph: PortGraph, suction: tuple[int, ...], outlet: int, end: int) -> Way:
        allowed = graph.all
        for port in suction:
            allowed &= ~(1 << port)
        pressure = graph.shortest(outlet, 1 << end, allowed)
        assert pressure is not None  # `reached` said so
        return Way(
            tuple(graph.names[n] for n in (*suction, *pressure)),
            graph.elements(pressure),
            graph.elements(suction)[:-1] if suction else (),
        )

    def _supply(self, graph: PortGraph, source: str) -> Supply:
        component = self.circuit.components[source]
        inlet_name, outlet_name = SOURCES[component.kind]
        outlet = graph.index[f"{source}.{outlet_name}"]
        if is_dead(self.circuit, source) or source in self.lost:
            return Supply(outlet, 0, [])
        if not inlet_name:
            reached = flood(graph.out, 1 << outlet, graph.all)
            return Supply(outlet, reached, [((), reached)])
        return SuctionSearch(graph, graph.index[f"{source}.{inlet_name}"], outlet).run()


class SuctionSearch:
    """Exact search for all that a pump reaches, over the suction ways that differ in effect.

    Branch and bound: at each step the suction way is grown backward from the inlet. What
    the pump could reach at best with what is laid so far is a flood; if nothing in it is
    new, or a completion that takes none of it is found, the branch is done.
    """

    def __init__(self, graph: PortGraph, inlet: int, outlet: int) -> None:
        self.graph = graph
        self.inlet, self.outlet = inlet, outlet
        self.found = 0
        self.suctions: list[tuple[tuple[int, ...], int]] = []
        self.budget = Budget()

    def run(self) -> Supply:
        """Search; raises TooTangled."""
        self._grow([self.inlet], 1 << self.inlet)
        return Supply(self.outlet, self.found, self.suctions)

    def _flood(self, used: int) -> int:
        return flood(self.graph.out, 1 << self.outlet, self.graph.all & ~used)

    def _grow(self, tail: list[int], used: int) -> None:
        """`tail`: the suction way so far, from the inlet backward; `used`: its ports."""
        self.budget.spend()
        graph = self.graph
        best = self._flood(used) & ~graph.feeding
        if not best & ~self.found or not self._complete(tail, used, best):
            return
        if not best & ~self.found:
            return
        free = graph.into[tail[-1]] & ~used & ~(1 << self.outlet) & ~graph.reservoir
        for port in bits(free):
            self._grow([*tail, port], used | 1 << port)

    def _complete(self, tail: list[int], used: int, best: int) -> bool:
        """Take the nearest reservoir outlet, past `best` if that can be; False if none is."""
        graph = self.graph
        allowed = graph.all & ~used & ~(1 << self.outlet)
        rest = graph.shortest_back(tail[-1], graph.feeding, allowed & ~best)
        rest = rest or graph.shortest_back(tail[-1], graph.feeding, allowed)
        if rest is None:
            return False
        suction = (*rest[:-1], *tail[::-1])
        taken = 0
        for port in suction:
            taken |= 1 << port
        reached = self._flood(taken)
        if reached & ~self.found:
            self.suctions.append((suction, reached))
            self.found |= reached
        return True


def sources_of(circuit: Circuit) -> list[str]:
    """The ids of all pumps, pressure sources and accumulators, in the order of the file."""
    return [c.id for c in circuit.components.values() if c.kind in SOURCES]


def reached_by_any(circuit: Circuit, sources: Collection[str] | None = None) -> set[str]:
    """The ports that the sources (all of them if None) reach with the levers as they stand."""
    ways = Ways(circuit, sources_of(circuit) if sources is None else list(sources))
    return ways.graph.ports(ways.pressed)
