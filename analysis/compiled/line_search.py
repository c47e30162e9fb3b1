"""The point along a direction where the projected imbalance is (nearly) zero."""

from __future__ import annotations

from math import inf

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.balance import Storage, residual
from analysis.compiled.equations import Array, Equations, dot, drive, flows, largest
from analysis.constants import STIFF

_SLOPE_SHARE = 0.1
_MOST_TRIALS = 60
_NARROW = 1e-6


@compiled
def search(
    eq: Equations, pressure: Array, u: Array, direction: Array, total: Array, storage: Storage,
    seepage: float,
) -> tuple[Array, Array, Array, Array, Array, Array, int]:  # fmt: skip
    """Pressures, u, q, slope, imbalance and its slope at the point, and the points tried.

    Newton's method on the line, kept inside the bracket that the signs give. `direction` is
    that of the free nodes' pressures, `total` their imbalance where it begins.
    """
    step = np.zeros(len(pressure))
    step[eq.free] = direction
    du = drive(eq, step)
    squares, drive_squares = direction, du
    begin = dot(total, direction)
    goal = _SLOPE_SHARE * abs(begin)
    low, high, t, moved = 0.0, inf, 1.0, inf
    trial = 0
    while True:
        there, now = pressure + t * step, u + t * du
        q, slope = flows(eq, now)
        rest, bound = residual(eq, there, q, storage, seepage, eq.kink)
        value = dot(rest, direction)
        if trial == 0:
            if 0.9 * begin <= value <= goal:
                break
            hidden = -1e-15 * STIFF * largest(pressure) * np.abs(direction).sum()
            if begin > hidden and largest(rest) <= largest(total):
                # nothing left but the rounding of the pressures
                break
            # most searches end before that
            squares, drive_squares = direction**2, du**2
        elif abs(value) <= goal or high - low <= _NARROW * high < inf or trial == _MOST_TRIALS:
            break
        trial += 1
        if value < 0.0:
            low = t
        else:
            high = t
        # Newton on the line lands at once on the kink where a stiff branch takes hold
        rise = dot(slope, drive_squares) + dot(bound, squares)
        jump = -value / rise if rise > 0.0 else inf
        if high == inf:
            jump = min(max(jump, 0.5 * low), 7.0 * low)
        elif t + jump <= low < t + 0.49 * jump:
            # an orifice that opened on the way: its root's own Newton step is twice too long
            jump *= 0.49
        elif not low < t + jump < high or abs(jump) > 0.5 * moved:
            jump = (0.5 * (low + high) if low > 0.01 * high else 0.1 * high) - t
        moved, t = abs(jump), t + jump
    return there, now, q, slope, rest, bound, trial + 1
