"""Events come when they are due, worked out by hand: fuses, rollers, movements."""

from math import pi, sqrt

import pytest

from analysis import Circuit, run
from analysis.procedures import parse_procedure

FLOW = 2e-3 / 60.0
CAP = pi / 4 * 0.05**2


def _times(recording, subject: str, words: str) -> list[float]:
    return [e.time for e in recording.events if e.subject == subject and words in e.message]


def test_a_fuse_closes_when_its_volume_has_passed():
    """Fuse and restrictor in a row on 50 bar: q = sqrt(dp / (1/k1^2 + 1/k2^2)), steady."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1", pressure="50 bar")
    circuit.add("hydraulic_fuse", id="1V1", closing_volume="0.5 L", rated_flow="20 L/min",
                rated_drop="3 bar")  # fmt: skip
    circuit.add("restrictor", id="1V2", rated_flow="10 L/min", rated_drop="47 bar")
    circuit.add("reservoir", id="0Z1")
    for line in ("0P1.outlet 1V1.inlet", "1V1.outlet 1V2.A", "1V2.B 0Z1.return"):
        circuit.connect(*line.split())
    flow = sqrt(50e5 / (3e5 / (20e-3 / 60) ** 2 + 47e5 / (10e-3 / 60) ** 2))
    recording = run(circuit, until=10.0)
    assert _times(recording, "1V1", "closes") == [pytest.approx(0.5e-3 / flow, rel=1e-3)]
    volume = recording.signals["0Z1.volume"]
    assert volume[-1] - volume[0] == pytest.approx(0.5e-3, rel=1e-3)


def test_a_roller_is_tripped_where_it_stands():
    """The rod comes to 200 mm at the pump's pace; only then is the second cylinder fed."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", capacity="40 L", volume="30 L")
    for pump in ("0P1", "0P2"):
        circuit.add("fixed_pump", id=pump, displacement="20 cm^3/rev", speed="100 rpm")
        circuit.add("relief_valve", id=pump.replace("P", "V"), set_pressure="100 bar")
        circuit.connect("0Z1.supply", f"{pump}.inlet")
        circuit.connect(f"{pump}.outlet", pump.replace("P", "V") + ".inlet")
        circuit.connect(pump.replace("P", "V") + ".outlet", "0Z1.return")
    for cylinder in ("1A1", "2A1"):
        circuit.add("cylinder", id=cylinder, bore="50 mm", rod_diameter="28 mm", stroke="400 mm",
                    load="3000 N")  # fmt: skip
    circuit.add("valve_4_2", id="2V1", operator="roller", tripped_by="1A1", trips_at="200 mm",
                position="right")  # fmt: skip
    for line in ("0P1.outlet 1A1.cap", "1A1.rod 0Z1.return", "0P2.outlet 2V1.P",
                 "2V1.T 0Z1.return", "2V1.A 2A1.cap", "2V1.B 2A1.rod"):  # fmt: skip
        circuit.connect(*line.split())
    recording = run(circuit, until=20.0, every=0.5)
    due = 0.2 * CAP / FLOW
    assert _times(recording, "2V1", "tripped") == [pytest.approx(due, rel=2e-3)]
    extension = recording.signals["2A1.extension"][-1]
    assert extension == pytest.approx((20.0 - due) * FLOW / CAP, rel=5e-3)


def test_a_movement_begins_when_the_lever_is_moved_and_not_when_the_rod_came_to_rest():
    """Out within a second, at rest until 10 s, then in."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1")
    circuit.add("fixed_pump", id="0P1", displacement="20 cm^3/rev", speed="1000 rpm")
    circuit.add("relief_valve", id="0V1", set_pressure="100 bar")
    circuit.add("valve_4_2", id="1V1", position="left")
    circuit.add("cylinder", id="1A1", bore="50 mm", rod_diameter="28 mm", stroke="100 mm",
                load="5000 N")  # fmt: skip
    for line in ("0Z1.supply 0P1.inlet", "0P1.outlet 0V1.inlet", "0V1.outlet 0Z1.return",
                 "0P1.outlet 1V1.P", "1V1.T 0Z1.return", "1V1.A 1A1.cap",
                 "1V1.B 1A1.rod"):  # fmt: skip
        circuit.connect(*line.split())
    raw = {"name": "", "steps": [{"at": "10 s", "set": {"1V1": {"position": "right"}}}]}
    recording = run(circuit, parse_procedure(circuit, raw), until=12.0)
    assert _times(recording, "1A1", "stop, extended") == [
        pytest.approx(0.01 * CAP / FLOW, rel=2e-3)
    ]
    assert _times(recording, "1A1", "retracts") == [pytest.approx(10.0, abs=0.01)]
