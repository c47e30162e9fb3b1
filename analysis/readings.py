"""Readings: the pressures and flows of a circuit as it stands."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import pi
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.assemble import Assembly, LaidLine, assemble
from analysis.blas import one_thread
from analysis.circuit import Circuit
from analysis.conflicts import find_disputed
from analysis.constants import ATMOSPHERE, NO_FLOW, UNLIMITED, WITHOUT_LIMIT
from analysis.findings import Finding
from analysis.hydraulic_findings import find_hydraulic
from analysis.line_flows import PortFlows, find_flows, find_runaways
from analysis.network import Network, bounds_flow
from analysis.newton import Disputed, Solution
from analysis.null_reasons import DISPUTED, NO_LIMIT, NO_LOSS, OPEN_FLOW, RUPTURED
from analysis.part_readings import Quantities, read_part
from analysis.quantities import Quantity, quantity
from analysis.steady import Instant, Round, solve_instant

_KEPT_ROUNDS = 12


class LineFlow(NamedTuple):
    """One line: flow [m3/s] from its start to its end, drop [Pa], velocity [m/s], Reynolds
    number; None where there is none. `spill` is what a ruptured line loses [m3/s]."""

    flow: float | None
    pressure_drop: float | None
    velocity: float | None
    reynolds: float | None
    spill: float | None = None


@dataclass(frozen=True)
class PortReading:
    """Pressure and inflow of a port as pint quantities; None where there is no value."""

    pressure: Quantity | None
    inflow: Quantity | None


@dataclass(frozen=True)
class Readings:
    """All readings of one instant, SI, gauge pressures.

    Attributes
    ----------
    converged, iterations, mass_imbalance, message
        How the solution went; `mass_imbalance` is the largest net flow at a node [m3/s].
    pressures, inflows
        By `ID.PORT` [Pa] and [m3/s]; inflow is positive into the component.
    lines
        `LineFlow` by line id.
    quantities
        By component id: extension, velocity, force, effort, lock, open, ... as they apply.
    undetermined
        Ports that nothing pins down, in the order of the file.
    reasons
        Why a value is None, by `ID.PORT` or line id.
    """

    converged: bool
    iterations: int
    mass_imbalance: float
    message: str
    pressures: dict[str, float | None]
    inflows: dict[str, float | None]
    lines: dict[str, LineFlow]
    quantities: dict[str, Quantities]
    undetermined: tuple[str, ...]
    reasons: dict[str, str]
    findings: tuple[Finding, ...]
    _nodes: dict[str, int] = field(default_factory=dict, repr=False)
    """The node of each port in the rounds."""
    _ends: tuple[Round, ...] = field(default=(), repr=False)
    """Where each round of the solution ended."""

    @property
    def _rounds(self) -> tuple[tuple[dict[str, float], dict[str, float]], ...]:
        """Where each round of the solution ended: pressures by port, openings by valve."""
        return tuple(
            ({port: float(end.pressure[node]) for port, node in self._nodes.items()}, end.openings)
            for end in self._ends
        )

    def port(self, port: str) -> PortReading:
        """The reading of `ID.PORT`; raises KeyError if there is no such port."""
        p, q = self.pressures[port], self.inflows[port]
        return PortReading(
            None if p is None else quantity(p, "pressure"),
            None if q is None else quantity(q, "flow"),
        )

    def line(self, identifier: str) -> LineFlow:
        """The flow in a line; raises KeyError if there is no such line."""
        return self.lines[identifier]

    def component(self, identifier: str) -> Quantities:
        """What is read at a component besides its ports; raises KeyError."""
        return self.quantities[identifier]

    def as_json(self) -> dict[str, Any]:
        """The machine form of the contract, SI, without values that are not finite."""
        components: dict[str, dict[str, Any]] = {}
        for key, pressure in self.pressures.items():
            identifier, _, port = key.rpartition(".")
            entry = components.setdefault(identifier, {"ports": {}})
            reading: dict[str, Any] = {"pressure": pressure, "inflow": self.inflows[key]}
            if key in self.reasons:
                reading["reason"] = self.reasons[key]
            entry["ports"][port] = reading
        for identifier, values in self.quantities.items():
            entry = components[identifier]
            entry.update(values)
            if None in values.values():
                ports = (f"{identifier}.{port}" for port in entry["ports"])
                reasons = (self.reasons[port] for port in ports if port in self.reasons)
                entry["reason"] = next(reasons, "its ports have no reading")
        lines: dict[str, dict[str, Any]] = {}
        for identifier, line in self.lines.items():
            lines[identifier] = {
                "flow": line.flow,
                "pressure_drop": line.pressure_drop,
                "velocity": line.velocity,
                "reynolds": line.reynolds,
            }
            if line.spill is not None:
                lines[identifier]["spill"] = line.spill
            if identifier in self.reasons:
                lines[identifier]["reason"] = self.reasons[identifier]
        return {
            "converged": self.converged,
            "iterations": self.iterations,
            "mass_imbalance": self.mass_imbalance,
            "message": self.message,
            "components": components,
            "lines": lines,
            "undetermined": list(self.undetermined),
        }


def readings(circuit: Circuit, *, start: Readings | None = None) -> Readings:
    """Pressures and flows of the circuit as it stands, its states held as given.

    Parameters
    ----------
    circuit
        Not changed. Ranges count with their middle, unknowns with the default; a finding
        says so.
    start
        Readings of a similar circuit, to start the search from.

    Returns
    -------
    Readings
        Never an invented number: what nothing pins down is None, listed and explained.

    Raises
    ------
    QuantityError
        If the liquid's temperature is outside -60 to 150 degC.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("pressure_source", id="0P1", pressure="1000 psi")
    >>> _ = circuit.add("plug", id="0Z1")
    >>> _ = circuit.connect("0P1.outlet", "0Z1.A")
    >>> round(readings(circuit).port("0Z1.A").pressure.m_as("psi"))
    1000
    """
    assembly = assemble(circuit)
    with one_thread():
        instant = solve_instant(assembly, _earlier_rounds(assembly, start))
        return _read(assembly, instant)


def _earlier_rounds(assembly: Assembly, earlier: Readings | None) -> list[Round]:
    """The rounds of earlier readings, port by port, on the nodes of this network."""
    if earlier is None:
        return []
    nodes, before = assembly.builder.nodes, earlier._nodes
    count = assembly.network.count
    if nodes is before and all(len(end.pressure) == count for end in earlier._ends):
        return list(earlier._ends)
    rounds = []
    for end in earlier._ends:
        start = np.zeros(count)
        for port, node in nodes.items():
            if port in before:
                start[node] = end.pressure[before[port]]
        rounds.append(Round(start, end.openings))
    return rounds


def _read(assembly: Assembly, instant: Instant) -> Readings:
    solution = instant.solution
    nodes = assembly.builder.nodes
    solved: list[float] = solution.pressure.tolist()
    if not instant.converged:
        return _unread(assembly, instant)
    solution.disputed = find_disputed(assembly, solution, lambda: assemble(assembly.circuit))
    untold = _nodes_without_reading(assembly, solution)
    bounded: list[float] = np.maximum(solution.pressure, -ATMOSPHERE).tolist()
    pressures: dict[str, float | None] = {
        port: None if node in untold else bounded[node] for port, node in nodes.items()
    }
    reasons = {port: untold[node] for port, node in nodes.items() if node in untold}
    unlimited = {
        part.id
        for part in assembly.parts.values()
        if "delivery" in part.branches and solved[part.ports["outlet"]] > WITHOUT_LIMIT
    }
    flows = find_flows(assembly, solution, unlimited)
    inflows = {port: tidy(flow) for port, flow in flows.inflow.items()}
    for pump in sorted(unlimited):
        reasons |= {f"{pump}.{port}": NO_LIMIT for port in assembly.parts[pump].ports}
    fast = find_runaways(assembly, solution)
    for part in fast:
        reasons |= {f"{part}.{port}": NO_LOSS for port in assembly.parts[part].ports}
    for port, flow in inflows.items():
        if flow is None:
            reasons.setdefault(port, OPEN_FLOW)
    lines = read_lines(assembly, flows, pressures, reasons)
    quantities = {
        part.id: read_part(part, assembly.network, solution, pressures, instant)
        for part in assembly.parts.values()
    }
    loose = {node for node in untold if solution.undetermined[node]}
    if solution.disputed is not None:
        loose |= set(np.flatnonzero(solution.disputed.nodes).tolist())
    undetermined = tuple([port for port, node in nodes.items() if node in loose]) if loose else ()
    result = Readings(
        True,
        instant.iterations,
        _imbalance(assembly, instant, fast),
        "",
        pressures,
        inflows,
        lines,
        quantities,
        undetermined,
        reasons,
        find_hydraulic(assembly, instant, pressures, unlimited, fast),
        nodes,
        tuple(instant.rounds[:_KEPT_ROUNDS]),
    )
    return result


def _nodes_without_reading(assembly: Assembly, solution: Solution) -> dict[int, str]:
    """The nodes whose pressure has no reading, and why."""
    found: dict[int, str] = {}
    for node in np.flatnonzero(solution.undetermined).tolist():
        found[node] = "nothing pins this pressure down"
    for node in np.flatnonzero(solution.pressure > WITHOUT_LIMIT).tolist():
        found[node] = NO_LIMIT
    if solution.disputed is not None:
        found |= dict.fromkeys(np.flatnonzero(solution.disputed.nodes).tolist(), DISPUTED)
    for node, (one, other) in assembly.builder.conflicts.items():
        found[node] = f"{one} and {other} hold it at different pressures without any loss between"
    return found


def _imbalance(assembly: Assembly, instant: Instant, fast: list[str]) -> float:
    """The largest net flow at a node whose pressure is determined [m3/s].

    Seepage and what fills vapour spaces are counted; a node that nothing limits is not, nor
    one of the parts `fast` whose flow nothing limits and is not read. At absolute zero vapour
    takes the place of whatever leaves.
    """
    network, solution = assembly.network, instant.solution
    nodes = network.free
    if solution.undetermined.any():
        nodes = nodes[~solution.undetermined[nodes]]
    pressure = solution.pressure[nodes]
    leaving = network.outflow(solution.q)[nodes] + bounds_flow(pressure)[0]
    leaving = np.where(pressure <= -ATMOSPHERE, np.minimum(leaving, 0.0), leaving)
    through = np.zeros(network.count, dtype=bool)
    through[network.node[np.abs(network.weight * solution.q[:, None]) > NO_FLOW]] = True
    # where nothing flows there is nothing to balance
    counts = through[nodes] & (pressure < 0.05 * UNLIMITED)
    if solution.disputed is not None:
        counts &= ~_touched(network, solution.disputed)[nodes]
    if fast:
        unread = [node for part in fast for node in assembly.parts[part].ports.values()]
        counts &= ~np.isin(nodes, unread)
    return float(np.abs(leaving[counts]).max(initial=0.0))


def _touched(network: Network, disputed: Disputed) -> NDArray[np.bool_]:
    """Flags of the nodes at which a disputed flow arrives or leaves, shape (n_nodes,)."""
    touched = disputed.nodes.copy()
    touched[network.node[disputed.branches]] = True
    return touched


def _unread(assembly: Assembly, instant: Instant) -> Readings:
    """No steady state: no numbers, and the reason at each."""
    nodes = assembly.builder.nodes
    empty: dict[str, float | None] = dict.fromkeys(nodes)
    reasons = dict.fromkeys([*nodes, *assembly.lines], instant.message)
    return Readings(
        False,
        instant.iterations,
        float(instant.solution.imbalance),
        instant.message,
        empty,
        dict(empty),
        {line: LineFlow(None, None, None, None) for line in assembly.lines},
        {
            part.id: read_part(part, assembly.network, instant.solution, empty, instant)
            for part in assembly.parts.values()
        },
        tuple(nodes),
        reasons,
        find_hydraulic(assembly, instant, empty, set()),
    )


def tidy(flow: float | None) -> float | None:
    """The flow, or none where it is too small to be one."""
    if flow is None:
        return None
    return 0.0 if abs(flow) < NO_FLOW else flow


def read_lines(
    assembly: Assembly,
    flows: PortFlows,
    pressures: dict[str, float | None],
    reasons: dict[str, str],
) -> dict[str, LineFlow]:
    """The reading of every line; why one has none goes into `reasons`."""
    viscosity = assembly.liquid.viscosity
    found: dict[str, LineFlow] = {}
    for identifier, laid in assembly.lines.items():
        flow = tidy(flows.line[identifier])
        start, end, bore = pressures[laid.start], pressures[laid.end], laid.bore
        drop = None if start is None or end is None else start - end
        if laid.ideal:
            drop = 0.0
        spill = None
        if laid.fault == "ruptured":
            spill = _spill(assembly, flows, laid.start, laid.end)
        if flow is None or drop is None or laid.fault == "ruptured":
            reasons[identifier] = _why_incomplete(laid, flow, reasons)
        velocity = reynolds = None
        if bore is not None and flow is not None:
            velocity = flow / (pi / 4.0 * bore**2)
            reynolds = abs(velocity) * bore / viscosity
        found[identifier] = LineFlow(flow, drop, velocity, reynolds, spill)
    return found


def _why_incomplete(laid: LaidLine, flow: float | None, reasons: dict[str, str]) -> str:
    """Why a line has no flow or, if it has one, no pressure drop."""
    if laid.fault == "ruptured":
        return RUPTURED
    if flow is None:
        return _without_limit(laid, reasons) or OPEN_FLOW
    return reasons.get(laid.start) or reasons.get(laid.end, "")


def _without_limit(laid: LaidLine, reasons: dict[str, str]) -> str:
    """Why nothing limits what flows in a line, if that is so at one of its ends."""
    ends = (reasons.get(laid.start), reasons.get(laid.end))
    return next((reason for reason in (NO_LIMIT, NO_LOSS) if reason in ends), "")


def _spill(assembly: Assembly, flows: PortFlows, *ends: str) -> float | None:
    """What leaves the circuit at the open ends of a ruptured line [m3/s].

    At an end that other lines without loss join, their part is counted there too.
    """
    total = 0.0
    for port in ends:
        own = flows.inflow[port]
        if own is None:
            return None
        total -= own
        for laid in assembly.lines.values():
            through = flows.line[laid.id]
            if port not in (laid.start, laid.end) or laid.fault == "ruptured":
                continue
            if through is None:
                return None
            total += through if laid.end == port else -through
    return max(total, 0.0)
