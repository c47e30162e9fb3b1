"""Requirements against a search that shares no code with the analysis: every way, one by one.

What carries, written down again from the definition of a way; all simple paths by plain
depth-first enumeration; random circuits with random levers, faults and requirements.
"""

from __future__ import annotations

from random import Random

import pytest

from analysis.circuit import Circuit, Line
from analysis.on_ways import elements_on_ways
from analysis.requirements import evaluate, evaluate_one
from analysis.ways import Ways
from tests.analysis.crossing_circuits import random_circuit
from tests.analysis.every_way import ACTUATOR_PORTS, JUDGES, OUTLETS, SHUT, TooMany, Written, shared


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
