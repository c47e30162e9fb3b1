"""How much of a table of failures is left out, and what a table of a small circuit takes.

The aim is 10 s on two cores for the largest sample. What is asserted is how many cases the
screen leaves out, which no other work on the machine changes; seconds are only shown.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import pytest

from analysis import failures, read_circuit
from analysis.failure_effects import effect_on_procedure
from analysis.failure_modes import find_failures
from analysis.failure_reference import refer
from tests.analysis.redundant_press import redundant_press

# Time of the processor, not of the clock on the wall: other work on the machine does not count.
pytestmark = pytest.mark.benchmark(timer=process_time)

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"
EMERGENCY = "Emergency pump locks the main gear down"


def test_table_of_a_press(benchmark: Any) -> None:
    """All cases of a press with two pumps, in this process."""
    table = benchmark.pedantic(lambda: failures(redundant_press(), workers=1), rounds=1)
    assert len(table.cases) == len(find_failures(redundant_press()))


@pytest.mark.benchmark(timer=perf_counter)
def test_whole_table_of_the_largest_sample(benchmark: Any) -> None:
    """The command, from its start to its last line, by the clock; the aim is 10 s on two cores.

    In a process of its own: in this one Qt is loaded, so that nothing could be forked.
    """
    command = [sys.executable, "-m", "editor", "failures", str(SAMPLE), "--json"]

    def tell() -> str:
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout

    table = json.loads(benchmark.pedantic(tell, rounds=3))
    assert len(table["cases"]) == len(find_failures(read_circuit(SAMPLE)))
    assert "failing" not in table


def test_run_of_a_sample_with_its_screen(benchmark: Any) -> None:
    """One procedure without any failure, and which of 412 cases that makes needless."""
    circuit = read_circuit(SAMPLE)
    cases = find_failures(circuit)
    reference = benchmark.pedantic(lambda: refer(circuit, EMERGENCY, cases), rounds=3)
    share = len(reference.idle) / len(cases)
    benchmark.extra_info["share left out"] = share
    assert share > 0.5


def test_one_case_of_a_sample(benchmark: Any) -> None:
    """One case that is run, as a multiple of the run without a failure."""
    circuit = read_circuit(SAMPLE)
    cases = find_failures(circuit)
    reference = refer(circuit, EMERGENCY, cases)
    case = next(case for case in cases if case == ("L71", "external_leak"))
    assert case not in reference.idle
    benchmark.pedantic(lambda: effect_on_procedure(circuit, reference, case), rounds=3)
    started = process_time()
    refer(circuit, EMERGENCY, ())
    benchmark.extra_info["over a run without"] = benchmark.stats.stats.median / (
        process_time() - started
    )
