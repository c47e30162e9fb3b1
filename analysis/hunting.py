"""Unloading valves that change over again and again: how fast they can, and when that is told.

Without an accumulator nothing keeps the pressure between cut-out and cut-in: the valve is
hardly out when the pressure has fallen, and hardly in when it has risen. What limits the
rate then is the valve itself. It opens to the return at once when cut-out is reached, as a
relief valve does, but its moving part must come all the way back before the pump is loaded
again: once out it stays out for its shifting time at least.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from analysis.compiled.trials import share_to
from analysis.constants import NEAR_EVENT
from analysis.devices import Unloading
from analysis.newton import Solution

if TYPE_CHECKING:
    from analysis.motion import Motion

_NEAR_HUNTING = 0.05
"""And this share of the way from cut-in to cut-out beyond either, where a valve hunts."""
_AS_LONG = 1.1
"""Times as long as the last time, so that the search for the moment ends in few trials."""
_AT_ONCE = 2e-6
"""Less time than this [s] is none: no step can be cut that short."""
_WITHIN = 1.0
"""A valve that did not change over for this long [s] is quiet."""
_MOST = 5
"""More changes than this [1] within that time are no work that an accumulator leaves it."""


@dataclass(frozen=True)
class Changes:
    """The last changes of a valve [s], the latest last, and whether it was said to hunt."""

    times: tuple[float, ...] = ()
    hunts: bool = False

    def add(self, time: float) -> Changes:
        """With one more change, now [s]."""
        quiet = not self.times or time - self.times[-1] >= _WITHIN
        kept = () if quiet else self.times[-_MOST:]
        times = (*kept, time)
        many = len(times) > _MOST and time - times[0] < _WITHIN
        return Changes(times, many or (self.hunts and not quiet))

    @property
    def last(self) -> float:
        """When it last changed over [s]; minus infinity if it never has."""
        return self.times[-1] if self.times else -inf

    def is_hunting(self, time: float) -> bool:
        """Whether it is at it now [s]."""
        return self.hunts and time - self.last < _WITHIN

    @property
    def message(self) -> str:
        """What is told of a valve that hunts."""
        return (
            f"hunts: it changes over {self.rate:.0f} times a second; "
            "no accumulator holds the pressure between cut-out and cut-in"
        )

    @property
    def span_before(self) -> float:
        """How long [s] it stood the last time where it stands now."""
        return self.times[-2] - self.times[-3]

    @property
    def rate(self) -> float:
        """Changes a second [1/s], over the last few."""
        return (len(self.times) - 1) / (self.times[-1] - self.times[0])


_NONE = Changes()


def unloads_at(device: Unloading) -> float:
    """The pressure of the system [Pa] at which a valve changes over from where it stands."""
    return device.cut_in if device.open else device.cut_out - 20.0


class Unloaders:
    """The unloading valves of a circuit in motion."""

    def __init__(self, motion: Motion) -> None:
        self.motion = motion

    def is_any_hunting(self) -> bool:
        """Whether a valve is at it now."""
        return any(changes.is_hunting(self.motion.time) for changes in self.motion.changes.values())

    def finest(self) -> float:
        """Steps of this length [s] are fine enough, however much changes in them.

        A valve that hunts shakes all that is near it, over and over again in the same way;
        half its shifting time shows where that leads without following every shake. Where it
        was in for less than that the last time, it will be out again after as long.
        """
        finest = 0.0
        for device in self.motion.stepper.switches:
            if isinstance(device, Unloading) and self._changes(device).is_hunting(self.motion.time):
                fine = 0.5 * device.shifting_time
                if not device.open:
                    fine = min(fine, _AS_LONG * self._changes(device).span_before)
                finest = max(finest, fine)
        return finest

    def share(self, device: Unloading, solution: Solution, duration: float) -> float:
        """The share of a step of that duration [s] after which it changes over; 1 if it does not.

        While it cannot be back yet, no step ends at cut-in.
        """
        before = self.motion.pressure[device.system]
        after = solution.pressure[device.system]
        near = NEAR_EVENT
        if self._changes(device).is_hunting(self.motion.time):
            near = max(near, _NEAR_HUNTING * (device.cut_out - device.cut_in))
        if not device.open:
            return share_to(device.cut_out, before, after, near)
        if after > device.cut_in:
            return 1.0
        held = self._held_out(device)
        if before <= device.cut_in:
            return held / duration if held > _AT_ONCE else 1.0
        return max(share_to(device.cut_in, before, after, near), held / duration)

    def settle(self, device: Unloading, pressure: float) -> bool:
        """Cut the pump out or in at the system's pressure [Pa]; whether it changed over."""
        motion = self.motion
        if device.open:
            is_low = pressure <= unloads_at(device)
            changes_over = is_low and self._held_out(device) <= _AT_ONCE
        else:
            changes_over = pressure >= unloads_at(device)
        if changes_over:
            device.switch(motion.assembly.network, not device.open)
            motion.switched[device.owner] = device.open
            before = self._changes(device)
            now = motion.changes[device.owner] = before.add(motion.time)
            if not now.hunts:
                motion.tell(device.owner, f"cuts the pump {'out' if device.open else 'in'}")
            elif not before.hunts:
                motion.tell(device.owner, now.message)
        return changes_over

    def _held_out(self, device: Unloading) -> float:
        """For how long [s] a valve that has cut out cannot be back yet."""
        return self._changes(device).last + device.shifting_time - self.motion.time

    def _changes(self, device: Unloading) -> Changes:
        return self.motion.changes.get(device.owner, _NONE)
