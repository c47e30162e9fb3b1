"""What has to be drawn to show a verdict: the ways, and the parts that stop or are shared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from analysis.asked import Asked
from analysis.barriers import barriers_before
from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.findings import Verdict
from analysis.passages import ACTUATORS, SOURCES, other_side
from analysis.port_graph import PortGraph
from analysis.requirements import read_requirement

Role = Literal["supply", "return", "other", "stray"]
Mark = Literal["", "stop", "stop return", "shared", "may share", "fatal"]


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
        Elements that are framed, and what for: they stop what would have to pass, or what
        would have to return; are shared by both sides, or may be shared; or their failure
        is not survived.
    reached
        Elements to which pressure gets, where there is no way to draw; with the mark
        `stop return` those to which fluid gets that cannot return.
    targets
        Components that are not reached, or from which nothing can return.
    numbers
        Component -> its number in the drawing, in order along the ways; joints have none.
    rests_on
        Elements that the verdict would fall with: the ways, what is marked, and where it
        says that something is not reached or not shared, all that pressure gets to.
    """

    requirement: int
    circuit: Circuit
    ways: tuple[ShownWay, ...]
    marked: tuple[str, ...] = ()
    mark: Mark = ""
    reached: frozenset[str] = frozenset()
    targets: tuple[str, ...] = ()
    numbers: Mapping[str, int] = field(default_factory=dict)
    rests_on: frozenset[str] = frozenset()


@dataclass(frozen=True)
class _Stopped:
    """Where something is stopped short of which components, and where it gets to."""

    marked: tuple[str, ...]
    mark: Mark
    reached: frozenset[str]
    targets: tuple[str, ...]


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
    if asked is None or not verdict.judged:
        return None
    try:
        return _picture(circuit, requirement, verdict, asked, number)
    except CircuitError:
        # too tangled to be judged, as the verdict says
        return None


def _picture(
    circuit: Circuit,
    requirement: Mapping[str, Any],
    verdict: Verdict,
    asked: Asked,
    number: int,
) -> WayPicture | None:
    ways = tuple(
        ShownWay(_role(circuit, requirement, verdict, index), way)
        for index, way in enumerate(verdict.ways)
    )
    if ways:
        marked, mark = _marked(requirement, verdict, ways)
        stopped = _Stopped(marked, mark, frozenset(), ())
    else:
        stopped = _stopped(asked, verdict)
    if not (ways or stopped.marked or stopped.reached):
        return None
    rests_on = {*stopped.marked, *stopped.reached, *(e for way in ways for e in way.elements)}
    if verdict.holds and asked.kind in ("reaches_only", "reaches_none", "independent"):
        for sources in (asked.sources, asked.other):
            rests_on |= _pressed(asked, sources) if sources else set()
    return WayPicture(
        number,
        asked.circuit,
        ways,
        stopped.marked,
        stopped.mark,
        stopped.reached,
        stopped.targets,
        _numbers(circuit, ways),
        frozenset(rests_on),
    )


def _stopped(asked: Asked, verdict: Verdict) -> _Stopped:
    """What a verdict without a way is about: something that does not get where it is asked."""
    witness = tuple(dict.fromkeys(verdict.witness))
    if asked.kind == "survives":
        return _Stopped(witness, "fatal", frozenset(), ())
    if asked.kind == "reaches_none":
        targets = tuple(dict.fromkeys(t.rpartition(".")[0] for t in asked.targets))
        return _Stopped(witness, "stop", _pressed(asked, asked.sources), targets)
    if asked.kind == "independent":
        return _one_sided(asked)
    return _short_of(asked, witness) or _no_return(asked, witness)


def _one_sided(asked: Asked) -> _Stopped:
    """The side of `independent` that has no way to a target."""
    for sources in (asked.sources, asked.other):
        ways = asked.ways(sources)
        for target in asked.targets:
            if not ways.pressed & ways.graph.bit(target):
                marked = barriers_before(ways.graph, [target], ways.pressed)
                reached = _elements_at(ways.graph, ways.pressed)
                return _Stopped(tuple(marked), "stop", reached, (target.rpartition(".")[0],))
    return _Stopped((), "", frozenset(), ())


def _short_of(asked: Asked, witness: tuple[str, ...]) -> _Stopped | None:
    """The first source that does not reach a target, alone; None if all reach all."""
    ways = asked.ways(asked.sources)
    for source in asked.sources:
        supply = ways.supplies[source].reached
        for target in asked.targets:
            if not supply & ways.graph.bit(target):
                reached = _elements_at(ways.graph, supply)
                return _Stopped(witness, "stop", reached, (target.rpartition(".")[0],))
    return None


def _no_return(asked: Asked, witness: tuple[str, ...]) -> _Stopped:
    """The first target from whose other side nothing can return."""
    ways = asked.ways(asked.sources)
    for target in asked.targets:
        other = other_side(asked.circuit, target)
        if other and ways.return_way(other) is None:
            graph, outward = ways.return_reach(other)
            reached = _elements_at(graph, outward)
            return _Stopped(witness, "stop return", reached, (target.rpartition(".")[0],))
    return _Stopped(witness, "stop", frozenset(), ())


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
    if requirement.get("kind") != "independent":
        return (), ""
    if verdict.witness:
        return verdict.witness, "shared"
    sides = [{e for way in ways if way.role == role for e in way.elements} for role in _SIDES]
    may = [e for e in requirement.get("may_share") or () if all(e in side for side in sides)]
    return tuple(may), "may share" if may else ""


_SIDES = ("supply", "other")


def _pressed(asked: Asked, sources: tuple[str, ...]) -> frozenset[str]:
    """The components and lines to which the sources bring pressure."""
    ways = asked.ways(sources)
    return _elements_at(ways.graph, ways.pressed)


def _elements_at(graph: PortGraph, reached: int) -> frozenset[str]:
    """The components with a port that is reached, and the lines with both."""
    ports = graph.ports(reached)
    found = {port.rpartition(".")[0] for port in ports}
    found |= {line.id for line in graph.circuit.lines.values() if {line.start, line.end} <= ports}
    return frozenset(found)


def _numbers(circuit: Circuit, ways: tuple[ShownWay, ...]) -> dict[str, int]:
    found: dict[str, int] = {}
    for way in ways:
        for identifier in way.elements:
            component = circuit.components.get(identifier)
            if component is not None and component.kind != "junction":
                found.setdefault(identifier, len(found) + 1)
    return found
