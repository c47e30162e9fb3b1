"""An inlet that two reservoirs or two outlets feed: nothing comes from one that is uncovered."""

import pytest

from analysis import Circuit, readings, run

FLOW = 20e-3 / 60.0


def _two_tanks(first: dict[str, str], second: dict[str, str]) -> Circuit:
    circuit = Circuit()
    for tank, capacity, volume in (("0Z1", "5 L", "1 L"), ("0Z2", "10 L", "2 L")):
        circuit.add("reservoir", id=tank, capacity=capacity, volume=volume, reserve="0 L")
    circuit.add("reservoir", id="0Z3", capacity="20 L", volume="8 L")
    circuit.add("fixed_pump", id="0P1", displacement="20 cm^3/rev", speed="1000 rpm")
    circuit.add("restrictor", id="0V1", rated_flow="20 L/min", rated_drop="20 bar")
    circuit.connect("0Z1.supply", "0P1.inlet", id="S1", **first)
    circuit.connect("0Z2.supply", "0P1.inlet", id="S2", **second)
    circuit.connect("0P1.outlet", "0V1.A")
    circuit.connect("0V1.B", "0Z3.return")
    return circuit


PIPE = {"bore": "10 mm", "length": "1 m"}


@pytest.mark.parametrize(("first", "second"), [(PIPE, PIPE), ({}, PIPE)], ids=["alike", "unlike"])
def test_an_empty_tank_gives_nothing_and_the_other_all(first, second):
    """3 L at 20 L/min last 9 s, however the two share at first; no fluid comes from nowhere."""
    recording = run(_two_tanks(first, second), until=12.0)
    dry = {e.subject: e.time for e in recording.events if "is empty" in e.message}
    assert dry["0Z1"] < dry["0Z2"]
    assert dry["0Z2"] == pytest.approx(9.0, abs=0.01)
    assert recording.signals["0Z3.volume"][-1] == pytest.approx(11e-3, rel=1e-4)


def test_the_line_of_an_uncovered_outlet_holds_air():
    """At an instant too: all that the pump draws comes by the other line."""
    circuit = _two_tanks(PIPE, PIPE)
    circuit.set_value("0Z1", "volume", "0 L", state=True)
    read = readings(circuit)
    assert read.lines["S1"].flow == 0.0
    assert read.lines["S2"].flow == pytest.approx(FLOW)


def test_flows_after_a_fuse_has_closed_are_those_of_the_network_as_it_then_is():
    """Two branches beside each other: the one without a fuse passes its flow all along."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1", pressure="50 bar")
    circuit.add("hydraulic_fuse", id="1V1", closing_volume="0.1 L", rated_flow="20 L/min",
                rated_drop="50 bar")  # fmt: skip
    circuit.add("restrictor", id="1V2", rated_flow="5 L/min", rated_drop="50 bar")
    circuit.add("reservoir", id="0Z1")
    for line in ("0P1.outlet 1V1.inlet", "1V1.outlet 0Z1.return",
                 "0P1.outlet 1V2.A", "1V2.B 0Z1.return"):  # fmt: skip
        circuit.connect(*line.split())
    recording = run(circuit, until=1.0, every=1e-3)
    passed = recording.signals["1V2.A.inflow"]
    assert min(passed) == pytest.approx(5e-3 / 60.0, rel=1e-3)
    assert max(passed) == pytest.approx(5e-3 / 60.0, rel=1e-3)
    assert recording.signals["1V1.inlet.inflow"][-1] == 0.0
