"""How long a step over time may be, and how far it is from what the one before it foretold."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from analysis.newton import Outcome

if TYPE_CHECKING:
    from analysis.motion import Motion

FIRST_STEP = 1e-3
"""The first step [s] after which nothing is foretold yet: after levers and events."""
_ROUGHLY = 10.0
"""Times the tolerance that holds while fluid and air are drawn by turns."""
_CORNER = 1e-2
"""So near to a corner of its load, as a share of its travel, a member stands at it."""
_OVER = 1.01
"""A step that is to end at a stop is longer by this factor, lest the member stay short of it."""
_BEYOND = 0.1
"""How far beyond the foretold time of an event a step is tried, as a share of what is left."""
_THERE = 1e-6
"""A member nearer to its stop than this share of its travel is there."""
Cut = tuple[float, float]
"""(duration of a trial step, time in it at which something happens) [s]."""


def error_of(motion: Motion, outcome: Outcome, duration: float) -> float:
    """How far a step [s] is from what the last one foretold, over the tolerance of the pace."""
    if motion.rates() is None:
        return 0.0 if duration <= FIRST_STEP else 4.0
    # what air does to the pressures there is not known so exactly
    is_rough = motion.outlets.gulps and motion.outlets.is_gulping(motion.time)
    return outcome.error / _ROUGHLY if is_rough else outcome.error


def shortened(motion: Motion, duration: float) -> float:
    """The duration [s], or less where a member would go further than the pace lets it.

    Nor does it go over a corner of its load: a load, and the pressures with it, are highest
    and lowest there. And it ends where a member comes to its stop, as fast as it now moves.
    """
    rates, way = motion.rates(), motion.pace.way
    if rates is None or way == inf:
        return duration
    for mover, velocity in zip(motion.stepper.movers, rates.velocity.tolist(), strict=True):
        if velocity == 0.0:
            continue
        x = motion.moving[mover.part.id]["extension"]
        furthest, to_stop = way * mover.travel, mover.travel - x if velocity > 0.0 else x
        if to_stop > _THERE * mover.travel:
            furthest = min(furthest, _OVER * to_stop)
        load = mover.part.settings.get("load")
        if isinstance(load, tuple):
            ahead = [(at - x) * (1.0 if velocity > 0.0 else -1.0) for at, _ in load]
            furthest = min([furthest, *(far for far in ahead if far > _CORNER * mover.travel)])
        if abs(velocity) * duration > furthest:
            duration = furthest / abs(velocity)
    return duration


def cut_at(trial: Cut, before: Cut | None) -> float:
    """Where to end a step [s] so that it goes by just beyond an event, by the trials so far.

    A pressure does not rise straight: what one trial foretells comes too late again and again,
    by less each time. Two trials tell where that ends; a little later is tried, since a step
    that ends before the event would need another one.

    Parameters
    ----------
    trial
        The last trial and where it puts the event, straight from the step's beginning [s].
    before
        The trial before it, if there was one.

    Examples
    --------
    >>> round(cut_at((0.0342, 0.0176), (0.0784, 0.0342)), 4)
    0.0086
    """
    duration, event = trial
    if before is None:
        return event
    over, over_before = duration - event, before[0] - before[1]
    if not 0.0 < over < over_before:
        return event
    there = duration - over * (before[0] - duration) / (over_before - over)
    return min(max(there + _BEYOND * (event - there), _BEYOND * event), event)
