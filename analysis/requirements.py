"""What a reviewer must be able to show: requirements and their verdicts.

Each kind of requirement is one function from the circuit (with the levers as `set` puts
them) to a verdict: whether it holds, a sentence, and the way that proves or breaks it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from importlib import import_module
from typing import Any

from analysis.barriers import Barriers, why_stopped, why_unfed
from analysis.circuit import Circuit
from analysis.errors import CircuitError, EditError, UnknownElement
from analysis.findings import Verdict
from analysis.on_ways import elements_on_ways, elements_possible
from analysis.passages import SOURCES, actuator_ports, other_side, rollers
from analysis.port_graph import PortGraph
from analysis.variants import with_changes
from analysis.ways import Way, Ways, sources_of
from analysis.words import along, described, described_port, listed

KINDS = ("reaches", "reaches_only", "reaches_none", "independent", "survives")


@dataclass(frozen=True)
class Asked:
    """A requirement, its names checked, on the circuit with its levers set."""

    name: str
    kind: str
    circuit: Circuit
    sources: tuple[str, ...] = ()
    other: tuple[str, ...] = ()
    targets: tuple[str, ...] = ()
    may_share: tuple[str, ...] = ()
    written: Mapping[str, Any] = field(default_factory=dict)
    plain: PortGraph | None = None
    """The graph of the circuit before anything was set, with every source, if it is known."""

    def ways(self, sources: tuple[str, ...]) -> Ways:
        """The ways of these sources, with the levers set."""
        graph = None
        if self.plain is not None:
            changed = [*(self.written.get("set") or {}), *rollers(self.circuit)]
            graph = self.plain.varied(self.circuit, sources, dict.fromkeys(changed))
        return Ways(self.circuit, sources, graph=graph)


def evaluate(circuit: Circuit) -> tuple[Verdict, ...]:
    """The verdicts on all requirements of the circuit, in the order of the file.

    A requirement that cannot be read (an id that does not exist, a label that no lever
    has) does not hold, and its message says why.
    """
    plain = PortGraph(circuit, sources_of(circuit))
    return tuple(
        evaluate_one(circuit, requirement, number, plain)
        for number, requirement in enumerate(circuit.requirements, start=1)
    )


def evaluate_one(
    circuit: Circuit,
    requirement: Mapping[str, Any],
    number: int = 1,
    plain: PortGraph | None = None,
) -> Verdict:
    """The verdict on one requirement, given as it stands in the file.

    `plain` is the circuit's graph with every source, to save making it anew each time.

    Examples
    --------
    >>> circuit = Circuit()
    >>> _ = circuit.add("pressure_source", id="0P1"), circuit.add("cylinder", id="1A1")
    >>> _ = circuit.connect("0P1.outlet", "1A1.cap")
    >>> wanted = {"kind": "reaches_none", "from": ["0P1"], "targets": ["1A1.rod"]}
    >>> evaluate_one(circuit, wanted).holds
    True
    """
    name = _name(requirement, number)
    try:
        asked = replace(_read(circuit, requirement, name), plain=plain)
        return _JUDGES[asked.kind](asked)
    except CircuitError as error:
        return Verdict(name, False, f"It cannot be shown: {error}.")


def read_requirement(
    circuit: Circuit,
    requirement: Mapping[str, Any],
    number: int = 1,
    plain: PortGraph | None = None,
) -> Asked | None:
    """A requirement with its names checked; None if it cannot be read (its verdict says why)."""
    try:
        return replace(_read(circuit, requirement, _name(requirement, number)), plain=plain)
    except CircuitError:
        return None


def _name(requirement: Mapping[str, Any], number: int) -> str:
    return str(requirement.get("name") or f"Requirement {number}")


def _read(circuit: Circuit, requirement: Mapping[str, Any], name: str) -> Asked:
    kind = str(requirement.get("kind", ""))
    if kind not in KINDS:
        raise EditError(f"'{kind}' is no kind of requirement; it must be {listed(KINDS, 'or')}")
    changes = requirement.get("set") or {}
    if not isinstance(changes, Mapping):
        raise EditError("'set' must name components and what to set")
    variant = with_changes(circuit, changes)
    if kind == "survives":
        return Asked(name, kind, variant, written=requirement)
    asked = Asked(
        name,
        kind,
        variant,
        _sources(variant, requirement, "from"),
        _sources(variant, requirement, "other") if kind == "independent" else (),
        _words(requirement, "targets"),
        _words(requirement, "may_share"),
        requirement,
    )
    if not asked.targets:
        raise EditError("it names no targets; name ports like 1A1.cap")
    for target in asked.targets:
        variant.split_port(target)
    for shared in asked.may_share:
        variant.element(shared)
    return asked


def _words(requirement: Mapping[str, Any], key: str) -> tuple[str, ...]:
    value = requirement.get(key) or []
    if isinstance(value, str):
        value = [value]
    if not isinstance(value, (list, tuple)) or not all(isinstance(v, str) for v in value):
        raise EditError(f"'{key}' must be a list of ids")
    return tuple(dict.fromkeys(value))


def _sources(circuit: Circuit, requirement: Mapping[str, Any], key: str) -> tuple[str, ...]:
    names = _words(requirement, key)
    if not names:
        raise EditError(f"'{key}' names no source; name a pump, pressure source or accumulator")
    for name in names:
        component = circuit.components.get(name)
        if component is None:
            raise UnknownElement(f"there is no component '{name}' to supply")
        if component.kind not in SOURCES:
            raise EditError(
                f"{described(component)} supplies nothing; name a pump, pressure source or "
                "accumulator",
            )
    return names


# -- reaches, reaches_only, reaches_none ---------------------------------------------


def _reaches(asked: Asked) -> Verdict:
    ways = asked.ways(asked.sources)
    return _shortfall(asked, ways) or _proof(asked, ways, "")


def _reaches_only(asked: Asked) -> Verdict:
    ways = asked.ways(asked.sources)
    stray = _stray(asked, ways)
    if stray is not None:
        return stray
    return _shortfall(asked, ways) or _proof(asked, ways, ", and no other actuator is reached")


def _proof(asked: Asked, ways: Ways, more: str) -> Verdict:
    found: list[Way] = []
    returns: list[Way] = []
    for source in asked.sources:
        found += [w for t in asked.targets if (w := ways.way(source, t))]
    for target in asked.targets:
        back = _return_of(asked, ways, target)
        returns += [back] if back else []
    back_words = "; what is on the other side can return to a reservoir" if returns else ""
    return Verdict(
        asked.name,
        True,
        f"Fluid under pressure from {_sources_named(asked)} reaches "
        f"{listed(described_port(asked.circuit, t) for t in asked.targets)}{back_words}{more}.",
        tuple(element for way in found for element in way.elements),
        tuple(way.whole for way in (*found, *returns)),
    )


def _return_of(asked: Asked, ways: Ways, target: str) -> Way | None:
    other = other_side(asked.circuit, target)
    return ways.return_way(other) if other else None


def _shortfall(asked: Asked, ways: Ways) -> Verdict | None:
    """The verdict on a target that is not reached or cannot move; None if there is none."""
    for source in asked.sources:
        for target in asked.targets:
            if ways.way(source, target) is None:
                return _not_reached(asked, ways, source, target)
    for target in asked.targets:
        other = other_side(asked.circuit, target)
        if other and ways.return_way(other) is None:
            return _no_return(asked, ways, target, other)
    return None


def _not_reached(asked: Asked, ways: Ways, source: str, target: str) -> Verdict:
    circuit, graph = asked.circuit, ways.graph
    place = described_port(circuit, target)
    supply = ways.supplies[source]
    start = described(circuit.components[source])
    if not supply.reached:
        why = why_unfed(circuit, source)
        return Verdict(asked.name, False, f"{place} is not reached: {why}.", (source,))
    barriers = Barriers(graph).before([target], supply.reached)
    return Verdict(
        asked.name,
        False,
        f"{start} does not reach {place}: {_stopped(circuit, barriers)}.",
        tuple(barriers),
    )


def _stopped(circuit: Circuit, barriers: list[str]) -> str:
    if not barriers:
        return "no line leads there"
    shown = [why_stopped(circuit, element) for element in barriers[:3]]
    more = f" (and {len(barriers) - 3} more)" if len(barriers) > 3 else ""
    return listed(shown) + more


def _no_return(asked: Asked, ways: Ways, target: str, other: str) -> Verdict:
    circuit = asked.circuit
    graph, outward = ways.return_reach(other)
    reservoirs = [c for c in circuit.components.values() if c.kind == "reservoir"]
    ends = [f"{c.id}.{port.name}" for c in reservoirs for port in c.declared.ports]
    barriers = Barriers(graph).before(ends, outward)
    return Verdict(
        asked.name,
        False,
        f"Nothing can return from {described_port(circuit, other)}, so that pressure at {target} "
        f"cannot move it: {_stopped(circuit, barriers)}.",
        tuple(barriers),
    )


def _stray(asked: Asked, ways: Ways) -> Verdict | None:
    """The verdict on other actuator ports that are reached; None if there are none."""
    strays: list[tuple[str, Way]] = []
    for port in actuator_ports(asked.circuit):
        if port in asked.targets or not ways.pressed & ways.graph.bit(port):
            continue
        # what has gone through the target's own motor has done its work
        own = other_side(asked.circuit, port) in asked.targets
        avoid = port.rpartition(".")[0] if own else ""
        found = (ways.way(source, port, avoid) for source in asked.sources)
        way = next((w for w in found if w is not None), None)
        if way is not None:
            strays.append((port, way))
    if not strays:
        return None
    first = strays[0][1]
    return Verdict(
        asked.name,
        False,
        f"Fluid under pressure also reaches "
        f"{listed(described_port(asked.circuit, port) for port, _ in strays)}, by "
        f"{along(first.elements)}.",
        first.elements,
        tuple(way.whole for _, way in strays),
    )


def _reaches_none(asked: Asked) -> Verdict:
    ways = asked.ways(asked.sources)
    circuit = asked.circuit
    for source in asked.sources:
        for target in asked.targets:
            way = ways.way(source, target)
            if way is not None:
                return Verdict(
                    asked.name,
                    False,
                    f"{described(circuit.components[source])} reaches "
                    f"{described_port(circuit, target)}, by {along(way.elements)}.",
                    way.elements,
                    (way.whole,),
                )
    barriers = Barriers(ways.graph).before(asked.targets, ways.pressed)
    return Verdict(
        asked.name,
        True,
        f"Fluid under pressure from {_sources_named(asked, 'or')} reaches none of "
        f"{listed((described_port(circuit, t) for t in asked.targets), 'or')}: "
        f"{_stopped(circuit, barriers)}.",
        tuple(barriers),
    )


def _sources_named(asked: Asked, joint: str = "and") -> str:
    return listed((described(asked.circuit.components[s]) for s in asked.sources), joint)


# -- independent ------------------------------------------------------------------------


def _independent(asked: Asked) -> Verdict:
    circuit = asked.circuit
    sides = [asked.ways(asked.sources), asked.ways(asked.other)]
    drawn: list[Way] = []
    for side in sides:
        for target in asked.targets:
            found = (side.way(source, target) for source in side.sources)
            way = next((w for w in found if w is not None), None)
            if way is None:
                return _one_sided(asked, side, target)
            drawn.append(way)
    shared = _shared(asked, sides)
    names = [listed(described(circuit.components[s]) for s in side.sources) for side in sides]
    drawn_ways = tuple(way.whole for way in drawn)
    if not shared:
        but = f" but {listed(asked.may_share)}, which they may share" if asked.may_share else ""
        message = f"The ways from {names[0]} and from {names[1]} have nothing in common{but}."
        return Verdict(asked.name, True, message, (), drawn_ways)
    parts = listed(described(circuit.element(element)) for element in shared)
    message = f"The ways from {names[0]} and from {names[1]} share {parts}."
    return Verdict(asked.name, False, message, tuple(shared), drawn_ways)


def _shared(asked: Asked, sides: list[Ways]) -> list[str]:
    """The ids on ways of both sides, in the order of the file."""
    circuit = asked.circuit
    excepted = {*asked.may_share, *(target.rpartition(".")[0] for target in asked.targets)}
    maybe = elements_possible(sides[0], asked.targets) - excepted
    maybe &= elements_possible(sides[1], asked.targets)
    for side in sides:
        maybe = elements_on_ways(side, asked.targets, maybe) if maybe else maybe
    return [element.id for element in circuit.elements() if element.id in maybe]


def _one_sided(asked: Asked, side: Ways, target: str) -> Verdict:
    circuit = asked.circuit
    names = listed((described(circuit.components[s]) for s in side.sources), "or")
    place = described_port(circuit, target)
    if not side.pressed:
        why = listed(why_unfed(circuit, source) for source in side.sources)
    else:
        why = _stopped(circuit, Barriers(side.graph).before([target], side.pressed))
    return Verdict(asked.name, False, f"There is no way from {names} to {place}: {why}.")


# -- survives -----------------------------------------------------------------------------


def _survives(asked: Asked) -> Verdict:
    """The verdict of `analysis.failures`, where procedures are run with each failure."""
    try:
        failures = import_module("analysis.failures")
        judge: Callable[[Circuit, Mapping[str, Any], str], Verdict] = failures.survives
    except (ImportError, AttributeError):
        return Verdict(
            asked.name,
            False,
            "It could not be evaluated: procedures cannot be run with single failures yet.",
        )
    return judge(asked.circuit, asked.written, asked.name)


_JUDGES: dict[str, Callable[[Asked], Verdict]] = {
    "reaches": _reaches,
    "reaches_only": _reaches_only,
    "reaches_none": _reaches_none,
    "independent": _independent,
    "survives": _survives,
}
