"""What relief valves protect and allow: rules beyond the pair of each in `rule_circuits`.

The relief valve of the power pack opens at 100 bar. Pressures that loads need are statics:
force over area, torque over displacement.
"""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from analysis.circuit import Circuit
from analysis.findings import Finding
from analysis.load_pressures import load_pressures
from analysis.rules import RULES, Sight
from tests.analysis.rule_circuits import PAIRS, power_pack

ABOVE, BELOW = "relief_above_rating", "relief_below_working_pressure"


def found(circuit: Circuit, name: str) -> list[Finding]:
    """What that rule finds in the circuit."""
    assert PAIRS
    return list(RULES[name].findings(Sight(circuit)))


# -- a relief valve that cannot let off protects nothing -----------------------------------


def test_a_relief_valve_without_a_line_home_protects_nothing() -> None:
    """It opens into a closed port."""
    circuit = power_pack()
    assert found(circuit, "pump_without_relief") == []
    circuit.remove("L3")
    assert [f.subjects for f in found(circuit, "pump_without_relief")] == [("0P1",)]


def test_a_relief_valve_drawn_stuck_closed_protects_nothing() -> None:
    """Nor is it a thermal relief valve for what is shut in."""
    circuit = power_pack()
    circuit.set_value("0V1", "fault", "stuck_closed", state=True)
    assert found(circuit, "pump_without_relief")
    circuit.set_value("0V1", "fault", "stuck_open", state=True)
    assert found(circuit, "pump_without_relief") == []
    locked = PAIRS["trapped_volume"](False)
    locked.set_value("1V3", "fault", "stuck_closed", state=True)
    assert found(locked, "trapped_volume")


# -- set above a rating --------------------------------------------------------------------


def _gauge_at_the_jack(limit: str) -> Circuit:
    circuit = power_pack()
    circuit.add("pressure_gauge", id="1S1", range=limit)
    circuit.connect("1A1.cap", "1S1.A")
    return circuit


def test_a_gauge_behind_a_valve_sees_the_pressure_of_the_relief_valve_too() -> None:
    """At the jack, behind the selector; its range decides."""
    assert [f.subjects for f in found(_gauge_at_the_jack("60 bar"), ABOVE)] == [("0V1", "1S1")]
    assert found(_gauge_at_the_jack("160 bar"), ABOVE) == []


def test_a_gauge_behind_a_reducing_valve_or_a_relief_valve_of_its_own_is_spared() -> None:
    """What stands there is not the 100 bar of the pump."""
    reduced = _gauge_at_the_jack("60 bar")
    reduced.remove("L8")
    reduced.add("reducing_valve", id="1V2", set_pressure="40 bar")
    reduced.connect("1V1.A", "1V2.inlet")
    reduced.connect("1V2.outlet", "1A1.cap")
    assert found(reduced, ABOVE) == []
    relieved = _gauge_at_the_jack("60 bar")
    relieved.add("relief_valve", id="1V3", set_pressure="50 bar")
    relieved.connect("1A1.cap", "1V3.inlet")
    relieved.connect("1V3.outlet", "0Z1.return")
    assert found(relieved, ABOVE) == []


@pytest.mark.parametrize(("rating", "speaks"), [("70 bar", True), ("170 bar", False)])
def test_a_motor_has_a_rating_too(rating: str, speaks: bool) -> None:
    """`rated_pressure` where somebody gave it."""
    circuit = power_pack()
    circuit.remove("1A1")
    circuit.add("hydraulic_motor", id="1M1", rated_pressure=rating)
    circuit.connect("1V1.A", "1M1.A")
    circuit.connect("1V1.B", "1M1.B")
    assert bool(found(circuit, ABOVE)) is speaks


# -- set below what the work takes ---------------------------------------------------------


@pytest.mark.parametrize(
    ("load", "speaks"), [("60 kN", True), ("15 kN", False), ("-15 kN", True), ("-12 kN", False)]
)
def test_a_load_that_the_relief_valve_does_not_let_lift_is_found(load: str, speaks: bool) -> None:
    """Bore 50 mm, rod 28 mm: 19.6 kN out and 13.5 kN home at 100 bar."""
    circuit = power_pack()
    circuit.set_value("1A1", "load", load)
    findings = found(circuit, BELOW)
    assert [f.subjects for f in findings] == ([("0V1", "1A1")] if speaks else [])
    if load == "60 kN":
        assert "306 bar" in findings[0].message


def test_a_throttle_or_reducing_valve_ahead_of_the_load_spares_nothing() -> None:
    """The pressure behind it is no higher."""
    circuit = power_pack()
    circuit.set_value("1A1", "load", "60 kN")
    circuit.remove("L8")
    circuit.add("restrictor", id="1V2")
    circuit.connect("1V1.A", "1V2.A")
    circuit.connect("1V2.B", "1A1.cap")
    assert found(circuit, BELOW)


def test_a_second_pump_that_comes_to_more_does_the_work() -> None:
    """The hand pump has a relief valve at 400 bar, or none at all: the load can be lifted."""
    for setting in ("400 bar", "200 bar", ""):
        circuit = power_pack()
        circuit.set_value("1A1", "load", "60 kN")
        circuit.add("hand_pump", id="0P2")
        circuit.add("check_valve", id="0V4")
        circuit.connect("0Z1.supply", "0P2.inlet")
        circuit.connect("0P2.outlet", "0V4.inlet")
        circuit.connect("0V4.outlet", "1V1.P")
        if setting:
            circuit.add("relief_valve", id="0V5", set_pressure=setting)
            circuit.connect("0P2.outlet", "0V5.inlet")
            circuit.connect("0V5.outlet", "0Z1.return")
        findings = found(circuit, BELOW)
        assert [f.subjects for f in findings] == ([("0V5", "1A1")] if setting == "200 bar" else [])


@pytest.mark.parametrize(("kind", "speaks"), [("sequence_valve", True), ("priority_valve", True)])
def test_a_valve_that_opens_above_the_relief_valve_never_opens(kind: str, speaks: bool) -> None:
    """Set at 200 bar behind 100; at 80 it does."""
    for setting, is_told in (("200 bar", speaks), ("80 bar", False)):
        circuit = power_pack()
        circuit.remove("L8")
        circuit.add(kind, id="1V2", set_pressure=setting)
        circuit.connect("1V1.A", "1V2.inlet")
        circuit.connect("1V2.outlet", "1A1.cap")
        assert bool(found(circuit, BELOW)) is is_told


@pytest.mark.parametrize(("cut_out", "speaks"), [("120 bar", True), ("90 bar", False)])
def test_an_unloading_valve_above_the_relief_valve_at_the_pump_never_cuts_out(
    cut_out: str, speaks: bool
) -> None:
    """The relief valve stands at the pump, ahead of the unloading valve."""
    circuit = power_pack()
    circuit.remove("0V2")
    circuit.add(
        "unloading_valve", id="0V3", cut_out_pressure=cut_out, cut_in_pressure="70 bar"
    )  # fmt: skip
    circuit.connect("0P1.outlet", "0V3.inlet")
    circuit.connect("0V3.outlet", "1V1.P")
    circuit.connect("0V3.return", "0Z1.return")
    assert [f.subjects for f in found(circuit, BELOW)] == ([("0V1", "0V3")] if speaks else [])


@pytest.mark.parametrize(
    ("kind", "settings", "pressures"),
    [
        ("cylinder", {"load": "-1000 N", "friction": "100 N"},
         {"rod": 1100 / (pi / 4 * (0.05**2 - 0.028**2))}),
        ("cylinder", {"load": [["0 mm", "500 N"], ["300 mm", "-500 N"]]},
         {"cap": 500 / (pi / 4 * 0.05**2), "rod": 500 / (pi / 4 * (0.05**2 - 0.028**2))}),
        ("cylinder", {}, {}),
        ("cylinder_double_rod", {"load": "1000 N"},
         {"left": 1000 / (pi / 4 * (0.05**2 - 0.028**2))}),
        ("cylinder_single_acting", {"load": "300 N", "spring_preload": "200 N"},
         {"cap": 500 / (pi / 4 * 0.05**2)}),
        ("hydraulic_motor", {"load_torque": "20 N*m", "displacement": "10 cm^3/rev"},
         {"A": 20 * 2 * pi / 10e-6, "B": 20 * 2 * pi / 10e-6}),
        ("semi_rotary_actuator", {"load_torque": "20 N*m", "displacement": "10 cm^3/rad"},
         {"A": 2e6, "B": 2e6}),
    ],
)  # fmt: skip
def test_what_a_load_needs_is_force_over_area(
    kind: str, settings: dict[str, Any], pressures: dict[str, float]
) -> None:
    """By hand; a port that no load opposes needs nothing."""
    circuit = Circuit()
    part = circuit.add(kind, id="1A1", **settings)
    assert load_pressures(part) == pytest.approx(pressures)


# -- other rules ---------------------------------------------------------------------------


def test_a_shut_off_valve_at_the_rod_end_can_hold_it_while_the_cap_is_pressed() -> None:
    """Closed, it shuts the rod end in as a throttle holds it back."""
    circuit = PAIRS["rod_end_intensification"](True)
    circuit.remove("1V2")
    circuit.add("shutoff_valve", id="1V3")
    circuit.connect("1V1.B", "1V3.A")
    circuit.connect("1V3.B", "1A1.rod")
    (finding,) = found(circuit, "rod_end_intensification")
    assert finding.subjects == ("1A1", "1V3")


@pytest.mark.parametrize(
    ("name", "speaks"),
    [
        ("Nose-wheel retraction jack", True), ("Tail wheel cylinder", True),
        ("Gear leg, left", True),
        ("Main gear door jack", False), ("Nose wheel steering jack", False),
        ("Gear uplock jack", False), ("Flap jack", False), ("Wheelhouse jack", False),
    ],
)  # fmt: skip
def test_what_a_jack_is_called_tells_whether_it_holds_a_leg(name: str, speaks: bool) -> None:
    """Doors, steering and locks are no legs."""
    circuit = PAIRS["gear_held_by_pressure_alone"](True)
    circuit.components["1A1"].name = name
    assert bool(found(circuit, "gear_held_by_pressure_alone")) is speaks


def test_an_emergency_pump_with_a_motor_keeps_to_the_reserve_as_well() -> None:
    """It is known by its name; the power pump beside it must leave it the reserve."""
    circuit = power_pack()
    pump = circuit.add("fixed_pump", id="0P2", name="Emergency pump", drive="electrical")
    circuit.connect("0Z1.standpipe", "0P2.inlet", "S2", role="suction")
    (finding,) = found(circuit, "emergency_pump_above_standpipe")
    assert finding.subjects == ("0P2", "0Z1") and "by hand" not in finding.message
    pump.name = "Second pump"
    assert found(circuit, "emergency_pump_above_standpipe") == []
    pump.name = "Standby pump"
    circuit.remove("S2")
    circuit.connect("0Z1.supply", "0P2.inlet")
    assert found(circuit, "reserve_not_kept") == []
    circuit.remove("L1")
    circuit.connect("0Z1.supply", "0P1.inlet")
    assert [f.subjects for f in found(circuit, "reserve_not_kept")] == [("0P1", "0P2", "0Z1")]
