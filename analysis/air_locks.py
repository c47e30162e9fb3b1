"""Lines at an uncovered reservoir outlet that hold air, while a covered outlet feeds the pump.

An inlet that reaches several outlets draws while any is covered: all it draws then comes
from those. Where none is covered the pump is dry (`analysis.suction`), and nothing is
locked.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from analysis.circuit import Circuit, Line
from analysis.outlets import uncovered_outlets
from analysis.passages import FEEDING, SOURCES, passages_of
from analysis.resolved import resolve_element


def find_air_locked(
    circuit: Circuit, moving: Mapping[str, Mapping[str, Any]] | None = None
) -> frozenset[str]:
    """The ids of lines that hold air, since nothing comes from the outlet at their end.

    Parameters
    ----------
    moving
        States over time that replace the written ones (`assemble`).
    """
    feeding, dry = _outlets(circuit, moving or {})
    if not dry:
        return frozenset()
    into = _Into(circuit)
    # what is open to the air at a broken line drains to its mouth, and holds no air of its own
    broken = {end for line in _ruptured(circuit) for end in (line.start, line.end)}
    dry = {outlet for outlet in dry if not _upstream(into, outlet, broken)}
    locked: set[str] = set()
    for component in circuit.components.values():
        if SOURCES.get(component.kind, ("",))[0]:
            reached = _upstream(into, f"{component.id}.inlet", feeding | dry)
            if reached & feeding:
                locked |= reached & dry
    return frozenset(
        line.id for line in circuit.lines.values() if line.start in locked or line.end in locked
    )


class _Into:
    """From which ports fluid comes to a port by itself, worked out where it is asked for."""

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._lines: dict[str, list[str]] = defaultdict(list)
        for line in circuit.lines.values():
            self._lines[line.start].append(line.id)
            self._lines[line.end].append(line.id)
        self._starts: dict[str, list[str]] = {}

    def starts(self, port: str) -> list[str]:
        """The ports at the other ends of the passages that lead to a port; no pump's."""
        found = self._starts.get(port)
        if found is None:
            owner, elements = port.rpartition(".")[0], self._lines.get(port, [])
            if self._circuit.components[owner].kind not in SOURCES:
                elements = [owner, *elements]
            found = self._starts[port] = [
                passage.start
                for element in elements
                for passage in passages_of(self._circuit, element)
                if passage.end == port and not (passage.pilot or passage.unless)
            ]
        return found


def _ruptured(circuit: Circuit) -> Iterator[Line]:
    return (line for line in circuit.lines.values() if resolve_element(line).fault == "ruptured")


def _outlets(
    circuit: Circuit, moving: Mapping[str, Mapping[str, Any]]
) -> tuple[set[str], set[str]]:
    """What may feed a pump: covered outlets and pressure sources; and the uncovered outlets."""
    feeding: set[str] = set()
    dry: set[str] = set()
    for component in circuit.components.values():
        if component.kind == "reservoir":
            values = resolve_element(component)
            state = {**values.state, **moving.get(component.id, {})}
            uncovered = uncovered_outlets(values.settings, state)
            for outlet in FEEDING:
                (dry if outlet in uncovered else feeding).add(f"{component.id}.{outlet}")
        elif component.kind == "pressure_source" and component.state.get("fault") != "no_output":
            feeding.add(f"{component.id}.outlet")
    return feeding, dry


def _upstream(into: _Into, inlet: str, ends: set[str]) -> set[str]:
    """Which of `ends` fluid can come from; none is passed: lines that meet there are not joined."""
    seen, waiting = {inlet}, [inlet]
    while waiting:
        port = waiting.pop()
        if port not in ends:
            fresh = [start for start in into.starts(port) if start not in seen]
            seen.update(fresh)
            waiting += fresh
    return seen & ends
