"""What two supplies have in common that no line shows: power, reservoirs, who works them.

The method is that of a common cause analysis (SAE ARP4761): two ways that share no part
may still be lost together, by one engine, one battery, one operator, one tank.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from analysis.asked import Asked
from analysis.circuit import Circuit, Component
from analysis.disjoint_paths import TooTangled
from analysis.findings import Finding
from analysis.on_ways import OnWays
from analysis.ways import Ways
from analysis.words import listed

Cause = tuple[str, str]
"""(kind, what), as in a `CommonCause`."""


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
    sides = [OnWays(Ways(circuit, side), targets) for side in (sources, other)]
    return _in_common(circuit, sides)


def _in_common(circuit: Circuit, sides: Sequence[OnWays]) -> list[CommonCause]:
    possible = set().union(*(side.possible for side in sides))
    causes = {
        component.id: found
        for component in circuit.components.values()
        if component.id in possible and (found := _causes(component))
    }
    one, other = (_depending(causes, side.possible) for side in sides)
    if one.keys() & other.keys():
        one, other = (_depending(causes, side.exactly(causes)) for side in sides)
    return [CommonCause(*key, tuple(one[key]), tuple(other[key])) for key in one if key in other]


def _depending(
    causes: Mapping[str, Sequence[Cause]], elements: Collection[str]
) -> dict[Cause, list[str]]:
    """Cause -> those of the elements that depend on it, in the order of `causes`."""
    found: dict[Cause, list[str]] = {}
    for identifier in causes:
        for cause in causes[identifier] if identifier in elements else ():
            found.setdefault(cause, []).append(identifier)
    return found


def _causes(component: Component) -> list[Cause]:
    """What a part hangs on."""
    found = []
    drive = str(component.settings.get("drive") or "").strip()
    if drive:
        found.append(("drive", drive))
    if component.kind == "reservoir":
        found.append(("reservoir", component.id))
    if component.settings.get("operator") == "roller" and component.settings.get("tripped_by"):
        found.append(("operator", str(component.settings["tripped_by"])))
    return found


def find_common_cause_findings(circuit: Circuit, asked: Iterable[Asked]) -> list[Finding]:
    """A warning for every requirement of independence that a common drive undermines.

    `asked` are the requirements of the circuit that can be read.
    """
    found: list[Finding] = []
    if not _has_common_power(circuit):
        return found
    for wanted in asked:
        if wanted.kind != "independent":
            continue
        try:
            causes = _in_common(wanted.circuit, wanted.sides)
        except TooTangled:
            continue  # the requirement's own verdict says that it cannot be shown
        for cause in causes:
            one, other = (
                [i for i in side if i not in wanted.may_share] for side in (cause.one, cause.other)
            )
            if one and other and cause.kind != "reservoir":
                found.append(
                    _finding(circuit, wanted.name, cause, tuple(dict.fromkeys(one + other)))
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
