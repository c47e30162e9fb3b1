"""Where each source gets to at all: ports against sets of lever settings.

The same ways as in `analysis.ways`, for all lever settings at once: instead of "reached
or not", every port carries the set of settings in which it is reached, and the sets grow
along the passages until none changes. The cost follows the size of the circuit and of the
sets, not the number of settings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from analysis.circuit import Circuit
from analysis.lever_sets import ALL, NONE, LeverSets
from analysis.passages import (
    SOURCES,
    Passage,
    find_passages,
    is_lever_free,
    positions,
)
from analysis.port_graph import bits, flood
from analysis.ports import Ports
from analysis.ways import is_dead, sources_of

SUCTION_LIMIT = 5000
"""Steps of the search for a pump's suction ways; beyond, the answer is marked inexact."""


@dataclass(frozen=True)
class Reach:
    """Where fluid gets to, over all settings of the levers.

    Attributes
    ----------
    sets
        What understands the numbers below.
    reached
        Source -> port -> settings in which that source reaches it.
    returns
        Actuator port -> settings in which fluid can return from it to a reservoir.
    inexact
        Pumps whose suction and pressure side are one tangle: their sets may hold settings
        in which no way without a port met twice exists.
    """

    sets: LeverSets
    reached: dict[str, dict[str, int]]
    returns: dict[str, int] = field(default_factory=dict)
    inexact: tuple[str, ...] = ()

    def by_any(self, port: str) -> int:
        """The settings in which any of the sources reaches the port."""
        return self._by_any.get(port, NONE)

    @cached_property
    def _by_any(self) -> dict[str, int]:
        found: dict[str, int] = {}
        for ports in self.reached.values():
            for port, at in ports.items():
                found[port] = self.sets.union(found.get(port, NONE), at)
        return found


def levers(circuit: Circuit) -> dict[str, tuple[str, ...]]:
    """The levers that can be moved: valve id -> positions, in the order of the file.

    A stuck valve stays where it is; a roller is moved by its cylinder and counts too.
    """
    return {c.id: positions(c) for c in circuit.components.values() if is_lever_free(c)}


def find_reach(circuit: Circuit, sources: Sequence[str] | None = None) -> Reach:
    """Where the sources get to, over all lever settings.

    Parameters
    ----------
    circuit
        Its levers are taken as free; faults are looked at.
    sources
        Ids; only these supply, and no other pump carries. None: all there are.
    """
    return _Search(circuit, sources_of(circuit) if sources is None else sources).run()


class Edges(NamedTuple):
    """`at`: by port, the steps from it; `to`: by step, the port that it leads to."""

    at: list[list[int]]
    to: list[int]


class _Search:
    """The sets grow round by round, as pilots that are reached open further passages.

    A step is the number of a passage; `conditions` has the settings in which it is open.
    """

    def __init__(self, circuit: Circuit, sources: Sequence[str]) -> None:
        self.circuit = circuit
        self.sources = list(dict.fromkeys(sources))
        self.sets = LeverSets(levers(circuit))
        self.ports = ports = Ports(circuit)
        self.all = (1 << len(ports.names)) - 1
        idle = set(ports.sources).difference(self.sources)
        self.passages = [
            p for p in find_passages(circuit, every_position=True) if p.element not in idle
        ]
        starts = [ports.index[p.start] for p in self.passages]
        ends = [ports.index[p.end] for p in self.passages]
        self.onward = Edges([[] for _ in ports.names], ends)
        self.backward = Edges([[] for _ in ports.names], starts)
        # what could ever be open, to find what is connected at all
        self.out, self.into = [0] * len(ports.names), [0] * len(ports.names)
        for step, (start, end, passage) in enumerate(zip(starts, ends, self.passages, strict=True)):
            self.onward.at[start].append(step)
            self.backward.at[end].append(step)
            if not passage.unless:
                self.out[start] |= 0 if ports.reservoir >> start & 1 else 1 << end
                self.into[end] |= 0 if ports.reservoir >> end & 1 else 1 << start
        closed = ports.reservoir & ~ports.feeding
        self.conditions = [
            NONE if p.pilot or p.unless or closed >> start & 1 else self._at_lever(p)
            for start, p in zip(starts, self.passages, strict=True)
        ]
        self.pilots = {p.pilot: NONE for p in self.passages if p.pilot}
        self.inexact: set[str] = set()

    def _at_lever(self, passage: Passage) -> int:
        return self.sets.at(passage.element, passage.position) if passage.position else ALL

    def run(self) -> Reach:
        while True:
            reached = {source: self._from_source(source) for source in self.sources}
            found = Reach(self.sets, reached, inexact=tuple(sorted(self.inexact)))
            pilots = {pilot: found.by_any(pilot) for pilot in self.pilots}
            if pilots == self.pilots:
                found.returns.update(self._returns(found))
                return found
            self.pilots = pilots
            for step, passage in enumerate(self.passages):
                if passage.pilot:
                    self.conditions[step] = pilots[passage.pilot]

    def _spread(
        self, starts: Mapping[int, int], allowed: int, edges: Edges, conditions: list[int]
    ) -> dict[int, int]:
        """Port -> settings in which fluid gets there from the starts, over `allowed` ports.

        A reservoir port may be a start or an end, but is never passed.
        """
        union, intersection = self.sets.union, self.sets.intersection
        steps_at, leads_to = edges
        found = dict(starts)
        waiting, queued = list(starts), set(starts)
        stops = self.ports.reservoir
        for here in waiting:
            queued.discard(here)
            if stops >> here & 1 and here not in starts:
                continue
            at = found[here]
            for step in steps_at[here]:
                there, condition = leads_to[step], conditions[step]
                before = found.get(there, NONE)
                if before in (at, ALL) or condition == NONE or not allowed >> there & 1:
                    continue  # nothing new gets there
                after = at if condition == ALL else intersection(at, condition)
                after = union(before, after) if before != NONE else after
                if after != before:
                    found[there] = after
                    if there not in queued:
                        queued.add(there)
                        waiting.append(there)
        return found

    def _from_source(self, source: str) -> dict[str, int]:
        inlet_name, outlet_name = SOURCES[self.circuit.components[source].kind]
        if is_dead(self.circuit, source):
            return {}
        index = self.ports.index
        outlet = index[f"{source}.{outlet_name}"]
        if not inlet_name:
            return self._named(self._pressed(outlet, ALL, self.all))
        inlet = index[f"{source}.{inlet_name}"]
        upstream = flood(self.into, 1 << inlet, self.all & ~(1 << outlet))
        downstream = flood(self.out, 1 << outlet, self.all & ~(1 << inlet))
        found: dict[int, int] = {}
        for suction, fed in self._suctions(source, inlet, upstream, downstream):
            for port, at in self._pressed(outlet, fed, downstream & ~suction).items():
                found[port] = self.sets.union(found.get(port, NONE), at)
        return self._named(found)

    def _pressed(self, outlet: int, fed: int, allowed: int) -> dict[int, int]:
        return self._spread({outlet: fed}, allowed, self.onward, self.conditions)

    def _suctions(
        self, source: str, inlet: int, upstream: int, downstream: int
    ) -> Iterable[tuple[int, int]]:
        """(ports that the suction side takes from the pressure side, settings in which it does)."""
        shared = upstream & downstream & ~self.ports.reservoir
        starts = dict.fromkeys(bits(self.ports.feeding & upstream), ALL)
        if shared:
            found = self._suctions_one_by_one(inlet, upstream, shared)
            if found is not None:
                return found.items()
            self.inexact.add(source)
        drawn = self._spread(starts, upstream, self.onward, self.conditions)
        return [(0, drawn.get(inlet, NONE))]

    def _suctions_one_by_one(self, inlet: int, upstream: int, shared: int) -> dict[int, int] | None:
        """As `_suctions`, for a pump whose two sides have ports in common; None: too many."""
        found: dict[int, int] = {}
        waiting = [(inlet, 1 << inlet, ALL)]
        steps = 0
        while waiting:
            here, used, fed = waiting.pop()
            steps += 1
            if steps > SUCTION_LIMIT:
                return None
            if self.ports.feeding >> here & 1:
                taken = used & shared
                found[taken] = self.sets.union(found.get(taken, NONE), fed)
            if self.ports.reservoir >> here & 1:
                continue
            for step in self.backward.at[here]:
                port = self.backward.to[step]
                further = self.sets.intersection(fed, self.conditions[step])
                if upstream >> port & 1 and not used >> port & 1 and further != NONE:
                    waiting.append((port, used | 1 << port, further))
        return found

    def _returns(self, found: Reach) -> dict[str, int]:
        """Actuator port -> settings in which fluid can get from it to a reservoir port."""
        starts = dict.fromkeys(bits(self.ports.reservoir), ALL)
        conditions = [
            self.sets.complement(found.by_any(p.unless)) if p.unless else condition
            for p, condition in zip(self.passages, self.conditions, strict=True)
        ]
        shared = self._spread(starts, self.all, self.backward, conditions)
        returns: dict[str, int] = {}
        for port in self.ports.actuator_ports:
            identifier = port.rpartition(".")[0]
            reached = shared
            if self.circuit.components[identifier].kind == "hydraulic_motor":
                past = [
                    NONE if p.element == identifier else condition
                    for p, condition in zip(self.passages, conditions, strict=True)
                ]
                reached = self._spread(starts, self.all, self.backward, past)
            returns[port] = reached.get(self.ports.index[port], NONE)
        return returns

    def _named(self, found: dict[int, int]) -> dict[str, int]:
        return {self.ports.names[port]: at for port, at in found.items() if at != NONE}
