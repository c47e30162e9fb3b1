"""Places on the sheet for components that have none, so that the circuit can be drawn.

In rows, as ISO 1219-2 wants circuits drawn (from memory): reservoirs at the bottom, pumps
above them, then pressure control, directional control, and the actuators on top. What may
stand anywhere (check valves, filters, junctions, gauges) comes between its neighbours.
Within a row the order follows the neighbours in the rows beside it, so that few lines
cross: the barycentre method of Sugiyama, Tagawa and Toda, IEEE Trans. SMC 11 (1981) 109.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor
from statistics import fmean

from analysis.circuit import Circuit, Component
from symbols.kind import place

Box = tuple[float, float, float, float]
"""(left, top, right, bottom) in modules."""

_MARGIN = 14
"""Modules from the sheet's edge: 20 mm of filing margin (ISO 5457) and some air."""
_GAP = 6
"""Free modules between symbols, for lines and for the names below the symbols."""
_WIDEST = 150
"""A row wider than this is broken: an A3 sheet is 168 modules wide."""
_SWEEPS = 6

_HEIGHTS = {"pumps": 2.0, "pressure valves": 3.0, "actuators": 6.0}
_HEIGHTS_OF_KINDS = {
    "reservoir": 0.0,
    "accumulator": 3.0,
    "valve_3_2": 4.0,
    "valve_4_2": 4.0,
    "valve_4_3": 4.0,
}
_BETWEEN = 3.0
"""Height of a part without neighbours that may stand anywhere."""


@dataclass
class _Item:
    """A component to be placed: its extent about the origin, and where its middle goes."""

    id: str
    box: Box
    middle: float = 0.0

    @property
    def width(self) -> float:
        return self.box[2] - self.box[0]

    @property
    def height(self) -> float:
        return self.box[3] - self.box[1]


def lay_out(circuit: Circuit) -> dict[str, tuple[int, int]]:
    """Places for the components without `at`; no two symbols overlap.

    Where some components have a place already, the others are put to the right of them.

    Parameters
    ----------
    circuit
        Not changed.

    Returns
    -------
    dict of id to (x, y)
        Symbol origins in whole grid modules, in the order of the file; the same circuit
        gives the same places. Empty if every component has its place.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("reservoir", id="0Z1"), circuit.add("cylinder", id="1A1")
    >>> places = lay_out(circuit)
    >>> places["1A1"][1] < places["0Z1"][1]
    True
    """
    wanted = [c for c in circuit.components.values() if c.at is None]
    if not wanted:
        return {}
    neighbours = _find_neighbours(circuit)
    rows = _make_rows(circuit, wanted, neighbours)
    _order_rows(rows, neighbours)
    rows = [part for row in rows for part in _broken(row)]
    for _ in range(_SWEEPS):
        _spread(rows, neighbours)
        _spread(rows[::-1], neighbours)
    found = _grid_places(rows, _left_edge(circuit))
    return {component.id: found[component.id] for component in wanted}


def symbol_box(component: Component, at: tuple[float, float] = (0, 0)) -> Box:
    """(left, top, right, bottom) of the placed symbol in modules, its member in or out."""
    kind = component.declared
    words = {
        name: value
        for name, value in component.settings.items()
        if isinstance(value, str) and value in kind.settings[name].choices
    }
    corners = []
    for fraction in (0.0, 1.0):
        left, top, width, height = kind.bounds(kind.look(words, fraction=fraction))
        for corner in ((left, top), (left + width, top + height)):
            corners.append(place(corner, at, component.turn, component.mirror))
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return min(xs), min(ys), max(xs), max(ys)


def _find_neighbours(circuit: Circuit) -> dict[str, list[str]]:
    """The components at the other ends of each component's lines, one entry for each line."""
    found: dict[str, list[str]] = {identifier: [] for identifier in circuit.components}
    for line in circuit.lines.values():
        one, other = (port.rpartition(".")[0] for port in (line.start, line.end))
        if one != other:
            found[one].append(other)
            found[other].append(one)
    return found


# -- rows ----------------------------------------------------------------------------


def _make_rows(
    circuit: Circuit, wanted: Iterable[Component], neighbours: Mapping[str, Sequence[str]]
) -> list[list[_Item]]:
    """Rows from the top of the sheet to its bottom."""
    heights = _find_heights(circuit, neighbours)
    rows: dict[int, list[_Item]] = {}
    for component in wanted:
        item = _Item(component.id, symbol_box(component))
        rows.setdefault(floor(heights[component.id] + 0.5), []).append(item)
    return [rows[height] for height in sorted(rows, reverse=True)]


def _find_heights(circuit: Circuit, neighbours: Mapping[str, Sequence[str]]) -> dict[str, float]:
    """How far up each component belongs; free ones settle to the mean of their neighbours."""
    fixed = {
        c.id: height for c in circuit.components.values() if (height := _own_height(c)) is not None
    }
    heights = {identifier: fixed.get(identifier, _BETWEEN) for identifier in circuit.components}
    free = [i for i in circuit.components if i not in fixed and neighbours[i]]
    for _ in range(30):
        for identifier in free:
            heights[identifier] = fmean(heights[n] for n in neighbours[identifier])
    for identifier in free:
        component = circuit.components[identifier]
        if len(component.declared.ports) == 1 and component.kind != "junction":
            # gauges and plugs stand above what they hang on, their port looks down
            heights[identifier] += 0.5
    return heights


def _own_height(component: Component) -> float | None:
    kind = component.declared
    height = _HEIGHTS_OF_KINDS.get(kind.name)
    return _HEIGHTS.get(kind.family.replace("_", " ")) if height is None else height


def _order_rows(rows: Sequence[list[_Item]], neighbours: Mapping[str, Sequence[str]]) -> None:
    """Sort each row by where its members' neighbours stand, up and down several times."""
    for row in rows:
        for index, item in enumerate(row):
            item.middle = float(index) / len(row)
    middles = {item.id: item for row in rows for item in row}
    for sweep in range(_SWEEPS):
        for row in rows if sweep % 2 else rows[::-1]:
            for item in row:
                near = [middles[n].middle for n in neighbours[item.id] if n in middles]
                if near:
                    item.middle = fmean(near)
            row.sort(key=lambda item: item.middle)
            for index, item in enumerate(row):
                item.middle = (index + 0.5) / len(row)


def _broken(row: list[_Item]) -> list[list[_Item]]:
    """The row in parts that fit the sheet; neighbours in the row stay together."""
    width = sum(item.width + _GAP for item in row)
    parts = ceil(width / _WIDEST)
    size = ceil(len(row) / parts)
    return [row[start : start + size] for start in range(0, len(row), size)]


# -- places --------------------------------------------------------------------------


def _spread(rows: Sequence[list[_Item]], neighbours: Mapping[str, Sequence[str]]) -> None:
    """Move each row's members towards their neighbours, as near as the others let them."""
    members = {item.id: item for row in rows for item in row}
    for row in rows:
        wanted = []
        for item in row:
            near = [members[n].middle for n in neighbours[item.id] if n in members]
            wanted.append(fmean(near) if near else item.middle)
        for item, middle in zip(row, _apart_enough(row, wanted), strict=True):
            item.middle = middle


def _apart_enough(row: Sequence[_Item], wanted: Sequence[float]) -> list[float]:
    """The middles nearest to those wanted (least squares) that keep order and distance.

    Isotonic regression by pooling adjacent violators: Barlow and others, Statistical
    Inference under Order Restrictions (1972).
    """
    offsets = [0.0]
    for before, item in pairwise(row):
        offsets.append(offsets[-1] + _apart(before, item))
    pools: list[tuple[float, int]] = []
    for middle, offset in zip(wanted, offsets, strict=True):
        mean, count = middle - offset, 1
        while pools and pools[-1][0] > mean:
            other, more = pools.pop()
            mean = (mean * count + other * more) / (count + more)
            count += more
        pools.append((mean, count))
    level = [mean for mean, count in pools for _ in range(count)]
    return [x + offset for x, offset in zip(level, offsets, strict=True)]


def _apart(before: _Item, after: _Item) -> float:
    return (before.width + after.width) / 2 + _GAP


def _grid_places(rows: Sequence[Sequence[_Item]], left: float) -> dict[str, tuple[int, int]]:
    """Symbol origins on the grid: rows from the top down, the leftmost symbol at `left`."""
    offset = left - min(item.middle - item.width / 2 for row in rows for item in row)
    places: dict[str, tuple[int, int]] = {}
    top = _MARGIN
    for row in rows:
        height = max(item.height for item in row)
        end: float | None = None
        for item in row:
            start = item.middle - item.width / 2 + offset
            if end is not None:
                start = max(start, end + _GAP)
            x = ceil(start - item.box[0])
            y = top + ceil((height - item.height) / 2 - item.box[1])
            places[item.id] = (x, y)
            end = x + item.box[2]
        top += ceil(height) + _GAP
    return places


def _left_edge(circuit: Circuit) -> float:
    """Where the new block begins: right of what has a place already."""
    edges = [symbol_box(c, c.at)[2] for c in circuit.components.values() if c.at is not None]
    return floor(max(edges)) + 2 * _GAP if edges else _MARGIN
