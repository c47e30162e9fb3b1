"""Sets of lever settings, held as decision diagrams instead of lists.

Twelve valves of three positions have 531 441 settings. The settings in which a port is
reached, though, are decided by few levers at a time: `0V1 at left, and 1V1 at left or
right`. Such a set is held as a diagram that asks one lever after the other, in a fixed
order, with equal parts shared (a reduced, ordered decision diagram of many-valued
variables), so that it stays small where the product is large, and two sets are equal
exactly if they are the same number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

NONE, ALL = 0, 1
"""The set of no setting, and of every setting."""


class LeverSets:
    """Sets over the levers given, as numbers that only this object understands.

    Parameters
    ----------
    levers
        Lever -> its positions, in the order in which the diagrams ask.

    Examples
    --------
    >>> sets = LeverSets({"1V1": ("left", "centre", "right"), "1V2": ("open", "closed")})
    >>> both = sets.intersection(sets.at("1V1", "left"), sets.at("1V2", "open"))
    >>> sets.count(both), sets.count(sets.complement(both))
    (1, 5)
    >>> list(sets.parts(both))
    [{'1V1': ('left',), '1V2': ('open',)}]
    """

    def __init__(self, levers: Mapping[str, Sequence[str]]) -> None:
        self.levers = {name: tuple(positions) for name, positions in levers.items()}
        self._names = list(self.levers)
        self._rank = {name: rank for rank, name in enumerate(self._names)}
        last = len(self._names)
        # (rank of the lever asked, what follows for each position); two ends without a lever
        self._nodes: list[tuple[int, tuple[int, ...]]] = [(last, ()), (last, ())]
        self._known: dict[tuple[int, tuple[int, ...]], int] = {}
        self._unions: dict[tuple[int, int], int] = {}
        self._intersections: dict[tuple[int, int], int] = {}
        self._complements = {NONE: ALL, ALL: NONE}

    def _node(self, rank: int, following: tuple[int, ...]) -> int:
        if following.count(following[0]) == len(following):
            return following[0]
        key = (rank, following)
        number = self._known.get(key)
        if number is None:
            number = self._known[key] = len(self._nodes)
            self._nodes.append(key)
        return number

    def at(self, lever: str, *positions: str) -> int:
        """The settings in which the lever stands at one of the positions."""
        following = tuple(ALL if p in positions else NONE for p in self.levers[lever])
        return self._node(self._rank[lever], following)

    def union(self, one: int, other: int) -> int:
        """The settings in either set."""
        if one in (other, ALL) or other == NONE:
            return one
        if one == NONE or other == ALL:
            return other
        key = (one, other) if one < other else (other, one)
        found = self._unions.get(key)
        if found is None:
            found = self._unions[key] = self._combine(self.union, one, other)
        return found

    def intersection(self, one: int, other: int) -> int:
        """The settings in both sets."""
        if one in (other, NONE) or other == ALL:
            return one
        if one == ALL or other == NONE:
            return other
        key = (one, other) if one < other else (other, one)
        found = self._intersections.get(key)
        if found is None:
            found = self._intersections[key] = self._combine(self.intersection, one, other)
        return found

    def _combine(self, operation: Callable[[int, int], int], one: int, other: int) -> int:
        (rank, following), (other_rank, other_following) = self._nodes[one], self._nodes[other]
        if rank == other_rank:
            return self._node(rank, tuple(map(operation, following, other_following)))
        if rank < other_rank:
            return self._node(rank, tuple(operation(f, other) for f in following))
        return self._node(other_rank, tuple(operation(one, f) for f in other_following))

    def complement(self, one: int) -> int:
        """The settings that are not in the set."""
        found = self._complements.get(one)
        if found is None:
            rank, following = self._nodes[one]
            found = self._node(rank, tuple(self.complement(f) for f in following))
            self._complements[one] = found
        return found

    def count(self, one: int) -> int:
        """How many settings the set holds."""
        known: dict[int, int] = {}

        def below(number: int) -> int:
            """Settings of the levers from the one asked on."""
            if number == NONE:
                return 0
            if number == ALL:
                return 1
            if number not in known:
                rank, following = self._nodes[number]
                known[number] = sum(below(f) * self._free(rank + 1, f) for f in following)
            return known[number]

        return below(one) * self._free(0, one)

    def _free(self, rank: int, number: int) -> int:
        """The settings of the levers that are not asked between `rank` and the node."""
        product = 1
        for name in self._names[rank : self._nodes[number][0]]:
            product *= len(self.levers[name])
        return product

    def holds(self, one: int, setting: Mapping[str, str]) -> bool:
        """Whether a full setting, lever -> position, is in the set."""
        while one not in (NONE, ALL):
            rank, following = self._nodes[one]
            name = self._names[rank]
            one = following[self.levers[name].index(setting[name])]
        return one == ALL

    def parts(self, one: int) -> Iterator[dict[str, tuple[str, ...]]]:
        """The set as disjoint parts: lever -> positions allowed; levers left out are free.

        In a stated order: lever by lever, position by position.
        """
        if one == NONE:
            return
        if one == ALL:
            yield {}
            return
        rank, following = self._nodes[one]
        name = self._names[rank]
        for branch in dict.fromkeys(following):
            positions = tuple(
                p for p, f in zip(self.levers[name], following, strict=True) if f == branch
            )
            for part in self.parts(branch):
                yield {name: positions, **part}

    def example(self, one: int) -> dict[str, str] | None:
        """A setting of the set, of the levers that matter; None if it is empty."""
        for part in self.parts(one):
            return {name: positions[0] for name, positions in part.items()}
        return None
