"""A press so small that every failure of it is tried in a few seconds."""

from __future__ import annotations

from analysis.circuit import Circuit


def small_press() -> Circuit:
    """A pump with relief, a selector, a cylinder; one requirement, one quick procedure."""
    circuit = Circuit()
    circuit.add("reservoir", id="0Z1", at=(20, 60))
    circuit.add("fixed_pump", id="0P1", at=(20, 40), name="Bench pump", running=True)
    circuit.add("relief_valve", id="0V1", at=(40, 40))
    circuit.add(
        "valve_4_3", id="1V1", at=(50, 20), name="Selector", centre="closed", position="left"
    )
    circuit.add("cylinder", id="1A1", at=(50, 4), name="Press ram", stroke="2 in", load="100 lbf")
    for name, start, end, role in (
        ("L1", "0Z1.supply", "0P1.inlet", "suction"),
        ("L2", "0P1.outlet", "1V1.P", "pressure"),
        ("L3", "0P1.outlet", "0V1.inlet", "pressure"),
        ("L4", "0V1.outlet", "0Z1.return", "return"),
        ("L5", "1V1.A", "1A1.cap", "pressure"),
        ("L6", "1V1.B", "1A1.rod", "pressure"),
        ("L7", "1V1.T", "0Z1.return", "return"),
    ):
        circuit.connect(start, end, id=name, role=role, bore="0.25 in", length="3 ft")
    circuit.requirements = [
        {
            "name": "The pump drives the ram out",
            "kind": "reaches",
            "from": ["0P1"],
            "set": {"1V1": {"position": "left"}},
            "targets": ["1A1.cap"],
        }
    ]
    circuit.procedures = [
        {
            "name": "Press once",
            "start": {"1A1": {"extension": "0 in"}, "1V1": {"position": "left"}},
            "steps": [],
            "expect": [{"by": "5 s", "signal": "1A1.extension", "at_least": "1.9 in"}],
        }
    ]
    return circuit
