"""Reservoirs whose levels come to the mouths of their outlets, or to the brim."""

from __future__ import annotations

from math import inf
from typing import NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Flags

RISE = 0.01
"""How far the fluid must stand over a mouth again, as a share of the capacity: 1 or 2 mm."""
MOMENTS = 1.0
"""How long [s] an outlet that drew air gives nothing, at least."""
_AT_ONCE = 0.9999
"""From this share of a step on something comes at its end."""


class Levels(NamedTuple):
    """The outlets and brims of reservoirs, row by row.

    Per outlet, shape (reservoirs, outlets): the volume up to its mouth, that at which it is
    covered again [m3], and since when it is uncovered [s], no number if it is not. Per reservoir:
    what a volume may be wrong by, the capacity, the volume up to the mouth that a broken line
    lays open [m3], and whether it was full.
    """

    mouth: Array
    covers: Array
    since: Array
    slack: Array
    capacity: Array
    brim: Array
    full: Flags


@compiled
def time_to_change(levels: Levels, k: int, volume: float, rate: float, time: float) -> float:
    """How long [s] until an outlet of the k-th is uncovered or covered, or it is full; infinite if
    that does not come.

    Parameters
    ----------
    volume, rate
        What is in it [m3], and how fast that changes [m3/s].
    time
        Now [s].
    """
    room = levels.capacity[k] - volume
    is_filling = rate > 0.0 and room > levels.slack[k] and not levels.full[k]
    wait = room / rate if is_filling else inf
    for outlet in range(levels.mouth.shape[1]):
        since = levels.since[k, outlet]
        if np.isnan(since):
            over = volume - levels.mouth[k, outlet]
            if rate < 0.0 and over > levels.slack[k]:
                wait = min(wait, over / -rate)
            continue
        missing = levels.covers[k, outlet] - volume
        fills = 0.0 if missing <= 0.0 else missing / rate if rate > 0.0 else inf
        wait = min(wait, max(fills, since + MOMENTS - time))
    return wait


@compiled
def level_share(
    levels: Levels, k: int, volume: float, rate: float, duration: float, time: float
) -> float:
    """The share of a step [s] from now [s] on after which the level of the k-th, which changes at
    that rate [m3/s], gets to a mouth or to the brim; 1 if it does not."""
    if rate > 0.0 and volume >= min(levels.brim[k], levels.capacity[k]):
        return 1.0
    share = min(time_to_change(levels, k, volume, rate, time) / duration, 1.0)
    return share if share < _AT_ONCE else 1.0


@compiled
def stays(levels: Levels, k: int, volume: float, time: float) -> bool:
    """Whether at this volume [m3] and time [s] the outlets of the k-th are as before, and its
    fill is."""
    for outlet in range(levels.mouth.shape[1]):
        since = levels.since[k, outlet]
        if np.isnan(since):
            if volume <= levels.mouth[k, outlet] + levels.slack[k]:
                return False
        elif volume >= levels.covers[k, outlet] and time >= since + MOMENTS - 1e-9:
            return False
    capacity = levels.capacity[k]
    is_low: bool = volume < capacity - levels.slack[k]
    return volume >= (1.0 - RISE) * capacity if levels.full[k] else is_low


@compiled
def kept_of(levels: Levels, k: int, volume: float, drawn: float) -> float:
    """What is in the k-th [m3] when so much has been drawn from it; less than nothing is not, and
    what it was filled with beyond its capacity stays, but no more comes to it."""
    brim = min(levels.brim[k], max(levels.capacity[k], volume))
    kept: float = min(max(volume - drawn, 0.0), brim)
    return kept
