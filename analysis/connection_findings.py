"""Findings on what is not connected: open ports, sources cut off, actuators cut off.

That the levers as they stand do not feed an actuator is normal (neutral). These findings
look at all settings of the levers: what no setting reaches is an error.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from analysis.circuit import Circuit, Component
from analysis.findings import Finding
from analysis.lever_sets import NONE
from analysis.passages import ACTUATORS, SOURCES, actuator_ports
from analysis.reach import Reach
from analysis.ways import is_dead
from analysis.words import described, listed

_LEADS_NOWHERE = ("pressure_gauge", "pressure_switch", "test_point", "plug", "junction")


def find_connection_findings(circuit: Circuit, reach: Reach) -> list[Finding]:
    """What is not connected; `reach` is that of all sources, `find_reach(circuit)`."""
    ends = Counter(end for line in circuit.lines.values() for end in (line.start, line.end))
    return [
        *_unconnected(circuit, ends),
        *_sources(circuit, reach),
        *_actuators(circuit, reach, ends),
    ]


def _unconnected(circuit: Circuit, ends: Counter[str]) -> Iterator[Finding]:
    for component in circuit.components.values():
        ports = [f"{component.id}.{p.name}" for p in component.declared.ports]
        spare = component.kind == "reservoir" and any(ends[port] for port in ports)
        for port in ports:
            if ends[port]:
                continue
            if spare:
                yield Finding(
                    "unconnected_port", "note", (component.id,),
                    f"{port} is a spare port of the reservoir {described(component)}.",
                    "Nothing, if it is plugged on the machine; else connect it.",
                )  # fmt: skip
            else:
                yield Finding(
                    "unconnected_port", "warning", (component.id,),
                    f"{port} of {described(component)} is not connected; it counts as closed.",
                    "Connect it, or put a plug on it.",
                )  # fmt: skip


def _sources(circuit: Circuit, reach: Reach) -> Iterator[Finding]:
    users = set(actuator_ports(circuit))
    users |= {f"{c.id}.fluid" for c in circuit.components.values() if c.kind == "accumulator"}
    for source, reached in reach.reached.items():
        component = circuit.components[source]
        if is_dead(circuit, source):
            continue
        inlet, outlet = SOURCES[component.kind]
        if inlet and f"{source}.{outlet}" not in reached:
            yield Finding(
                "unfed_source", "error", (source,),
                f"{described(component)} can draw no fluid: no supply or standpipe port of a "
                f"reservoir leads to {source}.{inlet}.",
                f"Connect {source}.{inlet} to a reservoir's supply or standpipe port.",
            )  # fmt: skip
        elif not _is_of_use(circuit, source, set(reached), users):
            yield Finding(
                "idle_source", "warning", (source,),
                f"{described(component)} feeds nothing: no setting of the levers leads from "
                f"{source}.{outlet} to an actuator or an accumulator.",
                "Connect it to what it should feed; look for a check valve the wrong way round.",
            )  # fmt: skip


def _is_of_use(circuit: Circuit, source: str, reached: set[str], users: set[str]) -> bool:
    others = {port for port in reached if port.rpartition(".")[0] != source}
    if users - {f"{source}.fluid"}:
        return bool(others & users)
    kinds = {circuit.components[port.rpartition(".")[0]].kind for port in others}
    return bool(kinds - set(_LEADS_NOWHERE))


def _actuators(circuit: Circuit, reach: Reach, ends: Counter[str]) -> Iterator[Finding]:
    for component in circuit.components.values():
        if component.kind not in ACTUATORS:
            continue
        ports = [f"{component.id}.{name}" for name in ACTUATORS[component.kind]]
        if all(reach.by_any(port) == NONE for port in ports):
            yield _unreachable(circuit, component)
        elif len(ports) == 1:
            if reach.returns[ports[0]] == NONE:
                yield _stays_out(component, ports[0], "error")
        else:
            yield from _moves(component, ports, reach, ends)


def _unreachable(circuit: Circuit, component: Component) -> Finding:
    why = (
        "no setting of the levers leads fluid under pressure to it"
        if any(c.kind in SOURCES for c in circuit.components.values())
        else "the circuit has no pump, pressure source or accumulator"
    )
    return Finding(
        "unreachable_actuator", "error", (component.id,),
        f"{described(component)} can never be moved: {why}.",
        "Connect it to a source; look for a blocked line or a check valve the wrong way round.",
    )  # fmt: skip


def _stays_out(component: Component, port: str, severity: str) -> Finding:
    return Finding(
        "no_return", "error" if severity == "error" else "warning", (component.id,),
        f"{described(component)} cannot come back: fluid can be pressed into {port}, but no "
        "setting of the levers lets it return to a reservoir.",
        f"Give {port} a way back to a reservoir.",
    )  # fmt: skip


def _moves(
    component: Component, ports: list[str], reach: Reach, ends: Counter[str]
) -> Iterator[Finding]:
    """The two ways in which a double-acting actuator can be moved."""
    one, other = ports
    possible = {
        pressed: reach.sets.intersection(reach.by_any(pressed), reach.returns[opposite]) != NONE
        for pressed, opposite in ((one, other), (other, one))
    }
    if not any(possible.values()):
        pressable = [p for p in ports if reach.by_any(p) != NONE]
        shut = [other if p == one else one for p in pressable]
        # a port that nobody has connected yet is a drawing under way
        begun = any(ends[port] for port in shut)
        yield Finding(
            "no_return", "error" if begun else "warning", (component.id,),
            f"{described(component)} cannot move: fluid can be pressed into "
            f"{listed(pressable, 'or')}, but at the same time none can return to a reservoir from "
            f"{listed(shut, 'or')}.",
            f"Give {listed(shut, 'and')} a way back to a reservoir.",
        )  # fmt: skip
        return
    for pressed, opposite in ((one, other), (other, one)):
        if possible[pressed] or component.kind == "hydraulic_motor":
            continue
        if reach.by_any(pressed) != NONE or reach.returns[opposite] == NONE:
            yield _stays_out(component, opposite, "warning")
        else:
            yield Finding(
                "moved_by_load", "note", (component.id,),
                f"{described(component)} is never pressed at {pressed}: that way only its load "
                "moves it.",
                "Nothing, if the load does move it; else feed that port too.",
            )  # fmt: skip
