"""Flows of the second formulation over time: every flow is given by the pressures at its ports.

The instant's second formulation writes losses as pressure against flow; a differential
equation needs the flow. Each family is evaluated in arrays, with its slopes by pressure.
Corners are rounded over `CORNER`, and so are roots at rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf, pi

import numpy as np
from numpy.typing import NDArray

from tests.independent.elements import friction_factor

Array = NDArray[np.float64]
Terms = tuple[tuple[str, float], ...]

AT_REST = 100.0
"""Drop [Pa] below which an orifice's root is rounded off: 0.2 % at 1 kPa."""
FREELY = 1e7
"""Straight resistance of what the contract says costs nothing [Pa s/m3]: 1 kPa at 1e-4 m3/s."""
CORNER = 300.0
"""Pressure [Pa] over which a valve that opens is rounded off."""
BAND = 7e3
"""Pressure [Pa] from shut to fully open of a valve that modulates: 1 psi."""
EVER = 1e30


def above(z: Array, corner: Array | float = CORNER) -> tuple[Array, Array]:
    """max(0, z), a parabola within `corner` of zero, and its slope; exactly zero below."""
    inside = np.minimum(np.maximum(0.5 * z / corner + 0.5, 0.0), 1.0)
    return np.where(z > corner, z, corner * inside * inside), inside


@dataclass
class Orifices:
    """k q |q| = drop, both ways or forward only.

    A share by a second combination of pressures opens those that modulate.
    """

    names: list[str] = field(default_factory=list)
    terms: list[Terms] = field(default_factory=list)
    rows: list[tuple[float, ...]] = field(default_factory=list)
    control: list[Terms] = field(default_factory=list)
    opens_at: list[float] = field(default_factory=list)

    def add(
        self,
        name: str,
        terms: Terms,
        passage: tuple[float, float],
        *,
        one_way: bool = False,
        offset: float = 0.0,
        control: Terms = (),
        opens_at: float = -inf,
        most: float = EVER,
    ) -> None:
        """`passage`: (flow, drop); an infinite flow passes freely."""
        self.names.append(name)
        self.terms.append(terms)
        self.rows.append((passage[1] / passage[0] ** 2, float(one_way), offset, most))
        self.control.append(control)
        self.opens_at.append(opens_at)

    def freeze(self) -> None:
        """Columns as arrays."""
        table = np.array(self.rows).reshape(-1, 4)
        resistance, one_way, self.offset, self.most = table.T
        self.one_way, self.free = one_way > 0.0, resistance == 0.0
        self.conductance = 1.0 / np.sqrt(np.where(self.free, 1.0, resistance))
        self.always = np.isneginf(self.opens_at)
        self.level = np.where(self.always, 0.0, self.opens_at)
        self.bounded = np.flatnonzero(self.most < EVER)

    def flow(self, drop: Array, control: Array) -> tuple[Array, Array, Array]:
        """Flow, its slope by the drop, and by the control pressure."""
        pushed, rounding = above(drop - self.offset)
        z = np.where(self.one_way, pushed, drop)
        square = z * z + AT_REST**2
        root = self.conductance / np.sqrt(np.sqrt(square))
        q = np.where(self.free, z / FREELY, z * root)
        slope = np.where(self.free, 1.0 / FREELY, root * (1.0 - 0.5 * z * z / square))
        slope = np.where(self.one_way, rounding, 1.0) * slope
        for i in self.bounded:
            excess, fall = above(q[i] - self.most[i], 1e-3 * self.most[i])
            q[i] -= excess
            slope[i] *= 1.0 - fall
        share = np.minimum(np.maximum((control - self.level) / BAND, 0.0), 1.0)
        share[self.always] = 1.0
        opening = np.where((share > 0.0) & (share < 1.0), 1.0 / BAND, 0.0)
        return q * share, slope * share, q * opening


@dataclass
class Pipes:
    """Straight round lines. Re is tabled against f Re^2 = 2 drop bore^3 / (rho nu^2 length)."""

    names: list[str] = field(default_factory=list)
    terms: list[Terms] = field(default_factory=list)
    rows: list[tuple[float, float, float]] = field(default_factory=list)

    def add(
        self, name: str, terms: Terms, bore: float, length: float, density: float, viscosity: float
    ) -> None:
        """One line [m], [kg/m3], [m2/s]."""
        self.names.append(name)
        self.terms.append(terms)
        self.rows.append(
            (
                2.0 * bore**3 / (density * viscosity**2 * length),
                pi * bore * viscosity / 4.0,
                1.5e-6 / bore,
            )
        )

    def freeze(self) -> None:
        """Tables of log Re against log(f Re^2) for every roughness."""
        self.factor, self.per_reynolds, roughness = np.array(self.rows).reshape(-1, 3).T
        reynolds = np.concatenate([np.linspace(2000.0, 4000.0, 41), np.geomspace(4100.0, 4e5, 60)])
        self.log_reynolds = np.log(reynolds)
        known: dict[float, Array] = {}
        for eD in roughness:
            if eD not in known:
                f = np.array([friction_factor(r, float(eD)) for r in reynolds])
                known[eD] = np.log(f * reynolds**2)
        self.groups = [(np.flatnonzero(roughness == eD), table) for eD, table in known.items()]

    def flow(self, drop: Array) -> tuple[Array, Array]:
        """Flow and its slope by the drop."""
        pushed = self.factor * np.abs(drop)
        reynolds, slope = pushed / 64.0, np.full_like(drop, 1.0 / 64.0)
        if (pushed > 128_000.0).any():
            for rows, table in self.groups:
                fast = rows[pushed[rows] > 128_000.0]
                if len(fast):
                    log = np.log(pushed[fast])
                    i = np.clip(np.searchsorted(table, log) - 1, 0, len(table) - 2)
                    rise = (self.log_reynolds[i + 1] - self.log_reynolds[i]) / (
                        table[i + 1] - table[i]
                    )
                    reynolds[fast] = np.exp(self.log_reynolds[i] + rise * (log - table[i]))
                    slope[fast] = rise * reynolds[fast] / pushed[fast]
        return (
            np.sign(drop) * reynolds * self.per_reynolds,
            slope * self.factor * self.per_reynolds,
        )


@dataclass
class Straights:
    """Flow in proportion to (drop - offset), held between two bounds: reliefs, pumps, gas.

    A pump with a compensator has two such characteristics, of which the lesser counts.
    """

    names: list[str] = field(default_factory=list)
    terms: list[Terms] = field(default_factory=list)
    rows: list[tuple[float, ...]] = field(default_factory=list)

    def add(
        self,
        name: str,
        terms: Terms,
        first: tuple[float, float],
        second: tuple[float, float] | None = None,
        *,
        low: float = -inf,
        high: float = inf,
    ) -> None:
        """clip(slope * (drop - offset), low, high) [m3/s], corners rounded; (slope, offset)."""
        self.names.append(name)
        self.terms.append(terms)
        self.rows.append((*first, *(second or (0.0, 0.0)), low, high))

    def freeze(self) -> None:
        """Columns as arrays."""
        columns = np.array(self.rows).reshape(-1, 6).T
        self.slope, self.offset, self.steep, self.end, low, high = columns
        self.low, self.high = np.maximum(low, -EVER), np.minimum(high, EVER)
        self.two, self.bounded = self.steep > 0.0, self.low > -EVER

    def flow(self, drop: Array) -> tuple[Array, Array]:
        """Flow and its slope by the drop."""
        wanted, slope = self.slope * (drop - self.offset), self.slope.copy()
        excess, weight = above(wanted - self.steep * (drop - self.end), self.steep * CORNER + 1e-30)
        wanted = np.where(self.two, wanted - excess, wanted)
        slope = np.where(self.two, slope - weight * (slope - self.steep), slope)
        corner = slope * CORNER + 1e-30
        over, rise = above(wanted - self.low, corner)
        q = np.where(self.bounded, self.low + over, wanted)
        rise = np.where(self.bounded, rise, 1.0)
        excess, fall = above(wanted - self.high, corner)
        return q - excess, slope * (rise - fall)


def incidence(terms: Sequence[Terms], index: dict[str, int]) -> Array:
    """Coefficients of every branch, shape (branches, nodes)."""
    table = np.zeros((len(terms), len(index)))
    for row, pairs in enumerate(terms):
        for port, coefficient in pairs:
            table[row, index[port]] += coefficient
    return table
