"""Tests of figures in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process.quantity import Quantity, absent
from logbook.shift.figure_words import figure_of, making_words, number_words


@given(value=st.floats(-1e7, 1e7), sigma=st.floats(1e-4, 1e5))
def test_value_and_interval_end_at_the_same_place(value, sigma):
    """JCGM 100:2008, 7.2.6: the estimate is rounded to the place of its uncertainty."""
    told, spread = number_words(value, sigma)
    places = [len(text.partition(".")[2]) for text in (told, spread)]
    assert places[0] == places[1]
    assert float(spread.removeprefix("± ").replace(" ", "")) == pytest.approx(
        2 * sigma, rel=0.051, abs=0.5
    )


@pytest.mark.parametrize(
    ("value", "sigma", "expected"),
    [
        (18.934, 0.061, ("18.93", "± 0.12")),
        (72314.2, 151.0, ("72 314", "± 302")),
        (-0.0001, 0.2, ("0.00", "± 0.40")),
        (0.0, None, ("0", "")),
        (12.0, 0.0, ("12.00", "")),
        (float("nan"), 1.0, ("not known", "")),
    ],
)
def test_figures_are_written_as_people_expect(value, sigma, expected):
    """Thousands in groups, no minus before a zero, exact values with four digits."""
    assert number_words(value, sigma) == expected


def test_a_decimal_comma_is_kept_throughout():
    """A plant that writes commas reads commas."""
    assert number_words(1234.5, 0.4, decimal_comma=True) == ("1 234,50", "± 0,80")


def test_the_making_of_a_figure_names_inputs_missing_things_and_formula():
    """One sentence each, in a fixed order."""
    made = Quantity("x", None, "t", None, ("a", "b"), "a minus b", ("b",), "an estimate")
    assert making_words(made) == "Missing: b. From a, b. An estimate. Formula: a minus b."
    assert figure_of(absent("x", "t", "b")).mark == "missing"
