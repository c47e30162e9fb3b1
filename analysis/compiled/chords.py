"""Straight lines that stand for the branches of a network; see `analysis.first_guess`."""

from __future__ import annotations

from math import sqrt

import numpy as np

from analysis.compiled import compiled
from analysis.compiled.elimination import Order, eliminate
from analysis.compiled.equations import Array, Equations, drive, flows, outflow
from analysis.compiled.laws import pipe
from analysis.constants import ATMOSPHERE

_PASSES = 5
_USUAL_DROP = 1e5
"""Pressure difference [Pa] whose chord stands for a passage of which nothing is known yet."""

_LEAST_DROP = 1e3
"""A chord is drawn no steeper than at this pressure difference [Pa]."""

_HIGHEST = 1e8
_TIE = 1e-14
"""Conductance [m3/s/Pa] to the atmosphere that holds what nothing else does."""

_SHIFT = 1e-12


@compiled
def guess(eq: Equations, order: Order, products: Array, fixed: Array) -> Array:
    """Pressures of all nodes near the solution, from those of the held ones."""
    pressure = fixed.copy()
    tie, found = np.full(len(eq.free), _TIE), np.empty(len(eq.free))
    for number in range(_PASSES):
        slope, at_zero = _chords(eq, drive(eq, pressure)) if number else _all_open(eq)
        at_held = at_zero + slope * drive(eq, fixed)
        right = -outflow(eq, at_held, len(fixed))[eq.free]
        if not eliminate(order, products, slope, tie, right, _SHIFT, found):
            break
        for i in range(len(found)):
            pressure[eq.free[i]] = min(max(found[i], -ATMOSPHERE), _HIGHEST)
    return pressure


@compiled
def _all_open(eq: Equations) -> tuple[Array, Array]:
    """Slope and flow at u = 0 of every branch, each taken as open."""
    slope, at_zero = np.zeros(len(eq.node)), np.zeros(len(eq.node))
    i, t = 0, eq.turbulent
    for k in range(t.shape[1]):
        passage = t[0, k] / sqrt(_USUAL_DROP) if np.isfinite(t[1, k]) else 0.0
        slope[i] = min(passage, t[4, k] / _USUAL_DROP)
        if np.isfinite(t[1, k]) and t[0, k] != t[2, k]:
            at_zero[i] = -slope[i] * t[1, k]
        i += 1
    t = eq.pipe
    for k in range(t.shape[1]):
        slope[i] = pipe(_USUAL_DROP, t[0, k], t[1, k], t[2, k], t[3, k])[0] / _USUAL_DROP
        i += 1
    t = eq.source
    for k in range(t.shape[1]):
        slope[i], at_zero[i] = t[1, k], min(t[0, k], t[4, k])
        i += 1
    t = eq.deadband
    for k in range(t.shape[1]):
        # a relief valve has no lower bound, a member at its stop one of the two, a locked one
        # none
        bounds, middle = 0, 0.0
        for edge in (t[1, k], t[2, k]):
            if np.isfinite(edge):
                bounds += 1
                middle += edge
        if bounds:
            slope[i], at_zero[i] = t[0, k], -t[0, k] * (middle / bounds)
        i += 1
    return slope, at_zero


@compiled
def _chords(eq: Equations, u: Array) -> tuple[Array, Array]:
    """Slope and flow at u = 0 of every branch: chords of passages, tangents of the others."""
    q, slope = flows(eq, u)
    at_zero = q - slope * u
    i, t = 0, eq.turbulent
    for k in range(t.shape[1]):
        passage, opening = 0.0, 0.0
        if u[i] >= t[1, k]:
            passage, opening = t[0, k], t[1, k]
        elif u[i] < -t[3, k]:
            passage, opening = t[2, k], -t[3, k]
        drop = max(abs(u[i] - opening), _LEAST_DROP)
        slope[i] = min(passage / sqrt(drop), t[4, k] / drop)
        at_zero[i] = -slope[i] * opening
        i += 1
    for _ in range(eq.pipe.shape[1]):
        if abs(u[i]) > 1.0:
            slope[i] = q[i] / u[i]
        at_zero[i] = 0.0
        i += 1
    return slope, at_zero
