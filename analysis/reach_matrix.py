"""Which source gets to which actuator port, and with which levers: the whole matrix.

Each source is taken by itself, as if only it worked. The settings are given as parts, a
part being a choice of positions for the levers that matter: `1V1 at left`. Twelve valves
of three positions cost no more than the few levers that decide a way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

from analysis.circuit import Circuit
from analysis.lever_sets import NONE, LeverSets
from analysis.passages import ACTUATORS, SOURCES, actuator_ports
from analysis.reach import find_reach
from analysis.ways import sources_of

PARTS_SHOWN = 100
"""Parts of a set that are written out; the count of settings is exact all the same."""

Part = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Cell:
    """The settings in which `source` gets to `port`.

    `count` of the `ReachMatrix.total` settings; `parts` are disjoint choices of positions
    that make them up (`{}`: whatever the levers), at most `PARTS_SHOWN` of them.
    """

    source: str
    port: str
    count: int
    parts: tuple[Part, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain data for a report."""
        parts = [{lever: list(positions) for lever, positions in p.items()} for p in self.parts]
        return {"source": self.source, "port": self.port, "count": self.count, "settings": parts}


@dataclass(frozen=True)
class ReachMatrix:
    """Every source against every actuator port.

    Attributes
    ----------
    levers
        The levers that were moved, with their positions.
    total
        How many settings they have.
    cells
        Source and port -> cell; a pair that no setting joins is not in it.
    never
        Actuators that no source reaches in any setting.
    pressing
        Where one supply presses on the outlet of another: `port` is that outlet.
    inexact
        Sources whose cells may hold too many settings (see `analysis.reach`).
    """

    levers: Mapping[str, tuple[str, ...]]
    total: int
    cells: Mapping[tuple[str, str], Cell]
    never: tuple[str, ...]
    pressing: tuple[Cell, ...]
    inexact: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Plain data for a report."""
        return {
            "levers": {lever: list(positions) for lever, positions in self.levers.items()},
            "total": self.total,
            "cells": [cell.as_json() for cell in self.cells.values()],
            "never": list(self.never),
            "pressing": [cell.as_json() for cell in self.pressing],
            "inexact": list(self.inexact),
        }


def find_reach_matrix(circuit: Circuit) -> ReachMatrix:
    """The matrix of the circuit, its levers taken as free, its faults as they are.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("pressure_source", id="0P1"), circuit.add("valve_4_3", id="1V1")
    >>> _ = circuit.add("cylinder", id="1A1"), circuit.connect("0P1.outlet", "1V1.P")
    >>> _ = circuit.connect("1V1.A", "1A1.cap")
    >>> find_reach_matrix(circuit).cells["0P1", "1A1.cap"].parts
    ({'1V1': ('left',)},)
    """
    cells: dict[tuple[str, str], Cell] = {}
    pressing: list[Cell] = []
    inexact: list[str] = []
    sets = LeverSets({})
    for source in sources_of(circuit):
        reach = find_reach(circuit, [source])
        sets = reach.sets
        inexact += reach.inexact
        reached = reach.reached[source]
        for port in actuator_ports(circuit):
            if reached.get(port, NONE) != NONE:
                cells[source, port] = _cell(sets, source, port, reached[port])
        for port in _other_outlets(circuit, source):
            if reached.get(port, NONE) != NONE:
                pressing.append(_cell(sets, source, port, reached[port]))
    reached_ids = {port.rpartition(".")[0] for _, port in cells}
    never = [
        c.id for c in circuit.components.values() if c.kind in ACTUATORS and c.id not in reached_ids
    ]
    total = 1
    for positions in sets.levers.values():
        total *= len(positions)
    return ReachMatrix(sets.levers, total, cells, tuple(never), tuple(pressing), tuple(inexact))


def _cell(sets: LeverSets, source: str, port: str, at: int) -> Cell:
    parts = tuple(islice(sets.parts(at), PARTS_SHOWN))
    return Cell(source, port, sets.count(at), parts)


def _other_outlets(circuit: Circuit, source: str) -> Iterator[str]:
    """The outlets of other pumps and pressure sources; an accumulator is meant to be fed."""
    for component in circuit.components.values():
        supplies = component.kind in SOURCES and component.kind != "accumulator"
        if supplies and component.id != source:
            yield f"{component.id}.{SOURCES[component.kind][1]}"
