"""Random circuits small enough to write down every way, joined so that ways cross."""

from __future__ import annotations

from random import Random

from analysis.circuit import Circuit
from tests.analysis.every_way import ACTUATOR_PORTS, BOTH_WAYS, CENTRE, ONE_WAY, PUMPS, SHUT

SUPPLIES = ("fixed_pump", "hand_pump", "hand_pump", "pressure_source", "accumulator")
COMMON = ("junction", "junction", "check_valve", "pilot_check_valve", "counterbalance_valve")
LEVERS = ("shutoff_valve", "valve_3_2", "valve_4_2", "valve_4_3", "valve_4_3")
OTHERS = ("shuttle_valve", "shuttle_valve", "relief_valve", "hydraulic_fuse", "pressure_gauge")
PARTS = (*ONE_WAY, *BOTH_WAYS, *COMMON, *LEVERS, *OTHERS)


def random_circuit(random: Random) -> Circuit:
    """A few parts of every sort, joined at random so that ways exist and cross."""
    circuit = Circuit()
    for _ in range(random.choice([1, 1, 2])):
        circuit.add("reservoir")
    for kind in random.sample(SUPPLIES, random.randint(2, 3)):
        circuit.add(kind)
    for kind in random.choices(PARTS, k=random.randint(2, 7)):
        _add(circuit, kind, random)
    for kind in random.choices(list(ACTUATOR_PORTS), k=random.randint(1, 3)):
        circuit.add(kind)
    ports = list(circuit.ports())
    for port in random.sample(ports, len(ports)):
        if random.random() < 0.75:
            other = random.choice([p for p in ports if p != port])
            fault = (
                {"fault": random.choice(["blocked", "ruptured"])} if random.random() < 0.04 else {}
            )
            circuit.connect(port, other, **fault)
    for component in list(circuit.components.values()):
        if component.kind in PUMPS and random.random() < 0.7:
            tank = random.choice([p for p in ports if p.endswith((".supply", ".standpipe"))])
            circuit.connect(tank, f"{component.id}.inlet")
    return circuit


def _add(circuit: Circuit, kind: str, random: Random) -> None:
    component = circuit.add(kind)
    declared = component.declared
    if "position" in declared.states:
        position = random.choice(declared.states["position"].choices)
        circuit.set_value(component.id, "position", position, state=True)
    if kind == "valve_4_3":
        circuit.set_value(component.id, "centre", random.choice(list(CENTRE)))
    if kind == "hydraulic_fuse" and random.random() < 0.2:
        circuit.set_value(component.id, "closed", True, state=True)
    shutting = [f for f in declared.faults if f in SHUT]
    if shutting and random.random() < 0.05:
        circuit.set_value(component.id, "fault", random.choice(shutting), state=True)
