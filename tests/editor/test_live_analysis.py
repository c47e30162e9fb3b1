"""Readings and findings follow the circuit by themselves, and never stop the program."""

import sys
import threading
from time import sleep

import pytest

import editor.live_analysis as live_analysis
from analysis.circuit import Circuit
from editor.live_analysis import LiveAnalysis

PSI = 6894.757293168361  # NIST SP 811, appendix B (from memory)


@pytest.fixture
def circuit():
    """A source that holds 1000 psi against a plug: the plug reads 1000 psi (Pascal's law)."""
    made = Circuit()
    made.add("pressure_source", id="0P1", pressure="1000 psi")
    made.add("plug", id="0Z1")
    made.connect("0P1.outlet", "0Z1.A")
    return made


@pytest.fixture
def live(circuit, qtbot):
    """Readings and findings of it, both there."""
    made = LiveAnalysis(circuit)
    qtbot.waitUntil(lambda: made.readings is not None and made.is_current, timeout=20000)
    qtbot.waitUntil(lambda: made.check is not None and made.is_check_current, timeout=20000)
    yield made
    made.close()


def test_a_change_is_answered_by_itself(circuit, live, qtbot):
    """Nobody asks: the new pressure is read after the change."""
    assert live.readings.pressures["0Z1.A"] == pytest.approx(1000 * PSI, rel=1e-6)
    with qtbot.waitSignal(live.readings_changed, timeout=10000):
        circuit.set_value("0P1", "pressure", "500 psi")
    assert live.readings.pressures["0Z1.A"] == pytest.approx(500 * PSI, rel=1e-6)
    assert live.elapsed_ms > 0


def test_changes_of_one_gesture_are_answered_once(circuit, live, qtbot):
    """Twenty changes in one turn of the event loop cost one computation."""
    told = []
    live.readings_changed.connect(lambda: told.append(live.readings))
    for psi in range(100, 120):
        circuit.set_value("0P1", "pressure", f"{psi} psi")
    qtbot.waitUntil(lambda: told != [] and live.is_current, timeout=10000)
    # a slow machine may have begun one in the thread; never one for each change
    assert len(told) <= 2
    assert told[-1].pressures["0Z1.A"] == pytest.approx(119 * PSI, rel=1e-6)


def test_moving_a_part_computes_nothing(circuit, live, qtbot):
    """Where a part is drawn does not change a pressure."""
    before = live.readings
    circuit.set_field("0P1", "at", (10, 20))
    assert live.is_current
    assert live.readings is before


def test_a_slow_circuit_is_computed_in_a_thread(circuit, live, qtbot, monkeypatch):
    """After a slow computation the next one leaves the GUI thread free; the last change counts."""
    threads, may_end, compute = [], threading.Event(), live._readings_job._compute

    def watched(twin):
        threads.append(threading.current_thread())
        assert may_end.wait(10)
        return compute(twin)

    monkeypatch.setattr(live._readings_job, "_compute", watched)
    live._readings_job.cost_ms = live_analysis.SLOW_MS + 1
    circuit.set_value("0P1", "pressure", "300 psi")
    qtbot.waitUntil(lambda: threads != [], timeout=5000)
    assert live._readings_job.busy and not live.is_current
    circuit.set_value("0P1", "pressure", "400 psi")  # while it computes
    qtbot.wait(20)
    may_end.set()
    qtbot.waitUntil(lambda: live.is_current, timeout=20000)
    assert threads[0] is not threading.main_thread()
    assert live.readings.pressures["0Z1.A"] == pytest.approx(400 * PSI, rel=1e-6)


def test_waiting_for_the_machine_is_no_reason_for_a_thread(circuit, live, qtbot, monkeypatch):
    """What takes long by the clock alone, since other work has the processor, stays quick."""
    threads, compute = [], live._readings_job._compute

    def delayed(twin):
        threads.append(threading.current_thread())
        sleep(2e-3 * live_analysis.SLOW_MS)
        return compute(twin)

    monkeypatch.setattr(live._readings_job, "_compute", delayed)
    for psi in (300, 400):
        circuit.set_value("0P1", "pressure", f"{psi} psi")
        qtbot.waitUntil(lambda: live.is_current, timeout=20000)
        assert live.elapsed_ms > live_analysis.SLOW_MS
    assert threads == [threading.main_thread()] * 2


def test_what_cannot_be_computed_is_said_and_shows_no_old_number(circuit, live, qtbot):
    """A temperature at which no liquid is known: no readings, one line, and it recovers."""
    with qtbot.waitSignal(live.failed, timeout=10000) as failure:
        circuit.set_field("", "fluid", {"temperature": "900 degC"})
    assert "900" in failure.args[0] and "\n" not in failure.args[0]
    assert live.readings is None and live.problem == failure.args[0]
    circuit.set_field("", "fluid", {})
    qtbot.waitUntil(lambda: live.readings is not None, timeout=10000)
    assert live.problem == ""


def test_even_a_bug_in_the_analysis_is_one_line(circuit, live, qtbot, monkeypatch):
    """Whatever is raised, drawing goes on."""

    def broken(*_arguments, **_options):
        raise ZeroDivisionError("by the test")

    monkeypatch.setattr(sys.modules["analysis.readings"], "readings", broken)
    with qtbot.waitSignal(live.failed, timeout=10000) as failure:
        circuit.set_value("0P1", "pressure", "1 psi")
    assert "ZeroDivisionError" in failure.args[0]


def test_findings_follow_when_the_circuit_rests(circuit, live, qtbot):
    """An actuator without a line is found after a moment."""
    circuit.add("cylinder", id="1A1")
    qtbot.waitUntil(
        lambda: live.is_check_current and any("1A1" in f.subjects for f in live.check.findings),
        timeout=20000,
    )
    assert not live.check.ok


def test_after_close_nothing_is_computed(circuit, qtbot):
    """A closed analysis answers no change."""
    closed = LiveAnalysis(circuit)
    closed.close()
    circuit.set_value("0P1", "pressure", "2 psi")
    assert closed.is_current and closed.readings is None
