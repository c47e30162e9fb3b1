"""A circuit with some settings and states changed, beside the one that is drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from analysis.circuit import Circuit, Component, Element, is_state
from analysis.errors import EditError
from analysis.stuck_levers import is_held
from analysis.values import check_value


def with_changes(circuit: Circuit, changes: Mapping[str, Mapping[str, Any]]) -> Circuit:
    """The circuit with other settings and states, as `set` of a requirement gives them.

    Parameters
    ----------
    circuit
        Not changed.
    changes
        Id of a component or line -> setting or state -> value as in a file; positions may
        be given by their labels.

    Returns
    -------
    Circuit
        For reading only: what is not changed is shared with `circuit`.

    Raises
    ------
    UnknownElement, EditError, QuantityError
    """
    if not changes:
        return circuit
    variant = Circuit()
    vars(variant).update(
        {k: v for k, v in vars(circuit).items() if k not in ("changed", "revision")}
    )
    variant.components, variant.lines = dict(circuit.components), dict(circuit.lines)
    for identifier, values in changes.items():
        element = circuit.element(identifier)
        if not isinstance(values, Mapping):
            raise EditError(
                f"'{identifier}' is to be set to {values!r}; name what to set", identifier
            )
        changed = _changed(element, values)
        if isinstance(changed, Component):
            variant.components[identifier] = changed
        else:
            variant.lines[identifier] = changed
    return variant


def _changed(element: Element, values: Mapping[str, Any]) -> Element:
    twin = replace(element, settings=dict(element.settings), state=dict(element.state))
    for name, value in values.items():
        held = is_held(element, values, name)
        if isinstance(element, Component):
            state = is_state(element.declared, name, value)
            labels = element.labels if name == "position" else {}
        else:
            state, labels = name == "fault", {}
        declared = element.state_of(name) if state else element.setting_of(name)
        check_value(value, declared, f"{element.id}.{name}", labels)
        if not held:
            (twin.state if state else twin.settings)[name] = value
    return twin
