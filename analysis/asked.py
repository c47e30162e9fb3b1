"""A requirement as it is asked: its names checked, its levers set."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from analysis.circuit import Circuit
from analysis.errors import EditError, UnknownElement
from analysis.on_ways import OnWays
from analysis.passages import SOURCES
from analysis.port_graph import PortGraph
from analysis.variants import with_changes
from analysis.ways import Ways
from analysis.words import described, listed

KINDS = ("reaches", "reaches_only", "reaches_none", "independent", "survives")


@dataclass(frozen=True)
class Asked:
    """A requirement, its names checked, on the circuit with its levers set."""

    name: str
    kind: str
    circuit: Circuit
    sources: tuple[str, ...] = ()
    other: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()
    may_share: tuple[str, ...] = ()
    written: Mapping[str, Any] = field(default_factory=dict)
    plain: PortGraph | None = None
    """The graph of the circuit before anything was set, with every source, if it is known."""
    progress: Callable[[float], None] | None = None
    """Called with the share done where it takes runs over time."""

    def ways(self, sources: tuple[str, ...]) -> Ways:
        """The ways of these sources, with the levers set."""
        graph = None
        if self.plain is not None:
            changed = dict.fromkeys([*(self.written.get("set") or {}), *self.plain.plan.rollers])
            graph = self.plain.varied(self.circuit, sources, changed)
        return Ways(self.circuit, sources, graph=graph)

    @cached_property
    def sides(self) -> tuple[OnWays, OnWays]:
        """What lies on the ways of `sources`, and of `other`, to the targets."""
        one, other = (OnWays(self.ways(side), self.targets) for side in (self.sources, self.other))
        return one, other


def read(circuit: Circuit, requirement: Mapping[str, Any], name: str) -> Asked:
    """The requirement as it stands in the file; raises CircuitError where it cannot be read."""
    kind = str(requirement.get("kind", ""))
    if kind not in KINDS:
        raise EditError(f"'{kind}' is no kind of requirement; it must be {listed(KINDS, 'or')}")
    changes = requirement.get("set") or {}
    if not isinstance(changes, Mapping):
        raise EditError("'set' must name components and what to set")
    variant = with_changes(circuit, changes)
    if kind == "survives":
        return Asked(name, kind, variant, written=requirement)
    asked = Asked(
        name,
        kind,
        variant,
        _sources(variant, requirement, "from"),
        _sources(variant, requirement, "other") if kind == "independent" else (),
        _words(requirement, "targets"),
        _words(requirement, "may_share"),
        requirement,
    )
    if not asked.targets:
        raise EditError("it names no targets; name ports like 1A1.cap")
    for target in asked.targets:
        variant.split_port(target)
    for shared in asked.may_share:
        variant.element(shared)
    return asked


def _words(requirement: Mapping[str, Any], key: str) -> tuple[str, ...]:
    value = requirement.get(key) or []
    if isinstance(value, str):
        value = [value]
    if not isinstance(value, (list, tuple)) or not all(isinstance(v, str) for v in value):
        raise EditError(f"'{key}' must be a list of ids")
    return tuple(dict.fromkeys(value))


def _sources(circuit: Circuit, requirement: Mapping[str, Any], key: str) -> tuple[str, ...]:
    names = _words(requirement, key)
    if not names:
        raise EditError(f"'{key}' names no source; name a pump, pressure source or accumulator")
    for name in names:
        component = circuit.components.get(name)
        if component is None:
            raise UnknownElement(f"there is no component '{name}' to supply")
        if component.kind not in SOURCES:
            raise EditError(
                f"{described(component)} supplies nothing; name a pump, pressure source or "
                "accumulator",
            )
    return names
