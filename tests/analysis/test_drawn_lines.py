"""Crossings that mislead, against the definition applied to every pair of lines by itself."""

from __future__ import annotations

from itertools import combinations, pairwise
from random import Random

import pytest

from analysis.circuit import Circuit, Line
from analysis.drawn_lines import drawn, misleading_crossings

Point = tuple[float, float]


def random_sheet(seed: int) -> Circuit:
    """Few ports on a small sheet, joined by lines with corners of their own, that overlap."""
    random, circuit = Random(seed), Circuit()
    size = random.choice([4, 8, 14])

    def anywhere() -> tuple[int, int]:
        return random.randint(0, size), random.randint(0, size)

    for number in range(6):
        circuit.add("junction", id=f"0Z{number}", at=anywhere() if random.random() < 0.9 else None)
    ports = list(circuit.ports())
    for _ in range(random.randint(2, 9)):
        start, end = random.sample(ports, 2)
        circuit.connect(start, end, via=[anywhere() for _ in range(random.randint(0, 4))])
    return circuit


def course(circuit: Circuit, line: Line) -> list[tuple[Point, str]]:
    """Every grid point of a line with what the line does there: its port, `turn`, `-` or `|`."""
    way = drawn(circuit, line)
    if len(way) < 2:
        return []
    found = [(way[0], line.start), *((corner, "turn") for corner in way[1:-1]), (way[-1], line.end)]
    for (x0, y0), (x1, y1) in pairwise(way):
        dx, dy = (x1 > x0) - (x1 < x0), (y1 > y0) - (y1 < y0)
        for step in range(1, int(abs(x1 - x0) + abs(y1 - y0))):
            found.append(((x0 + dx * step, y0 + dy * step), "-" if dx else "|"))
    return found


def is_plain(one: str, other: str) -> bool:
    """Two lines that end at one port are a joint, two that cross straight a crossing."""
    return {one, other} == {"-", "|"} or (one == other and "." in one)


@pytest.mark.parametrize("seed", range(60))
def test_every_pair_that_misleads_is_told_once_and_at_one_of_its_points(seed: int) -> None:
    """The same pairs as found one by one; the point is one where that pair misleads."""
    circuit = random_sheet(seed)
    courses = {line.id: course(circuit, line) for line in circuit.lines.values()}
    expected = {}
    for one, other in combinations(circuit.lines, 2):
        points = {
            at
            for at, here in courses[one]
            for there, what in courses[other]
            if at == there and not is_plain(here, what)
        }
        if points:
            expected[one, other] = points
    told = list(misleading_crossings(circuit))
    assert sorted((one, other) for one, other, _ in told) == sorted(expected)
    assert all(point in expected[one, other] for one, other, point in told)


def test_the_random_sheets_hold_crossings_of_both_sorts() -> None:
    """Else the comparison above would say little."""
    counts = [len(list(misleading_crossings(random_sheet(seed)))) for seed in range(60)]
    assert counts.count(0) > 3 and sum(count > 3 for count in counts) > 10
