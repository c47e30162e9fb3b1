"""Requirements against a search that shares no code with the analysis: every way, one by one.

What carries, written down again from the definition of a way; all simple paths by plain
depth-first enumeration; random circuits with random levers, faults and requirements.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from random import Random

import pytest

from analysis.circuit import Circuit, Line
from analysis.on_ways import elements_on_ways
from analysis.requirements import evaluate, evaluate_one
from analysis.ways import Ways

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
                    for one, other in itertools.pairwise(way):
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

# -- random circuits ----------------------------------------------------------------------

SUPPLIES = ("fixed_pump", "hand_pump", "hand_pump", "pressure_source", "accumulator")
COMMON = ("junction", "junction", "check_valve", "pilot_check_valve", "counterbalance_valve")
LEVERS = ("shutoff_valve", "valve_3_2", "valve_4_2", "valve_4_3", "valve_4_3")
OTHERS = ("shuttle_valve", "shuttle_valve", "relief_valve", "hydraulic_fuse", "pressure_gauge")
PARTS = (*ONE_WAY, *BOTH_WAYS, *COMMON, *LEVERS, *OTHERS)


def random_circuit(random: Random) -> Circuit:
    """A few parts of every sort, joined at random so that ways exist and cross."""
    circuit = Circuit()
    for _ in range(random.choice([1, 1, 2])):
        circuit.add("reservoir")
    for kind in random.sample(SUPPLIES, random.randint(2, 3)):
        circuit.add(kind)
    for kind in random.choices(PARTS, k=random.randint(2, 7)):
        _add(circuit, kind, random)
    for kind in random.choices(list(ACTUATOR_PORTS), k=random.randint(1, 3)):
        circuit.add(kind)
    ports = list(circuit.ports())
    for port in random.sample(ports, len(ports)):
        if random.random() < 0.75:
            other = random.choice([p for p in ports if p != port])
            fault = (
                {"fault": random.choice(["blocked", "ruptured"])} if random.random() < 0.04 else {}
            )
            circuit.connect(port, other, **fault)
    for component in list(circuit.components.values()):
        if component.kind in PUMPS and random.random() < 0.7:
            tank = random.choice([p for p in ports if p.endswith((".supply", ".standpipe"))])
            circuit.connect(tank, f"{component.id}.inlet")
    return circuit


def _add(circuit: Circuit, kind: str, random: Random) -> None:
    component = circuit.add(kind)
    declared = component.declared
    if "position" in declared.states:
        position = random.choice(declared.states["position"].choices)
        circuit.set_value(component.id, "position", position, state=True)
    if kind == "valve_4_3":
        circuit.set_value(component.id, "centre", random.choice(list(CENTRE)))
    if kind == "hydraulic_fuse" and random.random() < 0.2:
        circuit.set_value(component.id, "closed", True, state=True)
    shutting = [f for f in declared.faults if f in SHUT]
    if shutting and random.random() < 0.05:
        circuit.set_value(component.id, "fault", random.choice(shutting), state=True)


def random_requirement(circuit: Circuit, kind: str, random: Random) -> dict[str, list[str]]:
    """Sources, targets and exceptions at random; mostly actuator ports."""
    supplies = [c.id for c in circuit.components.values() if c.kind in OUTLETS]
    random.shuffle(supplies)
    cut = random.randint(1, len(supplies) - 1)
    actuators = [
        f"{c.id}.{p}" for c in circuit.components.values() for p in ACTUATOR_PORTS.get(c.kind, ())
    ]
    pool = (
        actuators if random.random() < 0.9 else [p for p in circuit.ports() if p not in actuators]
    )
    pool = [p for p in pool if not p.endswith((".supply", ".standpipe"))]
    count = min(len(pool), random.choice([1, 1, 2]))
    elements = [*circuit.components, *circuit.lines]
    return {
        "from": supplies[:cut] if random.random() < 0.4 else supplies[:1],
        "other": supplies[cut:] if random.random() < 0.4 else supplies[cut : cut + 1],
        "targets": random.sample(pool, count),
        "may_share": random.sample(
            elements, random.choice([0, len(elements) // 2, len(elements) - 2, len(elements)])
        ),
    }


def random_changes(circuit: Circuit, random: Random) -> dict[str, dict[str, str]]:
    """What `set` of a requirement changes: now and then a lever, a line, a part."""
    changes: dict[str, dict[str, str]] = {}
    share = random.choice([0.0, 0.1, 0.3])
    for element in circuit.elements():
        if random.random() >= share:
            continue
        if isinstance(element, Line):
            changes[element.id] = {"fault": random.choice(["none", "blocked", "ruptured"])}
        elif "position" in element.declared.states:
            choices = element.declared.states["position"].choices
            changes[element.id] = {"position": random.choice(choices)}
        elif shutting := [f for f in element.declared.faults if f in SHUT]:
            changes[element.id] = {"fault": random.choice(["none", *shutting])}
    return changes


def compare(seed: int) -> dict[str, bool]:
    """Ask both about one random circuit; returns the verdicts, to see that both occur."""
    random = Random(seed)
    circuit = random_circuit(random)
    verdicts = {}
    for kind, judge in JUDGES.items():
        wanted = random_requirement(circuit, kind, random)
        changes = random_changes(circuit, random)
        changed = circuit.copy()
        for name, values in changes.items():
            for key, value in values.items():
                changed.set_value(name, key, value, state=True)
        expected = judge(changed, wanted)
        verdict = evaluate_one(circuit, {"kind": kind, "set": changes, **wanted})
        assert verdict.holds == expected, (seed, kind, wanted, verdict)
        verdicts[kind] = expected
        circuit.set_field("", "requirements", [{"kind": kind, "set": changes, **wanted}])
        assert [(v.holds, v.witness) for v in evaluate(circuit)] == [(expected, verdict.witness)]
        if kind == "independent":
            common = shared(changed, wanted)
            assert set(verdict.witness) == (common or set()), (seed, wanted, verdict, common)
    compare_elements(seed, circuit, wanted)
    return verdicts


def compare_elements(seed: int, circuit: Circuit, wanted: dict[str, list[str]]) -> None:
    """The elements on ways, and that every way given is a way."""
    ways, written = Ways(circuit, wanted["from"]), Written(circuit, wanted["from"])
    expected: set[str] = set()
    for source in wanted["from"]:
        for target in wanted["targets"]:
            expected |= written.enumerate(source, target)[1]
    assert elements_on_ways(ways, wanted["targets"]) == expected, (seed, wanted)
    steps = {(start, end) for start, end, _ in written.edges}
    for source in wanted["from"]:
        reached = {p for p in ways.reached(source) if not p.endswith((".supply", ".standpipe"))}
        assert reached == {
            p for p in written.reached[source] if p in reached or p not in written.stops
        }
        for port in reached:
            way = ways.way(source, port)
            assert way is not None and len(set(way.ports)) == len(way.ports)
            assert set(zip(way.ports, way.ports[1:], strict=False)) <= steps
            assert way.ports[-1] == port and way.elements[0] == source
            assert not set(way.ports[1:-1]) & written.stops


def compare_many(seeds: range) -> None:
    """Compare on many circuits; few may be too large to enumerate, and both verdicts occur."""
    passed, skipped = {kind: [0, 0] for kind in JUDGES}, 0
    for seed in seeds:
        try:
            for kind, holds in compare(seed).items():
                passed[kind][holds] += 1
        except TooMany:
            skipped += 1
    assert skipped <= len(seeds) // 20
    for kind, (fails, holds) in passed.items():
        assert fails > 0 and holds > 0, (kind, fails, holds)


@pytest.mark.parametrize("start", [0, 100])
def test_requirements_agree_with_every_way_written_down(start: int) -> None:
    """No difference on 200 random circuits."""
    compare_many(range(start, start + 100))


@pytest.mark.slow
@pytest.mark.parametrize("start", range(200, 2200, 200))
def test_requirements_agree_on_two_thousand_circuits(start: int) -> None:
    """No difference on 2 000 more."""
    compare_many(range(start, start + 200))
