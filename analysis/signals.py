"""The signals of a circuit over time, by name, SI."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from functools import partial
from typing import TYPE_CHECKING

from analysis.line_flows import find_flows
from analysis.newton import Solution
from analysis.part import Part
from analysis.part_readings import (
    MOVING,
    effort_of,
    has_lock,
    held_or_not,
    locks_of,
    read_part,
    velocity_of,
)
from analysis.recording import SignalValue
from analysis.steady import Instant

if TYPE_CHECKING:
    from analysis.motion import Motion
    from analysis.stepping import Stepper

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


class Signals:
    """Certain signals of one network, read again and again.

    Parameters
    ----------
    solved
        The network.
    wanted
        Names of signals; one that the circuit does not have is left out.
    """

    def __init__(self, solved: Stepper, wanted: Collection[str]) -> None:
        self.solved = solved
        self._ways = {name: _way_to(solved, name) for name in wanted}
        self._others = [name for name, way in self._ways.items() if way is None]

    def read(self, motion: Motion) -> dict[str, SignalValue]:
        """Their values now [SI]; flows and velocities only after the first step."""
        solution = motion.solution
        if solution is None:
            return read_signals(motion, None, list(self._ways))
        others = read_signals(motion, solution, self._others) if self._others else {}
        found: dict[str, SignalValue] = {}
        for name, way in self._ways.items():
            if way is not None:
                found[name] = way(motion, solution)
            elif name in others:
                found[name] = others[name]
        return found


def _way_to(solved: Stepper, name: str) -> Callable[[Motion, Solution], SignalValue] | None:
    """How a signal is read without all that its part tells; None if there is no such way."""
    owner, _, quantity = name.rpartition(".")
    if quantity == "pressure" and owner in solved.assembly.builder.nodes:
        return lambda motion, _: motion.pressure_at(owner)
    part = solved.assembly.parts.get(owner)
    if part is None:
        return None
    if quantity == "effort" and part.kind == "hand_pump":
        return partial(_effort, solved, part)
    if part.kind not in MOVING:
        return None
    if quantity == "extension":
        return lambda *_: float(part.state["extension"])
    if quantity == "velocity":
        return lambda _, solution: velocity_of(part, solved.network, solution)
    if quantity == "lock" and has_lock(part):
        locks = locks_of(part)
        return lambda *_: held_or_not(locks)
    return None


def _effort(solved: Stepper, pump: Part, motion: Motion, _: Solution) -> float | None:
    outlet, inlet = motion.pressure_at(f"{pump.id}.outlet"), motion.pressure_at(f"{pump.id}.inlet")
    return effort_of(pump, outlet, inlet, solved.dry)


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
