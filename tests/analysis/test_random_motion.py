"""What must hold of every circuit that is worked for a minute in any way.

Finite figures, closed accounts of volume and energy, and no getting stuck: it goes on to the
end, unless it has no steady state at an instant either.
"""

from __future__ import annotations

import math

import pytest

from analysis import run
from analysis.recording import Accounts
from tests.support.random_circuits import give_strokes, random_circuit
from tests.support.random_work import random_work

UNTIL = 60.0
MOST_STEPS = 6000
"""More than any run needs that gets on: a hundred steps to the second is one that is stuck."""
STEPS_A_CYCLE = 150
"""And that many for each cycle of a handle whose strokes are followed: 24 would be the least, and
every valve that a stroke opens and shuts again takes some."""
STROKING = (13, 15, 24, 35, 53, 63, 83)
"""Small circuits with hand pumps that run."""

LEAST_ENERGY = 1.0
"""Energy [J] below which 1 % is not asked for: that of 10 mL at 1 bar."""


def check_work(seed: int, most: int = 40, *, strokes: bool = False) -> None:
    """Work the circuit of this seed for a minute; hand pumps by their strokes or their mean."""
    circuit = random_circuit(seed, least=5, most=most)
    cycles = give_strokes(circuit, seed) * UNTIL if strokes else 0.0
    most_steps = MOST_STEPS + STEPS_A_CYCLE * cycles
    recording = run(circuit, random_work(circuit, seed, UNTIL), until=UNTIL)
    assert not recording.message, f"seed {seed}: {recording.message}"
    assert recording.time[-1] == pytest.approx(UNTIL), f"seed {seed}"
    assert recording.steps <= most_steps, f"seed {seed}: {recording.steps} steps"
    for name, values in recording.signals.items():
        numbers = (v for v in values if isinstance(v, float))
        assert all(math.isfinite(v) for v in numbers), f"seed {seed}: {name}"
    _check_accounts(seed, recording.accounts)


def _check_accounts(seed: int, accounts: Accounts) -> None:
    volume = abs(accounts.volume_error)
    assert volume <= 1e-6 * accounts.volume_scale, f"seed {seed}: {volume} m3"
    turned = max(abs(accounts.delivered) + abs(accounts.load_work), LEAST_ENERGY)
    energy = abs(accounts.energy_error)
    assert energy <= 0.01 * turned, f"seed {seed}: {energy} J of {turned} J"


@pytest.mark.parametrize("seed", range(15))
def test_a_minute_of_random_work(seed):
    """A sample of the circuits, small ones."""
    check_work(seed, most=20)


def test_a_step_whose_branches_are_as_stiff_as_its_volumes():
    """Circuit 409: what the last digit of a pressure makes flow there is no imbalance."""
    check_work(409)


def test_a_tank_that_a_broken_line_keeps_drained():
    """Circuit 36: the line hangs on the standpipe's mouth by another one without loss."""
    check_work(36)


@pytest.mark.parametrize("seed", STROKING)
def test_a_minute_of_random_strokes(seed):
    """Some with hand pumps that run, by their strokes."""
    check_work(seed, most=20, strokes=True)


@pytest.mark.slow
@pytest.mark.timeout(0)
@pytest.mark.parametrize("block", range(20))
def test_a_thousand_minutes_of_random_work(block):
    """All of them, in blocks of 50."""
    for seed in range(50 * block, 50 * (block + 1)):
        check_work(seed)


@pytest.mark.slow
@pytest.mark.timeout(0)
@pytest.mark.parametrize("block", range(6))
def test_three_hundred_minutes_of_random_strokes(block):
    """The first of them once more, as far as they have hand pumps."""
    for seed in range(50 * block, 50 * (block + 1)):
        circuit = random_circuit(seed, least=5, most=40)
        if any(c.kind == "hand_pump" for c in circuit.components.values()):
            check_work(seed, strokes=True)
