"""Circuit to network: ideal lines merge ports into nodes, laws and lines add branches."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from analysis.air_locks import find_air_locked
from analysis.branch_laws import pipe_row
from analysis.circuit import Circuit, Component, Line
from analysis.constants import LEAK_COEFFICIENT
from analysis.devices import Modulator
from analysis.laws import LAWS, add_leaks
from analysis.liquids import DEFAULT_LIQUID, DEFAULT_TEMPERATURE, Liquid, liquid
from analysis.network import Branch, Builder, Network
from analysis.part import Part, orifice_coefficient
from analysis.quantities import parse_quantity
from analysis.resolved import Resolved, position_of, resolve_element
from symbols import find_kind


@dataclass(slots=True)
class LaidLine:
    """How a line stands in the network.

    `branch` is its pipe (None: ideal, blocked or ruptured); `second` the other half where
    a leak divides it; `ideal` joins two ports of one node; `bore` [m] if given.
    """

    id: str
    start: str
    end: str
    fault: str
    ideal: bool = False
    branch: Branch | None = None
    second: Branch | None = None
    bore: float | None = None


@dataclass
class Assembly:
    """The network of a circuit, and what leads back from it to the parts."""

    circuit: Circuit
    liquid: Liquid
    builder: Builder
    parts: dict[str, Part] = field(default_factory=dict)
    lines: dict[str, LaidLine] = field(default_factory=dict)
    open_ends: set[str] = field(default_factory=set)
    """Ports at which a ruptured line is open to the atmosphere."""
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
    assembly = Assembly(circuit, liquid_of(circuit), Builder(dynamic=moving is not None))
    locked = find_air_locked(circuit, moving)
    lines = [(line, resolve_element(line)) for line in circuit.lines.values()]
    parts = [(part, resolve_element(part)) for part in circuit.components.values()]
    kinds = tuple([(part.id, part.kind) for part, _ in parts])
    nodes, ports, count = _number_nodes(kinds, _joined(lines, parts, locked))
    assembly.builder.nodes, assembly.builder.count = nodes, count
    _lay_lines(assembly, lines, locked)
    net, fluid = assembly.builder, assembly.liquid
    for component, values in parts:
        state = values.state
        if moving is not None and component.id in moving:
            state = {**state, **moving[component.id]}
        if "position" in state:
            state = {**state, "position": position_of(circuit, component, moving)}
        own, kind, fault = component.id, component.kind, values.fault
        s, written = values.settings, values.written
        part = Part(own, kind, s, state, fault, written, ports[own], net, fluid)
        LAWS[kind](part)
        if fault != "none" and fault.endswith("_leak"):
            add_leaks(part)
        assembly.parts[own] = part
    assembly.network = assembly.builder.build()
    _vent_dead_controls(assembly.builder, assembly.network)
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


Numbering = tuple[dict[str, int], dict[str, dict[str, int]], int]
"""Node by `ID.PORT`, nodes by component and port name, and how many nodes there are."""


@lru_cache(maxsize=32)
def _number_nodes(
    parts: tuple[tuple[str, str], ...], joined: tuple[tuple[str, str], ...]
) -> Numbering:
    """One node for all ports that ideal lines and meters join; kept, so never to be changed.

    Parameters
    ----------
    parts
        Each component's id and kind.
    joined
        The pairs of ports that are one node.
    """
    root: dict[str, str] = {port: port for pair in joined for port in pair}

    def find(port: str) -> str:
        while root[port] != port:
            root[port] = root[root[port]]
            port = root[port]
        return port

    for start, end in joined:
        root[find(start)] = find(end)
    nodes: dict[str, int] = {}
    ports: dict[str, dict[str, int]] = {}
    shared: dict[str, int] = {}
    # node 0 is the atmosphere
    count = 1
    for identifier, kind in parts:
        own = ports[identifier] = {}
        for declared in find_kind(kind).ports:
            port = f"{identifier}.{declared.name}"
            node = shared.setdefault(find(port), count) if port in root else count
            own[declared.name] = nodes[port] = node
            count = max(count, node + 1)
    return nodes, ports, count


def _joined(
    lines: list[tuple[Line, Resolved]],
    parts: list[tuple[Component, Resolved]],
    locked: Collection[str],
) -> tuple[tuple[str, str], ...]:
    """The pairs of ports that lines without loss and meters join."""
    pairs = [
        (line.start, line.end)
        for line, values in lines
        if values.is_lossless
        and line.id not in locked
        and values.fault in ("none", "external_leak")
    ]
    pairs += [
        (f"{part.id}.A", f"{part.id}.B")
        for part, values in parts
        if part.kind == "flow_meter" and values.fault != "blocked"
    ]
    return tuple(pairs)


def _lay_lines(
    assembly: Assembly, lines: list[tuple[Line, Resolved]], locked: Collection[str]
) -> None:
    net, laid = assembly.builder, assembly.lines
    nodes, terms, rows = net.nodes, net.terms["pipe"], net.rows["pipe"]
    density, viscosity = assembly.liquid.density, assembly.liquid.viscosity
    for line, values in lines:
        if values.fault != "none" or line.id in locked:
            _lay_faulty_line(assembly, line, values, line.id in locked)
            continue
        s = values.settings
        identifier, start, end, bore = line.id, line.start, line.end, s["bore"]
        if values.is_lossless:
            laid[identifier] = LaidLine(identifier, start, end, "none", True, None, None, bore)
            continue
        # as `Builder.pipe` does, without a call: most branches of a circuit are pipes
        branch = _pipe_branch(len(rows))
        rows.append(pipe_row(bore, s["length"], s["roughness"], density, viscosity))
        terms.append(((nodes[start], 1.0), (nodes[end], -1.0)))
        laid[identifier] = LaidLine(identifier, start, end, "none", False, branch, None, bore)


@lru_cache(maxsize=4096)
def _pipe_branch(row: int) -> Branch:
    return Branch("pipe", row)


def _lay_faulty_line(assembly: Assembly, line: Line, values: Resolved, locked: bool) -> None:
    net = assembly.builder
    s, fault, fluid = values.settings, values.fault, assembly.liquid
    laid = LaidLine(line.id, line.start, line.end, fault, bore=s["bore"])
    assembly.lines[line.id] = laid
    start, end = net.nodes[line.start], net.nodes[line.end]
    if fault == "blocked":
        return
    if locked and fault != "ruptured":
        laid.fault = "blocked"
        return
    if fault == "ruptured":
        for port, node in ((line.start, start), (line.end, end)):
            net.fix(node, 0.0, "air", line.id)
            assembly.open_ends.add(port)
        return
    laid.ideal = values.is_lossless
    hole = start
    if not laid.ideal:
        leaky = fault == "external_leak"
        middle = net.new_node() if leaky else end
        length = s["length"] / 2.0 if leaky else s["length"]
        size = s["bore"], length, s["roughness"], fluid.density, fluid.viscosity
        laid.branch = net.pipe(start, middle, *size)
        if leaky:
            laid.second = net.pipe(middle, end, *size)
            hole = middle
    if fault == "external_leak":
        passage = orifice_coefficient(s["leak_diameter"], LEAK_COEFFICIENT, assembly.liquid.density)
        net.turbulent(((hole, 1.0), (0, -1.0)), passage, reverse=0.0)
