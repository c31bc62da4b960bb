"""Tests of the search for a crossing."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.roots import root_between


@given(root=st.floats(-50.0, 50.0), bend=st.floats(0.01, 3.0))
def test_the_crossing_of_a_rising_curve_is_found(root, bend):
    """Any bracket and any bend: the crossing comes back to 1e-8."""
    found = root_between(lambda x: math.sinh(bend * (x - root) / 20.0), -60.0, 60.0)
    assert found == pytest.approx(root, abs=1e-8)


@given(root=st.floats(0.001, 0.999), power=st.integers(1, 9))
def test_a_falling_and_a_lopsided_curve_are_no_harder(root, power):
    """x^n against its value, from either end."""
    wanted = root**power
    assert root_between(lambda x: wanted - x**power, 0.0, 1.0) == pytest.approx(root, abs=1e-9)


def test_few_steps_are_taken():
    """The search is there to be quick: 15 evaluations or fewer on a smooth curve."""
    seen = []

    def curve(x):
        seen.append(x)
        return math.exp(x) - 5.0

    assert root_between(curve, 0.0, 4.0) == pytest.approx(math.log(5.0), abs=1e-9)
    assert len(seen) <= 15


def test_no_crossing_is_said():
    """The same sign at both ends is an error that names them."""
    with pytest.raises(ValueError, match="no crossing between 1 and 2"):
        root_between(lambda x: x, 1.0, 2.0)


def test_a_crossing_at_an_end_is_found():
    """An end that is the crossing is the answer."""
    assert root_between(lambda x: x, 0.0, 2.0) == pytest.approx(0.0, abs=1e-9)
    assert root_between(lambda x: x - 2.0, 0.0, 2.0) == pytest.approx(2.0, abs=1e-9)
