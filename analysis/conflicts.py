"""What hangs on a point where several hold different pressures without any loss between.

At such a point there is no one pressure. Flows only ever grow with pressures, so what the
point's lowest and its highest pressure agree on holds for any between; the rest has no
reading.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from analysis.assemble import Assembly
from analysis.constants import NO_FLOW
from analysis.network import Array
from analysis.newton import Disputed, Solution
from analysis.steady import solve_instant

_SAME = 1e-6
"""Share of a pressure or a flow within which two are the same."""

_LEAST = 1.0
"""Pressures that differ by less than this [Pa] are the same."""


def find_disputed(
    assembly: Assembly, solution: Solution, again: Callable[[], Assembly]
) -> Disputed | None:
    """What is not the same whichever pressure holds at a disputed point; None if none is disputed.

    Parameters
    ----------
    solution
        That with one of the pressures at each point.
    again
        Makes the assembly anew, for the others.
    """
    disputes = assembly.builder.disputes
    if not disputes:
        return None
    nodes = np.zeros(assembly.network.count, dtype=bool)
    nodes[list(disputes)] = True
    branches = np.zeros(assembly.network.branches, dtype=bool)
    for pressures in zip(*disputes.values(), strict=True):
        other = again()
        other.network.fixed_pressure[list(disputes)] = pressures
        instant = solve_instant(other)
        if not instant.converged:
            return Disputed(np.ones_like(nodes), np.ones_like(branches))
        nodes |= _differ(solution.pressure, instant.solution.pressure, _LEAST)
        branches |= _differ(solution.q, instant.solution.q, 10.0 * NO_FLOW)
    return Disputed(nodes, branches)


def _differ(one: Array, other: Array, least: float) -> NDArray[np.bool_]:
    difference: NDArray[np.bool_] = np.abs(one - other) > least + _SAME * np.abs(one)
    return difference
