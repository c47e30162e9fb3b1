"""How long the lines of a sheet take to be led from port to port; a frame is 16.7 ms."""

from itertools import pairwise
from typing import Any

from analysis.circuit import Circuit
from analysis.routing import route


def test_a_hundred_lines(benchmark: Any) -> None:
    """Between twenty valves that are turned every way."""
    circuit = Circuit()
    for i in range(20):
        circuit.add("valve_4_3", id=f"V{i}", at=(i % 5 * 30, i // 5 * 30), turn=i % 4 * 90)
    names = list(circuit.components)
    lines = [circuit.connect(f"{a}.A", f"{b}.P") for a, b in pairwise(names * 5) if a != b]
    ways = benchmark(lambda: [route(circuit, line) for line in lines])
    assert len(ways) == 99
