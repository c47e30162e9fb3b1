"""What moving members resist with where they stand, and the limits of their velocity in a step."""

from __future__ import annotations

from typing import NamedTuple

from analysis.compiled import compiled
from analysis.compiled.equations import Array, Index


class Members(NamedTuple):
    """The moving members of a network, row by row.

    `rows` are theirs among the `deadband` branches, `travel` in m or rad. Each resists with its
    load, a spring (`preload` at its start, rising by `rate`) and friction either way [N, N/m; or
    N m, N m/rad]. The rows of its load's table are `begin[k]` to `begin[k + 1]` of `positions`
    and `forces`: straight between them, and its end values beyond.
    """

    rows: Index
    travel: Array
    friction: Array
    preload: Array
    rate: Array
    begin: Index
    positions: Array
    forces: Array


@compiled
def load(members: Members, k: int, extension: float) -> float:
    """The load of the k-th member [N or N m] at an extension [m or rad]."""
    first, last = members.begin[k], members.begin[k + 1] - 1
    positions, forces = members.positions, members.forces
    found: float = forces[last]
    if extension < positions[first]:
        found = forces[first]
    for row in range(first, last):
        if positions[row] <= extension < positions[row + 1]:
            rise = (forces[row + 1] - forces[row]) / (positions[row + 1] - positions[row])
            found = rise * (extension - positions[row]) + forces[row]
    return found


@compiled
def resistance(members: Members, k: int, extension: float) -> tuple[float, float]:
    """Drive [N or N m] above which the k-th member moves out, and below which it moves in."""
    whole = load(members, k, extension) + (members.preload[k] + members.rate[k] * extension)
    return whole + members.friction[k], whole - members.friction[k]


@compiled
def set_members(
    table: Array, members: Members, extension: Array, velocity: Array, duration: float
) -> None:
    """Set the rows of `deadband` branches for a step [s]: loads where the members will stand, as
    their velocities [m/s or rad/s] foretell, and the velocities that take them to their stops."""
    for k in range(len(members.rows)):
        row, x, travel = members.rows[k], extension[k], members.travel[k]
        ahead = min(max(x + velocity[k] * duration, 0.0), travel)
        above, below = resistance(members, k, ahead)
        table[1, row], table[2, row] = above, below
        table[3, row], table[4, row] = -x / duration, (travel - x) / duration
