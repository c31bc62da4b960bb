"""Tests of linear reconciliation: values, what is told, what is refused."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.linalg import lstsq
from scipy.optimize import minimize

from logbook.process.least_squares import ContradictionError, pivoted_qr
from logbook.process.reconcile import reconcile_flows

SPLIT = np.array([[1.0, -1.0, -1.0]])


def random_network(rng, nodes, streams):
    """A connected plant of `nodes` in a row with cross streams, and flows that balance in it."""
    ends = [(None, 0), (nodes - 1, None)] + [(k, k + 1) for k in range(nodes - 1)]
    while len(ends) < streams:
        source, target = (int(k) for k in rng.integers(-1, nodes, size=2))
        if source != target:
            ends.append((None if source < 0 else source, None if target < 0 else target))
    incidence = np.zeros((nodes, len(ends)))
    for column, (source, target) in enumerate(ends):
        if source is not None:
            incidence[source, column] = -1.0
        if target is not None:
            incidence[target, column] = 1.0
    free = rng.uniform(20.0, 200.0, size=len(ends))
    return incidence, free - np.linalg.pinv(incidence) @ (incidence @ free)


@st.composite
def problems(draw):
    """A network, readings of it (some missing) and their uncertainties."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    nodes = draw(st.integers(1, 8))
    incidence, truth = random_network(rng, nodes, draw(st.integers(nodes + 2, 3 * nodes + 4)))
    sigma = rng.uniform(0.2, 5.0, size=len(truth))
    measured = truth + sigma * rng.standard_normal(len(truth))
    measured[rng.random(len(truth)) < draw(st.sampled_from([0.0, 0.2, 0.5]))] = np.nan
    return incidence, measured, sigma


def by_null_space(incidence, measured, sigma):
    """The least-squares problem without constraints, over flows that balance, by scipy."""
    basis = np.linalg.svd(incidence)[2][np.linalg.matrix_rank(incidence) :].T
    seen = ~np.isnan(measured)
    design = basis[seen] / sigma[seen][:, None]
    # The shortest solution: what no reading tells must not grow and take the digits of the rest.
    found = lstsq(design, measured[seen] / sigma[seen], cond=1e-10)[0]
    left = design @ found - measured[seen] / sigma[seen]
    return basis @ found, float(left @ left)


@settings(max_examples=60)
@given(problem=problems())
def test_random_networks_come_out_as_scipy_solves_them(problem):
    """Every value that can be told within 1e-8 of the size of the flows, and the sum of squares."""
    incidence, measured, sigma = problem
    assume((~np.isnan(measured)).any())
    found = reconcile_flows(incidence, measured, sigma)
    wanted, cost = by_null_space(incidence, measured, sigma)
    told = found.observable
    assert found.value[told] == pytest.approx(wanted[told], rel=1e-8, abs=1e-8 * 200.0)
    assert found.chi2 == pytest.approx(cost, rel=1e-7, abs=1e-8)


def test_a_general_constrained_solver_finds_the_same():
    """SLSQP of scipy.optimize on ten networks, values within 1e-8 of the flows."""
    rng = np.random.default_rng(4)
    for _ in range(10):
        incidence, truth = random_network(rng, 6, 15)
        sigma = rng.uniform(0.5, 3.0, size=15)
        measured = truth + sigma * rng.standard_normal(15)
        other = minimize(
            lambda x, y=measured, s=sigma: float((((x - y) / s) ** 2).sum()),
            measured,
            jac=lambda x, y=measured, s=sigma: 2.0 * (x - y) / s**2,
            constraints={"type": "eq", "fun": lambda x, a=incidence: a @ x},
            method="SLSQP",
            options={"ftol": 1e-16, "maxiter": 500},
        )
        found = reconcile_flows(incidence, measured, sigma)
        assert found.value == pytest.approx(other.x, rel=1e-8, abs=1e-6)


@settings(max_examples=60)
@given(problem=problems())
def test_what_can_be_told_and_checked_is_what_linear_algebra_says(problem):
    """Observable: no flow that balances and leaves the readings moves it. Redundant: told anyway."""
    incidence, measured, sigma = problem
    found = reconcile_flows(incidence, measured, sigma)
    for stream in range(incidence.shape[1]):
        seen = ~np.isnan(measured)
        assert found.observable[stream] == _is_told(incidence, seen, stream)
        if seen[stream]:
            seen[stream] = False
            assert found.redundant[stream] == _is_told(incidence, seen, stream)
        else:
            assert not found.redundant[stream]
    assert np.isnan(found.value[~found.observable]).all()
    assert np.isnan(found.sigma[~found.observable]).all()
    assert np.isfinite(found.sigma[found.observable]).all()


def _is_told(incidence, seen, stream):
    fixed = np.vstack([incidence, np.eye(len(seen))[seen]])
    one = np.eye(len(seen))[stream]
    return np.linalg.matrix_rank(np.vstack([fixed, one])) == np.linalg.matrix_rank(fixed)


def test_the_covariance_is_that_of_repeated_readings():
    """Twenty thousand draws of a network with one stream unmeasured, within 5 % of each sigma."""
    rng = np.random.default_rng(11)
    incidence = np.array([[1.0, -1, -1, 0, 0], [0, 1, 0, -1, 0], [0, 0, 1, 1, -1]])
    truth, sigma = np.array([100.0, 60, 40, 60, 100]), np.array([2.0, 1.0, 1.5, 1.2, 3.0])
    noise = rng.standard_normal((20_000, 5)) * sigma
    noise[:, 3] = np.nan
    found = reconcile_flows(incidence, truth + noise[0], sigma)
    # The values are linear in the readings: one solution per unit error tells them all.
    unit = np.array(
        [
            reconcile_flows(incidence, np.where(np.arange(5) == 3, np.nan, row), sigma).value
            for row in np.eye(5)
        ]
    )
    values = truth + np.nan_to_num(noise) @ unit
    assert values.std(axis=0) == pytest.approx(found.sigma, rel=0.05)
    assert np.cov(values.T)[0, 3] == pytest.approx(found.covariance[0, 3], rel=0.1)


def test_an_unmeasured_stream_is_worked_out_with_its_uncertainty():
    """As a difference: uncertainties add in squares, and nothing is left to check."""
    found = reconcile_flows(SPLIT, [100.0, np.nan, 40.0], [3.0, np.nan, 4.0])
    assert found.value == pytest.approx([100.0, 60.0, 40.0])
    assert found.sigma == pytest.approx([3.0, 5.0, 4.0])
    assert found.observable.all()
    assert not found.redundant.any()
    assert (found.chi2, found.dof, found.suspects) == (0.0, 0, ())
    assert np.isnan(found.p_value)
    assert np.isnan(found.adjustment[1])
    assert np.isnan(found.measurement_z).all()
    assert np.isnan(found.node_z).all()


def test_two_unmeasured_streams_of_one_node_cannot_be_told():
    """No number is made up for them, and the reading stays as it is."""
    found = reconcile_flows(SPLIT, [100.0, np.nan, np.nan], [3.0, 1.0, 1.0])
    assert found.observable.tolist() == [True, False, False]
    assert np.isnan(found.value[1:]).all()
    assert found.value[0] == 100.0


def test_an_exact_flow_is_not_changed():
    """Sigma 0: the others give way, and its own uncertainty stays 0."""
    found = reconcile_flows(SPLIT, [100.0, 61.0, 42.0], [0.0, 1.0, 1.0])
    assert found.value == pytest.approx([100.0, 59.5, 40.5])
    assert found.sigma[0] == 0.0
    assert np.isnan(found.measurement_z[0])


def test_exact_flows_that_agree_are_taken_and_others_refused():
    """Three exact flows of one node: they balance, or the sentence says what to do."""
    found = reconcile_flows(SPLIT, [100.0, 60.0, 40.0], [0.0, 0.0, 0.0])
    assert found.value == pytest.approx([100.0, 60.0, 40.0])
    assert found.dof == 0
    with pytest.raises(ContradictionError, match="give at least one of them an uncertainty"):
        reconcile_flows(SPLIT, [100.0, 60.0, 41.0], [0.0, 0.0, 0.0])


def test_a_balance_said_twice_counts_once():
    """The balance around everything adds no check and changes no value."""
    rng = np.random.default_rng(5)
    incidence, truth = random_network(rng, 4, 9)
    sigma = rng.uniform(0.5, 2.0, 9)
    measured = truth + sigma * rng.standard_normal(9)
    once = reconcile_flows(incidence, measured, sigma)
    twice = reconcile_flows(np.vstack([incidence, incidence.sum(axis=0)]), measured, sigma)
    assert twice.value == pytest.approx(once.value, rel=1e-10)
    assert (twice.dof, once.dof) == (4, 4)
    assert twice.chi2 == pytest.approx(once.chi2)


def test_uncertainties_of_very_different_size_cost_no_digits():
    """One to a million: a stream nearly exact beside one nearly unknown."""
    found = reconcile_flows(SPLIT, [100.0, 61.0, 42.0], [1e-6, 1.0, 1e3])
    assert found.value[0] == pytest.approx(100.0, rel=1e-12)
    assert found.value @ SPLIT[0] == pytest.approx(0.0, abs=1e-10)
    assert found.value[1] == pytest.approx(61.0 - 3.0 / (1.0 + 1e6), rel=1e-9)


@pytest.mark.parametrize(
    ("incidence", "measured", "sigma", "said"),
    [
        ([1, -1], [1, 1], [1, 1], r"incidence has shape \(2,\)"),
        (np.zeros((0, 2)), [1, 1], [1, 1], r"incidence has shape \(0, 2\)"),
        ([[1, -1]], [1, 1, 1], [1, 1], r"measured has shape \(3,\), but incidence has 2 streams"),
        ([[1, -1]], [1, 1], [1], r"sigma has shape \(1,\)"),
        ([[1, -1]], [1, 1], [1, np.nan], "sigma of stream 1 is nan"),
        ([[1, -1]], [1, 1], [1, -2.0], "sigma of stream 1 is -2.0"),
        ([[1, -1]], [1, 1], [np.inf, 1], "sigma of stream 0 is inf"),
        ([[1, -1]], [1, np.inf], [1, 1], "measured flow of stream 1 is inf"),
        ([[1, np.nan]], [1, 1], [1, 1], "incidence of node 0, stream 1 is nan"),
        ([[1, -1], [1, 1]], [1, 1], [1, 1], r"node 1 .* \+1 where it enters"),
        ([[1, -1], [0, 0]], [1, 1], [1, 1], "node 1 of incidence has no stream"),
    ],
)
def test_arguments_that_cannot_be_meant_are_refused(incidence, measured, sigma, said):
    """In one sentence with the place."""
    with pytest.raises(ValueError, match=said):
        reconcile_flows(incidence, measured, sigma)


def test_a_flow_that_runs_backwards_may_balance_a_node_of_one_sign():
    """Two streams said to enter, of which one is read below zero: that is a balance."""
    found = reconcile_flows([[1, 1]], [10.0, -12.0], [1.0, 1.0])
    assert found.value == pytest.approx([11.0, -11.0])


@pytest.mark.parametrize("level", [0.0, 1.0, -0.1])
def test_a_level_that_is_no_probability_is_refused(level):
    """Between 0 and 1."""
    with pytest.raises(ValueError, match="a probability between 0 and 1"):
        reconcile_flows(SPLIT, [3, 1, 2], [1, 1, 1], level=level)


def test_the_arguments_are_left_as_they_were():
    """Nothing is written into the caller's arrays, and the result cannot be reassigned."""
    measured, sigma = np.array([100.0, 61.0, np.nan]), np.array([1.0, 1.0, np.nan])
    kept = measured.copy(), sigma.copy()
    found = reconcile_flows(SPLIT, measured, sigma)
    assert np.array_equal(measured, kept[0], equal_nan=True)
    assert np.array_equal(sigma, kept[1], equal_nan=True)
    with pytest.raises(AttributeError):
        found.chi2 = 0.0


@given(seed=st.integers(0, 2**32 - 1), rows=st.integers(1, 7), columns=st.integers(1, 7))
def test_the_pivoted_decomposition_gives_the_matrix_back_and_its_rank(seed, rows, columns):
    """Q is orthogonal, R is upper, Q R is the matrix in the order of the pivots."""
    rng = np.random.default_rng(seed)
    rank = int(rng.integers(1, min(rows, columns) + 1))
    matrix = rng.standard_normal((rows, rank)) @ rng.standard_normal((rank, columns))
    q, r, pivot, found = pivoted_qr(matrix)
    assert found == rank
    assert q @ q.T == pytest.approx(np.eye(rows), abs=1e-12)
    assert (q @ r) == pytest.approx(matrix[:, pivot], abs=1e-10)
    assert np.abs(np.tril(r, -1)).max(initial=0.0) < 1e-10
