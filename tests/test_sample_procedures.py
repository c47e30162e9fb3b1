"""The procedures that the sample circuits carry hold, and none of them holds before it began.

What they claim is common practice of the trade (locks first, then travel, then a stiff
handle; a button held past the stop; a dry pump has no effort), in invented scenarios.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from analysis.circuit_file import read_circuit
from analysis.runs import run

FOLDER = Path(__file__).resolve().parent.parent / "sample_circuits"
SAMPLES = {path.name.split(".")[0]: read_circuit(path) for path in sorted(FOLDER.glob("*.json"))}
PROCEDURES = [(name, p["name"]) for name, circuit in SAMPLES.items() for p in circuit.procedures]


@pytest.mark.parametrize(("name", "procedure"), PROCEDURES)
def test_procedure_of_a_sample_holds(name: str, procedure: str) -> None:
    """Every expectation is met, by something that happened after the start."""
    recording = run(SAMPLES[name], procedure)
    assert not recording.message, recording.message
    failed = [e.text for e in recording.expectations if not e.holds]
    assert not failed, "\n".join(failed)
    at_once = [e.text for e in recording.expectations if e.time is not None and e.time < 0.1]
    assert not at_once, f"true before anything happened: {at_once}"


def test_strokes_of_the_hand_pump_are_swept_volume_over_displacement() -> None:
    """Two legs of 11.04 in3, a tail wheel of 3.93 in3, 1.2 in3 a stroke: 21.7 strokes.

    Statics and geometry; fluid that is compressed adds a little.
    """
    recording = run(SAMPLES["hand_pumped_gear"], "Lower the gear by hand, in flight")
    swept = 2 * 1.2272 * 9 + 0.7854 * 5
    stroke_time = next(e.time for e in recording.expectations if "1A3.extension" in e.text)
    strokes = (stroke_time - 2.0) * 30 / 60
    assert strokes == pytest.approx(swept / 1.2, rel=0.02)


def test_locks_let_go_before_the_gear_moves() -> None:
    """While the up-lock holds, the leg stands still; it moves only once it has let go."""
    recording = run(
        SAMPLES["hand_pumped_gear"],
        "Lower the gear by hand, in flight",
        every=0.002,
        until=3.0,
        signals=["1A1.lock", "1A1.extension", "1A1.cap.pressure"],
    )
    locks = recording.signals["1A1.lock"]
    first = locks.index("released")
    assert first > 0
    assert max(recording.signals["1A1.extension"][:first]) == pytest.approx(0, abs=1e-6)
    highest = max(recording.signals["1A1.cap.pressure"][: first + 1])
    assert highest == pytest.approx(120 * 6894.757, rel=0.1)
