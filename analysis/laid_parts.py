"""The parts of a circuit in its network, as their laws lay them.

What a part lays hangs on its values, its nodes and what was laid before it. Runs of
neighbouring parts of which none moves or fills are kept, and each that does by itself: from one
network to the next, while levers are moved, parts fail and settings are edited, nearly all of them
are the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from analysis.circuit import Circuit
from analysis.laid_lines import Numbers
from analysis.laws import LAWS, add_leaks
from analysis.liquids import Liquid
from analysis.network import FAMILIES, Builder
from analysis.part import Part
from analysis.resolved import Resolved, position_of, resolve_element

_LONGEST = 12
"""Parts in a run at most [1]: an edit lays one run anew, and those that its rows push on."""

WrittenPart = tuple[str, str, Resolved, str]
"""Id and kind of a part, its values, the position it stands at (empty: it has none)."""

States = tuple[tuple[str, Any], ...]
"""States over time that replace the written ones, by name."""


@dataclass
class _Apart(Builder):
    """Collects what a run lays, beside the network; `asked` are its calls of `fix`."""

    asked: list[tuple[int, float, str, str]] = field(default_factory=list)

    def fix(self, node: int, pressure: float, sort: str, owner: str) -> None:
        """Note that a node is to be held."""
        self.asked.append((node, pressure, sort, owner))


@dataclass(frozen=True, eq=False)
class _Run:
    """What neighbouring parts lay down; kept, so never to be changed.

    `branches` are terms and rows by family; `devices` and `parts` are to be copied.
    """

    branches: tuple[tuple[str, list[Any], list[Any]], ...]
    asked: list[tuple[int, float, str, str]]
    devices: list[Any]
    count: int
    parts: list[Part]


def lay_parts(
    circuit: Circuit,
    moving: Mapping[str, Mapping[str, Any]] | None,
    numbers: Numbers,
    net: Builder,
    fluid: Liquid,
) -> dict[str, Part]:
    """Lay all parts of a circuit, in the order of the file; returns them by id.

    Parameters
    ----------
    moving
        States over time that replace the written ones (`assemble`).
    numbers
        The nodes of their ports.
    net
        Where they are laid.
    """
    parts: dict[str, Part] = {}
    states = moving or {}
    run: list[WrittenPart] = []
    for place, component in enumerate(circuit.components.values(), 1):
        own, values = component.id, component.resolved or resolve_element(component)
        position = ""
        if "position" in values.state:
            position = position_of(circuit, component, moving)
        written = own, component.kind, values, position
        if own in states:
            _take(run, (), numbers, net, fluid, parts)
            _take([written], tuple(states[own].items()), numbers, net, fluid, parts)
            run = []
            continue
        run.append(written)
        if not place % _LONGEST:
            _take(run, (), numbers, net, fluid, parts)
            run = []
    _take(run, (), numbers, net, fluid, parts)
    return parts


def forget_parts() -> None:
    """Throw away what is kept of parts."""
    _lay_run.cache_clear()


def _lay(
    written: WrittenPart,
    moving: Mapping[str, Any],
    numbers: Numbers,
    net: Builder,
    fluid: Liquid,
) -> Part:
    """Lay one part by its law; `moving` are states that replace the written ones."""
    own, kind, values, position = written
    state = values.state
    if moving:
        state = {**state, **moving}
    if position:
        state = {**state, "position": position}
    fault, ports = values.fault, numbers.ports[own]
    part = Part(own, kind, values.settings, state, fault, values.written, ports, net, fluid)
    LAWS[kind](part)
    if fault != "none" and fault.endswith("_leak"):
        add_leaks(part)
    return part


def _take(
    run: list[WrittenPart],
    moving: States,
    numbers: Numbers,
    net: Builder,
    fluid: Liquid,
    parts: dict[str, Part],
) -> None:
    """Lay a run of parts as it is kept; one that moves or fills makes a run of its own."""
    if not run:
        return
    before = tuple([len(net.rows[family]) for family in FAMILIES])
    kept = _lay_run(tuple(run), moving, numbers, fluid, net.dynamic, net.count, before)
    for family, terms, rows in kept.branches:
        net.terms[family] += terms
        net.rows[family] += rows
    for asked in kept.asked:
        net.fix(*asked)
    # they remember how they stand
    net.devices += map(_twin, kept.devices)
    net.count = kept.count
    for p in kept.parts:
        state = dict(p.state) if moving else p.state
        parts[p.id] = Part(
            p.id, p.kind, p.settings, state, p.fault, p.written, p.ports, net, fluid,
            p.taps, p.branches,
        )  # fmt: skip


def _twin(device: Any) -> Any:
    """A shallow copy, in a fifth of the time that the general one takes."""
    twin = object.__new__(type(device))
    vars(twin).update(vars(device))
    return twin


@lru_cache(maxsize=2048)
def _lay_run(
    run: tuple[WrittenPart, ...],
    moving: States,
    numbers: Numbers,
    fluid: Liquid,
    dynamic: bool,
    count: int,
    before: tuple[int, ...],
) -> _Run:
    """What a run lays in a network that has `count` nodes and `before` rows of each family."""
    first = dict(zip(FAMILIES, before, strict=True))
    # handles count from the first branch of the family
    terms: dict[str, list[Any]] = {family: [()] * laid for family, laid in first.items()}
    rows: dict[str, list[Any]] = {family: list(own) for family, own in terms.items()}
    net = _Apart(numbers.nodes, count, terms=terms, rows=rows, dynamic=dynamic)
    parts = [_lay(written, dict(moving), numbers, net, fluid) for written in run]
    branches = [
        (family, terms[family][laid:], rows[family][laid:])
        for family, laid in first.items()
        if len(rows[family]) > laid
    ]
    return _Run(tuple(branches), net.asked, net.devices, net.count, parts)
