"""What hangs on two holders of pressure that nothing but lossless lines lies between.

At that point there is no one pressure. Whatever is joined to it by lines and parts has none
either, up to where something else holds the pressure: also behind what is shut now, for the
other pressure might open it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.assemble import Assembly


def find_conflicted(assembly: Assembly) -> NDArray[np.bool_] | None:
    """Flags of the nodes whose pressure hangs on a conflict, shape (n_nodes,); None if none."""
    if not assembly.builder.conflicts:
        return None
    network = assembly.network
    flags = np.zeros(network.count, dtype=bool)
    flags[list(assembly.builder.conflicts)] = True
    joins = network.weight != 0.0
    passes = np.ones(network.branches, dtype=bool)
    forward, _, reverse, _, _ = network.parameters["turbulent"]
    passes[network.slices["turbulent"]] = (forward > 0.0) | (reverse > 0.0)
    while True:
        hit = passes & (flags[network.node] & joins).any(axis=1)
        reached = np.unique(network.node[hit][joins[hit]])
        new = reached[~network.is_fixed[reached] & ~flags[reached]]
        if not len(new):
            return flags
        flags[new] = True
