"""Settings of one part that must stand in an order: a rod is thinner than its bore."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.elements import Component
from analysis.errors import EditError
from analysis.values import Value, resolve

_LESSER_GREATER = {
    ("rod_diameter", "bore"): "the rod would be as thick as the bore or thicker",
    ("knee_pressure", "cutoff_pressure"): "full flow would end above the pressure of no flow",
    ("cut_in_pressure", "cut_out_pressure"): "the pump would be cut in above where it is cut out",
}


_PROPORTION = {"rod_diameter": 0.56, "knee_pressure": 19 / 21, "cut_in_pressure": 0.8}
"""The catalogue's defaults: lesser over greater (a test holds them to it)."""


def check_order(component: Component) -> None:
    """Raise EditError if two settings of the component contradict each other.

    Of a range the middle counts, as in readings. Where only one of the two is written the
    other follows it (`follow_written`), and there is nothing to contradict. The error's
    place is `ID.SETTING`.
    """
    declared = component.declared.settings
    for (lesser, greater), trouble in _LESSER_GREATER.items():
        if lesser not in declared or greater not in declared:
            continue
        if component.settings.get(lesser) is None or component.settings.get(greater) is None:
            continue
        small, large = _value(component, lesser).si, _value(component, greater).si
        if isinstance(small, float) and isinstance(large, float) and small >= large:
            raise EditError(
                f"{trouble}; {lesser} ({_shown(component, lesser)}) must be less than "
                f"{greater} ({_shown(component, greater)})",
                f"{component.id}.{lesser}",
            )


def follow_written(settings: dict[str, Any], written: Mapping[str, Any]) -> None:
    """Let the one of a pair that is not written keep the defaults' proportion to the other.

    A cylinder of 1 in bore whose rod nobody gave has no 28 mm rod. `settings` holds SI
    values and is changed in place.
    """
    for lesser, greater in _LESSER_GREATER:
        if lesser not in settings or greater not in settings:
            continue
        has_lesser = written.get(lesser) is not None
        has_greater = written.get(greater) is not None
        if has_lesser == has_greater:
            continue
        share = _PROPORTION[lesser]
        if has_greater:
            settings[lesser] = settings[greater] * share
        else:
            settings[greater] = settings[lesser] / share


def _value(component: Component, name: str) -> Value:
    declared = component.declared.settings[name]
    return resolve(component.settings.get(name, declared.default), declared)


def _shown(component: Component, name: str) -> str:
    if component.settings.get(name) is not None:
        raw = component.settings[name]
        return " to ".join(map(str, raw["between"])) if isinstance(raw, dict) else str(raw)
    return f"{component.declared.settings[name].default} unless written"
