from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.assess.shape import MOST_BINS, last_digits, shape_of

READINGS = st.tuples(
    st.lists(st.integers(-9999, 9999), min_size=1, max_size=200), st.integers(0, 3)
).map(lambda one: (np.array(one[0]) / 10.0 ** one[1], one[1]))


@given(READINGS)
def test_every_reading_is_counted_once(readings):
    """In a bin, or beside the histogram."""
    values, decimals = readings
    shape = shape_of(values, decimals)
    assert sum(shape.counts) + sum(shape.outside) == values.size
    assert len(shape.edges) == len(shape.counts) + 1
    assert len(shape.counts) <= MOST_BINS * 2 + 2
    assert shape.digit_count == values.size


@given(READINGS)
def test_bins_are_whole_steps_of_the_last_decimal(readings):
    """No bin can hold more different readings than another."""
    values, decimals = readings
    shape = shape_of(values, decimals)
    width = (shape.edges[1] - shape.edges[0]) * 10**decimals
    assert round(width) >= 1
    assert width == pytest.approx(round(width), abs=1e-5)


def test_figures_of_a_known_normal_sample():
    """Mean, spread and quantiles are those of the distribution drawn from."""
    values = np.random.default_rng(2).normal(50.0, 2.0, 20000).round(2)
    shape = shape_of(values, 2)
    assert shape.mean == pytest.approx(50.0, abs=0.06)
    assert shape.spread == pytest.approx(2.0, abs=0.04)
    assert shape.quantiles[3] == pytest.approx(50.0, abs=0.06)
    assert shape.quantiles[5] == pytest.approx(50.0 + 1.645 * 2.0, abs=0.1)


def test_one_wild_value_does_not_flatten_the_rest():
    """A decimal point in the wrong place is counted beside the histogram."""
    values = np.append(np.random.default_rng(4).normal(50.0, 1.0, 500).round(1), 5000.0)
    shape = shape_of(values, 1)
    assert shape.outside == (0, 1)
    assert shape.edges[-1] < 70


def test_last_digits_of_what_was_written():
    """Floating point does not turn a 3 into a 2."""
    values = np.arange(0, 1000) / 10.0
    assert last_digits(values, 1) == (100,) * 10


def test_no_readings_have_no_shape():
    """Nothing comes of nothing."""
    assert shape_of(np.empty(0), 1) is None


@pytest.mark.parametrize(("spread", "tells"), [(0.01, False), (0.03, False), (0.06, True)])
def test_last_digits_tell_something_only_of_a_wide_spread(spread, tells):
    """Where they do, honest readings end on all digits alike within a few in a hundred."""
    values = np.random.default_rng(8).normal(0.35, spread, 100000).round(2)
    shape = shape_of(values, 2)
    assert shape.digits_tell is tells
    if tells:
        assert max(shape.digits) < 11500
        assert min(shape.digits) > 8500
