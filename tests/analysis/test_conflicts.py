"""Two sources that nothing but a lossless line lies between: no figure is made up from one."""

import pytest

from analysis import Circuit, readings


def disputed() -> Circuit:
    """Two sources at one point, a lever and a cylinder behind it; a third source apart."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P1", pressure="100 bar")
    circuit.add("pressure_source", id="0P2", pressure="50 bar")
    circuit.add("pressure_source", id="0P3", pressure="30 bar")
    circuit.add("restrictor", id="0R1")
    circuit.add("relief_valve", id="0V1", set_pressure="80 bar")
    circuit.add("restrictor", id="0R3")
    circuit.add("reservoir", id="0T1")
    circuit.connect("0P1.outlet", "0P2.outlet")
    circuit.connect("0P2.outlet", "0R1.A", bore="6 mm", length="1 m")
    circuit.connect("0R1.B", "0T1.return", bore="6 mm", length="1 m")
    circuit.connect("0P2.outlet", "0V1.inlet", bore="6 mm", length="1 m")
    circuit.connect("0V1.outlet", "0T1.return", bore="6 mm", length="1 m")
    circuit.connect("0P3.outlet", "0R3.A", bore="6 mm", length="1 m")
    circuit.connect("0R3.B", "0T1.return", bore="6 mm", length="1 m")
    return circuit


def test_what_hangs_on_a_dispute_has_no_reading():
    """Neither pressure nor flow, up to the reservoir; what is fed by the third source has both."""
    found = readings(disputed())
    assert found.converged
    for port in ("0P1.outlet", "0P2.outlet", "0R1.A", "0R1.B", "0V1.inlet", "0V1.outlet"):
        assert found.pressures[port] is None, port
        assert found.inflows[port] is None, port
        assert "without any loss between" in found.reasons[port]
        assert port in found.undetermined
    assert [found.lines[line].flow is None for line in found.lines] == [True] * 5 + [False] * 2
    assert found.mass_imbalance < 1e-12
    assert found.inflows["0R3.A"] > 0.0
    assert found.pressures["0T1.return"] == 0.0
    assert "conflicting_pressures" in [finding.rule for finding in found.findings]


def test_what_is_the_same_either_way_is_read():
    """A relief valve that neither pressure opens passes nothing; what is behind it is at rest."""
    circuit = disputed()
    circuit.set_value("0V1", "set_pressure", "120 bar")
    found = readings(circuit)
    assert found.pressures["0V1.inlet"] is None
    assert found.pressures["0V1.outlet"] == pytest.approx(0.0, abs=1.0)
    assert found.inflows["0V1.inlet"] == found.inflows["0V1.outlet"] == 0.0
    assert found.pressures["0R1.B"] is None


def test_without_a_dispute_all_is_read():
    """The same circuit with both sources at one pressure."""
    circuit = disputed()
    circuit.set_value("0P2", "pressure", "100 bar")
    found = readings(circuit)
    assert None not in found.pressures.values()
    assert found.pressures["0R1.A"] == pytest.approx(1e7, rel=0.05)
    assert found.inflows["0R1.A"] > 0.0
    # which of the two gives how much of it, nothing says
    assert found.inflows["0P1.outlet"] is None
    assert found.inflows["0P2.outlet"] is None
    assert "leave this flow open" in found.reasons["0P2.outlet"]
