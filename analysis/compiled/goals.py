"""What a procedure looks at while steps go on: signals as numbers, and levels they may come to."""

from __future__ import annotations

from typing import NamedTuple

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Flags, Index
from analysis.constants import ATMOSPHERE

STEADY, PRESSURE, EXTENSION, EFFORT, TALLY = 0, 1, 2, 3, 4
"""Kinds of signals; one that is steady does not change while nothing happens."""

LEAST_WAIT = 1e-3
"""Shortest way [s] a motion is asked to go on to a signal that is about to arrive."""


class Goals(NamedTuple):
    """The signals that are looked at, and what is expected of them.

    A signal has its kind, the node, member or tally it is read at and, for an effort, the second
    node and what turns the difference into it: times `times`, over `over`. `value` are those now
    and `old` those of the look before. A goal has its signal, its levels (infinite for none) with
    their slack, whether it holds, what part of its way ahead a step is to end at (0: no matter)
    and the value that is enough.
    """

    kind: Index
    one: Index
    two: Index
    times: Array
    over: Array
    value: Array
    old: Array
    signal: Index
    at_least: Array
    at_most: Array
    slack: Array
    holds: Flags
    over_ahead: Array
    enough: Array


@compiled
def next_stop(goal: Goals, until: float, time: float, last_step: float) -> float:
    """The time [s] up to `until` at which to look again, as `Script.next_stop` and `next_arrival`
    tell it."""
    for k in range(len(goal.signal)):
        over = goal.over_ahead[k]
        if over == 0.0:
            continue
        old, new = goal.old[goal.signal[k]], goal.value[goal.signal[k]]
        if new == old:
            continue
        level = goal.at_least[k] if new > old else goal.at_most[k]
        to_go = (level - new) / (new - old)
        if to_go > 0.0:
            until = min(until, time + max(over * (to_go * last_step), LEAST_WAIT))
    return until


@compiled
def read_goals(goal: Goals, pressure: Array, extension: Array, tallies: Array) -> bool:
    """Read the signals anew; whether a goal holds that did not, or the other way round, or a value
    has come to what is enough."""
    for k in range(len(goal.kind)):
        goal.old[k] = goal.value[k]
        if goal.kind[k] == PRESSURE:
            goal.value[k] = max(pressure[goal.one[k]], -ATMOSPHERE)
        elif goal.kind[k] == EXTENSION:
            goal.value[k] = extension[goal.one[k]]
        elif goal.kind[k] == TALLY:
            goal.value[k] = tallies[goal.one[k]]
        elif goal.kind[k] == EFFORT:
            high, low = pressure[goal.one[k]], pressure[goal.two[k]]
            across = max(high, -ATMOSPHERE) - max(low, -ATMOSPHERE)
            goal.value[k] = max(across * goal.times[k] / goal.over[k], 0.0)
    for k in range(len(goal.signal)):
        value, slack = goal.value[goal.signal[k]], goal.slack[k]
        holds = goal.at_least[k] - slack <= value <= goal.at_most[k] + slack
        if holds != goal.holds[k] or value >= goal.enough[k]:
            return True
    return False
