"""Steps in which nothing happens, along a procedure that only has to be decided.

`analysis.compiled.quiet_steps` takes them; here is what tells it the bounds within which it may
go on alone, and what takes over where it has got to. All comes out as if each step had been
taken and looked at by itself.
"""

from __future__ import annotations

from collections.abc import Collection
from math import inf
from typing import TYPE_CHECKING, Any

import numpy as np

from analysis.compiled.bounds import Bounds
from analysis.compiled.equations import INDEX
from analysis.compiled.quiet_steps import BY_HAND, TRIED, take_quiet_steps
from analysis.devices import PilotCheck, Shuttle
from analysis.hunting import unloads_at
from analysis.network import Array
from analysis.newton import Outcome, solution_of
from analysis.part import Part
from analysis.pulsation import stiff_at
from analysis.quiet_goals import QuietGoals
from analysis.script import Script

if TYPE_CHECKING:
    from analysis.motion import Motion

_MOST = 64
"""Steps that are taken at once [1]."""
_MOST_MISSED = 32
"""Steps after which at the latest it is tried again where it was in vain."""


class QuietSteps:
    """The quiet steps of one network, between two changes of its levers, faults and outlets.

    Parameters
    ----------
    motion
        That of a run that only has to be decided.
    asked
        The signals that are looked at.
    """

    def __init__(self, motion: Motion, asked: Collection[str]) -> None:
        self.motion, self.stepper = motion, motion.stepper
        self._goals = QuietGoals(motion, asked)
        crossings, pace = motion.crossings, motion.pace
        self._is_possible = (
            not (crossings.rollers or pace.accounts or pace.pulses or motion.sees_all)
            and self._goals.can_be_read
        )
        if not self._is_possible:
            return
        self._in_vain = self._wait = 0
        # hand pumps deliver their mean flow, whatever the length of a step
        motion.handles.set(1.0)
        self._pacing = (
            pace.travel, pace.pressure, pace.growth, pace.imbalance, pace.longest, pace.way,
            pace.to_arrivals,
        )  # fmt: skip
        switches = self.stepper.switches
        self._members = [mover.part.id for mover in self.stepper.movers]
        self._checks = [device for device in switches if isinstance(device, PilotCheck)]
        shuttles = [device for device in switches if isinstance(device, Shuttle)]
        self._shuttles = [shuttle for shuttle in shuttles if not shuttle.stuck]
        self._unloading = crossings.unloading
        self._lay_bounds()

    def take(self, script: Script, end: float, *, may_rest: bool, most: int) -> bool:
        """Go on until something has happened, or is to be looked at; whether it went on at all.

        All steps but the last have been looked at then.

        Parameters
        ----------
        script
            The procedure that is followed.
        end
            Of the run [s].
        may_rest
            Whether the run could be over if all is at rest.
        most
            Steps to take at most.
        """
        if not (self._is_possible and self._may_go()):
            return False
        motion, network = self.motion, self.stepper.network
        before, tallies = motion.before(), self._tallies()
        why, times, values, next_step, found, weighed, duration, error, uncut = take_quiet_steps(
            tuple(network.equations), tuple(network.elimination.order),
            network.elimination.products, network.fixed_pressure, self.stepper.parts,
            tuple(before), self._find_bounds(), self._levels(), tallies, self._goals.find(script),
            self._pacing,
            tuple(self._goals.clock(script, end, may_rest=may_rest)), min(most, _MOST),
        )  # fmt: skip
        taken = len(times)
        if why == BY_HAND and not taken:
            self._in_vain = min(2 * self._in_vain + 1, _MOST_MISSED)
            self._wait = self._in_vain
            return False
        # the step that is to be solved by hand is so at the next call too
        self._in_vain, self._wait = 0, int(why == BY_HAND)
        solution, outcome = solution_of(network, found), Outcome(*weighed)
        if taken:
            self._move(before.extension, tallies, times)
        if why == TRIED:
            self._goals.look(script, times, values)
            motion.take_step(solution, outcome, duration, error, uncut)
        elif taken:
            self._goals.look(script, times[:-1], values[:-1])
            motion.stand(solution, outcome, next_step)
        return True

    def _may_go(self) -> bool:
        """Whether all is as quiet now as these steps take it to be."""
        if self._wait:
            self._wait -= 1
            return False
        motion = self.motion
        return (
            not (motion.limitless or motion.outlets.may_gulp() or motion.is_any_vapour)
            and not any([inlet.limit < inf for inlet in self.stepper.inlets])
            and not any([shuttle.position == 0 for shuttle in self._shuttles])
            and not motion.crossings.unloaders.is_any_hunting()
            and all(map(motion.turns.__contains__, self._members))
        )

    def _lay_bounds(self) -> None:
        """The bounds that stay as they are, and what hand pumps give."""
        stepper, pumps = self.stepper, self.stepper.hand_pumps
        self._inlets = np.array([inlet.node for inlet in stepper.inlets], dtype=INDEX)
        checks = [(d.pilot, d.outlet, d.inlet) for d in self._checks]
        self._check_nodes = np.array(checks, dtype=INDEX).reshape(-1, 3)
        self._ratios = np.array([d.ratio for d in self._checks], dtype=float)
        handles = [(p.ports["outlet"], p.ports["inlet"]) for p in pumps]
        self._handles = np.array(handles, dtype=INDEX).reshape(-1, 2)
        self._stiff_at = np.array([stiff_at(p.settings) for p in pumps], dtype=float)
        rows = [stepper.network.row(p.branches["delivery"]) for p in pumps]
        displacements = np.array([p.settings["displacement"] for p in pumps], dtype=float)
        self._strokes = np.array(rows, dtype=INDEX), displacements
        self._gas = np.array([charge.row for charge in stepper.charges], dtype=INDEX)
        fuses = [stepper.network.row(fuse.branches["main"]) for fuse in stepper.fuses]
        self._fuses = (
            np.array(fuses, dtype=INDEX),
            np.array([self._closes_at(fuse) for fuse in stepper.fuses], dtype=float),
        )
        self._systems = np.array([device.system for device in self._unloading], dtype=INDEX)
        self._tanks = [(tank.part.id, tank.part.settings, tank.brim) for tank in stepper.tanks]
        self._full: set[str] | None = None
        self._stands: tuple[list[Any], ...] = ()
        self._bounds: tuple[Any, ...] = ()

    def _closes_at(self, fuse: Part) -> float:
        """The volume [m3] at which a fuse closes; infinite if it is closed, or does not."""
        if fuse.fault == "stuck_open" or self.motion.moving[fuse.id]["closed"]:
            return inf
        return float(fuse.settings["closing_volume"])

    def _find_bounds(self) -> tuple[Any, ...]:
        """The bounds as valves and handles now stand; the same as before while they do."""
        stiff = self.motion.crossings.stiff.get
        stands = (
            [check.open for check in self._checks],
            [shuttle.position for shuttle in self._shuttles],
            [stiff(pump.id, False) for pump in self.stepper.hand_pumps],
            [device.open for device in self._unloading],
        )
        if stands == self._stands:
            return self._bounds
        self._stands = stands
        levels = [unloads_at(device) for device in self._unloading]
        balls = [s.inlets[::-1] if s.position == 1 else s.inlets for s in self._shuttles]
        self._bounds = tuple(
            Bounds(
                self._inlets, self._check_nodes, self._ratios,
                np.array(stands[0], dtype=bool),
                np.array(balls, dtype=INDEX).reshape(-1, 2), self._handles, self._stiff_at,
                np.array(stands[2], dtype=bool), *self._strokes, self._gas, *self._fuses,
                self._systems, np.array(levels, dtype=float), np.array(stands[3], dtype=bool),
            )
        )  # fmt: skip
        return self._bounds

    def _levels(self) -> tuple[Any, ...]:
        """The outlets: the network is made anew when one is covered or uncovered."""
        outlets = self.motion.outlets
        if self._full != outlets.full:
            self._full = set(outlets.full)
            self._kept_levels = tuple(outlets.levels(self._tanks))
        return self._kept_levels

    def _tallies(self) -> Array:
        """What goes on from step to step, as `analysis.compiled.bounds.Course` has it."""
        motion = self.motion
        turns = [motion.turns[identifier] for identifier in self._members]
        return np.array(
            [turn.place for turn in turns]
            + [turn.time for turn in turns]
            + [float(turn.direction) for turn in turns]
            + [motion.moving[identifier]["volume"] for identifier, _, _ in self._tanks]
            + [motion.strokes[pump.id] for pump in self.stepper.hand_pumps]
            + [motion.moving[charge.part.id]["fluid_volume"] for charge in self.stepper.charges]
            + [motion.moving[fuse.id]["passed"] for fuse in self.stepper.fuses],
            dtype=float,
        )

    def _move(self, extension: Array, tallies: Array, times: Array) -> None:
        """Take over where members, levels and strokes have got to."""
        motion, stepper, told = self.motion, self.stepper, tallies.tolist()
        count = len(stepper.movers)
        for number, (mover, x) in enumerate(zip(stepper.movers, extension.tolist(), strict=True)):
            state, turn = motion.moving[mover.part.id], motion.turns[mover.part.id]
            turn.place, turn.time = told[number], told[count + number]
            if x != state["extension"]:
                # it is off its stops: steps that come to one are not quiet
                state["extension"] = mover.part.state["extension"] = x
                for lock in mover.locks:
                    motion.locks.leave(lock.owner, lock.end)
        counts = iter(told[3 * count :])
        for tank in stepper.tanks:
            motion.moving[tank.part.id]["volume"] = tank.part.state["volume"] = next(counts)
        for pump in stepper.hand_pumps:
            motion.strokes[pump.id] = next(counts)
        for charge in stepper.charges:
            state = motion.moving[charge.part.id]
            state["fluid_volume"] = charge.part.state["fluid_volume"] = next(counts)
        for fuse in stepper.fuses:
            motion.moving[fuse.id]["passed"] = next(counts)
        motion.time = float(times[-1])
        motion.steps += len(times)
