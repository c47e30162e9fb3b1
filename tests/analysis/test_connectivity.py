"""Where fluid can go, checked on circuits small enough to trace with a finger."""

from __future__ import annotations

from itertools import product
from random import Random

import networkx as nx
import pytest

from analysis.checks import check
from analysis.circuit import Circuit
from analysis.connection_findings import find_connection_findings
from analysis.connectivity import port_graph
from analysis.findings import Finding
from analysis.lever_sets import LeverSets
from analysis.reach import find_reach
from analysis.ways import Ways, sources_of


def hand_pumped_jack() -> Circuit:
    """A reservoir, a hand pump, a lever valve and a double-acting jack."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("hand_pump", id="0P1")
    circuit.add("valve_4_3", id="1V1", centre="closed")
    circuit.add("cylinder", id="1A1", name="jack")
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "1V1.P")
    circuit.connect("1V1.T", "0Z1.return", role="return")
    circuit.connect("1V1.A", "1A1.cap")
    circuit.connect("1V1.B", "1A1.rod")
    return circuit


def connection_findings(circuit: Circuit) -> list[Finding]:
    """The findings on connections alone."""
    return find_connection_findings(circuit, find_reach(circuit))


def rules(circuit: Circuit, severity: str) -> list[str]:
    """The rules of that severity that speak."""
    return [f.rule for f in connection_findings(circuit) if f.severity == severity]


def test_a_sound_circuit_has_no_findings_but_its_spare_reservoir_port() -> None:
    """What is sound is not complained about."""
    findings = connection_findings(hand_pumped_jack())
    assert [(f.rule, f.severity, f.subjects) for f in findings] == [
        ("unconnected_port", "note", ("0Z1",))
    ]
    assert "0Z1.standpipe" in findings[0].message


def test_a_lever_in_neutral_does_not_make_its_actuator_unreachable() -> None:
    """Neutral is normal: only what no setting reaches is an error."""
    circuit = hand_pumped_jack()
    assert "1A1.cap" not in Ways(circuit, ["0P1"]).reached("0P1")
    assert rules(circuit, "error") == []


def test_the_lever_decides_which_side_is_reached() -> None:
    """The way follows the valve's position."""
    circuit = hand_pumped_jack()
    for position, reached in (("left", "1A1.cap"), ("right", "1A1.rod")):
        circuit.set_value("1V1", "position", position, state=True)
        found = Ways(circuit, ["0P1"]).reached("0P1")
        assert found & {"1A1.cap", "1A1.rod"} == {reached}


def test_an_actuator_behind_a_reversed_check_valve_is_an_error() -> None:
    """Nothing passes a check valve backward."""
    circuit = hand_pumped_jack()
    circuit.remove("L2")
    circuit.add("check_valve", id="0V1")
    circuit.connect("0P1.outlet", "0V1.outlet")
    circuit.connect("0V1.inlet", "1V1.P")
    assert rules(circuit, "error") == ["unreachable_actuator"]
    assert rules(circuit, "warning") == ["idle_source"]


def test_an_actuator_that_lets_nothing_out_is_an_error() -> None:
    """A jack with a closed tank line cannot move."""
    circuit = hand_pumped_jack()
    circuit.remove("L3")
    assert rules(circuit, "error") == ["no_return"]


def test_a_check_valve_against_one_return_stops_only_that_stroke() -> None:
    """Cap to reservoir is barred: the jack goes out and does not come back."""
    circuit = hand_pumped_jack()
    circuit.remove("L4")
    circuit.add("check_valve", id="1V2")
    circuit.connect("1V1.A", "1V2.inlet")
    circuit.connect("1V2.outlet", "1A1.cap")
    found = [f for f in connection_findings(circuit) if f.rule == "no_return"]
    assert [f.severity for f in found] == ["warning"]
    assert "1A1.cap" in found[0].message


def test_a_single_acting_cylinder_needs_a_way_out_of_its_only_port() -> None:
    """The spring can push it home only into a way out."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1")
    circuit.add("valve_3_2", id="1V1")
    circuit.add("cylinder_single_acting", id="1A1")
    circuit.add("reservoir", id="0Z1")
    circuit.connect("0P1.outlet", "1V1.P")
    circuit.connect("1V1.A", "1A1.cap")
    assert rules(circuit, "error") == ["no_return"]
    circuit.connect("1V1.T", "0Z1.return")
    assert rules(circuit, "error") == []


def test_a_pump_on_the_return_port_is_not_fed() -> None:
    """Only `supply` and `standpipe` feed."""
    circuit = hand_pumped_jack()
    circuit.remove("L1")
    circuit.connect("0Z1.return", "0P1.inlet")
    assert rules(circuit, "error") == ["unfed_source", "unreachable_actuator"]


def test_unconnected_ports_are_warnings_and_name_their_part() -> None:
    """A loose port is named with its part."""
    circuit = hand_pumped_jack()
    circuit.add("pressure_gauge", id="0S1", name="system gauge")
    found = [f for f in connection_findings(circuit) if f.severity == "warning"]
    assert [f.subjects for f in found] == [("0S1",)]
    assert "0S1.A" in found[0].message and "system gauge" in found[0].message


def test_check_puts_errors_first_and_is_ok_without_them() -> None:
    """The order and the verdict of the whole check."""
    circuit = hand_pumped_jack()
    circuit.set_value("0P1", "running", False, state=True)
    assert check(circuit).ok
    circuit.remove("L2")
    result = check(circuit)
    assert not result.ok
    severities = [f["severity"] for f in result.as_json()["findings"]]
    assert severities == sorted(severities, key=["error", "warning", "note"].index)


def test_the_networkx_graph_keeps_parallel_lines_and_pilots() -> None:
    """The graph for general algorithms loses nothing."""
    circuit = hand_pumped_jack()
    circuit.connect("0P1.outlet", "1V1.P", id="L9")
    circuit.add("pilot_check_valve", id="1V2")
    graph = port_graph(circuit)
    assert set(graph["0P1.outlet"]["1V1.P"]) == {"L2", "L9"}
    assert graph.edges["1V2.outlet", "1V2.inlet", "1V2"]["pilot"] == "1V2.pilot"
    assert "1A1.cap" not in nx.descendants(graph, "0P1.inlet")
    assert not port_graph(circuit, ["other"]).has_edge("0P1.inlet", "0P1.outlet")


# -- over all settings: against every setting taken one by one ----------------------


def random_levers(seed: int) -> Circuit:
    """A few valves, check valves and jacks joined at random, with a pump and a reservoir."""
    random = Random(seed)
    circuit = Circuit()
    circuit.add("reservoir")
    circuit.add("hand_pump")
    circuit.add("pressure_source")
    kinds = ["valve_3_2", "valve_4_2", "valve_4_3", "shutoff_valve"]
    for kind in random.choices(kinds, k=3):
        extra = {}
        if kind == "valve_4_3":
            extra["centre"] = random.choice(["closed", "open", "tandem", "float", "regenerative"])
        circuit.add(kind, **extra)
    more = ["pilot_check_valve", "counterbalance_valve", "shuttle_valve", "check_valve", "junction"]
    for kind in random.choices(more, k=3):
        circuit.add(kind)
    circuit.add("cylinder")
    circuit.add("hydraulic_motor")
    ports = list(circuit.ports())
    for _ in range(random.randint(12, 22)):
        start, end = random.sample(ports, 2)
        circuit.connect(start, end)
    return circuit


@pytest.mark.parametrize("seed", range(40))
def test_all_settings_at_once_agree_with_every_setting_by_itself(seed: int) -> None:
    """The symbolic sets against the exact search of one setting, setting by setting."""
    circuit = random_levers(seed)
    reach = find_reach(circuit)
    assert reach.inexact == ()
    levers = reach.sets.levers
    for choice in product(*levers.values()):
        setting = dict(zip(levers, choice, strict=True))
        for lever, position in setting.items():
            circuit.set_value(lever, "position", position, state=True)
        ways = Ways(circuit, sources_of(circuit))
        for source, ports in reach.reached.items():
            symbolic = {p for p, at in ports.items() if reach.sets.holds(at, setting)}
            assert without_reservoirs(symbolic) == without_reservoirs(ways.reached(source))
        returned = {p for p, at in reach.returns.items() if reach.sets.holds(at, setting)}
        assert returned == {p for p in reach.returns if ways.return_way(p)}


def without_reservoirs(ports: set[str]) -> set[str]:
    """A way only starts there; that they are reached says nothing."""
    return {p for p in ports if not p.endswith((".supply", ".standpipe"))}


@pytest.mark.parametrize("seed", range(20))
def test_lever_sets_behave_like_sets(seed: int) -> None:
    """Union, intersection, complement, count and parts against plain Python sets."""
    random = Random(seed)
    levers = {f"V{n}": tuple("abc"[: random.randint(2, 3)]) for n in range(4)}
    everything = set(product(*levers.values()))
    sets = LeverSets(levers)
    pairs = [(sets.at("V0", "a"), {s for s in everything if s[0] == "a"})]
    for _ in range(25):
        name = random.choice(list(levers))
        place = list(levers).index(name)
        chosen = random.sample(levers[name], random.randint(1, len(levers[name])))
        number, members = sets.at(name, *chosen), {s for s in everything if s[place] in chosen}
        other, others = random.choice(pairs)
        pairs.append((sets.union(number, other), members | others))
        pairs.append((sets.intersection(number, other), members & others))
        pairs.append((sets.complement(other), everything - others))
    for number, members in pairs:
        assert sets.count(number) == len(members)
        listed = [
            tuple(choice)
            for part in sets.parts(number)
            for choice in product(*(part.get(n, p) for n, p in levers.items()))
        ]
        assert len(listed) == len(set(listed)) and set(listed) == members
        for setting in everything:
            assert sets.holds(number, dict(zip(levers, setting, strict=True))) == (
                setting in members
            )
