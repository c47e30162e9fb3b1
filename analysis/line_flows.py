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
from analysis.laid_lines import LaidLine
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
    widest = max(map(abs, weight.tolist()))
    if abs(float(solution.q[row])) * widest <= RUNAWAY:
        return False
    slope = float(network.parameters["deadband"][0, branch.row])
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
    """Whether a branch's flow is none to read: it belongs to a region that nothing limits, or
    that hangs on a disputed pressure.

    A dead-headed pump leaves no balance there, and the solution lets its flow vanish
    wherever it comes to. What is shut passes nothing all the same.
    """
    if runs_away(network, solution, branch):
        return True
    row = network.row(branch)
    if solution.disputed is not None and solution.disputed.branches[row]:
        return True
    if not abs(float(solution.q[row])) > NO_FLOW:
        return False
    ends = zip(network.node[row].tolist(), network.weight[row].tolist(), strict=True)
    return any(w != 0.0 and solution.pressure[node] > WITHOUT_LIMIT for node, w in ends)


def find_flows(assembly: Assembly, solution: Solution, unlimited: set[str]) -> PortFlows:
    """Inflow of every port and flow of every line.

    Parameters
    ----------
    unlimited
        Pumps whose outlet pressure nothing limits: their flow counts as unknown.
    """
    network = assembly.network
    unknown = bool(unlimited) or solution.disputed is not None
    unknown |= not assembly.builder.dynamic and _is_any_fast(network, solution.q)
    inflow = _find_inflows(assembly, solution, unlimited, unknown)
    leaving = dict.fromkeys(inflow, 0.0)
    line, edges = _find_pipe_flows(assembly, solution, leaving, unknown)
    meters = [
        part
        for part in assembly.parts.values()
        if part.kind == "flow_meter" and part.fault != "blocked"
    ]
    for part in meters:
        edges.append(_Edge(part.id, f"{part.id}.A", f"{part.id}.B"))
        line[part.id] = None
    _mark_held(assembly, inflow)
    _strip_leaves(edges, inflow, leaving, line, assembly.open_ends)
    for part in meters:
        through = line.pop(part.id)
        inflow[f"{part.id}.A"] = through
        inflow[f"{part.id}.B"] = None if through is None else -through
    return PortFlows(inflow, line)


def _find_inflows(
    assembly: Assembly, solution: Solution, unlimited: set[str], unknown: bool
) -> dict[str, float | None]:
    """What the branches of each part draw from its ports; `unknown`: not all are to be read."""
    network = assembly.network
    start: dict[str, int] = network.start
    q: list[float] = solution.q.tolist()
    inflow: dict[str, float | None] = dict.fromkeys(assembly.builder.nodes, 0.0)
    for identifier, part in assembly.parts.items():
        for port, branch, coefficient in part.taps:
            key = f"{identifier}.{port}"
            known = inflow[key]
            if known is None or (unknown and has_no_limit(network, solution, branch)):
                inflow[key] = None
            else:
                family, row = branch
                inflow[key] = known + coefficient * q[start[family] + row]
        if identifier in unlimited:
            inflow.update({f"{identifier}.{port}": None for port in part.ports})
    return inflow


def _find_pipe_flows(
    assembly: Assembly, solution: Solution, leaving: dict[str, float], unknown: bool
) -> tuple[dict[str, float | None], list[_Edge]]:
    """The flows of lines that have branches, added to what is `leaving` their ends; and the
    other lines, whose flows are open yet."""
    network = assembly.network
    q: list[float] = solution.q[network.slices["pipe"]].tolist()
    line: dict[str, float | None] = {}
    edges: list[_Edge] = []
    leaking: list[LaidLine] = []
    for identifier, laid in assembly.lines.items():
        branch, second = laid.branch, laid.second
        if branch is None or (unknown and has_no_limit(network, solution, branch)):
            line[identifier] = 0.0 if laid.fault == "blocked" else None
            if branch is not None or laid.ideal:
                edges.append(_Edge(identifier, laid.start, laid.end))
            if laid.ideal and laid.fault == "external_leak":
                leaking.append(laid)
            continue
        line[identifier] = first = q[branch.row]
        leaving[laid.start] += first
        leaving[laid.end] -= first if second is None else q[second.row]
    if leaking:
        _add_hole_flows(assembly, solution, leaking, leaving)
    return line, edges


def _is_any_fast(network: Network, q: Array) -> bool:
    part = network.slices["deadband"]
    most = np.abs(network.weight[part]).max(axis=1, initial=0.0)
    return bool((np.abs(q[part]) * most > RUNAWAY).any())


def _add_hole_flows(
    assembly: Assembly, solution: Solution, leaking: list[LaidLine], leaving: dict[str, float]
) -> None:
    """What leaves through the holes of ideal lines, which are at their starts."""
    network = assembly.network
    holes = {assembly.node(laid.start): laid.start for laid in leaking}
    owned = {network.row(b) for part in assembly.parts.values() for _, b, _ in part.taps}
    part = network.slices["turbulent"]
    for row in range(part.start, part.stop):
        node = int(network.node[row, 0])
        if row not in owned and node in holes and network.node[row, 1] == 0:
            leaving[holes[node]] += float(solution.q[row])


_HOLDERS = ("reservoir", "pressure_source", "accumulator", "hose")


def _mark_held(assembly: Assembly, inflow: dict[str, float | None]) -> None:
    """Ports that hold a pressure take or give whatever the balance asks for: unknown yet."""
    # of several that hold a node at one pressure, nothing says which of them gives how much
    for node, owner in assembly.builder.holders:
        part = assembly.parts.get(owner)
        if part is None or part.kind not in _HOLDERS:
            continue
        for port, number in part.ports.items():
            if number == node:
                inflow[f"{part.id}.{port}"] = None
    # every reservoir port holds its pressure, also where another holder won the node
    for part in assembly.parts.values():
        if part.kind == "reservoir":
            inflow.update({f"{part.id}.{port}": None for port in part.ports})


def _strip_leaves(
    edges: list[_Edge],
    inflow: dict[str, float | None],
    leaving: dict[str, float],
    line: dict[str, float | None],
    open_ends: frozenset[str],
) -> None:
    """Resolve each port that has just one unknown flow left, until none has."""
    around: dict[str, list[_Edge]] = defaultdict(list)
    for edge in edges:
        for port in {edge.start, edge.end}:
            around[port].append(edge)
    waiting: list[str] = []
    for port, flow in inflow.items():
        # at a line that is open to the atmosphere an unknown flow is spilt
        if port in open_ends:
            continue
        if port in around:
            waiting.append(port)
        elif flow is None:
            inflow[port] = -leaving[port]
    while waiting:
        port = waiting.pop()
        if port in open_ends:
            continue
        near = around[port]
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
