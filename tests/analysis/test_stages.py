"""Runs that go on from where another had got to, against runs from the start.

No outside numbers: the run from the start is the definition of what must come out.
"""

from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from analysis import read_circuit
from analysis.failure_effects import Trial, effect_on_procedure
from analysis.failure_modes import Failure, find_failures
from analysis.failure_reference import Course, Reference, refer
from analysis.motion import Motion
from analysis.runs import Stage, run
from tests.analysis.test_failure_screen import standing_by

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"
LOWER = "Lower the gear with the electric pump, button held three seconds past the stop"


def from_start(course: Course) -> Course:
    """The course without its stages."""
    return replace(course, stages=())


@pytest.mark.parametrize("roughly", [False, True])
def test_a_run_from_a_stage_goes_on_as_the_one_that_it_was_taken_from(roughly):
    """At both paces: as many steps in all, and the same times."""
    circuit = read_circuit(SAMPLE)
    stages: list[Stage] = []
    hurried = {"signals": [], "stop_when_decided": True, "roughly": roughly}
    whole = run(circuit, LOWER, at_stage=stages.append, **hurried)
    assert [stage.place.done for stage in stages] == [1, 2]
    for stage in stages:
        motion = partial(Motion, moment=stage.moment)
        rest = run(stage.moment.circuit, LOWER, motion=motion, stage=stage, **hurried)
        assert rest.holds
        assert rest.steps == whole.steps
        for again, before in zip(rest.expectations, whole.expectations, strict=True):
            assert again.time == (before.time and pytest.approx(before.time, rel=1e-9))


def test_a_failure_that_did_nothing_yet_is_run_from_the_lever_only():
    """The pump starts at 0.5 s: a leak behind it loses nothing before, and 0.3 % after."""
    circuit = standing_by()
    reference = refer(circuit, "p", find_failures(circuit))
    leak = Failure("L2", "external_leak")
    stage = reference.rough.last_same(leak)
    assert stage is not None
    assert stage.place.time == pytest.approx(0.5)
    part = Trial(circuit, reference, leak).run(reference.rough)
    whole = Trial(circuit, reference, leak).run(from_start(reference.rough))
    assert part.expectations[0].time == pytest.approx(whole.expectations[0].time, rel=1e-6)
    assert part.expectations[0].time > 1.002 * reference.rough.times[0]


def test_a_pressure_before_the_lever_is_no_standing_by():
    """With the pump running from the start the leak is there from the start."""
    circuit = standing_by()
    plan = circuit.procedures[0] | {"start": {"0P1": {"running": True}}}
    circuit.set_field("", "procedures", [plan])
    reference = refer(circuit, "p", find_failures(circuit))
    assert reference.rough.stages
    assert reference.rough.last_same(Failure("L2", "external_leak")) is None


def test_a_lever_that_is_stuck_is_not_taken_as_moved():
    """The valve that the step opens stays shut: the run goes on from before that step."""
    circuit = standing_by()
    steps = [{"at": "0.5 s", "set": {"0P1": {"running": True}, "2V1": {"position": "open"}}}]
    circuit.set_field("", "procedures", [circuit.procedures[0] | {"steps": steps}])
    reference = refer(circuit, "p", find_failures(circuit))
    assert reference.rough.stages
    assert reference.rough.last_same(Failure("2V1", "stuck")) is None


def severities(circuit, reference: Reference, failures) -> list[str]:
    """What each failure does to the procedure."""
    return [effect_on_procedure(circuit, reference, failure).severity for failure in failures]


def test_stages_change_no_verdict_of_a_whole_aircraft():
    """Every ninth failure of a sample, of two of its procedures, with and without stages."""
    circuit = read_circuit(SAMPLE)
    for name in (LOWER, str(circuit.procedures[-1]["name"])):
        reference = refer(circuit, name, find_failures(circuit))
        left = [f for f in find_failures(circuit) if f not in reference.idle]
        shared = [f for f in left if reference.rough.last_same(f) is not None]
        assert len(shared) > 0.8 * len(left)
        fine, rough = from_start(reference.fine), from_start(reference.rough)
        whole = replace(reference, fine=fine, rough=rough)
        some = left[::9]
        assert severities(circuit, reference, some) == severities(circuit, whole, some)
