"""A pump that nothing limits, over time: no number is invented and no fluid is lost.

Source of the rise: the definition of the bulk modulus, dp/dt = K q / V.
"""

from math import pi

import pytest

from analysis import Circuit, run
from analysis.constants import WITHOUT_LIMIT
from analysis.liquids import liquid
from analysis.machine import NODE_VOLUME
from analysis.motion import Motion
from analysis.motion_readings import motion_readings
from analysis.procedures import parse_procedure

FLOW = 100e-6


def _dead_head(**line: str) -> Circuit:
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", volume="3 L", reserve="1 L", capacity="4 L")
    circuit.add("fixed_pump", id="0P1", displacement="10 cm^3/rev", speed="600 rpm")
    circuit.add("shutoff_valve", id="0V1", position="closed")
    circuit.connect("0Z1.supply", "0P1.inlet", role="suction")
    circuit.connect("0P1.outlet", "0V1.A", **line)
    circuit.connect("0V1.B", "0Z1.return", role="return")
    return circuit


def test_without_volume_there_is_no_reading_and_the_reservoir_keeps_its_fluid():
    """Lines without size hold only a fitting's worth, which takes a millilitre at the most."""
    recording = run(_dead_head(), until=20.0)
    assert recording.message == ""
    pressures = recording.signals["0P1.outlet.pressure"]
    assert all(p is None for p in pressures[1:])
    assert [e.subject for e in recording.events] == ["0P1"]
    assert "nothing limits the pressure" in recording.events[0].message
    assert recording.signals["0Z1.volume"][-1] == pytest.approx(3e-3, abs=1e-6)
    assert abs(recording.signals["0P1.outlet.inflow"][-1]) < 1e-12
    assert abs(recording.accounts.volume_error) <= 1e-9 * recording.accounts.volume_scale
    assert recording.accounts.lost == 0.0


def test_with_volume_the_pressure_rises_by_the_bulk_modulus():
    """dp/dt = K q / V until nothing more is said."""
    circuit = _dead_head(bore="20 mm", length="4 m")
    volume = pi / 4 * 0.02**2 * 4.0 + 2 * NODE_VOLUME
    rise = liquid("MIL-PRF-5606", 288.15).bulk_modulus * FLOW / volume
    recording = run(circuit, until=20.0, every=0.1)
    pressures = recording.signals["0P1.outlet.pressure"]
    assert pressures[50] - pressures[30] == pytest.approx(rise * 2.0, rel=1e-3)
    end = recording.events[0].time
    assert end == pytest.approx(WITHOUT_LIMIT / rise, rel=0.01)
    assert pressures[-1] is None
    assert max(p for p in pressures if p is not None) <= WITHOUT_LIMIT
    taken = 3e-3 - recording.signals["0Z1.volume"][-1]
    assert taken == pytest.approx(FLOW * end, rel=0.02)
    energy = abs(recording.accounts.energy_error)
    assert energy <= 0.01 * recording.accounts.delivered


def test_it_delivers_again_once_the_way_is_open():
    """The pump is no longer dead-headed; a second time is told again."""
    circuit = _dead_head(bore="8 mm", length="1 m")
    positions = ((2, "open"), (4, "closed"))
    steps = [{"at": f"{t} s", "set": {"0V1": {"position": p}}} for t, p in positions]
    plan = parse_procedure(circuit, {"name": "Twice", "steps": steps})
    recording = run(circuit, plan, until=6.0, every=0.1)
    told = [e.time for e in recording.events if "nothing limits" in e.message]
    assert len(told) == 2
    assert told[0] < 2.0 < 4.0 < told[1]
    assert recording.signals["0P1.outlet.pressure"][30] < 10e5
    assert recording.signals["0P1.outlet.inflow"][30] == pytest.approx(-FLOW, rel=1e-3)


def test_the_live_readings_say_so_as_at_an_instant():
    """No reading with its reason, and the error-level finding."""
    motion = Motion(_dead_head())
    motion.advance(1.0)
    now = motion_readings(motion)
    assert now.pressures["0P1.outlet"] is None
    assert "nothing limits" in now.reasons["0P1.outlet"]
    assert [(f.rule, f.severity) for f in now.findings if f.severity == "error"] == [
        ("dead_headed", "error")
    ]
    motion.apply({"0P1": {"running": False}, "0V1": {"position": "open"}})
    motion.advance(2.0)
    assert motion_readings(motion).findings == ()
