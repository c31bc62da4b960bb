from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.assess.lags import changes, lag_of, on_grid


def slow(rng, size, memory):
    """A series in which each value keeps so much of the one before (AR(1))."""
    noise, found = rng.normal(size=size), np.empty(size)
    found[0] = noise[0] / np.sqrt(1 - memory**2)
    for k in range(1, size):
        found[k] = memory * found[k - 1] + noise[k]
    return found


@pytest.mark.parametrize("lag", [-7, -1, 0, 4, 9])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_shifted_copy_is_found_at_its_lag(lag, sign):
    """What follows another by so many steps, of either sign and with noise, is found there."""
    rng = np.random.default_rng(5)
    base = slow(rng, 500, 0.6)
    first, second = base[20:480], sign * base[20 - lag : 480 - lag] + rng.normal(size=460) * 0.3
    found = lag_of(first, second, 12)
    assert found.lag == lag
    assert found.is_found
    assert found.low < found.correlation < found.high
    assert np.sign(found.correlation) == sign


@pytest.mark.slow
@pytest.mark.parametrize("memory", [0.0, 0.5, 0.8, 0.95])
def test_unrelated_points_are_seldom_said_to_go_together(memory):
    """However slow both are, chance is mistaken for a link in about one of twenty at most."""
    rng = np.random.default_rng(11)
    trials = 120
    hits = sum(
        lag_of(slow(rng, 240, memory), slow(rng, 240, memory), 8).is_found for _ in range(trials)
    )
    # 5 % with three standard deviations of 120 trials; without the allowance it is over half.
    assert hits / trials <= 0.05 + 3 * np.sqrt(0.05 * 0.95 / trials)


def test_two_random_walks_are_not_said_to_go_together():
    """Points that drift without an end say nothing of one another."""
    rng = np.random.default_rng(12)
    walks = [np.cumsum(rng.normal(size=240)) for _ in range(80)]
    hits = sum(lag_of(a, b, 8).is_found for a, b in zip(walks[::2], walks[1::2], strict=True))
    assert hits <= 4


def test_slow_points_are_worth_few_readings():
    """Of two points that hardly change from reading to reading a fraction counts."""
    rng = np.random.default_rng(3)
    found = lag_of(slow(rng, 600, 0.95), slow(rng, 600, 0.95), 5)
    assert found.effective < found.pairs / 5
    quick = lag_of(rng.normal(size=600), rng.normal(size=600), 5)
    assert quick.effective > quick.pairs * 0.8


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (np.zeros(100), np.arange(100.0)),
        (np.full(100, np.nan), np.arange(100.0)),
        (np.arange(5.0), np.arange(5.0)),
        (np.empty(0), np.empty(0)),
    ],
)
def test_too_little_is_said_to_be_too_little(first, second):
    """A point that does not move, or has no readings, goes with nothing."""
    assert lag_of(first, second, 5) is None


def test_a_place_between_far_readings_has_no_value():
    """A gap is no value on the grid; a reading on the spot is one."""
    times = np.array([0, 10, 100])
    grid = np.array([-5, 0, 5, 10, 50, 100, 105])
    found = on_grid(times, np.array([1.0, 2.0, 3.0]), grid, 20.0)
    assert found[1:4].tolist() == [1.0, 1.5, 2.0]
    assert found[5] == 3.0
    assert np.isnan(found[[0, 4, 6]]).all()


@given(
    st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=60),
    st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=60),
    st.integers(0, 30),
)
def test_whatever_the_values_the_figures_are_within_their_bounds(a, b, most):
    """A correlation lies in [-1, 1], a chance in [0, 1], and no more pairs count than there are."""
    size = min(len(a), len(b))
    found = lag_of(np.array(a[:size]), np.array(b[:size]), most)
    if found is not None:
        assert -1.0 <= found.low <= found.correlation + 1e-6
        assert found.correlation - 1e-6 <= found.high <= 1.0
        assert 0.0 <= found.chance <= 1.0
        assert 3.0 <= found.effective <= found.pairs
        assert abs(found.lag) <= most


def test_swapping_the_two_turns_the_lag_round():
    """Which comes first does not depend on which is named first."""
    rng = np.random.default_rng(8)
    base = rng.normal(size=300)
    there, back = lag_of(base[4:], base[:-4], 9), lag_of(base[:-4], base[4:], 9)
    assert there.lag == -back.lag
    assert there.correlation == pytest.approx(back.correlation)


def test_two_rising_points_share_only_their_rise():
    """Their changes do not go together, though the values do."""
    rng = np.random.default_rng(9)
    slope = np.linspace(0, 50, 300)
    a, b = slope + rng.normal(size=300), slope + rng.normal(size=300)
    assert lag_of(a, b, 3).correlation > 0.95
    assert abs(lag_of(changes(a), changes(b), 3).correlation) < 0.3
