"""What has to be drawn to show a verdict: the ways, and the parts that stop or are shared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from analysis.circuit import Circuit
from analysis.findings import Verdict
from analysis.passages import ACTUATORS, SOURCES
from analysis.requirements import read_requirement

Role = Literal["supply", "return", "other", "stray"]
Mark = Literal["", "stop", "shared", "may share"]


@dataclass(frozen=True)
class ShownWay:
    """One way: its elements in order, and what it is.

    `supply` brings pressure, `return` takes fluid back, `other` belongs to the other side
    of `independent`, and `stray` is the way that breaks a requirement.
    """

    role: Role
    elements: tuple[str, ...]


@dataclass(frozen=True)
class WayPicture:
    """A requirement's verdict as it is drawn.

    Attributes
    ----------
    circuit
        With the levers set as the requirement says.
    ways
        In the order in which the verdict names them.
    marked, mark
        Elements that are framed, and what for: they stop what would have to pass, are
        shared by both sides, or may be shared.
    reached
        Elements to which pressure gets, where there is no way to draw.
    targets
        Components that are asked about, where there is no way to draw.
    numbers
        Component -> its number in the drawing, in order along the ways; joints have none.
    """

    requirement: int
    circuit: Circuit
    ways: tuple[ShownWay, ...]
    marked: tuple[str, ...] = ()
    mark: Mark = ""
    reached: frozenset[str] = frozenset()
    targets: tuple[str, ...] = ()
    numbers: Mapping[str, int] = field(default_factory=dict)


def picture_of(
    circuit: Circuit, requirement: Mapping[str, Any], verdict: Verdict, number: int
) -> WayPicture | None:
    """The drawing of a verdict; None if it can show nothing (its message says why).

    Parameters
    ----------
    circuit
        As it is drawn.
    requirement, number
        As it stands in the file, and its number from 1.
    """
    asked = read_requirement(circuit, requirement, number)
    if asked is None or not verdict.judged or not (verdict.ways or verdict.witness):
        return None
    ways = tuple(
        ShownWay(_role(circuit, requirement, verdict, index), way)
        for index, way in enumerate(verdict.ways)
    )
    marked, mark = _marked(requirement, verdict, ways)
    # the verdicts that have no way tell what stops the pressure: then show where that is
    reached = frozenset[str]() if ways or not asked.sources else _reached(asked.ways(asked.sources))
    targets = () if ways else tuple(dict.fromkeys(t.rpartition(".")[0] for t in asked.targets))
    numbers = _numbers(circuit, ways)
    return WayPicture(number, asked.circuit, ways, marked, mark, reached, targets, numbers)


def _role(circuit: Circuit, requirement: Mapping[str, Any], verdict: Verdict, index: int) -> Role:
    if requirement.get("kind") == "independent":
        # the verdict gives one way to each target, first those of `from`
        return "supply" if index < len(verdict.ways) // 2 else "other"
    if not verdict.holds:
        return "stray"
    first = circuit.components.get(verdict.ways[index][0])
    comes_back = first is not None and first.kind in ACTUATORS and first.kind not in SOURCES
    return "return" if comes_back else "supply"


def _marked(
    requirement: Mapping[str, Any], verdict: Verdict, ways: tuple[ShownWay, ...]
) -> tuple[tuple[str, ...], Mark]:
    if not ways:
        return tuple(dict.fromkeys(verdict.witness)), "stop"
    if requirement.get("kind") != "independent":
        return (), ""
    if verdict.witness:
        return verdict.witness, "shared"
    sides = [{e for way in ways if way.role == role for e in way.elements} for role in _SIDES]
    may = [e for e in requirement.get("may_share") or () if all(e in side for side in sides)]
    return tuple(may), "may share" if may else ""


_SIDES = ("supply", "other")


def _reached(ways: Any) -> frozenset[str]:
    """The components and lines to which the sources bring pressure."""
    ports = ways.graph.ports(ways.pressed)
    circuit: Circuit = ways.circuit
    found = {port.rpartition(".")[0] for port in ports}
    found |= {line.id for line in circuit.lines.values() if {line.start, line.end} <= ports}
    return frozenset(found)


def _numbers(circuit: Circuit, ways: tuple[ShownWay, ...]) -> dict[str, int]:
    found: dict[str, int] = {}
    for way in ways:
        for identifier in way.elements:
            component = circuit.components.get(identifier)
            if component is not None and component.kind != "junction":
                found.setdefault(identifier, len(found) + 1)
    return found
