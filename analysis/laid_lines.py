"""The lines of a circuit in its network: ports that are one node, pipes, broken lines.

Lines change seldom while levers are moved, parts fail and settings are edited: what they lay
is kept, with the numbers of all nodes, for as long as they are written as they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from operator import attrgetter
from typing import NamedTuple

import numpy as np

from analysis.branch_laws import pipe_row
from analysis.circuit import Circuit
from analysis.constants import LEAK_COEFFICIENT
from analysis.liquids import Liquid
from analysis.network import Array, Branch, Builder
from analysis.part import orifice_coefficient
from analysis.resolved import Resolved, resolve_element
from symbols import find_kind

WrittenLine = tuple[str, str, str, Resolved]
"""Id and both ports of a line, and its values."""

_AS_WRITTEN = attrgetter("id", "start", "end", "resolved")


class LaidLine(NamedTuple):
    """How a line stands in the network.

    `branch` is its pipe (None: ideal, blocked or ruptured); `second` the other half where
    a leak divides it; `ideal` joins two ports of one node; `bore` [m] if given.
    """

    id: str
    start: str
    end: str
    fault: str
    ideal: bool = False
    branch: Branch | None = None
    second: Branch | None = None
    bore: float | None = None


@dataclass(frozen=True, eq=False)
class Numbers:
    """The nodes of all ports; kept, so never to be changed.

    `nodes` has them by `ID.PORT`, `ports` by component and port name; `count` is how many
    nodes there are, the atmosphere among them.
    """

    nodes: dict[str, int]
    ports: Mapping[str, dict[str, int]]
    count: int


@dataclass(frozen=True, eq=False)
class LaidLines:
    """What all lines of a circuit lay down; kept, so never to be changed.

    Attributes
    ----------
    net
        Has the nodes of all ports, and the branches and held nodes of the lines only.
    numbers
        The nodes of all ports.
    lines
        How each line stands, by id.
    open_ends
        Ports at which a ruptured line is open to the atmosphere.
    volumes
        Fluid that stands at each node [m3]: half of each line's at either end.
    """

    net: Builder
    numbers: Numbers
    lines: Mapping[str, LaidLine]
    open_ends: frozenset[str]
    volumes: Array


def lay_lines(
    circuit: Circuit, kinds: tuple[tuple[str, str], ...], locked: frozenset[str], liquid: Liquid
) -> LaidLines:
    """Number the nodes of a circuit, and lay its lines between them.

    Parameters
    ----------
    kinds
        Each component's id and kind.
    locked
        The lines that hold air (`analysis.air_locks`).
    """
    lines = tuple(map(_AS_WRITTEN, circuit.lines.values()))
    if None in [values for _, _, _, values in lines]:
        for line in circuit.lines.values():
            resolve_element(line)
        lines = tuple(map(_AS_WRITTEN, circuit.lines.values()))
    meters = [circuit.components[own] for own, kind in kinds if kind == "flow_meter"]
    open_meters = tuple([m.id for m in meters if resolve_element(m).fault != "blocked"])
    return _lay_lines(lines, kinds, open_meters, locked, liquid)


@lru_cache(maxsize=32)
def _lay_lines(
    lines: tuple[WrittenLine, ...],
    kinds: tuple[tuple[str, str], ...],
    meters: tuple[str, ...],
    locked: frozenset[str],
    liquid: Liquid,
) -> LaidLines:
    """`lay_lines` for lines as they are written; `meters` are those that are not blocked."""
    numbers = number_nodes(kinds, _joined(lines, meters, locked))
    nodes = numbers.nodes
    net = Builder(nodes, numbers.count)
    laid: dict[str, LaidLine] = {}
    open_ends: set[str] = set()
    terms, rows = net.terms["pipe"], net.rows["pipe"]
    density, viscosity = liquid.density, liquid.viscosity
    for written in lines:
        identifier, start, end, values = written
        if values.fault != "none" or identifier in locked:
            laid[identifier] = _lay_faulty(net, written, identifier in locked, liquid)
            if values.fault == "ruptured":
                open_ends.update((start, end))
            continue
        s = values.settings
        bore = s["bore"]
        if values.is_lossless:
            laid[identifier] = LaidLine(identifier, start, end, "none", True, None, None, bore)
            continue
        # as `Builder.pipe` does, without a call: most branches of a circuit are pipes
        branch = _pipe_branch(len(rows))
        rows.append(pipe_row(bore, s["length"], s["roughness"], density, viscosity))
        terms.append(((nodes[start], 1.0), (nodes[end], -1.0)))
        laid[identifier] = LaidLine(identifier, start, end, "none", False, branch, None, bore)
    volumes = _volumes(net, lines, laid)
    return LaidLines(net, numbers, laid, frozenset(open_ends), volumes)


def _volumes(net: Builder, lines: Iterable[WrittenLine], laid: Mapping[str, LaidLine]) -> Array:
    """Half of the fluid of each line that is laid as a pipe at either end [m3]."""
    volumes = np.zeros(net.count)
    for identifier, start, end, values in lines:
        bore, length = values.settings["bore"], values.settings["length"]
        if laid[identifier].branch is None or bore is None:
            continue
        half = 0.5 * np.pi / 4.0 * bore**2 * length
        volumes[net.nodes[start]] += half
        volumes[net.nodes[end]] += half
    volumes.flags.writeable = False
    return volumes


def forget_lines() -> None:
    """Throw away what is kept of lines and nodes."""
    _lay_lines.cache_clear()
    number_nodes.cache_clear()


def _joined(
    lines: tuple[WrittenLine, ...], meters: tuple[str, ...], locked: frozenset[str]
) -> tuple[tuple[str, str], ...]:
    """The pairs of ports that lines without loss and meters join."""
    pairs = [
        (start, end)
        for identifier, start, end, values in lines
        if values.is_lossless
        and identifier not in locked
        and values.fault in ("none", "external_leak")
    ]
    return (*pairs, *((f"{meter}.A", f"{meter}.B") for meter in meters))


@lru_cache(maxsize=32)
def number_nodes(
    parts: tuple[tuple[str, str], ...], joined: tuple[tuple[str, str], ...]
) -> Numbers:
    """One node for all ports that ideal lines and meters join; kept.

    Parameters
    ----------
    parts
        Each component's id and kind.
    joined
        The pairs of ports that are one node.
    """
    root: dict[str, str] = {port: port for pair in joined for port in pair}

    def find(port: str) -> str:
        while root[port] != port:
            root[port] = root[root[port]]
            port = root[port]
        return port

    for start, end in joined:
        root[find(start)] = find(end)
    nodes: dict[str, int] = {}
    ports: dict[str, dict[str, int]] = {}
    shared: dict[str, int] = {}
    # node 0 is the atmosphere
    count = 1
    for identifier, kind in parts:
        own = ports[identifier] = {}
        for declared in find_kind(kind).ports:
            port = f"{identifier}.{declared.name}"
            node = shared.setdefault(find(port), count) if port in root else count
            own[declared.name] = nodes[port] = node
            count = max(count, node + 1)
    return Numbers(nodes, ports, count)


@lru_cache(maxsize=4096)
def _pipe_branch(row: int) -> Branch:
    return Branch("pipe", row)


def _lay_faulty(net: Builder, written: WrittenLine, locked: bool, liquid: Liquid) -> LaidLine:
    """Lay a line that has a fault, or that holds air (`locked`)."""
    identifier, first, last, values = written
    s, fault, bore = values.settings, values.fault, values.settings["bore"]
    start, end = net.nodes[first], net.nodes[last]
    if fault == "ruptured":
        for node in (start, end):
            net.fix(node, 0.0, "air", identifier)
        return LaidLine(identifier, first, last, fault, bore=bore)
    if fault == "blocked" or locked:
        return LaidLine(identifier, first, last, "blocked", bore=bore)
    # what is left is a leak
    hole, branch, second = start, None, None
    if not values.is_lossless:
        hole = net.new_node()
        size = bore, s["length"] / 2.0, s["roughness"], liquid.density, liquid.viscosity
        branch = net.pipe(start, hole, *size)
        second = net.pipe(hole, end, *size)
    passage = orifice_coefficient(s["leak_diameter"], LEAK_COEFFICIENT, liquid.density)
    net.turbulent(((hole, 1.0), (0, -1.0)), passage, reverse=0.0)
    return LaidLine(identifier, first, last, fault, values.is_lossless, branch, second, bore)
