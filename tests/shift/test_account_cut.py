"""Cutting lines into periods: means, sums and stocks as a loop would find them."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.shift.account_cut import (
    ALWAYS,
    OnTime,
    around,
    counts_in,
    last_before,
    nearest,
    plain_means,
    scatter,
    slipped,
    sums_in,
    time_means,
    widened,
)

HOUR = 3600.0
TIMES = st.lists(st.integers(0, 400), min_size=1, max_size=40, unique=True).map(
    lambda found: np.array(sorted(found), dtype=float)
)
EDGES = st.lists(st.integers(-50, 450), min_size=2, max_size=8, unique=True).map(
    lambda found: np.array(sorted(found), dtype=float)
)
SPANS = st.lists(st.tuples(st.integers(-60, 460), st.integers(0, 90)), max_size=5).map(
    lambda found: [(float(a), float(a + n)) for a, n in found]
)


def arr(*values):
    """An array of floats."""
    return np.array(values, dtype=float)


def second_by_second(times, values, edges, reach, spans):
    """The mean over half seconds, each told by the reading it is nearest to."""
    means = []
    for start, end in itertools.pairwise(edges):
        held, on = [], 0
        for at in np.arange(start + 0.25, end, 0.5):
            if any(a <= at < b for a, b in spans):
                continue
            on += 1
            kept = [k for k, t in enumerate(times) if not any(a <= t < b for a, b in spans)]
            if not kept:
                continue
            best = min(kept, key=lambda k: abs(times[k] - at))
            if abs(times[best] - at) <= reach:
                held.append(values[best])
        means.append((np.mean(held) if held else np.nan, len(held) / on if on else 0.0))
    return np.array(means)


@given(TIMES, EDGES, SPANS, st.sampled_from([5.0, 20.0, 1000.0]))
def test_a_time_weighted_mean_is_that_of_each_moment(times, edges, spans, reach):
    """Whatever the bounds, the stops and the gaps."""
    values = np.sin(times)
    found = time_means(times, values, edges, reach_s=reach, on=OnTime.without(spans))
    wanted = second_by_second(times, values, edges, reach, spans)
    np.testing.assert_allclose(found.mean, wanted[:, 0], atol=1e-9)
    np.testing.assert_allclose(found.share, wanted[:, 1], atol=1e-9)


def test_readings_close_together_weigh_less():
    """Two readings a minute apart do not count double against one of the other half day."""
    times = arr(1.0, 1.1, 11.0) * HOUR
    found = time_means(times, arr(10, 10, 20), arr(0, 12) * HOUR, reach_s=12 * HOUR)
    assert found.mean[0] == pytest.approx((6.05 * 10 + 5.95 * 20) / 12)
    assert found.count.tolist() == [3]
    assert plain_means(times, arr(10, 10, 20), arr(0, 12) * HOUR).mean[0] == pytest.approx(40 / 3)


def test_what_does_not_count_is_left_out_of_mean_and_hours():
    """A reading taken in a stop is dropped, and the stop is no part of the time."""
    on = OnTime.without([(4 * HOUR, 8 * HOUR), (6 * HOUR, 9 * HOUR)])
    edges = arr(0, 12) * HOUR
    assert on.hours(edges).tolist() == [7.0]
    assert on.holds(arr(3.9, 4, 8.9, 9) * HOUR).tolist() == [True, False, False, True]
    found = time_means(arr(2, 6, 10) * HOUR, arr(1, 99, 3), edges, reach_s=2 * HOUR, on=on)
    assert found.mean[0] == pytest.approx((4 * 1 + 3 * 3) / 7)
    assert found.share[0] == pytest.approx(1.0)
    assert ALWAYS.hours(edges).tolist() == [12.0]


@given(TIMES, EDGES)
def test_sums_and_counts_are_those_of_a_loop(times, edges):
    """A bound belongs to the period that begins with it."""
    values = np.cos(times)
    inside = [(times >= a) & (times < b) for a, b in itertools.pairwise(edges)]
    assert counts_in(times, edges).tolist() == [int(k.sum()) for k in inside]
    np.testing.assert_allclose(sums_in(times, values, edges), [values[k].sum() for k in inside])


def test_a_stock_is_read_near_the_bound_or_not_at_all():
    """The nearest reading within reach, before or after."""
    times, values = arr(0, 10, 30), arr(1, 2, np.nan)
    at = arr(-4, 4, 6, 14, 40)
    np.testing.assert_array_equal(nearest(times, values, at, within_s=5.0), [1, 1, 2, 2, np.nan])
    np.testing.assert_array_equal(
        last_before(times, values, at, within_s=5.0), [np.nan, 1, np.nan, 2, np.nan]
    )
    assert np.isnan(nearest(arr(), arr(), at, within_s=5.0)).all()
    assert np.isnan(last_before(arr(), arr(), at, within_s=5.0)).all()


def test_the_scatter_is_that_of_the_readings_and_not_of_the_drift():
    """A slow rise and a single slip leave it as it was."""
    rng = np.random.default_rng(5)
    noise = rng.normal(0.0, 0.3, 4000)
    assert scatter(noise) == pytest.approx(0.3, rel=0.05)
    drifting = noise + np.linspace(0.0, 50.0, noise.size)
    drifting[100] += 900.0
    assert scatter(drifting) == pytest.approx(0.3, rel=0.06)
    assert np.isnan(scatter(noise[:10]))


def test_readings_that_agree_with_their_neighbours_tell_less():
    """The standard deviation of a mean of a first-order autoregression, found from one reading."""
    rng = np.random.default_rng(8)
    phi, n = 0.8, 40_000
    drive = rng.normal(0.0, np.sqrt(1 - phi * phi), n)
    line = np.zeros(n)
    for k in range(1, n):
        line[k] = phi * line[k - 1] + drive[k]
    means = line.reshape(-1, 100).mean(axis=1)
    assert widened(line) / np.sqrt(100) == pytest.approx(means.std(), rel=0.15)
    assert widened(rng.normal(0.0, 2.0, n)) == pytest.approx(2.0, rel=0.05)
    assert np.isnan(widened(line[:5]))


def test_a_clock_without_stops_goes_with_the_time_and_one_with_stops_nearly_stands():
    """It never goes back, and what passes in a stop is next to nothing."""
    on = OnTime.without([(10.0, 110.0)])
    told = on.clock(arr(0, 10, 60, 110, 120))
    assert np.all(np.diff(told) > 0.0)
    assert np.diff(told).tolist() == pytest.approx([10.0, 0.005, 0.005, 10.0])
    assert ALWAYS.clock(arr(0, 5)).tolist() == [0.0, 5.0]


def test_between_two_readings_both_are_told_and_how_far_one_has_come():
    """Nothing before the first, after the last, or too far from either."""
    times, values = arr(0, 10, 100), arr(1, 3, 9)
    before, after, share = around(times, values, arr(-1, 0, 5, 10, 55, 101), within_s=20.0)
    np.testing.assert_array_equal(before, [np.nan, 1, 1, np.nan, np.nan, np.nan])
    np.testing.assert_array_equal(after, [np.nan, 3, 3, np.nan, np.nan, np.nan])
    np.testing.assert_array_equal(share, [np.nan, 0, 0.5, np.nan, np.nan, np.nan])
    assert np.isnan(around(arr(1), arr(1), arr(1), within_s=5.0)[0]).all()


def test_a_decimal_point_off_is_seen_by_both_neighbours():
    """Ten times or a tenth of both; a step, an end, and what is not above nought are not it."""
    assert slipped(arr(390, 39, 385, 401)).tolist() == [False, True, False, False]
    assert slipped(arr(9, 8.7, 91, 9.2)).tolist() == [False, False, True, False]
    assert not slipped(arr(39, 390, 391, 388)).any()
    assert not slipped(arr(390, 39, 39, 390)).any()
    assert not slipped(arr(0, 10, 0, -5, 1)).any()
    assert not slipped(arr(1, 10)).any()
