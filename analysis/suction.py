"""What feeds a pump: covered reservoir outlets, or none, or air through a broken line.

A search against the flow from each pump's inlet, over open branches only. It stops at
nodes that hold a pressure, so lines that meet at a reservoir port are not joined by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from analysis.assemble import Assembly
from analysis.part import Part

_SELECTORS = ("valve_3_2", "valve_4_2", "valve_4_3")
_FEEDS = ("supply", "source", "accumulator")

Edge = tuple[int, str, str]
"""(node upstream, kind of the part between, id of the pump if it is one)."""


class _Upstream:
    """For each node the nodes from which fluid can come to it, found when they are asked for."""

    def __init__(self, assembly: Assembly) -> None:
        self._network = assembly.network
        self._owner: dict[tuple[str, int], Part] = {
            branch: part for part in assembly.parts.values() for _, branch, _ in part.taps
        }
        self._found: dict[int, list[Edge]] = {}

    def of(self, node: int) -> list[Edge]:
        """The edges that lead to a node."""
        found = self._found.get(node)
        if found is None:
            found = self._found[node] = list(self._find(node))
        return found

    def _find(self, node: int) -> Iterator[Edge]:
        for row in self._network.rows_at(node):
            family, forward, backward = self._directions(row)
            part = self._owner.get((family, row - self._network.start[family]))
            first, *others = self._network.node[row].tolist()
            weight, *weights = self._network.weight[row].tolist()
            if family == "deadband" and abs(weight) != 1.0:
                continue  # an actuator carries nothing across
            kind = part.kind if part else "line"
            pump = part.id if family == "source" and part else ""
            for other, share in zip(others, weights, strict=True):
                if share == 0.0:
                    continue
                if forward and other == node:
                    yield first, kind, pump
                if backward and first == node:
                    yield other, kind, pump

    def _directions(self, row: int) -> tuple[str, bool, bool]:
        """The family of a branch, and whether it can carry fluid forward, and back."""
        slices = self._network.slices
        family = next(f for f, rows in slices.items() if rows.start <= row < rows.stop)
        values = self._network.parameters[family][:, row - slices[family].start].tolist()
        if family == "turbulent":
            return family, values[0] > 0.0, values[2] > 0.0
        if family in ("pipe", "source"):
            return family, True, family == "pipe"
        # a free direction, or a motor both ways; a relief valve is no way
        both = values[2] != -inf
        return family, both or values[1] == 0.0, both


def find_dry_pumps(assembly: Assembly) -> dict[str, str]:
    """Pumps that turn but get no fluid, with the reason in words.

    Returns
    -------
    dict
        Pump id -> why: its reservoir outlets are uncovered, or it draws air.
    """
    sorts = {held.sort for node, held in assembly.builder.fixed.items() if node}
    if not sorts & {"dry", "air"}:
        return {}
    upstream = _Upstream(assembly)
    pumps = [part for part in assembly.parts.values() if "delivery" in part.branches]
    dry: dict[str, str] = {}
    while True:
        before = len(dry)
        for pump in pumps:
            if pump.id not in dry:
                reason = _why_dry(assembly, upstream, pump.ports["inlet"], dry)
                if reason:
                    dry[pump.id] = reason
        if len(dry) == before:
            return dry


def _why_dry(assembly: Assembly, upstream: _Upstream, inlet: int, dry: dict[str, str]) -> str:
    reached, direct = _search(assembly, upstream, inlet, dry, True), set()
    if "air" in reached:
        direct = _search(assembly, upstream, inlet, dry, False)
    fed = any(sort in reached for sort in _FEEDS)
    if "air" in direct or ("air" in reached and not fed):
        return "it draws air through a line that is open to the atmosphere"
    if "dry" in reached and not fed:
        return "the reservoir outlet that feeds it is uncovered"
    return ""


def _search(
    assembly: Assembly,
    upstream: _Upstream,
    inlet: int,
    dry: dict[str, str],
    through_selectors: bool,
) -> set[str]:
    """The sorts of held nodes from which fluid can come to the inlet."""
    fixed = assembly.builder.fixed
    if inlet in fixed:
        return {fixed[inlet].sort}
    found: set[str] = set()
    seen, waiting = {inlet}, [inlet]
    while waiting:
        for node, kind, pump in upstream.of(waiting.pop()):
            if node in seen or pump in dry or (kind in _SELECTORS and not through_selectors):
                continue
            seen.add(node)
            if node in fixed:
                found.add(fixed[node].sort)
            else:
                waiting.append(node)
    return found
