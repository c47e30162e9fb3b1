"""The procedures of a report: run once each, with what came of them and what they used."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from analysis.circuit import Circuit
from analysis.errors import CircuitError
from analysis.failure_workers import Progress, share_out
from analysis.procedures import Expectation, parse_procedure, signal_dimension
from analysis.recording import Recording, SignalValue
from analysis.report_settings import changes_in_words
from analysis.runs import run

_PASSING = 1e-9
"""A flow [m3/s] that counts as fluid passing: a litre in twelve days."""


@dataclass(frozen=True)
class Came:
    """What a signal did that does not do what is expected of it, as it was sampled.

    `value` [SI] is the nearest that it came to what must be met at some time, or the
    furthest that it went from what must hold throughout; of a word the last. `words` go
    before it: `no more than`.
    """

    words: str
    value: SignalValue
    dimension: str


@dataclass(frozen=True)
class RunResult:
    """A procedure, numbered from 1, and what came of it.

    Attributes
    ----------
    start, steps
        In words, as they stand in the file.
    expectations
        (text, whether it held, when [s]).
    came
        Of each expectation that did not hold, what came instead; None of the others.
    message
        Why it could not be run to its end; empty if it could.
    used
        Components and lines that fluid passed, or that the procedure names.
    left
        How many of the steps never came to be worked.
    """

    number: int
    name: str
    start: tuple[str, ...]
    steps: tuple[str, ...]
    expectations: tuple[tuple[str, bool, float | None], ...]
    message: str
    used: frozenset[str]
    came: tuple[Came | None, ...] = ()
    left: int = 0

    @property
    def holds(self) -> bool:
        """Whether it ran to its end and all that is expected came."""
        return not self.message and all(held for _, held, _ in self.expectations)


def run_procedures(circuit: Circuit, progress: Progress | None = None) -> tuple[RunResult, ...]:
    """Every procedure of the circuit, run.

    Parameters
    ----------
    progress
        Called with the share done, from 0 to 1.
    """
    tasks = list(enumerate(circuit.procedures, start=1))
    return tuple(share_out(partial(_result, circuit.copy()), tasks, progress=progress))


def _result(circuit: Circuit, numbered: tuple[int, Mapping[str, Any]]) -> RunResult:
    number, raw = numbered
    name = str(raw.get("name") or f"Procedure {number}")
    start = tuple(changes_in_words(circuit, raw.get("start") or {}))
    steps = tuple(_step(circuit, step) for step in raw.get("steps") or ())
    named = frozenset(_named(raw)) & {element.id for element in circuit.elements()}
    try:
        recording = run(circuit, parse_procedure(circuit, raw, f"procedures[{number - 1}]"))
    except CircuitError as error:
        return RunResult(number, name, start, steps, (), str(error), named)
    expectations = tuple((e.text, bool(e.holds), e.time) for e in recording.expectations)
    passed = {
        signal.split(".")[0]
        for signal, values in recording.signals.items()
        if signal.endswith((".inflow", ".flow"))
        and any(isinstance(v, float) and abs(v) > _PASSING for v in values)
    }
    came = tuple(None if e.holds else _came(circuit, recording, e) for e in recording.expectations)
    return RunResult(
        number,
        name,
        start,
        steps,
        expectations,
        recording.message,
        named | passed,
        came,
        recording.left,
    )


def _came(circuit: Circuit, recording: Recording, expectation: Expectation) -> Came | None:
    """What came of an expectation that does not hold; None if its signal had no value."""
    condition = expectation.condition
    until = recording.time[-1] if expectation.by is None else expectation.by
    values = [
        value
        for time, value in zip(recording.time, recording.signals[condition.signal], strict=True)
        if value is not None and time <= until + 1e-9
    ]
    dimension = signal_dimension(circuit, condition.signal)
    numbers = [value for value in values if not isinstance(value, (str, bool))]
    if condition.word is not None or not numbers:
        return Came("is", values[-1], dimension) if values else None
    # at some time: as near as it came; throughout: as far off as it went
    high = (condition.at_least is not None) == (expectation.by is not None)
    words = _NEAREST[high] if expectation.by is not None else _FURTHEST[high]
    return Came(words, (max if high else min)(numbers), dimension)


_NEAREST = {True: "no more than", False: "no less than"}
_FURTHEST = {True: "up to", False: "down to"}
"""By whether it is the highest value that tells."""


def _step(circuit: Circuit, raw: Mapping[str, Any]) -> str:
    when = f"at {raw['at']}" if "at" in raw else "at once"
    if "after" in raw:
        when = f"after {condition_in_words(raw['after'])}"
    if "wait" in raw:
        when += f", {raw['wait']} later"
    return (
        f"{when}: {', '.join(changes_in_words(circuit, raw.get('set') or {})) or 'nothing is set'}"
    )


def condition_in_words(raw: Mapping[str, Any]) -> str:
    """A condition as it stands in a file: `1A1.extension at least 11.9 in`."""
    words = [str(raw.get("signal"))]
    words += [f"{key.replace('_', ' ')} {raw[key]}" for key in _TESTS if key in raw]
    return " ".join(words)


_TESTS = ("is", "at_least", "at_most")


def _named(raw: Mapping[str, Any]) -> Iterator[str]:
    """The ids that a procedure names."""
    yield from raw.get("start") or ()
    for step in raw.get("steps") or ():
        yield from step.get("set") or ()
        if "after" in step:
            yield str(step["after"].get("signal")).split(".")[0]
    for expectation in raw.get("expect") or ():
        yield str(expectation.get("signal")).split(".")[0]
