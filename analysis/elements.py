"""The records of a circuit: components and lines, as the user wrote them."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy, deepcopy
from dataclasses import dataclass, field
from typing import Any, TypeVar

from analysis.errors import UnknownElement
from symbols import Kind, Setting, find_kind

LINE_ROLES = ("pressure", "return", "suction", "pilot", "drain")
LINE_FAULTS = ("ruptured", "blocked", "external_leak")
EVIDENCE = ("confirmed", "inferred", "assumed", "unknown")

LINE_SETTINGS: Mapping[str, Setting] = {
    "bore": Setting("Bore", "length", None, positive=True, optional=True),
    "length": Setting("Length", "length", None, positive=True, optional=True),
    "roughness": Setting("Roughness", "length", "1.5 um", minimum="0 um"),
    "leak_diameter": Setting("Leak diameter", "length", "0.5 mm", positive=True),
}


@dataclass
class Component:
    """A placed part. Settings and states hold what the user wrote, defaults are not in them."""

    id: str
    kind: str
    name: str = ""
    at: tuple[float, float] | None = None
    turn: int = 0
    mirror: bool = False
    settings: dict[str, Any] = field(default_factory=dict)
    state: dict[str, Any] = field(default_factory=dict)
    labels: dict[str, str] = field(default_factory=dict)
    evidence: dict[str, str] = field(default_factory=dict)
    waivers: list[dict[str, str]] = field(default_factory=list)
    written: frozenset[str] = frozenset()
    """Keys that stood in the file, to be written again even if they hold the default."""
    resolved: Any = field(default=None, init=False, compare=False, repr=False)
    """Room for `analysis.resolved`: the SI values, until a writer of `Circuit` clears it."""

    @property
    def declared(self) -> Kind:
        """The kind's declaration in the catalogue."""
        return find_kind(self.kind)

    def setting_of(self, name: str) -> Setting:
        """The declaration of a setting; raises UnknownElement."""
        try:
            return self.declared.settings[name]
        except KeyError:
            raise UnknownElement(
                f"{self.kind} has no setting '{name}'; it has "
                + (", ".join(self.declared.settings) or "none"),
                self.id,
            ) from None

    def state_of(self, name: str) -> Setting:
        """The declaration of a state, `fault` included; raises UnknownElement."""
        if name == "fault":
            return Setting("Fault", "choice", "none", choices=("none", *self.declared.faults))
        try:
            return self.declared.states[name]
        except KeyError:
            raise UnknownElement(
                f"{self.kind} has no state '{name}'; it has "
                + ", ".join([*self.declared.states, "fault"]),
                self.id,
            ) from None


@dataclass
class Line:
    """A line between two ports. Without bore or length it is ideal: no loss, no volume."""

    id: str
    start: str
    end: str
    via: list[tuple[float, float]] = field(default_factory=list)
    role: str = "pressure"
    name: str = ""
    settings: dict[str, Any] = field(default_factory=dict)
    state: dict[str, Any] = field(default_factory=dict)
    evidence: dict[str, str] = field(default_factory=dict)
    waivers: list[dict[str, str]] = field(default_factory=list)
    written: frozenset[str] = frozenset()
    resolved: Any = field(default=None, init=False, compare=False, repr=False)

    kind = "line"

    def setting_of(self, name: str) -> Setting:
        """The declaration of a setting; raises UnknownElement."""
        if name not in LINE_SETTINGS:
            raise UnknownElement(
                f"a line has no setting '{name}'; it has {', '.join(LINE_SETTINGS)}", self.id
            )
        return LINE_SETTINGS[name]

    def state_of(self, name: str) -> Setting:
        """The declaration of a state: a line has only `fault`; raises UnknownElement."""
        if name != "fault":
            raise UnknownElement(f"a line has no state '{name}'; it has fault", self.id)
        return Setting("Fault", "choice", "none", choices=("none", *LINE_FAULTS))


Element = Component | Line

_Copied = TypeVar("_Copied", Component, Line)


def copied(element: _Copied) -> _Copied:
    """A deep copy of a component or line.

    The resolved values are shared: they are never changed, only replaced.
    """
    twin = copy(element)
    for name, value in vars(element).items():
        if isinstance(value, dict | list):
            setattr(twin, name, _deep(value))
    return twin


def _deep(values: Any) -> Any:
    """A deep copy that does not look into words and numbers."""
    if isinstance(values, list):
        return deepcopy(values) if values else []
    return {k: deepcopy(v) if isinstance(v, dict | list) else v for k, v in values.items()}
