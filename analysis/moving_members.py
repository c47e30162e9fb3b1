"""Members that moved over the last step, taken as still moving at the start of the next.

A member that moves stands on the steep part of its law, a few hundredths of a newton wide.
From one step to the next its load changes by more than that, so that the pressures of
before stop it or send it to its stop: its slope is gone there, and Newton's step, which
then sees a closed chamber, goes far away. The steep part, drawn out both ways, is what the
first step of a search is to follow instead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.network import Array, Index, Network


@dataclass(frozen=True)
class Moving:
    """Members in motion: their rows among the `deadband` branches, and whether they move out.

    Both of shape (n_moving,).
    """

    rows: Index
    outwards: NDArray[np.bool_]


def follow(
    network: Network, u: Array, q: Array, slope: Array, moving: Moving
) -> tuple[Array, Array] | None:
    """The slopes [m/s/N] of all branches with these members in motion, and what to add to the
    flows [m/s] for it.

    Parameters
    ----------
    u, q, slope
        Drive, flow and slope of all branches, shape (n_branches,).

    Returns
    -------
    tuple or None
        With slopes `s` and additions `a`, Newton's step for the flows q + a is the one that
        the members take on the steep part of their law. None if all of them are there.
    """
    steepness, above, below = network.parameters["deadband"][:3, moving.rows]
    edge = np.where(moving.outwards, above, below)
    rows = moving.rows + network.start["deadband"]
    flat = (slope[rows] == 0.0) & np.isfinite(edge)
    if not flat.any():
        return None
    rows = rows[flat]
    slopes, added = slope.copy(), np.zeros(network.branches)
    slopes[rows] = steepness[flat]
    added[rows] = steepness[flat] * (u[rows] - edge[flat]) - q[rows]
    return slopes, added
