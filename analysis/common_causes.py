"""What two supplies have in common that no line shows: power, reservoirs, who works them.

The method is that of a common cause analysis (SAE ARP4761): two ways that share no part
may still be lost together, by one engine, one battery, one operator, one tank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.circuit import Circuit
from analysis.findings import Finding
from analysis.on_ways import elements_on_ways
from analysis.requirements import read_requirement
from analysis.resolved import resolve_element
from analysis.ways import Ways
from analysis.words import described, listed


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
    sides = [_depends(circuit, names, targets) for names in (sources, other)]
    return [
        CommonCause(*key, tuple(sides[0][key]), tuple(sides[1][key]))
        for key in sides[0]
        if key in sides[1]
    ]


def _depends(
    circuit: Circuit, sources: Sequence[str], targets: Sequence[str]
) -> dict[tuple[str, str], list[str]]:
    """(kind, what) -> the ids on ways of these sources that depend on it."""
    on_ways = elements_on_ways(Ways(circuit, sources), targets)
    found: dict[tuple[str, str], list[str]] = {}
    for component in circuit.components.values():
        if component.id not in on_ways:
            continue
        settings = resolve_element(component).settings
        drive = str(settings.get("drive") or "").strip()
        if drive:
            found.setdefault(("drive", drive), []).append(component.id)
        if component.kind == "reservoir":
            found.setdefault(("reservoir", component.id), []).append(component.id)
        if settings.get("operator") == "roller" and settings.get("tripped_by"):
            cause = ("operator", str(settings["tripped_by"]))
            found.setdefault(cause, []).append(component.id)
    return found


def find_common_cause_findings(circuit: Circuit) -> list[Finding]:
    """A warning for every requirement of independence that a common drive undermines."""
    found = []
    for number, requirement in enumerate(circuit.requirements, start=1):
        if requirement.get("kind") != "independent":
            continue
        asked = read_requirement(circuit, requirement, number)
        if asked is None:
            continue
        for cause in find_common_causes(asked.circuit, asked.sources, asked.other, asked.targets):
            if cause.kind == "reservoir":
                continue  # the requirement itself speaks of that
            ids = (*cause.one, *(i for i in cause.other if i not in cause.one))
            means = (
                f"all driven by '{cause.what}'"
                if cause.kind == "drive"
                else f"all worked by {described(circuit.element(cause.what))}"
            )
            found.append(
                Finding(
                    "common_cause", "warning", ids,
                    f"'{asked.name}' asks for independent ways, but {listed(ids)} are {means}: "
                    "one failure takes both ways.",
                    "Drive one side by something else, or say why that may be.",
                )
            )  # fmt: skip
    return found
