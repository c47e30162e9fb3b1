"""What a supply hangs on: single points, smallest cuts, ways without anything in common.

A component or line that fails is taken out with all its ports: nothing gets through it,
and lines that met at it are parted.
"""

from __future__ import annotations

from collections.abc import Sequence

import networkx as nx

from analysis.circuit import Circuit
from analysis.passages import PILOTED, SOURCES
from analysis.port_graph import PortGraph, bits
from analysis.ways import Ways, is_dead

_START, _END = "start", "end"


def find_single_points(circuit: Circuit, sources: Sequence[str], target: str) -> list[str]:
    """The components and lines without any of which no source reaches the target.

    Exact: each element of one way (and, where a pilot opens it, every other) is taken out
    and the ways are searched anew. The target's own component is among them. In the order
    of that way, from the reservoir on; empty if there is no way to lose.

    Parameters
    ----------
    circuit
        As it stands.
    sources
        Ids of the sources that may supply.
    target
        A port, `ID.PORT`.

    Raises
    ------
    TooTangled
        If an exact search would take too long.
    """
    whole = Ways(circuit, sources)
    found = []
    for element in _candidates(whole, target):
        left = Ways(circuit, sources, lost=(element,))
        if not left.pressed & left.graph.bit(target) or element == target.rpartition(".")[0]:
            found.append(element)
    return found


def _candidates(ways: Ways, target: str) -> list[str]:
    """What can be a single point: the elements of one way; all there are if that way needs
    a pilot, whose own supply may come from anywhere."""
    way = next((w for s in ways.sources if (w := ways.way(s, target))), None)
    if way is None:
        return []
    found = dict.fromkeys(way.whole)
    components = ways.circuit.components
    if any(e in components and components[e].kind in PILOTED for e in found):
        found |= dict.fromkeys(element.id for element in ways.circuit.elements())
    return list(found)


def find_smallest_cut(circuit: Circuit, sources: Sequence[str], target: str) -> list[str]:
    """A smallest set of components and lines whose loss together parts sources and target.

    By maximum flow (Menger). The target's component counts as sound. A valve counts once
    for every pair of ports that it joins, and an element on both the suction and the
    pressure side twice, so that a set found is a cut, but in rare circuits a smaller one
    may exist. Empty if there is no way, or no set without the target.
    """
    graph = _flow_graph(circuit, sources, target)
    if graph is None:
        return []
    size, (near, _) = nx.minimum_cut(graph, _START, _END)
    if size == float("inf"):
        return []
    cut = {
        data["element"]
        for start, end, data in graph.edges(data=True)
        if start in near and end not in near and "element" in data
    }
    return [element.id for element in circuit.elements() if element.id in cut]


def find_disjoint_ways(circuit: Circuit, sources: Sequence[str], target: str) -> list[list[str]]:
    """Ways without a component or line in common but the target's own.

    Each as ids in order, from the reservoir (or the source) to the target. As many as there
    are, but for circuits in which ways pass one valve by different pairs of ports, or the
    suction line of one is the pressure line of another: there it may be fewer.
    """
    graph = _flow_graph(circuit, sources, target)
    if graph is None:
        return []
    size, flow = nx.maximum_flow(graph, _START, _END)
    if size == float("inf"):
        return []
    apart: list[list[str]] = []
    taken: set[str] = set()
    for _ in range(int(size)):
        way = _follow(graph, flow)
        passed = set(way) - {target.rpartition(".")[0]}
        if not passed & taken:
            taken |= passed
            apart.append(way)
    return apart


def _follow(graph: nx.DiGraph, flow: dict[object, dict[object, float]]) -> list[str]:
    """Take one unit of flow from start to end; the elements that it passed."""
    here: object = _START
    passed: list[str] = []
    while here != _END:
        there = next(node for node, amount in flow[here].items() if amount > 0.5)
        flow[here][there] -= 1
        element = graph.edges[here, there].get("element")
        if element and (not passed or passed[-1] != element):
            passed.append(element)
        here = there
    return passed


def _flow_graph(circuit: Circuit, sources: Sequence[str], target: str) -> nx.DiGraph | None:
    """Two floors, suction and pressure, joined by the pumps; every element passes one unit."""
    ways = Ways(circuit, sources)
    graph = ways.graph
    if not ways.pressed & graph.bit(target):
        return None
    flow = nx.DiGraph()
    own = target.rpartition(".")[0]
    for source in ways.sources:
        inlet, outlet = SOURCES[circuit.components[source].kind]
        if is_dead(circuit, source):
            continue
        start = ("suction", f"{source}.{inlet}", "out") if inlet else _START
        _join(flow, start, ("pressure", f"{source}.{outlet}", "in"), source)
    for port in bits(graph.feeding):
        owner = graph.names[port].rpartition(".")[0]
        _join(flow, _START, ("reservoir", owner), owner)
        flow.add_edge(("reservoir", owner), ("suction", graph.names[port], "out"))
    _lay_floor(flow, graph, "suction", own)
    _lay_floor(flow, graph, "pressure", own)
    flow.add_edge(("pressure", target, "out"), _END)
    return flow


def _join(flow: nx.DiGraph, start: object, end: object, element: str) -> None:
    """From start to end through the element, which passes one unit."""
    middle = ("through", start, end)
    flow.add_edge(start, middle, capacity=1, element=element)
    flow.add_edge(middle, end)


def _lay_floor(flow: nx.DiGraph, graph: PortGraph, floor: str, own: str) -> None:
    """All ports and passages once; a port of a part that is nothing but a joint is the part."""
    for name in graph.names:
        component = graph.circuit.components[name.rpartition(".")[0]]
        joint = len(component.declared.ports) == 1 and component.id != own
        mark = {"capacity": 1, "element": component.id} if joint else {}
        flow.add_edge((floor, name, "in"), (floor, name, "out"), **mark)
    for (start, end), elements in graph.edges.items():
        suction = floor == "suction"
        if graph.reservoir >> start & 1 and not (suction and graph.feeding >> start & 1):
            continue
        if suction and graph.reservoir >> end & 1:
            continue
        for element in elements:
            pair = (floor, element, *sorted((start, end)))
            one, other = (floor, graph.names[start], "out"), (floor, graph.names[end], "in")
            flow.add_edge(one, (pair, "in"))
            capacity = {} if element == own else {"capacity": 1, "element": element}
            flow.add_edge((pair, "in"), (pair, "out"), **capacity)
            flow.add_edge((pair, "out"), other)
