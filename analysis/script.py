"""A procedure being worked: which step is due, and what the expectations have seen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from analysis.compiled.goals import LEAST_WAIT
from analysis.procedures import Procedure, Signals, Step

OVER = 1.01
"""It goes further than that by this factor, lest the signal be short of its level by a hair."""


@dataclass(frozen=True)
class Place:
    """How far a procedure has been worked: what it takes to go on from there.

    `done` steps have been worked; `seen` holds, for each expectation, whether it holds, since
    when [s], by how much it was missed, and its strength. The others are as in `Script`.
    """

    done: int = 0
    due: float | None = None
    time: float = 0.0
    now: Signals = field(default_factory=dict)
    before: Signals = field(default_factory=dict)
    last_step: float = 0.0
    seen: tuple[tuple[bool | None, float | None, float, float | None], ...] = ()


class Script:
    """Follows a procedure along a motion that somebody else advances.

    After every step of the motion call `look`, then take what `due_steps` gives and set it;
    `next_stop` tells how far the motion may go before the next look.

    Parameters
    ----------
    plan
        The procedure; its expectations are decided in place.
    place
        Where a procedure of as many steps and the same expectations was left; else its start.

    Attributes
    ----------
    waiting
        The steps that have not been done, in order.
    time
        Of the last look [s].
    is_closed
        Whether all is decided.
    """

    def __init__(self, plan: Procedure, place: Place | None = None) -> None:
        place = place or Place()
        self.plan = plan
        self.waiting = plan.steps[place.done :]
        self.due = place.due
        self.time = place.time
        self.now, self.before = place.now, place.before
        self.last_step = place.last_step
        for expectation, seen in zip(plan.expectations, place.seen, strict=bool(place.seen)):
            expectation.holds, expectation.time, expectation.missed, expectation.strength = seen
        self.is_closed = False

    def where(self) -> Place:
        """How far it has got."""
        seen = tuple((e.holds, e.time, e.missed, e.strength) for e in self.plan.expectations)
        done = len(self.plan.steps) - len(self.waiting)
        return Place(done, self.due, self.time, self.now, self.before, self.last_step, seen)

    def look(self, time: float, signals: Signals) -> None:
        """Take in the signals [SI] at a time [s] not before the last look."""
        before_time = self.time
        self.pass_by(time, signals)
        for expectation in self.plan.expectations:
            expectation.look(time, signals, before_time, self.before)

    def pass_by(self, time: float, signals: Signals) -> None:
        """Take in signals [SI] that do not change what the expectations have seen."""
        self.before, self.last_step = self.now, time - self.time
        self.now, self.time = signals, time

    def next_arrival(self, end: float) -> float:
        """The time [s] up to `end` at which an expectation is about to be met, as it looks now.

        A step that ends there tells the time exactly; in one that goes on to a stop the signal
        would seem to arrive later than it does.
        """
        for expectation in self.plan.expectations:
            if expectation.by is not None and expectation.holds is None:
                ahead = expectation.condition.ahead(self.before, self.now) * self.last_step
                end = min(end, self.time + max(OVER * ahead, LEAST_WAIT))
        return end

    def next_stop(self, end: float) -> float:
        """The time [s] up to `end` at which to look again at the latest."""
        if not self.waiting:
            return end
        step = self.waiting[0]
        due = step.at if step.at is not None else self.due
        if due is not None and due > self.time:
            return min(end, due)
        if step.after is not None and due is None:
            # end the next step where the signal is about to arrive
            ahead = step.after.ahead(self.before, self.now) * self.last_step
            return min(end, self.time + max(ahead, LEAST_WAIT))
        return end

    def due_steps(self) -> Iterator[Step]:
        """The steps that are due at the time of the last look, each taken off the list."""
        while self.waiting and self._is_due(self.waiting[0]):
            self.due = None
            yield self.waiting.pop(0)

    def mark_late(self) -> None:
        """Say of expectations whose time has gone by unmet that they do not hold."""
        for expectation in self.plan.expectations:
            late = expectation.by is not None and self.time > expectation.by
            if late and expectation.holds is None:
                expectation.holds = False

    def close(self) -> None:
        """The procedure is over: decide what is still open."""
        for expectation in self.plan.expectations:
            expectation.close()
        self.is_closed = True

    def _is_due(self, step: Step) -> bool:
        if step.at is not None:
            return self.time >= step.at - 1e-9
        if step.after is None:
            return True
        if self.due is None and step.after.holds(self.now):
            late = (1.0 - step.after.reached(self.before, self.now)) * self.last_step
            self.due = self.time - late + step.wait
        return self.due is not None and self.time >= self.due - 1e-9
