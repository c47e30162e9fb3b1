"""Procedures: steps at times and after signals, expectations by a time and throughout.

The contract's section 5 is the source; times follow from volume over flow (exact).
"""

import pytest

from analysis import Circuit, run
from analysis.errors import EditError, UnknownElement
from analysis.procedures import find_procedure
from tests.analysis.redundant_press import PUMP_FLOW, STROKE_VOLUME, redundant_press


def with_procedure(**parts) -> Circuit:
    """The press without its hand pump, and one procedure."""
    circuit = redundant_press()
    circuit.set_value("0P2", "running", False, state=True)
    circuit.set_field("", "procedures", [{"name": "p", **parts}])
    return circuit


def expect(signal="1A1.extension", **more):
    """A condition as it stands in a file."""
    return {"signal": signal, **more}


def test_start_sets_a_state_before_anything_moves():
    """Half of the stroke to go takes half of the time: 2.01 s."""
    circuit = with_procedure(
        start={"1A1": {"extension": "200 mm"}}, expect=[expect(by="9 s", at_least="399.99 mm")]
    )
    recording = run(circuit, "p")
    assert recording.signals["1A1.extension"][0] == pytest.approx(0.2)
    assert recording.expectations[0].time == pytest.approx(STROKE_VOLUME / PUMP_FLOW / 2, rel=0.01)


def test_a_step_waits_for_its_time():
    """Started at 3 s the pump ends the stroke 4.02 s later."""
    circuit = with_procedure(
        start={"0P1": {"running": False}},
        steps=[{"at": "3 s", "set": {"0P1": {"running": True}}}],
        expect=[expect(by="20 s", at_least="399.99 mm")],
    )
    reached = run(circuit, "p").expectations[0].time
    assert reached == pytest.approx(3.0 + STROKE_VOLUME / PUMP_FLOW, rel=0.01)


def test_a_step_after_a_signal_waits_its_wait():
    """Stopped 1 s after 100 mm, at 99.5 mm/s, the piston stands at 199 mm."""
    circuit = with_procedure(
        steps=[
            {"after": expect(at_least="100 mm"), "wait": "1 s", "set": {"0P1": {"running": False}}}
        ],
        expect=[expect(by="10 s", at_least="150 mm")],
    )
    recording = run(circuit, "p")
    speed = PUMP_FLOW / (STROKE_VOLUME / 0.4)
    assert recording.signals["1A1.extension"][-1] == pytest.approx(0.1 + speed, rel=0.01)


def test_an_after_is_not_looked_at_before_the_step_ahead_of_it():
    """100 mm is passed at 1 s, but the step at 3 s comes first: stopped there, at 298 mm."""
    circuit = with_procedure(
        steps=[
            {"at": "3 s", "set": {"0V3": {"fault": "none"}}},
            {"after": expect(at_least="100 mm"), "set": {"0P1": {"running": False}}},
        ],
        expect=[expect(by="10 s", at_least="150 mm")],
    )
    speed = PUMP_FLOW / (STROKE_VOLUME / 0.4)
    last = run(circuit, "p").signals["1A1.extension"][-1]
    assert last == pytest.approx(3.0 * speed, rel=0.01)


def test_by_means_at_some_time_up_to_then():
    """4.0 s suffice, 3.9 s do not."""
    time = STROKE_VOLUME / PUMP_FLOW * 399 / 400
    for by, holds in ((time * 1.02, True), (time * 0.98, False)):
        wish = expect(by=f"{by} s", at_least="399 mm")
        recording = run(with_procedure(expect=[wish]), "p", until=6.0)
        assert recording.expectations[0].holds is holds


def test_throughout_fails_when_it_was_once_not_so():
    """The pressure rises to the relief valve at the stop, and was low before."""
    low = expect("0S1.A.pressure", throughout=True, at_most="20 bar")
    wish = expect(by="8 s", at_least="399 mm")
    recording = run(with_procedure(expect=[low, wish]), "p")
    assert [e.holds for e in recording.expectations] == [False, True]
    assert recording.expectations[0].time == pytest.approx(STROKE_VOLUME / PUMP_FLOW, rel=0.02)
    assert not recording.holds


def test_a_run_that_only_decides_comes_to_the_same_answers():
    """`stop_when_decided` saves steps, never an answer; times agree within 2 %."""
    for by, holds in (("60 s", True), ("3 s", False)):
        circuit = with_procedure(expect=[expect(by=by, at_least="399 mm")])
        whole, short = run(circuit, "p"), run(circuit, "p", stop_when_decided=True)
        assert whole.holds is short.holds is holds
        if holds:
            times = whole.expectations[0].time, short.expectations[0].time
            assert times[1] == pytest.approx(times[0], rel=0.02)
            assert short.steps < whole.steps


def test_a_run_that_only_decides_does_not_stop_before_a_step_that_is_to_come():
    """Nothing moves until the pump starts at 30 s; that is no rest to stop at."""
    circuit = with_procedure(
        start={"0P1": {"running": False}},
        steps=[{"at": "30 s", "set": {"0P1": {"running": True}}}],
        expect=[expect(by="60 s", at_least="399 mm")],
    )
    assert run(circuit, "p", stop_when_decided=True).holds


def test_what_is_at_rest_is_not_run_to_the_end():
    """A pump that stands still is decided in a few steps, not at the end of an hour."""
    circuit = with_procedure(
        start={"0P1": {"running": False}}, expect=[expect(by="1 h", at_least="399 mm")]
    )
    recording = run(circuit, "p", stop_when_decided=True)
    assert not recording.holds
    assert recording.steps < 100


def test_signals_read_only_near_samples_give_the_same_samples(monkeypatch):
    """Reading everything at every step, as plain as can be, against reading it where needed."""
    circuit = with_procedure(
        start={"0P1": {"running": False}},
        steps=[{"at": "0.5 s", "set": {"0P1": {"running": True}}}],
        expect=[expect(by="6 s", at_least="390 mm")],
    )
    sparing = run(circuit, "p", every=0.37)
    monkeypatch.setattr("analysis.runs._Runner._samples_near", lambda self: True)
    plain = run(circuit, "p", every=0.37)
    assert sparing.time == plain.time
    assert sparing.signals == plain.signals


def test_an_unknown_procedure_names_those_there_are():
    """The mend is in the message."""
    with pytest.raises(UnknownElement, match="no procedure 'x'; the file has p"):
        run(with_procedure(), "x")


def test_a_value_without_unit_is_refused_with_its_place():
    """A bare number where a unit is needed is an error (contract, section 2)."""
    circuit = with_procedure(expect=[expect(by="9 s", at_least=399)])
    with pytest.raises(EditError, match="unit"):
        find_procedure(circuit, "p")
