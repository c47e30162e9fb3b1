"""Requirements in words: what their kinds mean, a name to begin with, what is still missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from analysis.circuit import Circuit
from analysis.words import listed

KIND_WORDS = {
    "reaches": "Reaches",
    "reaches_only": "Reaches, and nothing else",
    "reaches_none": "Reaches none",
    "independent": "Independent ways",
    "survives": "Survives any single failure",
}
KIND_MEANINGS = {
    "reaches": "Fluid from each supply gets to every target, and the other side can return.",
    "reaches_only": "As “Reaches”, and no other actuator port comes under pressure.",
    "reaches_none": "With these levers the supplies get to none of the targets.",
    "independent": "Two supplies get to the targets by ways with no part or line in common.",
    "survives": "A procedure still meets its expectations after each single failure.",
}

_MISSING = {
    "from": "pick at least one supply",
    "other": "pick at least one supply for the other side",
    "targets": "pick at least one target port",
    "procedure": "choose a procedure",
    "name": "write a name",
}
_NAMED_AT_MOST = 3


def needed_keys(kind: str) -> tuple[str, ...]:
    """The keys without which a requirement of this kind says nothing, in the order of asking."""
    if kind == "survives":
        return ("procedure",)
    return ("from", "other", "targets") if kind == "independent" else ("from", "targets")


def what_is_missing(raw: Mapping[str, Any]) -> str:
    """The first thing that a requirement still needs, as a demand; empty if it is complete.

    >>> what_is_missing({"kind": "reaches", "name": "x", "from": ["0P1"]})
    'pick at least one target port'
    """
    keys = (*needed_keys(str(raw.get("kind"))), "name")
    return next((_MISSING[key] for key in keys if not raw.get(key)), "")


def suggested_name(circuit: Circuit, raw: Mapping[str, Any]) -> str:
    """A name in words for a requirement, complete or not.

    >>> circuit = Circuit()
    >>> _ = circuit.add("hand_pump", id="2P1", name="Emergency pump")
    >>> _ = circuit.add("cylinder", id="1A1", name="Left gear")
    >>> wanted = {"kind": "reaches_only", "from": ["2P1"], "targets": ["1A1.cap"]}
    >>> suggested_name(circuit, wanted)
    'Emergency pump reaches Left gear (cap) and nothing else'
    """
    kind = raw.get("kind")
    if kind == "survives":
        procedure = raw.get("procedure")
        failures = "its failures" if raw.get("failures") else "any single failure"
        return f"{procedure}, after {failures}" if procedure else ""
    sources = _parts(circuit, raw.get("from") or ())
    targets = _ports(circuit, raw.get("targets") or (), "or" if kind == "reaches_none" else "and")
    if kind == "independent":
        other = _parts(circuit, raw.get("other") or ())
        full = sources and other and targets
        return f"{sources} and {other} get to {targets} by ways of their own" if full else ""
    if not sources or not targets:
        return ""
    many = len(raw["from"]) > 1
    verb = "reach" if many else "reaches"
    if kind == "reaches_none":
        return f"{sources} {'do' if many else 'does'} not reach {targets}"
    return f"{sources} {verb} {targets}{' and nothing else' if kind == 'reaches_only' else ''}"


def asked_words(circuit: Circuit, raw: Mapping[str, Any]) -> str:
    """What a requirement asks, short: its kind, supplies, targets and levers."""
    kind = str(raw.get("kind"))
    words = [KIND_WORDS.get(kind, kind)]
    if raw.get("procedure"):
        words.append(f"procedure “{raw['procedure']}”")
    if raw.get("from"):
        side = f"from {listed(raw['from'])}"
        words.append(f"{side} against {listed(raw['other'])}" if raw.get("other") else side)
    if raw.get("targets"):
        words.append(f"to {_shortened(list(raw['targets']))}")
    levers = [
        f"{identifier} {values['position']}"
        for identifier, values in (raw.get("set") or {}).items()
        if isinstance(values, Mapping) and "position" in values
    ]
    if levers:
        words.append(f"with {', '.join(levers)}")
    return " · ".join(words)


def _parts(circuit: Circuit, ids: Sequence[str]) -> str:
    named = [circuit.components[i].name or i if i in circuit.components else i for i in ids]
    return _shortened(named)


def _ports(circuit: Circuit, ports: Sequence[str], joint: str) -> str:
    named = []
    for port in ports:
        identifier, _, name = port.rpartition(".")
        component = circuit.components.get(identifier)
        named.append(f"{component.name} ({name})" if component and component.name else port)
    return _shortened(named, joint)


def _shortened(words: list[str], joint: str = "and") -> str:
    if len(words) <= _NAMED_AT_MOST + 1:
        return listed(words, joint)
    return listed([*words[:_NAMED_AT_MOST], f"{len(words) - _NAMED_AT_MOST} more"], joint)
