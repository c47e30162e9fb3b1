"""The circuit over time, against closed forms and the trade's rules; accounts close."""

from math import pi

import pytest

from analysis import Circuit, run
from analysis.constants import ATMOSPHERE
from analysis.motion import Motion
from analysis.procedures import parse_procedure


def _hand_pumped(**cylinder) -> Circuit:
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="1 L", capacity="4 L")
    circuit.add("hand_pump", id="0P1", displacement="20 cm^3", rate="30 strokes/min",
                piston_area="3 cm^2", lever_ratio=10, effort_limit="250 N")  # fmt: skip
    circuit.add("valve_4_3", id="1V1", position="left")
    circuit.add("cylinder", id="1A1", bore="40 mm", rod_diameter="20 mm", stroke="400 mm",
                **cylinder)  # fmt: skip
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "1V1.P")
    circuit.connect("1V1.T", "0Z1.return", role="return")
    circuit.connect("1V1.A", "1A1.cap")
    circuit.connect("1V1.B", "1A1.rod")
    return circuit


SWEPT = pi / 4 * 0.04**2 * 0.4
FLOW = 20e-6 * 0.5


def _close(recording) -> None:
    accounts = recording.accounts
    assert abs(accounts.volume_error) <= 1e-6 * accounts.volume_scale
    assert abs(accounts.energy_error) <= 0.01 * (abs(accounts.delivered) + abs(accounts.load_work))


def _event(recording, subject: str, words: str) -> float:
    return next(e.time for e in recording.events if e.subject == subject and words in e.message)


def test_extension_takes_volume_over_flow_and_strokes_volume_over_displacement():
    """Source: exact from units; common practice counts strokes so."""
    recording = run(_hand_pumped(load="500 N"), until=70.0, every=0.5)
    assert _event(recording, "1A1", "reaches its stop") == pytest.approx(SWEPT / FLOW, rel=0.01)
    strokes = recording.signals["0P1.strokes"]
    at = recording.time.index(50.0)
    assert strokes[at] == pytest.approx(50.0 * 0.5, rel=1e-3)
    assert recording.signals["0P1.strokes"][-1] == pytest.approx(SWEPT / 20e-6, rel=0.01)
    _close(recording)


def test_handle_goes_stiff_at_the_end_and_not_before():
    """Common practice: a stiff handle with everything at its stops means locked."""
    recording = run(_hand_pumped(load="500 N"), until=70.0)
    stop = _event(recording, "1A1", "reaches its stop")
    assert _event(recording, "0P1", "stiff") > stop
    effort = [e for e in recording.signals["0P1.effort"] if e is not None]
    assert effort[-1] == pytest.approx(250.0, rel=1e-3)
    # while it moves the handle feels the load: p = F/A, effort = p * piston / lever
    moving = recording.signals["0P1.effort"][100]
    rod_side = 0.0
    assert moving == pytest.approx((500.0 / (pi / 4 * 0.04**2) + rod_side) * 3e-4 / 10, rel=0.1)


def test_lock_lets_go_first_then_moves_then_engages():
    """Common practice: each stroke first builds pressure, locks let go, then the gear moves."""
    circuit = _hand_pumped(lock="both", lock_release_pressure="30 bar", load="500 N")
    recording = run(circuit, until=80.0)
    release = _event(recording, "1A1", "lock releases, retracted")
    moves = _event(recording, "1A1", "extends")
    engages = _event(recording, "1A1", "lock engages, extended")
    assert 0.0 < release <= moves < engages
    assert engages == pytest.approx(SWEPT / FLOW, rel=0.02)
    assert recording.signals["1A1.lock"][-1] == "locked"


def test_a_lock_below_its_release_pressure_holds():
    """The effort limit gives 83 bar; a lock that needs 90 bar never lets go."""
    circuit = _hand_pumped(lock="retracted", lock_release_pressure="90 bar")
    recording = run(circuit, until=20.0)
    assert max(recording.signals["1A1.extension"]) == 0.0
    assert recording.signals["1A1.lock"][-1] == "locked"


def test_ruptured_line_empties_the_reservoir_and_the_handle_goes_slack():
    """Common practice: with no fluid at the pump there is no effort at the handle."""
    circuit = _hand_pumped(load="500 N")
    circuit.set_value("L4", "fault", "ruptured", state=True)
    recording = run(circuit, until=400.0)
    volume = recording.signals["0Z1.volume"]
    assert volume[-1] == pytest.approx(0.0, abs=1e-6)
    # the pump gives 10 cm3/s of 3 L through the open line
    assert _event(recording, "0Z1", "is empty") == pytest.approx(3e-3 / FLOW, rel=0.01)
    assert recording.signals["0P1.effort"][-1] == 0.0
    assert recording.accounts.lost == pytest.approx(3e-3, rel=0.01)
    _close(recording)


def test_standpipe_keeps_back_its_reserve():
    """Source: US Navy and FAA handbooks (from memory): a standpipe keeps a reserve back."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="1 L", capacity="4 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.connect("0Z1.standpipe", "0P1.inlet", role="suction")
    circuit.add("restrictor", id="0V1", diameter="3 mm")
    circuit.connect("0P1.outlet", "0V1.A")
    circuit.connect("0V1.B", "0Z1.return", id="L9", role="return", fault="ruptured")
    recording = run(circuit, until=40.0)
    assert _event(recording, "0Z1", "standpipe") == pytest.approx(2e-3 / 100e-6, rel=0.01)
    assert recording.signals["0Z1.volume"][-1] == pytest.approx(1e-3, rel=1e-3)
    assert recording.signals["0P1.outlet.inflow"][-1] == 0.0


def test_ruptured_suction_line_drains_at_once_to_its_outlet():
    """The contract: the reservoir drains at once to that outlet's level, with an event."""
    circuit = _hand_pumped()
    circuit.set_value("L1", "fault", "ruptured", state=True)
    recording = run(circuit, until=1.0)
    assert recording.signals["0Z1.volume"][-1] == 0.0
    assert _event(recording, "0Z1", "drains") == 0.0


@pytest.mark.parametrize(("index", "name"), [(1.0, "isothermal"), (1.4, "adiabatic")])
def test_accumulator_fills_by_the_gas_law(index, name):
    """p V^n in absolute pressure; n = 1 slow, 1.4 fast (published accumulator guides)."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="8 L", reserve="0 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="300 rpm")
    circuit.add("accumulator", id="0Z2", gas_volume="1 L", precharge="70 bar",
                polytropic_index=index)  # fmt: skip
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0Z2.fluid")
    recording = run(circuit, until=8.0)
    fluid = recording.signals["0Z2.fluid_volume"][-1]
    assert fluid == pytest.approx(50e-6 * 8.0, rel=5e-3)
    expected = (70e5 + ATMOSPHERE) * (1e-3 / (1e-3 - fluid)) ** index - ATMOSPHERE
    assert recording.signals["0Z2.fluid.pressure"][-1] == pytest.approx(expected, rel=0.01)
    _close(recording)


def test_unloading_valve_cuts_out_and_in_again():
    """Source: FAA-H-8083-31 ch. 12 (from memory): out at one pressure, in at a lower one."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="8 L", reserve="0 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.add("unloading_valve", id="0V1", cut_out_pressure="100 bar", cut_in_pressure="80 bar")
    circuit.add("accumulator", id="0Z2", gas_volume="1 L", precharge="60 bar")
    circuit.add("restrictor", id="0V2", diameter="0.4 mm")
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.return", "0Z1.return", role="return")
    circuit.connect("0V1.outlet", "0Z2.fluid")
    circuit.connect("0Z2.fluid", "0V2.A")
    circuit.connect("0V2.B", "0Z1.return", role="return")
    recording = run(circuit, until=60.0)
    turns = [e.message for e in recording.events if e.subject == "0V1"]
    assert len(turns) >= 4
    assert turns[:3] == ["cuts the pump out", "cuts the pump in", "cuts the pump out"]
    pressures = recording.signals["0Z2.fluid.pressure"]
    after = pressures[recording.time.index(30.0) :]
    assert max(after) == pytest.approx(100e5, rel=0.02)
    assert min(after) == pytest.approx(80e5, rel=0.02)
    _close(recording)


def test_gear_falls_by_its_own_weight_at_the_speed_the_restrictor_allows():
    """Steady fall: p = W / A_rod across the orifice; q = C_d A sqrt(2 p / rho)."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="0 L")
    circuit.add("cylinder", id="1A1", bore="40 mm", rod_diameter="20 mm", stroke="400 mm",
                load="-2000 N", extension="0 mm")  # fmt: skip
    circuit.add("restrictor", id="1V2", diameter="1 mm", discharge_coefficient=0.61)
    circuit.connect("1A1.cap", "0Z1.supply", role="return")
    circuit.connect("1A1.rod", "1V2.A")
    circuit.connect("1V2.B", "0Z1.return", role="return")
    annulus = pi / 4 * (0.04**2 - 0.02**2)
    flow = 0.61 * pi / 4 * 0.001**2 * (2 * 2000.0 / annulus / 872.0) ** 0.5
    recording = run(circuit, until=30.0)
    assert recording.signals["1A1.velocity"][40] == pytest.approx(flow / annulus, rel=0.01)
    arrival = _event(recording, "1A1", "reaches its stop, extended")
    assert arrival == pytest.approx(0.4 * annulus / flow, rel=0.02)


def test_steps_wait_for_signals_and_expectations_are_judged():
    """`after` is looked at only behind the step ahead of it; `by` and `throughout` decide."""
    circuit = _hand_pumped(load="500 N")
    raw = {
        "name": "Hold",
        "steps": [
            {"after": {"signal": "1A1.extension", "at_least": "200 mm"}, "wait": "3 s",
             "set": {"0P1": {"running": False}}},
        ],
        "expect": [
            {"by": "60 s", "signal": "1A1.extension", "at_least": "200 mm"},
            {"by": "60 s", "signal": "1A1.extension", "at_least": "390 mm"},
            {"throughout": True, "signal": "0P1.outlet.pressure", "at_most": "20 bar"},
        ],
    }  # fmt: skip
    recording = run(circuit, parse_procedure(circuit, raw), until=60.0)
    assert [e.holds for e in recording.expectations] == [True, False, True]
    stopped = _event(recording, "0P1", "running set to False")
    assert stopped == pytest.approx(0.2 * pi / 4 * 0.04**2 / FLOW + 3.0, rel=0.01)
    assert recording.signals["1A1.extension"][-1] == pytest.approx(
        stopped * FLOW / (pi / 4 * 0.04**2), rel=0.01
    )


def test_motion_can_be_worked_by_hand():
    """The editor's way: advance, move a lever, advance again; the circuit itself is untouched."""
    circuit = _hand_pumped(load="500 N")
    motion = Motion(circuit)
    motion.advance(5.0)
    out = motion.signals()["1A1.extension"]
    motion.apply({"1V1": {"position": "right"}})
    motion.advance(8.0)
    back = motion.signals()["1A1.extension"]
    assert out > 0.03
    assert back < out
    assert circuit.components["1V1"].state["position"] == "left"


def test_a_lever_does_not_cut_the_pump_in_again():
    """What cut out stays out until the cut-in pressure, whatever else is moved meanwhile."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="8 L", reserve="0 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.add("unloading_valve", id="0V1", cut_out_pressure="100 bar", cut_in_pressure="80 bar")
    circuit.add("accumulator", id="0Z2", gas_volume="1 L", precharge="60 bar", fluid_volume="0.3 L")
    circuit.add("restrictor", id="0V2", diameter="0.2 mm")
    circuit.add("shutoff_valve", id="0V3", position="closed")
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0V1.inlet")
    circuit.connect("0V1.return", "0Z1.return", role="return")
    circuit.connect("0V1.outlet", "0Z2.fluid")
    circuit.connect("0Z2.fluid", "0V2.A")
    circuit.connect("0V2.B", "0Z1.return", role="return")
    circuit.connect("0V3.A", "0V2.A")
    motion = Motion(circuit)
    while not any("cuts the pump out" in e.message for e in motion.events):
        motion.advance(motion.time + 0.1)
    motion.advance(motion.time + 2.0)
    kept = motion.moment()
    for _ in range(2):
        assert motion.signals(["0Z2.fluid.pressure"])["0Z2.fluid.pressure"] > 85e5
        motion.apply({"0V3": {"position": "open"}})
        motion.advance(motion.time + 0.5)
        assert motion.signals(["0V1.open"])["0V1.open"] is True
        assert motion.signals(["0P1.outlet.pressure"])["0P1.outlet.pressure"] < 10e5
        motion.return_to(kept)
        motion.settle()


def test_a_starved_pump_gives_what_arrives_and_no_more():
    """An accumulator that runs empty through a throttle feeds it less and less."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="2 L", reserve="0 L")
    circuit.add("accumulator", id="0Z2", gas_volume="1 L", precharge="5 bar", fluid_volume="0.6 L")
    circuit.add("restrictor", id="0V1", diameter="1.5 mm")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="1200 rpm")
    circuit.connect("0Z2.fluid", "0V1.A", role="suction")
    circuit.connect("0V1.B", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0Z1.return", role="return")
    recording = run(circuit, until=20.0, every=0.1)
    arriving, drawn = recording.signals["0V1.A.inflow"], recording.signals["0P1.inlet.inflow"]
    for sample in range(1, 40):
        assert drawn[sample] == pytest.approx(arriving[sample], rel=1e-3, abs=1e-10)
    assert drawn[2] > 1.2 * drawn[35] > 0.0
    assert drawn[-1] == pytest.approx(0.0, abs=1e-10)
    gained = recording.signals["0Z1.volume"][-1] - 2e-3
    assert gained == pytest.approx(0.6e-3, abs=3e-6)
    _close(recording)
