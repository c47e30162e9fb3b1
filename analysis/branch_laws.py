"""The flow laws as pure functions of SI arrays: value and slope, monotone and continuous.

All are written with the pressure difference as the cause and the flow as the effect.
Each family of branches is evaluated by one call on arrays; a branch is one row.
"""

from __future__ import annotations

from functools import lru_cache
from math import inf, log10, pi

import numpy as np
from numpy.typing import NDArray

from analysis.constants import ATMOSPHERE, ROUNDING

Array = NDArray[np.float64]

LAMINAR_END = 2000.0
TURBULENT_START = 4000.0
_LN10 = float(np.log(10.0))


def rounded_root(x: Array) -> tuple[Array, Array]:
    """sqrt(x) for x >> ROUNDING, straight through zero: x / (x^2 + d^2)^(1/4), and its slope.

    Odd in x, smooth everywhere; relative error d^2 / (4 x^2) for large |x|.
    """
    square = x * x + ROUNDING * ROUNDING
    root = np.sqrt(np.sqrt(square))
    return x / root, (0.5 * x * x + ROUNDING * ROUNDING) / (square * root)


def turbulent(
    u: Array,
    forward: Array,
    crack: Array,
    reverse: Array,
    reverse_crack: Array,
    limit: Array,
    kink: float = 0.0,
) -> tuple[Array, Array]:
    """Flow through an orifice-like passage, and its slope.

    q = forward * sqrt(u - crack) for u > crack, -reverse * sqrt(-u - reverse_crack) for
    u < -reverse_crack, none between; never more than `limit` either way.

    Parameters
    ----------
    u
        Pressure difference [Pa], shape (n,).
    forward, reverse
        Passage coefficients [m3/s / sqrt(Pa)]; 0 is closed in that direction.
    crack, reverse_crack
        Opening pressure differences [Pa]; crack >= -reverse_crack.
    limit
        Largest flow [m3/s], infinite if there is none (a flow regulator has one).
    kink
        So near [Pa] to its opening a shut passage has the slope of an open one.
    """
    over = u - crack
    under = u + reverse_crack
    # products instead of choices: these few numbers are worked on thousands of times
    ahead, behind = np.maximum(over, 0.0), np.minimum(under, 0.0)
    x = ahead + behind
    square = x * x + ROUNDING * ROUNDING
    root = np.sqrt(np.sqrt(square))
    q = (forward * ahead + reverse * behind) / root
    if kink:
        # by the slope alone: an orifice passes its flow to the last digit, either way
        opening = (over >= -kink) > ((under < 0.0) & (reverse > 0.0))
        k = forward * opening + reverse * ((under < kink) > opening)
    else:
        k = forward * (over >= 0.0) + reverse * (under < 0.0)
    slope = k * (0.5 + 0.5 * ROUNDING * ROUNDING / square) / root
    if not len(limit) or limit.min() == inf:
        return q, slope
    beyond = np.abs(q) > limit
    return np.where(beyond, np.copysign(limit, q), q), np.where(beyond, 0.0, slope)


def deadband(
    u: Array, slope: Array, above: Array, below: Array, low: Array, high: Array
) -> tuple[Array, Array]:
    """Straight beyond a dead band: slope*(u - above) over it, slope*(u - below) under it.

    Clipped to [low, high]. A relief valve (below = -inf), an actuator with friction, a
    passage without loss.
    """
    q = slope * (np.maximum(u - above, 0.0) + np.minimum(u - below, 0.0))
    clipped = np.minimum(np.maximum(q, low), high)
    moving = ((u >= above) | (u < below)) & (clipped == q)
    return clipped, slope * moving


def source(
    u: Array, flow_1: Array, slope_1: Array, flow_2: Array, slope_2: Array, cap: Array
) -> tuple[Array, Array]:
    """A pump: the lesser of two straight characteristics of u = inlet - outlet pressure.

    q = min(flow_1 + slope_1*u, flow_2 + slope_2*u), not below zero, not above `cap`
    (what arrives at a starved inlet).
    """
    first = flow_1 + slope_1 * u
    second = flow_2 + slope_2 * u
    q = np.minimum(first, second)
    slope = np.where(first <= second, slope_1, slope_2)
    clipped = np.minimum(np.maximum(q, 0.0), cap)
    return clipped, slope * (clipped == q)


def gas(
    u: Array, precharge: Array, volume: Array, exponent: Array, fluid: Array, step: Array
) -> tuple[Array, Array]:
    """Flow into an accumulator that ends a time step at gauge pressure u, and its slope.

    The fluid volume at that pressure is volume * (1 - (precharge / p)^exponent), none below
    precharge; the flow is what takes it there from `fluid` in the time `step`.

    Parameters
    ----------
    u
        Gauge pressure at the port at the end of the step [Pa].
    precharge
        Absolute precharge pressure [Pa].
    volume, fluid
        Gas volume when empty, fluid in it before the step [m3].
    exponent
        1 / polytropic index.
    step
        Time step [s].
    """
    pressure = np.maximum(u + ATMOSPHERE, precharge)
    share = (precharge / pressure) ** exponent
    q = (volume * (1.0 - share) - fluid) / step
    slope = volume * exponent * share / (pressure * step)
    return q, slope * (u + ATMOSPHERE > precharge)


def colebrook_reynolds(karman: Array, roughness: Array) -> tuple[Array, Array]:
    """Reynolds number of turbulent flow at a given pressure drop, and d Re / d karman.

    With karman = f Re^2 / 2 = dp D^3 / (L rho nu^2) known, Colebrook's equation is explicit:
    Re = -2 s log10(r/3.7 + 2.51/s), s = Re sqrt(f) = sqrt(2 karman).

    Parameters
    ----------
    karman
        Dimensionless pressure drop, > 0.
    roughness
        Roughness over bore.

    References
    ----------
    C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, as solved for flow in handbooks.
    """
    s = np.sqrt(2.0 * karman)
    inner = roughness / 3.7 + 2.51 / s
    per_root = -2.0 * np.log10(inner)
    return s * per_root, (per_root + 2.0 * 2.51 / (s * inner * _LN10)) / s


@lru_cache(maxsize=4096)
def friction_at_4000(roughness: float) -> float:
    """Darcy friction factor by Colebrook at Re = 4000."""
    f = 0.04
    for _ in range(30):
        f = (-2.0 * log10(roughness / 3.7 + 2.51 / (TURBULENT_START * f**0.5))) ** -2
    return f


@lru_cache(maxsize=4096)
def pipe_row(
    bore: float, length: float, roughness: float, density: float, viscosity: float
) -> tuple[float, float, float, float]:
    """The parameters of `pipe` for a line [m, m, m, kg/m3, m2/s]."""
    relative = roughness / bore
    return (
        bore**3 / (length * density * viscosity**2),
        pi * bore * viscosity / 4.0,
        relative,
        friction_at_4000(relative),
    )


def pipe_reynolds(karman: Array, roughness: Array, f_4000: Array) -> tuple[Array, Array]:
    """Reynolds number at a dimensionless pressure drop, laminar to turbulent, and its slope.

    Laminar (f = 64/Re) to Re 2000, Colebrook from 4000, the friction factor straight
    between; karman = dp D^3 / (L rho nu^2) >= 0.
    """
    reynolds = karman / 32.0
    slope = np.full(len(karman), 1.0 / 32.0)
    rows = np.flatnonzero(karman > 32.0 * LAMINAR_END)
    if not len(rows):
        return reynolds, slope
    within, f = karman[rows], f_4000[rows]
    is_turbulent = within > 0.5 * TURBULENT_START**2 * f
    rough = rows[is_turbulent]
    if len(rough):
        reynolds[rough], slope[rough] = colebrook_reynolds(karman[rough], roughness[rough])
    if len(rough) < len(rows):
        between = ~is_turbulent
        rows = rows[between]
        reynolds[rows], slope[rows] = _transition(within[between], f[between])
    return reynolds, slope


def _transition(karman: Array, f_4000: Array) -> tuple[Array, Array]:
    """Solve (f1 + g (Re - 2000)) Re^2 / 2 = karman for Re in [2000, 4000]; cubic, monotone.

    Divided by Re^3 it is z^3 - 3 P z - 2 Q = 0 in z = 1/Re, without a square of z: Cardano's
    z = w + P/w, w^3 = Q + sqrt(Q^2 - P^3), complex where the cubic has three real roots.
    """
    f_2000 = 64.0 / LAMINAR_END
    g = (f_4000 - f_2000) / (TURBULENT_START - LAMINAR_END)
    at_zero = f_2000 - g * LAMINAR_END
    p, q = at_zero / (6.0 * karman), g / (4.0 * karman)
    w = (q + np.sqrt(q * q - p * p * p + 0j)) ** (1.0 / 3.0)
    reynolds = 1.0 / (w + p / w).real
    return reynolds, 1.0 / (reynolds * (at_zero + 1.5 * g * reynolds))


def pipe(
    u: Array, to_karman: Array, to_flow: Array, roughness: Array, f_4000: Array
) -> tuple[Array, Array]:
    """Flow in a round straight line at a pressure difference [Pa], and its slope.

    Parameters
    ----------
    to_karman
        D^3 / (L rho nu^2) [1/Pa].
    to_flow
        pi D nu / 4 [m3/s]: flow = Re * to_flow.
    """
    reynolds, slope = pipe_reynolds(np.abs(u) * to_karman, roughness, f_4000)
    return np.copysign(reynolds * to_flow, u), slope * to_karman * to_flow
