"""A valve drawn as stuck stays where it is drawn, whatever a requirement or a procedure sets.

Contract, section 3: `stuck` keeps a valve or a cylinder where it is; section 4: faults are
respected. The distances and pressures are those of `test_failures._selector`: with the lever
at `left` the ram goes out in some seconds, at `centre` it does not move.
"""

from __future__ import annotations

from typing import Any

from analysis import Circuit, failures, run
from analysis.findings import Verdict
from analysis.requirements import evaluate_one


def press(position: str, fault: str = "none") -> Circuit:
    """A pressure source that a selector puts to a cylinder."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("pressure_source", id="0P1", pressure="50 bar")
    circuit.add("valve_4_3", id="1V1", position=position)
    circuit.set_value("1V1", "fault", fault, state=True)
    circuit.components["1V1"].labels = {"left": "OUT", "centre": "STOP", "right": "IN"}
    circuit.add("restrictor", id="1V2", rated_flow="5 L/min", rated_drop="20 bar")
    circuit.add("cylinder", id="1A1", bore="40 mm", rod_diameter="20 mm", stroke="100 mm")
    circuit.connect("0P1.outlet", "1V1.P")
    circuit.connect("1V1.A", "1V2.A")
    circuit.connect("1V2.B", "1A1.cap")
    circuit.connect("1A1.rod", "1V1.B")
    circuit.connect("1V1.T", "0Z1.return")
    return circuit


def reaches(circuit: Circuit, lever: dict[str, Any]) -> Verdict:
    """The verdict on reaching the cap with the lever set like that."""
    wanted = {"name": "r", "kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"]}
    return evaluate_one(circuit, {**wanted, "set": {"1V1": lever}})


def goes_out(circuit: Circuit, **parts: Any) -> bool:
    """Whether the ram is out 20 s after the lever was put to OUT."""
    steps = [{"at": "1 s", "set": {"1V1": {"position": "OUT"}}}]
    expect = [{"by": "20 s", "signal": "1A1.extension", "at_least": "99 mm"}]
    plan = {"name": "out", "steps": steps, "expect": expect, **parts}
    circuit.set_field("", "procedures", [plan])
    return run(circuit, "out", stop_when_decided=True).holds


def test_a_requirement_does_not_move_a_lever_that_is_drawn_stuck() -> None:
    """The same question on the sound valve, on one stuck in the way, on one stuck right."""
    lever = {"position": "OUT"}
    assert reaches(press("centre"), lever).holds
    stuck = reaches(press("centre", "stuck"), lever)
    assert not stuck.holds
    assert "1V1 is stuck at STOP" in stuck.message and stuck.witness == ("1V1",)
    assert reaches(press("left", "stuck"), {"position": "IN"}).holds


def test_a_lever_that_is_mended_in_the_same_breath_moves() -> None:
    """The requirement is about the circuit without that fault."""
    assert reaches(press("centre", "stuck"), {"position": "OUT", "fault": "none"}).holds


def test_what_sets_stuck_and_a_position_at_once_says_where_it_sticks() -> None:
    """On a valve that was free; one that sticks already is not moved by that either."""
    lever = {"position": "OUT", "fault": "stuck"}
    assert reaches(press("centre"), lever).holds
    assert not reaches(press("centre", "stuck"), lever).holds


def test_neither_start_nor_a_step_moves_a_lever_that_is_drawn_stuck() -> None:
    """A run of the procedure, and the event that says so."""
    assert goes_out(press("centre"))
    assert not goes_out(press("centre", "stuck"))
    assert not goes_out(press("centre", "stuck"), start={"1V1": {"position": "OUT"}})
    assert goes_out(press("left", "stuck"), start={"1V1": {"position": "STOP"}})
    circuit = press("centre", "stuck")
    goes_out(circuit)
    told = [event.message for event in run(circuit, "out").events if event.subject == "1V1"]
    assert told == ["position stays as it is: stuck"]


def test_a_lever_that_begins_to_stick_is_not_moved_by_the_next_step() -> None:
    """It sticks half a second before it is to be moved; mended, it moves again."""
    sticks = {"at": "0.5 s", "set": {"1V1": {"fault": "stuck"}}}
    moves = {"at": "1 s", "set": {"1V1": {"position": "OUT"}}}
    mended = {"at": "2 s", "set": {"1V1": {"fault": "none"}}}
    again = {"at": "3 s", "set": {"1V1": {"position": "OUT"}}}
    assert not goes_out(press("centre"), steps=[sticks, moves])
    assert goes_out(press("centre"), steps=[sticks, moves, mended, again])


def test_the_table_says_that_a_procedure_fails_by_the_valve_that_is_drawn_stuck() -> None:
    """It fails without any further failure, and no case counts it as lost."""
    circuit = press("centre", "stuck")
    goes_out(circuit)
    table = failures(circuit, workers=1)
    assert list(table.failing) == ["out"] and table.single_points == ()
