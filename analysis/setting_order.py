"""Settings of one part that must stand in an order: a rod is thinner than its bore."""

from __future__ import annotations

from analysis.elements import Component
from analysis.errors import EditError
from analysis.values import Value, resolve

_LESSER_GREATER = {
    ("rod_diameter", "bore"): "the rod would be as thick as the bore or thicker",
    ("knee_pressure", "cutoff_pressure"): "full flow would end above the pressure of no flow",
    ("cut_in_pressure", "cut_out_pressure"): "the pump would be cut in above where it is cut out",
}


def check_order(component: Component) -> None:
    """Raise EditError if two settings of the component contradict each other.

    Of a range the middle counts, as in readings. Where only one of the two is written, the
    other counts with its default. The error's place is `ID.SETTING`.
    """
    declared = component.declared.settings
    for (lesser, greater), trouble in _LESSER_GREATER.items():
        if lesser not in declared or greater not in declared:
            continue
        if lesser not in component.settings and greater not in component.settings:
            continue
        small, large = _value(component, lesser).si, _value(component, greater).si
        if isinstance(small, float) and isinstance(large, float) and small >= large:
            wrong = lesser if lesser in component.settings else greater
            raise EditError(
                f"{trouble}; {lesser} ({_shown(component, lesser)}) must be less than "
                f"{greater} ({_shown(component, greater)})",
                f"{component.id}.{wrong}",
            )


def _value(component: Component, name: str) -> Value:
    declared = component.declared.settings[name]
    return resolve(component.settings.get(name, declared.default), declared)


def _shown(component: Component, name: str) -> str:
    if component.settings.get(name) is not None:
        raw = component.settings[name]
        return " to ".join(map(str, raw["between"])) if isinstance(raw, dict) else str(raw)
    return f"{component.declared.settings[name].default} unless written"
