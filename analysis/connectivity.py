"""Where can fluid go: the circuit as one directed networkx graph of ports.

Nodes are ports, `ID.PORT`; every passage of a line or component is an edge from port to
port, keyed by the element's id, parallel ones kept apart. What a way is, and the exact
searches for ways, stand in `analysis.ways`; this graph is for everything that a general
graph algorithm answers. The findings on what is not connected stand in
`analysis.connection_findings`.
"""

from __future__ import annotations

from collections.abc import Collection

import networkx as nx

from analysis.circuit import Circuit
from analysis.passages import SOURCES, find_passages


def port_graph(circuit: Circuit, sources: Collection[str] | None = None) -> nx.MultiDiGraph:
    """The circuit's ports and what carries fluid from one to another.

    Parameters
    ----------
    circuit
        With its levers and faults as they stand.
    sources
        Ids of the sources that work; pumps that are not among them carry nothing. None:
        all of them.

    Returns
    -------
    networkx.MultiDiGraph
        Nodes `ID.PORT` with `component` and `kind`; edges keyed by element id, with
        `pilot` where a pilot port must be under pressure first and `unless` where a
        shuttle carries back only in a return.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("check_valve", id="0V1"), circuit.add("cylinder", id="1A1")
    >>> _ = circuit.connect("0V1.outlet", "1A1.cap")
    >>> sorted(nx.descendants(port_graph(circuit), "0V1.inlet"))
    ['0V1.outlet', '1A1.cap']
    """
    graph = nx.MultiDiGraph()
    for component in circuit.components.values():
        for port in component.declared.ports:
            graph.add_node(
                f"{component.id}.{port.name}", component=component.id, kind=component.kind
            )
    for passage in find_passages(circuit):
        component_or_line = circuit.element(passage.element)
        idle = sources is not None and passage.element not in sources
        if idle and component_or_line.kind in SOURCES:
            continue
        graph.add_edge(
            passage.start,
            passage.end,
            key=passage.element,
            pilot=passage.pilot,
            unless=passage.unless,
        )
    return graph
