"""What stands between a source and a target that it does not reach."""

from __future__ import annotations

from collections.abc import Iterable

from analysis.circuit import Circuit, Component
from analysis.passages import FEEDING, SOURCES
from analysis.port_graph import PortGraph
from analysis.resolved import position_of, resolve_element
from analysis.words import described, listed


def barriers_before(graph: PortGraph, targets: Iterable[str], reached: int) -> list[str]:
    """What stops fluid that reaches the ports `reached` (bits) short of the targets.

    Ids, those nearest to the first target first; empty if nothing at all leads there.
    """
    joined = graph.plan.joined
    barriers: dict[str, None] = {}
    seen: set[int] = set()
    for target in targets:
        start = graph.index[target]
        if start in seen:
            continue  # what stops fluid short of it is found already
        seen.add(start)
        waiting = [start]
        for here in waiting:
            for there, element in joined[here]:
                if reached >> there & 1:
                    barriers[element] = None
                elif there not in seen and not graph.reservoir >> there & 1:
                    seen.add(there)
                    waiting.append(there)
    return list(barriers)


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
        return f"{name} stands at {found.labels.get(position, position)}"
    if found.kind in ("pilot_check_valve", "counterbalance_valve"):
        return f"the pilot of {name} is not under pressure"
    if found.kind in SOURCES:
        return f"{name} is not named as a source"
    if found.kind == "hydraulic_fuse":
        return f"{name} has closed"
    if found.kind == "adjustable_restrictor":
        return f"{name} is shut"
    return f"{name} lets nothing through that way"


def why_unfed(circuit: Circuit, source: str) -> str:
    """Why a source supplies nothing at all, in words."""
    component = circuit.components[source]
    fault = resolve_element(component).fault
    if fault == "no_output":
        return f"{described(component)} gives no output"
    if fault == "blocked":
        return f"{described(component)} is blocked"
    return f"no {' or '.join(FEEDING)} port of a reservoir feeds {described(component)}"


def stopped_by(circuit: Circuit, barriers: list[str]) -> str:
    """Why fluid gets no further, in words, the first three reasons."""
    if not barriers:
        return "no line leads there"
    shown = [why_stopped(circuit, element) for element in barriers[:3]]
    more = f" (and {len(barriers) - 3} more)" if len(barriers) > 3 else ""
    return listed(shown) + more
