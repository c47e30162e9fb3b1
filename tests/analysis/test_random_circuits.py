"""What must hold of every circuit: finite, balanced, converged or with a named reason."""

import math

import pytest

from analysis import readings
from tests.support.random_circuits import random_circuit


def _check(seed: int) -> bool:
    found = readings(random_circuit(seed))
    if not found.converged:
        assert found.message, f"seed {seed}: not converged and no reason"
        assert all(value is None for value in found.pressures.values())
        return False
    largest = 0.0
    for value in [*found.pressures.values(), *found.inflows.values()]:
        assert value is None or math.isfinite(value), f"seed {seed}"
    for value in found.inflows.values():
        largest = max(largest, abs(value or 0.0))
    assert found.mass_imbalance <= 1e-9 * largest + 1e-14, f"seed {seed}"
    return True


def test_random_circuits():
    """A sample of the circuits; nine in ten have a steady state that is found."""
    solved = [_check(seed) for seed in range(60)]
    assert sum(solved) >= 0.85 * len(solved)


@pytest.mark.parametrize("seed", [964, 2238, 4092, 6241])
def test_flows_balance_beside_one_that_nothing_limits(seed):
    """The runaway flow is no reading, so the others must balance without its help."""
    found = readings(random_circuit(seed))
    assert any(finding.rule == "flow_without_limit" for finding in found.findings)
    assert _check(seed)


def test_a_stalled_pump_passes_no_crumb_of_its_pressure():
    """A hand pump pushed to 4380 bar against a shut line: the last digit of that is no flow."""
    assert _check(6043)


@pytest.mark.parametrize("seed", [797, 1015])
def test_a_search_is_not_held_up_at_a_kink(seed):
    """A node at absolute zero, a piston at the edge of its friction: held by nothing else."""
    found = readings(random_circuit(seed))
    assert found.converged
    assert found.iterations < 60


@pytest.mark.slow
@pytest.mark.timeout(0)
@pytest.mark.parametrize("block", range(20))
def test_ten_thousand_random_circuits(block):
    """All of them, in blocks of 500."""
    for seed in range(500 * block, 500 * (block + 1)):
        _check(seed)
