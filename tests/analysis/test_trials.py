"""How a trial step is weighed, with numbers worked out by hand."""

import numpy as np
import pytest

from analysis import Circuit
from analysis.compiled.trials import share_to
from analysis.motion import Motion
from analysis.newton import Outcome, Solution, weigh_time_step
from tests.analysis.redundant_press import redundant_press

TRAVEL = 0.400
RELEASE = 20e5
EXACTLY = (0.01, 3e-4)
"""What may be wrong: of a pressure, and of the travel [1]."""


class Bench:
    """A press whose ram is locked when retracted, and a step of it that is made up."""

    def __init__(self, circuit: Circuit | None = None) -> None:
        locked = {"lock": "retracted", "lock_release_pressure": "20 bar"}
        self.motion = Motion(circuit or redundant_press(**locked))
        stepper = self.motion.stepper
        self.network, self.machine = stepper.network, stepper.machine
        self.pressure = np.zeros(self.network.count)
        self.before = stepper.before(self.pressure, self.pressure, np.array([0.2]), None)
        self.now = self.pressure.copy()
        self.flows = np.zeros(self.network.branches)

    def node(self, port: str) -> int:
        return self.motion.assembly.node(port)

    def move(self, before: float, now: float) -> None:
        """Let the ram go at so many m/s before the step, and in it."""
        self.before = self.before._replace(velocity=np.array([before]))
        self.flows[self.machine.flow_row[0]] = now

    def stand(self, extension: float, *, held: bool) -> None:
        self.before = self.before._replace(
            extension=np.array([extension]), held=np.array([held], dtype=bool)
        )

    def weigh(self, duration: float) -> Outcome:
        none = np.zeros(self.network.branches)
        solution = Solution(
            self.now, none, self.flows, none, 0.0, 0, 0, True, self.network.all_determined
        )
        return weigh_time_step(self.network, self.machine, self.before, solution, duration, EXACTLY)


def test_an_error_of_pressure_is_its_share_of_the_highest():
    """30 bar foretold and 30.6 bar come to: 0.6 of 30 bar are twice the hundredth allowed."""
    bench = Bench()
    cap = bench.node("1A1.cap")
    before, rate = bench.pressure.copy(), bench.pressure.copy()
    before[cap], rate[cap] = 30e5, 10e5
    bench.before = bench.before._replace(pressure=before, rate=rate)
    bench.now[cap] = 30e5 + 10e5 * 0.1 + 0.6e5
    outcome = bench.weigh(0.1)
    assert outcome.error == pytest.approx(2.0)
    assert outcome.rate[cap] == pytest.approx(16e5)
    assert (outcome.lowest, outcome.highest) == (0.0, pytest.approx(31.6e5))


def test_below_10_bar_errors_of_pressure_are_measured_by_that():
    """Nothing stood under pressure: 0.2 bar off are twice the hundredth of 10 bar."""
    bench = Bench()
    bench.now[bench.node("1A1.cap")] = 0.2e5
    assert bench.weigh(0.1).error == pytest.approx(2.0)


def test_an_error_of_travel_is_what_the_velocity_strayed():
    """60 mm/s foretold and 63 come to, for 0.1 s: 0.3 mm of 400 mm, 2.5 times what is allowed."""
    bench = Bench()
    bench.move(before=0.060, now=0.063)
    outcome = bench.weigh(0.1)
    assert outcome.error == pytest.approx(2.5)
    assert outcome.fastest == pytest.approx(0.063 / TRAVEL)


@pytest.mark.parametrize(
    ("extension", "velocity", "duration", "share"),
    [
        # 100 mm to go at 50 mm/s
        (0.3, 0.05, 4.0, 0.5),
        (0.1, -0.05, 4.0, 0.5),
        # not there yet
        (0.3, 0.05, 1.9, 1.0),
        # so late that it makes no difference: it is put where it belongs
        (0.3, 0.05, 2.01, 1.0),
        # there already
        (0.4, 0.05, 4.0, 1.0),
    ],
)
def test_a_step_ends_where_the_ram_comes_to_its_stop(extension, velocity, duration, share):
    """At the velocity of before: in the step itself it is stopped."""
    bench = Bench()
    bench.stand(extension, held=False)
    travelled = min(max(extension + velocity * duration, 0.0), TRAVEL) - extension
    bench.move(before=velocity, now=travelled / duration or velocity)
    assert bench.weigh(duration).share == pytest.approx(share)


def test_a_step_ends_just_beyond_the_pressure_that_lets_a_lock_go():
    """From nothing to 40 bar, released at 20: after half of it and half of the 200 Pa allowed."""
    bench = Bench()
    bench.stand(0.0, held=True)
    bench.now[bench.node("1A1.cap")] = 2 * RELEASE
    outcome = bench.weigh(0.1)
    assert outcome.share == pytest.approx((RELEASE + 100.0) / (2 * RELEASE))
    assert outcome.stirs


@pytest.mark.parametrize(
    ("extension", "held", "pressure", "stirs"),
    [
        (0.0, True, RELEASE - 30.0, False),
        (0.0, True, RELEASE - 10.0, True),
        (0.0, False, RELEASE + 1.0, False),
        (0.0, False, RELEASE - 1.0, True),
        (0.2, False, RELEASE - 1.0, False),
    ],
)
def test_a_lock_stirs_where_it_could_let_go_or_engage(extension, held, pressure, stirs):
    """It lets go 20 Pa below its pressure at the earliest, and engages a ram that is there."""
    bench = Bench()
    bench.stand(extension, held=held)
    bench.before.pressure[bench.node("1A1.cap")] = pressure
    bench.now[bench.node("1A1.cap")] = pressure
    assert bench.weigh(0.1).stirs is stirs


def test_what_leaves_a_reservoir_is_the_flow_of_all_that_draw_from_it():
    """Two suction lines draw, and two relief lines and the rod's return: all of its own lines."""
    bench = Bench()
    lines = bench.motion.assembly.lines
    for identifier, flow in (("L1", 2e-4), ("L2", 1e-5), ("L12", 5e-5)):
        branch = lines[identifier].branch
        assert branch is not None
        bench.flows[bench.network.row(branch)] = flow
    # L12 leads from the rod into the reservoir
    assert bench.weigh(0.1).drawn.tolist() == [pytest.approx(2e-4 + 1e-5 - 5e-5)]


def test_a_level_that_is_not_crossed_or_hardly_is_no_event():
    """Up and down, and within what a step may go beyond."""
    assert share_to(20e5, 10e5, 30e5, 200.0) == pytest.approx(0.5 + 100.0 / 20e5)
    assert share_to(20e5, 30e5, 10e5, 200.0) == pytest.approx(0.5 + 100.0 / 20e5)
    assert share_to(20e5, 10e5, 19e5, 200.0) == 1.0
    assert share_to(20e5, 10e5, 20e5 + 150.0, 200.0) == 1.0
