"""Members that moved over the last step, taken as still moving at the start of the next.

A member that moves stands on the steep part of its law, a few hundredths of a newton wide.
From one step to the next its load changes by more than that, so that the pressures of
before stop it or send it to its stop: its slope is gone there, and Newton's step, which
then sees a closed chamber, goes far away. The steep part, drawn out both ways, is what the
first step of a search is to follow instead.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Equations, Index


class Moving(NamedTuple):
    """Members that moved: rows among the `deadband` branches, and how fast [m/s or rad/s].

    One that stood has no velocity.
    """

    rows: Index
    velocity: Array


@compiled
def follow(
    eq: Equations, u: Array, q: Array, slope: Array, moving: Moving
) -> tuple[Array, Array, bool]:
    """Slopes and added flows with these members in motion, and whether any has to be moved."""
    slopes, added, is_any = slope.copy(), np.zeros(len(u)), False
    start = len(u) - eq.gas.shape[1] - eq.deadband.shape[1]
    for k in range(len(moving.rows)):
        row = moving.rows[k]
        if moving.velocity[k] == 0.0:
            continue
        edge = eq.deadband[1, row] if moving.velocity[k] > 0.0 else eq.deadband[2, row]
        if slope[start + row] == 0.0 and np.isfinite(edge):
            steep = eq.deadband[0, row]
            slopes[start + row] = steep
            added[start + row] = steep * (u[start + row] - edge) - q[start + row]
            is_any = True
    return slopes, added, is_any
