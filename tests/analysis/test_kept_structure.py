"""What is kept from one reading to the next never shows in the answer."""

from pathlib import Path

import pytest

from analysis import assemble, read_circuit, readings
from tests.support.kept import forget

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "hand_pumped_gear.circuit.json"


def edits(circuit):
    """Edits after which other ports are one node, or other branches join them, and back."""
    line = next(line for line in circuit.lines.values() if "length" in line.settings)
    length = line.settings["length"]
    yield circuit.set_value(line.id, "length", "3 m")
    yield circuit.set_value(line.id, "length", None)
    yield circuit.set_value(line.id, "fault", "blocked", state=True)
    yield circuit.set_value(line.id, "fault", "none", state=True)
    yield circuit.set_value(line.id, "length", length)
    yield circuit.set_value(line.id, "fault", "external_leak", state=True)
    yield circuit.set_value(line.id, "fault", "ruptured", state=True)
    yield circuit.set_value(line.id, "fault", "none", state=True)
    valve = next(c for c in circuit.components.values() if "position" in c.declared.states)
    for position in valve.declared.states["position"].choices:
        yield circuit.set_value(valve.id, "position", position, state=True)


def test_readings_are_the_same_with_what_is_kept_and_without():
    """After each edit, started from the same pressures: the same to the last digit."""
    circuit = read_circuit(SAMPLE)
    start = None
    for _ in edits(circuit):
        kept = readings(circuit, start=start)
        forget()
        fresh = readings(circuit, start=start)
        assert kept.as_json() == fresh.as_json()
        start = readings(circuit)


def test_readings_start_from_those_of_another_structure():
    """After each edit the same regions are open, and what flows is the same to a millionth."""
    circuit = read_circuit(SAMPLE)
    found = readings(circuit)
    for _ in edits(circuit):
        found = readings(circuit, start=found)
        fresh = readings(circuit)
        assert found.undetermined == fresh.undetermined
        largest = max(abs(flow or 0.0) for flow in fresh.inflows.values())
        for port, flow in fresh.inflows.items():
            assert (found.inflows[port] is None) == (flow is None)
            assert abs((found.inflows[port] or 0.0) - (flow or 0.0)) <= 1e-6 * largest, port


def test_a_structure_is_made_once():
    """Another length keeps the arrays; a line without loss has others."""
    circuit = read_circuit(SAMPLE)
    line = next(line for line in circuit.lines.values() if "length" in line.settings)
    first = assemble.assemble(circuit)
    circuit.set_value(line.id, "length", "3 m")
    second = assemble.assemble(circuit)
    assert second.network.node is first.network.node
    assert second.builder.nodes is first.builder.nodes
    circuit.set_value(line.id, "length", None)
    third = assemble.assemble(circuit)
    assert third.network.node is not first.network.node
    assert third.builder.nodes is not first.builder.nodes
    with pytest.raises(ValueError, match="read-only"):
        first.network.weight[0, 0] = 2.0
