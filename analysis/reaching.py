"""Verdicts on `reaches`, `reaches_only` and `reaches_none`."""

from __future__ import annotations

from analysis.asked import Asked
from analysis.barriers import barriers_before, open_ends, stopped_by, why_unfed
from analysis.findings import Verdict
from analysis.passages import other_side
from analysis.port_graph import flood
from analysis.ways import Way, Ways, sources_of
from analysis.words import along, described, described_port, listed

_TOLD = 12
"""Stray ports that a sentence names at most."""


def reaches(asked: Asked) -> Verdict:
    """Each source gets to every target, and every target's other side can return."""
    return _reached(asked, asked.ways(asked.sources), "")


def reaches_only(asked: Asked) -> Verdict:
    """As `reaches`, and to no other actuator port."""
    ways = asked.ways(asked.sources)
    stray = _stray(asked, ways)
    return stray or _reached(asked, ways, ", and no other actuator is reached")


def _reached(asked: Asked, ways: Ways, more: str) -> Verdict:
    """Whether all targets are reached and can move; `more` is what else has been found."""
    for source in asked.sources:
        for target in asked.targets:
            if not ways.reaches(source, target):
                return _not_reached(asked, ways, source, target)
    returns: list[Way] = []
    for target in asked.targets:
        other = other_side(asked.circuit, target)
        if other:
            back = ways.return_way(other)
            if back is None:
                return _no_return(asked, ways, target, other)
            returns.append(back)
    found = [w for s in asked.sources for t in asked.targets if (w := ways.way(s, t))]
    back_words = "; what is on the other side can return to a reservoir" if returns else ""
    return Verdict(
        asked.name,
        True,
        f"Fluid under pressure from {_sources_named(asked)} reaches "
        f"{listed(described_port(asked.circuit, t) for t in asked.targets)}{back_words}{more}.",
        tuple(element for way in found for element in way.elements),
        tuple(way.whole for way in (*found, *returns)),
    )


def _not_reached(asked: Asked, ways: Ways, source: str, target: str) -> Verdict:
    circuit, graph = asked.circuit, ways.graph
    place = described_port(circuit, target)
    supply = ways.supplies[source]
    start = described(circuit.components[source])
    if not supply.reached:
        why, ids = why_unfed(graph, source)
        return Verdict(asked.name, False, f"{place} is not reached: {why}.", tuple(ids))
    barriers = barriers_before(graph, [target], supply.reached, asked.sources)
    why = stopped_by(circuit, barriers)
    if flood(graph.out, 1 << supply.outlet, graph.all) & graph.bit(target):
        why = f"the fluid that {start} draws would have to take the same way"
    return Verdict(asked.name, False, f"{start} does not reach {place}: {why}.", tuple(barriers))


def _no_return(asked: Asked, ways: Ways, target: str, other: str) -> Verdict:
    circuit = asked.circuit
    graph, outward = ways.return_reach(other)
    reservoirs = [c for c in circuit.components.values() if c.kind == "reservoir"]
    ends = [f"{c.id}.{port.name}" for c in reservoirs for port in c.declared.ports]
    # a return passes neither a pump nor the actuator that it comes from
    beside = [*sources_of(circuit), other.rpartition(".")[0]]
    barriers = barriers_before(graph, ends, outward, beside)
    open_at = [] if barriers else open_ends(graph, outward)
    why = stopped_by(circuit, barriers) if barriers else "no line leads on to a reservoir"
    if open_at:
        why = f"no line leads on from {listed(open_at, most=_TOLD)}"
    return Verdict(
        asked.name,
        False,
        f"Nothing can return from {described_port(circuit, other)}, so that pressure at {target} "
        f"cannot move it: {why}.",
        tuple(barriers or dict.fromkeys(port.rpartition(".")[0] for port in open_at)),
    )


def _stray(asked: Asked, ways: Ways) -> Verdict | None:
    """The verdict on other actuator ports that are reached; None if there are none."""
    strays: list[tuple[str, Way]] = []
    for port in ways.graph.plan.actuator_ports:
        if port in asked.targets or not ways.pressed & ways.graph.bit(port):
            continue
        # what has gone through the target's own motor has done its work
        own = other_side(asked.circuit, port) in asked.targets
        avoid = port.rpartition(".")[0] if own else ""
        found = (ways.way(source, port, avoid) for source in asked.sources)
        way = next((w for w in found if w is not None), None)
        if way is not None:
            strays.append((port, way))
    if not strays:
        return None
    first = strays[0][1]
    return Verdict(
        asked.name,
        False,
        f"Fluid under pressure also reaches "
        f"{listed((described_port(asked.circuit, p) for p, _ in strays), most=_TOLD)}, by "
        f"{along(first.elements)}.",
        first.elements,
        tuple(way.whole for _, way in strays),
    )


def reaches_none(asked: Asked) -> Verdict:
    """No source gets to any target."""
    ways = asked.ways(asked.sources)
    circuit = asked.circuit
    for source in asked.sources:
        for target in asked.targets:
            way = ways.way(source, target)
            if way is not None:
                return Verdict(
                    asked.name,
                    False,
                    f"{described(circuit.components[source])} reaches "
                    f"{described_port(circuit, target)}, by {along(way.elements)}.",
                    way.elements,
                    (way.whole,),
                )
    if ways.pressed:
        barriers = barriers_before(ways.graph, asked.targets, ways.pressed, asked.sources)
        why = stopped_by(circuit, barriers)
    else:
        unfed = [why_unfed(ways.graph, source) for source in asked.sources]
        why, barriers = listed(w for w, _ in unfed), [i for _, ids in unfed for i in ids]
    return Verdict(
        asked.name,
        True,
        f"Fluid under pressure from {_sources_named(asked, 'or')} reaches none of "
        f"{listed((described_port(circuit, t) for t in asked.targets), 'or')}: {why}.",
        tuple(dict.fromkeys(barriers)),
    )


def _sources_named(asked: Asked, joint: str = "and") -> str:
    return listed((described(asked.circuit.components[s]) for s in asked.sources), joint)
