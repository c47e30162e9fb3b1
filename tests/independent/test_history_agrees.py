"""The program's runs against a second formulation of the circuit over time.

Source of the figures: the issue and the design, "positions, pressures, volumes within 2 %
of range, event times within 2 %". The second formulation (`history`, `history_network`,
`history_parts`, `history_laws`) is a stiff system of differential equations with a
pressure for every port, integrated by scipy's implicit Radau method; it shares no code with
the program.

Ranges: of a position, its travel; of a pressure, the highest in the circuit in that run, and
at least a megapascal; of a volume, what the reservoir or the gas of the accumulator holds; of
strokes, those of the run.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

from analysis.circuit_file import read_circuit
from analysis.recording import Recording
from analysis.runs import run
from tests.independent.history import History, history
from tests.independent.sheet import SAMPLES

SHARE = 0.02
LEAST_TIME = 0.02
"""Events nearer than this [s] count as together: a tenth of a hand's reaction."""
LEAST_PRESSURE = 1e6
PICKED = {
    ("bench_press", 1),
    ("emergency_pump", 2),
    ("falling_gear", 2),
    ("hand_pumped_gear", 1),
    ("unloading_valve", 2),
}
"""One procedure of every sample that is compared in the usual suite; the rest are slow."""


def _cases() -> list[object]:
    found: list[object] = []
    for path in sorted(SAMPLES.glob("*.circuit.json")):
        sample = path.name.removesuffix(".circuit.json")
        for k, procedure in enumerate(read_circuit(path).procedures):
            marks = [] if (sample, k) in PICKED else [pytest.mark.slow]
            name = procedure["name"]
            found.append(pytest.param(sample, name, marks=marks, id=f"{sample}: {name}"))
    return found


WORDS = (
    (r"reaches its stop, (\w+)", r"at stop, \1"),
    (r"lock (releases|engages), (\w+)", r"lock \1, \2"),
    (r"the handle goes stiff.*", "handle stiff"),
    (r"cuts the pump (\w+)", r"pump cut \1"),
    (r"the fluid falls to the standpipe.*", "standpipe uncovered"),
    (r"is empty.*", "supply uncovered"),
)
"""The program's words for an event, and the second formulation's."""


def named_events(recording: Recording) -> list[tuple[float, str, str]]:
    """The program's events that the second formulation knows too."""
    found = []
    for event in recording.events:
        for words, other in WORDS:
            match = re.fullmatch(words, event.message)
            if match:
                found.append((event.time, event.subject, match.expand(other)))
    return found


def by_subject(events: list[tuple[float, str, str]]) -> dict[tuple[str, str], list[float]]:
    """Times of each sort of event."""
    found: dict[tuple[str, str], list[float]] = {}
    for time, subject, what in sorted(events):
        if what != "set":
            found.setdefault((subject, what), []).append(time)
    return found


def find_wrong_events(program: Recording, second: History) -> list[str]:
    """Events that only one of the two knows, or that are more than 2 % apart."""
    one, other = by_subject(named_events(program)), by_subject(second.events)
    wrong = []
    for key in sorted(one.keys() | other.keys()):
        here, there = one.get(key, []), other.get(key, [])
        same = len(here) == len(there) and all(
            abs(a - b) <= max(SHARE * b, LEAST_TIME) for a, b in zip(here, there, strict=True)
        )
        if not same:
            wrong.append(f"{key[0]} {key[1]}: at {here}, second formulation {there}")
    return wrong


def band(second: History, name: str, time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Least and greatest of a signal as far about each time as two event times may differ."""
    about = np.minimum(SHARE * time, 5 * LEAST_TIME)
    at = second.time
    values = second.signals[name]
    low, high = np.interp(time - about, at, values), np.interp(time + about, at, values)
    low, high = np.minimum(low, high), np.maximum(low, high)
    first = np.searchsorted(at, time - about)
    last = np.searchsorted(at, time + about)
    for k, (a, b) in enumerate(zip(first, last, strict=True)):
        if b > a:
            low[k] = min(low[k], values[a:b].min())
            high[k] = max(high[k], values[a:b].max())
    return low, high


def find_wrong_signals(program: Recording, second: History) -> list[str]:
    """Positions, pressures, volumes and strokes that leave the second formulation's by 2 %."""
    pressures = [v for n, v in second.signals.items() if n.endswith(".pressure")]
    span = max(float(max(v.max() for v in pressures)), LEAST_PRESSURE)
    # at the very start the program lets trapped fluid find the pressure of its load
    time = np.array(program.time[1:])
    wrong = []
    for name, values in second.signals.items():
        owner, _, what = name.rpartition(".")
        strokes = max(float(np.abs(values).max()), 1.0)
        scale = {"pressure": span, "strokes": strokes}.get(what) or second.full[owner]
        found = np.array(program.signals[name][1:], dtype=float)
        low, high = band(second, name, time)
        miss = np.maximum(np.maximum(low - found, found - high), 0.0) / scale
        if miss.max() > SHARE:
            k = int(miss.argmax())
            wrong.append(
                f"{name} at {time[k]:.2f} s: {found[k]:.4g}, second formulation "
                f"{low[k]:.4g} to {high[k]:.4g}: off by {100 * miss[k]:.1f} % of range"
            )
    return wrong


def compare(sample: str, procedure: str) -> list[str]:
    """All differences between the two histories of a procedure."""
    circuit = read_circuit(SAMPLES / f"{sample}.circuit.json")
    program = run(circuit, procedure)
    assert not program.message, program.message
    second = history(sample, procedure)
    return find_wrong_events(program, second) + find_wrong_signals(program, second)


@pytest.mark.parametrize(("sample", "procedure"), _cases())
def test_run_agrees_with_the_second_formulation(sample: str, procedure: str) -> None:
    """The same events in the same order, the same positions, pressures and volumes."""
    wrong = compare(sample, procedure)
    assert not wrong, "\n".join(wrong)
