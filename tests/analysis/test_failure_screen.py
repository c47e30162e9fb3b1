"""What is left out as idle, against running it: a wrong answer must not come out.

No outside numbers: each case that the screen leaves out is run, which is the definition of
what it costs. The circuits are made so that each rule of the screen has something to refuse.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from analysis import Circuit, read_circuit
from analysis.failure_changes import change_of_part
from analysis.failure_effects import KEPT, effect_on_procedure
from analysis.failure_modes import Failure, find_failures
from analysis.failure_reference import Reference, refer
from analysis.motion import Motion
from analysis.procedures import apply_changes, find_procedure
from tests.analysis.redundant_press import redundant_press

SAMPLES = Path(__file__).parents[2] / "sample_circuits"
EMERGENCY = "Emergency pump locks the main gear down"


def circuit_of(parts, lines, *expectations, **plan) -> Circuit:
    """A circuit of ids with settings, lines between ports, and one procedure `p`."""
    circuit = Circuit()
    for identifier, (kind, settings) in parts.items():
        circuit.add(kind, id=identifier, **settings)
    for number, (start, end) in enumerate(lines, start=1):
        circuit.connect(start, end, id=f"L{number}", bore="6 mm", length="1 m")
    circuit.set_field("", "procedures", [{"name": "p", "expect": list(expectations), **plan}])
    return circuit


def against_closed_end(*expectations) -> Circuit:
    """A hand pump that holds a gauge at its effort limit from the start: nothing flows."""
    return circuit_of(
        {"0Z1": ("reservoir", {}), "0P1": ("hand_pump", {"running": True}),
         "0Z2": ("junction", {}), "0S1": ("pressure_gauge", {}), "0V1": ("relief_valve", {}),
         "0V2": ("relief_valve", {"set_pressure": "300 bar"})},
        [("0Z1.supply", "0P1.inlet"), ("0P1.outlet", "0Z2.A"), ("0Z2.A", "0S1.A"),
         ("0Z2.A", "0V1.inlet"), ("0V1.outlet", "0Z1.return"), ("0Z2.A", "0V2.inlet")],
        *expectations,
    )  # fmt: skip


def standing_by() -> Circuit:
    """A pump started from rest fills a cylinder; a shut valve keeps the rest out of it."""
    return circuit_of(
        {"0Z1": ("reservoir", {}), "0Z3": ("reservoir", {}),
         "0P1": ("fixed_pump", {"displacement": "5 cm^3/rev", "speed": "1500 rpm"}),
         "0V1": ("relief_valve", {"set_pressure": "60 bar"}),
         "1A1": ("cylinder", {"bore": "40 mm", "rod_diameter": "20 mm", "stroke": "100 mm"}),
         "1V1": ("restrictor", {}),
         "2V1": ("shutoff_valve", {"position": "closed"}), "2Z1": ("filter", {}),
         "2Z2": ("hose", {"bore": "6 mm", "length": "1 m"}), "2V2": ("check_valve", {}),
         "2V3": ("relief_valve", {}),
         "2A1": ("cylinder", {"bore": "40 mm", "rod_diameter": "20 mm", "friction": "50 N"})},
        [("0Z1.supply", "0P1.inlet"), ("0P1.outlet", "1V1.A"), ("1A1.rod", "0Z1.return"),
         ("0P1.outlet", "0V1.inlet"), ("0V1.outlet", "0Z1.return"), ("1A1.cap", "2V1.A"),
         ("2V1.B", "2Z1.inlet"), ("2Z1.outlet", "2Z2.A"), ("2Z2.B", "2A1.cap"),
         ("2A1.rod", "0Z3.return"), ("2A1.cap", "2V3.inlet"), ("2V3.outlet", "0Z3.return"),
         ("2V2.outlet", "2A1.cap"), ("1V1.B", "1A1.cap")],
        {"by": "10 s", "signal": "1A1.extension", "at_least": "99 mm"},
        start={"0P1": {"running": False}},
        steps=[{"at": "0.5 s", "set": {"0P1": {"running": True}}}],
    )  # fmt: skip


def wrongly_idle(circuit: Circuit, reference: Reference, step: int = 1) -> list[object]:
    """Of the failures that are left out, every so many run from the start: those not kept."""
    fine, rough = replace(reference.fine, stages=()), replace(reference.rough, stages=())
    nothing_known = replace(reference, idle=frozenset(), fine=fine, rough=rough)
    idle = sorted(reference.idle)[::step]
    effects = [(failure, effect_on_procedure(circuit, nothing_known, failure)) for failure in idle]
    return [(failure, effect) for failure, effect in effects if effect != KEPT]


def idle_of(circuit: Circuit) -> frozenset[Failure]:
    """The failures left out of `p`, which must hold; each of them is run and kept."""
    reference = refer(circuit, "p", find_failures(circuit))
    assert reference.holds, reference.message
    assert wrongly_idle(circuit, reference) == []
    return reference.idle


def test_a_passage_that_only_hands_a_pressure_on_is_not_idle():
    """A gauge stands at the pump's pressure from the start; no flow ever told of its line."""
    circuit = against_closed_end({"by": "2 s", "signal": "0S1.A.pressure", "at_least": "5 bar"})
    assert not {("L3", "blocked"), ("L2", "blocked"), ("0P1", "no_output")} & idle_of(circuit)


def test_neither_is_one_that_hands_on_the_pressure_of_a_source():
    """The same where no pump turns: a source at 50 bar, a gauge, and a line without flow."""
    circuit = circuit_of(
        {"0P1": ("pressure_source", {"pressure": "50 bar"}), "0S1": ("pressure_gauge", {}),
         "0Z1": ("filter", {})},
        [("0P1.outlet", "0Z1.inlet"), ("0Z1.outlet", "0S1.A")],
        {"by": "2 s", "signal": "0S1.A.pressure", "at_least": "5 bar"},
    )  # fmt: skip
    assert not {("L1", "blocked"), ("L2", "blocked"), ("L2", "ruptured")} & idle_of(circuit)


def test_a_pump_that_pushes_in_vain_still_needs_its_fluid():
    """Its effort is there without any flow, and gone with the line that feeds it."""
    circuit = against_closed_end({"by": "2 s", "signal": "0P1.effort", "at_least": "10 N"})
    assert not {("L1", "blocked"), ("L1", "ruptured")} & idle_of(circuit)


def test_whole_branches_that_stand_still_are_left_out_in_every_mode():
    """Behind a shut valve nothing moves: open, blocked, broken or stuck, it is all the same."""
    idle = idle_of(standing_by())
    assert {
        ("2Z1", "blocked"), ("2Z1", "external_leak"), ("2Z2", "blocked"), ("2Z2", "ruptured"),
        ("2V2", "stuck_closed"), ("2V3", "stuck_open"), ("2A1", "stuck"),
        ("2A1", "internal_leak"), ("L9", "blocked"), ("L9", "ruptured"), ("L9", "external_leak"),
    } <= idle  # fmt: skip
    # but not what lets the pump's flow into it, or takes it away
    assert not {("2V1", "internal_leak"), ("0V1", "stuck_open"), ("L2", "external_leak"),
                ("1A1", "stuck"), ("1A1", "internal_leak"), ("1V1", "blocked"), ("L2", "blocked"),
                ("L6", "ruptured")} & idle  # fmt: skip


def test_an_element_that_the_procedure_looks_at_is_not_idle():
    """The effort of a pump that never turns is none; whether it has failed is still shown by it."""
    circuit = redundant_press()
    circuit.set_value("0P2", "running", False, state=True)
    plan = circuit.procedures[0]
    assert ("0P2", "no_output") in refer(circuit, "extend", find_failures(circuit)).idle
    effort = {"throughout": True, "signal": "0P2.effort", "at_most": "1 N"}
    circuit.set_field("", "procedures", [{**plan, "expect": [*plan["expect"], effort]}])
    assert ("0P2", "no_output") not in refer(circuit, "extend", find_failures(circuit)).idle


def test_a_fault_that_is_drawn_changes_nothing_when_it_happens_once_more():
    """The circuit with it and without it is the same circuit; another fault of it is not."""
    circuit = redundant_press()
    circuit.set_value("L8", "fault", "external_leak", state=True)
    idle = refer(circuit, "extend", find_failures(circuit)).idle
    assert ("L8", "external_leak") in idle
    assert ("L8", "blocked") not in idle


def test_change_of_a_part_names_what_goes_and_what_comes():
    """By the laws: a blocked filter keeps its bypass, a stuck check valve opens both ways."""
    parts = Motion(standing_by()).assembly.parts
    blocked = change_of_part(parts["2Z1"], "blocked")
    assert blocked is not None
    assert blocked.removed == (parts["2Z1"].branches["main"],)
    assert blocked.added == ()
    opened = change_of_part(parts["2V2"], "stuck_open")
    assert opened is not None
    assert opened.removed == (parts["2V2"].branches["main"],)
    ((family, terms, _),) = opened.added
    assert family == "turbulent"
    assert terms == ((parts["2V2"].ports["inlet"], 1.0), (parts["2V2"].ports["outlet"], -1.0))


def test_shuttle_begins_at_the_inlet_of_higher_pressure():
    """Contract: the inlet of higher pressure is connected; no step may begin with the other."""
    circuit = read_circuit(SAMPLES / "emergency_pump.circuit.json")
    apply_changes(circuit, find_procedure(circuit, EMERGENCY).start)
    motion = Motion(circuit)
    motion.settle()
    motion.advance(0.5)
    # the main system stands beside it, and nothing may have come into it
    assert abs(motion.port_pressure["1V1.A"]) < 1.0
    assert motion.port_pressure["1V2.outlet"] > 1e5


def test_return_lines_beside_a_standing_system_are_left_out():
    """A hole under a ten-millionth of a pascal lets nothing out, however long it lasts."""
    circuit = read_circuit(SAMPLES / "emergency_pump.circuit.json")
    idle = refer(circuit, EMERGENCY, find_failures(circuit)).idle
    assert {("L36", "external_leak"), ("L24", "blocked"), ("1V1", "external_leak")} <= idle
    assert len(idle) > 200


@pytest.mark.slow
@pytest.mark.timeout(1200)
@pytest.mark.parametrize("name", ["bench_press", "hand_pumped_gear"])
def test_all_that_is_left_out_of_the_smaller_samples_is_kept(name):
    """Brute force: every case of every procedure that is not run, run."""
    circuit = read_circuit(SAMPLES / f"{name}.circuit.json")
    for procedure in circuit.procedures:
        reference = refer(circuit, str(procedure["name"]), find_failures(circuit))
        assert reference.holds
        assert wrongly_idle(circuit, reference) == []


@pytest.mark.slow
@pytest.mark.timeout(1200)
def test_what_is_left_out_of_the_larger_samples_is_kept():
    """The same, of every fifteenth case of every procedure."""
    for name in ("emergency_pump", "falling_gear", "unloading_valve"):
        circuit = read_circuit(SAMPLES / f"{name}.circuit.json")
        for procedure in circuit.procedures:
            reference = refer(circuit, str(procedure["name"]), find_failures(circuit))
            assert wrongly_idle(circuit, reference, step=15) == []
