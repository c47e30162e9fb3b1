"""The flow laws: flow and slope of one branch, monotone and continuous, all numbers SI.

All are written with the pressure difference as the cause and the flow as the effect.
"""

from __future__ import annotations

from math import log, log10, sqrt

import numpy as np
from numpy.typing import NDArray

from analysis.compiled import compiled
from analysis.constants import ATMOSPHERE, ROUNDING

LAMINAR_END = 2000.0
TURBULENT_START = 4000.0
_LN10 = log(10.0)


@compiled
def rounded_root(x: float) -> tuple[float, float]:
    """sqrt(x) for x >> ROUNDING, straight through zero: x / (x^2 + d^2)^(1/4), and its slope.

    Odd in x, smooth everywhere; relative error d^2 / (4 x^2) for large |x|.
    """
    square = x * x + ROUNDING * ROUNDING
    root = sqrt(sqrt(square))
    return x / root, (0.5 * x * x + ROUNDING * ROUNDING) / (square * root)


@compiled
def rounded_roots(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """`rounded_root` of each number, without the slopes."""
    roots = np.empty(len(x))
    for i in range(len(x)):
        roots[i] = rounded_root(x[i])[0]
    return roots


@compiled
def turbulent(
    u: float,
    forward: float,
    crack: float,
    reverse: float,
    reverse_crack: float,
    limit: float,
    kink: float,
) -> tuple[float, float]:
    """Flow [m3/s] through an orifice-like passage, and its slope [m3/s/Pa].

    q = forward * sqrt(u - crack) for u > crack, -reverse * sqrt(-u - reverse_crack) for
    u < -reverse_crack, none between; never more than `limit` either way.

    Parameters
    ----------
    u
        Pressure difference [Pa].
    forward, reverse
        Passage coefficients [m3/s / sqrt(Pa)]; 0 is closed in that direction.
    crack, reverse_crack
        Opening pressure differences [Pa]; crack >= -reverse_crack.
    limit
        Largest flow [m3/s], infinite if there is none (a flow regulator has one).
    kink
        So near [Pa] to its opening a shut passage has the slope of an open one; or 0.
    """
    over, under = u - crack, u + reverse_crack
    # written so that what is no number stays none
    ahead = 0.0 if over <= 0.0 else over
    behind = 0.0 if under >= 0.0 else under
    x = ahead + behind
    square = x * x + ROUNDING * ROUNDING
    root = sqrt(sqrt(square))
    q = (forward * ahead + reverse * behind) / root
    if kink > 0.0:
        # by the slope alone: an orifice passes its flow to the last digit, either way
        opens = over >= -kink and not (under < 0.0 and reverse > 0.0)
        passage = forward if opens else (reverse if under < kink else 0.0)
    else:
        passage = (forward if over >= 0.0 else 0.0) + (reverse if under < 0.0 else 0.0)
    slope = passage * (0.5 + 0.5 * ROUNDING * ROUNDING / square) / root
    if abs(q) > limit:
        return (limit if q > 0.0 else -limit), 0.0
    return q, slope


@compiled
def deadband(
    u: float, slope: float, above: float, below: float, low: float, high: float, kink: float
) -> tuple[float, float]:
    """Straight beyond a dead band: slope*(u - above) over it, slope*(u - below) under it.

    Clipped to [low, high]. A relief valve (below = -inf), an actuator with friction, a
    passage without loss. So near as `kink` [Pa or N] to its edge what rests has the slope of
    what moves; or 0.
    """
    over, under = u - above, u - below
    ahead = 0.0 if over <= 0.0 else over
    behind = 0.0 if under >= 0.0 else under
    q = slope * (ahead + behind)
    clipped = min(max(q, low), high)
    moves = (over >= -kink or under < kink) and clipped == q
    return clipped, slope if moves else 0.0


@compiled
def source(
    u: float, flow_1: float, slope_1: float, flow_2: float, slope_2: float, cap: float
) -> tuple[float, float]:
    """A pump: the lesser of two straight characteristics of u = inlet - outlet pressure.

    q = min(flow_1 + slope_1*u, flow_2 + slope_2*u), not below zero, not above `cap`
    (what arrives at a starved inlet).
    """
    first, second = flow_1 + slope_1 * u, flow_2 + slope_2 * u
    q, slope = (first, slope_1) if first <= second else (second, slope_2)
    clipped = min(max(q, 0.0), cap)
    return clipped, slope if clipped == q else 0.0


@compiled
def gas(
    u: float, precharge: float, volume: float, exponent: float, fluid: float, step: float
) -> tuple[float, float]:
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
    absolute = u + ATMOSPHERE
    pressure = precharge if absolute <= precharge else absolute
    share = (precharge / pressure) ** exponent
    q = (volume * (1.0 - share) - fluid) / step
    if absolute <= precharge:
        return q, 0.0
    return q, volume * exponent * share / (pressure * step)


@compiled
def colebrook_reynolds(karman: float, roughness: float) -> tuple[float, float]:
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
    s = sqrt(2.0 * karman)
    inner = roughness / 3.7 + 2.51 / s
    per_root = -2.0 * log10(inner)
    return s * per_root, (per_root + 2.0 * 2.51 / (s * inner * _LN10)) / s


@compiled
def _transition(karman: float, f_4000: float) -> tuple[float, float]:
    """Solve (f1 + g (Re - 2000)) Re^2 / 2 = karman for Re in [2000, 4000]; cubic, monotone.

    Divided by Re^3 it is z^3 - 3 P z - 2 Q = 0 in z = 1/Re, without a square of z: Cardano's
    z = w + P/w, w^3 = Q + sqrt(Q^2 - P^3), complex where the cubic has three real roots.
    """
    f_2000 = 64.0 / LAMINAR_END
    g = (f_4000 - f_2000) / (TURBULENT_START - LAMINAR_END)
    at_zero = f_2000 - g * LAMINAR_END
    p, q = at_zero / (6.0 * karman), g / (4.0 * karman)
    w = (q + complex(q * q - p * p * p, 0.0) ** 0.5) ** (1.0 / 3.0)
    reynolds = 1.0 / (w + p / w).real
    return reynolds, 1.0 / (reynolds * (at_zero + 1.5 * g * reynolds))


@compiled
def pipe_reynolds(karman: float, roughness: float, f_4000: float) -> tuple[float, float]:
    """Reynolds number at a dimensionless pressure drop, laminar to turbulent, and its slope.

    Laminar (f = 64/Re) to Re 2000, Colebrook from 4000, the friction factor straight
    between; karman = dp D^3 / (L rho nu^2) >= 0.
    """
    if karman <= 32.0 * LAMINAR_END:
        return karman / 32.0, 1.0 / 32.0
    if karman > 0.5 * TURBULENT_START * TURBULENT_START * f_4000:
        return colebrook_reynolds(karman, roughness)
    return _transition(karman, f_4000)


@compiled
def pipe(
    u: float, to_karman: float, to_flow: float, roughness: float, f_4000: float
) -> tuple[float, float]:
    """Flow in a round straight line at a pressure difference [Pa], and its slope.

    Parameters
    ----------
    to_karman
        D^3 / (L rho nu^2) [1/Pa].
    to_flow
        pi D nu / 4 [m3/s]: flow = Re * to_flow.
    """
    reynolds, slope = pipe_reynolds(abs(u) * to_karman, roughness, f_4000)
    q = reynolds * to_flow
    return (q if u >= 0.0 else -q), slope * to_karman * to_flow
