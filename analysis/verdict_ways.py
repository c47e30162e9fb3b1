"""What a verdict has to show on the sheet: its ways with their sense, and the parts to mark."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, Literal

from analysis.circuit import Circuit
from analysis.findings import Verdict
from analysis.passages import ACTUATORS

Sense = Literal["supply", "other", "return", "stray"]
Mark = Literal["shared", "barrier", "fault"]


@dataclass(frozen=True)
class ShownWay:
    """One way: ids of components and lines in order, and what it means.

    `supply` proves that something is reached, `other` is the other side of `independent`,
    `return` leads back to a reservoir, `stray` breaks the requirement.
    """

    elements: tuple[str, ...]
    sense: Sense


@dataclass(frozen=True)
class Shown:
    """All that a verdict shows.

    `marks`: id -> `shared` (on ways of both sides), `barrier` (here fluid is stopped) or
    `fault` (its failure costs the procedure).
    """

    ways: tuple[ShownWay, ...] = ()
    marks: Mapping[str, Mark] = field(default_factory=dict)

    def numbers(self, skipped: Collection[str] = ()) -> dict[str, int]:
        """The order of the ways: component -> its place, from 1 at the start of a way.

        Ways back are not counted, nor what is `skipped` (junctions). Where ways run
        together a part has one number, greater than those of all before it on any way.

        Examples
        --------
        >>> short, long = ShownWay(("P", "L1", "A"), "stray"), ShownWay(("Q", "L2", "P"), "stray")
        >>> Shown((short, long)).numbers()
        {'P': 2, 'A': 3, 'Q': 1}
        """
        # in a way components and lines take turns, a component first
        ways = [
            [part for part in way.elements[::2] if part not in skipped]
            for way in self.ways
            if way.sense != "return"
        ]
        found = {part: 1 for way in ways for part in way}
        # ways may meet the same parts in opposite order; then no numbering fits all
        for _ in range(len(found)):
            before = dict(found)
            for way in ways:
                for one, after in pairwise(way):
                    found[after] = max(found[after], found[one] + 1)
            if found == before:
                break
        return found


def shown_by(circuit: Circuit, requirement: Mapping[str, Any], verdict: Verdict) -> Shown:
    """What the verdict on the requirement shows.

    Parameters
    ----------
    circuit
        As it was when the verdict was found.
    requirement
        As it stands in the file.
    """
    kind = requirement.get("kind")
    if kind == "survives":
        return Shown((), dict.fromkeys(verdict.witness, "fault"))
    if kind == "independent":
        half = len(verdict.ways) // 2
        sides = [ShownWay(way, "supply") for way in verdict.ways[:half]]
        sides += [ShownWay(way, "other") for way in verdict.ways[half:]]
        return Shown(tuple(sides), dict.fromkeys(verdict.witness, "shared"))
    if verdict.ways:
        ways = tuple(ShownWay(way, _sense(circuit, way, verdict)) for way in verdict.ways)
        return Shown(ways)
    return Shown((), dict.fromkeys(verdict.witness, "barrier"))


def _sense(circuit: Circuit, way: tuple[str, ...], verdict: Verdict) -> Sense:
    if not verdict.holds:
        return "stray"
    # a way to an actuator starts at a reservoir or a source, a way back at the actuator
    first = circuit.components.get(way[0]) if way else None
    return "return" if first is not None and first.kind in ACTUATORS else "supply"
