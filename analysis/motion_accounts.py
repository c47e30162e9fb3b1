"""Volume and energy accounts of a run: what went in, out and into store."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from analysis.network import Array
from analysis.newton import Solution
from analysis.part_readings import areas
from analysis.recording import Accounts

if TYPE_CHECKING:
    from analysis.motion import Motion


class AccountKeeper:
    """Adds up, step by step, from the flows; closes against the volumes that are there."""

    def __init__(self, motion: Motion) -> None:
        self.motion = motion
        self.book = Accounts()
        self._begin = 0.0
        self._compressed = 0.0
        self._exchanged = 0.0

    def _present(self) -> float:
        """Fluid in reservoirs, accumulators and chambers now [m3]."""
        total = 0.0
        for part in self.motion.assembly.parts.values():
            state = self.motion.moving.get(part.id, {})
            total += state.get("volume", 0.0) + state.get("fluid_volume", 0.0)
        for mover in self.motion.stepper.movers:
            x = self.motion.moving[mover.part.id]["extension"]
            for _, area in areas(mover.part):
                total += abs(area) * (x if area > 0.0 else mover.travel - x)
        return total

    def levels_set(self) -> None:
        """It begins, or states were set from outside: what they brought is no error."""
        self._begin = self._present() + self._compressed + self._exchanged

    def spill(self, volume: float) -> None:
        """Fluid [m3] ran out of a reservoir over the mouth of a broken outlet."""
        self._exchanged += volume
        self.book.lost += volume

    def draw_air(self, volume: float) -> None:
        """An empty reservoir gave what was asked of it [m3]: it is air, and no fluid."""
        self._exchanged -= volume

    def add(self, solution: Solution, duration: float, capacity: Array) -> None:
        """Take one step into account, before the states move on."""
        motion = self.motion
        network = motion.assembly.network
        free = network.free
        rise = solution.pressure[free] - motion.pressure[free]
        self._compressed += float((capacity[free] * rise).sum())
        # what no node keeps: leaks, open lines, vapour, sources that are no reservoirs
        leaving = network.outflow(solution.q)
        balance = leaving[free] * duration + capacity[free] * rise
        self._exchanged += -float(balance.sum())
        for node, held in motion.assembly.builder.fixed.items():
            if node == 0 or held.sort in ("air", "source"):
                self._exchanged -= float(leaving[node]) * duration
                if node == 0 or held.sort == "air":
                    self.book.lost -= float(leaving[node]) * duration
        self._energy(solution, duration, capacity)

    def _energy(self, solution: Solution, duration: float, capacity: Array) -> None:
        """Work of every branch over the step: drive times flow."""
        motion = self.motion
        network = motion.assembly.network
        work = solution.u * solution.q * duration
        source, gas = network.slices["source"], network.slices["gas"]
        self.book.delivered -= float(work[source].sum())
        self.book.stored += float(work[gas].sum())
        strokes = 0.0
        for number, mover in enumerate(motion.stepper.movers):
            row = network.slices["deadband"].start + mover.row
            velocity = float(solution.q[row])
            middle = motion.moving[mover.part.id]["extension"] + 0.5 * velocity * duration
            load = 0.5 * sum(motion.stepper.resistance(number, middle))
            self.book.load_work += load * velocity * duration
            # what the stop takes is spent there
            strokes += float(work[row]) - load * velocity * duration
        passive = np.ones(network.branches, dtype=bool)
        passive[source] = passive[gas] = False
        for mover in motion.stepper.movers:
            passive[network.slices["deadband"].start + mover.row] = False
        self.book.dissipated += float(work[passive].sum()) + strokes
        free = network.free
        rise = solution.pressure[free] - motion.pressure[free]
        self.book.stored += float((capacity[free] * rise * solution.pressure[free]).sum())
        leaving = network.outflow(solution.q)
        # a void holds the atmosphere off; what is left of a balance is that, and seepage
        void = -leaving[free] * duration - capacity[free] * rise
        self.book.stored += float((void * solution.pressure[free]).sum())
        for node, held in motion.assembly.builder.fixed.items():
            given = float(leaving[node]) * held.pressure * duration
            self.book.delivered += given

    def close(self) -> Accounts:
        """The accounts so far."""
        now = self._present() + self._compressed + self._exchanged
        self.book.volume_error = now - self._begin
        self.book.volume_scale = abs(self._begin)
        return self.book
