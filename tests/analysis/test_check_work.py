"""What a check looks at once is looked at once: counted, since times say little elsewhere."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from analysis import check, on_ways, read_circuit
from analysis.circuit import Circuit
from analysis.on_ways import elements_on_ways
from analysis.port_graph import PortGraph
from analysis.ways import Ways

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"


def count_made(monkeypatch: pytest.MonkeyPatch, kind: type) -> list[Any]:
    """The list to which every object of that class is added as it is made anew."""
    made: list[Any] = []
    begin = kind.__init__  # type: ignore[misc]

    def counting(self: Any, *given: Any, **named: Any) -> None:
        made.append(self)
        begin(self, *given, **named)

    monkeypatch.setattr(kind, "__init__", counting)
    return made


def test_a_check_makes_one_graph_and_searches_the_ways_of_each_side_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The rule about common power asks for the same two sides as the requirement does."""
    circuit = read_circuit(SAMPLE)
    kinds = [requirement["kind"] for requirement in circuit.requirements]
    assert kinds.count("independent") == 1
    graphs, ways = count_made(monkeypatch, PortGraph), count_made(monkeypatch, Ways)
    check(circuit)
    assert len(graphs) == 1
    assert len(ways) == len(kinds) + 1


def pressed_cylinder(gauges: int) -> Circuit:
    """A pressure source, a line to a cylinder, and gauges on branches of branches beside it."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1")
    circuit.add("junction", id="0Z1")
    circuit.add("cylinder", id="1A1")
    circuit.connect("0P1.outlet", "0Z1.A", "L1")
    circuit.connect("0Z1.A", "1A1.cap", "L2")
    for number in range(2, gauges + 2):
        circuit.add("junction", id=f"0Z{number}")
        circuit.add("pressure_gauge", id=f"0S{number}")
        circuit.connect(f"0Z{number - 1}.A", f"0Z{number}.A")
        circuit.connect(f"0Z{number}.A", f"0S{number}.A")
    return circuit


@pytest.mark.parametrize("gauges", [0, 1, 20])
def test_dead_ends_cost_no_search(monkeypatch: pytest.MonkeyPatch, gauges: int) -> None:
    """However many gauges hang on the line, as few paths are searched, and none is on a way."""
    search, searches = on_ways.find_disjoint_paths, []
    monkeypatch.setattr(
        on_ways, "find_disjoint_paths", lambda *given: searches.append(given) or search(*given)
    )
    ways = Ways(pressed_cylinder(gauges), ["0P1"])
    assert elements_on_ways(ways, ["1A1.cap"]) == {"0P1", "L1", "0Z1", "L2", "1A1"}
    assert len(searches) == 1
