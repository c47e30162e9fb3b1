"""Time steps in which nothing happens, one after another, without a look from outside.

A step that only decides has little work in it; what takes its time is to look at all that
could have happened. Here that is done along with the steps, by bounds: as long as everything
stays within them there is nothing to tell and nothing to decide, and the next step follows.
The step that goes beyond one is handed back as it was tried.
"""

from __future__ import annotations

from math import sqrt
from typing import Any, NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.bounds import (
    Bounds,
    Course,
    course_of,
    go_on,
    is_fed,
    is_foreseen,
    is_quiet,
    keep_their_levels,
    least_share,
    set_gas,
)
from analysis.compiled.elimination import Order
from analysis.compiled.equations import Array, Equations
from analysis.compiled.goals import Goals, next_stop, read_goals
from analysis.compiled.levels import Levels
from analysis.compiled.newton import MOST_STEPS
from analysis.compiled.resting import is_still
from analysis.compiled.step_length import NOT_TRIED, cut_at, shortened
from analysis.compiled.throttles import are_open_enough
from analysis.compiled.time_step import Before, Machine, solve_step
from analysis.compiled.trials import machine_of, weigh
from analysis.constants import THROTTLE_TOLERANCE, WITHOUT_LIMIT

LOOK, TRIED, BY_HAND = 0, 1, 2
"""Why there are no more quiet steps: it is to be looked at how all stands; a step was tried in
which something happens; or the next one is none that is solved here."""

SHORTEST = 1e-6
"""A step so short [s] is cut no more."""
MOST_CUTS = 20
"""Bound on the trials to end a step at an event [1]: a pressure that jumps has no such end."""
FIRST_STEP = 1e-3
"""The first step [s] after which nothing is foretold yet: after levers and events."""


class Pacing(NamedTuple):
    """What a step goes by; see `analysis.pace.Pace`."""

    travel: float
    pressure: float
    growth: float
    imbalance: float
    longest: float
    way: float
    to_arrivals: bool


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
    going = course_of(before.extension, tallies, len(levels.slack), bound)
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
        longest = next_stop(goal, now.until, looked, since) - time
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
            is_quiet(machine, bound, going, trial[0], weighed, duration)
            and keep_their_levels(levels, going, weighed[5], duration, time)
        ):
            why = TRIED
            break
        time += duration
        looked, since = time, time - looked
        go_on(eq.gas, machine, bound, levels, going, trial[2], weighed, duration, time)
        next_step = duration * min(pace.growth, 0.9 / sqrt(max(error, 1e-3)))
        next_step = max(next_step, uncut)
        before = Before(
            trial[0], weighed[2], before.vapour, going.extension, weighed[3], before.held
        )
        is_news = read_goals(goal, trial[0], going.extension, tallies)
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
def _try(
    eq: Equations, order: Order, products: Array, fixed: Array, machine: Machine, before: Before,
    bound: Bounds, levels: Levels, going: Course, pace: Pacing, allowed: tuple[float, float],
    duration: float, is_first: bool, time: float,
) -> tuple[bool, Any, Any, float]:  # fmt: skip
    """A step that is accurate and ends at the first event, and its length; whether it is one that
    can be solved and weighed here."""
    cuts, tried = 0, NOT_TRIED
    while True:
        set_gas(eq.gas, bound, going, duration)
        found = solve_step(
            eq, order, products, fixed, before.pressure, machine, before, duration,
            MOST_STEPS, pace.imbalance,
        )  # fmt: skip
        pressure, flows = found[0], found[2]
        outcome = weigh(machine, eq.free, before, pressure, flows, duration, allowed)
        is_good = found[7] and is_fed(bound, pressure)
        if is_good and len(machine.throttles.row):
            is_good = are_open_enough(
                eq.turbulent, machine.throttles, pressure, found[1], flows, THROTTLE_TOLERANCE
            )
        error = _error(outcome, is_first, duration)
        if is_good and error > 1.0 and duration > 10.0 * SHORTEST:
            duration *= max(0.2, 0.8 / sqrt(error))
            continue
        if is_good:
            is_good = outcome[7] < WITHOUT_LIMIT
            is_good = is_good and is_foreseen(bound, going, pressure, flows, duration)
        share = min(outcome[1], least_share(levels, going, outcome[5], duration, time))
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
