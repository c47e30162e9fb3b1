"""How long a run of the circuit over time takes, beside scipy on a second formulation.

scipy integrates by an implicit method (Radau). Both follow the same procedure of the sample
with an emergency pump; that they agree within 2 % is tested in
`tests/independent/test_history_agrees.py`, where the second one stands.
"""

from pathlib import Path
from time import perf_counter

import pytest

from analysis import read_circuit, run
from tests.independent.history import history

SAMPLE = Path(__file__).parents[2] / "sample_circuits" / "emergency_pump.circuit.json"


@pytest.mark.parametrize("number", [0, 2])
def test_procedure(benchmark, number):
    """One procedure of the sample, to its end; `solve_ivp` by Radau's method once beside it."""
    circuit = read_circuit(SAMPLE)
    name = circuit.procedures[number]["name"]
    begin = perf_counter()
    history("emergency_pump", name)
    seconds = perf_counter() - begin
    recording = benchmark.pedantic(lambda: run(circuit, name), rounds=3)
    assert not recording.message
    benchmark.extra_info["solve_ivp_s"] = round(seconds, 2)
    ours = benchmark.stats.stats.min
    benchmark.extra_info["solve_ivp_takes_times_as_long"] = round(seconds / ours, 1)
    benchmark.extra_info["times_real_time"] = round(recording.time[-1] / ours, 1)
    benchmark.extra_info["steps"] = recording.steps


def test_sixty_seconds(benchmark):
    """The sample as it is drawn, levers left alone."""
    circuit = read_circuit(SAMPLE)
    recording = benchmark.pedantic(lambda: run(circuit, until=60.0), rounds=3)
    assert recording.time[-1] == pytest.approx(60.0)
    benchmark.extra_info["times_real_time"] = round(60.0 / benchmark.stats.stats.min, 1)
    benchmark.extra_info["steps"] = recording.steps
