"""The ports of a circuit by number, and what neither levers nor faults change about them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property

from analysis.circuit import Circuit
from analysis.passages import ACTUATORS, FEEDING, SOURCES, actuator_ports, rollers

_NO_WAY = (*ACTUATORS, "reservoir", "relief_valve")
_BESIDE = ("pilot", "drain")
_NO_SUPPLY = {
    "relief_valve": (("inlet", "outlet"),),
    "unloading_valve": (("inlet", "return"),),
    "reducing_valve": (("outlet", "drain"),),
}
"""What such parts let off is no supply."""


class Ports:
    """What all graphs of a circuit have in common, however its levers stand.

    Attributes
    ----------
    names, owners
        `ID.PORT` by number; the component it belongs to.
    index
        Number by `ID.PORT`.
    rank
        Id of a component or line -> its place in the file.
    sources, rollers
        Ids of what can supply, and of the valves that a cylinder trips.
    actuator_ports
        Those of cylinders, motors and semi-rotary actuators, by name.
    feeding, reservoir
        The reservoir outlets that may feed a source; all reservoir ports; as sets of bits.
    """

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self.names: list[str] = []
        self.owners: list[str] = []
        self.feeding = self.reservoir = 0
        for component in circuit.components.values():
            for port in component.declared.ports:
                if component.kind == "reservoir":
                    self.reservoir |= 1 << len(self.names)
                    self.feeding |= (port.name in FEEDING) << len(self.names)
                self.names.append(f"{component.id}.{port.name}")
                self.owners.append(component.id)
        self.index = {name: number for number, name in enumerate(self.names)}
        self.rank = {element.id: rank for rank, element in enumerate(circuit.elements())}
        self.sources = [c.id for c in circuit.components.values() if c.kind in SOURCES]
        self.rollers = rollers(circuit)
        self.actuator_ports = list(actuator_ports(circuit))

    @cached_property
    def joined(self) -> list[list[tuple[int, str]]]:
        """By number: (port, element) for all that would be joined to it if nothing were shut."""
        return self._both_ways(self._joints())

    @cached_property
    def let_off(self) -> list[list[tuple[int, str]]]:
        """The same of what a valve lets off when its pressure is reached."""
        return self._both_ways(self._lets_off())

    def _both_ways(self, joints: Iterable[tuple[str, int, int]]) -> list[list[tuple[int, str]]]:
        joined: list[list[tuple[int, str]]] = [[] for _ in self.names]
        for element, start, end in joints:
            joined[start].append((end, element))
            joined[end].append((start, element))
        return joined

    def _joints(self) -> Iterator[tuple[str, int, int]]:
        """(element, port, port): what could carry if nothing were shut, whatever its direction."""
        for line in self._circuit.lines.values():
            yield line.id, self.index[line.start], self.index[line.end]
        for component in self._circuit.components.values():
            if component.kind in _NO_WAY and component.kind != "hydraulic_motor":
                continue
            ports = [
                self.index[f"{component.id}.{port.name}"]
                for port in component.declared.ports
                if port.name not in _BESIDE
                and not (component.kind == "unloading_valve" and port.name == "return")
            ]
            for place, one in enumerate(ports):
                for other in ports[place + 1 :]:
                    yield component.id, one, other

    def _lets_off(self) -> Iterator[tuple[str, int, int]]:
        """(element, port, port) of the passages that only let off: they are no supply."""
        for component in self._circuit.components.values():
            for ports in _NO_SUPPLY.get(component.kind, ()):
                one, other = (self.index[f"{component.id}.{port}"] for port in ports)
                yield component.id, one, other
