"""Design rules: one function each, with its source, its severity and its mend.

A rule looks at the circuit through a `Sight` and yields a `Hit` for every place that
breaks it. The rules stand in the `rules_…` modules; `RULES` holds them all. A rule may be
waived on a part, with a reason and a name: its finding is then a note that says so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from analysis.circuit import Circuit, Component
from analysis.findings import Finding, Severity
from analysis.liquids import DEFAULT_LIQUID
from analysis.plumbing import Plumbing
from analysis.reach import Reach, find_reach
from analysis.readings import Readings, readings
from analysis.relief_cover import Limits
from analysis.resolved import resolve_element
from analysis.waivers import waiver_words


class Sight:
    """What rules look at: the circuit, and what is known of it, found when first asked for."""

    def __init__(self, circuit: Circuit, instant: Readings | None = None) -> None:
        self.circuit = circuit
        self._instant = instant

    @cached_property
    def reach(self) -> Reach:
        """Where all sources get to, over all lever settings."""
        return find_reach(self.circuit)

    @cached_property
    def plumbing(self) -> Plumbing:
        """What is joined to what, whatever the levers."""
        return Plumbing(self.circuit)

    @cached_property
    def limits(self) -> Limits:
        """Which relief valves limit the pressure at a port."""
        return Limits(self)

    @cached_property
    def readings(self) -> Readings:
        """Pressures and flows as the circuit stands."""
        return self._instant or readings(self.circuit)

    @cached_property
    def reservoirs_at(self) -> dict[str, list[str]]:
        """Component -> the reservoirs whose fluid can get there, both in the order of the file."""
        found: dict[str, list[str]] = {identifier: [] for identifier in self.circuit.components}
        for reservoir in self.of_kind("reservoir"):
            ends = [f"{reservoir.id}.{port.name}" for port in reservoir.declared.ports]
            around = self.plumbing.flood(ends, lambda step: True)
            for owner in {port.rpartition(".")[0] for port in around}:
                if owner == reservoir.id or self.circuit.components[owner].kind != "reservoir":
                    found[owner].append(reservoir.id)
        return found

    def of_kind(self, *kinds: str) -> Iterator[Component]:
        """The components of those kinds, in the order of the file."""
        return (c for c in self.circuit.components.values() if c.kind in kinds)

    def setting(self, component: Component, name: str) -> float:
        """A setting that is a number, SI."""
        return float(resolve_element(component).settings[name])

    def liquid_in(self, reservoir: Component) -> str:
        """The name of the liquid filled into a reservoir: its own, or the circuit's."""
        own = resolve_element(reservoir).settings.get("liquid")
        return str(own or self.circuit.fluid.get("kind") or DEFAULT_LIQUID)


class Hit(NamedTuple):
    """A place that breaks a rule. `severity` and `mend` stand in for the rule's own."""

    subjects: tuple[str, ...]
    message: str
    severity: Severity | None = None
    mend: str = ""


@dataclass(frozen=True)
class Rule:
    """A design rule; `source` says where it comes from."""

    name: str
    severity: Severity
    source: str
    mend: str
    find: Callable[[Sight], Iterable[Hit]]

    def findings(self, sight: Sight) -> Iterator[Finding]:
        """A finding for every place that breaks the rule."""
        for hit in self.find(sight):
            severity = hit.severity or self.severity
            yield Finding(self.name, severity, hit.subjects, hit.message, hit.mend or self.mend)


RULES: dict[str, Rule] = {}
"""Every rule by name, once `analysis.all_rules` is imported."""

Find = Callable[[Sight], Iterable[Hit]]


def rule(severity: Severity, source: str, mend: str) -> Callable[[Find], Find]:
    """Enter a function into `RULES` under its own name."""

    def enter(find: Find) -> Find:
        name: str = find.__name__
        if name in RULES:
            raise ValueError(f"two rules are named {name}")
        RULES[name] = Rule(name, severity, source, mend, find)
        return find

    return enter


def with_waivers(circuit: Circuit, findings: Iterable[Finding]) -> list[Finding]:
    """The findings as they are, those that are waived as notes.

    A waiver is `{"rule", "reason", "by"}` on a component or line that a finding concerns, and
    may have a `"date"`. One without a reason or without a name waives nothing.
    """
    waiving = {element.id for element in circuit.elements() if element.waivers}
    return [
        found if waiving.isdisjoint(found.subjects) else _waived(circuit, found)
        for found in findings
    ]


def _waived(circuit: Circuit, finding: Finding) -> Finding:
    """The finding as it is, or as a note with the waiver that one of its subjects carries."""
    for subject in finding.subjects:
        if subject not in circuit:
            continue
        for waiver in circuit.element(subject).waivers:
            if waiver.get("rule") == finding.rule and is_signed(waiver):
                reason, by = waiver["reason"].strip(), waiver["by"].strip()
                message = f"{finding.message} {waiver_words(by, reason)}"
                signed = {"severity": finding.severity, "reason": reason, "by": by}
                if waiver.get("date"):
                    signed["date"] = waiver["date"]
                return Finding(
                    finding.rule, "note", finding.subjects, message, finding.mend, signed
                )
    return finding


def is_signed(waiver: Mapping[str, str]) -> bool:
    """Whether a waiver gives a reason and a name, without which it waives nothing."""
    return all(str(waiver.get(key) or "").strip() for key in ("reason", "by"))
