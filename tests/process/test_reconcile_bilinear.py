"""Tests of reconciling flows and contents together."""

import numpy as np
import pytest
from scipy.optimize import minimize

from logbook.process.reconcile import reconcile_flows
from logbook.process.reconcile_bilinear import (
    ComponentReadings,
    NotSettledError,
    Variable,
    reconcile_components,
    without,
)

# A press and a dryer: seed -> oil + wet cake; wet cake -> vapour + cake. Components: oil, water.
INCIDENCE = np.array([[1.0, -1, -1, 0, 0], [0, 0, 1, -1, -1]])
FLOW = np.array([100.0, 18.0, 82.0, 6.0, 76.0])
OIL = np.array([0.20, 0.995, 2.09 / 82.0, 0.0, 2.09 / 76.0])
WATER = np.array([0.10, 0.005, 9.91 / 82.0, 1.0, 3.91 / 76.0])
TRUTH = np.column_stack([OIL, WATER])
PRESENT = np.array([[1, 1], [1, 1], [1, 1], [0, 1], [1, 1]], dtype=bool)
FLOW_SIGMA = np.array([0.8, 0.2, 1.0, 0.3, 0.6])
CONTENT_SIGMA = np.array([[0.004, 0.003], [0.002, 0.001], [0.002, 0.003], [0, 0], [0.002, 0.002]])


def readings(seed=None, *, flow_gone=(), content_gone=(), closed=None):
    """Readings of the press, without error if no seed is given."""
    flow, content = FLOW.copy(), TRUTH.copy()
    if seed is not None:
        rng = np.random.default_rng(seed)
        flow += FLOW_SIGMA * rng.standard_normal(5)
        content += CONTENT_SIGMA * rng.standard_normal((5, 2))
    content[~PRESENT] = np.nan
    flow[list(flow_gone)] = np.nan
    for place in content_gone:
        content[place] = np.nan
    shut = np.zeros(5, dtype=bool) if closed is None else closed
    return ComponentReadings(INCIDENCE, flow, FLOW_SIGMA, content, CONTENT_SIGMA, PRESENT, shut)


def mass(flow, content):
    """Component flows, nothing where a component is not."""
    return np.where(PRESENT, content, 0.0) * flow[:, None]


def test_readings_without_error_stay_as_they_are():
    """Nothing is adjusted, every balance closes, nobody is accused."""
    found = reconcile_components(readings())
    assert found.flow == pytest.approx(FLOW)
    assert found.content[PRESENT] == pytest.approx(TRUTH[PRESENT])
    assert found.chi2 == pytest.approx(0.0, abs=1e-12)
    assert found.dof == 6
    assert found.suspects == ()


@pytest.mark.parametrize("seed", range(5))
def test_the_whole_and_every_component_balance_at_every_node(seed):
    """To 1e-9 of the flow, and component flows are flow times content."""
    found = reconcile_components(readings(seed))
    assert INCIDENCE @ found.flow == pytest.approx(np.zeros(2), abs=1e-7)
    assert INCIDENCE @ found.mass == pytest.approx(np.zeros((2, 2)), abs=1e-7)
    assert found.mass == pytest.approx(mass(found.flow, found.content))


@pytest.mark.parametrize(
    ("flow_gone", "content_gone"),
    [((), ()), ((2,), ()), ((3,), ((2, 0),)), ((), ((2, 0), (2, 1), (0, 0)))],
)
def test_the_optimum_is_the_one_scipy_finds(flow_gone, content_gone):
    """SLSQP over flows and contents with the bilinear balances as constraints: the same minimum."""
    given = readings(3, flow_gone=flow_gone, content_gone=content_gone)
    found = reconcile_components(given)
    free = PRESENT.copy()
    free[3] = False

    def parts(x):
        content = np.where(PRESENT, TRUTH, 0.0)
        content[free] = x[5:]
        return x[:5], content

    def cost(x):
        flow, content = parts(x)
        off = np.concatenate([(flow - given.flow) / FLOW_SIGMA,
                              ((content - given.content) / np.where(free, CONTENT_SIGMA, 1.0))[free]])  # fmt: skip
        return float(np.nansum(off**2))

    def balance(x):
        flow, content = parts(x)
        return np.concatenate([INCIDENCE @ flow, (INCIDENCE @ mass(flow, content)).ravel()])

    start = np.concatenate([FLOW, TRUTH[free]])
    other = minimize(
        cost, start, method="SLSQP", constraints={"type": "eq", "fun": balance},
        options={"ftol": 1e-14, "maxiter": 500},
    )  # fmt: skip
    flow, content = parts(other.x)
    assert found.chi2 == pytest.approx(other.fun, rel=1e-5, abs=1e-7)
    assert found.flow == pytest.approx(flow, rel=1e-4)
    assert found.content[free] == pytest.approx(content[free], rel=1e-3)


def test_uncertainties_are_those_of_repeated_readings():
    """Four hundred draws with a flow and a content unmeasured: spread within 15 % of sigma."""
    draws = [readings(k, flow_gone=(2,), content_gone=((2, 1),)) for k in range(400)]
    found = [reconcile_components(one) for one in draws]
    flows = np.array([one.flow for one in found])
    contents = np.array([one.content for one in found])
    masses = np.array([one.mass for one in found])
    middle = reconcile_components(readings(flow_gone=(2,), content_gone=((2, 1),)))
    assert flows.std(axis=0) == pytest.approx(middle.flow_sigma, rel=0.15)
    assert contents[:, 2, 1].std() == pytest.approx(middle.content_sigma[2, 1], rel=0.15)
    assert masses[:, 2, 1].std() == pytest.approx(middle.mass_sigma[2, 1], rel=0.15)
    assert masses[:, 0, 0].std() == pytest.approx(middle.mass_sigma[0, 0], rel=0.15)


def test_the_sum_of_squares_is_chi_square_distributed():
    """Three hundred draws: mean within 10 % of the degrees of freedom, 5 % fail within chance."""
    found = [reconcile_components(readings(1000 + k)) for k in range(300)]
    assert np.mean([one.chi2 for one in found]) == pytest.approx(6.0, rel=0.1)
    failed = sum(one.p_value < 0.05 for one in found)
    assert abs(failed - 15) < 3.0 * np.sqrt(15 * 0.95)


def test_without_contents_it_is_the_linear_reconciliation():
    """No content measured: flows as `reconcile_flows` gives them, contents not told."""
    gone = tuple((s, c) for s in range(5) for c in range(2) if PRESENT[s, c])
    given = readings(5, content_gone=gone)
    found, plain = reconcile_components(given), reconcile_flows(INCIDENCE, given.flow, FLOW_SIGMA)
    assert found.flow == pytest.approx(plain.value)
    assert found.flow_sigma == pytest.approx(plain.sigma)
    assert (found.chi2, found.dof) == (pytest.approx(plain.chi2), plain.dof)
    assert not found.content_observable[0].any()
    assert np.isnan(found.mass[0]).all()


def test_a_closed_stream_adds_up_to_the_whole():
    """Oil of oil, water and nothing else: contents sum to one, and that is one more check."""
    closed = np.array([False, True, False, False, False])
    found = reconcile_components(readings(6, closed=closed))
    assert found.content[1].sum() == pytest.approx(1.0)
    assert found.dof == 7


def test_a_wrong_scale_is_told_from_a_wrong_analysis():
    """Seed scale 6 % low; then seed oil 2 points high: each is named, with its size."""
    given = readings(closed=np.array([False, True, False, False, False]))
    low = given.flow.copy()
    low[0] *= 0.94
    scale = ComponentReadings(
        INCIDENCE, low, FLOW_SIGMA, given.content, CONTENT_SIGMA, PRESENT, given.closed
    )
    found = reconcile_components(scale)
    assert found.suspects == (Variable(0, None),)
    assert found.suspicions[0].error == pytest.approx(-6.0, rel=0.1)
    rich = given.content.copy()
    rich[0, 0] += 0.02
    analysis = ComponentReadings(
        INCIDENCE, given.flow, FLOW_SIGMA, rich, CONTENT_SIGMA, PRESENT, given.closed
    )
    found = reconcile_components(analysis)
    assert found.suspects == (Variable(0, 0),)
    assert found.suspicions[0].error == pytest.approx(0.02, rel=0.1)
    again = reconcile_components(without(analysis, found.suspects))
    assert again.content[0, 0] == pytest.approx(0.20, rel=1e-6)
    assert again.suspects == ()
    assert reconcile_components(without(scale, (Variable(0, None),))).flow[0] == pytest.approx(100)


def test_who_cannot_be_wrong_is_not_accused():
    """With the seed scale taken for granted somebody else is, or nobody."""
    given = readings()
    low = given.flow.copy()
    low[0] *= 0.94
    one = ComponentReadings(
        INCIDENCE, low, FLOW_SIGMA, given.content, CONTENT_SIGMA, PRESENT, given.closed
    )
    allowed = np.ones((5, 3), dtype=bool)
    allowed[0, 0] = False
    found = reconcile_components(one, may_be_wrong=allowed)
    assert Variable(0, None) not in found.suspects


def test_contents_that_one_balance_alone_sees_are_named_together():
    """Oil of the seed and of the oil are both in no balance but that of the press."""
    given = readings()
    rich = given.content.copy()
    rich[0, 0] += 0.02
    one = ComponentReadings(
        INCIDENCE, given.flow, FLOW_SIGMA, rich, CONTENT_SIGMA, PRESENT, given.closed
    )
    assert reconcile_components(one).suspect_sets == ((Variable(0, 0), Variable(1, 0)),)


def wild(size):
    """Readings of which three flows are off by `size`, one way or the other."""
    given = readings()
    flow = given.flow * np.array([1.0, size, 1.0 / size, 1.0, size])
    return ComponentReadings(
        INCIDENCE, flow, FLOW_SIGMA, given.content, CONTENT_SIGMA, PRESENT, given.closed
    )


def test_readings_far_from_every_balance_are_never_called_balanced():
    """Three flows wrong by half, or by three."""
    for size in (1.5, 3.0):
        assert reconcile_components(wild(size)).p_value < 1e-9


def test_readings_that_fit_no_balance_at_all_come_to_no_rest():
    """It says so, instead of giving the last numbers: flows and contents off by factors of e^3."""
    given, rng = readings(), np.random.default_rng(8)
    flow = given.flow * np.exp(rng.normal(0.0, 3.0, 5))
    content = np.clip(given.content * np.exp(rng.normal(0.0, 3.0, (5, 2))), 0.0, 1.0)
    content[3] = given.content[3]
    off = ComponentReadings(
        INCIDENCE, flow, FLOW_SIGMA, content, CONTENT_SIGMA, PRESENT, given.closed
    )
    with pytest.raises(NotSettledError, match="look for a wrong unit or a stream left out"):
        reconcile_components(off)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"flow": np.ones(4)}, r"flow has shape \(4,\): it must be \(5,\)"),
        ({"content": np.ones(5)}, "content .* must be|and content"),
        ({"content_sigma": np.full((5, 2), np.nan)}, r"content at \[0, 0\]"),
        ({"flow_sigma": -FLOW_SIGMA}, r"flow at \[0\]"),
        ({"flow": np.array([np.inf, 1, 1, 1, 1])}, r"flow at \[0\]"),
        ({"content": TRUTH}, "stream 3, component 0 is given, but it is not present"),
    ],
)
def test_readings_that_cannot_be_meant_are_refused(change, said):
    """With the name and the place."""
    given = readings()
    parts = {name: getattr(given, name) for name in ComponentReadings.__slots__}
    with pytest.raises(ValueError, match=said):
        ComponentReadings(**{**parts, **change})
