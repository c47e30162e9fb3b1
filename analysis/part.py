"""A part as its law sees it: SI values, the nodes of its ports, and ways to add branches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import inf, pi, sqrt
from typing import Any

from analysis.constants import LEAK_COEFFICIENT, STIFF
from analysis.liquids import Liquid
from analysis.network import Branch, Builder

PortTerms = Sequence[tuple[str, float]]


@dataclass(slots=True)
class Part:
    """One component while its law is laid down.

    `settings` and `state` are SI; `written` holds the names of the settings that the user
    wrote; `ports` gives the node of each port. `taps` collects which branches draw from
    which port, so that the port's inflow is the sum of coefficient * flow. `branches`
    names the branches that readings ask for (`stroke`, `delivery`, `main`, ...).
    """

    id: str
    kind: str
    settings: dict[str, Any]
    state: dict[str, Any]
    fault: str
    written: frozenset[str]
    ports: dict[str, int]
    net: Builder
    liquid: Liquid
    taps: list[tuple[str, Branch, float]] = field(default_factory=list)
    branches: dict[str, Branch] = field(default_factory=dict)

    def tap(self, terms: PortTerms, branch: Branch) -> Branch:
        """Record that the branch draws coefficient * flow from each port."""
        for port, coefficient in terms:
            if port in self.ports:
                self.taps.append((port, branch, coefficient))
        return branch

    def _nodes(self, terms: PortTerms) -> tuple[tuple[int, float], ...]:
        nodes = []
        for port, coefficient in terms:
            nodes.append((self.ports[port], coefficient))
        return tuple(nodes)

    def turbulent(self, terms: PortTerms, forward: float, **more: Any) -> Branch:
        """An orifice-like branch between ports (see `Builder.turbulent`)."""
        return self.tap(terms, self.net.turbulent(self._nodes(terms), forward, **more))

    def passage(self, start: str, end: str, forward: float, **more: Any) -> Branch:
        """An orifice-like branch from one port to another."""
        first, last = self.ports[start], self.ports[end]
        branch = self.net.turbulent(((first, 1.0), (last, -1.0)), forward, **more)
        self.taps += (start, branch, 1.0), (end, branch, -1.0)
        return branch

    def deadband(self, terms: PortTerms, slope: float, **more: Any) -> Branch:
        """A straight branch beyond a dead band (see `Builder.deadband`)."""
        return self.tap(terms, self.net.deadband(self._nodes(terms), slope, **more))

    def actuator(
        self, terms: PortTerms, *, resistance: float, friction: float, at_start: bool, at_end: bool
    ) -> Branch:
        """A moving member: its branch flow is its velocity, its drive the force or torque.

        It moves out when the drive exceeds resistance + friction, in when it is below
        resistance - friction; not beyond a stop. Beyond that nothing opposes it, which
        the stiff mobility stands for.
        """
        area = sum([coefficient**2 for _, coefficient in terms])
        branch = self.deadband(
            terms,
            STIFF / area,
            above=inf if at_end else resistance + friction,
            below=-inf if at_start else resistance - friction,
        )
        self.branches["stroke"] = branch
        return branch

    def pump(self, first: tuple[float, float], second: tuple[float, float]) -> Branch:
        """A pump from `inlet` to `outlet`: the lesser of two characteristics."""
        branch = self.net.source(self.ports["inlet"], self.ports["outlet"], first, second)
        self.tap((("inlet", 1.0), ("outlet", -1.0)), branch)
        self.branches["delivery"] = branch
        return branch

    def rated(self) -> float:
        """Passage coefficient [m3/s / sqrt(Pa)] from rated_flow at rated_drop."""
        return float(self.settings["rated_flow"]) / sqrt(self.settings["rated_drop"])

    def leak(self) -> float:
        """Passage coefficient of a leak of `leak_diameter`."""
        return orifice_coefficient(
            self.settings["leak_diameter"], LEAK_COEFFICIENT, self.liquid.density
        )


def orifice_coefficient(diameter: float, discharge: float, density: float) -> float:
    """C_d (pi d^2 / 4) sqrt(2 / rho): flow = coefficient * sqrt(pressure difference).

    Parameters
    ----------
    diameter
        Of the orifice [m].
    discharge
        Discharge coefficient C_d, dimensionless.
    density
        Of the liquid [kg/m3].

    References
    ----------
    ISO 5167-2 for a small diameter ratio (velocity of approach left out).
    """
    return discharge * pi * diameter**2 / 4.0 * sqrt(2.0 / density)
