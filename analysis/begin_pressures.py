"""The pressures from which a circuit begins to be worked."""

from __future__ import annotations

from analysis.constants import WITHOUT_LIMIT
from analysis.readings import Readings

_MOST_TRAPPED = 1e8


def begin_pressures(instant: Readings) -> dict[str, float]:
    """Pressures at all ports to start from [Pa]: those of the instant.

    What nothing pins down starts at the least pressure, but under no vacuum; what nothing
    limits starts at none, and will rise.
    """
    least = instant._rounds[-1][0] if instant._rounds else {}
    begin = {}
    for port, pressure in instant.pressures.items():
        if pressure is None:
            pressure = max(least.get(port, 0.0), 0.0)
            pressure = 0.0 if pressure > WITHOUT_LIMIT else min(pressure, _MOST_TRAPPED)
        begin[port] = pressure
    return begin
