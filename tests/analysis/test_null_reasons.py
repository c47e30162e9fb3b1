"""Contract, section 6: what has no value over time is null with a reason beside it."""

from __future__ import annotations

import json

import pytest

from analysis import Circuit, readings, run, write_circuit
from analysis.procedures import Procedure, Step
from analysis.recording import Recording
from editor.command_line import main
from tests.support.random_circuits import random_circuit
from tests.support.random_work import random_work


def _dead_head() -> Circuit:
    """A pump on a shut-off valve and the cap of a cylinder that cannot move on."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="1 L", capacity="4 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.add("cylinder", id="1A1", bore="40 mm", rod_diameter="20 mm", stroke="100 mm",
                extension="100 mm")  # fmt: skip
    circuit.connect("0Z1.supply", "0P1.inlet", id="L1", role="suction")
    circuit.connect("0P1.outlet", "1A1.cap", id="L2")
    circuit.connect("1A1.rod", "0Z1.return", id="L3", role="return")
    return circuit


def _check_all_told(recording: Recording) -> None:
    """A reason for every signal with a null, and for no other."""
    nulls = {name for name, values in recording.signals.items() if None in values}
    assert set(recording.reasons) == nulls
    assert all(recording.reasons.values())


def test_what_nothing_limits_says_so():
    """The pressure in the words of the readings, and the force that would follow from it."""
    recording = run(_dead_head(), until=2.0)
    _check_all_told(recording)
    reasons = recording.reasons
    assert reasons["0P1.outlet.pressure"] == "nothing limits the pressure here"
    assert reasons["1A1.cap.pressure"] == readings(_dead_head()).reasons["1A1.cap"]
    assert reasons["1A1.force"] == "nothing limits the pressure at 1A1.cap"
    assert "1A1.rod.pressure" not in reasons


def test_a_flow_that_the_balance_leaves_open_says_so():
    """Two lines without loss between the same ports; a ruptured line."""
    circuit = _dead_head()
    circuit.connect("0Z1.supply", "0P1.inlet", id="L4", role="suction")
    circuit.set_value("L2", "fault", "ruptured", state=True)
    recording = run(circuit, until=2.0)
    _check_all_told(recording)
    assert recording.reasons["L1.flow"] == "lines without loss leave this flow open"
    assert recording.reasons["L2.flow"] == "the line is ruptured: what reaches it is spilt"


def test_a_signal_that_comes_or_goes_is_null_meanwhile():
    """A lock is fitted, one is taken away: the columns are as long as the time."""
    circuit = _dead_head()
    circuit.set_value("0P1", "running", False, state=True)
    circuit.add("cylinder", id="1A2", lock="retracted")
    steps = [Step({"1A1": {"lock": "extended"}, "1A2": {"lock": "none"}}, at=1.0)]
    recording = run(circuit, Procedure("locks", {}, steps, []), until=2.0, every=0.5)
    assert {len(values) for values in recording.signals.values()} == {5}
    assert recording.signals["1A1.lock"][0] is None
    assert recording.signals["1A1.lock"][-1] in ("locked", "released")
    assert recording.signals["1A2.lock"][0] == "locked"
    assert recording.signals["1A2.lock"][-1] is None
    absent = "there is nothing of this name to read at some of the times"
    assert recording.reasons["1A1.lock"] == recording.reasons["1A2.lock"] == absent
    _check_all_told(recording)


@pytest.mark.parametrize("number", range(12))
def test_random_work_leaves_no_null_without_a_reason(number):
    """Any circuit, worked in any way."""
    circuit = random_circuit(number, least=5, most=20)
    _check_all_told(run(circuit, random_work(circuit, number, 10.0), until=10.0))


def test_json_has_the_reasons_beside_the_signals(tmp_path, capsys):
    """`run --json`: by name of the signal; an empty object where all have values."""
    file = str(tmp_path / "dead_head.circuit.json")
    write_circuit(_dead_head(), file)
    assert main(["run", file, "--until", "2 s", "--signal", "1A1.cap.pressure", "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert form["signals"]["1A1.cap.pressure"][-1] is None
    assert form["reasons"] == {"1A1.cap.pressure": "nothing limits the pressure here"}
    assert main(["run", file, "--until", "2 s", "--signal", "0Z1.volume", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["reasons"] == {}
