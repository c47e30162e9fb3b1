"""By how much a function that is kept comes off worse: later, or with less pressure or force.

The figures are approximate. They are taken from runs that only have to decide
(`analysis/pace.py`): times and strengths come out within about two parts in a hundred, but a
rough run may make a rise of pressure too long by a fifth. Nothing is told with more digits.
Where actuators share a flow, such a run may even let another one go first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import inf

from analysis.approximate import about_percent, rounded
from analysis.circuit import Circuit
from analysis.failure_reference import Course
from analysis.procedures import STRENGTHS, Expectation, signal_dimension
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

_OF_PRESSURE = frozenset((*STRENGTHS, "inflow", "flow", "open"))
"""Signals that follow a pressure: a rough run tells badly when they get anywhere."""

_DIGITS = 2
"""Significant digits that are known of times of travel, and of strengths."""
_DIGITS_OF_RISE = 1
"""The same of when a pressure gets somewhere, in a rough run."""

_MUCH_SLOWER, _MUCH_WEAKER = 1.0, 0.5
"""From such shares on two values tell more than a share: twice as long, half as strong."""

_UNITS = {"pressure": "bar", "force": "N", "torque": "N*m"}


@dataclass(frozen=True)
class Shortfall:
    """How much worse one expectation is met than without the failure.

    `slower` is the delay as a share of the time it takes without (infinite where that is
    none to speak of), `weaker` what is missing of the pressure or force as a share of what
    it comes to without; 0 for none. `digits` says how many significant digits of `slower`
    are known.
    """

    number: int
    slower: float = 0.0
    weaker: float = 0.0
    digits: int = _DIGITS

    @property
    def counts(self) -> bool:
        """Whether it is enough to be called degraded."""
        return self.slower > SLOWER or self.weaker > WEAKER

    def is_unclear(self, expectation: Expectation) -> bool:
        """Whether a rough run comes too near to the edge with it to be relied on."""
        low, high = _UNCLEAR_PRESSURE if _is_of_pressure(expectation) else _UNCLEAR
        if low < self.slower < high:
            return True
        return _UNCLEAR_STRENGTH[0] < self.weaker < _UNCLEAR_STRENGTH[1]


def _is_of_pressure(expectation: Expectation) -> bool:
    return expectation.condition.signal.rpartition(".")[2] in _OF_PRESSURE


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
        digits = _DIGITS_OF_RISE if course.is_rough and _is_of_pressure(expectation) else _DIGITS
        found = Shortfall(number, _delay(expectation, time), _loss(expectation, strength), digits)
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
    """What has come of the expectation, with no more digits than are known.

    A share tells a small difference better than two rounded values would: `met after about
    8.5 s, about 28 % later`. Where it takes more than twice as long, or comes to less than
    half, both stand: `met after about 12 s, not 5.2 s`, `comes to about 20 bar, not 60 bar`.

    `course` is that of the procedure without the failure.
    """
    if found.slower > SLOWER:
        yield f"met after about {_in_seconds(expectation.time, found)}, {_late(found, course)}"
    if found.weaker > WEAKER:
        dimension = signal_dimension(circuit, expectation.condition.signal)
        unit = circuit.display_units.get(dimension, _UNITS[dimension])
        have, had = (
            format_quantity(value or 0.0, unit, dimension, _DIGITS)
            for value in (expectation.strength, course.strengths[found.number])
        )
        less = f"{about_percent(found.weaker, _DIGITS)} less"
        yield f"comes to about {have}, {less if found.weaker < _MUCH_WEAKER else f'not {had}'}"


def _late(found: Shortfall, course: Course) -> str:
    if found.slower < _MUCH_SLOWER:
        return f"{about_percent(found.slower, found.digits)} later"
    before = course.times[found.number]
    return f"not {_in_seconds(before, found)}" if found.slower < inf else "not at once"


def _in_seconds(time: float | None, found: Shortfall) -> str:
    return format_quantity(rounded(time or 0.0, found.digits), "s", "time", _DIGITS)


def largest(found: Sequence[Shortfall]) -> tuple[dict[str, float], dict[str, int]]:
    """The largest share `slower` and `weaker` that counts, 0 to 1 and beyond, and its digits.

    One that cannot be told, since the function took no time before, is left out.
    """
    shares: dict[str, float] = {}
    digits: dict[str, int] = {}
    late = [f for f in found if SLOWER < f.slower < inf]
    if late:
        latest = max(late, key=lambda f: f.slower)
        shares["slower"], digits["slower"] = latest.slower, latest.digits
    weak = [f.weaker for f in found if f.weaker > WEAKER]
    if weak:
        shares["weaker"], digits["weaker"] = max(weak), _DIGITS
    return shares, digits
