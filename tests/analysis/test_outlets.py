"""Reservoir outlets over time: no fluid from nowhere, and no changing over at every drop."""

import pytest

from analysis import Circuit, run
from analysis.motion import Motion
from analysis.outlets import GULPING, MOMENTS, OVERFLOWS, RISE, Outlets


def circulating(capacity: str, speed: str = "600 rpm") -> Circuit:
    """A pump draws at the standpipe's mouth what a smaller one brings back from elsewhere."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="1.001 L", reserve="1 L", capacity=capacity)
    circuit.add("reservoir", id="0Z2", volume="8 L", reserve="0 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed=speed)
    circuit.add("fixed_pump", id="0P2", displacement="3 cm^3/rev", speed=speed)
    circuit.add("restrictor", id="0V1", diameter="3 mm")
    circuit.connect("0Z1.standpipe", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0V1.A")
    circuit.connect("0V1.B", "0Z2.return", role="return")
    circuit.connect("0Z2.supply", "0P2.inlet", role="suction")
    circuit.connect("0P2.outlet", "0Z1.return", role="return")
    return circuit


@pytest.mark.parametrize(("capacity", "speed"), [("4 L", "600 rpm"), ("1.01 L", "60 rpm")])
def test_a_pump_at_the_mouth_draws_what_comes_back(capacity, speed):
    """On the average the bigger pump gives what the smaller one brings; it does not chatter."""
    recording = run(circulating(capacity, speed), until=30.0, every=0.01)
    assert not recording.message
    uncovered = [e.time for e in recording.events if "is uncovered" in e.message]
    assert 2 <= len(uncovered) <= 30.0 / MOMENTS
    brought = 3e-6 * float(speed.removesuffix(" rpm")) / 60.0
    drawn = -sum(recording.signals["0P1.outlet.inflow"]) * 0.01
    assert drawn == pytest.approx(brought * 30.0, rel=0.1)
    volume = recording.signals["0Z1.volume"]
    assert 1e-3 <= min(volume[10:]) <= 1e-3 + 1e-6
    assert max(volume[10:]) <= 1e-3 + max(RISE * 4e-3, brought * MOMENTS) + 1e-6
    assert abs(recording.accounts.volume_error) <= 1e-9 * recording.accounts.volume_scale


def test_an_emptied_reservoir_gives_no_fluid_from_nowhere():
    """What the pump delivered is what was there, to a hundred thousandth."""
    circuit = circulating("4 L")
    circuit.set_value("0P2", "running", False, state=True)
    circuit.set_value("0Z1", "reserve", "0 L")
    recording = run(circuit, until=30.0)
    assert recording.signals["0Z1.volume"][-1] == 0.0
    assert recording.signals["0Z2.volume"][-1] == pytest.approx(9.001e-3, rel=1e-6)
    empty = next(e.time for e in recording.events if "is empty" in e.message)
    assert empty == pytest.approx(1.001e-3 / 100e-6, rel=1e-3)


def test_filling_covers_at_once_and_going_back_uncovers_again():
    """Fluid poured in by hand needs no moments; a kept moment brings the uncovered outlet back."""
    motion = Motion(circulating("4 L"))
    motion.apply({"0P2": {"running": False}})
    motion.advance(1.0)
    assert motion.signals()["0P1.outlet.inflow"] == 0.0
    kept = motion.moment()
    motion.apply({"0Z1": {"volume": "1.002 L"}})
    motion.advance(1.005)
    assert motion.signals()["0P1.outlet.inflow"] == pytest.approx(-100e-6, rel=0.01)
    motion.return_to(kept)
    motion.settle()
    assert motion.signals()["0P1.outlet.inflow"] == 0.0


def test_what_returns_above_a_broken_outlet_is_lost_at_once():
    """The level stays at the mouth of the outlet that is open to the atmosphere."""
    circuit = circulating("4 L")
    circuit.set_value("L1", "fault", "ruptured", state=True)
    recording = run(circuit, until=10.0)
    assert max(recording.signals["0Z1.volume"][1:]) == pytest.approx(1e-3, abs=1e-12)
    assert recording.accounts.lost == pytest.approx(30e-6 * 10.0 + 1e-6, rel=1e-3)
    assert abs(recording.accounts.volume_error) <= 1e-9 * recording.accounts.volume_scale


def test_an_outlet_uncovered_again_and_again_is_told_once():
    """The fifth time within ten seconds; over ten seconds after the first of the last five."""
    outlets, settings = Outlets(), {"capacity": 10e-3, "reserve": 0.0}
    outlets.set_level("0T1", settings, 1e-3, 0.0)
    told = []
    for number in range(7):
        told += [(number, words) for words in outlets.look("0T1", settings, 0.0, 1.5 * number)]
        told += [(number, w) for w in outlets.look("0T1", settings, 1e-3, 1.5 * number + 1.2)]
    assert [number for number, words in told if words == GULPING] == [4]
    assert outlets.is_gulping(9.5)
    assert not outlets.is_gulping(13.5)


def test_a_full_reservoir_overflows():
    """What comes in above its capacity is lost: told once, at its time, and accounted for."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="8 L", capacity="10 L")
    circuit.add("reservoir", id="0Z2", volume="1.9 L", capacity="2 L", reserve="0 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0Z2.return", role="return")
    recording = run(circuit, until=10.0)
    # 0.1 L at 6 L/min
    told = [event for event in recording.events if event.message == OVERFLOWS]
    assert [event.time for event in told] == [pytest.approx(1.0, rel=0.01)]
    assert max(recording.signals["0Z2.volume"]) == pytest.approx(2e-3)
    assert recording.signals["0Z2.volume"][-1] == pytest.approx(2e-3)
    assert recording.accounts.lost == pytest.approx(0.9e-3, rel=0.01)
    assert abs(recording.accounts.volume_error) <= 1e-9 * recording.accounts.volume_scale
