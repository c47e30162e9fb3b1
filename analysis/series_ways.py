"""Failures that cut the same unbranched way: what comes of one comes of each of them.

Lines and parts in series, with nothing branching off and nothing that moves, feeds or drains
between them, pass one flow. Wherever such a way is cut, nothing gets through it. What differs
is on which side the rest of the way hangs as a dead end: a fluid volume of some cm3 that is
filled along with what lies behind it. A run that is rough about how fast pressures rise
(`analysis.pace.rough`) is no worse for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import networkx as nx

from analysis.circuit import Circuit
from analysis.failure_modes import Failure
from symbols import find_kind

_CUT_BY = {
    "restrictor": "blocked",
    "adjustable_restrictor": "blocked",
    "one_way_restrictor": "blocked",
    "flow_regulator": "blocked",
    "cooler": "blocked",
    "quick_coupling": "blocked",
    "flow_meter": "blocked",
    "hose": "blocked",
    "shutoff_valve": "blocked",
    "check_valve": "stuck_closed",
    "relief_valve": "stuck_closed",
}
"""Kinds of two ports that at most pass fluid from one to the other, and what cuts them."""
_PASSED = (*_CUT_BY, "filter")
"""Such kinds, with those that no failure cuts: a blocked filter leaves its bypass."""


def alike(circuit: Circuit, failures: Sequence[Failure]) -> list[tuple[Failure, ...]]:
    """The failures in groups: those that cut the same way together, each other one alone.

    A way on which a procedure or a drawn failure touches something is left alone. Groups stand
    in the order of their first failures.
    """
    groups: dict[object, list[Failure]] = {}
    way_of = {element: number for number, way in enumerate(_ways(circuit)) for element in way}
    for failure in failures:
        way = way_of.get(failure.subject) if _cuts(circuit, failure) else None
        groups.setdefault(failure if way is None else way, []).append(failure)
    return [tuple(group) for group in groups.values()]


def _cuts(circuit: Circuit, failure: Failure) -> bool:
    """Whether nothing gets through the element any more, either way."""
    if failure.subject in circuit.lines:
        return failure.mode == "blocked"
    return failure.mode == _CUT_BY.get(circuit.components[failure.subject].kind)


def _ways(circuit: Circuit) -> Iterator[set[str]]:
    """The ids of the elements of each unbranched way that nothing touches."""
    touched = set(_touched(circuit))
    for way in nx.connected_components(_in_series(circuit)):
        if not way & touched:
            yield way


def _in_series(circuit: Circuit) -> nx.Graph[str]:
    """Lines and parts as nodes; an edge where they pass on one flow and nothing branches off."""
    at_port: dict[str, list[str]] = {}
    for line in circuit.lines.values():
        for end in (line.start, line.end):
            at_port.setdefault(end, []).append(line.id)
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(circuit.lines)
    for component in circuit.components.values():
        lines = [
            at_port.get(f"{component.id}.{port.name}", [])
            for port in find_kind(component.kind).ports
        ]
        if component.kind == "junction" and len(lines[0]) == 2:
            nx.add_path(graph, lines[0])
        if component.kind in _PASSED:
            graph.add_edges_from((component.id, own[0]) for own in lines if len(own) == 1)
            graph.add_node(component.id)
    return graph


def _touched(circuit: Circuit) -> Iterator[str]:
    """The ids of all that procedures set or look at, and of what is drawn with a failure."""
    for procedure in circuit.procedures:
        yield from procedure.get("start") or ()
        for step in procedure.get("steps") or ():
            yield from step.get("set") or ()
            yield str((step.get("after") or {}).get("signal", "")).partition(".")[0]
        for expectation in procedure.get("expect") or ():
            yield str(expectation.get("signal", "")).partition(".")[0]
    for element in circuit.elements():
        if element.state.get("fault", "none") != "none":
            yield element.id
