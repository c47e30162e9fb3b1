"""Long steps of runs that only have to decide: what they may not go over, and what they save.

The reference is the same run at the pace of a history that is shown, and the press's own
arithmetic (pump flow over piston area); no rough run has a say in what is expected of it.
"""

from dataclasses import replace
from itertools import pairwise
from math import pi
from pathlib import Path

import numpy as np
import pytest

from analysis import Circuit, read_circuit, run, stepping
from analysis.begin_pressures import find_begin
from analysis.failure_effects import effect_on_procedure
from analysis.failure_modes import Failure
from analysis.failure_reference import refer
from analysis.motion import Motion
from analysis.pace import rough
from analysis.procedures import apply_changes, find_procedure
from analysis.script import Script
from tests.analysis.redundant_press import PUMP_FLOW, redundant_press

SAMPLES = Path(__file__).parents[2] / "sample_circuits"
AREA = pi / 4 * 0.040**2


def _press(*expectations, **changes) -> Circuit:
    circuit = redundant_press()
    circuit.set_value("0P2", "running", False, state=True)
    for name, value in changes.items():
        circuit.set_value("1A1", name, value)
    circuit.set_field("", "procedures", [{"name": "press", "expect": list(expectations)}])
    return circuit


def _roughly(circuit: Circuit):
    return run(circuit, "press", signals=[], stop_when_decided=True, roughly=True)


def test_no_step_goes_over_a_peak_of_the_load():
    """5 kN over the area is 40 bar, at a tenth of the travel only: higher than allowed there."""
    peak = [["0 mm", "500 N"], ["190 mm", "500 N"], ["210 mm", "5 kN"], ["230 mm", "500 N"],
            ["400 mm", "500 N"]]  # fmt: skip
    # met long after the peak, so that the run goes over it
    circuit = _press(
        {"throughout": True, "signal": "0S1.A.pressure", "at_most": "35 bar"},
        {"by": "60 s", "signal": "1A1.extension", "at_least": "390 mm"},
        load=peak,
    )
    exact = run(circuit, "press")
    roughly = _roughly(circuit)
    assert max(exact.signals["0S1.A.pressure"][:100]) > 35e5
    assert exact.expectations[0].holds is False
    assert roughly.expectations[0].holds is False
    when = exact.expectations[0].time
    assert roughly.expectations[0].time == pytest.approx(when, rel=0.05)


def test_a_step_ends_where_a_signal_arrives(monkeypatch):
    """Volume over flow to 370 mm; a step that went over it would guess the time from its ends."""
    looks = []
    look = Script.look
    monkeypatch.setattr(
        Script, "look", lambda script, time, now: looks.append(time) or look(script, time, now)
    )
    circuit = _press({"by": "60 s", "signal": "1A1.extension", "at_least": "370 mm"}, load="0 N")
    (met,) = _roughly(circuit).expectations
    arrival = 0.370 * AREA / PUMP_FLOW
    assert met.time == pytest.approx(arrival, rel=2e-3)
    assert min(abs(time - arrival) for time in looks) <= 2e-3


def test_no_member_goes_further_in_a_step_than_the_pace_allows():
    """A seventh of the travel, but for the step that ends at the stop."""
    motion = Motion(_press(load="0 N"))
    motion.pace = rough(100.0, unforeseen=False)
    places = [0.0]
    motion.settle()
    motion.advance(100.0, lambda: places.append(motion.moving["1A1"]["extension"]) or False)
    ways = [after - before for before, after in pairwise(places)]
    assert max(ways) <= 1.05 * motion.pace.way * 0.400
    assert max(ways) > 0.9 * motion.pace.way * 0.400


def test_a_circuit_at_rest_goes_by_in_few_steps():
    """Nothing moves for 20 s: from a microsecond to ten seconds in six steps, not in nine."""
    circuit = _press()
    circuit.set_value("0P1", "running", False, state=True)
    motion = Motion(circuit)
    motion.pace = rough(100.0, unforeseen=False)
    motion.settle()
    motion.advance(20.0)
    assert motion.steps <= 7


def test_a_pressure_that_rises_is_no_rest():
    """Against a closed end: as many steps as the growth of the pace asks for, and no fewer."""
    circuit = _press(friction="100 kN")
    circuit.set_value("0P1", "running", False, state=True)
    motion = Motion(circuit)
    motion.pace = rough(100.0, unforeseen=False)
    motion.apply({"0P1": {"running": True}})
    motion.settle()
    times = [motion.time]

    def note() -> bool:
        times.append(motion.time)
        return motion.port_pressure["0S1.A"] > 50e5

    motion.advance(20.0, note)
    durations = [after - before for before, after in pairwise(times)]
    growth = [after / before for before, after in pairwise(durations)]
    assert len(growth) >= 2
    assert max(growth) <= 1.001 * motion.pace.growth


@pytest.mark.parametrize(("name", "number"), [("emergency_pump", 2), ("falling_gear", 0)])
def test_a_signal_asked_for_alone_is_the_same_as_among_all(name, number):
    """Every signal of the circuit as a procedure starts it, before the first step and after."""
    circuit = read_circuit(SAMPLES / f"{name}.circuit.json")
    apply_changes(circuit, find_procedure(circuit, circuit.procedures[number]["name"]).start)
    motion = Motion(circuit)
    for until in (0.0, 0.3, 2.0):
        motion.advance(until)
        everything = motion.signals()
        for signal, value in everything.items():
            assert motion.signals([signal]) == {signal: value}, signal
    assert {"extension", "velocity", "lock"} <= {s.rpartition(".")[2] for s in everything}
    efforts = [value for signal, value in everything.items() if signal.endswith(".effort")]
    assert name != "emergency_pump" or max(efforts) > 10.0


def test_pressures_by_port_are_those_of_the_last_step():
    """Also right after a lever made the network anew: closed in, a port keeps its pressure."""
    circuit = _press(friction="100 kN")
    circuit.set_value("0P1", "running", False, state=True)
    motion = Motion(circuit)
    motion.apply({"0P1": {"running": True}})
    motion.advance(0.5)
    nodes = motion.assembly.builder.nodes
    solved = {port: motion.pressure[node] for port, node in nodes.items()}
    assert motion.port_pressure == solved
    assert solved["0S1.A"] > 10e5
    motion.apply({"0P1": {"running": False}})
    assert motion.port_pressure == solved
    assert motion.pressures(["0S1.A"]) == {"0S1.A": solved["0S1.A"]}


def test_a_run_that_is_looked_at_again_begins_as_before(monkeypatch):
    """The instant is solved once for the two runs, and each verdict is the same as without."""
    circuit = redundant_press()
    reference = refer(circuit, "extend", ())
    failure = Failure("0S1", "external_leak")
    monkeypatch.setattr("analysis.failure_effects._is_lost_narrowly", lambda *_: True)
    instants = []
    monkeypatch.setattr(
        "analysis.motion.find_begin", lambda twin: instants.append(0) or find_begin(twin)
    )
    assert effect_on_procedure(circuit, reference, failure).severity == "kept"
    assert len(instants) == 1


def _behind_a_reducing_valve() -> Circuit:
    """The cylinder is fed through a valve that lets no more than 20 bar by."""
    circuit = _press(load="1 kN")
    circuit.remove("L11")
    circuit.add("reducing_valve", id="1V1", set_pressure="20 bar", rated_flow="20 L/min")
    circuit.connect("0Z2.A", "1V1.inlet", id="L14", bore="8 mm", length="1 m")
    circuit.connect("1V1.outlet", "1A1.cap", id="L15", bore="8 mm", length="1 m")
    circuit.add("reservoir", id="0Z3")
    circuit.connect("1V1.drain", "0Z3.return", id="L16", bore="8 mm", length="1 m")
    return circuit


def test_a_throttling_valve_that_asks_for_nothing_new_is_left_as_it_is(monkeypatch):
    """The same history as if every step had searched for the opening, by far fewer searches."""
    circuit = _behind_a_reducing_valve()
    searches = []
    original = stepping.throttle
    monkeypatch.setattr(stepping, "throttle", lambda *a: searches.append(0) or original(*a))
    quick, searched = run(circuit, until=8.0), len(searches)
    searches.clear()
    at_once = stepping.try_time_step

    def never_open_enough(*given):
        solution, _, outcome = at_once(*given)
        return solution, False, outcome

    monkeypatch.setattr(stepping, "try_time_step", never_open_enough)
    always = run(circuit, until=8.0)
    assert quick.signals == always.signals
    assert quick.signals["1A1.cap.pressure"][-1] == pytest.approx(20e5, rel=0.02)
    assert 0 < searched < 0.7 * len(searches)


def test_a_valve_that_stays_shut_follows_what_it_is_asked_for():
    """It gets the opening difference that it asks for without a search: no flow hangs on it."""
    motion = Motion(_behind_a_reducing_valve())
    motion.advance(8.0)
    stepper, solution = motion.stepper, motion.solution
    (valve,) = stepper.modulators
    row = motion.assembly.network.row(valve.branch)
    table = motion.assembly.network.parameters["turbulent"]
    wanted, _ = valve.target(solution, row)
    # shut at any difference, by a pressure before it that is much too low
    low = replace(solution, u=solution.u - 1e7)
    valve.set(motion.assembly.network, wanted + 1e5)
    assert stepper._are_open_enough(low)
    assert table[1, valve.branch.row] == pytest.approx(wanted, abs=1.0)
    # open, it must be looked for
    valve.set(motion.assembly.network, wanted + 1e5)
    assert not stepper._are_open_enough(replace(solution, u=solution.u + 1e7))


def test_the_fluid_in_the_chambers_follows_the_member():
    """100 mm of the piston's area more in the cap, and less in the rod, each time it is asked."""
    motion = Motion(_press())
    stepper, modulus = motion.stepper, motion.assembly.liquid.bulk_modulus
    cap, rod = (motion.assembly.node(f"1A1.{port}") for port in ("cap", "rod"))
    before = stepper.capacity(np.array([0.1]))
    more = (stepper.capacity(np.array([0.2])) - before) * modulus
    assert more[cap] == pytest.approx(0.1 * AREA, rel=1e-9)
    assert more[rod] == pytest.approx(-0.75 * 0.1 * AREA, rel=1e-9)
    assert (stepper.capacity(np.array([0.1])) == before).all()
