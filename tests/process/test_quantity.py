"""Tests of figures with their uncertainty."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.quantity import Quantity, absent, derive, propagate

SMALL = st.floats(0.001, 0.1)
PLAIN = st.floats(1.0, 1000.0)


@given(a=PLAIN, b=PLAIN, da=SMALL, db=SMALL)
def test_the_uncertainty_of_a_sum_is_the_root_of_the_squares(a, b, da, db):
    """JCGM 100:2008, 5.1.2: independent uncertainties of a sum add in squares."""
    value, sigma = propagate(lambda a, b: a + b, {"a": a, "b": b}, {"a": da, "b": db})
    assert value == a + b
    assert sigma == pytest.approx(math.hypot(da, db), rel=1e-6)


@given(a=PLAIN, b=PLAIN, da=SMALL, db=SMALL)
def test_relative_uncertainties_of_a_product_add_in_squares(a, b, da, db):
    """JCGM 100:2008, 5.1.6, equation (12): for a product the relative ones do."""
    sigmas = {"a": a * da, "b": b * db}
    value, sigma = propagate(lambda a, b: a * b, {"a": a, "b": b}, sigmas)
    assert sigma / value == pytest.approx(math.hypot(da, db), rel=1e-6)


def test_an_input_of_unknown_uncertainty_makes_the_result_one():
    """No uncertainty is made up where one input's is not known."""
    assert propagate(lambda a, b: a + b, {"a": 1.0, "b": 2.0}, {"a": 0.1}) == (3.0, None)


def test_what_is_missing_is_named_down_the_line():
    """A figure made of one that is missing names the first cause, once."""
    oil = absent("oil", "t", "oil counter")
    beans = Quantity("beans", 100.0, "t", 0.5)
    share = derive("yield", "%", lambda o, b: 100 * o / b, {"o": oil, "b": beans})
    twice = derive("twice", "%", lambda s, o: s + o, {"s": share, "o": oil})
    assert share.value is None
    assert share.missing == ("oil counter",)
    assert twice.missing == ("oil counter",)
    assert share.inputs == ("oil", "beans")


def test_dividing_by_nothing_gives_no_figure_and_says_so():
    """A formula that cannot be worked out is told, not raised, and not guessed."""
    oil, none = Quantity("oil", 1.0, "t", 0.1), Quantity("beans", 0.0, "t", 0.0)
    share = derive("yield", "", lambda o, b: o / b, {"o": oil, "b": none}, note="per shift")
    assert share.value is None
    assert share.note.startswith("per shift; cannot be worked out")


def test_an_interval_needs_value_and_uncertainty():
    """1.96 standard uncertainties to either side; none where one is not known."""
    assert Quantity("x", 10.0, "t", 1.0).interval() == pytest.approx((8.04, 11.96))
    assert Quantity("x", 10.0, "t").interval() is None
    assert absent("x", "t").missing == ("x",)
