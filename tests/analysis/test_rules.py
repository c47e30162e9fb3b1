"""Every design rule against a circuit that breaks it and its twin that does not."""

from __future__ import annotations

from math import pi

import pytest

from analysis.all_rules import MODULES
from analysis.checks import check
from analysis.circuit import Circuit
from analysis.findings import Finding
from analysis.rules import RULES, Sight
from analysis.rules_protection import rod_end_ratio
from tests.analysis.rule_circuits import PAIRS, power_pack


def found(circuit: Circuit, name: str) -> list[Finding]:
    """What that rule finds in the circuit."""
    return list(RULES[name].findings(Sight(circuit)))


def test_every_rule_has_its_pair_of_circuits() -> None:
    """No rule without a circuit that breaks it, no circuit without a rule."""
    assert MODULES and set(PAIRS) == set(RULES)


@pytest.mark.parametrize("name", PAIRS)
def test_the_broken_circuit_is_found_and_its_twin_is_not(name: str) -> None:
    """The rule speaks exactly where it is broken, and names a part that is there."""
    circuit = PAIRS[name](True)
    findings = found(circuit, name)
    assert findings, f"{name} does not see the broken circuit"
    for finding in findings:
        assert finding.rule == name and finding.message.endswith(".") and finding.mend
        assert finding.subjects and all(subject in circuit for subject in finding.subjects)
    assert found(PAIRS[name](False), name) == []


@pytest.mark.parametrize("name", RULES)
def test_a_rule_names_its_source(name: str) -> None:
    """A source is a title, or says that it is from memory or common practice."""
    rule = RULES[name]
    assert len(rule.source) > 8 and rule.severity in ("error", "warning", "note")
    assert rule.find.__doc__


def test_a_sound_power_pack_has_no_error_and_no_design_warning() -> None:
    """The twin of most pairs is clean: no rule cries wolf."""
    result = check(power_pack())
    assert [f for f in result.findings if f.severity != "note"] == []
    assert result.ok


# -- single rules, where one pair is not enough --------------------------------------------


def test_a_relief_valve_behind_a_check_valve_protects_the_pump() -> None:
    """The pump's own flow opens the check valve; nothing there can close."""
    circuit = power_pack()
    circuit.remove("L2")
    circuit.connect("0V2.outlet", "0V1.inlet")
    assert found(circuit, "pump_without_relief") == []


def test_a_rating_that_nobody_gave_proves_nothing() -> None:
    """The default range of a gauge is no reading of its dial."""
    circuit = power_pack()
    circuit.add("pressure_gauge", id="0S1")
    circuit.connect("0P1.outlet", "0S1.A")
    circuit.set_value("0V1", "set_pressure", "300 bar")
    assert found(circuit, "relief_above_rating") == []


def test_the_rod_end_carries_cap_area_over_rod_end_area() -> None:
    """Statics, p·A_cap/A_rod-end: bore 2 in, rod 1.414 in gives twice the pressure."""
    assert rod_end_ratio(2.0, 2.0**0.5) == pytest.approx(2.0)
    cap, rod_end = pi / 4 * 0.05**2, pi / 4 * (0.05**2 - 0.04**2)
    message = found(PAIRS["rod_end_intensification"](True), "rod_end_intensification")[0].message
    assert f"{cap / rod_end:.2f} times" in message


def test_a_lock_valve_with_too_small_a_pilot_ratio_never_opens() -> None:
    """At the rod end the pilot must beat the area ratio (2.78 here)."""
    for ratio, speaks in ((2.5, True), (4.0, False)):
        circuit = PAIRS["rod_end_intensification"](True)
        circuit.remove("1V2")
        circuit.add("pilot_check_valve", id="1V3", pilot_ratio=ratio)
        circuit.connect("1V1.B", "1V3.inlet")
        circuit.connect("1V3.outlet", "1A1.rod")
        circuit.connect("1A1.cap", "1V3.pilot")
        assert bool(found(circuit, "rod_end_intensification")) is speaks


def test_an_accumulator_may_be_shut_off_instead_of_emptied() -> None:
    """ISO 4413: vented or isolated (as paraphrased in course notes)."""
    circuit = PAIRS["accumulator_stays_charged"](True)
    for line in circuit.lines_at("0Z3.fluid"):
        circuit.remove(line.id)
    circuit.add("shutoff_valve", id="0V3")
    circuit.connect("0Z3.fluid", "0V3.A")
    circuit.connect("0V3.B", "0V2.outlet")
    assert found(circuit, "accumulator_stays_charged") == []


def test_a_full_reservoir_overflows_when_the_rods_come_home() -> None:
    """Rod of 28 mm, 2 m out: 1.23 L come back; by hand, π/4·0.028²·2 = 1.2315e-3 m³."""
    circuit = PAIRS["reservoir_too_small"](False)
    circuit.set_value("1A1", "extension", "2 m", state=True)
    circuit.set_value("0Z1", "volume", "18.7 L", state=True)
    assert found(circuit, "reservoir_too_small") == []
    circuit.set_value("0Z1", "volume", "18.8 L", state=True)
    (finding,) = found(circuit, "reservoir_too_small")
    assert "overflows" in finding.message and "1.23 L" in finding.message


def test_gear_that_its_load_holds_down_needs_no_lock() -> None:
    """A leg that hangs over centre is held by its own weight."""
    circuit = PAIRS["gear_held_by_pressure_alone"](True)
    circuit.set_value("1A1", "load", [["0 mm", "500 N"], ["300 mm", "-500 N"]])
    assert found(circuit, "gear_held_by_pressure_alone") == []


def test_two_fluids_of_one_base_are_a_warning_of_two_bases_an_error() -> None:
    """Mineral with mineral dilutes; mineral with ester destroys seals."""
    circuit = PAIRS["mixed_fluids"](True)
    assert found(circuit, "mixed_fluids")[0].severity == "error"
    circuit.set_value("2Z1", "liquid", "ISO VG 32")
    assert found(circuit, "mixed_fluids")[0].severity == "warning"


@pytest.mark.parametrize("reversed_by_a_lever", [False, True])
def test_a_filter_ahead_of_a_motor_is_passed_backward_only_if_a_lever_reverses_it(
    reversed_by_a_lever: bool,
) -> None:
    """Common practice: a motor hands on what it takes; a jack gives back what it took."""
    circuit = power_pack()
    circuit.add("hydraulic_motor", id="2M1")
    circuit.add("filter", id="2Z1")
    circuit.connect("2Z1.outlet", "2M1.A")
    if reversed_by_a_lever:
        circuit.add("valve_4_3", id="2V1")
        circuit.connect("0V2.outlet", "2V1.P")
        circuit.connect("2V1.T", "0Z1.return")
        circuit.connect("2V1.A", "2Z1.inlet")
        circuit.connect("2V1.B", "2M1.B")
    else:
        circuit.add("check_valve", id="2V1")
        circuit.connect("0V2.outlet", "2V1.inlet")
        circuit.connect("2V1.outlet", "2Z1.inlet")
        circuit.connect("2M1.B", "0Z1.return")
    found = [f for f in check(circuit).findings if f.rule == "filter_passed_backward"]
    assert [f.subjects for f in found] == ([("2Z1", "2M1")] if reversed_by_a_lever else [])


def test_lines_that_meet_at_a_port_are_a_joint_and_no_crossing() -> None:
    """Two lines to one port, and one that runs over a stranger's port."""
    circuit = PAIRS["crossing_like_joint"](False)
    circuit.connect("0Z1.A", "0Z3.A", via=[(0, 0)])
    assert found(circuit, "crossing_like_joint") == []
    circuit.add("junction", id="0Z5", at=(5, 10))
    circuit.add("junction", id="0Z6", at=(5, 20))
    circuit.connect("0Z5.A", "0Z6.A")
    assert len(found(circuit, "crossing_like_joint")) == 1


# -- waivers ---------------------------------------------------------------------------------


def waive(circuit: Circuit, **waiver: str) -> Finding:
    """The finding on the missing relief valve, with that waiver on the pump.

    It is written past the circuit's own check, which would refuse an unsigned one.
    """
    circuit.components["0P1"].waivers = [waiver]
    return next(f for f in check(circuit).findings if f.rule == "pump_without_relief")


def test_a_waiver_turns_a_finding_into_a_note_that_shows_it() -> None:
    """With a reason and a name; the result says both, and what it would be otherwise."""
    circuit = PAIRS["pump_without_relief"](True)
    finding = waive(circuit, rule="pump_without_relief", reason="wired open", by="A. Reviewer")
    assert finding.severity == "note"
    said = {"severity": "warning", "reason": "wired open", "by": "A. Reviewer"}
    assert finding.as_json()["waived"] == said
    assert finding.kind == "waived warning"
    assert finding.message.endswith("Waived by A. Reviewer: wired open.")


@pytest.mark.parametrize(
    "waiver",
    [
        {"rule": "pump_without_relief", "reason": "", "by": "A. Reviewer"},
        {"rule": "pump_without_relief", "reason": "wired open"},
        {"rule": "no_filter", "reason": "wired open", "by": "A. Reviewer"},
    ],
)
def test_a_waiver_without_reason_or_name_waives_nothing(waiver: dict[str, str]) -> None:
    """Nobody can wave a finding away unsigned, or with another rule's waiver."""
    finding = waive(PAIRS["pump_without_relief"](True), **waiver)
    assert finding.severity == "warning" and "waived" not in finding.as_json()


def test_mixed_fluids_names_the_first_part_of_the_file() -> None:
    """The same circuit gives the same words, whatever the order in which a flood found it."""
    circuit = PAIRS["mixed_fluids"](True)
    (finding,) = found(circuit, "mixed_fluids")
    assert finding.subjects == ("0Z1", "2Z1")
    assert finding.message.startswith("MIL-PRF-5606 and phosphate ester meet at 0P1:")
