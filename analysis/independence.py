"""The verdict on `independent`: what lies on ways of both sides."""

from __future__ import annotations

from analysis.asked import Asked
from analysis.barriers import barriers_before, stopped_by, why_unfed
from analysis.findings import Verdict
from analysis.ways import Way, Ways
from analysis.words import described, described_port, listed

_TOLD = 12
"""Shared parts that a sentence names at most; the witness has them all."""


def independent(asked: Asked) -> Verdict:
    """No element lies on ways of both sides, but for the targets and what they may share."""
    circuit = asked.circuit
    sides = [side.ways for side in asked.sides]
    drawn: list[Way] = []
    for side in sides:
        for target in asked.targets:
            found = (side.way(source, target) for source in side.sources)
            way = next((w for w in found if w is not None), None)
            if way is None:
                return _one_sided(asked, side, target)
            drawn.append(way)
    shared = _shared(asked)
    names = [listed(described(circuit.components[s]) for s in side.sources) for side in sides]
    drawn_ways = tuple(way.whole for way in drawn)
    if not shared:
        but = f" but {listed(asked.may_share)}, which they may share" if asked.may_share else ""
        message = f"The ways from {names[0]} and from {names[1]} have nothing in common{but}."
        return Verdict(asked.name, True, message, (), drawn_ways)
    parts = listed((described(circuit.element(element)) for element in shared), most=_TOLD)
    message = f"The ways from {names[0]} and from {names[1]} share {parts}."
    return Verdict(asked.name, False, message, tuple(shared), drawn_ways)


def _shared(asked: Asked) -> list[str]:
    """The ids on ways of both sides, in the order of the file."""
    excepted = {*asked.may_share, *(target.rpartition(".")[0] for target in asked.targets)}
    one, other = asked.sides
    maybe = (one.possible & other.possible) - excepted
    for side in asked.sides:
        maybe = side.exactly(maybe)
    return [element.id for element in asked.circuit.elements() if element.id in maybe]


def _one_sided(asked: Asked, side: Ways, target: str) -> Verdict:
    circuit = asked.circuit
    names = listed((described(circuit.components[s]) for s in side.sources), "or")
    place = described_port(circuit, target)
    if not side.pressed:
        why = listed(why_unfed(side.graph, source)[0] for source in side.sources)
    else:
        why = stopped_by(circuit, barriers_before(side.graph, [target], side.pressed))
    return Verdict(asked.name, False, f"There is no way from {names} to {place}: {why}.")
