"""Pressures and vapour from one network of a motion to the next: by port, since nodes change."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from analysis.assemble import Assembly
from analysis.network import Array


def at_nodes(
    assembly: Assembly, pressures: Mapping[str, float], vapours: Mapping[str, float]
) -> tuple[Array, Array]:
    """Pressures [Pa] and vapour [m3] of all nodes, from those at the ports.

    Held nodes are at what holds them, and have no vapour. The middle of a line that leaks is
    between its ends.
    """
    network, fixed = assembly.network, assembly.builder.fixed
    pressure = network.fixed_pressure.tolist()
    vapour = [0.0] * network.count
    free = [own for own in assembly.builder.nodes.items() if own[1] not in fixed]
    for port, node in free:
        pressure[node] = pressures.get(port, 0.0)
    if any(vapours.values()):
        for port, node in free:
            vapour[node] = max(vapour[node], vapours.get(port, 0.0))
    for laid in assembly.lines.values():
        if laid.second is not None and laid.branch is not None:
            middle = network.node[network.row(laid.branch), 1]
            pressure[middle] = 0.5 * (pressures[laid.start] + pressures[laid.end])
    return np.array(pressure), np.array(vapour)
