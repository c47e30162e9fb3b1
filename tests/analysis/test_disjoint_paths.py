"""Disjoint paths in random directed graphs, against all choices of simple paths."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from random import Random

import pytest

from analysis.disjoint_paths import Budget, Leg, TooTangled, find_disjoint_paths


def simple_paths(onward: list[int], start: int, end: int) -> Iterator[list[int]]:
    """All simple paths, by plain depth-first enumeration."""
    waiting = [[start]]
    while waiting:
        path = waiting.pop()
        if path[-1] == end:
            yield path
            continue
        waiting += [
            [*path, n] for n in range(len(onward)) if onward[path[-1]] >> n & 1 and n not in path
        ]


def disjoint_choice(onward: list[int], pairs: list[tuple[int, int]], taken: set[int]) -> bool:
    """Whether the pairs can be joined one after the other without a port in common."""
    if not pairs:
        return True
    (start, end), rest = pairs[0], pairs[1:]
    ends = {port for pair in rest for port in pair} - {end}
    for path in simple_paths(onward, start, end):
        inner = set(path[1:-1])
        if (
            not inner & taken
            and not inner & ends
            and disjoint_choice(onward, rest, taken | set(path))
        ):
            return True
    return False


def random_graph(random: Random) -> list[int]:
    """A few ports with one to three ways out of each, some both ways."""
    count = random.randint(7, 10)
    onward = [0] * count
    for start in range(count):
        for end in random.sample(range(count), random.randint(1, 3)):
            if end != start:
                onward[start] |= 1 << end
                if random.random() < 0.5:
                    onward[end] |= 1 << start
    return onward


def random_grid(random: Random) -> list[int]:
    """Four by four ports, nearly all neighbours joined, some one way only."""
    onward = [0] * 16
    for here in range(16):
        for there in ([here + 4] if here < 12 else []) + ([here + 1] if here % 4 < 3 else []):
            chance = random.random()
            onward[here] |= (chance > 0.15) << there
            onward[there] |= (chance < 0.85) << here
    return onward


CROSSING = [78, 92, 96, 139, 293, 375, 387, 394, 496, 659, 722, 1019, 1202, 1740, 2342, 2898]
"""Grids in which the shortest paths cross without any port that both must pass."""


@pytest.mark.parametrize("rerouting", [True, False])
@pytest.mark.parametrize("seed", [*range(100), *(seed + 10_000 for seed in CROSSING)])
def test_two_and_three_disjoint_paths_agree_with_enumeration(
    seed: int, rerouting: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found exactly where there are such paths, and then they are such paths.

    Without the short cut of rerouting, the search alone must come to the same answer.
    """
    if not rerouting:
        monkeypatch.setattr("analysis.disjoint_paths._reroute", lambda legs, rooms: None)
    random = Random(seed % 10_000)
    onward = random_grid(random) if seed >= 10_000 else random_graph(random)
    count = len(onward)
    ports = random.sample(range(count), 6)
    pairs = list(zip(ports[::2], ports[1::2], strict=True))[: random.choice([2, 3])]
    found = find_disjoint_paths([Leg(onward, a, 1 << b) for a, b in pairs], (1 << count) - 1)
    assert (found is not None) == disjoint_choice(
        onward, pairs, {p for pair in pairs for p in pair}
    )
    if found is None:
        return
    for path, (start, end) in zip(found, pairs, strict=True):
        assert (path[0], path[-1]) == (start, end)
        assert all(onward[a] >> b & 1 for a, b in itertools.pairwise(path))
    together = [port for path in found for port in path]
    assert len(together) == len(set(together))


def test_a_search_that_would_take_too_long_says_so() -> None:
    """The limit is an error with a message, not a guess."""
    with pytest.raises(TooTangled, match="cannot be searched to the end"):
        find_disjoint_paths([Leg([0b10, 0], 0, 0b10)], 0b11, Budget(0))
