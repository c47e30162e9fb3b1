"""Every kind of the catalogue has a law, a default that solves, and readings that balance."""

import math

import pytest

from analysis import Circuit, readings
from analysis.laws import LAWS
from symbols import KINDS


def test_every_kind_has_a_law_and_every_law_a_kind():
    """A kind without a law, or a law left over, is a fault of the program."""
    assert set(LAWS) == set(KINDS)


def _fed(kind: str) -> tuple[Circuit, str]:
    """The kind with a pressure source at its first port and reservoirs at its others."""
    circuit = Circuit()
    circuit.add("pressure_source", id="0P9", pressure="80 bar")
    circuit.add("reservoir", id="0Z9")
    part = circuit.add(kind, id="1X1")
    for index, port in enumerate(part.declared.ports):
        end = "0P9.outlet" if index == 0 and kind != "reservoir" else "0Z9.return"
        circuit.connect(end, f"1X1.{port.name}", bore="8 mm", length="1 m")
    return circuit, part.id


@pytest.mark.parametrize("kind", KINDS)
def test_kind_solves_with_its_defaults(kind):
    """Just placed and connected, every kind gives finite readings that balance."""
    circuit, _ = _fed(kind)
    found = readings(circuit)
    assert found.converged, found.message
    for value in [*found.pressures.values(), *found.inflows.values()]:
        assert value is None or math.isfinite(value)
    largest = max(abs(v) for v in found.inflows.values() if v is not None)
    assert found.mass_imbalance <= 1e-9 * max(largest, 1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_kind_alone_solves(kind):
    """A part with nothing connected converges: every port is closed."""
    circuit = Circuit()
    circuit.add(kind)
    assert readings(circuit).converged


@pytest.mark.parametrize(("kind", "fault"), [(k.name, f) for k in KINDS.values() for f in k.faults])
def test_every_fault_solves(kind, fault):
    """Every failure mode of every kind gives readings, or says why not."""
    circuit, part = _fed(kind)
    circuit.set_value(part, "fault", fault, state=True)
    found = readings(circuit)
    assert found.converged or found.message
