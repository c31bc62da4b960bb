import numpy as np
import pytest

from logbook.assess.changepoints import knee_of, partition, steps_in


def brute(values, penalty, shortest):
    """The least cost of all ways to cut a short series."""
    best = {0: 0.0}
    for end in range(1, values.size + 1):
        costs = [
            best[a] + ((values[a:end] - values[a:end].mean()) ** 2).sum() + penalty
            for a in best
            if end - a >= shortest
        ]
        if costs:
            best[end] = min(costs)
    return best[values.size]


@pytest.mark.parametrize("seed", range(8))
def test_no_way_to_cut_costs_less(seed):
    """The cost of the cuts found is the least there is."""
    rng = np.random.default_rng(seed)
    values = rng.normal(size=14) + np.repeat([0.0, 3.0], 7)
    starts = partition(values, 2.0, 2)
    ends = [*starts[1:], values.size]
    cost = sum(
        ((values[a:b] - values[a:b].mean()) ** 2).sum() + 2.0
        for a, b in zip(starts, ends, strict=True)
    )
    assert cost == pytest.approx(brute(values, 2.0, 2))


def test_a_step_is_found_where_it_is():
    """Level, place and scatter of both sides."""
    rng = np.random.default_rng(2)
    values = np.concatenate([rng.normal(10.0, 0.5, 60), rng.normal(12.0, 0.5, 40)])
    steps = steps_in(values)
    assert steps.last_change == pytest.approx(60, abs=1)
    assert steps.levels == pytest.approx((10.0, 12.0), abs=0.2)
    assert steps.sigma == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.8])
def test_a_series_that_wanders_is_not_cut_to_shreds(correlation):
    """Of AR(1) series without a step at most one in twenty-five is cut."""
    rng = np.random.default_rng(4)
    cut = 0
    for _ in range(150):
        values = np.zeros(200)
        for k in range(1, 200):
            values[k] = correlation * values[k - 1] + rng.normal()
        cut += steps_in(values).last_change is not None
    assert cut <= 6


def test_a_short_or_level_series_is_one_piece():
    """Nothing to cut: one piece, its own mean."""
    assert steps_in(np.array([2.0, 2.0, 2.0, 2.0])).starts == (0,)
    assert steps_in(np.array([1.0, 5.0])).last_change is None


@pytest.mark.parametrize(
    ("values", "shortest"), [([1.0], 3), ([1.0, np.nan, 2.0], 3), ([1.0, 2.0], 0)]
)
def test_what_cannot_be_cut_is_refused(values, shortest):
    """Too few values, gaps and pieces without a value are errors."""
    with pytest.raises(ValueError, match=r"steps need|leave out|a piece"):
        steps_in(np.array(values), shortest=shortest)


def test_the_knee_is_where_the_slope_begins():
    """A level, then a slope, with noise: found within two days of thirty."""
    rng = np.random.default_rng(9)
    days = np.arange(-30.0, 0.0, 0.5)
    values = 0.35 + 0.0035 * np.maximum(days + 12.0, 0.0) + rng.normal(0.0, 0.003, days.size)
    knee = knee_of(days, values)
    assert knee.at == pytest.approx(-12.0, abs=2.0)
    assert knee.slope == pytest.approx(0.0035, rel=0.2)
    assert 0.8 < knee.explained < 1.0


def test_a_level_series_has_no_knee():
    """Nor has one of fewer than five values."""
    assert knee_of(np.arange(9.0), np.full(9, 4.0)) is None
    assert knee_of(np.arange(4.0), np.arange(4.0)) is None
