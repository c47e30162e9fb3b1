"""How long a step over time is to be, by where its members go and when something happens in it."""

from __future__ import annotations

from math import inf

from analysis.compiled import compiled
from analysis.compiled.equations import Array
from analysis.compiled.loads import Members

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
NOT_TRIED: Cut = (0.0, 0.0)


@compiled
def shortened(
    members: Members, extension: Array, velocity: Array, duration: float, way: float
) -> float:
    """The duration [s], or less where a member would go further than a share `way` of its travel.

    Nor does it go over a corner of its load: a load, and the pressures with it, are highest
    and lowest there. And it ends where a member comes to its stop, as fast as it now moves.
    """
    if way == inf:
        return duration
    for k in range(len(velocity)):
        v, x, travel = velocity[k], extension[k], members.travel[k]
        if v == 0.0:
            continue
        furthest, to_stop = way * travel, travel - x if v > 0.0 else x
        if to_stop > _THERE * travel:
            furthest = min(furthest, _OVER * to_stop)
        first, last = members.begin[k], members.begin[k + 1]
        if last - first > 1:
            for row in range(first, last):
                at = members.positions[row]
                far = at - x if v > 0.0 else x - at
                if far > _CORNER * travel:
                    furthest = min(furthest, far)
        if abs(v) * duration > furthest:
            duration = furthest / abs(v)
    return duration


@compiled
def cut_at(trial: Cut, before: Cut) -> float:
    """Where to end a step [s] so that it goes by just beyond an event, by the trials so far.

    A pressure does not rise straight: what one trial foretells comes too late again and again,
    by less each time. Two trials tell where that ends; a little later is tried, since a step
    that ends before the event would need another one.

    Parameters
    ----------
    trial
        The last trial and where it puts the event, straight from the step's beginning [s].
    before
        The trial before it; `NOT_TRIED` if there was none.
    """
    duration, event = trial
    over, over_before = duration - event, before[0] - before[1]
    if not 0.0 < over < over_before:
        return event
    there = duration - over * (before[0] - duration) / (over_before - over)
    return min(max(there + _BEYOND * (event - there), _BEYOND * event), event)
