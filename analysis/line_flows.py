"""The flow in lines without loss, from the balance of flows at their ends.

Ports that ideal lines join share one node, so the network knows their total only. In a
tree of lines each flow follows from the flows beyond it; round a loop of lossless lines
it is undetermined, and stays so.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analysis.assemble import Assembly
from analysis.constants import NO_FLOW, RUNAWAY, STIFF, WITHOUT_LIMIT
from analysis.network import Array, Branch, Network
from analysis.newton import Solution


@dataclass
class PortFlows:
    """Flows that the balance gives: `inflow` into each port's component, `line` flow from
    start to end; None where no balance determines it [m3/s]."""

    inflow: dict[str, float | None]
    line: dict[str, float | None]


class _Edge(NamedTuple):
    id: str
    start: str
    end: str


def runs_away(network: Network, solution: Solution, branch: Branch) -> bool:
    """Whether what stands for "no loss" is all that limits a branch's flow.

    A weight on a cylinder that is open to the reservoir without any loss, or a source joined
    to a return by a motor without load: their flow is as great as one likes.
    """
    if branch.family != "deadband":
        return False
    row = network.row(branch)
    weight = network.weight[row]
    slope = float(network.parameters["deadband"][0, branch.row])
    if abs(float(solution.q[row])) * float(np.abs(weight).max()) <= RUNAWAY:
        return False
    return slope * float(weight @ weight) >= 0.5 * STIFF


def find_runaways(assembly: Assembly, solution: Solution) -> list[str]:
    """The parts whose flow nothing limits, in the order of the file."""
    network = assembly.network
    if not _is_any_fast(network, solution.q):
        return []
    return [
        part.id
        for part in assembly.parts.values()
        if any(runs_away(network, solution, branch) for _, branch, _ in part.taps)
    ]


def has_no_limit(network: Network, solution: Solution, branch: Branch) -> bool:
    """Whether a branch's flow is none to read: it belongs to a region that nothing limits.

    A dead-headed pump leaves no balance there, and the solution lets its flow vanish
    wherever it comes to. What is shut passes nothing all the same.
    """
    if runs_away(network, solution, branch):
        return True
    row = network.row(branch)
    driven = solution.pressure[network.node[row]] > WITHOUT_LIMIT
    counts = network.weight[row] != 0.0
    return bool(np.any(driven & counts)) and abs(float(solution.q[row])) > NO_FLOW


def find_flows(assembly: Assembly, solution: Solution, unlimited: set[str]) -> PortFlows:
    """Inflow of every port and flow of every line.

    Parameters
    ----------
    unlimited
        Pumps whose outlet pressure nothing limits: their flow counts as unknown.
    """
    network = assembly.network
    start: dict[str, int] = network.start
    q: list[float] = solution.q.tolist()
    unknown = bool(unlimited) or (
        not assembly.builder.dynamic and _is_any_fast(network, solution.q)
    )
    inflow: dict[str, float | None] = dict.fromkeys(assembly.builder.nodes, 0.0)
    for part in assembly.parts.values():
        for port, branch, coefficient in part.taps:
            key = f"{part.id}.{port}"
            known = inflow[key]
            if known is None or (unknown and has_no_limit(network, solution, branch)):
                inflow[key] = None
            else:
                inflow[key] = known + coefficient * q[start[branch.family] + branch.row]
        if part.id in unlimited:
            inflow.update({f"{part.id}.{port}": None for port in part.ports})
    leaving = dict.fromkeys(inflow, 0.0)
    line: dict[str, float | None] = {}
    edges: list[_Edge] = []
    for laid in assembly.lines.values():
        if laid.branch is not None and unknown and has_no_limit(network, solution, laid.branch):
            edges.append(_Edge(laid.id, laid.start, laid.end))
            line[laid.id] = None
        elif laid.branch is not None:
            first = q[start["pipe"] + laid.branch.row]
            last = first if laid.second is None else q[start["pipe"] + laid.second.row]
            line[laid.id] = first
            leaving[laid.start] += first
            leaving[laid.end] -= last
        elif laid.ideal:
            edges.append(_Edge(laid.id, laid.start, laid.end))
            line[laid.id] = None
        else:
            line[laid.id] = 0.0 if laid.fault == "blocked" else None
    _add_hole_flows(assembly, solution, leaving)
    for part in assembly.parts.values():
        if part.kind == "flow_meter" and part.fault != "blocked":
            edges.append(_Edge(part.id, f"{part.id}.A", f"{part.id}.B"))
            line[part.id] = None
    _mark_held(assembly, inflow)
    _strip_leaves(edges, inflow, leaving, line, assembly.open_ends)
    for part in assembly.parts.values():
        if part.kind == "flow_meter" and part.fault != "blocked":
            through = line.pop(part.id)
            inflow[f"{part.id}.A"] = through
            inflow[f"{part.id}.B"] = None if through is None else -through
    return PortFlows(inflow, line)


def _is_any_fast(network: Network, q: Array) -> bool:
    part = network.slices["deadband"]
    most = np.abs(network.weight[part]).max(axis=1, initial=0.0)
    return bool((np.abs(q[part]) * most > RUNAWAY).any())


def _add_hole_flows(assembly: Assembly, solution: Solution, leaving: dict[str, float]) -> None:
    """What leaves through the hole of an ideal line, which is at its start."""
    network = assembly.network
    holes = {
        assembly.node(laid.start): laid.start
        for laid in assembly.lines.values()
        if laid.ideal and laid.fault == "external_leak"
    }
    if not holes:
        return
    owned = {network.row(b) for part in assembly.parts.values() for _, b, _ in part.taps}
    part = network.slices["turbulent"]
    for row in range(part.start, part.stop):
        node = int(network.node[row, 0])
        if row not in owned and node in holes and network.node[row, 1] == 0:
            leaving[holes[node]] += float(solution.q[row])


def _mark_held(assembly: Assembly, inflow: dict[str, float | None]) -> None:
    """Ports that hold a pressure take or give whatever the balance asks for: unknown yet."""
    for node, held in assembly.builder.fixed.items():
        part = assembly.parts.get(held.owner)
        if part is None:
            continue
        for port, number in part.ports.items():
            if number == node and _holds(part.kind):
                inflow[f"{part.id}.{port}"] = None
    # every reservoir port holds its pressure, also where another holder won the node
    for part in assembly.parts.values():
        if part.kind == "reservoir":
            inflow.update({f"{part.id}.{port}": None for port in part.ports})


def _holds(kind: str) -> bool:
    return kind in ("reservoir", "pressure_source", "accumulator", "hose")


def _strip_leaves(
    edges: list[_Edge],
    inflow: dict[str, float | None],
    leaving: dict[str, float],
    line: dict[str, float | None],
    open_ends: set[str],
) -> None:
    """Resolve each port that has just one unknown flow left, until none has."""
    around: dict[str, list[_Edge]] = defaultdict(list)
    for edge in edges:
        for port in {edge.start, edge.end}:
            around[port].append(edge)
    # at a line that is open to the atmosphere an unknown flow is spilt
    waiting = [port for port in inflow if port not in open_ends]
    while waiting:
        port = waiting.pop()
        if port in open_ends:
            continue
        near = around.get(port)
        if near is None:
            if inflow[port] is None:
                inflow[port] = -leaving[port]
            continue
        unknown = [e for e in near if line[e.id] is None]
        known = leaving[port]
        for edge in near:
            flow = line[edge.id]
            if flow is not None:
                known += flow if edge.start == port else -flow
        own = inflow[port]
        if own is None and not unknown:
            inflow[port] = -known
        elif own is not None and len(unknown) == 1:
            edge = unknown[0]
            needed = known + own
            line[edge.id] = -needed if edge.start == port else needed
            waiting.append(edge.end if edge.start == port else edge.start)
