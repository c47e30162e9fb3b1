"""Paths between given ports that have no port in common: exact search.

"Is there a simple path from one port to another by way of a third?" is the question
behind independence, and in a graph with one-way parts it has no quick exact answer in
general. The search here is exact all the same: it grows one path step by step and, before
every step, works out which ports each path cannot do without; those are taken from the
others. In circuits, which are nearly trees, this decides at once; where it does not, the
search goes on up to a limit and then says so instead of guessing.
"""

from __future__ import annotations

from itertools import permutations
from typing import NamedTuple

from analysis.errors import CircuitError
from analysis.port_graph import bits, flood, search

SEARCH_LIMIT = 20_000
"""Steps of one exact search before it is given up as too tangled."""


class TooTangled(CircuitError):
    """An exact search would take too long."""


class Leg(NamedTuple):
    """A path that is wanted: over `adjacent` (port -> next ports) from `start` to any of `ends`."""

    adjacent: list[int]
    start: int
    ends: int


class Budget:
    """Counts the steps of searches that belong together; raises TooTangled at the limit."""

    def __init__(self, limit: int = SEARCH_LIMIT) -> None:
        self.left = limit

    def spend(self) -> None:
        """Count one step."""
        self.left -= 1
        if self.left < 0:
            raise TooTangled(
                "the ways run through each other so much that they cannot be searched to the end"
            )


def find_disjoint_paths(
    legs: list[Leg], allowed: int, budget: Budget | None = None
) -> list[list[int]] | None:
    """One path for every leg, no port on two of them but where a leg ends and the next starts.

    Parameters
    ----------
    legs
        Where a leg has several ends, they must be ports that no path passes.
    allowed
        The ports that paths may use between their ends, as bits.
    budget
        Counts the steps; a fresh one if None.

    Returns
    -------
    list of paths, or None
        Paths as port numbers, in the order of the legs. None: there is no such set.

    Raises
    ------
    TooTangled
        If the budget is spent.

    Notes
    -----
    Exponential in the worst case (the problem is NP-hard in directed graphs: Fortune,
    Hopcroft and Wyllie 1980, from memory); linear per step.
    """
    for leg in legs:
        allowed &= ~(1 << leg.start | leg.ends)
    return _solve(legs, [allowed] * len(legs), budget or Budget())


def _solve(legs: list[Leg], rooms: list[int], budget: Budget) -> list[list[int]] | None:
    """As `find_disjoint_paths`, with the ports each leg may use between its ends in `rooms`."""
    budget.spend()
    rooms = list(rooms)
    paths = _narrow(legs, rooms)
    if paths is None:
        return None
    clash = _clash(paths)
    if clash is None:
        return paths
    rerouted = _reroute(legs, rooms)
    if rerouted is not None:
        return rerouted
    leg = legs[clash]
    for port in bits(leg.adjacent[leg.start] & (rooms[clash] | leg.ends)):
        further = [*legs[:clash], leg._replace(start=port), *legs[clash + 1 :]]
        found = _solve(further, [room & ~(1 << port) for room in rooms], budget)
        if found is not None:
            found[clash].insert(0, leg.start)
            return found
    return None


def _narrow(legs: list[Leg], rooms: list[int]) -> list[list[int]] | None:
    """Take from every leg's room what another cannot do without; a shortest path each."""
    while True:
        paths = []
        for leg, room in zip(legs, rooms, strict=True):
            path = search(leg.adjacent, leg.start, leg.ends, room | leg.ends)
            if path is None:
                return None
            paths.append(path)
        if _clash(paths) is None:
            return paths
        before = list(rooms)
        for number, leg in enumerate(legs):
            needed = _needed(leg, paths[number], rooms[number])
            for other in range(len(legs)):
                if other != number:
                    rooms[other] &= ~needed
        if rooms == before:
            return paths


def _needed(leg: Leg, path: list[int], room: int) -> int:
    """The ports between the ends without which there is no path."""
    needed = 0
    for port in path[1:-1]:
        around = (room | leg.ends) & ~(1 << port)
        if not flood(leg.adjacent, 1 << leg.start, around) & leg.ends:
            needed |= 1 << port
    return needed


def _inner(path: list[int]) -> int:
    mask = 0
    for port in path[1:-1]:
        mask |= 1 << port
    return mask


def _clash(paths: list[list[int]]) -> int | None:
    """The first path that has a port between its ends in common with another."""
    inner = [_inner(path) for path in paths]
    for number, mask in enumerate(inner):
        if any(mask & other for other in inner[number + 1 :]):
            return number
    return None


def _reroute(legs: list[Leg], rooms: list[int]) -> list[list[int]] | None:
    """Lay one path after the other, in any order, each round those laid before."""
    for order in permutations(range(len(legs))):
        paths: dict[int, list[int]] = {}
        used = 0
        for number in order:
            leg = legs[number]
            path = search(leg.adjacent, leg.start, leg.ends, rooms[number] & ~used | leg.ends)
            if path is None:
                break
            paths[number] = path
            used |= _inner(path)
        else:
            return [paths[number] for number in range(len(legs))]
    return None
