"""The signals of a circuit over time, by name, SI."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from analysis.line_flows import find_flows
from analysis.newton import Solution
from analysis.part import Part
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


def read_signals(
    motion: Motion, solution: Solution | None, wanted: Collection[str] | None = None
) -> dict[str, SignalValue]:
    """The signals now, all or those that are wanted.

    Flows and velocities are None before the first step.
    """
    # an event may have made the network anew: the solution is of the one before
    parts = motion.solved.assembly.parts
    needed = None
    if wanted is not None:
        owners = dict.fromkeys(name.partition(".")[0] for name in wanted)
        parts = {owner: parts[owner] for owner in owners if owner in parts}
        needed = [f"{part.id}.{port}" for part in parts.values() for port in part.ports]
    ports = motion.pressures(needed)
    found: dict[str, SignalValue] = {f"{port}.pressure": value for port, value in ports.items()}
    if wanted is not None:
        found = {name: found[name] for name in wanted if name in found}
    if solution is None:
        return found
    if wanted is None or any(name.endswith("flow") for name in wanted):
        flows = find_flows(motion.solved.assembly, solution, set())
        for port, flow in flows.inflow.items():
            found[f"{port}.inflow"] = flow
        for line, flow in flows.line.items():
            found[f"{line}.flow"] = flow
    found.update(_read_parts(motion, solution, ports, parts.values()))
    return found if wanted is None else {name: found[name] for name in wanted if name in found}


def _read_parts(
    motion: Motion,
    solution: Solution,
    ports: dict[str, float | None],
    parts: Iterable[Part],
) -> dict[str, SignalValue]:
    """What is read at the parts besides pressures and flows."""
    found: dict[str, SignalValue] = {}
    solved = motion.solved
    starved = {pump for inlet in solved.inlets if inlet.starved(solution) for pump in inlet.pumps}
    instant = Instant(solution, True, 0, "", solved.dry, starved)
    for part in parts:
        values = read_part(part, solved.network, solution, ports, instant)
        for name in _READ:
            if name in values:
                found[f"{part.id}.{name}"] = values[name]
        if part.id in motion.strokes:
            found[f"{part.id}.strokes"] = motion.strokes[part.id]
    return found
