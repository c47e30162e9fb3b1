"""The least pressures that the feeds of a region allow where nothing holds it.

A branch that opens at u = crack feeds its far node until that stands at no less than the
near pressure less the crack. So the least pressures are the longest paths from what is
held, found by relaxation. Actuators are left out of that: the result is where the search
for the least pressures starts, and tells which regions are not fed at all.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.constants import ATMOSPHERE
from analysis.network import Array, Index, Network

Flags = NDArray[np.bool_]

_HIGHEST_HEAD = 1e9
"""A pump that would go beyond this [Pa] is limited by something else, or by nothing."""


def find_least(network: Network, loose: Flags, pressure: Array) -> tuple[Array, Flags]:
    """Where the search for the least pressures starts, and for which nodes there is one.

    Parameters
    ----------
    loose
        The nodes that nothing holds, shape (n_nodes,).
    pressure
        Of the others, and those at which the loose nodes balance somehow [Pa], shape
        (n_nodes,).

    Returns
    -------
    tuple
        Pressures [Pa], shape (n_nodes,); flags of the loose nodes in regions that something
        feeds. In a region without any feed no pressure is less likely than another.
    """
    source, sink, crack = _feeds(network, loose)
    least = np.where(loose, -ATMOSPHERE, pressure)
    for _ in range(len(source)):
        before = least.copy()
        np.maximum.at(least, sink, before[source] - crack)
        if np.array_equal(least, before):
            break
    fed = loose & (least > -ATMOSPHERE)
    fed[_pump_outlets(network)] = True
    # the piston between two loose regions keeps its load better where it balanced already
    moved = _spread(network, _on_actuators(network) & loose, loose)
    return np.where(moved, pressure, least), _spread(network, fed & loose, loose)


def _on_actuators(network: Network) -> Flags:
    """The nodes that push on a moving member."""
    part = network.slices["deadband"]
    node, weight = network.node[part], network.weight[part]
    flags = np.zeros(network.count, dtype=bool)
    flags[node[(np.abs(weight) != 1.0) & (weight != 0.0)]] = True
    return flags


def _spread(network: Network, fed: Flags, loose: Flags) -> Flags:
    """`fed`, and all loose nodes that any branch, an actuator too, ties to such a node."""
    tied = (network.weight != 0.0) & loose[network.node]
    rows = np.flatnonzero(tied.sum(axis=1) > 1)
    node, counts = network.node[rows], tied[rows]
    while True:
        alive = (fed[node] & counts).any(axis=1)
        reached = node[alive][counts[alive]]
        if fed[reached].all():
            return fed
        fed[reached] = True


def _pump_outlets(network: Network) -> Index:
    """The nodes into which a pump delivers."""
    part = network.slices["source"]
    flow, _, _, _, cap = network.parameters["source"]
    outlets: Index = network.node[part, 1][(flow > 0.0) & (cap > 0.0)]
    return outlets


def _feeds(network: Network, loose: Flags) -> tuple[Index, Index, Array]:
    """(from, to, opening difference [Pa]) of every passage that can feed a loose node."""
    conducts = np.zeros((2, network.branches), dtype=bool)
    crack = np.zeros((2, network.branches))
    part = network.slices["turbulent"]
    forward, ahead, reverse, back = network.parameters["turbulent"][:4]
    conducts[:, part] = forward > 0.0, reverse > 0.0
    crack[:, part] = ahead, back
    conducts[:, network.slices["pipe"]] = True
    part = network.slices["source"]
    # a pump lifts its outlet until it gives no more flow
    head, _ = network.stall()
    lifts = np.isfinite(head) & (head < _HIGHEST_HEAD)
    conducts[0, part], crack[0, part] = lifts, np.where(lifts, -head, 0.0)
    part = network.slices["deadband"]
    slope, above, below = network.parameters["deadband"][:3]
    conducts[:, part] = slope > 0.0, (slope > 0.0) & np.isfinite(below)
    crack[:, part] = above, -below
    node, weight = network.node, network.weight
    plain = (weight[:, 0] == 1.0) & (weight[:, 1] == -1.0) & (weight[:, 2] == 0.0)
    onward = np.flatnonzero(plain & conducts[0] & loose[node[:, 1]])
    backward = np.flatnonzero(plain & conducts[1] & loose[node[:, 0]])
    return (
        np.concatenate([node[onward, 0], node[backward, 1]]),
        np.concatenate([node[onward, 1], node[backward, 0]]),
        np.concatenate([crack[0, onward], crack[1, backward]]),
    )
