"""Tests of counter-current leaching."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from logbook.process.leaching import (
    Leaching,
    LeachingError,
    Retention,
    constant_retention,
    constant_solvent_retention,
    predict,
    retention_table,
    stages,
)

TABLE = retention_table([0.0, 0.2, 0.5, 1.0], [2.2, 2.0, 1.7, 1.3])
RETENTIONS = st.sampled_from(
    [constant_retention(0.45), constant_retention(0.8), constant_solvent_retention(0.4), TABLE]
)
PROBLEMS = st.builds(
    Leaching,
    inert=st.just(80.0),
    oil=st.floats(5.0, 30.0),
    solvent=st.floats(85.0, 200.0),
    solvent_in_feed=st.floats(0.0, 10.0),
    oil_in_solvent=st.floats(0.0, 0.01),
    retention=RETENTIONS,
)
COUNTS = st.integers(1, 9)
EFFICIENCIES = st.floats(0.3, 1.0)


def beans(**other) -> Leaching:
    """100 kg of flakes of 20 % oil, 100 kg of clean solvent."""
    usual = {"inert": 80.0, "oil": 20.0, "solvent": 100.0, "retention": constant_retention(2 / 3)}
    return Leaching(**(usual | other))


def by_linear_equations(problem: Leaching, held: float, count: int, efficiency: float):
    """Oil left with the solids, from all balances at once: for constant retention of solution."""
    n = count
    under = problem.inert * held
    over_last = problem.wash
    extract = problem.feed_solution + problem.wash - under
    over = [extract] + [under + extract - problem.feed_solution] * (n - 1) + [over_last]
    a, b = np.zeros((2 * n, 2 * n)), np.zeros(2 * n)
    for k in range(n):
        # Oil balance of stage k: underflow strength x_k is unknown k, overflow y_k unknown n + k.
        a[k, k], a[k, n + k] = under, over[k]
        if k:
            a[k, k - 1] = -under
        else:
            b[k] += problem.oil
        if k + 1 < n:
            a[k, n + k + 1] = -over[k + 1]
        else:
            b[k] += problem.oil_in_solvent
        # L x_k = (1 - e) L_(k-1) x_(k-1) + (L - (1 - e) L_(k-1)) y_k
        came = under if k else problem.feed_solution
        a[n + k, k], a[n + k, n + k] = under, (1.0 - efficiency) * came - under
        if k:
            a[n + k, k - 1] = -(1.0 - efficiency) * under
        else:
            b[n + k] = (1.0 - efficiency) * problem.oil
    return under * np.linalg.solve(a, b)[n - 1]


@given(
    oil=st.floats(5.0, 30.0),
    solvent=st.floats(85.0, 200.0),
    held=st.floats(0.3, 0.9),
    count=COUNTS,
    efficiency=EFFICIENCIES,
)
def test_the_prediction_solves_all_balances_at_once(oil, solvent, held, count, efficiency):
    """Agreement with the linear equations of all stages, solved by numpy."""
    problem = beans(
        oil=oil, solvent=solvent, oil_in_solvent=0.005, retention=constant_retention(held)
    )
    told = predict(problem, count, efficiency=efficiency)
    expected = by_linear_equations(problem, held, count, efficiency)
    assert told.residual_oil == pytest.approx(expected, rel=1e-6, abs=1e-10)


@given(problem=PROBLEMS, count=COUNTS, efficiency=EFFICIENCIES)
def test_what_goes_in_comes_out(problem, count, efficiency):
    """Oil and solution over the whole, and solution over each stage."""
    told = predict(problem, count, efficiency=efficiency)
    oil_out = told.residual_oil + told.extract * told.extract_strength
    assert oil_out == pytest.approx(problem.oil + problem.oil_in_solvent, rel=1e-9)
    assert told.retained + told.extract == pytest.approx(
        problem.feed_solution + problem.wash, rel=1e-9
    )
    assert abs(told.balance_error) < 1e-9
    into = (problem.feed_solution, *told.underflow[:-1])
    beyond = (*told.overflow[1:], problem.wash)
    for stage in range(count):
        assert into[stage] + beyond[stage] == pytest.approx(
            told.underflow[stage] + told.overflow[stage], rel=1e-8
        )


@given(problem=PROBLEMS, count=st.integers(2, 7))
def test_stages_and_prediction_are_inverse(problem, count):
    """The residual oil of n ideal stages needs n ideal stages."""
    told = predict(problem, count)
    # Below a few times the wash's own strength the stages differ by less than rounding.
    assume(told.underflow_strength[-1] > 1e-5 + 3 * problem.wash_strength)
    again = stages(problem, residual_oil=told.residual_oil)
    assert again.ideal == pytest.approx(count, abs=1e-4)
    assert again.extract_strength == pytest.approx(told.extract_strength, rel=1e-7)


@given(problem=PROBLEMS, count=COUNTS, efficiency=EFFICIENCIES, more=st.floats(1.0, 50.0))
def test_more_solvent_leaves_less_oil(problem, count, efficiency, more):
    """And makes a weaker miscella."""
    much = replace(problem, solvent=problem.solvent + more, oil_in_solvent=0.0)
    problem = replace(problem, oil_in_solvent=0.0)
    little = predict(problem, count, efficiency=efficiency)
    told = predict(much, count, efficiency=efficiency)
    assert told.residual_oil < little.residual_oil
    assert told.extract_strength < little.extract_strength


@given(problem=PROBLEMS, count=st.integers(1, 8), efficiency=EFFICIENCIES)
def test_a_further_stage_and_a_better_stage_leave_less_oil(problem, count, efficiency):
    """Never more, down to what the wash itself brings."""
    told = predict(problem, count, efficiency=efficiency).residual_oil
    slack = 1e-9 * problem.oil
    assert predict(problem, count + 1, efficiency=efficiency).residual_oil <= told + slack
    better = min(1.0, efficiency + 0.1)
    assert predict(problem, count, efficiency=better).residual_oil <= told + slack


@given(problem=PROBLEMS, count=COUNTS, times=st.floats(0.01, 100.0))
def test_the_unit_of_mass_does_not_matter(problem, count, times):
    """Kilograms, tonnes or tonnes an hour: everything scales."""
    told = predict(problem, count)
    scaled = replace(
        problem,
        inert=times * problem.inert,
        oil=times * problem.oil,
        solvent=times * problem.solvent,
        solvent_in_feed=times * problem.solvent_in_feed,
        oil_in_solvent=times * problem.oil_in_solvent,
    )
    again = predict(scaled, count)
    assert again.residual_oil == pytest.approx(times * told.residual_oil, rel=1e-6, abs=1e-12)


@given(residual=st.floats(0.05, 5.0), held=st.floats(0.3, 0.9))
def test_constant_retention_follows_the_closed_form(residual, held):
    """Ideal stages of a geometric series, with clean solvent: the logarithm of textbooks."""
    problem = beans(retention=constant_retention(held))
    told = stages(problem, residual_oil=residual)
    assume(told.whole > 1)
    under = 80.0 * held
    last, (first, second) = residual / under, told.overflow_strength[:2]
    # McCabe, Smith and Harriott, from memory: n - 1 = ln((yb-yb*)/(ya-ya*)) / ln((yb-ya)/(yb*-ya*))
    more = math.log(last / (first - second)) / math.log(second / (first - last))
    assert told.ideal == pytest.approx(1 + more, rel=1e-6)


def test_as_much_underflow_as_overflow_is_a_straight_line():
    """At a slope of one the logarithm has no value; y falls from 0.80 to 0.08 by steps of 0.08."""
    problem = Leaching(inert=100.0, oil=20.0, solvent=50.0, retention=constant_retention(0.5))
    told = stages(problem, residual_oil=4.0)
    assert np.diff(told.overflow_strength) == pytest.approx(-0.08)
    assert told.ideal == pytest.approx(10.0, abs=1e-6)


def test_one_stage_may_be_more_than_enough():
    """The count does not go below one."""
    told = stages(beans(solvent=1e5), residual_oil=15.0)
    assert told.ideal == 1.0
    assert told.whole == 1


def test_a_constant_and_a_level_table_give_the_same_stages():
    """The whole stages are the same; the fraction differs by the interpolation only."""
    level = retention_table([0.0, 1.0], [1.5, 1.5])
    one = stages(beans(), residual_oil=0.5)
    other = stages(beans(retention=level), residual_oil=0.5)
    assert other.overflow_strength == pytest.approx(one.overflow_strength)
    assert other.ideal == pytest.approx(one.ideal, abs=0.2)


def test_the_table_is_straight_between_and_level_beyond():
    """Linear interpolation; the first and last row hold outside."""
    between = TABLE.inert_per_solution
    assert between(0.1) == pytest.approx(2.1)
    assert between(0.2) == pytest.approx(2.0)
    short = retention_table([0.1, 0.2], [2.0, 1.0]).inert_per_solution
    assert (short(0.0), short(0.9)) == (2.0, 1.0)


def test_solids_that_hold_all_solvent_leave_no_extract():
    """Asked either way, the answer is a sentence."""
    dry = beans(solvent=20.0)
    with pytest.raises(LeachingError, match="No extract is left"):
        predict(dry, 4)
    with pytest.raises(LeachingError, match="No extract is left"):
        stages(dry, residual_oil=1.0)


def test_a_wash_that_is_too_strong_never_gets_there():
    """The target lies below the strength of the solvent itself."""
    with pytest.raises(LeachingError, match="no number of stages"):
        stages(beans(oil_in_solvent=2.0), residual_oil=0.5)


def test_too_little_solvent_ends_in_a_pinch():
    """The stages close up above the target."""
    with pytest.raises(LeachingError, match="a pinch"):
        stages(beans(solvent=45.0), residual_oil=0.5)


@pytest.mark.parametrize("target", [0.0, -1.0, 20.0, math.nan])
def test_a_target_that_cannot_be_is_refused(target):
    """Above nothing and below what enters."""
    with pytest.raises(LeachingError, match="below the 20 of oil that enters"):
        stages(beans(), residual_oil=target)


def test_solids_that_hold_next_to_nothing_cannot_hold_the_target():
    """Even full of pure oil they leave with less."""
    with pytest.raises(LeachingError, match="cannot retain"):
        stages(beans(retention=constant_retention(0.01)), residual_oil=5.0)


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"inert": 0.0}, "inert solids"),
        ({"solvent": math.nan}, "solvent is nan"),
        ({"oil": -1.0}, "oil in the feed"),
        ({"oil_in_solvent": -0.1}, "oil in the solvent"),
        ({"solvent_in_feed": math.inf}, "solvent in the feed"),
    ],
)
def test_masses_that_cannot_be_are_refused(other, said):
    """By name."""
    with pytest.raises(LeachingError, match=said):
        beans(**other)


def test_retentions_that_cannot_be_are_refused():
    """No solution, a table out of order or too short, a function without sense."""
    with pytest.raises(LeachingError, match="above 0"):
        constant_retention(0.0)
    with pytest.raises(LeachingError, match="must rise"):
        retention_table([0.2, 0.1], [1.0, 1.0])
    with pytest.raises(LeachingError, match="two rows"):
        retention_table([0.2], [1.0])
    with pytest.raises(LeachingError, match="must be above 0"):
        predict(beans(retention=Retention(lambda _y: -1.0)), 2)


@pytest.mark.parametrize(("count", "efficiency"), [(0, 1.0), (201, 1.0), (3, 0.0), (3, 1.1)])
def test_stages_that_cannot_be_are_refused(count, efficiency):
    """A whole number of them, and an efficiency above 0 and at most 1."""
    with pytest.raises(LeachingError, match="give"):
        predict(beans(), count, efficiency=efficiency)


def test_a_retention_that_jumps_with_strength_is_said_not_to_settle():
    """Solids that hold much when weak are strong then, and hold little: weak again, and so on."""
    jumping = Retention(lambda y: 1.0 if y < 0.05 else 3.0)
    with pytest.raises(LeachingError, match="do not settle"):
        predict(beans(retention=jumping), 2)


def test_a_weak_feed_that_brings_more_solution_than_the_solids_hold_later():
    """A slurry: the first overflow carries off what the solids let go."""
    slurry = Leaching(
        inert=50.0, oil=5.0, solvent_in_feed=60.0, solvent=40.0, retention=constant_retention(0.5)
    )
    told = predict(slurry, 3)
    assert told.extract == pytest.approx(65.0 + 40.0 - 25.0)
    assert told.extract > told.overflow[1]


def test_solids_that_let_strong_solution_go_may_leave_a_stage_dry():
    """They hold 20 at half strength and 100 of weak solution: what is freed exceeds the wash."""
    letting_go = retention_table([0.05, 0.4], [0.8, 4.0])
    slurry = Leaching(
        inert=80.0, oil=60.0, solvent_in_feed=30.0, solvent=50.0, retention=letting_go
    )
    with pytest.raises(LeachingError, match="no overflow"):
        stages(slurry, residual_oil=4.0)
    with pytest.raises(LeachingError, match=r"no overflow|do not settle"):
        predict(slurry, 6)
