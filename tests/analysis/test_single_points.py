"""Single points, cuts, ways without anything in common, common causes, the reach matrix."""

from __future__ import annotations

from itertools import product
from random import Random

import networkx as nx
import pytest

from analysis import reach_matrix
from analysis.checks import check
from analysis.circuit import Circuit
from analysis.common_causes import find_common_causes
from analysis.connectivity import port_graph
from analysis.disjoint_paths import TooTangled
from analysis.passages import actuator_ports
from analysis.reach_matrix import find_reach_matrix
from analysis.single_points import find_disjoint_ways, find_single_points, find_smallest_cut
from analysis.ways import Ways, sources_of
from tests.analysis.crossing_circuits import random_circuit
from tests.analysis.every_way import TooMany, Written
from tests.analysis.test_requirements import DOWN, gear_and_flaps


def two_supplies() -> Circuit:
    """Gear and flaps with both supplies working the gear."""
    circuit = gear_and_flaps()
    for lever, values in DOWN.items():
        circuit.set_value(lever, "position", values["position"], state=True)
    return circuit


def test_one_supply_hangs_on_all_of_its_way() -> None:
    """Every part and line of the only way is a single point."""
    found = find_single_points(two_supplies(), ["3P1"], "1A1.cap")
    assert found == ["3Z1", "L13", "3P1", "L14", "3V1", "L15", "1V2", "L9", "1A1"]


def test_two_supplies_hang_on_what_they_share() -> None:
    """Only the shuttle and what lies behind it take both."""
    circuit = two_supplies()
    assert find_single_points(circuit, ["0P1", "3P1"], "1A1.cap") == ["1V2", "L9", "1A1"]
    assert len(find_smallest_cut(circuit, ["0P1", "3P1"], "1A1.cap")) == 1
    assert len(find_disjoint_ways(circuit, ["0P1", "3P1"], "1A1.cap")) == 1
    before = find_disjoint_ways(circuit, ["0P1", "3P1"], "1V2.outlet")
    assert sorted(way[0] for way in before) == ["0Z1", "3Z1"]
    cut = find_smallest_cut(circuit, ["0P1", "3P1"], "1V2.outlet")
    assert len(cut) == 2


def test_a_source_that_reaches_nothing_has_no_single_points() -> None:
    """Nothing to lose."""
    circuit = gear_and_flaps()
    assert find_single_points(circuit, ["0P1"], "1A1.cap") == []
    assert find_smallest_cut(circuit, ["0P1"], "1A1.cap") == []
    assert find_disjoint_ways(circuit, ["0P1"], "1A1.cap") == []


def without(circuit: Circuit, element: str) -> Circuit:
    """The circuit drawn anew without a part and the lines at it."""
    twin = circuit.copy()
    twin.remove(element)
    return twin


@pytest.mark.parametrize("seed", range(60))
def test_single_points_and_cuts_on_random_circuits(seed: int) -> None:
    """Against taking every part out of the drawing and enumerating all ways again."""
    circuit = random_circuit(Random(seed))
    sources = sources_of(circuit)
    try:
        pressed = Written(circuit, sources).pressed
    except TooMany:
        pytest.skip("too many ways to write down")
    for target in [p for p in actuator_ports(circuit) if p in pressed][:2]:
        own = target.rpartition(".")[0]
        found = find_single_points(circuit, sources, target)
        elements = [e.id for e in circuit.elements() if e.id != own]
        expected = {own}
        for element in elements:
            left = without(circuit, element)
            rest = [s for s in sources if s != element]
            if target not in Written(left, rest).pressed:
                expected.add(element)
        assert set(found) == expected
        cut = find_smallest_cut(circuit, sources, target)
        ways = find_disjoint_ways(circuit, sources, target)
        if cut:
            lost = Ways(circuit, sources, lost=cut)
            assert not lost.pressed & lost.graph.bit(target)
            assert ways
        passed = [element for way in ways for element in set(way) - {own}]
        assert len(passed) == len(set(passed))


def test_dominators_agree_where_suction_and_pressure_are_apart() -> None:
    """networkx immediate dominators on the port graph, pressure side only."""
    circuit = two_supplies()
    graph = nx.DiGraph(port_graph(circuit, ["3P1"]))
    dominators = nx.immediate_dominators(graph, "3P1.outlet")
    here, passed = "1A1.cap", []
    while here != "3P1.outlet":
        here = dominators[here]
        passed.append(here.rpartition(".")[0])
    found = find_single_points(circuit, ["3P1"], "1A1.cap")
    assert set(passed) <= set(found)


# -- common causes -----------------------------------------------------------------------


def asked_for_two_ways() -> Circuit:
    """The two supplies, with a requirement that they be independent."""
    circuit = two_supplies()
    wanted = {
        "name": "Two ways down", "kind": "independent", "from": ["3P1"], "other": ["0P1"],
        "targets": ["1A1.cap"], "may_share": ["1V2", "L9"],
    }  # fmt: skip
    circuit.set_field("", "requirements", [wanted])
    return circuit


def test_a_common_drive_undermines_independence_and_is_told() -> None:
    """Both pumps on the battery: no shared part, one common cause."""
    circuit = asked_for_two_ways()
    assert [f for f in check(circuit).findings if f.rule == "common_cause"] == []
    circuit.set_value("0P1", "drive", "electrical")
    circuit.set_value("3V1", "drive", "electrical")
    (cause,) = find_common_causes(circuit, ["3P1"], ["0P1"], ["1A1.cap"])
    assert (cause.kind, cause.what) == ("drive", "electrical")
    assert (cause.one, cause.other) == (("3V1",), ("0P1",))
    (finding,) = [f for f in check(circuit).findings if f.rule == "common_cause"]
    assert finding.subjects == ("3V1", "0P1") and "electrical" in finding.message


def test_ways_too_tangled_to_search_end_no_check(monkeypatch) -> None:
    """The requirement says that it cannot be shown; everything else is still told."""
    circuit = asked_for_two_ways()
    circuit.set_value("0P1", "drive", "electrical")
    circuit.set_value("3V1", "drive", "electrical")
    whole = check(circuit)
    assert any(f.rule == "common_cause" for f in whole.findings)

    def tangled(*_):
        raise TooTangled("cannot be searched to the end")

    monkeypatch.setattr("analysis.on_ways.OnWays.exactly", tangled)
    checked = check(circuit)
    assert "cannot be searched to the end" in checked.requirements[0].message
    left = [f for f in whole.findings if f.rule != "common_cause"]
    assert [f.message for f in checked.findings] == [f.message for f in left]


def test_a_common_reservoir_is_a_common_cause() -> None:
    """Above and below the standpipe it is one tank."""
    circuit = two_supplies()
    circuit.remove("L13")
    circuit.connect("0Z1.standpipe", "3P1.inlet", "L13")
    causes = find_common_causes(circuit, ["3P1"], ["0P1"], ["1A1.cap"])
    assert [(c.kind, c.what) for c in causes] == [("reservoir", "0Z1")]


# -- the matrix ----------------------------------------------------------------------------


def test_the_matrix_of_gear_and_flaps_by_hand() -> None:
    """3 x 3 x 2 = 18 settings; each pump by itself."""
    matrix = find_reach_matrix(gear_and_flaps())
    assert matrix.total == 18
    cell = matrix.cells["0P1", "1A1.cap"]
    assert cell.parts == ({"1V1": ("left",)},) and cell.count == 6
    assert matrix.cells["0P1", "2A1.rod"].parts == ({"2V1": ("right",)},)
    assert matrix.cells["3P1", "1A1.cap"].parts == ({"3V1": ("left",)},)
    assert ("3P1", "2A1.cap") not in matrix.cells
    assert matrix.never == () and matrix.pressing == ()


def test_what_no_setting_reaches_and_supplies_that_meet_are_listed() -> None:
    """A jack cut off, and a second source on the main pump's delivery."""
    circuit = gear_and_flaps()
    circuit.add("cylinder", id="4A1")
    circuit.add("pressure_source", id="0P9")
    circuit.connect("0P9.outlet", "1V1.A")
    circuit.remove("0V1")
    circuit.connect("0P1.outlet", "0Z2.A")
    matrix = find_reach_matrix(circuit)
    assert matrix.never == ("4A1",)
    pressing = {(cell.source, cell.port): cell for cell in matrix.pressing}
    assert pressing["0P9", "0P1.outlet"].parts == ({"1V1": ("left",)},)
    assert pressing["0P1", "0P9.outlet"].parts == ({"1V1": ("left",)},)


def row_of_valves(count: int) -> Circuit:
    """That many 4/3 valves in a row, each P fed by the one before through its open centre."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1")
    circuit.connect("0Z1.supply", "0P1.inlet")
    feed = "0P1.outlet"
    for number in range(1, count + 1):
        valve, jack = f"{number}V1", f"{number}A1"
        circuit.add("valve_4_3", id=valve, centre=("tandem", "open", "float")[number % 3])
        circuit.add("cylinder", id=jack)
        circuit.connect(feed, f"{valve}.P")
        circuit.connect(f"{valve}.A", f"{jack}.cap")
        circuit.connect(f"{valve}.B", f"{jack}.rod")
        if number % 3 != 2:
            feed = f"{valve}.T"
    circuit.connect(feed, "0Z1.return")
    return circuit


def test_the_matrix_of_a_row_agrees_with_every_setting_by_itself() -> None:
    """Four valves, 81 settings, each searched alone."""
    circuit = row_of_valves(4)
    matrix = find_reach_matrix(circuit)
    counted = dict.fromkeys(actuator_ports(circuit), 0)
    for choice in product(*matrix.levers.values()):
        for lever, position in zip(matrix.levers, choice, strict=True):
            circuit.set_value(lever, "position", position, state=True)
        for port in Ways(circuit, ["0P1"]).reached("0P1") & set(counted):
            counted[port] += 1
    assert {port: cell.count for (_, port), cell in matrix.cells.items()} == {
        port: count for port, count in counted.items() if count
    }


def test_the_settings_of_twelve_valves_are_not_searched_one_by_one(monkeypatch) -> None:
    """531 441 settings of one source: one search, whose sets of settings stand for many."""
    searches = []
    search = reach_matrix.find_reach
    monkeypatch.setattr(
        reach_matrix, "find_reach", lambda *given: searches.append(given) or search(*given)
    )
    matrix = find_reach_matrix(row_of_valves(12))
    assert len(searches) == 1
    assert matrix.total == 531_441 and len(matrix.cells) > 8
