"""Rough runs and shared circuits: quicker, and no other answer."""

from functools import partial

import numpy as np
import pytest

from analysis import Circuit, newton, run
from analysis.compiled import moving_members as mm
from analysis.compiled.elimination import Order
from analysis.compiled.equations import Equations
from analysis.compiled.time_step import Before, capacity
from analysis.compiled.trials import machine_of
from analysis.errors import UnknownElement
from analysis.failure_effects import Trial, effect_on_procedure
from analysis.failure_modes import Failure, find_failures, with_failure
from analysis.failure_reference import Course, Reference, refer
from analysis.motion import Motion
from analysis.newton import NOTHING_MOVES
from analysis.procedures import Condition, Expectation
from analysis.recording import Recording
from tests.analysis.redundant_press import redundant_press
from tests.support.evaluations import count_evaluations

TABLE = [["0 mm", "5 kN"], ["400 mm", "1 kN"]]


def _press_with_falling_load() -> Circuit:
    circuit = redundant_press()
    circuit.set_value("1A1", "load", TABLE)
    return circuit


def test_a_rough_run_ends_where_the_other_does():
    """Times of travel within 1 % (volume over flow), a pressure's rise later by a fifth at most."""
    circuit = _press_with_falling_load()
    circuit.set_field("", "procedures", [{
        "name": "press",
        "expect": [
            {"by": "20 s", "signal": "1A1.extension", "at_least": "399 mm"},
            {"by": "20 s", "signal": "0S1.A.pressure", "at_least": "55 bar"},
        ],
    }])  # fmt: skip
    exact = run(circuit, "press")
    roughly = run(circuit, "press", signals=[], stop_when_decided=True, roughly=True)
    assert roughly.holds and exact.holds
    assert roughly.steps < exact.steps / 2
    travel, rise = (e.time for e in exact.expectations)
    assert roughly.expectations[0].time == pytest.approx(travel, rel=0.01)
    assert travel < rise
    assert rise <= roughly.expectations[1].time <= 1.2 * rise


def test_failures_are_judged_as_by_runs_that_are_not_rough(monkeypatch):
    """The same severity for every failure, whether rough runs are trusted or never are."""
    circuit = _press_with_falling_load()
    cases = find_failures(circuit)
    reference = refer(circuit, "extend", cases)
    judge = partial(effect_on_procedure, circuit, reference)
    quick = {case: judge(case).severity for case in cases}
    monkeypatch.setattr("analysis.failure_effects._is_lost_narrowly", lambda *_: True)
    assert quick == {case: judge(case).severity for case in cases}
    assert {"kept", "degraded", "lost"} == set(quick.values())


def test_a_delay_near_the_edge_is_looked_at_again(monkeypatch):
    """A rough run that is 5 % late decides nothing, nor does a value that misses by a hair."""
    circuit = redundant_press()
    reference = refer(circuit, "extend", ())
    runs = []
    original = run

    def counted(*given, **named):
        runs.append(named.get("roughly", False))
        return original(*given, **named)

    monkeypatch.setattr("analysis.failure_effects.run", counted)
    # 135 / 128.6 = 1.05
    slower = _with_hand_rate(circuit, 9.6)
    effect_on_procedure(slower, reference, _failure(slower, "0S1", "external_leak"))
    assert runs == [True, False]
    runs.clear()
    effect_on_procedure(circuit, reference, _failure(circuit, "0P1", "no_output"))
    assert runs == [True]


def _recording(*times: float) -> Recording:
    """A run whose expectations are met at these times [s]."""
    condition = Condition("1A1.extension", at_least=0.1)
    found = [Expectation("", condition, by=100.0, holds=True, time=time) for time in times]
    return Recording(expectations=found)


def test_only_what_is_unclear_is_looked_at_again(monkeypatch):
    """Of three expectations the one that is 5.2 % late; none where another is clearly late."""
    looked_at = []
    answers = []

    def run_failed(trial, course, which=None):
        looked_at.append(which)
        return answers.pop(0)

    monkeypatch.setattr("analysis.failure_effects.Trial.run", run_failed)
    times = (10.0, 20.0, 30.0)
    reference = Reference("", True, "", Course(False, times), Course(True, times))
    judge = partial(effect_on_procedure, Circuit(), reference, Failure("0P1", "no_output"))
    answers[:] = [_recording(10.0, 21.04, 30.5), _recording(20.9)]
    assert judge().severity == "kept"
    assert looked_at == [None, [1]]
    answers[:] = [_recording(10.0, 21.04, 30.5), _recording(21.1)]
    assert judge().severity == "degraded"
    looked_at.clear()
    answers[:] = [_recording(10.0, 21.04, 33.0)]
    assert judge().severity == "degraded"
    assert looked_at == [None]


def test_a_run_that_looks_at_less_ends_sooner():
    """A pressure that must hold throughout keeps a run going; the travel is over long before."""
    circuit = redundant_press()
    (plan,) = circuit.procedures
    within = {"throughout": True, "signal": "0S1.A.pressure", "at_most": "900 bar"}
    steps = [{"at": "20 s", "set": {"0P1": {"running": False}}}]
    plan = plan | {"expect": [*plan["expect"], within], "steps": steps}
    circuit.set_field("", "procedures", [plan])
    reference = refer(circuit, "extend", ())
    leak = _failure(circuit, "0S1", "external_leak")
    whole = Trial(circuit, reference, leak).run(reference.fine)
    part = Trial(circuit, reference, leak).run(reference.fine, [0])
    assert [e.text for e in part.expectations] == [whole.expectations[0].text]
    assert part.expectations[0].time == pytest.approx(whole.expectations[0].time, rel=1e-6)
    assert part.time[-1] < 10.0 < 20.0 <= whole.time[-1]


def _with_hand_rate(circuit: Circuit, per_minute: float) -> Circuit:
    twin = circuit.copy()
    twin.set_value("0P2", "rate", f"{per_minute} strokes/min")
    twin.set_value("0S1", "leak_diameter", "0.01 mm")
    return twin


def _failure(circuit: Circuit, subject: str, mode: str):
    (found,) = [f for f in find_failures(circuit) if f == (subject, mode)]
    return found


def test_members_in_motion_need_no_search_for_their_kinks(monkeypatch):
    """A load that changes from step to step: without the drawn-out law many more evaluations."""
    evaluations = count_evaluations(monkeypatch)
    run(_press_with_falling_load(), "extend", signals=[])
    with_it = sum(evaluations)
    evaluations.clear()
    as_it_is = newton.try_step

    def at_rest(*given):
        # set for the step as it is, then searched as if nothing had moved
        _, is_open, _ = as_it_is(*given)
        eq, order, products, held, parts, before, duration, most, wanted, allowed = given
        eq, order, machine, before = (
            Equations(*eq),
            Order(*order),
            machine_of(parts),
            Before(*before),
        )
        storage = capacity(machine, before.extension) / duration
        volumes = newton.Volumes(storage, before.pressure, before.vapour / duration)
        found = newton.minimize(
            eq, order, products, held, before.pressure, volumes, 0.0, most, False, wanted,
            NOTHING_MOVES, 0,
        )  # fmt: skip
        weighed = newton.weigh(machine, eq.free, before, found[0], found[2], duration, allowed)
        return found, is_open, weighed

    monkeypatch.setattr(newton, "try_step", at_rest)
    run(_press_with_falling_load(), "extend", signals=[])
    assert with_it < 0.8 * sum(evaluations)


def test_a_member_on_its_law_is_left_alone():
    """Only one that the pressures of before stop or send to its stop is drawn out."""
    motion = Motion(_press_with_falling_load())
    motion.advance(1.0)
    network, solution = motion.assembly.network, motion.solution
    (mover,) = motion.stepper.movers
    moving = mm.Moving(motion.stepper.members.rows, np.array([0.1]))
    equations = network.equations
    *_, drawn_out = mm.follow(equations, solution.u, solution.q, solution.slope, moving)
    assert not drawn_out
    shut = solution.u.copy()
    row = network.start["deadband"] + mover.row
    shut[row] -= 100.0
    q, slope = network.flows(shut)
    slopes, added, drawn_out = mm.follow(equations, shut, q, slope, moving)
    assert drawn_out
    # where the law is drawn out to 100 N below, its velocity is 100 N times its slope less
    steep = network.parameters["deadband"][0, mover.row]
    assert slopes[row] == steep
    assert (q + added)[row] == pytest.approx(solution.q[row] - 100.0 * steep)


def test_a_circuit_with_elements_of_its_own_shares_the_others():
    """Changed on one side at its own elements, the other neither changes nor is told."""
    circuit = redundant_press()
    twin = circuit.with_own(["0V3", "L3"])
    twin.set_value("0V3", "set_pressure", "50 bar")
    twin.set_value("L3", "fault", "blocked", state=True)
    assert circuit.components["0V3"].settings["set_pressure"] == "60 bar"
    assert circuit.lines["L3"].state == {}
    assert twin.components["0P1"] is circuit.components["0P1"]
    assert [e.id for e in twin.elements()] == [e.id for e in circuit.elements()]
    told = []
    circuit.changed.connect(told.append)
    twin.set_value("0V3", "set_pressure", "40 bar")
    assert told == []
    with pytest.raises(UnknownElement):
        circuit.with_own(["9Z9"])


def test_a_failed_copy_shares_nothing_unless_asked_to():
    """The editor changes such a copy further; the table of failures does not."""
    circuit = redundant_press()
    failure = _failure(circuit, "L3", "blocked")
    assert with_failure(circuit, failure).components["0P1"] is not circuit.components["0P1"]
    shared = with_failure(circuit, failure, shared=True)
    assert shared.components["0P1"] is circuit.components["0P1"]
    assert circuit.lines["L3"].state == {}


def test_how_far_a_value_misses_its_level():
    """As a share of the level; words and unknown values have no such share."""
    assert Condition("x", at_least=10.0).miss({"x": 9.0}) == pytest.approx(0.1)
    assert Condition("x", at_most=10.0).miss({"x": 12.0}) == pytest.approx(0.2)
    assert Condition("x", at_least=10.0).miss({"x": 11.0}) == 0.0
    assert Condition("x", word="locked").miss({"x": "released"}) == float("inf")
    assert Condition("x", at_least=10.0).miss({}) == float("inf")
