"""Time steps in which nothing happens, one after another, without a look from outside.

A step that only decides has little work in it; what takes its time is to look at all that
could have happened. Here that is done along with the steps, by bounds: as long as everything
stays within them there is nothing to tell and nothing to decide, and the next step follows.
The step that goes beyond one is handed back as it was tried.
"""

from __future__ import annotations

from math import inf
from typing import Any, NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.elimination import Order
from analysis.compiled.equations import Array, Equations, Flags, Index
from analysis.compiled.levels import Levels, level_share, stays
from analysis.compiled.newton import MOST_STEPS
from analysis.compiled.resting import is_still
from analysis.compiled.step_length import NOT_TRIED, cut_at, shortened
from analysis.compiled.throttles import are_open_enough
from analysis.compiled.time_step import Before, Machine, solve_step
from analysis.compiled.trials import machine_of, weigh
from analysis.constants import ATMOSPHERE, NEAR_EVENT, THROTTLE_TOLERANCE, WITHOUT_LIMIT

LOOK, TRIED, BY_HAND = 0, 1, 2
"""Why there are no more quiet steps: it is to be looked at how all stands; a step was tried in
which something happens; or the next one is none that is solved here."""

SHORTEST = 1e-6
"""A step so short [s] is cut no more."""
MOST_CUTS = 20
"""Bound on the trials to end a step at an event [1]: a pressure that jumps has no such end."""
SLACK = 1e-6
"""A member nearer to its stop than this share of its travel is there."""
NO_WAY = 1e-9
"""Share of the travel that is no movement."""
TREMBLE = 0.005
"""Share of the travel below which a change of direction is no event."""
FIRST_STEP = 1e-3
"""The first step [s] after which nothing is foretold yet: after levers and events."""
LEAST_WAIT = 1e-3
"""Shortest way [s] a motion is asked to go on to a signal that is about to arrive."""

STEADY, PRESSURE, EXTENSION, EFFORT = 0, 1, 2, 3
"""Kinds of signals; one that is steady does not change while nothing happens."""


class Pacing(NamedTuple):
    """What a step goes by; see `analysis.pace.Pace`."""

    travel: float
    pressure: float
    growth: float
    imbalance: float
    longest: float
    way: float
    to_arrivals: bool


class Bounds(NamedTuple):
    """Within what nothing happens, and what hand pumps give.

    `inlets` are the nodes that pumps draw from. Pilot-operated checks: their nodes (pilot, outlet,
    inlet), ratio, and whether they are open. Shuttles: the nodes of the inlet that is shut and of
    the other one. Hand pumps: the nodes of outlet and inlet, the difference [Pa] at which the
    handle is stiff, and whether it is; their rows among all branches, and what they give with a
    stroke [m3].
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


class Course(NamedTuple):
    """What goes on from step to step, and is changed in place.

    Extension of the members [m or rad]; where [m or rad] and when [s] each was last seen to turn
    or to stand, and its direction since; volume in the reservoirs [m3], strokes of the hand pumps.
    """

    extension: Array
    place: Array
    since: Array
    direction: Array
    volume: Array
    strokes: Array


class Goals(NamedTuple):
    """The signals that are looked at, and what is expected of them.

    A signal has its kind, the node or member it is read at and, for an effort, the second node
    and what turns the difference into it: times `times`, over `over`. `value` are those now and
    `old` those of the look before. A goal has its signal, its levels (infinite for none) with
    their slack, whether it holds, what part of its way ahead a step is to end at (0: no matter)
    and the value that is enough.
    """

    kind: Index
    one: Index
    two: Index
    times: Array
    over: Array
    value: Array
    old: Array
    signal: Index
    at_least: Array
    at_most: Array
    slack: Array
    holds: Flags
    over_ahead: Array
    enough: Array


class Clock(NamedTuple):
    """When it is [s], when the last look was and how long it was since the one before; the length
    of the next step, up to when to go on, when at the latest to look, the end of the run, and
    whether that it is at rest would be of account. Before a first step nothing is foretold."""

    time: float
    looked: float
    since: float
    next_step: float
    until: float
    look_at: float
    end: float
    may_rest: bool
    is_first: bool


@compiled
def take_quiet_steps(
    equations: tuple[Any, ...], order: tuple[Any, ...], products: Array, fixed: Array,
    parts: tuple[Any, ...], standing: tuple[Any, ...], bounds: tuple[Any, ...],
    tanks: tuple[Any, ...], tallies: Array, goals: tuple[Any, ...], pacing: tuple[Any, ...],
    clock: tuple[Any, ...], most: int,
) -> tuple[Any, ...]:  # fmt: skip
    """Go on until something happens, or is to be looked at.

    The tuples are those of the same names, without names (such are handed over faster);
    `equations`, `order`, `parts` and `standing` as for `analysis.compiled.trials.try_step`. The
    extension in `standing` and what else goes on (`tallies`, see `Course`) are changed in place.
    Not more than `most` steps are taken.

    Returns
    -------
    tuple
        Why it ended; the times [s] after the steps that were taken, and the signals at each,
        shape (steps, signals); the length of the next step. Then a step as `solve_step` and
        `weigh` tell of it: the last that was taken or, if one was tried (`TRIED`), that one; its
        length, its error, and how long it would be if no look cut it short.
    """
    eq, elimination, machine = Equations(*equations), Order(*order), machine_of(parts)
    before, bound, levels = Before(*standing), Bounds(*bounds), Levels(*tanks)
    going = _course(before.extension, tallies, len(levels.slack))
    goal, pace, now = Goals(*goals), Pacing(*pacing), Clock(*clock)
    allowed = (pace.pressure, pace.travel)
    nothing = before.pressure
    found = (nothing, nothing, nothing, nothing, 0.0, 0, 0, True)
    outcome = (
        0.0, 1.0, before.rate, before.velocity, 0.0, going.volume, 0.0, 0.0, False
    )  # fmt: skip
    times, values = np.empty(most), np.empty((most, len(goal.kind)))
    time, looked, since, next_step = now.time, now.looked, now.since, now.next_step
    taken, why, length, error, uncut, is_first = 0, LOOK, 0.0, 0.0, 0.0, now.is_first
    while taken < most:
        longest = _next_stop(goal, now.until, looked, since) - time
        if longest <= 1e-9:
            break
        wished = min(next_step, pace.longest)
        wished = shortened(machine.members, going.extension, before.velocity, wished, pace.way)
        is_good, trial, weighed, duration = _try(
            eq, elimination, products, fixed, machine, before, bound, levels, going, pace, allowed,
            min(wished, longest), is_first, time,
        )  # fmt: skip
        if not is_good:
            why = BY_HAND
            break
        uncut = wished if duration == longest and longest < wished and pace.to_arrivals else 0.0
        found, outcome, length = trial, weighed, duration
        error = _error(weighed, is_first, duration)
        if not (
            _is_quiet(machine, bound, going, trial[0], weighed, duration)
            and _keep_their_levels(levels, going, weighed[5], duration, time)
        ):
            why = TRIED
            break
        time += duration
        looked, since = time, time - looked
        _go(machine, bound, going, trial[2], weighed, duration, time)
        next_step = duration * min(pace.growth, 0.9 / max(error, 1e-3) ** 0.5)
        next_step = max(next_step, uncut)
        before = Before(
            trial[0], weighed[2], before.vapour, going.extension, weighed[3], before.held
        )
        is_news = _read(goal, trial[0], going.extension)
        times[taken] = time
        values[taken] = goal.value
        taken, is_first = taken + 1, False
        if is_news or time + 1e-9 >= now.look_at:
            break
        if now.may_rest and is_still(
            eq.free, before.pressure, before.rate, weighed[4], now.end - time
        ):
            break
    return why, times[:taken], values[:taken], next_step, found, outcome, length, error, uncut


@compiled
def _course(extension: Array, tallies: Array, tanks: int) -> Course:
    """What goes on, all but the extension one after another in `tallies`."""
    n = len(extension)
    strokes = 3 * n + tanks
    return Course(
        extension, tallies[:n], tallies[n : 2 * n], tallies[2 * n : 3 * n],
        tallies[3 * n : strokes], tallies[strokes:],
    )  # fmt: skip


@compiled
def _next_stop(goal: Goals, until: float, time: float, last_step: float) -> float:
    """The time [s] up to `until` at which to look again, as `Script.next_stop` and `next_arrival`
    tell it."""
    for k in range(len(goal.signal)):
        over = goal.over_ahead[k]
        if over == 0.0:
            continue
        old, new = goal.old[goal.signal[k]], goal.value[goal.signal[k]]
        if new == old:
            continue
        level = goal.at_least[k] if new > old else goal.at_most[k]
        to_go = (level - new) / (new - old)
        if to_go > 0.0:
            until = min(until, time + max(over * (to_go * last_step), LEAST_WAIT))
    return until


@compiled
def _try(
    eq: Equations, order: Order, products: Array, fixed: Array, machine: Machine, before: Before,
    bound: Bounds, levels: Levels, going: Course, pace: Pacing, allowed: tuple[float, float],
    duration: float, is_first: bool, time: float,
) -> tuple[bool, Any, Any, float]:  # fmt: skip
    """A step that is accurate and ends at the first event, and its length; whether it is one that
    can be solved and weighed here."""
    cuts, tried = 0, NOT_TRIED
    while True:
        found = solve_step(
            eq, order, products, fixed, before.pressure, machine, before, duration,
            MOST_STEPS, pace.imbalance,
        )  # fmt: skip
        pressure, flows = found[0], found[2]
        outcome = weigh(machine, eq.free, before, pressure, flows, duration, allowed)
        is_good = found[7] and _is_fed(bound, pressure)
        if is_good and len(machine.throttles.row):
            is_good = are_open_enough(
                eq.turbulent, machine.throttles, pressure, found[1], flows, THROTTLE_TOLERANCE
            )
        error = _error(outcome, is_first, duration)
        if is_good and error > 1.0 and duration > 10.0 * SHORTEST:
            duration *= max(0.2, 0.8 / error**0.5)
            continue
        if is_good:
            is_good = outcome[7] < WITHOUT_LIMIT
        share = min(outcome[1], _least_share(levels, going, outcome[5], duration, time))
        if is_good and share < 1.0 and duration * share > SHORTEST and cuts < MOST_CUTS:
            trial = (duration, max(share, 0.02) * duration)
            duration, tried, cuts = cut_at(trial, tried), trial, cuts + 1
            continue
        return is_good, found, outcome, duration


@compiled
def _error(outcome: Any, is_first: bool, duration: float) -> float:
    """How far a step is from what the last one foretold, as `analysis.step_errors.error_of`."""
    if is_first:
        return 0.0 if duration <= FIRST_STEP else 4.0
    error: float = outcome[0]
    return error


@compiled
def _is_fed(bound: Bounds, pressure: Array) -> bool:
    """Whether no pump asks for more than arrives."""
    for k in range(len(bound.inlets)):
        if pressure[bound.inlets[k]] < -ATMOSPHERE:
            return False
    return True


@compiled
def _least_share(
    levels: Levels, going: Course, drawn: Array, duration: float, time: float
) -> float:
    """The share of a step after which the first level gets to a mouth; 1 if none does."""
    least = 1.0
    for k in range(len(drawn)):
        share = level_share(levels, k, going.volume[k], -drawn[k], duration, time)
        least = min(least, share)
    return least


@compiled
def _keep_their_levels(
    levels: Levels, going: Course, drawn: Array, duration: float, time: float
) -> bool:
    """Whether no outlet is uncovered or covered by a step, no air drawn and nothing spilt."""
    for k in range(len(drawn)):
        volume, capacity = going.volume[k], levels.capacity[k]
        left = volume - drawn[k] * duration
        if drawn[k] != 0.0 and not 0.0 <= left <= min(levels.brim[k], max(capacity, volume)):
            return False
        if not stays(levels, k, left, time + duration):
            return False
    return True


@compiled
def _is_quiet(
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
        return going.place[k] == x
    x = min(max(x + velocity * duration, 0.0), travel)
    ahead = x - going.place[k]
    trembles = direction == 0.0 and abs(ahead) <= TREMBLE * travel
    if not trembles and not direction * ahead > 0.0:
        return False
    return SLACK * travel < x < travel - SLACK * travel


@compiled
def _go(
    machine: Machine, bound: Bounds, going: Course, flows: Array, outcome: Any, duration: float,
    time: float,
) -> None:  # fmt: skip
    """Move members, levels and strokes on by a quiet step [s] that ends at a time [s]."""
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
            going.volume[k] -= drawn[k] * duration
    for k in range(len(going.strokes)):
        going.strokes[k] += flows[bound.stroke_row[k]] * duration / bound.displacement[k]


@compiled
def _read(goal: Goals, pressure: Array, extension: Array) -> bool:
    """Read the signals anew; whether a goal holds that did not, or the other way round, or a value
    has come to what is enough."""
    for k in range(len(goal.kind)):
        goal.old[k] = goal.value[k]
        if goal.kind[k] == PRESSURE:
            goal.value[k] = max(pressure[goal.one[k]], -ATMOSPHERE)
        elif goal.kind[k] == EXTENSION:
            goal.value[k] = extension[goal.one[k]]
        elif goal.kind[k] == EFFORT:
            high, low = pressure[goal.one[k]], pressure[goal.two[k]]
            across = max(high, -ATMOSPHERE) - max(low, -ATMOSPHERE)
            goal.value[k] = max(across * goal.times[k] / goal.over[k], 0.0)
    for k in range(len(goal.signal)):
        value, slack = goal.value[goal.signal[k]], goal.slack[k]
        holds = value >= goal.at_least[k] - slack and value <= goal.at_most[k] + slack
        if holds != goal.holds[k] or value >= goal.enough[k]:
            return True
    return False
