"""Pumps and pressure sources."""

from __future__ import annotations

from analysis.constants import DEAD_HEAD, STIFF
from analysis.part import Part


def delivers(part: Part) -> bool:
    """Whether the pump turns and is whole; whether it has fluid is decided later."""
    return bool(part.state.get("running", True)) and part.fault != "no_output"


def hand_pump_flow(displacement: float, rate: float) -> float:
    """Mean flow [m3/s] of a hand pump: volume per full stroke [m3] times strokes a second."""
    return displacement * rate


def leakage(flow: float, volumetric_efficiency: float, rated_pressure: float) -> float:
    """Leakage per pressure [m3/s/Pa]: (1 - efficiency) of the flow at rated pressure."""
    return (1.0 - volumetric_efficiency) * flow / rated_pressure


def _geometric(part: Part) -> tuple[float, float]:
    s = part.settings
    flow = s["displacement"] * s["speed"]
    return flow, leakage(flow, s["volumetric_efficiency"], s["rated_pressure"])


def fixed_pump(part: Part) -> None:
    """Displacement times speed, less leakage in proportion to outlet over inlet pressure.

    Over time the fluid of a closed circuit takes what it can, and then nothing more.
    """
    if delivers(part):
        characteristic = _geometric(part)
        limit = (STIFF * DEAD_HEAD, STIFF) if part.net.dynamic else characteristic
        part.pump(characteristic, limit)


def compensated_pump(part: Part) -> None:
    """As a fixed pump up to the knee, then straight to no flow at the cut-off pressure."""
    if not delivers(part):
        return
    s = part.settings
    flow, leak = _geometric(part)
    at_knee = max(flow - leak * s["knee_pressure"], 0.0)
    span = s["cutoff_pressure"] - s["knee_pressure"]
    slope = min(at_knee / span, STIFF) if span > 0.0 else STIFF
    part.pump((flow, leak), (slope * s["cutoff_pressure"], slope))


def hand_pump(part: Part) -> None:
    """The mean flow, until the handle force reaches what the operator can give."""
    if not delivers(part):
        return
    s = part.settings
    flow = hand_pump_flow(s["displacement"], s["rate"])
    largest = s["effort_limit"] * s["lever_ratio"] / s["piston_area"]
    part.pump((flow, 0.0), (STIFF * largest, STIFF))


def pressure_source(part: Part) -> None:
    """Holds its outlet at a pressure, whatever flows."""
    if part.fault != "no_output":
        part.net.fix(part.ports["outlet"], part.settings["pressure"], "source", part.id)


PUMPS = {
    "fixed_pump": fixed_pump,
    "compensated_pump": compensated_pump,
    "hand_pump": hand_pump,
    "pressure_source": pressure_source,
}
