"""By how much a function that is kept comes off worse: later, or with less pressure or force."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf

from analysis.circuit import Circuit
from analysis.failure_reference import Course
from analysis.procedures import Expectation, signal_dimension
from analysis.quantities import format_quantity

SLOWER = 0.05
"""Share of its time by which an expectation must be met later to count as degraded."""
WEAKER = 0.05
"""Share of a pressure, force or effort that must be missing to count as degraded."""

_BLINK = 1e-3
"""Share of the time allowed below which "later" is of no account."""

_UNCLEAR = (0.04, 0.06)
_UNCLEAR_PRESSURE = (0.01, 0.3)
"""Delays by such shares are looked at again in a run that is less rough: `SLOWER` lies within."""
_UNCLEAR_STRENGTH = (0.03, 0.08)
"""So are strengths that miss such shares: `WEAKER` lies within."""

_UNITS = {"pressure": "bar", "force": "N", "torque": "N*m"}


@dataclass(frozen=True)
class Shortfall:
    """How much worse one expectation is met than without the failure.

    `slower` is the delay as a share of the time it takes without (infinite where that is
    none to speak of), `weaker` what is missing of the pressure or force as a share of what
    it comes to without; 0 for none.
    """

    number: int
    slower: float = 0.0
    weaker: float = 0.0

    @property
    def counts(self) -> bool:
        """Whether it is enough to be called degraded."""
        return self.slower > SLOWER or self.weaker > WEAKER

    def is_unclear(self, expectation: Expectation) -> bool:
        """Whether a rough run comes too near to the edge with it to be relied on."""
        kind = expectation.condition.signal.rpartition(".")[2]
        low, high = _UNCLEAR_PRESSURE if kind in ("pressure", "effort", "force") else _UNCLEAR
        if low < self.slower < high:
            return True
        return _UNCLEAR_STRENGTH[0] < self.weaker < _UNCLEAR_STRENGTH[1]


def shortfalls(expectations: Sequence[Expectation], course: Course) -> Iterator[Shortfall]:
    """The shortfalls of the expectations of a run that holds, beside those without a failure.

    Parameters
    ----------
    expectations
        Decided, in the order of the course's.
    course
        That of the procedure without the failure, at the same pace.
    """
    strengths = course.strengths or (None,) * len(course.times)
    both = zip(expectations, course.times, strengths, strict=True)
    for number, (expectation, time, strength) in enumerate(both):
        found = Shortfall(number, _delay(expectation, time), _loss(expectation, strength))
        if found.slower or found.weaker:
            yield found


def _delay(expectation: Expectation, good: float | None) -> float:
    if good is None or expectation.time is None or expectation.by is None:
        return 0.0
    late = expectation.time - good
    if late <= _BLINK * expectation.by:
        return 0.0
    # beside a moment a delay is no share of anything
    return late / good if good > _BLINK * expectation.by else inf


def _loss(expectation: Expectation, good: float | None) -> float:
    if good is None or good <= 0.0 or expectation.strength is None:
        return 0.0
    return max(good - expectation.strength, 0.0) / good


def ask_for(expectations: Sequence[Expectation], course: Course) -> None:
    """Let a run look at strengths up to where they are clearly none that is weaker."""
    strengths = course.strengths or (None,) * len(expectations)
    for expectation, good in zip(expectations, strengths, strict=True):
        if good is not None:
            expectation.enough = (1.0 - _UNCLEAR_STRENGTH[0]) * good


def in_words(
    circuit: Circuit, expectation: Expectation, found: Shortfall, course: Course
) -> Iterator[str]:
    """What has come of the expectation: `met after 9 s, not 6 s`, `comes to 48 bar, not 60 bar`.

    `course` is that of the procedure without the failure.
    """
    if found.slower > SLOWER:
        yield f"met after {expectation.time:.3g} s, not {course.times[found.number]:.3g} s"
    if found.weaker > WEAKER:
        dimension = signal_dimension(circuit, expectation.condition.signal)
        unit = circuit.display_units.get(dimension, _UNITS[dimension])
        have, had = (
            format_quantity(value, unit, dimension, digits=3)
            for value in (expectation.strength or 0.0, course.strengths[found.number] or 0.0)
        )
        yield f"comes to {have}, not {had}"


def largest(found: Sequence[Shortfall]) -> Mapping[str, float]:
    """`slower` and `weaker`, the largest share of each that counts, 0 to 1 and beyond.

    One that cannot be told, since the function took no time before, is left out.
    """
    worst = {
        "slower": max((f.slower for f in found if SLOWER < f.slower < inf), default=0.0),
        "weaker": max((f.weaker for f in found if f.weaker > WEAKER), default=0.0),
    }
    return {name: share for name, share in worst.items() if share > 0.0}
