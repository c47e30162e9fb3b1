"""A valve that is stuck stays where it is: nothing that is set moves its lever."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.circuit import Circuit, Element


def is_held(element: Element, values: Mapping[str, Any], name: str) -> bool:
    """Whether the element does not take the value `name` of what is to be set on it.

    A lever that is stuck is not moved, unless the fault is mended in the same breath. What
    sets `stuck` and a position at once says where it sticks.
    """
    return (
        name == "position"
        and element.state.get("fault") == "stuck"
        and values.get("fault", "stuck") == "stuck"
    )


def told(circuit: Circuit, identifier: str, values: Mapping[str, Any], name: str) -> str:
    """What an event says of a value that is set, on the circuit as it was before."""
    if is_held(circuit.element(identifier), values, name):
        return f"{name} stays as it is: stuck"
    return f"{name} set to {values[name]}"
