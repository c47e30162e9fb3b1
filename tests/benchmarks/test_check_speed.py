"""How long a check takes after an edit, readings left aside (they have a benchmark of their own).

The bounds are those of the project: a check within 50 ms on a sample of about 45 parts,
500 parts within 0.5 s, the matrix of 12 three-position valves within 2 s.
"""

from __future__ import annotations

from pathlib import Path
from time import process_time
from typing import Any

import pytest

from analysis import check, read_circuit
from analysis.circuit import Circuit
from analysis.reach_matrix import find_reach_matrix
from analysis.readings import readings
from tests.analysis.test_single_points import row_of_valves

# Time of the processor, not of the clock on the wall: other work on the machine does not count.
pytestmark = pytest.mark.benchmark(timer=process_time)

SAMPLES = sorted((Path(__file__).parents[2] / "sample_circuits").glob("*.circuit.json"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_check_after_an_edit(benchmark: Any, path: Path) -> None:
    """All findings and requirements of a sample after one value has changed."""
    circuit = read_circuit(path)
    instant = readings(circuit)
    pump = next(c.id for c in circuit.components.values() if c.kind.endswith("pump"))
    running = [True]

    def edit() -> None:
        running[0] = not running[0]
        circuit.set_value(pump, "running", running[0], state=True)

    benchmark.pedantic(lambda: check(circuit, instant=instant), setup=edit, rounds=20)
    assert benchmark.stats.stats.median < 0.050


def many(path: Path, least: int) -> Circuit:
    """Copies of a sample on one sheet, until there are that many components."""
    circuit, number = Circuit(), 0
    while len(circuit.components) < least:
        number += 1
        part = read_circuit(path)
        for element in list(part.elements()):
            part.rename(element.id, f"{element.id}x{number}")
        circuit.components.update(part.components)
        circuit.lines.update(part.lines)
        circuit.requirements += part.requirements
    return circuit


def test_check_of_five_hundred_parts(benchmark: Any) -> None:
    """The sample with most requirements, until there are 500 parts."""
    circuit = many(next(p for p in SAMPLES if "emergency" in p.name), 500)
    instant = readings(circuit)
    benchmark.pedantic(lambda: check(circuit, instant=instant), rounds=3)
    assert benchmark.stats.stats.median < 0.5


def test_matrix_of_twelve_valves(benchmark: Any) -> None:
    """531 441 settings at once."""
    circuit = row_of_valves(12)
    assert benchmark(lambda: find_reach_matrix(circuit)).total == 531_441
    assert benchmark.stats.stats.median < 2.0
