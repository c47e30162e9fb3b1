"""The values of an element in SI, with the defaults filled in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from analysis.circuit import LINE_SETTINGS, Circuit, Component, Element, Line
from analysis.setting_order import follow_written
from analysis.values import Value, default_of, resolve
from symbols import Setting


@dataclass(frozen=True, eq=False)
class Resolved:
    """SI values of one component or line; shared by all that are written alike, never changed.

    Equal is only what is the same object, so that what is kept by it is found quickly.

    `settings` and `state` hold floats, words, flags, tables or None by name; `fault` is
    `none` or a failure mode; `uncertain` names the settings and states whose source
    gives only a range (taken at its middle) or nothing (taken at the default). `written`
    names the settings that the user gave.
    """

    settings: dict[str, Any]
    state: dict[str, Any]
    fault: str
    ranges: tuple[str, ...] = ()
    unknowns: tuple[str, ...] = ()
    written: frozenset[str] = frozenset()

    @cached_property
    def is_lossless(self) -> bool:
        """Whether a line joins its ports without loss: no bore or no length given."""
        return self.settings["bore"] is None or self.settings["length"] is None


_CAM = 1e-4
"""A roller counts as tripped this near [m] to its trip point."""

_FULL, _KEPT_BACK = 0.8, 0.2
"""Shares of its capacity that a reservoir holds, and keeps for its supply outlet, unless
written: the proportions of the catalogue's defaults, as far as its capacity is below theirs."""

_DEFAULTS: dict[int, tuple[Setting, Any]] = {}


def _default(declared: Setting) -> Any:
    """The SI default, looked up by identity: declarations live as long as the program."""
    known = _DEFAULTS.get(id(declared))
    if known is None or known[0] is not declared:
        known = _DEFAULTS[id(declared)] = (declared, default_of(declared))
    return known[1]


_MOST_KEPT = 4096
_KEPT: dict[tuple[Any, ...], tuple[Mapping[str, Setting], Resolved]] = {}
"""What is resolved, and by which declarations, by all that it hangs on as it is written."""


def forget_resolved() -> None:
    """Throw away what is kept of elements that were resolved."""
    _KEPT.clear()


def resolve_element(element: Element) -> Resolved:
    """All settings and states in SI; kept with the element until it changes.

    Elements of one kind that are written alike share one result, and so do an element and
    its like before a change that was taken back: what hangs on the result is kept with it.

    Raises
    ------
    QuantityError
        Only if a value was put there past the writers of `Circuit`.
    """
    if element.resolved is None:
        element.resolved = _find(element)
    found: Resolved = element.resolved
    return found


def _find(element: Element) -> Resolved:
    settings: Mapping[str, Setting] = LINE_SETTINGS
    states: Mapping[str, Setting] = {}
    labels: Mapping[str, str] = {}
    if isinstance(element, Component):
        kind, labels = element.declared, element.labels
        settings, states = kind.settings, kind.states
    own, state = _as_written(element.settings), _as_written(element.state)
    key = element.kind, own, state, tuple(labels.items())
    known = _KEPT.get(key)
    if known is None or known[0] is not settings:
        if len(_KEPT) >= _MOST_KEPT:
            _KEPT.clear()
        found = _resolved(element, dict(settings), dict(states))
        known = _KEPT[key] = settings, found
    return known[1]


def _as_written(values: Mapping[str, Any]) -> tuple[tuple[str, type, str], ...]:
    """The values so that only what is written alike is equal: not 1 and True, nor 0.0 and -0.0."""
    return tuple([(n, type(v), v if type(v) is str else repr(v)) for n, v in values.items()])


def _resolved(
    element: Component | Line, settings: dict[str, Setting], states: dict[str, Setting]
) -> Resolved:
    labels = element.labels if isinstance(element, Component) else {}
    ranges: list[str] = []
    unknowns: list[str] = []

    def collect(declared: dict[str, Setting], written: dict[str, Any]) -> dict[str, Any]:
        values: dict[str, Any] = {}
        for name, setting in declared.items():
            if name not in written:
                values[name] = _default(setting)
                continue
            value: Value = resolve(written[name], setting, f"{element.id}.{name}", labels)
            values[name] = value.si
            if value.is_range:
                ranges.append(name)
            if value.unknown:
                unknowns.append(name)
        return values

    fault = element.state.get("fault") or "none"
    found = collect(settings, element.settings)
    follow_written(found, element.settings)
    state = collect(states, element.state)
    if "capacity" in found and element.state.get("volume") is None:
        # nobody fills a reservoir beyond its brim by saying how small it is
        state["volume"] = min(state["volume"], _FULL * found["capacity"])
        if element.settings.get("reserve") is None:
            found["reserve"] = min(found["reserve"], _KEPT_BACK * found["capacity"])
    return Resolved(
        found,
        state,
        str(fault),
        tuple(ranges),
        tuple(unknowns),
        frozenset(name for name, value in element.settings.items() if value is not None),
    )


def trip_point(trips_at: float) -> float:
    """The extension [m] at which a roller changes over."""
    # a cam at the retracted end is left as soon as the rod moves; any other stays under the rod
    return _CAM if trips_at <= _CAM else trips_at - _CAM


def position_of(
    circuit: Circuit,
    component: Component,
    moving: Mapping[str, Mapping[str, Any]] | None = None,
) -> str:
    """The position a directional or shutoff valve stands at, a roller's trip included.

    `moving` gives states over time that replace the written ones (`assemble`).

    A tripped roller valve stands at its first position. A valve whose cylinder or trip
    point is not given keeps the position that is written.
    """
    values = resolve_element(component)
    position = str(values.state["position"])
    if values.fault == "stuck" or values.settings.get("operator") != "roller":
        return position
    cylinder = circuit.components.get(str(values.settings.get("tripped_by") or ""))
    trips_at = values.settings.get("trips_at")
    if cylinder is None or trips_at is None or "extension" not in cylinder.declared.states:
        return position
    extension = resolve_element(cylinder).state["extension"]
    if moving is not None:
        extension = moving.get(cylinder.id, {}).get("extension", extension)
    choices = component.declared.states["position"].choices
    at_start, point = trips_at <= _CAM, trip_point(trips_at)
    tripped = extension <= point if at_start else extension >= point
    return choices[0] if tripped else position
