"""Tests of the probabilities behind the tests of a balance."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2, norm

from logbook.process.chance import (
    chi_square_limit,
    chi_square_tail,
    level_of_each,
    normal_limit,
)


@given(value=st.floats(0.0, 300.0), dof=st.integers(1, 60))
def test_the_tail_of_chi_square_is_that_of_scipy(value, dof):
    """The finite sums agree with scipy.stats to 1e-10 of the probability."""
    assert chi_square_tail(value, dof) == pytest.approx(chi2.sf(value, dof), rel=1e-10, abs=1e-300)


@pytest.mark.parametrize("dof", [1, 2, 5, 12, 31])
@pytest.mark.parametrize("level", [0.2, 0.05, 0.001])
def test_the_limit_is_where_the_tail_has_the_level(level, dof):
    """It is scipy's quantile, too."""
    limit = chi_square_limit(level, dof)
    assert limit == pytest.approx(chi2.isf(level, dof), rel=1e-9)
    assert chi_square_tail(limit, dof) == pytest.approx(level, rel=1e-9)


def test_without_a_degree_of_freedom_there_is_nothing_to_say():
    """No probability is made up, and no limit."""
    assert math.isnan(chi_square_tail(3.0, 0))
    with pytest.raises(ValueError, match="no limit for 0 degrees"):
        chi_square_limit(0.05, 0)
    with pytest.raises(ValueError, match="at level 0"):
        chi_square_limit(0.0, 3)


def test_far_out_the_tail_is_zero_and_at_nothing_it_is_one():
    """No overflow on the way."""
    assert chi_square_tail(1e6, 7) == 0.0
    assert chi_square_tail(0.0, 7) == 1.0


@given(level=st.floats(1e-9, 0.5), tests=st.integers(2, 1000))
def test_sidak_lies_between_bonferroni_and_no_correction(level, tests):
    """All of several independent tests together err with the level asked for."""
    sidak = level_of_each(level, tests)
    assert level_of_each(level, tests, "bonferroni") <= sidak <= level
    assert 1.0 - (1.0 - sidak) ** tests == pytest.approx(level, rel=1e-5)
    assert level_of_each(level, tests, "none") == level


def test_an_unknown_correction_is_refused():
    """With what may be given instead."""
    with pytest.raises(ValueError, match="'sidak', 'bonferroni' or 'none'"):
        level_of_each(0.05, 3, "holm")


@given(level=st.floats(1e-6, 0.5))
def test_the_normal_limit_leaves_the_level_outside_both_ways(level):
    """As scipy's quantile of half the level."""
    assert normal_limit(level) == pytest.approx(norm.isf(level / 2.0), rel=1e-8)
