"""A recording stays within the memory that is stated, however long the circuit is worked."""

import sys
from dataclasses import replace
from pathlib import Path

import pytest

import editor
from analysis import read_circuit
from analysis.circuit_file import circuit_text
from editor.operation.history import MOST_MOMENTS, History, share_unchanged
from editor.operation.operation import Operation

SAMPLE = Path(editor.__file__).parent.parent / "sample_circuits" / "emergency_pump.circuit.json"
STATED = 150e6
"""Bytes an hour of the emergency sample may take; DEVELOPERS.md states it."""


def held(*roots):
    """Bytes of everything that is reached from the roots, each object counted once."""
    seen, waiting, total = set(), list(roots), 0
    while waiting:
        one = waiting.pop()
        if id(one) in seen or isinstance(one, type) or callable(one):
            continue
        seen.add(id(one))
        total += sys.getsizeof(one)
        if isinstance(one, dict):
            waiting += [*one, *one.values()]
        elif isinstance(one, (list, tuple, set, frozenset)):
            waiting += one
        elif hasattr(one, "__dict__"):
            waiting.append(vars(one))
    return total


def as_new(value):
    """The same with objects of its own, as every frame makes them."""
    if isinstance(value, float):
        return value * 1.0 if value else value
    if isinstance(value, dict):
        return {key: as_new(one) for key, one in value.items()}
    return value


@pytest.fixture(scope="module")
def hour():
    """An hour of the sample, as many moments as are kept of it, a pump set every minute."""
    circuit = read_circuit(SAMPLE)
    operation = Operation(circuit)
    assert operation.begin()
    operation.step(0.2)
    moment, signals = operation.motion.moment(), operation.motion.signals()
    history, pumps = History(), [c.id for c in circuit.components.values() if c.kind == "hand_pump"]
    worked, time = moment.circuit, 0.0
    for tick in range(MOST_MOMENTS):
        time = tick * 3600.0 / (MOST_MOMENTS - 1)
        if tick % 60 == 0:
            worked = worked.copy()
            pump = pumps[tick // 60 % len(pumps)]
            worked.set_value(pump, "running", tick % 120 == 0, state=True)
        fresh = {name: as_new(value) for name, value in vars(moment).items()}
        fresh |= {"time": time, "circuit": worked}
        history.add(replace(moment, **fresh), as_new(signals))
    operation.finish()
    return history


def test_an_hour_stays_within_what_is_stated(hour):
    """Moments, signals and circuits, and something set between any two moments of it."""
    assert hour.times[-1] > 3590.0
    assert len(hour.moments) == MOST_MOMENTS
    found = held(hour.moments, hour.signals, hour.times)
    assert found + MOST_MOMENTS * held_by_each(hour) < STATED


def held_by_each(history):
    """Bytes that a circuit in which one thing more was set adds."""
    circuits = list({id(m.circuit): m.circuit for m in history.moments}.values())
    assert len(circuits) > 50
    return (held(*circuits) - held(circuits[0])) / (len(circuits) - 1)


def test_circuits_in_which_something_was_set_share_the_rest(hour):
    """Many circuits, few parts: only what was set is held anew."""
    assert held_by_each(hour) < 0.15 * held(hour.moments[0].circuit)


def test_sharing_changes_no_circuit():
    """The text of both stays, and so does what is set in a copy afterwards."""
    earlier = read_circuit(SAMPLE)
    later = earlier.copy()
    later.set_value("0P2", "running", True, state=True)
    texts = circuit_text(earlier), circuit_text(later)
    share_unchanged(earlier, later)
    assert (circuit_text(earlier), circuit_text(later)) == texts
    assert later.components["0P1"] is earlier.components["0P1"]
    assert later.components["0P2"] is not earlier.components["0P2"]
    copy = later.copy()
    copy.set_value("0P1", "running", False, state=True)
    assert (circuit_text(earlier), circuit_text(later)) == texts
