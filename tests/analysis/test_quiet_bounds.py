"""Within what steps are quiet, and how long they are, with numbers worked out by hand."""

from math import inf, nan

import numpy as np
import pytest

from analysis.compiled.bounds import Bounds, course_of, is_foreseen
from analysis.compiled.equations import INDEX
from analysis.compiled.goals import (
    EFFORT,
    EXTENSION,
    PRESSURE,
    STEADY,
    TALLY,
    Goals,
    next_stop,
    read_goals,
)
from analysis.compiled.levels import Levels, kept_of, level_share, stays, time_to_change
from analysis.compiled.loads import Members
from analysis.compiled.resting import is_still
from analysis.compiled.step_length import NOT_TRIED, cut_at, shortened

NO_FLAGS, NO_INDEX, NO_NUMBERS = np.zeros(0, bool), np.zeros(0, INDEX), np.zeros(0)


# -- levels -------------------------------------------------------------------------------


def reservoir(since=(nan, nan), *, brim=inf, full=False):
    """4 L, of which a standpipe leaves 1 L; covered again at 1.04 and 0.04 L."""
    return Levels(
        np.array([[1e-3, 0.0]]), np.array([[1.04e-3, 0.04e-3]]), np.array([since], dtype=float),
        np.array([4e-15]), np.array([4e-3]), np.array([brim]), np.array([full]),
    )  # fmt: skip


def test_a_falling_level_comes_to_the_standpipe():
    """1.5 L that lose 0.1 L/s are at 1 L after 5 s, half of a step of 10 s."""
    assert time_to_change(reservoir(), 0, 1.5e-3, -1e-4, 0.0) == pytest.approx(5.0)
    assert level_share(reservoir(), 0, 1.5e-3, -1e-4, 10.0, 0.0) == pytest.approx(0.5)
    assert level_share(reservoir(), 0, 1.5e-3, -1e-4, 4.0, 0.0) == 1.0


def test_a_rising_level_comes_to_the_brim_once():
    """From 3.5 L on 0.1 L/s fill 4 L in 5 s; one that is full already fills no more."""
    assert time_to_change(reservoir(), 0, 3.5e-3, 1e-4, 0.0) == pytest.approx(5.0)
    assert time_to_change(reservoir(full=True), 0, 3.5e-3, 1e-4, 0.0) == inf
    assert level_share(reservoir(), 0, 4e-3, 1e-4, 1.0, 0.0) == 1.0


def test_an_outlet_that_was_uncovered_waits_for_fluid_and_for_a_moment():
    """Uncovered at 7 s, at 0.1 L/s from 1 L: covered by 0.04 L more, 0.4 s, but not before 8 s."""
    uncovered = reservoir((7.0, nan))
    assert time_to_change(uncovered, 0, 1e-3, 1e-4, 7.0) == pytest.approx(1.0)
    assert time_to_change(uncovered, 0, 1e-3, 1e-4, 9.0) == pytest.approx(0.4)
    assert time_to_change(uncovered, 0, 1e-3, 0.0, 9.0) == inf


@pytest.mark.parametrize(
    ("volume", "time", "since", "full", "quiet"),
    [
        (1.2e-3, 0.0, (nan, nan), False, True),
        (1.0e-3, 0.0, (nan, nan), False, False),  # the standpipe is uncovered
        (1.0e-3, 9.0, (7.0, nan), False, True),
        (1.05e-3, 7.5, (7.0, nan), False, True),
        (1.05e-3, 8.0, (7.0, nan), False, False),  # and covered again
        (4.0e-3, 0.0, (nan, nan), False, False),  # it is full
        (4.0e-3, 0.0, (nan, nan), True, True),
        (3.9e-3, 0.0, (nan, nan), True, False),  # and no longer: 1 % of 4 L are 0.04 L
    ],
)
def test_outlets_and_brim_stay_as_they_are(volume, time, since, full, quiet):
    """Whether there is something to tell of a level, or to remember."""
    assert stays(reservoir(since, full=full), 0, volume, time) is quiet


def test_a_reservoir_keeps_no_less_than_nothing_and_no_more_than_its_brim():
    """What is drawn beyond is air; what comes beyond is spilt, unless it stood higher before."""
    assert kept_of(reservoir(), 0, 1e-3, 2e-3) == 0.0
    assert kept_of(reservoir(), 0, 3.9e-3, -2e-3) == 4e-3
    assert kept_of(reservoir(), 0, 4.5e-3, -2e-3) == 4.5e-3
    assert kept_of(reservoir(brim=1e-3), 0, 0.9e-3, -1e-3) == 1e-3


# -- signals ------------------------------------------------------------------------------


def goals(
    old, value, *, at_least=inf, at_most=-inf, holds=False, over=1.0, enough=inf, kind=STEADY
):
    """One signal, and one thing expected of it; nothing is, unless a level is given."""
    return Goals(
        np.array([kind], INDEX), np.array([1], INDEX), np.array([0], INDEX), np.array([2.0]),
        np.array([4.0]), np.array([float(value)]), np.array([float(old)]), np.zeros(1, INDEX),
        np.array([at_least if at_least < inf else -inf]),
        np.array([at_most if at_most > -inf else inf]), np.zeros(1), np.array([holds]),
        np.array([over]), np.array([enough]),
    )  # fmt: skip


def test_a_step_ends_where_a_signal_arrives():
    """It rose from 2 to 3 in 0.5 s: at 5 after another 1 s, and 1 % of that later."""
    assert next_stop(goals(2, 3, at_least=5), 20.0, 10.0, 0.5) == pytest.approx(11.0)
    assert next_stop(goals(2, 3, at_least=5, over=1.01), 20.0, 10.0, 0.5) == pytest.approx(11.01)
    assert next_stop(goals(3, 2, at_most=0), 20.0, 10.0, 0.5) == pytest.approx(11.0)


def test_a_step_ends_nowhere_for_a_signal_that_does_not_come_nearer():
    """It stands, goes the other way, or has no value yet; or nobody waits for it."""
    for old, value, over in ((3, 3, 1.0), (3, 2, 1.0), (nan, 3, 1.0), (2, 3, 0.0)):
        assert next_stop(goals(old, value, at_least=5, over=over), 20.0, 10.0, 0.5) == 20.0


def test_signals_are_read_where_they_stand():
    """A pressure is none below the air's; an effort is 2 / 4 of the difference of two pressures."""
    pressure, extension = np.array([1e5, 3e5]), np.array([0.1, 0.2])
    tallies = np.array([7.0, 8.0])
    for kind, wanted in (
        (PRESSURE, 3e5), (EXTENSION, 0.2), (TALLY, 8.0), (EFFORT, 1e5), (STEADY, 5.0),
    ):  # fmt: skip
        goal = goals(4, 5, kind=kind)
        read_goals(goal, pressure, extension, tallies)
        assert goal.value[0] == wanted
        assert goal.old[0] == 5.0
    vacuum = goals(0, 0, kind=PRESSURE)
    read_goals(vacuum, np.array([0.0, -2e5]), extension, tallies)
    assert vacuum.value[0] == -101_325.0


@pytest.mark.parametrize(
    ("given", "is_news"),
    [
        ({"at_least": 0.3}, False),
        ({"at_least": 0.2}, True),
        ({"at_least": 0.2, "holds": True}, False),
        ({"at_most": 0.1, "holds": True}, True),
        ({"holds": True, "enough": 0.2}, True),
        ({"holds": True, "enough": 0.3}, False),
    ],
)
def test_it_is_news_when_a_condition_changes_or_a_value_is_enough(given, is_news):
    """The rod stands at 0.2 m."""
    goal = goals(0, 0, kind=EXTENSION, **given)
    assert read_goals(goal, np.zeros(2), np.array([0.1, 0.2]), np.zeros(2)) is is_news


# -- fuses, unloading valves, members -----------------------------------------------------


def bounds(*, fuses=(), closing=(), systems=(), levels=(), cut_out=()):
    """Of a network that has only these."""
    nodes = np.zeros((0, 3), INDEX), np.zeros((0, 2), INDEX), np.zeros((0, 2), INDEX)
    return Bounds(
        NO_INDEX, nodes[0], NO_NUMBERS, NO_FLAGS, nodes[1], nodes[2], NO_NUMBERS, NO_FLAGS,
        NO_INDEX, NO_NUMBERS, NO_INDEX, np.array(fuses, INDEX), np.array(closing, float),
        np.array(systems, INDEX), np.array(levels, float), np.array(cut_out, bool),
    )  # fmt: skip


@pytest.mark.parametrize(("duration", "quiet"), [(0.09, True), (0.1, False)])
def test_a_fuse_closes_at_its_volume(duration, quiet):
    """9 of 10 mL have passed, and 10 mL/s pass: it closes after 0.1 s."""
    bound = bounds(fuses=[0], closing=[10e-6])
    going = course_of(NO_NUMBERS, np.array([9e-6]), 0, bound)
    assert is_foreseen(bound, going, NO_NUMBERS, np.array([10e-6]), duration) is quiet


@pytest.mark.parametrize(
    ("pressure", "cut_out", "quiet"),
    [(99e5, False, True), (100e5, False, False), (101e5, True, True), (100e5, True, False)],
)
def test_an_unloading_valve_changes_over_at_its_level(pressure, cut_out, quiet):
    """Cut in, it does so at 100 bar or more; cut out, at 100 bar or less."""
    bound = bounds(systems=[0], levels=[100e5], cut_out=[cut_out])
    going = course_of(NO_NUMBERS, NO_NUMBERS, 0, bound)
    assert is_foreseen(bound, going, np.array([pressure]), NO_NUMBERS, 1.0) is quiet


def member(positions=(0.0,)):
    """One of 400 mm, whose load has corners there."""
    one = np.zeros(1)
    return Members(
        np.zeros(1, INDEX), np.array([0.4]), one, one, one, np.array([0, len(positions)], INDEX),
        np.array(positions), np.zeros(len(positions)),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("extension", "velocity", "positions", "way", "wanted"),
    [
        (0.10, 0.05, (0.0,), inf, 10.0),
        (0.10, 0.05, (0.0,), 0.15, 1.2),  # 15 % of 400 mm at 50 mm/s
        (0.38, 0.05, (0.0,), 0.15, 0.404),  # 20 mm to the stop, and 1 % of them more
        (0.10, -0.05, (0.0, 0.06, 0.4), 0.15, 0.8),  # 40 mm to the corner of its load
        (0.10, 0.0, (0.0, 0.06, 0.4), 0.15, 10.0),
    ],
)
def test_a_member_goes_so_far_in_a_step(extension, velocity, positions, way, wanted):
    """A step of 10 s is as much shorter as that takes."""
    moving = np.array([extension]), np.array([velocity])
    assert shortened(member(positions), *moving, 10.0, way) == pytest.approx(wanted)


def test_a_step_is_cut_at_an_event_by_its_trials():
    """The second trial was over by 16.6 ms where the first was by 44.2: 8.6 ms are left."""
    assert cut_at((0.0784, 0.0342), NOT_TRIED) == 0.0342
    assert cut_at((0.0342, 0.0176), (0.0784, 0.0342)) == pytest.approx(0.0086, abs=5e-5)


def test_what_drifts_is_at_rest_for_a_while_only():
    """100 bar rise by 10 Pa/s: 0.1 % in 1000 s. A member goes 1e-6 of its way a second: 100 s."""
    free, pressure, rate = np.zeros(1, INDEX), np.array([100e5]), np.array([10.0])
    assert is_still(free, pressure, rate, 0.0, 999.0)
    assert not is_still(free, pressure, rate, 0.0, 1001.0)
    assert is_still(free, pressure, 0.0 * rate, 1e-6, 99.0)
    assert not is_still(free, pressure, 0.0 * rate, 1e-6, 101.0)
