"""Hand pumps that deliver by strokes: how they swell, and that over a cycle nothing is changed."""

from __future__ import annotations

from math import pi
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from analysis import Circuit, read_circuit, readings, run
from analysis.constants import ATMOSPHERE
from analysis.errors import CircuitError
from analysis.motion import Motion
from analysis.pulsation import cycles_at, delivered
from analysis.recording import Recording

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "hand_pumped_gear.circuit.json"
STROKE = 20e-6
RATE = 0.5
MEAN = STROKE * RATE
DENSITY = 872.0
"""MIL-PRF-5606 at 15 degC [kg/m3], as `tests/analysis/test_motion.py` has it."""
PUMP = {
    "displacement": "20 cm^3",
    "rate": "30 strokes/min",
    "piston_area": "3 cm^2",
    "lever_ratio": 10,
    "effort_limit": "250 N",
}


def _throttled(**settings: str) -> Circuit:
    """A hand pump that works into a throttle of 1 mm."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="0 L", capacity="4 L")
    circuit.add("hand_pump", id="0P1", **PUMP, **settings)
    circuit.add("restrictor", id="0V1", diameter="1 mm", discharge_coefficient=0.61)
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0V1.A")
    circuit.connect("0V1.B", "0Z1.return", role="return")
    return circuit


def _column(recording: Recording, name: str) -> np.ndarray:
    return np.array(recording.signals[name], dtype=float)


def _crests(values: np.ndarray) -> int:
    """Places higher than both neighbours, in the upper half of what is reached."""
    middle = values[1:-1]
    high = (middle > values[:-2]) & (middle >= values[2:])
    return int((high & (middle > 0.5 * values.max())).sum())


def _close(recording: Recording) -> None:
    accounts = recording.accounts
    assert abs(accounts.volume_error) <= 1e-6 * accounts.volume_scale
    assert abs(accounts.energy_error) <= 0.01 * abs(accounts.delivered)


@pytest.mark.parametrize(("acting", "crests", "swell"), [("single", 1, pi), ("double", 2, pi / 2)])
def test_crests_of_a_cycle(acting, crests, swell):
    """Largest over mean flow pi and pi / 2, one crest a cycle and two: handbooks of pumps for one
    cylinder, single and double acting, on a crank (from memory)."""
    recording = run(_throttled(acting=acting, pulsation="strokes"), until=20.0, every=0.01)
    pressure, flow = (_column(recording, f"0P1.outlet.{what}") for what in ("pressure", "inflow"))
    assert _crests(pressure) == crests * 10
    assert _crests(-flow) == crests * 10
    assert -flow.min() == pytest.approx(swell * MEAN, rel=0.01)
    assert -flow.max() == pytest.approx(0.0, abs=0.1 * MEAN)
    assert recording.signals["0P1.strokes"][-1] == pytest.approx(10.0, rel=1e-6)
    # turbulent throttle: the crest of the pressure is the square of that of the flow
    steady = _column(run(_throttled(), until=20.0), "0P1.outlet.pressure")[-1]
    assert pressure.max() == pytest.approx(swell**2 * steady, rel=0.02)
    _close(recording)


def test_single_acting_delivers_on_one_way_of_the_handle_only():
    """Out in the first half of each cycle; in the second nothing, and no effort."""
    recording = run(_throttled(acting="single", pulsation="strokes"), until=8.0, every=0.01)
    cycle = (np.array(recording.time) * RATE) % 1.0
    flow, effort = -_column(recording, "0P1.outlet.inflow"), _column(recording, "0P1.effort")
    inside = 0.04
    there = (cycle > inside) & (cycle < 0.5 - inside)
    back = (cycle > 0.5 + inside) & (cycle < 1.0 - inside)
    assert flow[there].min() > 0.0
    assert effort[there].min() > 0.0
    assert flow[back].max() == 0.0
    assert effort[back].max() == 0.0


def test_the_mean_alone_counts_unless_strokes_are_asked_for():
    """Acting by itself changes nothing; nor do strokes at an instant."""
    plain = run(_throttled(), until=5.0).signals
    assert run(_throttled(acting="single"), until=5.0).signals == plain
    instant = readings(_throttled(acting="single", pulsation="strokes"))
    assert instant.inflows["0P1.outlet"] == pytest.approx(-MEAN, rel=1e-9)
    assert instant.quantities["0P1"]["effort"] == readings(_throttled()).quantities["0P1"]["effort"]


@pytest.mark.parametrize("acting", ["single", "double"])
def test_counted_strokes_are_those_of_the_mean(acting):
    """The sample's gear by hand: strokes within 1 %, expectations as before, accounts closed."""
    circuit = read_circuit(SAMPLE)
    names = [raw["name"] for raw in circuit.procedures]
    steady = {name: run(circuit, name) for name in names}
    pump = next(c.id for c in circuit.components.values() if c.kind == "hand_pump")
    circuit.set_value(pump, "acting", acting)
    circuit.set_value(pump, "pulsation", "strokes")
    for name in names:
        swelling = run(circuit, name)
        assert swelling.holds == steady[name].holds
        mean, counted = (r.signals[f"{pump}.strokes"][-1] for r in (steady[name], swelling))
        # where the run ends within a cycle, by what of that cycle is given before its middle
        assert counted == pytest.approx(mean, rel=0.01, abs=0.3), name
        _close(swelling)


def test_swept_volume_over_displacement():
    """Common practice: strokes = swept volume / displacement, however they are given."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="0 L", capacity="4 L")
    circuit.add("hand_pump", id="0P1", **PUMP, acting="single", pulsation="strokes")
    circuit.add("cylinder", id="1A1", bore="40 mm", rod_diameter="20 mm", stroke="400 mm",
                load="500 N", extension="0 mm")  # fmt: skip
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "1A1.cap")
    circuit.connect("1A1.rod", "0Z1.return", role="return")
    recording = run(circuit, until=70.0)
    arrives = next(e.time for e in recording.events if "reaches its stop" in e.message)
    swept = 0.4 * pi / 4 * 0.04**2
    at_stop = np.interp(arrives, recording.time, _column(recording, "0P1.strokes"))
    assert at_stop == pytest.approx(swept / STROKE, rel=0.01)
    # then the handle is stiff and stands still
    assert [e.message for e in recording.events if e.subject == "0P1"] == [
        "the handle goes stiff: the effort limit is reached"
    ]
    assert recording.signals["0P1.effort"][-1] == pytest.approx(250.0, rel=1e-3)
    assert recording.signals["0P1.strokes"][-1] == pytest.approx(at_stop, rel=0.01)
    _close(recording)


@pytest.mark.parametrize("acting", ["single", "double"])
def test_an_accumulator_smooths_it_as_an_integrator_says(acting):
    """Outside reference: scipy's LSODA on dV/dt = flow of the strokes - flow of the throttle."""
    circuit = _throttled(acting=acting, pulsation="strokes")
    circuit.add("accumulator", id="0Z2", gas_volume="0.1 L", precharge="1 bar",
                polytropic_index=1.2)  # fmt: skip
    circuit.connect("0P1.outlet", "0Z2.fluid")
    recording = run(circuit, until=12.0, every=0.02)

    def pressure(fluid: float) -> float:
        return (1e5 + ATMOSPHERE) * (1e-4 / (1e-4 - max(fluid, 0.0))) ** 1.2 - ATMOSPHERE

    def rate(time: float, state: np.ndarray) -> list[float]:
        wave = np.sin(2.0 * pi * RATE * time)
        given = MEAN * (pi / 2 * abs(wave) if acting == "double" else pi * max(wave, 0.0))
        # empty, an accumulator gives nothing: what comes in goes through at less than precharge
        throttle = 0.61 * pi / 4 * 1e-6 * (2.0 * pressure(state[0]) / DENSITY) ** 0.5
        return [given - throttle if state[0] > 0.0 or given > throttle else 0.0]

    times = np.array(recording.time)
    other = solve_ivp(rate, (0.0, 12.0), [0.0], t_eval=times, max_step=2e-3, rtol=1e-8, atol=1e-12)
    fluid = _column(recording, "0Z2.fluid_volume")
    assert np.abs(fluid - other.y[0]).max() <= 0.02 * other.y[0].max()
    # the swell that is left, beside the throttle alone
    late = times > 8.0
    smooth = _column(recording, "0P1.outlet.pressure")[late]
    bare = _column(
        run(_throttled(acting=acting, pulsation="strokes"), until=12.0, every=0.02),
        "0P1.outlet.pressure",
    )[late]
    assert np.ptp(smooth) < 0.5 * np.ptp(bare)
    _close(recording)


def test_a_handle_that_leaks_away_moves_as_fast_as_the_leak():
    """At the effort limit the handle gives what the circuit takes; told once, not every stroke."""
    circuit = _throttled(acting="single", pulsation="strokes")
    circuit.set_value("0V1", "diameter", "0.25 mm")
    recording = run(circuit, until=30.0, every=0.02)
    stiff = [e for e in recording.events if e.subject == "0P1" and "stiff" in e.message]
    assert len(stiff) == 1
    limit = 250.0 * 10 / 3e-4
    pressure = _column(recording, "0P1.outlet.pressure")
    assert pressure.max() == pytest.approx(limit, rel=1e-3)
    throttle = 0.61 * pi / 4 * 0.25e-3**2 * (2.0 * limit / DENSITY) ** 0.5
    flow = -_column(recording, "0P1.outlet.inflow")
    held = flow[pressure > 0.999 * limit]
    assert np.median(held) == pytest.approx(throttle, rel=1e-3)
    # way there: as long as the throttle takes for a stroke; way back: half a cycle
    strokes = recording.signals["0P1.strokes"][-1]
    assert strokes < 0.9 * 30.0 * RATE
    assert strokes == pytest.approx(30.0 / (STROKE / throttle + 0.5 / RATE), rel=0.02)


def test_back_at_a_moment_the_handle_is_where_it_was():
    """What is done again from a moment on comes out the same."""
    motion = Motion(_throttled(acting="single", pulsation="strokes"))
    motion.advance(2.7)
    kept = motion.moment()
    runs = []
    for _ in range(2):
        motion.advance(4.3)
        runs.append((motion.moving["0P1"]["cycles"], motion.strokes["0P1"]))
        motion.return_to(kept)
        assert motion.moving["0P1"]["cycles"] == pytest.approx(2.7 * RATE, abs=1e-9)
    assert runs[0] == pytest.approx(runs[1], rel=1e-12)
    assert runs[0][0] == pytest.approx(4.3 * RATE, abs=1e-9)


def test_runs_that_only_decide_leave_the_swell_out():
    """They step as coarsely as with the mean flow."""
    circuit = read_circuit(SAMPLE)
    name = circuit.procedures[0]["name"]
    steady = run(circuit, name, stop_when_decided=True)
    pump = next(c.id for c in circuit.components.values() if c.kind == "hand_pump")
    circuit.set_value(pump, "pulsation", "strokes")
    hurried = run(circuit, name, stop_when_decided=True)
    assert hurried.holds == steady.holds
    assert hurried.steps == steady.steps
    assert hurried.signals == steady.signals


@pytest.mark.parametrize("acting", ["single", "double"])
def test_volume_and_cycle_are_each_others_inverse(acting):
    """Over a cycle one displacement; the way back leads to where it came from."""
    for cycles in np.linspace(0.0, 3.0, 61):
        volume = delivered(float(cycles), acting)
        assert delivered(cycles_at(volume, acting), acting) == pytest.approx(volume, abs=1e-9)
        assert delivered(float(cycles) + 1.0, acting) == pytest.approx(volume + 1.0, abs=1e-9)


def test_any_other_word_is_refused():
    """With the words there are."""
    with pytest.raises(CircuitError, match="must be one of double, single"):
        Circuit().add("hand_pump", acting="triple")
    with pytest.raises(CircuitError, match="must be one of none, strokes"):
        Circuit().add("hand_pump", pulsation="yes")
