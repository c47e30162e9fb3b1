"""Relief, reducing, sequence, counterbalance, priority and unloading valves."""

from __future__ import annotations

from math import inf

from analysis.devices import Candidate, Modulator, Unloading
from analysis.part import Part


def relief_valve(part: Part) -> None:
    """Nothing below set_pressure, rated_flow at set_pressure + override, straight beyond."""
    if part.fault == "stuck_closed":
        return
    s = part.settings
    slope = s["rated_flow"] / s["override"]
    ends = (("inlet", 1.0), ("outlet", -1.0))
    if part.fault == "stuck_open":
        # the spring no longer counts: the valve is an open passage of the same slope
        part.branches["main"] = part.deadband(ends, slope, above=0.0, below=0.0)
    else:
        part.branches["main"] = part.deadband(ends, slope, above=s["set_pressure"], below=-inf)


def _fully_open_drop(part: Part) -> float:
    return float(part.settings["rated_drop"] / part.settings["rated_flow"] ** 2)


def _modulated(part: Part, constant: float, terms: dict[str, float], reverse: float) -> None:
    """A passage that opens just as far as holds its set pressure.

    It is a check valve whose opening difference is constant + sum(coefficient * port
    pressure) less the drop of the open passage; `reverse` is its coefficient backwards.
    """
    if part.fault == "stuck_closed":
        return
    if part.fault == "stuck_open":
        part.branches["main"] = part.passage("inlet", "outlet", part.rated())
        return
    branch = part.passage(
        "inlet", "outlet", part.rated(), crack=max(constant, 0.0), reverse=reverse
    )
    part.branches["main"] = branch
    candidate: Candidate = (constant, tuple((part.ports[p], w) for p, w in terms.items()))
    part.net.devices.append(Modulator(part.id, branch, (candidate,), _fully_open_drop(part)))


def sequence_valve(part: Part) -> None:
    """Opens at inlet - drain = set_pressure and holds it."""
    _modulated(part, part.settings["set_pressure"], {"drain": 1.0, "outlet": -1.0}, 0.0)


def priority_valve(part: Part) -> None:
    """Opens at inlet = set_pressure and holds it; free in reverse."""
    _modulated(part, part.settings["set_pressure"], {"outlet": -1.0}, part.rated())


def reducing_valve(part: Part) -> None:
    """Open until outlet - drain reaches set_pressure, and holds it there."""
    _modulated(part, -part.settings["set_pressure"], {"inlet": 1.0, "drain": -1.0}, 0.0)


def counterbalance_valve(part: Part) -> None:
    """Opens at inlet + pilot_ratio * pilot = set_pressure; free from outlet to inlet."""
    terms = {"pilot": -part.settings["pilot_ratio"], "outlet": -1.0}
    _modulated(part, part.settings["set_pressure"], terms, part.rated())


def unloading_valve(part: Part) -> None:
    """A check valve to the system; its inlet is put to return from cut-out until cut-in."""
    s = part.settings
    part.branches["main"] = part.passage("inlet", "outlet", part.rated(), reverse=0.0)
    if part.fault == "stuck_closed":
        return
    unloaded = part.fault == "stuck_open"
    bypass = part.passage("inlet", "return", part.rated() if unloaded else 0.0)
    part.branches["bypass"] = bypass
    if not unloaded:
        part.net.devices.append(
            Unloading(
                part.id,
                bypass,
                part.ports["outlet"],
                s["cut_out_pressure"],
                s["cut_in_pressure"],
                part.rated(),
                s["shifting_time"],
            )
        )


PRESSURE_VALVES = {
    "relief_valve": relief_valve,
    "sequence_valve": sequence_valve,
    "priority_valve": priority_valve,
    "reducing_valve": reducing_valve,
    "counterbalance_valve": counterbalance_valve,
    "unloading_valve": unloading_valve,
}
