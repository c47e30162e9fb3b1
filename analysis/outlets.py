"""Which outlets of a reservoir the fluid covers, over time.

At an instant an outlet is covered while the fluid stands above its mouth. Over time one that
was uncovered has drawn air: it feeds again once the fluid stands a little over it and some
moments have gone by. Without both a pump that draws what comes back would change over at
every drop.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import nan
from typing import Any, NamedTuple

import numpy as np

from analysis.compiled.levels import MOMENTS, RISE, Levels

_MANY = 5
_SOON = 10.0
"""An outlet that is uncovered so often within so many seconds draws fluid and air by turns."""

GULPING = (
    "its outlets are uncovered again and again: fluid and air are drawn by turns, and pressures "
    "are followed roughly"
)

OVERFLOWS = "is full to its capacity: what more comes in overflows and is lost"

_TOLD = {
    ("standpipe", False): "the fluid falls to the standpipe: its outlet is uncovered",
    ("supply", False): "is empty: its supply outlet is uncovered",
    ("supply", True): "its supply outlet is covered again",
    ("standpipe", True): "its standpipe outlet is covered again",
}

Outlet = tuple[str, str]
"""(reservoir id, `supply` or `standpipe`)."""

_Mouth = tuple[str, float, float, float]
"""(outlet, volume up to it, slack of that, volume at which it is covered again) [m3]."""


class _Levels(NamedTuple):
    """What the settings of a reservoir say of its levels [m3]: its mouths, and between which
    volumes it has no outlet uncovered and is not full."""

    settings: dict[str, Any]
    mouths: tuple[_Mouth, ...]
    low: float
    high: float


def mouths(settings: dict[str, Any]) -> tuple[tuple[str, float], ...]:
    """(outlet, volume up to its mouth [m3]) of a reservoir, the upper one first."""
    return ("standpipe", settings["reserve"] or 0.0), ("supply", 0.0)


def uncovered_outlets(settings: dict[str, Any], state: dict[str, Any]) -> set[str]:
    """The outlets that give no fluid: below their mouths, or over time as `Outlets` says."""
    volume = state["volume"]
    below = {outlet for outlet, mouth in mouths(settings) if volume <= mouth}
    return set(state.get("uncovered", below))


class Outlets:
    """The outlets that are uncovered, and since when.

    Attributes
    ----------
    since
        Time [s] at which each uncovered outlet was uncovered.
    gulps
        When outlets of each reservoir were uncovered last [s], by id; the latest last.
    full
        The reservoirs that were filled to their capacity.
    """

    def __init__(self) -> None:
        self.since: dict[Outlet, float] = {}
        self.gulps: dict[str, tuple[float, ...]] = {}
        self.full: set[str] = set()
        self._known: dict[str, _Levels] = {}

    def uncovered(self, identifier: str) -> tuple[str, ...]:
        """The outlets of a reservoir that are uncovered."""
        return tuple(outlet for owner, outlet in self.since if owner == identifier)

    def set_level(
        self, identifier: str, settings: dict[str, Any], volume: float, time: float
    ) -> None:
        """Somebody filled the reservoir to a volume [m3], or it starts with it."""
        for outlet, mouth in mouths(settings):
            self.since.pop((identifier, outlet), None)
            if volume <= mouth:
                self.since[identifier, outlet] = time - MOMENTS

    def is_between(
        self, identifier: str, settings: dict[str, Any], before: float, after: float
    ) -> bool:
        """Whether a volume that goes so [m3] comes to no mouth and to no brim, for sure."""
        if self.full or self.since:
            return False
        known = self._find(identifier, settings)
        return known.low < before < known.high and known.low < after < known.high

    def look(
        self, identifier: str, settings: dict[str, Any], volume: float, time: float
    ) -> Iterator[str]:
        """Take in the level now; yields in words what has changed."""
        is_gulp = False
        for outlet, mouth, slack, covers in self._mouths(identifier, settings):
            key = (identifier, outlet)
            if key not in self.since:
                if volume <= mouth + slack:
                    self.since[key] = time
                    is_gulp = True
                    yield _TOLD[outlet, False]
                continue
            again = self.since[key] + MOMENTS
            if volume >= covers and time >= again - 1e-9:
                del self.since[key]
                yield _TOLD[outlet, True]
        if is_gulp:
            yield from self._gulp(identifier, time)
        yield from self._fill(identifier, settings, volume)

    def _fill(self, identifier: str, settings: dict[str, Any], volume: float) -> Iterator[str]:
        """Remember that a reservoir is full; tells it when it begins to be."""
        capacity = settings["capacity"]
        if volume >= capacity - _slack(settings):
            if identifier not in self.full:
                self.full.add(identifier)
                yield OVERFLOWS
        elif volume < (1.0 - RISE) * capacity:
            self.full.discard(identifier)

    def _gulp(self, identifier: str, time: float) -> Iterator[str]:
        """Remember that an outlet was uncovered; tells it when that begins to be too often."""
        was_gulping = self._gulps(identifier, time)
        self.gulps[identifier] = (*self.gulps.get(identifier, ()), time)[-_MANY:]
        if not was_gulping and self._gulps(identifier, time):
            yield GULPING

    def _gulps(self, identifier: str, time: float) -> bool:
        times = self.gulps.get(identifier, ())
        return len(times) == _MANY and time - times[0] < _SOON

    def is_gulping(self, time: float) -> bool:
        """Whether a reservoir now [s] gives fluid and air by turns."""
        return any(self._gulps(identifier, time) for identifier in self.gulps)

    def levels(self, tanks: Sequence[tuple[str, dict[str, Any], float]]) -> Levels:
        """Reservoirs as they now stand, by id, settings and the volume [m3] up to the mouth that a
        broken line lays open."""
        rows = [self._mouths(identifier, settings) for identifier, settings, _ in tanks]
        since = [
            [self.since.get((identifier, outlet), nan) for outlet, *_ in row]
            for (identifier, _, _), row in zip(tanks, rows, strict=True)
        ]
        return Levels(
            np.array([[mouth for _, mouth, _, _ in row] for row in rows]).reshape(-1, 2),
            np.array([[covers for *_, covers in row] for row in rows]).reshape(-1, 2),
            np.array(since).reshape(-1, 2),
            np.array([_slack(settings) for _, settings, _ in tanks], dtype=float),
            np.array([settings["capacity"] for _, settings, _ in tanks], dtype=float),
            np.array([brim for *_, brim in tanks], dtype=float),
            np.array([identifier in self.full for identifier, *_ in tanks], dtype=bool),
        )

    def may_gulp(self) -> bool:
        """Whether outlets of a reservoir were uncovered often enough for it to draw by turns."""
        return any(len(times) == _MANY for times in self.gulps.values())

    def _mouths(self, identifier: str, settings: dict[str, Any]) -> tuple[_Mouth, ...]:
        return self._find(identifier, settings).mouths

    def _find(self, identifier: str, settings: dict[str, Any]) -> _Levels:
        """Worked out once for the settings of a reservoir as they stand."""
        known = self._known.get(identifier)
        if known is None or known.settings is not settings:
            slack = _slack(settings)
            found = tuple((o, m, slack, _covers_again(settings, m)) for o, m in mouths(settings))
            low = max(mouth for _, mouth, _, _ in found) + slack
            known = _Levels(settings, found, low, settings["capacity"] - slack)
            self._known[identifier] = known
        return known


def _covers_again(settings: dict[str, Any], mouth: float) -> float:
    """The volume [m3] at which a mouth that was uncovered is covered again."""
    capacity = settings["capacity"]
    over = min(RISE * capacity, 0.5 * abs(capacity - mouth))
    return float(mouth + max(over, 3.0 * _slack(settings)) - _slack(settings))


def _slack(settings: dict[str, Any]) -> float:
    """What a volume [m3] may be wrong by from rounding."""
    return float(1e-12 * settings["capacity"])
