"""Elimination node by node gives what numpy's dense solution of the same equations gives."""

from itertools import pairwise

import numpy as np
import pytest

from analysis.elimination import Elimination, find_order
from analysis.network import Builder


def tree_with_loops(rng, size, loops):
    """(column, weight) of a random tree of orifices, some loops, dividers and pistons.

    Column `size` stands for a node that is held.
    """
    column, weight = [], []
    for node in range(1, size):
        column.append((node, int(rng.integers(max(node - 4, 0), node)), size))
        weight.append((1.0, -1.0, 0.0))
    for _ in range(loops):
        one, other, third = rng.choice(size + 1, 3, replace=False)
        column.append((one, other, third))
        weight.append(rng.choice([(1.0, -0.4, -0.6), (3e-3, -2e-3, 0.0), (1.0, -1.0, 0.0)]))
    return np.array(column), np.array(weight)


def dense(column, weight, size, slope, diagonal, shift):
    """The matrix that the elimination never forms."""
    whole = np.zeros((len(column), size + 1))
    for j in range(3):
        np.add.at(whole, (np.arange(len(column)), column[:, j]), weight[:, j])
    rows = whole[:, :size]
    matrix = rows.T @ (slope[:, None] * rows) + np.diag(diagonal)
    return matrix + shift * np.diag(np.diagonal(matrix))


@pytest.mark.parametrize("size", [1, 2, 7, 30, 120, 200])
@pytest.mark.parametrize("seed", range(5))
def test_as_dense(size, seed):
    """Conductances of a few powers of ten: to ten digits."""
    rng = np.random.default_rng(seed)
    column, weight = tree_with_loops(rng, size, size // 6 if size > 2 else 0)
    column, weight = column.reshape(-1, 3).astype(np.intp), weight.reshape(-1, 3)
    slope = 10.0 ** rng.uniform(-2, 2, len(column))
    diagonal, right = 10.0 ** rng.uniform(-2, 0, size), rng.normal(size=size)
    found = Elimination(column, weight, size).solve(slope, diagonal, right, 1e-3)
    expected = np.linalg.solve(dense(column, weight, size, slope, diagonal, 1e-3), right)
    assert found == pytest.approx(expected, rel=1e-10, abs=1e-10 * np.abs(expected).max())


def test_few_pairs_are_left_behind():
    """A tree of 120 nodes with 8 loops: less than half as many again as its own pairs.

    In the order of their numbers it would be 704 instead of 190.
    """
    column, weight = tree_with_loops(np.random.default_rng(3), 120, 8)
    order = find_order(np.where(weight != 0.0, column, -1).astype(np.intp).tobytes(), 120)
    assert sorted(order.pivot.tolist()) == list(range(120))
    own = int(order.place.max()) + 1 - 120
    assert own <= len(order.edge) <= 1.5 * own


@pytest.mark.parametrize("seed", range(5))
def test_badly_scaled_unknowns_cost_no_digits(seed):
    """Unknowns in units that differ by sixteen powers of ten: the same digits as without."""
    rng = np.random.default_rng(seed)
    size = 100
    column, weight = tree_with_loops(rng, size, 15)
    slope = 10.0 ** rng.uniform(-1, 1, len(column))
    diagonal, right = 10.0 ** rng.uniform(-1, 0, size), rng.normal(size=size)
    unit = np.append(10.0 ** rng.uniform(-8, 8, size), 1.0)
    plain = Elimination(column, weight, size).solve(slope, diagonal, right, 0.0)
    other = Elimination(column, weight * unit[column], size)
    found = other.solve(slope, diagonal * unit[:-1] ** 2, right * unit[:-1], 0.0)
    assert found * unit[:-1] == pytest.approx(plain, rel=1e-9, abs=1e-12 * np.abs(plain).max())


@pytest.mark.parametrize("seed", range(5))
def test_what_nothing_holds_still_descends(seed):
    """Singular to rounding: thanks to the shift the step is finite and goes downhill."""
    rng = np.random.default_rng(seed)
    size = 100
    column, weight = tree_with_loops(rng, size, 0)
    slope = 10.0 ** rng.uniform(-17, 0, len(column))
    slope[rng.choice(len(column), 10)] = 0.0
    right = rng.normal(size=size)
    found = Elimination(column, weight, size).solve(slope, np.full(size, 1e-22), right, 1e-12)
    assert np.isfinite(found).all()
    assert found @ right > 0.0
    matrix = dense(column, weight, size, slope, np.full(size, 1e-22), 1e-12)
    scale = np.sqrt(np.diagonal(matrix))
    # small residuals in the scaled equations, as backward stability has it
    assert np.abs((matrix @ found - right) / scale).max() <= 1e-12 * np.abs(scale * found).max()


def test_without_a_finite_solution_there_is_none():
    """A right side that is not finite."""
    column, weight = tree_with_loops(np.random.default_rng(0), 60, 5)
    elimination = Elimination(column, weight, 60)
    right = np.ones(60)
    right[30] = np.nan
    assert elimination.solve(np.ones(len(column)), np.ones(60), right, 0.0) is None


def test_held_nodes_leave_the_equations():
    """A network solves for its free nodes only, also when more are held and released."""
    builder = Builder()
    nodes = [builder.new_node() for _ in range(40)]
    for one, other in pairwise(nodes):
        builder.turbulent(((one, 1.0), (other, -1.0)), 1.0)
    # both ends at one node: such a branch conducts nothing
    builder.turbulent(((nodes[3], 1.0), (nodes[3], -1.0)), 1.0)
    network = builder.build()
    rng = np.random.default_rng(1)
    slope = rng.uniform(0.5, 2.0, network.branches)

    def check():
        right = rng.normal(size=network.size)
        place = np.full(network.count, network.size)
        place[network.free] = np.arange(network.size)
        diagonal = np.full(network.size, 0.1)
        matrix = dense(place[network.node], network.weight, network.size, slope, diagonal, 0.0)
        found = network.solve_linear(slope, np.full(network.size, 0.1), right, 0.0)
        assert found == pytest.approx(np.linalg.solve(matrix, right), rel=1e-10, abs=1e-12)

    check()
    before = network.hold(np.array(nodes[5:9]), np.zeros(network.count))
    assert network.size == 36
    check()
    network.release(before)
    assert network.size == 40
    check()
