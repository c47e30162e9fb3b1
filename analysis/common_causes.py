"""What two supplies have in common that no line shows: power, reservoirs, who works them.

The method is that of a common cause analysis (SAE ARP4761): two ways that share no part
may still be lost together, by one engine, one battery, one operator, one tank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.circuit import Circuit, Component
from analysis.findings import Finding
from analysis.on_ways import elements_on_ways
from analysis.port_graph import PortGraph
from analysis.requirements import read_requirement
from analysis.ways import Ways, sources_of
from analysis.words import listed


@dataclass(frozen=True)
class CommonCause:
    """One thing that both sides depend on.

    `kind` is `drive`, `reservoir` or `operator` (a cylinder that trips valves); `what` the
    tag or id; `one` and `other` the ids on either side that hang on it.
    """

    kind: str
    what: str
    one: tuple[str, ...]
    other: tuple[str, ...]


def find_common_causes(
    circuit: Circuit, sources: Sequence[str], other: Sequence[str], targets: Sequence[str]
) -> list[CommonCause]:
    """What the ways from `sources` and from `other` to the targets both depend on.

    Raises
    ------
    TooTangled
        If an exact search for the ways would take too long.
    """
    return _in_common([Ways(circuit, sources), Ways(circuit, other)], targets)


def _in_common(sides: Sequence[Ways], targets: Sequence[str]) -> list[CommonCause]:
    one, other = (_depends(side, targets) for side in sides)
    return [CommonCause(*key, tuple(one[key]), tuple(other[key])) for key in one if key in other]


def _depends(ways: Ways, targets: Sequence[str]) -> dict[tuple[str, str], list[str]]:
    """(kind, what) -> the ids on ways of these sources that depend on it."""
    causes = {
        component.id: found
        for component in ways.circuit.components.values()
        if (found := _causes(component))
    }
    on_ways = elements_on_ways(ways, targets, causes)
    depending: dict[tuple[str, str], list[str]] = {}
    for identifier in causes:
        for cause in causes[identifier] if identifier in on_ways else ():
            depending.setdefault(cause, []).append(identifier)
    return depending


def _causes(component: Component) -> list[tuple[str, str]]:
    """What a part hangs on: (kind, what)."""
    found = []
    drive = str(component.settings.get("drive") or "").strip()
    if drive:
        found.append(("drive", drive))
    if component.kind == "reservoir":
        found.append(("reservoir", component.id))
    if component.settings.get("operator") == "roller" and component.settings.get("tripped_by"):
        found.append(("operator", str(component.settings["tripped_by"])))
    return found


def find_common_cause_findings(circuit: Circuit) -> list[Finding]:
    """A warning for every requirement of independence that a common drive undermines."""
    found: list[Finding] = []
    if not _has_common_power(circuit):
        return found
    plain = PortGraph(circuit, sources_of(circuit))
    for number, requirement in enumerate(circuit.requirements, start=1):
        if requirement.get("kind") != "independent":
            continue
        asked = read_requirement(circuit, requirement, number, plain)
        if asked is None:
            continue
        sides = [asked.ways(asked.sources), asked.ways(asked.other)]
        for cause in _in_common(sides, asked.targets):
            one, other = (
                [i for i in side if i not in asked.may_share] for side in (cause.one, cause.other)
            )
            if one and other and cause.kind != "reservoir":
                found.append(
                    _finding(circuit, asked.name, cause, tuple(dict.fromkeys(one + other)))
                )
    return found


def _finding(circuit: Circuit, name: str, cause: CommonCause, ids: tuple[str, ...]) -> Finding:
    by_hand = cause.what == "operator"
    if cause.kind == "drive":
        means = f"all driven by '{cause.what}'"
    else:
        means = f"all tripped by {cause.what}"
    return Finding(
        "common_cause",
        "note" if by_hand else "warning",
        ids,
        f"'{name}' asks for independent ways, but {listed(ids)} are {means}: "
        + ("both ways need a hand free." if by_hand else "one failure takes both ways."),
        "Drive one side by something else, or say why that may be.",
    )


def _has_common_power(circuit: Circuit) -> bool:
    """Whether any two parts hang on one drive or one cylinder at all."""
    causes = [cause for component in circuit.components.values() for cause in _causes(component)]
    return len(causes) > len(set(causes))
