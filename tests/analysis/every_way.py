"""Every way written down: what carries, from the definition, and all simple paths.

Shares no code with the analysis but the circuit itself.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from analysis.circuit import Circuit

Edge = tuple[str, str, str]
"""(from port, to port, element)."""

ONE_WAY = {
    "check_valve": "inlet outlet",
    "filter": "inlet outlet",
    "pilot_check_valve": "inlet outlet",
    "counterbalance_valve": "outlet inlet",
    "sequence_valve": "inlet outlet",
    "reducing_valve": "inlet outlet",
    "priority_valve": "inlet outlet",
    "unloading_valve": "inlet outlet",
}
BOTH_WAYS = {
    "restrictor": ["A B"],
    "adjustable_restrictor": ["A B"],
    "one_way_restrictor": ["free restricted"],
    "flow_regulator": ["inlet outlet"],
    "flow_divider": ["inlet outlet_1", "inlet outlet_2"],
    "hydraulic_motor": ["A B"],
    "cooler": ["A B"],
    "hose": ["A B"],
    "quick_coupling": ["A B"],
    "flow_meter": ["A B"],
}
OPEN = {
    ("shutoff_valve", "open"): ["A B"],
    ("valve_3_2", "left"): ["P A"],
    ("valve_3_2", "right"): ["A T"],
    ("valve_4_2", "left"): ["P A", "B T"],
    ("valve_4_2", "right"): ["P B", "A T"],
    ("valve_4_3", "left"): ["P A", "B T"],
    ("valve_4_3", "right"): ["P B", "A T"],
}
CENTRE = {
    "closed": [],
    "open": ["P T", "A T", "B T"],
    "tandem": ["P T"],
    "float": ["A T", "B T"],
    "regenerative": ["P A", "P B"],
}
PUMPS = ("fixed_pump", "compensated_pump", "hand_pump")
OUTLETS = {**dict.fromkeys(PUMPS, "outlet"), "pressure_source": "outlet", "accumulator": "fluid"}
ACTUATOR_PORTS = {
    "cylinder": ("cap", "rod"),
    "cylinder_double_rod": ("left", "right"),
    "cylinder_single_acting": ("cap",),
    "hydraulic_motor": ("A", "B"),
    "semi_rotary_actuator": ("A", "B"),
}
SHUT = ("blocked", "ruptured", "stuck_closed", "no_output")
MANY = 60_000
"""A circuit with more partial ways than this is too much for plain enumeration."""


class TooMany(Exception):
    """Too many ways to write down."""


class Written:
    """What carries in a circuit, and all ways of some sources, written down."""

    def __init__(self, circuit: Circuit, sources: list[str]) -> None:
        self.circuit, self.sources = circuit, sources
        self.kind = {c.id: c.kind for c in circuit.components.values()}
        self.stops = {
            f"{i}.{p}"
            for i, kind in self.kind.items()
            if kind == "reservoir"
            for p in ("supply", "standpipe", "return")
        }
        self.count = 0
        pressed: set[str] = set()
        while True:
            self.edges = self.carrying(pressed)
            self.reached = {source: self.enumerate(source, None)[0] for source in sources}
            found = set().union(*self.reached.values())
            if found == pressed:
                break
            pressed = found
        self.pressed = pressed

    def carrying(self, pressed: set[str]) -> list[Edge]:
        """Every step that fluid can take, with the pilots that are under pressure."""
        found: list[Edge] = []
        for line in self.circuit.lines.values():
            if line.state.get("fault") not in SHUT:
                found += [(line.start, line.end, line.id), (line.end, line.start, line.id)]
        for c in self.circuit.components.values():
            if c.state.get("fault") in SHUT:
                continue

            def step(pair: str, both: bool, i: str = c.id) -> None:
                one, other = (f"{i}.{p}" for p in pair.split())
                found.append((one, other, i))
                if both:
                    found.append((other, one, i))

            if c.kind in ONE_WAY:
                step(ONE_WAY[c.kind], False)
            for pair in BOTH_WAYS.get(c.kind, ()):
                step(pair, True)
            if c.kind in PUMPS and c.id in self.sources:
                step("inlet outlet", False)
            if c.kind == "shuttle_valve":
                step("inlet_1 outlet", False)
                step("inlet_2 outlet", False)
            if c.kind == "hydraulic_fuse" and not c.state.get("closed"):
                step("inlet outlet", True)
            if c.kind in ("pilot_check_valve", "counterbalance_valve"):
                back = "outlet inlet" if c.kind == "pilot_check_valve" else "inlet outlet"
                if f"{c.id}.pilot" in pressed:
                    step(back, False)
            position = c.state.get("position")
            pairs = OPEN.get((c.kind, position), [])
            if c.kind == "valve_4_3" and position == "centre":
                pairs = CENTRE[c.settings.get("centre", "closed")]
            for pair in pairs:
                step(pair, True)
        return found

    def enumerate(self, source: str, target: str | None) -> tuple[set[str], set[str]]:
        """(ports at which a way ends, elements on the ways that end at the target)."""
        ports: set[str] = set()
        elements: set[str] = set()
        onward: dict[str, dict[str, set[str]]] = {}
        for start, end, element in self.edges:
            onward.setdefault(start, {}).setdefault(end, set()).add(element)
        kind = self.kind[source]
        outlet = f"{source}.{OUTLETS[kind]}"
        if self.circuit.components[source].state.get("fault") in SHUT:
            return ports, elements

        def grow(way: list[str], through: bool) -> None:
            self.count += 1
            if self.count > MANY:
                raise TooMany
            here = way[-1]
            if through:
                ports.add(here)
                if here == target:
                    elements.update(port.rpartition(".")[0] for port in way)
                    for one, other in pairwise(way):
                        straight = (one, other) == (f"{source}.inlet", outlet)
                        elements.update({source} if straight else onward[one][other])
            if here in self.stops and len(way) > 1:
                return
            for there in onward.get(here, ()):
                if there in way:
                    continue
                if not through and there == outlet and here != f"{source}.inlet":
                    continue
                grow([*way, there], through or there == outlet)

        if kind in PUMPS:
            for port in sorted(self.stops):
                if not port.endswith(".return"):
                    grow([port], False)
        else:
            grow([outlet], True)
        return ports, elements

    def returns(self, port: str) -> bool:
        """Whether a return leads from that actuator port outward to a reservoir."""
        own = port.rpartition(".")[0]
        onward: dict[str, set[str]] = {}
        for start, end, element in self.edges:
            if element != own:
                onward.setdefault(start, set()).add(end)
        for i, kind in self.kind.items():
            if kind == "shuttle_valve":
                for inlet in (f"{i}.inlet_1", f"{i}.inlet_2"):
                    if inlet not in self.pressed:
                        onward.setdefault(f"{i}.outlet", set()).add(inlet)
        seen, waiting = {port}, [port]
        while waiting:
            here = waiting.pop()
            if here in self.stops:
                return True
            for there in onward.get(here, ()):
                if there not in seen:
                    seen.add(there)
                    waiting.append(there)
        return False

    def without(self, element: str) -> Written:
        """The same, but nothing passes that element."""
        twin = object.__new__(Written)
        vars(twin).update(vars(self))
        twin.edges = [edge for edge in self.edges if edge[2] != element]
        return twin


def other_port(circuit: Circuit, port: str) -> str | None:
    """The port at the other side of an actuator."""
    i, _, name = port.rpartition(".")
    ports = ACTUATOR_PORTS.get(circuit.components[i].kind, ())
    others = [p for p in ports if p != name]
    return f"{i}.{others[0]}" if name in ports and others else None


def reaches(circuit: Circuit, wanted: dict[str, list[str]]) -> bool:
    """The requirement `reaches`, from the definition."""
    written = Written(circuit, wanted["from"])
    others = [other_port(circuit, t) for t in wanted["targets"]]
    return all(t in written.reached[s] for s in wanted["from"] for t in wanted["targets"]) and all(
        written.returns(port) for port in others if port
    )


def reaches_only(circuit: Circuit, wanted: dict[str, list[str]]) -> bool:
    """The requirement `reaches_only`, from the definition."""
    if not reaches(circuit, wanted):
        return False
    written = Written(circuit, wanted["from"])
    for component in circuit.components.values():
        for name in ACTUATOR_PORTS.get(component.kind, ()):
            port = f"{component.id}.{name}"
            if port in wanted["targets"]:
                continue
            asked = written
            if (
                component.kind == "hydraulic_motor"
                and other_port(circuit, port) in wanted["targets"]
            ):
                asked = written.without(component.id)
            if any(port in asked.enumerate(source, None)[0] for source in wanted["from"]):
                return False
    return True


def reaches_none(circuit: Circuit, wanted: dict[str, list[str]]) -> bool:
    """The requirement `reaches_none`, from the definition."""
    return not Written(circuit, wanted["from"]).pressed & set(wanted["targets"])


def shared(circuit: Circuit, wanted: dict[str, list[str]]) -> set[str] | None:
    """What the two sides of `independent` share beyond what they may; None: a side has no way."""
    sides = []
    for key in ("from", "other"):
        written = Written(circuit, wanted[key])
        found: set[str] = set()
        for target in wanted["targets"]:
            if target not in written.pressed:
                return None
            for source in wanted[key]:
                found |= written.enumerate(source, target)[1]
        sides.append(found)
    own = {t.rpartition(".")[0] for t in wanted["targets"]}
    return (sides[0] & sides[1]) - own - set(wanted["may_share"])


def independent(circuit: Circuit, wanted: dict[str, list[str]]) -> bool:
    """The requirement `independent`, from the definition."""
    return shared(circuit, wanted) == set()


JUDGES: dict[str, Callable[[Circuit, dict[str, list[str]]], bool]] = {
    "reaches": reaches,
    "reaches_only": reaches_only,
    "reaches_none": reaches_none,
    "independent": independent,
}
