"""Why a reading has no value, in words: the same at an instant and over time."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.motion import Motion

NO_LIMIT = "nothing limits the pressure here"
NO_LOSS = "nothing limits the flow here: there is no loss on its way"
OPEN_FLOW = "lines without loss leave this flow open"
DISPUTED = "it hangs on a point that is held at two pressures without any loss between"
RUPTURED = "the line is ruptured: what reaches it is spilt"
ABSENT = "there is nothing of this name to read at some of the times"


def why_none(motion: Motion, signal: str) -> str:
    """Why a signal of a circuit in motion has no value now.

    Parameters
    ----------
    signal
        Its name, as in `Motion.signals`; it is taken that it has none.
    """
    owner, _, what = signal.rpartition(".")
    if what == "pressure":
        return NO_LIMIT
    if what == "inflow":
        return OPEN_FLOW
    if what == "flow":
        laid = motion.assembly.lines.get(owner)
        return RUPTURED if laid is not None and laid.fault == "ruptured" else OPEN_FLOW
    if signal not in motion.signals([signal]):
        return ABSENT
    part = motion.assembly.parts.get(owner)
    pressures = motion.pressures()
    ports = [f"{owner}.{port}" for port in part.ports] if part is not None else []
    unlimited = [port for port in ports if pressures[port] is None]
    if unlimited:
        return f"nothing limits the pressure at {unlimited[0]}"
    return ABSENT
