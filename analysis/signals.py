"""The signals of a circuit over time, by name, SI."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.constants import ATMOSPHERE
from analysis.line_flows import find_flows
from analysis.newton import Solution
from analysis.part_readings import read_part
from analysis.recording import SignalValue
from analysis.steady import Instant

if TYPE_CHECKING:
    from analysis.motion import Motion

_READ = (
    "extension",
    "velocity",
    "force",
    "torque",
    "lock",
    "volume",
    "fluid_volume",
    "effort",
    "open",
)


def read_signals(motion: Motion, solution: Solution | None) -> dict[str, SignalValue]:
    """Every signal now. Flows and velocities are None before the first step."""
    found: dict[str, SignalValue] = {}
    pressures: dict[str, float | None] = {}
    for port, value in motion.port_pressure.items():
        pressures[port] = max(value, -ATMOSPHERE)
        found[f"{port}.pressure"] = pressures[port]
    if solution is None:
        return found
    assembly = motion.assembly
    flows = find_flows(assembly, solution, set())
    for port, flow in flows.inflow.items():
        found[f"{port}.inflow"] = flow
    for line, flow in flows.line.items():
        found[f"{line}.flow"] = flow
    starved = {
        pump for inlet in motion.stepper.inlets if inlet.starved(solution) for pump in inlet.pumps
    }
    instant = Instant(solution, True, 0, "", motion.stepper.dry, starved)
    for part in assembly.parts.values():
        values = read_part(part, assembly.network, solution, pressures, instant)
        for name in _READ:
            if name in values:
                found[f"{part.id}.{name}"] = values[name]
        if part.id in motion.strokes:
            found[f"{part.id}.strokes"] = motion.strokes[part.id]
    return found
