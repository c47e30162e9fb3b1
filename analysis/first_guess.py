"""Pressures to start from where no earlier solution is at hand: a few linear solves.

Newton's method finds the answer from any start, but from zero pressure it spends most of
its steps on finding out which valves open at all. Here each branch is first replaced by
a straight line: a passage by its chord, which a square root follows far better than its
tangent at zero; a relief valve as if it were open; an actuator as if it moved. Solved, the
lines are drawn anew through the flows at those pressures, a few times over. This is
successive substitution, which need not converge; what it ends with is a start and no more.
"""

from __future__ import annotations

from analysis.compiled.chords import guess
from analysis.network import Array, Network


def guess_pressures(network: Network) -> Array:
    """Pressures of all nodes [Pa] near the solution, as a rule; shape (n_nodes,)."""
    elimination = network.elimination
    return guess(network.equations, elimination.order, elimination.products, network.fixed_pressure)
