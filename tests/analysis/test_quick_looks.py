"""What a run leaves out because nothing can have happened: the history is the same with it."""

from pathlib import Path

import pytest

from analysis import read_circuit, run
from analysis.crossings import Crossings
from analysis.outlets import Outlets

SAMPLES = Path(__file__).parents[2] / "sample_circuits"


@pytest.mark.parametrize(
    ("sample", "procedure"),
    [
        ("bench_press", "Release valve lets the ram return by its spring"),
        ("hand_pumped_gear", "Down-locks engage at the end of travel, then the handle goes stiff"),
        ("emergency_pump", "Down-locks engage while the button is held past the stop"),
        ("falling_gear", "Down-locks engage at the end of the fall"),
    ],
)
def test_events_and_signals_are_those_of_looking_at_everything(sample, procedure, monkeypatch):
    """Stops, locks, directions and levels, looked at after each step, whatever moved."""
    circuit = read_circuit(SAMPLES / f"{sample}.circuit.json")
    quick = run(circuit, procedure)
    looked = []
    original = Crossings._stops_and_locks
    monkeypatch.setattr(
        Crossings, "_stops_and_locks", lambda *given: looked.append(0) or original(*given)
    )
    run(circuit, procedure)
    few, looked[:] = len(looked), []
    monkeypatch.setattr(Crossings, "_goes_on", lambda *_: False)
    monkeypatch.setattr(Crossings, "_rests", lambda *_: False)
    monkeypatch.setattr(Outlets, "is_between", lambda *_: False)
    always = run(circuit, procedure)
    assert quick.events == always.events
    assert quick.signals == always.signals
    assert [e.time for e in quick.expectations] == [e.time for e in always.expectations]
    assert few < 0.5 * len(looked)
