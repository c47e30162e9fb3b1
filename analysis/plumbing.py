"""What is joined to what, whatever the levers, pilots and faults: the plumbing itself.

Design rules ask questions like "what stands between this pump and the first thing that
can close". They flood the plumbing from a port and say themselves which kinds of parts
the flood may pass, and which way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from analysis.circuit import Circuit, Component
from analysis.laws.directional import CENTRES, POSITIONS

_PAIRS = {
    "filter": (("inlet", "outlet"),),
    "check_valve": (("inlet", "outlet"),),
    "pilot_check_valve": (("inlet", "outlet"),),
    "counterbalance_valve": (("outlet", "inlet"),),
    "sequence_valve": (("inlet", "outlet"),),
    "reducing_valve": (("inlet", "outlet"),),
    "priority_valve": (("inlet", "outlet"),),
    "unloading_valve": (("inlet", "outlet"), ("inlet", "return")),
    "relief_valve": (("inlet", "outlet"),),
    "fixed_pump": (("inlet", "outlet"),),
    "compensated_pump": (("inlet", "outlet"),),
    "hand_pump": (("inlet", "outlet"),),
    "shuttle_valve": (("inlet_1", "outlet"), ("inlet_2", "outlet")),
    "restrictor": (("A", "B"),),
    "adjustable_restrictor": (("A", "B"),),
    "one_way_restrictor": (("free", "restricted"),),
    "flow_regulator": (("inlet", "outlet"),),
    "flow_divider": (("inlet", "outlet_1"), ("inlet", "outlet_2")),
    "hydraulic_fuse": (("inlet", "outlet"),),
    "hydraulic_motor": (("A", "B"),),
    "cooler": (("A", "B"),),
    "hose": (("A", "B"),),
    "quick_coupling": (("A", "B"),),
    "flow_meter": (("A", "B"),),
}

PIPES = ("line", "hose", "quick_coupling", "cooler", "flow_meter")
"""Kinds that carry freely both ways and close nothing."""

THROTTLES = ("restrictor", "adjustable_restrictor", "one_way_restrictor", "flow_regulator")
SELECTORS = ("valve_3_2", "valve_4_2", "valve_4_3")


class Step(NamedTuple):
    """From a port to `there`, through `element` of `kind`; `forward` in its own direction."""

    there: str
    element: str
    kind: str
    forward: bool


Passes = Callable[[Step], bool]


class Plumbing:
    """The ports of a circuit and every step between them that could ever be open."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._kinds = {
            f"{component.id}.{port.name}": component.kind
            for component in circuit.components.values()
            for port in component.declared.ports
        }
        self._rank = {identifier: rank for rank, identifier in enumerate(circuit.components)}
        self.steps: dict[str, list[Step]] = {port: [] for port in self._kinds}
        for line in circuit.lines.values():
            self.steps[line.start].append(Step(line.end, line.id, "line", True))
            self.steps[line.end].append(Step(line.start, line.id, "line", True))
        for component in circuit.components.values():
            for one, other in _pairs(component):
                start, end = f"{component.id}.{one}", f"{component.id}.{other}"
                self.steps[start].append(Step(end, component.id, component.kind, True))
                self.steps[end].append(Step(start, component.id, component.kind, False))

    def flood(self, starts: Iterable[str], passes: Passes) -> set[str]:
        """The ports that are got to from the starts by steps that `passes` allows.

        A reservoir's port is got to, but never passed.
        """
        kinds, steps = self._kinds, self.steps
        found = set(starts)
        waiting = list(found)
        while waiting:
            here = waiting.pop()
            if kinds[here] == "reservoir" and here not in starts:
                continue
            for step in steps[here]:
                if step.there not in found and passes(step):
                    found.add(step.there)
                    waiting.append(step.there)
        return found

    def kind_at(self, port: str) -> str:
        """The kind of the component that the port belongs to."""
        return self._kinds[port]

    def components_at(self, ports: Iterable[str], *kinds: str) -> list[Component]:
        """The components of those kinds at the ports, in the order of the file."""
        ids = {port.rpartition(".")[0] for port in ports if self._kinds[port] in kinds}
        return [self.circuit.components[i] for i in sorted(ids, key=self._rank.__getitem__)]


def _pairs(component: Component) -> Iterable[tuple[str, str]]:
    if component.kind in POSITIONS:
        pairs = {pair for paths in POSITIONS[component.kind].values() for pair in paths}
        if component.kind == "valve_4_3":
            pairs |= set(CENTRES[str(component.settings.get("centre") or "closed")])
        return sorted(pairs)
    return _PAIRS.get(component.kind, ())


def pipes_only(step: Step) -> bool:
    """Passes what is never closed: lines, hoses, couplings, coolers, meters."""
    return step.kind in PIPES
