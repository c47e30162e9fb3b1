"""The first guess saves Newton steps and never changes the answer."""

from pathlib import Path

import numpy as np
import pytest

from analysis import Circuit, pinning, read_circuit, readings

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))


def no_guess(network):
    """Zero pressure, as if there were no guess."""
    return network.fixed_pressure.copy()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_answer_is_the_same_without_the_guess(monkeypatch, path):
    """All pressures within a pascal or a millionth, whichever is more; what is open stays open."""
    circuit = read_circuit(path)
    guessed = readings(circuit)
    monkeypatch.setattr(pinning, "guess_pressures", no_guess)
    plain = readings(circuit)
    assert guessed.undetermined == plain.undetermined
    for port, pressure in guessed.pressures.items():
        if pressure is not None:
            assert pressure == pytest.approx(plain.pressures[port], rel=1e-6, abs=1.0), port


@pytest.mark.parametrize("name", ["emergency_pump", "hand_pumped_gear"])
def test_it_saves_a_quarter_of_the_steps(monkeypatch, name):
    """Newton steps from scratch, where no valve has to switch over."""
    circuit = read_circuit(next(path for path in SAMPLES if path.name.startswith(name)))
    guessed = readings(circuit).iterations
    monkeypatch.setattr(pinning, "guess_pressures", no_guess)
    assert guessed <= 0.75 * readings(circuit).iterations


def test_least_pressures_are_found_before_the_search(monkeypatch):
    """Behind two check valves in a row: the source less both cracking pressures, at the start."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1", pressure="10 bar")
    circuit.add("check_valve", id="0V1", cracking_pressure="1 bar")
    circuit.add("check_valve", id="0V2", cracking_pressure="2 bar")
    circuit.add("plug", id="0Z1")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.outlet", "0V2.inlet", bore="6 mm", length="1 m")
    circuit.connect("0V2.outlet", "0Z1.A", bore="6 mm", length="1 m")
    starts = []
    find_least = pinning.find_least

    def watched(*arguments):
        starts.append(find_least(*arguments))
        return starts[-1]

    monkeypatch.setattr(pinning, "find_least", watched)
    reading = readings(circuit)
    assert reading.port("0Z1.A").pressure.m_as("bar") == pytest.approx(7.0, rel=1e-5)
    assert np.isclose(starts[0][0], 7e5, rtol=1e-9).sum() == 2
