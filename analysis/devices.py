"""Parts that a pressure elsewhere, or history, decides: settled around the convex problem.

A `Modulator` is a valve that opens just as far as holds its set pressure: it is a check
valve whose cracking pressure is found. The others switch: a pilot-operated check opens, a
lock lets go, an unloading valve cuts out, a shuttle changes over. All start as the
contract says they are first taken, and switch until none changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Protocol

from analysis.network import Branch, Network
from analysis.newton import Solution

Candidate = tuple[float, tuple[tuple[int, float], ...]]
_FORWARD, _CRACK, _REVERSE, _REVERSE_CRACK = 0, 1, 2, 3
_ABOVE, _BELOW = 1, 2


class Switch(Protocol):
    """A device that may change after a solution."""

    owner: str

    def settle(self, network: Network, solution: Solution) -> bool:
        """Change the network if the solution asks for it; whether it did."""


@dataclass
class Modulator:
    """A valve that throttles itself: opening difference = max over candidates, at least 0.

    Each candidate is constant + sum(coefficient * node pressure); `drop` is what the fully
    open passage costs per flow squared, taken off because it acts already. `mirrored`
    shifts the reverse direction by the same difference (a flow divider).
    """

    owner: str
    branch: Branch
    candidates: tuple[Candidate, ...]
    drop: float = 0.0
    mirrored: bool = False

    def target(self, solution: Solution, row: int) -> tuple[float, Candidate]:
        """The opening difference [Pa] that the solution asks for, and the deciding candidate."""
        p = solution.pressure
        best = max(
            self.candidates, key=lambda c: c[0] + sum(weight * p[node] for node, weight in c[1])
        )
        value = best[0] + sum(weight * p[node] for node, weight in best[1])
        return float(value - self.drop * max(solution.q[row], 0.0) ** 2), best

    def set(self, network: Network, difference: float) -> None:
        """Make this the branch's opening pressure difference."""
        table = network.parameters["turbulent"]
        table[_CRACK, self.branch.row] = difference
        if self.mirrored:
            table[_REVERSE_CRACK, self.branch.row] = -difference


@dataclass
class PilotCheck:
    """Opens in reverse when ratio * pilot pressure exceeds outlet - inlet pressure."""

    owner: str
    branch: Branch
    inlet: int
    outlet: int
    pilot: int
    ratio: float
    passage: float
    open: bool = False

    def settle(self, network: Network, solution: Solution) -> bool:
        p = solution.pressure
        if self.open or not self.ratio * p[self.pilot] > p[self.outlet] - p[self.inlet] + 1.0:
            return False
        self.open = True
        network.parameters["turbulent"][_REVERSE, self.branch.row] = self.passage
        return True


@dataclass
class Lock:
    """Holds a cylinder at one end until the port that would move it reaches a pressure."""

    owner: str
    branch: Branch
    port: int
    release_pressure: float
    threshold: float
    """The drive [N] at which the cylinder moves off once released."""
    end: str
    """`retracted` or `extended`."""
    held: bool = True

    def settle(self, network: Network, solution: Solution) -> bool:
        if not self.held or solution.pressure[self.port] < self.release_pressure - 20.0:
            return False
        self.release(network)
        return True

    def release(self, network: Network) -> None:
        """Let go."""
        self.held = False
        column = _ABOVE if self.end == "retracted" else _BELOW
        network.parameters["deadband"][column, self.branch.row] = self.threshold

    def hold(self, network: Network) -> None:
        """Engage."""
        self.held = True
        column, value = (_ABOVE, inf) if self.end == "retracted" else (_BELOW, -inf)
        network.parameters["deadband"][column, self.branch.row] = value


@dataclass
class Unloading:
    """Puts its inlet to return from cut-out to cut-in, for `shifting_time` [s] at least."""

    owner: str
    bypass: Branch
    system: int
    cut_out: float
    cut_in: float
    passage: float
    shifting_time: float
    open: bool = False

    def settle(self, network: Network, solution: Solution) -> bool:
        if self.open or solution.pressure[self.system] < self.cut_out - 20.0:
            return False
        self.switch(network, True)
        return True

    def switch(self, network: Network, open: bool) -> None:
        """Cut the pump out (True) or in."""
        self.open = open
        table = network.parameters["turbulent"]
        table[_FORWARD, self.bypass.row] = table[_REVERSE, self.bypass.row] = (
            self.passage if open else 0.0
        )


@dataclass
class Shuttle:
    """Connects its outlet to the inlet of higher pressure; at an instant first to inlet_1.

    If either position makes the other inlet the higher one, the ball floats between:
    both inlets then feed and neither takes.
    """

    owner: str
    first: Branch
    second: Branch
    inlets: tuple[int, int]
    outlet: int
    passage: float
    stuck: bool = False
    position: int = 1
    changes: int = 0

    def settle(self, network: Network, solution: Solution) -> bool:
        if self.stuck or self.position == 0:
            return False
        one, two = (solution.pressure[node] for node in self.inlets)
        wanted = 2 if two > one + 1.0 else 1 if one > two + 1.0 else self.position
        if wanted == self.position:
            return False
        self.changes += 1
        self.switch(network, wanted if self.changes < 4 else 0)
        return True

    def switch(self, network: Network, position: int) -> None:
        """Move the ball: outlet to inlet 1, to inlet 2, or (0) both inlets feeding."""
        self.position = position
        table = network.parameters["turbulent"]
        for branch, number in ((self.first, 1), (self.second, 2)):
            feeds = position in (0, number)
            table[_FORWARD, branch.row] = self.passage if feeds else 0.0
            table[_REVERSE, branch.row] = self.passage if position == number else 0.0
