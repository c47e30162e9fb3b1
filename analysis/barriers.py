"""What stands between a source and a target that it does not reach."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from analysis.circuit import Circuit, Component
from analysis.passages import ACTUATORS, FEEDING, SOURCES
from analysis.port_graph import PortGraph, flood
from analysis.resolved import position_of, resolve_element
from analysis.words import described, listed

_NO_WAY = (*ACTUATORS, "reservoir")
_NO_SUPPLY = {
    "relief_valve": (("inlet", "outlet"),),
    "unloading_valve": (("inlet", "return"),),
    "reducing_valve": (("outlet", "drain"),),
}
"""What such parts let off counts as no way: they are named where nothing else stands there."""
_BESIDE = ("pilot", "drain")


class Barriers:
    """The elements at which fluid is stopped short of a port.

    Parameters
    ----------
    graph
        The circuit as it stands.
    beside
        Ids of parts that could not be the way in any case: where it begins, pumps for a return.
    """

    def __init__(self, graph: PortGraph, beside: Collection[str] = ()) -> None:
        self.reservoir = graph.reservoir
        self.index = graph.index
        self.joined: dict[int, list[tuple[int, str]]] = {}
        self.let_off: dict[int, list[tuple[int, str]]] = {}
        for joined, joints in ((self.joined, _joints(graph)), (self.let_off, _let_off(graph))):
            for element, start, end in joints:
                if element not in beside:
                    joined.setdefault(start, []).append((end, element))
                    joined.setdefault(end, []).append((start, element))

    def before(self, targets: Iterable[str], reached: int) -> list[str]:
        """What stops fluid that reaches the ports `reached` (bits) short of the targets.

        Ids, those nearest to the first target first; empty if nothing at all leads there.
        """
        wanted = list(targets)
        found = self._before(wanted, reached, self.joined)
        if found or not self.let_off:
            return found
        both = {
            port: [*self.joined.get(port, ()), *self.let_off.get(port, ())]
            for port in {*self.joined, *self.let_off}
        }
        return self._before(wanted, reached, both)

    def _before(
        self, targets: list[str], reached: int, joined: dict[int, list[tuple[int, str]]]
    ) -> list[str]:
        barriers: dict[str, None] = {}
        for target in targets:
            seen, waiting = {self.index[target]}, [self.index[target]]
            for here in waiting:
                for there, element in joined.get(here, ()):
                    if reached >> there & 1:
                        barriers[element] = None
                    elif there not in seen and not self.reservoir >> there & 1:
                        seen.add(there)
                        waiting.append(there)
        return list(barriers)


def _joints(graph: PortGraph) -> Iterator[tuple[str, int, int]]:
    """(element, port, port): what could carry if nothing were shut, whatever its direction."""
    for line in graph.circuit.lines.values():
        yield line.id, graph.index[line.start], graph.index[line.end]
    for component in graph.circuit.components.values():
        if component.kind in _NO_WAY and component.kind != "hydraulic_motor":
            continue
        if component.kind == "relief_valve":
            continue
        ports = [
            graph.index[f"{component.id}.{port.name}"]
            for port in component.declared.ports
            if port.name not in _BESIDE
            and not (component.kind == "unloading_valve" and port.name == "return")
        ]
        for place, one in enumerate(ports):
            for other in ports[place + 1 :]:
                yield component.id, one, other


def _let_off(graph: PortGraph) -> Iterator[tuple[str, int, int]]:
    """The same of what a valve lets off when its pressure is reached."""
    for component in graph.circuit.components.values():
        for one, other in _NO_SUPPLY.get(component.kind, ()):
            start, end = (graph.index[f"{component.id}.{port}"] for port in (one, other))
            yield component.id, start, end


def before_inlet(graph: PortGraph, source: str) -> list[str]:
    """What stops the fluid of the reservoirs short of a source's inlet, by ids, as `before`."""
    inlet = SOURCES[graph.circuit.components[source].kind][0]
    if not inlet:
        return []
    starts = 0
    for port in range(len(graph.names)):
        starts |= 1 << port if graph.into[port] & graph.feeding else 0
    fed = flood(graph.out, starts, graph.all) | graph.feeding
    return Barriers(graph, (source,)).before([f"{source}.{inlet}"], fed)


def open_ends(graph: PortGraph, reached: int) -> list[str]:
    """The ports among those `reached` (bits) from which no line leads on, in order."""
    ends = {end for line in graph.circuit.lines.values() for end in (line.start, line.end)}
    return sorted(port for port in graph.ports(reached) if port not in ends)


def why_stopped(circuit: Circuit, element: str) -> str:
    """Why nothing passes there, in words: `1V1 stands at centre`."""
    found = circuit.element(element)
    fault = resolve_element(found).fault
    name = described(found)
    if fault in ("blocked", "ruptured", "stuck_closed", "no_output"):
        return (
            f"{name} is {fault.replace('_', ' ')}"
            if fault != "no_output"
            else (f"{name} gives no output")
        )
    if not isinstance(found, Component):
        return f"{name} leads no further"
    if "position" in found.declared.states:
        position = position_of(circuit, found)
        stands = "is stuck" if fault == "stuck" else "stands"
        return f"{name} {stands} at {found.labels.get(position, position)}"
    if fault == "stuck":
        return f"{name} is stuck"
    if found.kind in ("pilot_check_valve", "counterbalance_valve"):
        return f"the pilot of {name} is not under pressure"
    if found.kind in SOURCES:
        return f"{name} is not named as a source"
    if found.kind == "relief_valve":
        return f"{name} is a relief valve, which counts as no way"
    if found.kind == "hydraulic_fuse":
        return f"{name} has closed"
    if found.kind == "adjustable_restrictor":
        return f"{name} is shut"
    return f"{name} lets nothing through that way"


def why_unfed(graph: PortGraph, source: str) -> tuple[str, list[str]]:
    """Why a source supplies nothing at all: in words, and the ids of what keeps it from it."""
    component = graph.circuit.components[source]
    name, fault = described(component), resolve_element(component).fault
    if fault == "no_output":
        return f"{name} gives no output", [source]
    if fault == "blocked":
        return f"{name} is blocked", [source]
    barriers = before_inlet(graph, source)
    if barriers:
        return f"nothing feeds {name}: {stopped_by(graph.circuit, barriers)}", barriers
    return f"no {' or '.join(FEEDING)} port of a reservoir feeds {name}", [source]


def stopped_by(circuit: Circuit, barriers: list[str]) -> str:
    """Why fluid gets no further, in words, the first three reasons."""
    if not barriers:
        return "no line leads there"
    shown = [why_stopped(circuit, element) for element in barriers[:3]]
    more = f" (and {len(barriers) - 3} more)" if len(barriers) > 3 else ""
    return listed(shown) + more
