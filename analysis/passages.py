"""What every element carries from port to port, as the contract's section 4 defines a way.

Whether fluid can get somewhere is asked of these passages alone: pressures, levels and
`running` are not looked at. Lines and most parts carry both ways; a check valve, a
filter, a pump one way; a directional valve what its position opens; relief valves,
reservoirs and cylinders nothing across.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from analysis.circuit import Circuit, Component, Line
from analysis.laws.directional import open_paths
from analysis.resolved import Resolved, position_of, resolve_element

ACTUATORS = {
    "cylinder": ("cap", "rod"),
    "cylinder_single_acting": ("cap",),
    "cylinder_double_rod": ("left", "right"),
    "hydraulic_motor": ("A", "B"),
    "semi_rotary_actuator": ("A", "B"),
}
"""Kind -> its actuator ports; the other one of two is a port's other side."""

SOURCES = {
    "fixed_pump": ("inlet", "outlet"),
    "compensated_pump": ("inlet", "outlet"),
    "hand_pump": ("inlet", "outlet"),
    "pressure_source": ("", "outlet"),
    "accumulator": ("", "fluid"),
}
"""Kind -> (port that a reservoir must feed, or none; port that supplies)."""

FEEDING = ("supply", "standpipe")
"""Reservoir ports from which a way may start."""

PILOTED = ("pilot_check_valve", "counterbalance_valve")
"""Kinds that a pilot opens against their free direction."""

_ONE_WAY = {
    "filter": ("inlet", "outlet"),
    "check_valve": ("inlet", "outlet"),
    "pilot_check_valve": ("inlet", "outlet"),
    "counterbalance_valve": ("outlet", "inlet"),
    "sequence_valve": ("inlet", "outlet"),
    "reducing_valve": ("inlet", "outlet"),
    "priority_valve": ("inlet", "outlet"),
    "unloading_valve": ("inlet", "outlet"),
    "fixed_pump": ("inlet", "outlet"),
    "compensated_pump": ("inlet", "outlet"),
    "hand_pump": ("inlet", "outlet"),
}
_BOTH_WAYS = {
    "restrictor": (("A", "B"),),
    "adjustable_restrictor": (("A", "B"),),
    "one_way_restrictor": (("free", "restricted"),),
    "flow_regulator": (("inlet", "outlet"),),
    "flow_divider": (("inlet", "outlet_1"), ("inlet", "outlet_2")),
    "hydraulic_fuse": (("inlet", "outlet"),),
    "hydraulic_motor": (("A", "B"),),
    "cooler": (("A", "B"),),
    "hose": (("A", "B"),),
    "quick_coupling": (("A", "B"),),
    "flow_meter": (("A", "B"),),
}
_SHUT = ("blocked", "ruptured", "stuck_closed", "no_output")


class Passage(NamedTuple):
    """Fluid can pass `element` from port `start` to port `end`.

    With `pilot`, only where that port is under pressure; with `unless`, only in a return
    and only where that port is not under pressure; with `position`, only while the
    element's lever stands there.
    """

    element: str
    start: str
    end: str
    pilot: str = ""
    unless: str = ""
    position: str = ""


def find_passages(circuit: Circuit, every_position: bool = False) -> list[Passage]:
    """All passages of the circuit, in the order of the file.

    Parameters
    ----------
    circuit
        As it stands: levers, rollers and faults are looked at.
    every_position
        Take the levers of all directional and shutoff valves as free, and mark each of
        their passages with the position that opens it.
    """
    found: list[Passage] = []
    for component in circuit.components.values():
        found += _through(circuit, component, every_position)
    for line in circuit.lines.values():
        found += _along(line)
    return found


def passages_of(circuit: Circuit, element: str) -> list[Passage]:
    """The passages of one component or line, as it stands; raises UnknownElement."""
    found = circuit.element(element)
    return list(_along(found) if isinstance(found, Line) else _through(circuit, found, False))


def rollers(circuit: Circuit) -> list[str]:
    """The valves that a cylinder trips: they may stand elsewhere when anything is set."""
    return [c.id for c in circuit.components.values() if c.settings.get("operator") == "roller"]


def _along(line: Line) -> tuple[Passage, ...]:
    if line.state and resolve_element(line).fault in _SHUT:
        return ()
    return Passage(line.id, line.start, line.end), Passage(line.id, line.end, line.start)


def positions(component: Component) -> tuple[str, ...]:
    """The positions of its lever; empty for a part without one."""
    declared = component.declared.states.get("position")
    return declared.choices if declared else ()


def is_lever_free(component: Component) -> bool:
    """Whether it has a lever that can be moved: it is not stuck."""
    return "position" in component.declared.states and component.state.get("fault") != "stuck"


def _through(circuit: Circuit, component: Component, every: bool) -> Iterator[Passage]:
    kind = component.kind
    if kind not in _ONE_WAY and kind not in _BOTH_WAYS and kind != "shuttle_valve":
        if "position" in component.declared.states:
            yield from _positioned(circuit, component, every and is_lever_free(component))
        return
    values = resolve_element(component)
    if values.fault in _SHUT or _is_shut(kind, values):
        return
    here = component.id + "."
    if kind in _ONE_WAY:
        start, end = _ONE_WAY[kind]
        yield Passage(component.id, here + start, here + end)
        if kind == "check_valve" or kind in PILOTED:
            yield from _reverse(component, kind, values.fault, here + end, here + start)
    elif kind == "shuttle_valve":
        yield from _shuttle(component, values.fault)
    else:
        for start, end in _BOTH_WAYS[kind]:
            yield Passage(component.id, here + start, here + end)
            yield Passage(component.id, here + end, here + start)


def _is_shut(kind: str, values: Resolved) -> bool:
    """Whether its own state shuts it: a fuse that has closed, a needle screwed home."""
    if kind == "hydraulic_fuse":
        return bool(values.state["closed"]) and values.fault != "stuck_open"
    if kind == "adjustable_restrictor":
        return float(values.state["opening"]) <= 0.0
    return kind == "hydraulic_motor" and values.fault == "stuck"


def _reverse(
    component: Component, kind: str, fault: str, start: str, end: str
) -> Iterator[Passage]:
    if fault == "stuck_open":
        yield Passage(component.id, start, end)
    elif kind != "check_valve":
        yield Passage(component.id, start, end, pilot=f"{component.id}.pilot")


def _shuttle(component: Component, fault: str) -> Iterator[Passage]:
    outlet = f"{component.id}.outlet"
    for port in ("inlet_1",) if fault == "stuck" else ("inlet_1", "inlet_2"):
        inlet = f"{component.id}.{port}"
        yield Passage(component.id, inlet, outlet)
        yield Passage(component.id, outlet, inlet, unless=inlet)


def _positioned(circuit: Circuit, component: Component, free: bool) -> Iterator[Passage]:
    values = resolve_element(component)
    if values.fault in _SHUT:
        return
    centre = values.settings.get("centre")
    standing = positions(component) if free else (position_of(circuit, component),)
    for position in standing:
        mark = position if free else ""
        for start, end in open_paths(component.kind, position, centre):
            one, other = f"{component.id}.{start}", f"{component.id}.{end}"
            yield Passage(component.id, one, other, position=mark)
            yield Passage(component.id, other, one, position=mark)


def other_side(circuit: Circuit, port: str) -> str:
    """The port at the other side of the piston or rotor; empty if there is none."""
    identifier, name = circuit.split_port(port)
    ports = ACTUATORS.get(circuit.components[identifier].kind, ())
    others = [p for p in ports if p != name]
    return f"{identifier}.{others[0]}" if name in ports and others else ""


def actuator_ports(circuit: Circuit) -> Iterator[str]:
    """Every port of a cylinder, motor or semi-rotary actuator, in the order of the file."""
    for component in circuit.components.values():
        for name in ACTUATORS.get(component.kind, ()):
            yield f"{component.id}.{name}"
