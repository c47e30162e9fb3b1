"""What a placed component looks like now: the values that its drawing depends on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.circuit import Circuit, Component
from analysis.resolved import position_of, resolve_element
from symbols.kind import Look

_SHARES = (
    ("extension", "stroke"),
    ("extension", "angle"),
    ("fluid_volume", "gas_volume"),
    ("volume", "capacity"),
)
"""State over setting: how far a part is out, or how full it is."""


def look_of(
    circuit: Circuit,
    component: Component,
    moving: Mapping[str, Mapping[str, Any]] | None = None,
) -> Look:
    """The look of a component as it stands, a roller's trip included.

    `moving` holds states by id that replace the written ones: the circuit at work.
    """
    kind = component.declared
    values = resolve_element(component)
    state = {**values.state, **(moving or {}).get(component.id, {})}
    words: dict[str, Any] = {
        name: value for name, value in component.settings.items() if isinstance(value, str)
    }
    states: dict[str, Any] = {
        name: value for name, value in state.items() if isinstance(value, str | bool)
    }
    if "position" in kind.states:
        states["position"] = position_of(circuit, component, moving)
    states["fault"] = values.fault
    more: dict[str, Any] = {}
    for part, whole in _SHARES:
        if part in kind.states and whole in kind.settings:
            more["fraction"] = _share(state.get(part), values.settings.get(whole))
    if "opening" in kind.states:
        more["opening"] = state.get("opening") or 0.0
    if "reserve" in kind.settings:
        more["reserve"] = _share(values.settings.get("reserve"), values.settings.get("capacity"))
    return kind.look(words, states, **more)


def _share(part: Any, whole: Any) -> float:
    if not isinstance(part, int | float) or not isinstance(whole, int | float) or whole <= 0:
        return 0.0
    return min(max(part / whole, 0.0), 1.0)


def look_key(look: Look) -> tuple[Any, ...]:
    """What tells two looks apart; shares are taken coarsely, to half a percent."""
    shares = (look.fraction, look.opening, look.reserve)
    return (
        tuple(sorted(look.choices.items())),
        tuple(sorted(look.flags.items())),
        tuple(round(share * 200) for share in shares),
    )
