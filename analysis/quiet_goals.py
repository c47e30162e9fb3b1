"""What a procedure looks at while nothing happens: its signals as numbers, and their levels."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from math import inf, nan
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from analysis.compiled.equations import INDEX
from analysis.compiled.goals import EFFORT, EXTENSION, PRESSURE, STEADY, TALLY
from analysis.compiled.quiet_steps import Clock
from analysis.network import Array
from analysis.part import Part
from analysis.part_readings import MOVING, has_lock
from analysis.procedures import Condition, Expectation
from analysis.pulsation import is_returning
from analysis.script import OVER, Script

if TYPE_CHECKING:
    from analysis.motion import Motion
    from analysis.stepping import Stepper


class _Signal(NamedTuple):
    """Where a signal is read; see `analysis.compiled.goals.Goals`."""

    kind: int
    one: int = 0
    two: int = 0
    times: float = 0.0
    over: float = 1.0


class _Goal(NamedTuple):
    """A condition on a signal, by its number; see `analysis.compiled.goals.Goals`."""

    signal: int
    at_least: float
    at_most: float
    slack: float
    holds: bool
    over_ahead: float
    enough: float


class QuietGoals:
    """The signals that a script looks at in one network.

    Parameters
    ----------
    motion
        Whose network it is.
    asked
        The names of the signals.

    Attributes
    ----------
    can_be_read
        Whether all of them are such as can be looked at while steps go on. The word of a lock can
        too: it stays the same while nothing happens.
    """

    def __init__(self, motion: Motion, asked: Collection[str]) -> None:
        self.motion = motion
        stepper = motion.stepper
        numbers = [name for name in asked if not _is_of_lock(stepper, name)]
        found = {name: _find(stepper, name) for name in numbers}
        self.can_be_read = all(signal is not None for signal in found.values())
        signals = {name: signal for name, signal in found.items() if signal is not None}
        self._names = list(signals)
        self._number = {name: number for number, name in enumerate(signals)}
        columns = zip(*signals.values(), strict=True) if signals else ((),) * len(_Signal._fields)
        self._signals = _arrays(columns, _TYPES)
        self._waits: tuple[Any, ...] = ()

    def find(self, script: Script) -> tuple[Any, ...]:
        """The signals as they were last looked at, and what the script now waits for."""
        now, before = script.now.get, script.before.get
        value = np.array([_number(now(name)) for name in self._names])
        old = np.array([_number(before(name)) for name in self._names])
        open_ones = [
            (e.holds, e.is_of_strength and (e.strength or 0.0) < e.enough)
            for e in script.plan.expectations
        ]
        waits = len(script.waiting), script.due is None, open_ones
        if waits != self._waits:
            self._waits = waits
            rows = list(self._goals(script))
            columns = zip(*rows, strict=True) if rows else ((),) * len(_Goal._fields)
            self._kept = _arrays(columns, _GOAL_TYPES)
        # as `analysis.compiled.goals.Goals` has them
        return (*self._signals, value, old, *self._kept)

    def _goals(self, script: Script) -> Iterator[_Goal]:
        for expectation in script.plan.expectations:
            condition = expectation.condition
            if condition.word is None and condition.signal in self._number:
                yield from self._of(expectation)
        if script.waiting and script.due is None:
            after = script.waiting[0].after
            if after is not None and after.word is None and after.signal in self._number:
                yield self._goal(after, holds=False, over_ahead=1.0)

    def _of(self, expectation: Expectation) -> Iterator[_Goal]:
        """What is still open of an expectation: whether it holds, or how strong it is."""
        condition = expectation.condition
        if expectation.holds is None:
            is_awaited = expectation.by is not None
            to_arrival = OVER if is_awaited and self.motion.pace.to_arrivals else 0.0
            yield self._goal(condition, holds=not is_awaited, over_ahead=to_arrival)
        elif expectation.is_of_strength and (expectation.strength or 0.0) < expectation.enough:
            number = self._number[condition.signal]
            yield _Goal(number, -inf, inf, 0.0, True, 0.0, expectation.enough)

    def _goal(self, condition: Condition, *, holds: bool, over_ahead: float) -> _Goal:
        low, high = condition.at_least, condition.at_most
        return _Goal(
            self._number[condition.signal],
            -inf if low is None else low,
            inf if high is None else high,
            condition.slack,
            holds,
            over_ahead,
            inf,
        )

    def clock(self, script: Script, end: float, *, may_rest: bool) -> Clock:
        """When it is, and when to look at the latest; see there."""
        time, until = self.motion.time, end
        if script.waiting:
            at = script.waiting[0].at if script.waiting[0].at is not None else script.due
            if at is not None and at > script.time:
                until = min(end, at)
        awaited = [
            e.by
            for e in script.plan.expectations
            if e.by is not None and e.by > time + 1e-9 and (e.holds is None or e.is_of_strength)
        ]
        return Clock(
            time, script.time, script.last_step, self.motion.next_step, until,
            min(awaited, default=inf), end, may_rest, self.motion.rates() is None,
        )  # fmt: skip

    def look(self, script: Script, times: Array, values: Array) -> None:
        """Let the script look at steps [s] that have been taken; values are of shape (steps,
        signals).

        As long as no condition comes to hold or no longer does, only the last look leaves a trace,
        and of strengths the greatest or least.
        """
        if not len(times):
            return
        for expectation in script.plan.expectations:
            number = self._number.get(expectation.condition.signal)
            is_in_time = expectation.by is None or times[-1] <= expectation.by + 1e-9
            if expectation.is_of_strength and is_in_time and number is not None:
                column = values[:, number]
                expectation.weigh(float(column.min() if expectation.by is None else column.max()))
        named = dict(zip(self._names, values[-1].tolist(), strict=True))
        script.pass_by(float(times[-1]), {**script.now, **named})


_TYPES = (INDEX, INDEX, INDEX, float, float)
_GOAL_TYPES = (INDEX, float, float, float, bool, float, float)


def _arrays(columns: Iterable[Sequence[Any]], types: Sequence[type]) -> tuple[Array, ...]:
    return tuple(np.array(c, dtype=t) for c, t in zip(columns, types, strict=True))


def _number(value: float | str | bool | None) -> float:
    return value if isinstance(value, float) else nan


def _is_of_lock(stepper: Stepper, name: str) -> bool:
    owner, _, quantity = name.rpartition(".")
    part = stepper.assembly.parts.get(owner)
    return quantity == "lock" and part is not None and has_lock(part)


def _find(stepper: Stepper, name: str) -> _Signal | None:
    """Where a signal is read; None if it is none that can be looked at while steps go on."""
    owner, _, quantity = name.rpartition(".")
    nodes = stepper.assembly.builder.nodes
    if quantity == "pressure" and owner in nodes:
        return _Signal(PRESSURE, nodes[owner])
    part = stepper.assembly.parts.get(owner)
    if part is None:
        return None
    if quantity == "extension" and part.kind in MOVING:
        members = [mover.part.id for mover in stepper.movers]
        return _Signal(EXTENSION, members.index(owner)) if owner in members else _Signal(STEADY)
    if quantity == "effort" and part.kind == "hand_pump":
        return _effort(stepper, part)
    if quantity in ("strokes", "volume", "fluid_volume"):
        return _tally(stepper, owner)
    return None


def _tally(stepper: Stepper, owner: str) -> _Signal:
    """What goes on from step to step, as `analysis.compiled.bounds.Course` has it in a row."""
    counted = [tank.part.id for tank in stepper.tanks]
    counted += [pump.id for pump in stepper.hand_pumps]
    counted += [charge.part.id for charge in stepper.charges]
    if owner not in counted:
        return _Signal(STEADY)
    return _Signal(TALLY, 3 * len(stepper.movers) + counted.index(owner))


def _effort(stepper: Stepper, pump: Part) -> _Signal:
    """As `analysis.part_readings.effort_of`."""
    if "delivery" not in pump.branches or pump.id in stepper.dry or is_returning(pump):
        return _Signal(STEADY)
    s, ports = pump.settings, pump.ports
    return _Signal(EFFORT, ports["outlet"], ports["inlet"], s["piston_area"], s["lever_ratio"])
