"""Circuit to network: ideal lines merge ports into nodes, laws and lines add branches."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from operator import attrgetter
from typing import Any

from analysis.air_locks import find_air_locked
from analysis.circuit import Circuit
from analysis.devices import Modulator
from analysis.laid_lines import LaidLine, lay_lines
from analysis.laid_parts import lay_parts
from analysis.liquids import DEFAULT_LIQUID, DEFAULT_TEMPERATURE, Liquid, liquid
from analysis.network import Array, Builder, Network
from analysis.part import Part
from analysis.quantities import parse_quantity

__all__ = ["Assembly", "LaidLine", "assemble", "liquid_of"]

_ID_AND_KIND = attrgetter("id", "kind")


@dataclass
class Assembly:
    """The network of a circuit, and what leads back from it to the parts."""

    circuit: Circuit
    liquid: Liquid
    builder: Builder
    lines: Mapping[str, LaidLine]
    open_ends: frozenset[str]
    """Ports at which a ruptured line is open to the atmosphere."""
    line_volumes: Array
    """Fluid of the lines at each node of theirs [m3]."""
    parts: dict[str, Part] = field(default_factory=dict)
    network: Network = field(init=False)

    def node(self, port: str) -> int:
        """The node of `ID.PORT`."""
        return self.builder.nodes[port]


def liquid_of(circuit: Circuit) -> Liquid:
    """The circuit's liquid at its temperature; raises QuantityError."""
    text = circuit.fluid.get("temperature")
    temperature = DEFAULT_TEMPERATURE if text is None else parse_quantity(text, "temperature")
    return liquid(circuit.fluid.get("kind") or DEFAULT_LIQUID, temperature)


def assemble(circuit: Circuit, moving: Mapping[str, Mapping[str, Any]] | None = None) -> Assembly:
    """The network of the circuit as it stands: settings, states, levers and faults.

    Parameters
    ----------
    moving
        States [SI] by component id that replace the written ones: the circuit over time.
        The network is then made for time steps (`Builder.dynamic`).

    Raises
    ------
    QuantityError
        If the liquid's temperature is out of range.
    """
    fluid = liquid_of(circuit)
    locked = find_air_locked(circuit, moving)
    kinds = tuple(map(_ID_AND_KIND, circuit.components.values()))
    laid = lay_lines(circuit, kinds, locked, fluid)
    net = laid.net.going_on(dynamic=moving is not None)
    assembly = Assembly(circuit, fluid, net, laid.lines, laid.open_ends, laid.volumes)
    assembly.parts = lay_parts(circuit, moving, laid.numbers, net, fluid)
    assembly.network = net.build()
    _vent_dead_controls(net, assembly.network)
    return assembly


def _vent_dead_controls(net: Builder, network: Network) -> None:
    """Take a drain or pilot that no fluid gets to as being at the pressure of the air.

    A spring chamber or pilot that is not connected, or plugged, has no pressure of its own
    (a finding says so); the vacuum that is the least possible there would change what the
    valve is set to.
    """
    modulators = [d for d in net.devices if isinstance(d, Modulator)]
    if not modulators:
        return
    alive = network.is_fixed.copy()
    alive[network.node] = True
    for modulator in modulators:
        modulator.candidates = tuple(
            (constant, tuple((node if alive[node] else 0, weight) for node, weight in terms))
            for constant, terms in modulator.candidates
        )
