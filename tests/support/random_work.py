"""What somebody who knows nothing might do to a circuit: levers, faults and loads in any order."""

from __future__ import annotations

from random import Random
from typing import Any

from analysis.circuit import LINE_FAULTS, Circuit, Component
from analysis.procedures import Procedure, Step

_COUNTED = ("extension", "volume", "fluid_volume", "lock", "closed")
"""States that the work itself moves: hands leave them alone."""


def random_work(circuit: Circuit, seed: int, until: float = 60.0, most: int = 8) -> Procedure:
    """Up to `most` steps within the time [s], the same for the same seed and circuit."""
    random = Random(seed)
    handled = [c for c in circuit.components.values() if _handles(c)]
    steps = []
    for time in sorted(random.uniform(0.0, 0.9 * until) for _ in range(random.randint(1, most))):
        if random.random() < 0.25 or not handled:
            changes = _fault(circuit, random)
        else:
            changes = _lever(random.choice(handled), random)
        steps.append(Step(changes, at=time))
    return Procedure(f"random work {seed}", {}, steps, [])


def _handles(component: Component) -> list[str]:
    return [name for name in component.declared.states if name not in _COUNTED]


def _lever(component: Component, random: Random) -> dict[str, dict[str, Any]]:
    name = random.choice(_handles(component))
    state = component.declared.states[name]
    value: Any
    if state.dimension == "choice":
        value = random.choice(state.choices)
    elif state.dimension == "flag":
        value = random.random() < 0.5
    else:
        value = round(random.random(), 3)
    return {component.id: {name: value}}


def _fault(circuit: Circuit, random: Random) -> dict[str, dict[str, Any]]:
    element = random.choice([*circuit.components.values(), *circuit.lines.values()])
    faults = LINE_FAULTS if element.kind == "line" else element.declared.faults
    return {element.id: {"fault": random.choice(["none", *faults])}}
