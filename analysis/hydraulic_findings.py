"""What the solution itself shows to be wrong or uncertain, as findings."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.assemble import Assembly
from analysis.constants import ATMOSPHERE
from analysis.findings import Finding
from analysis.liquids import DEFAULT_LIQUID, LIQUIDS
from analysis.resolved import resolve_element
from analysis.steady import Instant


def find_hydraulic(
    assembly: Assembly,
    instant: Instant,
    pressures: dict[str, float | None],
    unlimited: set[str],
    fast: Sequence[str] = (),
) -> tuple[Finding, ...]:
    """Findings of the instant: no solution, dead-headed, dry and starved pumps, vapour,
    conflicting sources, flows without limit (`fast` names their parts), and values that are
    not known."""
    found: list[Finding] = []
    if not instant.converged:
        found.append(
            Finding(
                "no_steady_state", "error", (), f"There is no steady state: {instant.message}.",
                "Look at the part named; give neighbouring lines a bore and a length.",
            )
        )  # fmt: skip
    for pump in sorted(unlimited):
        found.append(
            Finding(
                "dead_headed", "error", (pump,),
                f"{pump} delivers into a closed circuit and nothing limits the pressure.",
                "Add a relief valve between the pump and the first part that can close.",
            )
        )  # fmt: skip
    for pump, reason in instant.dry.items():
        found.append(
            Finding(
                "dry_pump", "warning", (pump,), f"{pump} gives no flow: {reason}.",
                "Fill the reservoir, or connect the inlet to an outlet that is covered.",
            )
        )  # fmt: skip
    for pump in sorted(instant.starved):
        found.append(
            Finding(
                "starved_pump", "warning", (pump,),
                f"{pump} is starved: its inlet would need a pressure below absolute zero, so it "
                "delivers only what arrives.",
                "Widen or shorten the suction line, open what blocks it, or slow the pump.",
            )
        )  # fmt: skip
    found += [
        Finding(
            "flow_without_limit", "warning", (part,),
            f"Nothing limits the flow through {part}: there is no loss on its way.",
            "Give the lines at it a bore and a length, or throttle them.",
        )
        for part in fast
    ]  # fmt: skip
    found += _beyond_size(assembly)
    found += _conflicts(assembly)
    found += _vapour(assembly, instant, pressures)
    found += _uncertain(assembly)
    return tuple(found)


_SIZES = {
    "extension": ("stroke", "angle"),
    "volume": ("capacity",),
    "fluid_volume": ("gas_volume",),
}
"""State -> the setting that it cannot exceed."""


def _beyond_size(assembly: Assembly) -> list[Finding]:
    """States that the part has no room for: they are read all the same, and told."""
    found = []
    for part in assembly.parts.values():
        for state, value in part.state.items():
            if state not in _SIZES:
                continue
            size = next((s for s in _SIZES[state] if s in part.settings), None)
            if size is not None and value > part.settings[size] * (1.0 + 1e-6):
                words, limit = state.replace("_", " "), size.replace("_", " ")
                found.append(
                    Finding(
                        "state_beyond_size", "warning", (part.id,),
                        f"{part.id} has no room for its {words}: that is more than its {limit}.",
                        f"Make the {words} less, or the {limit} greater.",
                    )
                )  # fmt: skip
    return found


def _conflicts(assembly: Assembly) -> list[Finding]:
    return [
        Finding(
            "conflicting_pressures",
            "error",
            pair,
            f"{pair[0]} and {pair[1]} hold different pressures at one point, with no loss between.",
            "Give the line between them a bore and a length, or put a valve there.",
        )
        for pair in assembly.builder.conflicts.values()
    ]


def _vapour(
    assembly: Assembly, instant: Instant, pressures: dict[str, float | None]
) -> list[Finding]:
    inlets = {f"{pump}.inlet" for pump in instant.starved | set(instant.dry)}
    actuators = [
        part.id
        for part in assembly.parts.values()
        if "stroke" in part.branches or "through" in part.branches
        for port in part.ports
        if (pressures[f"{part.id}.{port}"] or 0.0) <= -ATMOSPHERE + 1.0
        and f"{part.id}.{port}" not in inlets
    ]
    return [
        Finding(
            "cavitation",
            "warning",
            (actuator,),
            f"{actuator} is drawn faster than fluid can follow: its pressure is at absolute zero.",
            "Restrict the outlet side, or let fluid reach the other side freely.",
        )
        for actuator in dict.fromkeys(actuators)
    ]


def _uncertain(assembly: Assembly) -> list[Finding]:
    found = []
    for element in assembly.circuit.elements():
        values = resolve_element(element)
        if not (values.ranges or values.unknowns):
            continue
        if values.ranges:
            names = ", ".join(values.ranges).replace("_", " ")
            found.append(
                Finding(
                    "range_at_middle", "note", (element.id,),
                    f"{element.id}: {names} is known as a range; readings take its middle.",
                    "Give one value once the source tells it.",
                )
            )  # fmt: skip
        if values.unknowns:
            names = ", ".join(values.unknowns).replace("_", " ")
            ideal = "" if element.id in assembly.parts else " (a line without it has no loss)"
            found.append(
                Finding(
                    "unknown_at_default", "note", (element.id,),
                    f"{element.id}: {names} is not known; readings take the default{ideal}.",
                    "Give a value or a range once the source tells it.",
                )
            )  # fmt: skip
    if not assembly.liquid.known:
        found.append(
            Finding(
                "unknown_liquid", "warning", (),
                f"'{assembly.liquid.name}' is not a known liquid; readings take {DEFAULT_LIQUID}.",
                f"Choose one of {', '.join(LIQUIDS)}.",
            )
        )  # fmt: skip
    return found
