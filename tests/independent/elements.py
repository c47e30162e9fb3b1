"""The elements of the second formulation: each has one flow of its own and one equation.

Unlike the program, which knows node pressures only, this formulation keeps the flow (or
velocity) of every element as an unknown beside the pressures and writes losses as
pressure against flow. What acts one way only is written as a projection:
x = clip(x + g, low, high) says x >= low, x <= high, and g zero in between.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import inf, pi, sqrt

import fluids

PRESSURE = 1e5
"""Pressures are counted in this [Pa] ..."""
FLOW = 1e-5
"""... flows in this [m3/s] ..."""
VELOCITY = 1e-2
"""... velocities in this [m/s] ..."""
FORCE = 100.0
"""... and forces in this [N]."""

Loss = Callable[[float], tuple[float, float]]
Terms = Sequence[tuple[str, float]]


def above_zero(z: float, smooth: float) -> tuple[float, float]:
    """max(0, z), rounded off by `smooth`, and its slope."""
    root = sqrt(z * z + 4.0 * smooth * smooth)
    if root == 0.0:
        return 0.0, 0.5
    return (z + root) / 2.0, (1.0 + z / root) / 2.0


def clipped(z: float, low: float, high: float, smooth: float) -> tuple[float, float]:
    """clip(z, low, high), rounded off, and its slope."""
    if low == high:
        return low, 0.0
    if low == -inf and high == inf:
        return z, 1.0
    if low == -inf:
        value, slope = above_zero(high - z, smooth)
        return high - value, slope
    value, slope = above_zero(z - low, smooth)
    result, result_slope = low + value, slope
    if high < inf:
        value, slope = above_zero(z - high, smooth)
        result, result_slope = result - value, result_slope - slope
    return result, result_slope


def lesser(
    a: tuple[float, dict[str, float]], b: tuple[float, dict[str, float]], smooth: float
) -> tuple[float, dict[str, float]]:
    """The lesser of two quantities, rounded off, each given with its slopes by unknown."""
    excess, weight = above_zero(b[0] - a[0], smooth)
    slopes = {k: (1.0 - weight) * s for k, s in b[1].items()}
    for k, s in a[1].items():
        slopes[k] = slopes.get(k, 0.0) + weight * s
    return b[0] - excess, slopes


def orifice_loss(flow: float, drop: float) -> Loss:
    """drop * (q / flow)^2, with the sign of q; a trace of straight resistance at rest."""
    k = drop / flow**2

    def loss(q: float) -> tuple[float, float]:
        return k * q * abs(q) + 1e5 * q, 2.0 * k * abs(q) + 1e5

    return loss


def free_one_way(flow: float, drop: float) -> Loss:
    """No loss forwards, an orifice backwards."""
    orifice = orifice_loss(flow, drop)

    def loss(q: float) -> tuple[float, float]:
        return orifice(q) if q < 0.0 else (1e5 * q, 1e5)

    return loss


def friction_factor(reynolds: float, roughness: float) -> float:
    """Darcy factor: laminar to 2000, Colebrook from 4000, straight between (the contract)."""
    if reynolds <= 2000.0:
        return 64.0 / reynolds
    turbulent = fluids.friction_factor(Re=max(reynolds, 4000.0), eD=roughness, Method="Colebrook")
    if reynolds >= 4000.0:
        return float(turbulent)
    return float(0.032 + (turbulent - 0.032) * (reynolds - 2000.0) / 2000.0)


def pipe_loss(bore: float, length: float, density: float, viscosity: float) -> Loss:
    """Darcy-Weisbach for a straight round line of 1.5 micrometre roughness."""
    area = pi * bore**2 / 4.0
    laminar = 128.0 * density * viscosity * length / (pi * bore**4)

    def drop(q: float) -> float:
        velocity = q / area
        f = friction_factor(abs(velocity) * bore / viscosity, 1.5e-6 / bore)
        return f * length / bore * density * velocity * abs(velocity) / 2.0

    def loss(q: float) -> tuple[float, float]:
        if abs(q) / area * bore / viscosity <= 1999.0:
            return laminar * q, laminar
        step = abs(q) * 1e-5
        return drop(q), (drop(q + step) - drop(q - step)) / (2.0 * step)

    return loss


def linear_loss(slope: float) -> Loss:
    """slope * q."""
    return lambda q: (slope * q, slope)


@dataclass
class Element:
    """One flow (or velocity) `id` and its equation.

    `terms` are (port, coefficient): coefficient * flow leaves the port into the element,
    and drive = sum(coefficient * pressure). Unless `equation` is replaced, the flow obeys
    x = clip(x + (drive - offset - loss(x)) / scale, low, high), all in counted units.
    """

    id: str
    terms: Terms
    loss: Loss = field(default=linear_loss(0.0))
    offset: float = 0.0
    low: float = -inf
    high: float = inf
    scale: float = FLOW
    drive_scale: float = PRESSURE
    limits: tuple[tuple[float, Terms], ...] = ()
    """Further (offset, terms): the least of all drives counts (valves that modulate)."""

    def residual(
        self, x: float, pressure: Callable[[str], float], smooth: float
    ) -> tuple[float, dict[str, float]]:
        """Residual and its slopes by port and, under "", by the flow; counted units."""
        q = x * self.scale
        loss, slope = self.loss(q)
        drive = (
            (sum(c * pressure(p) for p, c in self.terms) - self.offset - loss) / self.drive_scale,
            self._slopes(self.terms),
        )
        drive[1][""] = -slope * self.scale / self.drive_scale
        for offset, terms in self.limits:
            other = (sum(c * pressure(p) for p, c in terms) - offset) / self.drive_scale
            drive = lesser((other, self._slopes(terms)), drive, smooth)
        if self.low == -inf and self.high == inf:
            return drive
        target, weight = clipped(
            x + drive[0], self.low / self.scale, self.high / self.scale, smooth
        )
        slopes = {k: -weight * s for k, s in drive[1].items()}
        slopes[""] = slopes.get("", 0.0) + 1.0 - weight
        return x - target, slopes

    def _slopes(self, terms: Terms) -> dict[str, float]:
        slopes: dict[str, float] = {}
        for port, coefficient in terms:
            slopes[port] = slopes.get(port, 0.0) + coefficient * PRESSURE / self.drive_scale
        return slopes


@dataclass
class Held(Element):
    """A port held at a pressure `offset`, whatever flows."""

    def residual(
        self, x: float, pressure: Callable[[str], float], smooth: float
    ) -> tuple[float, dict[str, float]]:
        """Pressure less the held one."""
        port = self.terms[0][0]
        return (pressure(port) - self.offset) / PRESSURE, {port: 1.0}


@dataclass
class Pump(Element):
    """A pump: its flow is the least of straight characteristics (flow, leak) of the rise."""

    characteristics: tuple[tuple[float, float], ...] = ()

    def residual(
        self, x: float, pressure: Callable[[str], float], smooth: float
    ) -> tuple[float, dict[str, float]]:
        """Flow less max(0, least of flow - leak * rise)."""
        (inlet, _), (outlet, _) = self.terms
        rise = pressure(outlet) - pressure(inlet)
        best: tuple[float, dict[str, float]] | None = None
        for flow, leak in self.characteristics:
            s = leak * PRESSURE / FLOW
            candidate = ((flow - leak * rise) / FLOW, {outlet: -s, inlet: s})
            best = candidate if best is None else lesser(candidate, best, smooth)
        assert best is not None
        target, weight = above_zero(best[0], smooth)
        return x - target, {"": 1.0, **{k: -weight * s for k, s in best[1].items()}}


@dataclass
class Actuator(Element):
    """A piston: `drive` is its net force; friction holds it within [-friction, friction].

    force = clip(force + velocity, -friction, friction); at a stop one bound is lifted.
    """

    friction_low: float = 0.0
    friction_high: float = 0.0

    def residual(
        self, x: float, pressure: Callable[[str], float], smooth: float
    ) -> tuple[float, dict[str, float]]:
        """Force less its projection; the velocity where it is held altogether."""
        force = (sum(c * pressure(p) for p, c in self.terms) - self.offset) / FORCE
        slopes = {p: c * PRESSURE / FORCE for p, c in self.terms}
        if self.friction_low == -inf and self.friction_high == inf:
            return x, {"": 1.0}
        target, weight = clipped(
            force + x, self.friction_low / FORCE, self.friction_high / FORCE, smooth
        )
        result = {k: (1.0 - weight) * s for k, s in slopes.items()}
        result[""] = -weight
        return force - target, result
