"""A valve that a Newton step would open is counted as opening, so the step is not cut short."""

from pathlib import Path

import numpy as np
import pytest

from analysis import newton, read_circuit, readings
from analysis.network import Builder
from tests.support.evaluations import count_evaluations

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "unloading_valve.circuit.json"


def evaluations_through_the_levers(monkeypatch):
    """How often the laws are asked while each lever of the sample is put to each position."""
    asked = count_evaluations(monkeypatch)
    circuit = read_circuit(SAMPLE)
    found = readings(circuit)
    for component in circuit.components.values():
        position = component.declared.states.get("position")
        for choice in position.choices if position else ():
            circuit.set_value(component.id, "position", choice, state=True)
            found = readings(circuit, start=found)
    monkeypatch.undo()
    return sum(asked)


def test_levers_cost_less(monkeypatch):
    """Where regions stand at rest behind shut valves, a quarter of the work at the least."""
    foreseen = evaluations_through_the_levers(monkeypatch)
    monkeypatch.setattr(newton, "_MOST_OPENINGS", 0)
    assert foreseen <= 0.75 * evaluations_through_the_levers(monkeypatch)


def test_a_change_opens_what_it_goes_well_beyond():
    """A check valve, one that stays shut, an orifice both ways, a relief valve of 2 bar."""
    builder = Builder()
    a, b = builder.new_node(), builder.new_node()
    across = ((a, 1.0), (b, -1.0))
    builder.turbulent(across, 3.0, crack=1e5, reverse=0.0)
    builder.turbulent(across, 3.0, crack=9e5, reverse=0.0)
    builder.turbulent(across, 3.0)
    builder.deadband(across, 7.0, above=2e5)
    network = builder.build()
    u = np.full(4, 0.5e5)
    rows, conductance, gap = network.openings(u, np.full(4, 3e5))
    assert rows.tolist() == [0, 3]
    assert conductance == pytest.approx([3.0 / 1e4**0.5, 7.0])
    assert gap == pytest.approx([0.5e5, 1.5e5])
    assert network.openings(u, np.full(4, 0.5e5))[0].tolist() == []


def test_where_a_pump_stalls_follows_its_parameters():
    """Flow over leakage; nowhere once nothing arrives at its inlet, which is set in place."""
    builder = Builder()
    inlet, outlet = builder.new_node(), builder.new_node()
    builder.source(inlet, outlet, (2e-4, 1e-11), (3e-4, 3e-11))
    network = builder.build()
    assert [float(x[0]) for x in network.stall()] == pytest.approx([1e7, 3e-11])
    network.parameters["source"][4, 0] = 0.0
    assert network.stall()[0][0] == -np.inf
