from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from logbook.assess.groups import (
    chance_of_equal,
    difference,
    group_mean,
    independent_count,
)


def slow(rng, size, memory):
    """A series in which each value keeps so much of the one before (AR(1)), of spread 1."""
    found = np.empty(size)
    found[0] = rng.normal()
    for k in range(1, size):
        found[k] = memory * found[k - 1] + rng.normal() * np.sqrt(1 - memory**2)
    return found


@pytest.mark.parametrize("memory", [0.0, 0.5, 0.8])
def test_intervals_of_slow_points_hold_what_they_promise(memory):
    """About 95 % of them hold the true mean, however slow the point is."""
    rng = np.random.default_rng(21)
    held = 0
    for _ in range(200):
        low, high = group_mean("", slow(rng, 300, memory)).interval
        held += low <= 0.0 <= high
    assert held >= 200 * 0.9


def test_slow_readings_are_worth_what_theory_says():
    """For AR(1) that is n (1 - a) / (1 + a)."""
    rng = np.random.default_rng(22)
    worth = np.mean([independent_count(slow(rng, 2000, 0.6)) for _ in range(20)])
    assert worth == pytest.approx(2000 * 0.4 / 1.6, rel=0.15)


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=80))
def test_a_group_is_never_worth_more_than_its_readings(values):
    """At least one, at most all; the mean lies between the extremes."""
    group = group_mean("", np.array(values))
    assert 1.0 <= group.effective <= len(values)
    assert min(values) - 1e-6 <= group.mean <= max(values) + 1e-6


def test_too_few_readings_have_no_interval():
    """A mean of three says where they were, not where the point is."""
    few = group_mean("", np.array([1.0, 2.0, 4.0]))
    assert few.interval is None
    assert difference(few, few) is None
    assert group_mean("", np.empty(0)) is None


def test_a_difference_has_the_interval_of_both():
    """Two groups a unit apart are found a unit apart."""
    rng = np.random.default_rng(3)
    a, b = (group_mean("", rng.normal(mean, 1, 200)) for mean in (5.0, 6.0))
    apart, low, high = difference(a, b)
    assert low < 1.0 < high
    assert apart == pytest.approx(1.0, abs=0.3)


def test_of_two_groups_the_chance_is_that_of_welchs_test():
    """As scipy works it out for two groups of unequal spread."""
    rng = np.random.default_rng(4)
    a, b = rng.normal(0, 1, 40), rng.normal(0.5, 3, 25)
    expected = stats.ttest_ind(a, b, equal_var=False).pvalue
    assert chance_of_equal([a, b]) == pytest.approx(expected, rel=1e-6)


def test_equal_groups_are_called_different_one_time_in_twenty():
    """The stated rate holds for four groups of unequal size and spread."""
    rng = np.random.default_rng(6)
    hits = sum(
        chance_of_equal([rng.normal(0, s, n) for s, n in ((1, 30), (2, 20), (1, 25), (3, 40))])
        < 0.05
        for _ in range(400)
    )
    assert hits / 400 < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 400)


def test_too_few_values_say_nothing():
    """One group, or groups of two."""
    assert chance_of_equal([np.arange(5.0)]) is None
    assert chance_of_equal([np.arange(2.0), np.arange(2.0)]) is None
