"""Within what nothing happens from one step to the next, and what then goes on."""

from __future__ import annotations

from typing import Any, NamedTuple

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Flags, Index
from analysis.compiled.levels import Levels, kept_of, level_share, stays
from analysis.compiled.time_step import Machine
from analysis.constants import ATMOSPHERE, NEAR_EVENT, WITHOUT_LIMIT

SLACK = 1e-6
"""A member nearer to its stop than this share of its travel is there."""
NO_WAY = 1e-9
"""Share of the travel that is no movement."""
TREMBLE = 0.005
"""Share of the travel below which a change of direction is no event."""


class Bounds(NamedTuple):
    """Within what nothing happens, and the rows of what fills or is counted.

    `inlets` are the nodes that pumps draw from. Pilot-operated checks: their nodes (pilot, outlet,
    inlet), ratio, and whether they are open. Shuttles: the nodes of the inlet that is shut and of
    the other one. Hand pumps: the nodes of outlet and inlet, the difference [Pa] at which the
    handle is stiff, and whether it is; their rows among all branches, and what they give with a
    stroke [m3]. Accumulators: their rows among the `gas` branches. Fuses: their rows among all
    branches, and the volume [m3] at which they close, infinite for those that do not. Unloading
    valves: the node of the system, the pressure [Pa] at which they change over, and whether they
    have cut the pump out.
    """

    inlets: Index
    checks: Index
    ratio: Array
    open: Flags
    balls: Index
    handles: Index
    stiff_at: Array
    stiff: Flags
    stroke_row: Index
    displacement: Array
    gas: Index
    fuses: Index
    closing: Array
    systems: Index
    levels: Array
    cut_out: Flags


class Course(NamedTuple):
    """What goes on from step to step, and is changed in place.

    Extension of the members [m or rad]; where [m or rad] and when [s] each was last seen to turn
    or to stand, and its direction since; volume in the reservoirs [m3], strokes of the hand pumps,
    fluid in the accumulators, what passed the fuses [m3].
    """

    extension: Array
    place: Array
    since: Array
    direction: Array
    volume: Array
    strokes: Array
    fluid: Array
    passed: Array


@compiled
def course_of(extension: Array, tallies: Array, tanks: int, bound: Bounds) -> Course:
    """What goes on, all but the extension one after another in `tallies`."""
    n = len(extension)
    strokes = 3 * n + tanks
    fluid = strokes + len(bound.displacement)
    passed = fluid + len(bound.gas)
    return Course(
        extension, tallies[:n], tallies[n : 2 * n], tallies[2 * n : 3 * n],
        tallies[3 * n : strokes], tallies[strokes:fluid], tallies[fluid:passed], tallies[passed:],
    )  # fmt: skip


@compiled
def set_gas(table: Array, bound: Bounds, going: Course, duration: float) -> None:
    """Set the `gas` branches for a step [s]."""
    for k in range(len(bound.gas)):
        table[3, bound.gas[k]] = going.fluid[k]
        table[4, bound.gas[k]] = duration


@compiled
def is_foreseen(
    bound: Bounds, going: Course, pressure: Array, flows: Array, duration: float
) -> bool:
    """Whether no fuse closes over a step, and no unloading valve comes near to changing over."""
    for k in range(len(bound.fuses)):
        if going.passed[k] + flows[bound.fuses[k]] * duration >= bound.closing[k]:
            return False
    for k in range(len(bound.systems)):
        now, level = pressure[bound.systems[k]], bound.levels[k]
        if now <= level if bound.cut_out[k] else now >= level:
            return False
    return True


@compiled
def is_fed(bound: Bounds, pressure: Array) -> bool:
    """Whether no pump asks for more than arrives."""
    lowest = -ATMOSPHERE
    for k in range(len(bound.inlets)):
        lowest = min(lowest, pressure[bound.inlets[k]])
    return lowest == -ATMOSPHERE


@compiled
def least_share(levels: Levels, going: Course, drawn: Array, duration: float, time: float) -> float:
    """The share of a step after which the first level gets to a mouth; 1 if none does."""
    least = 1.0
    for k in range(len(drawn)):
        share = level_share(levels, k, going.volume[k], -drawn[k], duration, time)
        least = min(least, share)
    return least


@compiled
def keep_their_levels(
    levels: Levels, going: Course, drawn: Array, duration: float, time: float
) -> bool:
    """Whether no outlet is uncovered or covered by a step [s] that begins at a time [s]."""
    for k in range(len(drawn)):
        left = kept_of(levels, k, going.volume[k], drawn[k] * duration)
        if not stays(levels, k, left, time + duration):
            return False
    return True


@compiled
def is_quiet(
    machine: Machine, bound: Bounds, going: Course, pressure: Array, outcome: Any, duration: float
) -> bool:
    """Whether nothing happens at the end of a step."""
    _, _, _, velocity, _, _, lowest, highest, stirs = outcome
    if stirs or lowest < -ATMOSPHERE or highest > WITHOUT_LIMIT - NEAR_EVENT:
        return False
    for k in range(len(velocity)):
        if not _goes_on(machine, going, k, velocity[k], duration):
            return False
    for k in range(len(bound.open)):
        across = pressure[bound.checks[k, 1]] - pressure[bound.checks[k, 2]]
        holds = bound.ratio[k] * pressure[bound.checks[k, 0]] > across + 1.0
        if holds != bound.open[k]:
            return False
    for k in range(len(bound.balls)):
        if pressure[bound.balls[k, 0]] > pressure[bound.balls[k, 1]]:
            return False
    for k in range(len(bound.stiff)):
        across = pressure[bound.handles[k, 0]] - pressure[bound.handles[k, 1]]
        is_stiff = across >= 0.999 * bound.stiff_at[k]
        if is_stiff != bound.stiff[k] and (is_stiff or across < 0.95 * bound.stiff_at[k]):
            return False
    return True


@compiled
def _goes_on(machine: Machine, going: Course, k: int, velocity: float, duration: float) -> bool:
    """Whether the k-th member stands where it was seen, or is on its way as before, off its stops,
    or hardly moves where it stood."""
    x, travel, direction = going.extension[k], machine.members.travel[k], going.direction[k]
    if velocity == 0.0:
        stands: bool = going.place[k] == x
        return stands
    x = min(max(x + velocity * duration, 0.0), travel)
    ahead = x - going.place[k]
    trembles = direction == 0.0 and abs(ahead) <= TREMBLE * travel
    is_off: bool = SLACK * travel < x < travel - SLACK * travel
    return is_off and (trembles or direction * ahead > 0.0)


@compiled
def go_on(
    table: Array, machine: Machine, bound: Bounds, levels: Levels, going: Course, flows: Array,
    outcome: Any, duration: float, time: float,
) -> None:  # fmt: skip
    """Move members, levels and counts on by a quiet step [s] that ends at a time [s].

    `table` is that of the `gas` branches, the last of all.
    """
    velocity, drawn = outcome[3], outcome[5]
    for k in range(len(velocity)):
        travel = machine.members.travel[k]
        if velocity[k] == 0.0:
            if going.direction[k] == 0.0:
                going.since[k] = time
            continue
        x = min(max(going.extension[k] + velocity[k] * duration, 0.0), travel)
        going.extension[k] = x
        ahead = x - going.place[k]
        trembles = going.direction[k] == 0.0 and abs(ahead) <= TREMBLE * travel
        if not trembles or abs(ahead) < NO_WAY * travel:
            going.place[k], going.since[k] = x, time
    for k in range(len(drawn)):
        if drawn[k] != 0.0:
            going.volume[k] = kept_of(levels, k, going.volume[k], drawn[k] * duration)
    for k in range(len(going.strokes)):
        going.strokes[k] += flows[bound.stroke_row[k]] * duration / bound.displacement[k]
    for k in range(len(going.fluid)):
        row = len(flows) - table.shape[1] + bound.gas[k]
        going.fluid[k] = max(going.fluid[k] + flows[row] * duration, 0.0)
    for k in range(len(going.passed)):
        flow = flows[bound.fuses[k]]
        going.passed[k] = going.passed[k] + flow * duration if flow > 1e-9 else 0.0
