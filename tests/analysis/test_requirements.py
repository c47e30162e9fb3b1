"""Requirements on circuits small enough to trace with a finger; each verdict with its witness."""

from __future__ import annotations

from typing import Any

import pytest

from analysis.circuit import Circuit
from analysis.findings import Verdict
from analysis.requirements import evaluate, evaluate_one


def gear_and_flaps() -> Circuit:
    """A main pump works gear and flaps; an emergency hand pump with a reservoir of its own
    lowers the gear alone, through a shuttle valve."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1", name="main pump")
    circuit.add("check_valve", id="0V1")
    circuit.add("junction", id="0Z2")
    circuit.add("valve_4_3", id="1V1", centre="closed")
    circuit.components["1V1"].labels = {"left": "DOWN", "right": "UP", "centre": "NEUTRAL"}
    circuit.add("shuttle_valve", id="1V2")
    circuit.add("cylinder", id="1A1", name="gear")
    circuit.add("valve_4_3", id="2V1", centre="closed")
    circuit.add("cylinder", id="2A1", name="flaps")
    circuit.add("reservoir", id="3Z1")
    circuit.add("hand_pump", id="3P1", name="emergency pump")
    circuit.add("valve_3_2", id="3V1")
    for start, end, name in (
        ("0Z1.supply", "0P1.inlet", "L1"),
        ("0P1.outlet", "0V1.inlet", "L2"),
        ("0V1.outlet", "0Z2.A", "L3"),
        ("0Z2.A", "1V1.P", "L4"),
        ("0Z2.A", "2V1.P", "L5"),
        ("1V1.T", "0Z1.return", "L6"),
        ("2V1.T", "0Z1.return", "L7"),
        ("1V1.A", "1V2.inlet_1", "L8"),
        ("1V2.outlet", "1A1.cap", "L9"),
        ("1A1.rod", "1V1.B", "L10"),
        ("2V1.A", "2A1.cap", "L11"),
        ("2V1.B", "2A1.rod", "L12"),
        ("3Z1.supply", "3P1.inlet", "L13"),
        ("3P1.outlet", "3V1.P", "L14"),
        ("3V1.A", "1V2.inlet_2", "L15"),
        ("3V1.T", "3Z1.return", "L16"),
    ):
        circuit.connect(start, end, name)
    return circuit


def ask(circuit: Circuit, kind: str, **wanted: Any) -> Verdict:
    """One requirement; `sources` stands for `from`."""
    wanted["from"] = wanted.pop("sources", ["3P1"])
    wanted.setdefault("targets", ["1A1.cap"])
    return evaluate_one(circuit, {"name": "asked", "kind": kind, **wanted})


DOWN = {"1V1": {"position": "DOWN"}, "3V1": {"position": "left"}}
EMERGENCY_WAY = ("3P1", "L14", "3V1", "L15", "1V2", "L9", "1A1")


def test_the_emergency_pump_lowers_the_gear_and_nothing_else() -> None:
    """The sound circuit, levers set by their labels; the way is given in order."""
    verdict = ask(gear_and_flaps(), "reaches_only", set=DOWN)
    assert verdict.holds
    assert verdict.witness == EMERGENCY_WAY
    assert verdict.ways[0][:2] == ("3Z1", "L13")
    assert verdict.ways[1] == ("1A1", "L10", "1V1", "L6", "0Z1")
    assert "3P1 (emergency pump) reaches 1A1.cap (gear)" in verdict.message


def test_setting_the_lever_changes_nothing_in_the_circuit() -> None:
    """The levers are set for the question only."""
    circuit = gear_and_flaps()
    ask(circuit, "reaches", set=DOWN)
    assert circuit.components["1V1"].state == {} and circuit.revision == gear_and_flaps().revision


def test_a_line_moved_to_the_flaps_is_a_stray_way() -> None:
    """The wrong copy: the emergency line also leads to the flap line."""
    circuit = gear_and_flaps()
    circuit.connect("3V1.A", "2A1.cap", "L17")
    verdict = ask(circuit, "reaches_only", set=DOWN)
    assert not verdict.holds
    assert verdict.witness == ("3P1", "L14", "3V1", "L17", "2A1")
    assert "2A1.cap (flaps)" in verdict.message
    assert ask(circuit, "reaches", set=DOWN).holds


def test_a_lever_in_neutral_stops_the_way_and_is_named() -> None:
    """Where the lever stands is given by the user's own word for it."""
    verdict = ask(gear_and_flaps(), "reaches", sources=["0P1"])
    assert not verdict.holds
    assert verdict.witness == ("1V1",)
    assert "1V1 stands at NEUTRAL" in verdict.message


def test_a_reversed_check_valve_is_caught_and_named() -> None:
    """The wrong copy: the check valve behind the pump is the wrong way round."""
    circuit = gear_and_flaps()
    circuit.remove("L2")
    circuit.remove("L3")
    circuit.connect("0P1.outlet", "0V1.outlet", "L2")
    circuit.connect("0V1.inlet", "0Z2.A", "L3")
    verdict = ask(circuit, "reaches", sources=["0P1"], set=DOWN)
    assert not verdict.holds
    assert verdict.witness == ("0V1",)


@pytest.mark.parametrize("fault", ["blocked", "ruptured"])
def test_a_broken_line_carries_nothing(fault: str) -> None:
    """A fault may be put into a line by `set`."""
    verdict = ask(gear_and_flaps(), "reaches", set={**DOWN, "L15": {"fault": fault}})
    assert not verdict.holds
    assert verdict.witness == ("L15",) and f"L15 is {fault}" in verdict.message


def test_a_target_whose_other_side_is_shut_is_not_moved() -> None:
    """Pressure on the cap alone lowers nothing: the rod side must get rid of its fluid."""
    circuit = gear_and_flaps()
    verdict = ask(circuit, "reaches", set={**DOWN, "1V1": {"position": "NEUTRAL"}})
    assert not verdict.holds
    assert "Nothing can return from 1A1.rod" in verdict.message
    assert "1V1" in verdict.witness


def test_a_return_passes_a_shuttle_only_to_a_side_without_pressure() -> None:
    """Raising, the cap side empties through the shuttle: to the inlet that leads home, as
    long as no pressure stands there."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("pressure_source", id="0P1")
    circuit.add("shuttle_valve", id="1V1")
    circuit.add("cylinder", id="1A1")
    circuit.connect("0P1.outlet", "1A1.rod")
    circuit.connect("1A1.cap", "1V1.outlet")
    circuit.connect("1V1.inlet_1", "0Z1.return")
    wanted: dict[str, Any] = {"sources": ["0P1"], "targets": ["1A1.rod"]}
    assert ask(circuit, "reaches", **wanted).holds
    circuit.add("restrictor", id="0V1")
    circuit.connect("0P1.outlet", "0V1.A")
    circuit.connect("0V1.B", "1V1.inlet_1")
    verdict = ask(circuit, "reaches", **wanted)
    assert not verdict.holds and verdict.witness == ("1V1",)


def test_a_pump_that_is_not_named_carries_nothing() -> None:
    """Two pumps one behind the other: the second must be named too."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1")
    circuit.add("fixed_pump", id="0P2")
    circuit.add("cylinder_single_acting", id="1A1")
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "0P2.inlet")
    circuit.connect("0P2.outlet", "1A1.cap")
    verdict = ask(circuit, "reaches", sources=["0P1"])
    assert not verdict.holds and verdict.witness == ("0P2",)
    assert ask(circuit, "reaches", sources=["0P1", "0P2"]).holds


def test_running_is_not_looked_at_but_no_output_is() -> None:
    """A switch that is off is not a failed pump."""
    circuit = gear_and_flaps()
    circuit.set_value("3P1", "running", False, state=True)
    assert ask(circuit, "reaches", set=DOWN).holds
    dead = {**DOWN, "3P1": {"fault": "no_output"}}
    verdict = ask(circuit, "reaches", set=dead)
    assert not verdict.holds and "gives no output" in verdict.message
    assert ask(circuit, "reaches_none", set=dead).holds


def test_only_supply_and_standpipe_feed() -> None:
    """A pump that draws from the return port has no way."""
    circuit = gear_and_flaps()
    circuit.remove("L13")
    circuit.connect("3Z1.return", "3P1.inlet", "L13")
    verdict = ask(circuit, "reaches", set=DOWN)
    assert not verdict.holds and verdict.witness == ("3P1",)
    circuit.connect("3Z1.standpipe", "3P1.inlet", "L18")
    assert ask(circuit, "reaches", set=DOWN).holds


def test_lines_that_meet_at_a_reservoir_port_are_not_joined() -> None:
    """The return line of one valve is no pressure line for another."""
    circuit = gear_and_flaps()
    circuit.connect("3V1.A", "0Z1.return", "L17")
    assert ask(circuit, "reaches_only", set=DOWN).holds


def test_a_way_meets_no_port_twice() -> None:
    """A pump whose delivery can only get on through its own suction line gets nowhere."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("junction", id="0Z2")
    circuit.add("hand_pump", id="0P1")
    circuit.add("cylinder_single_acting", id="1A1")
    circuit.connect("0Z1.supply", "0Z2.A")
    circuit.connect("0Z2.A", "0P1.inlet")
    circuit.connect("0P1.outlet", "0Z2.A")
    circuit.connect("0Z2.A", "1A1.cap")
    assert not ask(circuit, "reaches", sources=["0P1"]).holds
    circuit.connect("0Z1.standpipe", "0P1.inlet")
    assert ask(circuit, "reaches", sources=["0P1"]).holds


def jack_on_lock_valve(pilot_from: str) -> Circuit:
    """A jack held up by a pilot-operated check valve in its cap line."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("hand_pump", id="0P1")
    circuit.add("pressure_source", id="0P2")
    circuit.add("valve_4_2", id="1V1")
    circuit.add("pilot_check_valve", id="1V2")
    circuit.add("cylinder", id="1A1")
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "1V1.P")
    circuit.connect("1V1.T", "0Z1.return")
    circuit.connect("1V1.A", "1V2.inlet")
    circuit.connect("1V2.outlet", "1A1.cap")
    circuit.connect("1V1.B", "1A1.rod")
    circuit.connect(pilot_from, "1V2.pilot")
    return circuit


def test_a_pilot_opens_only_if_it_is_reached_itself() -> None:
    """Lowering needs the pilot on the rod line; on another source's line it opens only
    where that source is named."""
    down = {"1V1": {"position": "right"}}
    wanted: dict[str, Any] = {"sources": ["0P1"], "targets": ["1A1.rod"], "set": down}
    assert ask(jack_on_lock_valve("1A1.rod"), "reaches", **wanted).holds
    circuit = jack_on_lock_valve("0P2.outlet")
    verdict = ask(circuit, "reaches", **wanted)
    assert not verdict.holds and "the pilot of 1V2 is not under pressure" in verdict.message
    wanted["sources"] = ["0P2"]
    assert not ask(circuit, "reaches", **{**wanted, "targets": ["1A1.rod"]}).holds
    circuit.connect("0P2.outlet", "1V1.P")
    assert ask(circuit, "reaches", **{**wanted, "targets": ["1A1.rod"]}).holds


def test_a_counterbalance_valve_is_free_one_way_and_piloted_the_other() -> None:
    """Outlet to inlet always; inlet to outlet where the pilot is reached."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1")
    circuit.add("counterbalance_valve", id="0V1")
    circuit.add("cylinder_single_acting", id="1A1")
    free = circuit.connect("0P1.outlet", "0V1.outlet").id
    circuit.connect("0V1.inlet", "1A1.cap")
    assert ask(circuit, "reaches", sources=["0P1"]).holds
    circuit.remove(free)
    circuit.remove("L2")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.outlet", "1A1.cap")
    assert not ask(circuit, "reaches", sources=["0P1"]).holds
    circuit.connect("0P1.outlet", "0V1.pilot")
    assert ask(circuit, "reaches", sources=["0P1"]).holds


def winch(by_pass: bool) -> Circuit:
    """A motor between pump and reservoir, with a by-pass line if wanted."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1")
    circuit.add("hydraulic_motor", id="1M1")
    circuit.connect("0Z1.supply", "0P1.inlet")
    circuit.connect("0P1.outlet", "1M1.A")
    circuit.connect("1M1.B", "0Z1.return")
    if by_pass:
        circuit.add("restrictor", id="1V1")
        circuit.connect("0P1.outlet", "1V1.A")
        circuit.connect("1V1.B", "1M1.B")
    return circuit


def test_what_has_gone_through_the_targets_own_motor_is_no_stray() -> None:
    """Its other port counts only if something else leads there."""
    wanted: dict[str, Any] = {"sources": ["0P1"], "targets": ["1M1.A"]}
    assert ask(winch(by_pass=False), "reaches_only", **wanted).holds
    verdict = ask(winch(by_pass=True), "reaches_only", **wanted)
    assert not verdict.holds and "1V1" in verdict.witness


def test_relief_valves_reservoirs_and_cylinders_are_no_way() -> None:
    """Nothing gets across them."""
    circuit = gear_and_flaps()
    circuit.add("relief_valve", id="0V9")
    circuit.connect("3P1.outlet", "0V9.inlet")
    circuit.connect("0V9.outlet", "2A1.cap")
    circuit.connect("2A1.rod", "2V1.A")
    assert ask(circuit, "reaches_only", set=DOWN).holds


# -- independent ----------------------------------------------------------------------------


def test_the_two_ways_share_the_shuttle_and_the_last_line() -> None:
    """What is shared is named, in the order of the file; the target itself is not."""
    verdict = ask(gear_and_flaps(), "independent", other=["0P1"], set=DOWN)
    assert not verdict.holds
    assert verdict.witness == ("1V2", "L9")
    assert "share 1V2 and L9" in verdict.message


def test_what_they_may_share_is_excepted() -> None:
    """The shuttle and the line behind it cannot be had twice."""
    wanted: dict[str, Any] = {"other": ["0P1"], "may_share": ["1V2", "L9"]}
    verdict = ask(gear_and_flaps(), "independent", set=DOWN, **wanted)
    assert verdict.holds and verdict.witness == ()


def test_a_common_reservoir_counts() -> None:
    """The same tank for both pumps is a shared part, by whichever outlet."""
    circuit = gear_and_flaps()
    circuit.remove("L13")
    circuit.connect("0Z1.standpipe", "3P1.inlet", "L13")
    wanted: dict[str, Any] = {"other": ["0P1"], "may_share": ["1V2", "L9"], "set": DOWN}
    verdict = ask(circuit, "independent", **wanted)
    assert not verdict.holds and verdict.witness == ("0Z1",)
    wanted["may_share"].append("0Z1")
    assert ask(circuit, "independent", **wanted).holds


def test_a_gauge_on_a_branch_lies_on_no_way() -> None:
    """A walk could visit it and come back; a way cannot."""
    circuit = gear_and_flaps()
    circuit.add("pressure_gauge", id="0S1")
    circuit.connect("1V2.outlet", "0S1.A", "L17")
    wanted: dict[str, Any] = {"other": ["0P1"], "may_share": ["1V2", "L9"]}
    assert ask(circuit, "independent", set=DOWN, **wanted).holds


def test_a_side_without_a_way_is_not_independent_and_is_named() -> None:
    """Nothing shared is no comfort where one side reaches nothing."""
    verdict = ask(gear_and_flaps(), "independent", other=["0P1"], set={"3V1": {"position": "left"}})
    assert not verdict.holds
    assert "no way from 0P1 (main pump) to 1A1.cap (gear)" in verdict.message


# -- what cannot be read ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wanted", "message"),
    [
        ({"kind": "reaches_all"}, "no kind of requirement"),
        ({"kind": "reaches", "from": ["9P9"], "targets": ["1A1.cap"]}, "no component '9P9'"),
        ({"kind": "reaches", "from": ["0V1"], "targets": ["1A1.cap"]}, "0V1 supplies nothing"),
        ({"kind": "reaches", "from": [], "targets": ["1A1.cap"]}, "names no source"),
        ({"kind": "reaches", "from": ["0P1"]}, "names no targets"),
        ({"kind": "reaches", "from": ["0P1"], "targets": ["1A1"]}, "like 1A1.cap"),
        ({"kind": "reaches", "from": ["0P1"], "targets": ["1A1.top"]}, "has no port 'top'"),
        ({"kind": "reaches", "from": ["0P1"], "targets": [3]}, "list of ids"),
        (
            {"kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"],
             "set": {"1V1": {"position": "SIDEWAYS"}}},
            "must be one of DOWN, NEUTRAL, UP",
        ),
        (
            {"kind": "reaches", "from": ["0P1"], "targets": ["1A1.cap"], "set": {"1V1": "DOWN"}},
            "name what to set",
        ),
        (
            {"kind": "independent", "from": ["0P1"], "targets": ["1A1.cap"]},
            "'other' names no source",
        ),
        (
            {"kind": "independent", "from": ["0P1"], "other": ["3P1"], "targets": ["1A1.cap"],
             "may_share": ["9Z9"]},
            "'9Z9'",
        ),
    ],
)  # fmt: skip
def test_a_requirement_that_cannot_be_read_fails_and_says_why(
    wanted: dict[str, Any], message: str
) -> None:
    """Never a traceback, never a silent pass."""
    circuit = gear_and_flaps()
    circuit.set_field("", "requirements", [wanted])
    (verdict,) = evaluate(circuit)
    assert not verdict.holds and message in verdict.message


def test_what_is_not_evaluated_does_not_hold() -> None:
    """`survives` of a procedure that does not exist is never passed over."""
    verdict = ask(gear_and_flaps(), "survives", procedure="none of this name")
    assert not verdict.holds and verdict.message
