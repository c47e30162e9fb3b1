"""Pumps that ask for more than can arrive: they deliver what arrives.

Where a pump's inlet would fall below absolute zero, vapour makes up the flow in the
convex problem. The deliveries at that inlet are cut by the vapour, and if that was too
much the limit is bracketed and halved.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from analysis.assemble import Assembly
from analysis.constants import ATMOSPHERE, STIFF
from analysis.newton import Solution

_NEAR = 500.0
"""How near absolute zero [Pa] an inlet counts as starved to the full."""


@dataclass
class StarvedInlet:
    """The pumps at one inlet node, and the bracket of what they may draw [m3/s]."""

    node: int
    pumps: list[str]
    rows: list[int]
    low: float = 0.0
    high: float = inf
    limit: float = inf
    shares: list[float] = field(default_factory=list)

    def settle(self, assembly: Assembly, solution: Solution) -> bool:
        """Change the limit if the solution asks for it; whether it did."""
        offset = assembly.network.start["source"]
        flows = [max(float(solution.q[offset + row]), 0.0) for row in self.rows]
        total = sum(flows)
        pressure = float(solution.pressure[self.node])
        vapour = STIFF * max(-ATMOSPHERE - pressure, 0.0)
        if vapour > 1e-7 * total + 1e-13:
            self.high = min(self.high, total)
            guess = total - vapour
            if self.limit == inf:
                self.shares = [flow / total for flow in flows] if total else [0.0 for _ in flows]
            elif not self.low < guess < self.high:
                guess = 0.5 * (self.low + self.high)
            if guess < 1e-7 * self.high:
                guess = 0.0
            if guess >= self.limit:
                return False
            self._set(assembly, max(guess, 0.0))
            return True
        if self.limit == inf or pressure < -ATMOSPHERE + _NEAR or total < 0.999 * self.limit:
            return False
        self.low = max(self.low, self.limit)
        if self.high - self.low <= 1e-6 * self.high:
            return False
        self._set(assembly, 0.5 * (self.low + self.high))
        return True

    def forget(self, assembly: Assembly) -> None:
        """Start anew, after something else in the circuit changed over."""
        self.low, self.high = 0.0, inf
        self._set(assembly, inf)

    def begin_step(self) -> None:
        """A new time step: as much or as little may arrive as it likes, the last is a guess."""
        self.low, self.high = 0.0, inf

    def _set(self, assembly: Assembly, limit: float) -> None:
        self.limit = limit
        table = assembly.network.parameters["source"]
        for row, share in zip(self.rows, self.shares or [1.0] * len(self.rows), strict=True):
            table[4, row] = inf if limit == inf else limit * share

    def starved(self, solution: Solution) -> bool:
        """Whether the pumps get less than they ask for."""
        return self.limit < inf and bool(solution.pressure[self.node] < -ATMOSPHERE + _NEAR)


def starvable_inlets(assembly: Assembly, pumps: list[str]) -> list[StarvedInlet]:
    """One record for each free node that pumps draw from."""
    found: dict[int, StarvedInlet] = {}
    for pump in pumps:
        part = assembly.parts[pump]
        node = part.ports["inlet"]
        if assembly.network.is_fixed[node]:
            continue
        inlet = found.setdefault(node, StarvedInlet(node, [], []))
        inlet.pumps.append(pump)
        inlet.rows.append(part.branches["delivery"].row)
    return list(found.values())
