"""Hand pumps that deliver by strokes: where the handle is in its cycle, and what it gives there.

The handle swings to and fro like a crank: its way is (1 - cos 2 pi c) / 2 after c cycles, so
its speed is a sine. A double-acting pump delivers half its displacement on the way there and
half on the way back, a single-acting one all of it on the way there. Over a cycle either
gives its displacement, so that the mean is displacement * rate. The largest flow is pi / 2
times the mean for double acting and pi times for single acting.

What goes out is taken as drawn in at the same time: over a cycle it is.
"""

from __future__ import annotations

from math import acos, cos, floor, inf, pi
from typing import TYPE_CHECKING, Any

from analysis.laws.pumps import hand_pump_flow
from analysis.part import Part

if TYPE_CHECKING:
    from analysis.motion import Motion
    from analysis.newton import Solution

_STEPS = 24
"""Steps that a cycle of the handle takes at least [1]: eight would still show its crests."""


def delivered(cycles: float, acting: str) -> float:
    """Volume delivered since the start of the first cycle, in displacements [1].

    Parameters
    ----------
    cycles
        Cycles of the handle since then [1], there and back; not negative.
    acting
        `double` or `single`.

    Examples
    --------
    >>> [round(delivered(cycles, "double"), 3) for cycles in (0.25, 0.5, 0.75, 1.0)]
    [0.25, 0.5, 0.75, 1.0]
    >>> [round(delivered(cycles, "single"), 3) for cycles in (0.25, 0.5, 0.75, 1.0)]
    [0.5, 1.0, 1.0, 1.0]
    """
    ways = 2.0 * cycles
    whole = floor(ways)
    part = 0.5 * (1.0 - cos(pi * (ways - whole)))
    if acting == "double":
        return 0.5 * (whole + part)
    return whole // 2 + (1.0 if whole % 2 else part)


def cycles_at(volume: float, acting: str) -> float:
    """Cycles of the handle [1] at which so many displacements were delivered: the first such.

    >>> round(cycles_at(delivered(3.2, "single"), "single"), 6)
    3.2
    """
    ways = 2.0 * volume if acting == "double" else volume
    whole = floor(ways)
    part = acos(1.0 - 2.0 * (ways - whole)) / pi
    return 0.5 * (whole + part) if acting == "double" else whole + 0.5 * part


def pulsates(part: Part) -> bool:
    """Whether a part is a hand pump whose flow follows its handle."""
    return part.kind == "hand_pump" and part.settings["pulsation"] == "strokes"


def is_returning(part: Part) -> bool:
    """Whether the handle comes back free of load, as that of a single-acting pump does."""
    if not pulsates(part) or part.settings["acting"] == "double":
        return False
    cycles = float(part.state.get("cycles", 0.0))
    return cycles - floor(cycles) >= 0.5


def stiff_at(settings: dict[str, Any]) -> float:
    """The difference of pressure [Pa] at which the effort limit of a hand pump is reached."""
    limit: float = settings["effort_limit"] * settings["lever_ratio"] / settings["piston_area"]
    return limit


class Handles:
    """The handles of one network. Made anew whenever the network is.

    The cycles of each pump are kept in the motion (`moving[ID]["cycles"]`), and so are its
    moments.
    """

    def __init__(self, motion: Motion) -> None:
        self.motion = motion
        self.pumps = [
            part
            for part in motion.assembly.parts.values()
            if pulsates(part) and "delivery" in part.branches and part.id not in motion.stepper.dry
        ]
        self._stiff: dict[str, float] = {}

    @property
    def longest(self) -> float:
        """The longest step [s] that still shows the strokes; infinite where there are none."""
        if not self.motion.pace.pulses:
            return inf
        return min((1.0 / (_STEPS * p.settings["rate"]) for p in self.pumps), default=inf)

    def set(self, duration: float) -> None:
        """Let the pumps deliver what their handles give, on average over a step [s] from now."""
        table = self.motion.assembly.network.parameters["source"]
        for part in self.pumps:
            s = part.settings
            share = 1.0
            if self.motion.pace.pulses:
                share = self._asked(part, duration) / (s["rate"] * duration)
            mean = hand_pump_flow(s["displacement"], s["rate"])
            table[0, part.branches["delivery"].row] = mean * share

    def _asked(self, part: Part, duration: float) -> float:
        """What the handle would give over the step, in displacements [1]."""
        now, acting = self.motion.moving[part.id]["cycles"], part.settings["acting"]
        ahead = now + part.settings["rate"] * duration
        return delivered(ahead, acting) - delivered(now, acting)

    def move(self, solution: Solution, duration: float) -> None:
        """Move the handles on by a step [s]; one that is held back goes as far as the fluid."""
        if not self.motion.pace.pulses:
            return
        network = self.motion.assembly.network
        table = network.parameters["source"]
        for part in self.pumps:
            s, state = part.settings, self.motion.moving[part.id]
            branch = part.branches["delivery"]
            now = state["cycles"]
            ahead = now + s["rate"] * duration
            row = network.row(branch)
            first, _, limit, slope, _ = table[:, branch.row]
            if limit + slope * solution.u[row] < first:
                given = max(float(solution.q[row]), 0.0) * duration / s["displacement"]
                reached = cycles_at(delivered(now, s["acting"]) + given, s["acting"])
                ahead = min(max(reached, now), ahead)
            state["cycles"] = part.state["cycles"] = ahead

    def mark_stiff(self, pump: str) -> None:
        """The handle of a pump is at the effort limit now."""
        self._stiff[pump] = self._cycles(pump)

    def is_eased(self, pump: str) -> bool:
        """Whether it has been worked a whole cycle without being so; at once if it is steady."""
        return self._cycles(pump) >= self._stiff.get(pump, 0.0) + 1.0

    def _cycles(self, pump: str) -> float:
        steady = not self.motion.pace.pulses or all(part.id != pump for part in self.pumps)
        return inf if steady else float(self.motion.moving[pump]["cycles"])
