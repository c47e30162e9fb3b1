"""What stands between a source and a target that it does not reach."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from analysis.circuit import Circuit, Component
from analysis.passages import ACTUATORS, FEEDING, SOURCES
from analysis.port_graph import PortGraph
from analysis.resolved import position_of, resolve_element
from analysis.words import described, listed

_NO_WAY = (*ACTUATORS, "reservoir", "relief_valve")
_BESIDE = ("pilot", "drain")


class Barriers:
    """The elements at which fluid is stopped short of a port.

    Parameters
    ----------
    graph
        The circuit as it stands.
    """

    def __init__(self, graph: PortGraph) -> None:
        self.reservoir = graph.reservoir
        self.index = graph.index
        self.joined: dict[int, list[tuple[int, str]]] = {}
        for element, start, end in _joints(graph):
            self.joined.setdefault(start, []).append((end, element))
            self.joined.setdefault(end, []).append((start, element))

    def before(self, targets: Iterable[str], reached: int) -> list[str]:
        """What stops fluid that reaches the ports `reached` (bits) short of the targets.

        Ids, those nearest to the first target first; empty if nothing at all leads there.
        """
        barriers: dict[str, None] = {}
        for target in targets:
            seen, waiting = {self.index[target]}, [self.index[target]]
            for here in waiting:
                for there, element in self.joined.get(here, ()):
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
        if component.kind in SOURCES and component.id in graph.spans:
            # one that supplies is where the fluid comes from, it cannot be what stops it
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
        return f"{name} stands at {found.labels.get(position, position)}"
    if found.kind in ("pilot_check_valve", "counterbalance_valve"):
        return f"the pilot of {name} is not under pressure"
    if found.kind in SOURCES:
        return f"{name} is not named as a source"
    if found.kind == "hydraulic_fuse":
        return f"{name} has closed"
    if found.kind == "adjustable_restrictor":
        return f"{name} is shut"
    return f"{name} lets nothing through that way"


def why_unfed(circuit: Circuit, source: str) -> str:
    """Why a source supplies nothing at all, in words."""
    component = circuit.components[source]
    fault = resolve_element(component).fault
    if fault == "no_output":
        return f"{described(component)} gives no output"
    if fault == "blocked":
        return f"{described(component)} is blocked"
    return f"no {' or '.join(FEEDING)} port of a reservoir feeds {described(component)}"


def stopped_by(circuit: Circuit, barriers: list[str]) -> str:
    """Why fluid gets no further, in words, the first three reasons."""
    if not barriers:
        return "no line leads there"
    shown = [why_stopped(circuit, element) for element in barriers[:3]]
    more = f" (and {len(barriers) - 3} more)" if len(barriers) > 3 else ""
    return listed(shown) + more
