"""Random circuits: any kind, any lever, any fault, lines with and without size.

They make no sense as machines. They are for what must hold of every circuit: that the
solution is finite, balances, and converges or says why.
"""

from __future__ import annotations

from random import Random

from analysis.circuit import LINE_FAULTS, Circuit
from analysis.resolved import resolve_element
from symbols import KINDS, Kind

_TYPICAL = {
    "pressure": (1e5, 3e7, "Pa"),
    "flow": (2e-5, 1e-3, "m^3/s"),
    "length": (5e-3, 0.1, "m"),
    "area": (1e-4, 1e-3, "m^2"),
    "volume": (1e-5, 1e-2, "m^3"),
    "force": (0.0, 2e4, "N"),
    "stiffness": (0.0, 1e4, "N/m"),
    "torque": (0.0, 100.0, "N*m"),
    "angle": (0.5, 6.0, "rad"),
    "displacement": (1e-7, 5e-6, "m^3/rad"),
    "speed": (10.0, 300.0, "rad/s"),
    "rate": (0.2, 2.0, "1/s"),
}
_NEVER = ("tripped_by", "trips_at", "drive", "operator")
_LATER = ("acting", "pulsation", "shifting_time")
"""Settings that came later are left alone, so that every number keeps its circuit."""


def random_circuit(seed: int, least: int = 5, most: int = 60) -> Circuit:
    """A circuit of `least` to `most` components, the same for the same seed."""
    random = Random(seed)
    circuit = Circuit()
    kinds = list(KINDS.values())
    count = random.randint(least, most)
    for _ in range(max(1, count // 12)):
        _add(circuit, KINDS["reservoir"], random)
    for _ in range(max(1, count // 10)):
        _add(circuit, random.choice([k for k in kinds if k.family == "pumps"]), random)
    while len(circuit.components) < count:
        _add(circuit, random.choice(kinds), random)
    ports = list(circuit.ports())
    random.shuffle(ports)
    for port in ports:
        if random.random() < 0.85:
            _join(circuit, port, random.choice(ports), random)
    return circuit


def give_strokes(circuit: Circuit, seed: int) -> float:
    """Let all hand pumps deliver by strokes, single or double acting; their rates in all [1/s]."""
    random = Random(seed)
    rate = 0.0
    for component in circuit.components.values():
        if component.kind == "hand_pump":
            circuit.set_value(component.id, "pulsation", "strokes")
            circuit.set_value(component.id, "acting", random.choice(("single", "double")))
            rate += resolve_element(component).settings["rate"]
    return rate


def _join(circuit: Circuit, start: str, end: str, random: Random) -> None:
    if not circuit.can_connect(start, end):
        return
    values = {}
    if random.random() < 0.6:
        values = {
            "bore": f"{random.uniform(3, 15):.3g} mm",
            "length": f"{random.uniform(0.05, 8):.3g} m",
        }
    if random.random() < 0.04:
        values["fault"] = random.choice(LINE_FAULTS)
    circuit.connect(start, end, **values)


def _add(circuit: Circuit, kind: Kind, random: Random) -> None:
    values: dict[str, object] = {}
    for name, setting in {**kind.settings, **kind.states}.items():
        if name in (*_NEVER, *_LATER) or random.random() < 0.5:
            continue
        if setting.dimension == "choice":
            values[name] = random.choice(setting.choices)
        elif setting.dimension == "flag":
            values[name] = random.random() < 0.8
        elif setting.dimension in _TYPICAL:
            low, high, unit = _TYPICAL[setting.dimension]
            values[name] = f"{random.uniform(low, high):.4g} {unit}"
    _make_possible(kind, values, random)
    fault = random.choice(kind.faults) if kind.faults and random.random() < 0.08 else None
    component = circuit.add(kind.name, **{k: v for k, v in values.items() if k != "fault"})
    if fault:
        circuit.set_value(component.id, "fault", fault, state=True)


def _make_possible(kind: Kind, values: dict[str, object], random: Random) -> None:
    """Settings that must agree with each other."""
    if "bore" in kind.settings and "stroke" in kind.settings:
        bore, stroke = random.uniform(15, 80), random.uniform(50, 600)
        values.update(bore=f"{bore:.4g} mm", stroke=f"{stroke:.4g} mm")
        if "rod_diameter" in kind.settings:
            values["rod_diameter"] = f"{bore * random.uniform(0.3, 0.8):.4g} mm"
        share = random.choice([0.0, 1.0, random.random()])
        values["extension"] = f"{stroke * share:.4g} mm"
    if kind.name == "semi_rotary_actuator":
        values.update(angle="3 rad", extension=f"{3 * random.choice([0, 1, 0.4])} rad")
    if kind.name == "compensated_pump":
        knee = random.uniform(50, 200)
        values.update(knee_pressure=f"{knee} bar", cutoff_pressure=f"{knee * 1.1} bar")
    if kind.name == "unloading_valve":
        top = random.uniform(30, 200)
        values.update(cut_out_pressure=f"{top} bar", cut_in_pressure=f"{top * 0.8} bar")
    if kind.name == "accumulator":
        gas = random.uniform(0.2, 2)
        values.update(
            gas_volume=f"{gas:.4g} L", fluid_volume=f"{gas * random.choice([0, 0.3, 0.6]):.4g} L"
        )
    if kind.name == "flow_divider":
        values["ratio"] = round(random.uniform(0.2, 0.8), 3)
