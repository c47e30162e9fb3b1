"""What feeds a pump: covered reservoir outlets, or none, or air through a broken line.

A search against the flow from each pump's inlet, over open branches only. It stops at
nodes that hold a pressure, so lines that meet at a reservoir port are not joined by it.
"""

from __future__ import annotations

from collections import defaultdict

from analysis.assemble import Assembly

_SELECTORS = ("valve_3_2", "valve_4_2", "valve_4_3")
_FEEDS = ("supply", "source", "accumulator")

Edge = tuple[int, str, str]
"""(node upstream, kind of the part between, id of the pump if it is one)."""


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
    upstream = _upstream(assembly)
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


def _upstream(assembly: Assembly) -> dict[int, list[Edge]]:
    """For each node the nodes from which fluid can come to it."""
    network, edges = assembly.network, defaultdict(list)
    owner = {
        network.row(branch): part for part in assembly.parts.values() for _, branch, _ in part.taps
    }
    all_nodes, all_weights = network.node.tolist(), network.weight.tolist()
    for family, part_slice in network.slices.items():
        rows = range(part_slice.start, part_slice.stop)
        # as lists: an array gives its numbers slowly, one by one
        for row, values in zip(rows, network.parameters[family].T.tolist(), strict=True):
            part = owner.get(row)
            kind = part.kind if part else "line"
            forward, backward = _directions(family, values)
            first, *others = all_nodes[row]
            weight, *weights = all_weights[row]
            if family == "deadband" and abs(weight) != 1.0:
                continue  # an actuator carries nothing across
            pump = part.id if family == "source" and part else ""
            for other, share in zip(others, weights, strict=True):
                if share == 0.0:
                    continue
                if forward:
                    edges[other].append((first, kind, pump))
                if backward:
                    edges[first].append((other, kind, pump))
    return edges


def _directions(family: str, values: list[float]) -> tuple[bool, bool]:
    """Whether a branch with these parameters can carry fluid forward, and back."""
    if family == "turbulent":
        return values[0] > 0.0, values[2] > 0.0
    if family == "pipe":
        return True, True
    if family == "source":
        return True, False
    # a free direction, or a motor both ways; a relief valve is no way
    both = values[2] != float("-inf")
    return both or values[1] == 0.0, both


def _why_dry(
    assembly: Assembly, upstream: dict[int, list[Edge]], inlet: int, dry: dict[str, str]
) -> str:
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
    upstream: dict[int, list[Edge]],
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
        for node, kind, pump in upstream.get(waiting.pop(), ()):
            if node in seen or pump in dry or (kind in _SELECTORS and not through_selectors):
                continue
            seen.add(node)
            if node in fixed:
                found.add(fixed[node].sort)
            else:
                waiting.append(node)
    return found
