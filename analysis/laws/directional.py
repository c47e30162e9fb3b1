"""Directional valves, shutoff, check and shuttle valves."""

from __future__ import annotations

from collections.abc import Mapping

from analysis.devices import PilotCheck, Shuttle
from analysis.part import Part

Paths = tuple[tuple[str, str], ...]

CENTRES: Mapping[str, Paths] = {
    "closed": (),
    "open": (("P", "T"), ("A", "T"), ("B", "T")),
    "tandem": (("P", "T"),),
    "float": (("A", "T"), ("B", "T")),
    "regenerative": (("P", "A"), ("P", "B")),
}
"""Open paths of each centre; each is a passage of its own."""

POSITIONS: Mapping[str, Mapping[str, Paths]] = {
    "shutoff_valve": {"open": (("A", "B"),), "closed": ()},
    "valve_3_2": {"left": (("P", "A"),), "right": (("A", "T"),)},
    "valve_4_2": {"left": (("P", "A"), ("B", "T")), "right": (("P", "B"), ("A", "T"))},
    "valve_4_3": {"left": (("P", "A"), ("B", "T")), "right": (("P", "B"), ("A", "T"))},
}


def open_paths(kind: str, position: str, centre: str | None) -> Paths:
    """The paths that a directional or shutoff valve opens in a position."""
    if position == "centre":
        return CENTRES[centre or "closed"]
    return POSITIONS[kind][position]


def positioned_valve(part: Part) -> None:
    """Every open path is a passage of rated_flow at rated_drop."""
    if part.fault == "blocked":
        return
    paths = open_paths(part.kind, part.state["position"], part.settings.get("centre"))
    for start, end in paths:
        part.branches[f"{start}-{end}"] = part.passage(start, end, part.rated())


def check_valve(part: Part) -> None:
    """Free one way above the cracking pressure, closed the other."""
    if part.fault == "stuck_closed":
        return
    if part.fault == "stuck_open":
        part.branches["main"] = part.passage("inlet", "outlet", part.rated())
    else:
        part.branches["main"] = part.passage(
            "inlet", "outlet", part.rated(), crack=part.settings["cracking_pressure"], reverse=0.0
        )


def pilot_check_valve(part: Part) -> None:
    """A check valve that a pilot pressure opens in reverse."""
    check_valve(part)
    if part.fault in ("stuck_open", "stuck_closed"):
        return
    part.net.devices.append(
        PilotCheck(
            part.id,
            part.branches["main"],
            part.ports["inlet"],
            part.ports["outlet"],
            part.ports["pilot"],
            part.settings["pilot_ratio"],
            part.rated(),
        )
    )


def shuttle_valve(part: Part) -> None:
    """The inlet of higher pressure is connected to the outlet; at first inlet_1."""
    first = part.passage("inlet_1", "outlet", part.rated())
    second = part.passage("inlet_2", "outlet", 0.0)
    inlets = (part.ports["inlet_1"], part.ports["inlet_2"])
    stuck = part.fault == "stuck"
    part.net.devices.append(
        Shuttle(part.id, first, second, inlets, part.ports["outlet"], part.rated(), stuck)
    )


DIRECTIONAL_VALVES = {
    "shutoff_valve": positioned_valve,
    "valve_3_2": positioned_valve,
    "valve_4_2": positioned_valve,
    "valve_4_3": positioned_valve,
    "check_valve": check_valve,
    "pilot_check_valve": pilot_check_valve,
    "shuttle_valve": shuttle_valve,
}
