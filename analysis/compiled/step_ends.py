"""What is read off the pressures at both ends of a time step."""

from __future__ import annotations

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Index


@compiled
def foretold_error(
    free: Index, before: Array, rate: Array, now: Array, duration: float, most: float
) -> tuple[float, float]:
    """How far a step [s] is from what the rates of the one before foretold.

    Where nothing limits a pressure there is none to be accurate about: all count as `most` at
    the most.

    Parameters
    ----------
    free
        The nodes to look at.
    before, rate, now
        Before the step [Pa], how fast it rose [Pa/s], and after the step [Pa], at all nodes.

    Returns
    -------
    tuple
        The largest difference, and the largest pressure before that is below `most` [Pa].
    """
    difference = known = 0.0
    for k in range(len(free)):
        node = free[k]
        old = before[node]
        if old < most:
            known = max(known, abs(old))
        else:
            old = most
        foretold = min(old + rate[node] * duration, most)
        difference = max(difference, abs(min(now[node], most) - foretold))
    return difference, known


@compiled
def lowest(values: Array) -> float:
    """The least of the values; infinite if there are none."""
    least = float("inf")
    for k in range(len(values)):
        least = min(least, values[k])
    return least


@compiled
def largest_below(free: Index, values: Array, most: float) -> float:
    """The largest size of the values at these nodes, without those not below `most`; 0 if none."""
    largest = 0.0
    for k in range(len(free)):
        if abs(values[free[k]]) < most:
            largest = max(largest, abs(values[free[k]]))
    return largest
