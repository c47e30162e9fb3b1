"""What is kept of the circuit at work: moments to go back to, and signals over time, bounded.

A moment and the signals with it take some 25 kB in a circuit of 45 components. Circuits in
which something was set share what was not, so that they add little: an hour of work with
hand pump and levers is held in 150 MB, and so is any longer one.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from typing import Any

from analysis.circuit import Circuit
from analysis.moment import Moment

MOST_MOMENTS = 4000
"""Kept moments of a recording; when they are full every second one is let go."""


def share_unchanged(earlier: Circuit, later: Circuit) -> None:
    """Let the later circuit hold the same objects as the earlier one where they are equal.

    For circuits that nobody changes any more: each state that is set while the circuit is
    at work makes a copy of all of it.
    """
    _share(later.components, earlier.components)
    _share(later.lines, earlier.lines)
    for name, value in vars(later).items():
        if name not in ("components", "lines", "changed") and getattr(earlier, name) == value:
            vars(later)[name] = getattr(earlier, name)


def _share(elements: dict[str, Any], known: dict[str, Any]) -> None:
    for identifier, element in elements.items():
        if known.get(identifier) == element:
            elements[identifier] = known[identifier]


@dataclass
class History:
    """Moments and signals of the work so far, bounded: the spacing doubles when it is full."""

    spacing: float = 0.05
    moments: list[Moment] = field(default_factory=list)
    times: list[float] = field(default_factory=list)
    signals: dict[str, list[Any]] = field(default_factory=dict)

    def wants(self, time: float) -> bool:
        """Whether a moment of that time is far enough from the last one to be kept."""
        return not self.times or time - self.times[-1] >= self.spacing - 1e-9

    def add(self, moment: Moment, signals: dict[str, Any]) -> None:
        """Keep a moment if it is far enough from the last one."""
        if not self.wants(moment.time):
            return
        if self.moments and moment.circuit is not self.moments[-1].circuit:
            share_unchanged(self.moments[-1].circuit, moment.circuit)
        self.moments.append(moment)
        self.times.append(moment.time)
        for name, value in signals.items():
            column = self.signals.setdefault(name, [None] * (len(self.times) - 1))
            column.append(value)
        if len(self.times) > MOST_MOMENTS:
            self.spacing *= 2.0
            self.moments, self.times = self.moments[::2], self.times[::2]
            self.signals = {name: column[::2] for name, column in self.signals.items()}

    def cut(self, time: float) -> None:
        """Forget what came after a time."""
        kept = bisect_right(self.times, time + 1e-9)
        del self.moments[kept:], self.times[kept:]
        for column in self.signals.values():
            del column[kept:]

    def nearest(self, time: float) -> Moment | None:
        """The last kept moment not after a time."""
        index = bisect_right(self.times, time + 1e-9) - 1
        return self.moments[index] if index >= 0 else None
