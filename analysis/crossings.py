"""What happens between two steps: stops, locks, levels, switching valves, fuses, rollers.

`first` tells which part of a trial step goes by before the first of them, so that the
step can be cut there; `happen` then lets them happen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from analysis.compiled.bounds import NO_WAY, SLACK, TREMBLE
from analysis.compiled.levels import level_share
from analysis.compiled.trials import lets_go_at, share_to
from analysis.constants import NEAR_EVENT, WITHOUT_LIMIT
from analysis.devices import PilotCheck, Shuttle, Unloading
from analysis.hunting import Unloaders
from analysis.machine import Mover, Tank
from analysis.newton import Outcome, Solution
from analysis.part import Part
from analysis.pulsation import stiff_at
from analysis.recording import Event
from analysis.resolved import position_of, resolve_element, trip_point

if TYPE_CHECKING:
    from analysis.motion import Motion

NOTHING_LIMITS = "delivers into a closed circuit and nothing limits the pressure: no reading"
_FLUTTER = 0.5
"""A ball that would go back within this time [s] floats, for at least as long."""
_BEYOND = 1e-6
"""Share of a fuse's volume, or of a travel, by which a step ends beyond a point, not before it."""


@dataclass
class Turn:
    """Where [m] and when [s] a member last turned or stood, and its direction since."""

    place: float
    time: float
    direction: int = 0


class Crossings:
    """The events of one network. Made anew whenever the network is."""

    def __init__(self, motion: Motion) -> None:
        self.motion = motion
        parts = motion.assembly.parts.values()
        self.movers, self.switches = motion.stepper.movers, motion.stepper.switches
        self.fuses, self.hand_pumps = motion.stepper.fuses, motion.stepper.hand_pumps
        self.pumps = [p for p in parts if p.kind == "fixed_pump" and "delivery" in p.branches]
        motion.limitless &= {p.id for p in self.pumps}
        self.rollers = [
            c
            for c in motion.circuit.components.values()
            if c.settings.get("operator") == "roller" and "position" in c.declared.states
        ]
        self.positions = {c.id: position_of(motion.circuit, c, motion.moving) for c in self.rollers}
        self.unloaders = Unloaders(motion)
        self.unloading = [device for device in self.switches if isinstance(device, Unloading)]
        self.stiff: dict[str, bool] = {}
        self.let_go = False
        """Whether a lock let go at the last step."""

    def finest(self) -> float:
        """Steps of this length [s] are fine enough, however much changes in them."""
        return self.unloaders.finest() if self.unloading and not self.let_go else 0.0

    # -- before a step is accepted ---------------------------------------------------

    def first(self, solution: Solution, outcome: Outcome, duration: float) -> float:
        """The least share of the step after which something happens; 1 if nothing does."""
        shares = [outcome.share]
        for tank, drawn in zip(self.motion.stepper.tanks, outcome.drawn.tolist(), strict=True):
            # what an outlet gives beyond its mouth would be fluid from nowhere
            if drawn or self.motion.outlets.since:
                shares.append(self._level_share(tank, -drawn, duration))
        if self.fuses:
            fuses = [self._fuse_share(part, solution, duration) for part in self.fuses]
            shares += [share for share in fuses if share < 0.999]
        if self.rollers:
            rollers = self._roller_shares(solution, duration)
            shares += [share for share in rollers if share < 0.999]
        for device in self.unloading:
            shares.append(self.unloaders.share(device, solution, duration))
        if outcome.highest >= WITHOUT_LIMIT or self.motion.limitless:
            shares += [self._limit_share(part, solution) for part in self.pumps]
        return min(shares)

    def _level_share(self, tank: Tank, rate: float, duration: float) -> float:
        """When the level that changes at that rate [m3/s] gets to a mouth, or to the brim."""
        motion, part = self.motion, tank.part
        volume = motion.moving[part.id]["volume"]
        if motion.outlets.is_between(part.id, part.settings, volume, volume + rate * duration):
            return 1.0
        levels = motion.outlets.levels([(part.id, part.settings, tank.brim)])
        return level_share(levels, 0, volume, rate, duration, motion.time)

    def _fuse_share(self, part: Part, solution: Solution, duration: float) -> float:
        """When its closing volume has passed: a fuse that closes late has let more through."""
        state = self.motion.moving[part.id]
        network = self.motion.assembly.network
        volume = float(solution.q[network.row(part.branches["main"])]) * duration
        closing = part.settings["closing_volume"]
        to_go = closing - state["passed"]
        if state["closed"] or part.fault == "stuck_open" or not 0.0 < to_go < volume:
            return 1.0
        return float((to_go + _BEYOND * closing) / volume)

    def _roller_shares(self, solution: Solution, duration: float) -> Iterator[float]:
        """When the rod comes to the trip point of a roller, or leaves it."""
        movers = {mover.part.id: mover for mover in self.motion.stepper.movers}
        for component in self.rollers:
            mover = movers.get(str(component.settings.get("tripped_by")))
            trip = resolve_element(component).settings.get("trips_at")
            if mover is None or trip is None:
                continue
            x = self.motion.moving[mover.part.id]["extension"]
            way = self.motion.stepper.velocity(mover, solution) * duration
            to_go = trip_point(trip) - x
            if to_go * way > 0.0 and abs(to_go) < abs(way):
                yield float((abs(to_go) + _BEYOND * mover.travel) / abs(way))

    def _limit_share(self, pump: Part, solution: Solution) -> float:
        """When the pressure of a pump goes beyond all limits."""
        if pump.id in self.motion.limitless:
            return 1.0
        node = pump.ports["outlet"]
        before, after = float(self.motion.pressure[node]), float(solution.pressure[node])
        return share_to(WITHOUT_LIMIT, before, after, NEAR_EVENT)

    # -- after it --------------------------------------------------------------------

    def happen(self, solution: Solution, outcome: Outcome) -> bool:
        """Let everything happen that now does; whether anything changed the equations."""
        changed = self.let_go = False
        pressure = solution.pressure.tolist()
        for mover, velocity in zip(self.movers, outcome.velocity.tolist(), strict=True):
            if outcome.stirs or not (self._goes_on(mover) if velocity else self._rests(mover)):
                changed |= self._stops_and_locks(mover, pressure)
        for device in self.switches:
            changed |= self._switch(device, pressure)
        if self.hand_pumps:
            self._feel_handles(pressure)
        if self.motion.limitless or outcome.highest > WITHOUT_LIMIT - NEAR_EVENT:
            self._feel_limits(pressure)
        rebuild = self._levels()
        if self.fuses or self.rollers:
            rebuild |= self._fuses() | self._rollers()
        if rebuild:
            self.motion.rebuild()
        return changed or rebuild

    def _rests(self, mover: Mover) -> bool:
        """Whether a member that did not move stands where it was last seen; takes that in."""
        turn = self.motion.turns.get(mover.part.id)
        if turn is None or turn.place != self.motion.moving[mover.part.id]["extension"]:
            return False
        if not turn.direction:
            turn.time = self.motion.time
        return True

    def _goes_on(self, mover: Mover) -> bool:
        """Whether a member is on its way as it was before, off its stops, or hardly moves where it
        stood; takes that in."""
        turn = self.motion.turns.get(mover.part.id)
        if turn is None:
            return False
        x, travel = self.motion.moving[mover.part.id]["extension"], mover.travel
        ahead = x - turn.place
        trembles = not turn.direction and abs(ahead) <= TREMBLE * travel
        if not trembles and not turn.direction * ahead > 0.0:
            return False
        if not SLACK * travel < x < travel - SLACK * travel:
            return False
        if not all(self.motion.locks.has_left(lock.owner, lock.end) for lock in mover.locks):
            return False
        if not trembles or abs(ahead) < NO_WAY * travel:
            turn.place, turn.time = x, self.motion.time
        return True

    def _stops_and_locks(self, mover: Mover, pressures: list[float]) -> bool:
        motion, identifier = self.motion, mover.part.id
        x = motion.moving[identifier]["extension"]
        slack = SLACK * mover.travel
        at = "retracted" if x <= slack else "extended" if x >= mover.travel - slack else ""
        changed = self._directions(identifier, x, at, mover.travel)
        for lock in mover.locks:
            there = lock.end == at
            if not there:
                motion.locks.leave(identifier, lock.end)
            left = there and motion.locks.has_left(identifier, lock.end)
            if not (lock.held or left):
                continue
            pressure = pressures[lock.port]
            if lock.held and pressure >= lets_go_at(lock.release_pressure):
                lock.release(motion.assembly.network)
                motion.locks.mark(identifier, lock.end, released=True)
                self.let_go = True
                motion.tell(identifier, f"lock releases, {lock.end}")
                changed = True
            elif not lock.held and left and pressure < lock.release_pressure:
                lock.hold(motion.assembly.network)
                motion.locks.mark(identifier, lock.end, released=False)
                motion.tell(identifier, f"lock engages, {lock.end}")
                changed = True
        return changed

    def _directions(self, identifier: str, x: float, at: str, travel: float) -> bool:
        """Tell of a movement once it is one, not of every tremble; whether a stop was reached."""
        turn = self.motion.turns.setdefault(identifier, Turn(x, self.motion.time))
        ahead = x - turn.place
        stands = not turn.direction and (bool(at) or abs(ahead) < NO_WAY * travel)
        if turn.direction * ahead > 0.0 or stands:
            turn.place, turn.time = x, self.motion.time
        elif abs(ahead) > TREMBLE * travel:
            turn.direction = 1 if ahead > 0.0 else -1
            word = "extends" if ahead > 0.0 else "retracts"
            self.motion.events.append(Event(turn.time, identifier, word))
            turn.place, turn.time = x, self.motion.time
        if at and turn.direction:
            self.motion.tell(identifier, f"reaches its stop, {at}")
            turn.direction = 0
            turn.place, turn.time = x, self.motion.time
            return True
        return False

    def _switch(self, device: object, p: list[float]) -> bool:
        motion, network = self.motion, self.motion.assembly.network
        if isinstance(device, Unloading):
            return self.unloaders.settle(device, p[device.system])
        if isinstance(device, PilotCheck):
            holds = device.ratio * p[device.pilot] > p[device.outlet] - p[device.inlet] + 1.0
            if holds != device.open:
                device.open = holds
                row = device.branch.row
                network.parameters["turbulent"][2, row] = device.passage if holds else 0.0
                return True
        elif isinstance(device, Shuttle) and not device.stuck:
            wanted = self._wanted_side(device, p)
            if wanted != device.position:
                device.switch(network, wanted)
                motion.switched[device.owner] = wanted
                motion.shifted[device.owner] = motion.time
                return True
        return False

    def _wanted_side(self, device: Shuttle, pressure: list[float]) -> int:
        """Where the ball of a shuttle goes: to an inlet of lower pressure, or (0) it floats.

        Where either place makes the other inlet the higher one it would change over at every
        step; then both inlets feed, until one of them does so no longer.
        """
        one, two = pressure[device.inlets[0]], pressure[device.inlets[1]]
        if (device.position == 1 and two <= one) or (device.position == 2 and one <= two):
            return device.position
        higher = 2 if two > one + 100.0 else 1 if one > two + 100.0 else device.position
        lately = self.motion.time - self.motion.shifted.get(device.owner, -inf) < _FLUTTER
        if device.position:
            return 0 if lately and higher != device.position else higher
        outlet = pressure[device.outlet]
        feeding = (one > outlet) + (two > outlet)
        if feeding == 2 or (feeding == 1 and lately):
            return 0
        return 2 if two > one else 1

    def _feel_handles(self, p: list[float]) -> None:
        for part in self.hand_pumps:
            limit = stiff_at(part.settings)
            across = p[part.ports["outlet"]] - p[part.ports["inlet"]]
            stiff = bool(across >= 0.999 * limit)
            if stiff and not self.stiff.get(part.id, False):
                self.motion.tell(part.id, "the handle goes stiff: the effort limit is reached")
            if stiff:
                self.motion.handles.mark_stiff(part.id)
            eased = across < 0.95 * limit and self.motion.handles.is_eased(part.id)
            self.stiff[part.id] = stiff or (self.stiff.get(part.id, False) and not eased)

    def _feel_limits(self, pressures: list[float]) -> None:
        """Tell once of a pump that nothing limits, until its pressure is well below again."""
        for part in self.pumps:
            pressure = pressures[part.ports["outlet"]]
            if pressure > WITHOUT_LIMIT - NEAR_EVENT and part.id not in self.motion.limitless:
                self.motion.limitless.add(part.id)
                self.motion.tell(part.id, NOTHING_LIMITS)
            elif pressure < 0.5 * WITHOUT_LIMIT:
                self.motion.limitless.discard(part.id)

    def _levels(self) -> bool:
        changed = False
        outlets = self.motion.outlets
        for part in (tank.part for tank in self.motion.stepper.tanks):
            volume = self.motion.moving[part.id]["volume"]
            if outlets.is_between(part.id, part.settings, volume, volume):
                continue
            for told in outlets.look(part.id, part.settings, volume, self.motion.time):
                self.motion.tell(part.id, told)
                changed = True
        return changed

    def _fuses(self) -> bool:
        changed = False
        for part in self.fuses:
            state = self.motion.moving[part.id]
            if part.fault == "stuck_open" or state["closed"]:
                continue
            if state["passed"] >= part.settings["closing_volume"]:
                state["closed"] = True
                self.motion.tell(part.id, "closes: its closing volume has passed")
                changed = True
        return changed

    def _rollers(self) -> bool:
        changed = False
        for component in self.rollers:
            now = position_of(self.motion.circuit, component, self.motion.moving)
            if now != self.positions[component.id]:
                self.positions[component.id] = now
                self.motion.tell(component.id, f"is tripped to {now}")
                changed = True
        return changed
