"""What stands between a source and a target that it does not reach."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from itertools import chain

from analysis.circuit import Circuit, Component
from analysis.passages import FEEDING, SOURCES
from analysis.port_graph import PortGraph, flood
from analysis.resolved import position_of, resolve_element
from analysis.words import described, listed

Joints = Sequence[Sequence[tuple[int, str]]]


def barriers_before(
    graph: PortGraph, targets: Iterable[str], reached: int, beside: Collection[str] = ()
) -> list[str]:
    """What stops fluid that reaches the ports `reached` (bits) short of the targets.

    Parameters
    ----------
    beside
        Ids of parts that could not be the way in any case: where it begins, pumps for a return.

    Returns
    -------
    list of str
        Ids, those nearest to the first target first; empty if nothing at all leads there. A
        valve that only lets off is named where nothing else stands there.
    """
    wanted, plan = list(targets), graph.plan
    found = _before(graph, wanted, reached, beside, (plan.joined,))
    return found or _before(graph, wanted, reached, beside, (plan.joined, plan.let_off))


def _before(
    graph: PortGraph,
    targets: Iterable[str],
    reached: int,
    beside: Collection[str],
    joints: tuple[Joints, ...],
) -> list[str]:
    barriers: dict[str, None] = {}
    seen: set[int] = set()
    for target in targets:
        start = graph.index[target]
        if start in seen:
            continue  # what stops fluid short of it is found already
        seen.add(start)
        waiting = [start]
        for here in waiting:
            for there, element in chain.from_iterable(joined[here] for joined in joints):
                if element in beside:
                    continue
                if reached >> there & 1:
                    barriers[element] = None
                elif there not in seen and not graph.reservoir >> there & 1:
                    seen.add(there)
                    waiting.append(there)
    return list(barriers)


def before_inlet(graph: PortGraph, source: str) -> list[str]:
    """What stops the fluid of the reservoirs short of a source's inlet: ids, as above."""
    inlet = SOURCES[graph.circuit.components[source].kind][0]
    if not inlet:
        return []
    starts = 0
    for port in range(len(graph.names)):
        starts |= 1 << port if graph.into[port] & graph.feeding else 0
    fed = flood(graph.out, starts, graph.all) | graph.feeding
    return barriers_before(graph, [f"{source}.{inlet}"], fed, (source,))


def open_ends(graph: PortGraph, reached: int) -> list[str]:
    """The ports among those `reached` (bits) from which no line leads on, in order."""
    ends = {end for line in graph.circuit.lines.values() for end in (line.start, line.end)}
    return sorted(port for port in graph.ports(reached) if port not in ends)


def why_stopped(circuit: Circuit, element: str) -> str:
    """Why nothing passes there, in words: `1V1 stands at centre`."""
    found = circuit.element(element)
    fault = resolve_element(found).fault
    name = described(found)
    if fault in ("blocked", "ruptured", "stuck_closed", "no_output"):
        return (
            f"{name} is {fault.replace('_', ' ')}"
            if fault != "no_output"
            else (f"{name} gives no output")
        )
    if not isinstance(found, Component):
        return f"{name} leads no further"
    if "position" in found.declared.states:
        position = position_of(circuit, found)
        stands = "is stuck" if fault == "stuck" else "stands"
        return f"{name} {stands} at {found.labels.get(position, position)}"
    if fault == "stuck":
        return f"{name} is stuck"
    if found.kind in ("pilot_check_valve", "counterbalance_valve"):
        return f"the pilot of {name} is not under pressure"
    if found.kind in SOURCES:
        return f"{name} is not named as a source"
    if found.kind == "relief_valve":
        return f"{name} is a relief valve, which counts as no way"
    if found.kind == "hydraulic_fuse":
        return f"{name} has closed"
    if found.kind == "adjustable_restrictor":
        return f"{name} is shut"
    return f"{name} lets nothing through that way"


def why_unfed(graph: PortGraph, source: str) -> tuple[str, list[str]]:
    """Why a source supplies nothing at all: in words, and the ids of what keeps it from it."""
    component = graph.circuit.components[source]
    name, fault = described(component), resolve_element(component).fault
    if fault == "no_output":
        return f"{name} gives no output", [source]
    if fault == "blocked":
        return f"{name} is blocked", [source]
    barriers = before_inlet(graph, source)
    if barriers:
        return f"nothing feeds {name}: {stopped_by(graph.circuit, barriers)}", barriers
    return f"no {' or '.join(FEEDING)} port of a reservoir feeds {name}", [source]


def stopped_by(circuit: Circuit, barriers: list[str]) -> str:
    """Why fluid gets no further, in words, the first three reasons."""
    if not barriers:
        return "no line leads there"
    shown = [why_stopped(circuit, element) for element in barriers[:3]]
    more = f" (and {len(barriers) - 3} more)" if len(barriers) > 3 else ""
    return listed(shown) + more
