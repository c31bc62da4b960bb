"""Correlated readings: the estimate, and that charts keep their false-alarm rate with them."""

from math import isnan, nan, sqrt

import numpy as np
import pytest

from logbook.assess.autocorrelation import rows_lag_one, rows_residuals
from logbook.assess.chart_rows import together
from logbook.assess.charts import (
    individuals,
    lag_one,
    prediction_width,
    residuals,
)
from logbook.assess.ewma_cusum import ewma_asymptote, rows_cusum, rows_ewma
from logbook.assess.moving_range import range_sigma
from logbook.assess.run_rules import NELSON, WESTERN_ELECTRIC, rows_flags

STATED = 0.0027
"""False alarms of three-sigma limits."""


def follow(lag1, rows, length, seed) -> np.ndarray:
    """AR(1) series with mean 0 and standard deviation 1, shape (rows, length)."""
    rng = np.random.default_rng(seed)
    values = rng.standard_normal((rows, length))
    for column in range(1, length):
        values[:, column] *= sqrt(1.0 - lag1 * lag1)
        values[:, column] += lag1 * values[:, column - 1]
    return values


# ----------------------------------------------------------------- the estimate


@pytest.mark.parametrize("lag1", [-0.4, 0.0, 0.3, 0.6, 0.9])
def test_the_estimate_is_right_on_average(lag1):
    """400 series of 120: mean within 0.025 (0.02 low at 0.9), spread as the standard error says."""
    value, _, _ = rows_lag_one(follow(lag1, 400, 120, seed=1))
    assert value.mean() == pytest.approx(lag1, abs=0.025)
    assert value.std() == pytest.approx(sqrt((1 - lag1**2) / 119), rel=0.35)


def test_wild_readings_hardly_move_the_estimate():
    """One reading in fifty ten times out: the plain estimate is halved, this one is not."""
    values = follow(0.7, 1, 1000, seed=2)[0]
    clean = lag_one(values).value
    values[25::50] = 15.0
    plain = np.corrcoef(values[:-1], values[1:])[0, 1]
    assert plain < 0.4
    assert lag_one(values).value == pytest.approx(clean, abs=0.08)


def test_only_neighbours_make_a_pair():
    """With every third reading missing half of the pairs are left, and the estimate stays."""
    values = follow(0.6, 1, 3000, seed=3)[0]
    values[::3] = nan
    found = lag_one(values)
    assert found.pairs == 1000
    assert found.value == pytest.approx(0.6, abs=0.08)


def test_readings_typed_coarsely_share_a_rank():
    """Rounded to a whole sigma the estimate is a little lower, not nonsense."""
    values = np.round(follow(0.6, 1, 4000, seed=4)[0])
    assert 0.45 < lag_one(values).value < 0.65


def test_what_cannot_be_estimated_is_said():
    """Too few pairs, or nothing that varies; charts then use no correlation."""
    few, same = lag_one(np.arange(20.0)), lag_one(np.full(100, 3.3))
    assert isnan(few.value)
    assert few.note.startswith("too few: 19 pairs")
    assert same.note.startswith("not judged")
    assert few.used == same.used == lag_one(-np.ones(5)).used == 0.0
    assert lag_one([]).pairs == 0


def test_a_negative_correlation_never_narrows_limits():
    """It is told, and not used."""
    found = lag_one(np.array([1.0, -1.0] * 40) + np.random.default_rng(5).normal(0, 0.1, 80))
    assert found.value < -0.5
    assert found.used == 0.0


# ----------------------------------------------------------------- residuals


def test_residuals_are_independent_also_across_gaps():
    """Of AR(1) series with a third missing: variance 1, no correlation left."""
    values = follow(0.8, 40, 500, seed=6)
    values[np.random.default_rng(7).random(values.shape) < 0.3] = nan
    left = rows_residuals(together(values), np.full(40, 0.8))
    assert np.nanstd(left) == pytest.approx(1.0, abs=0.02)
    product = left[:, 1:] * left[:, :-1]
    assert np.nanmean(product) == pytest.approx(0.0, abs=0.03)


def test_residuals_of_one_series_stay_at_their_readings():
    """NaN where the reading is missing; all NaN without a sigma."""
    values = [12.0, nan, 11.0]
    left = residuals(values, 10.0, 2.0, 0.5)
    assert left[[0, 2]] == pytest.approx([1.0, (0.5 - 0.25) / sqrt(1 - 0.25**2)])
    assert isnan(left[1])
    assert np.isnan(residuals(values, 10.0, 0.0, 0.5)).all()
    with pytest.raises(ValueError, match="lag1"):
        residuals(values, 10.0, 1.0, 1.0)


# ----------------------------------------------------------------- false alarms


@pytest.mark.parametrize("lag1", [0.0, 0.3, 0.6, 0.8, 0.9])
def test_widened_limits_keep_their_false_alarm_rate_on_correlated_readings(lag1):
    """Baselines of 30 days at two hours, the next 400 readings judged, 400 series.

    Everything is estimated from the baseline, as in the plant. Limits for independent readings give
    1 % false alarms at a correlation of 0.3 and every third reading at 0.9; the widened ones stay
    between half and one and a half of the 0.27 % that three sigma stand for.
    """
    series = follow(lag1, 400, 760, seed=20)
    plain, widened = [], []
    for row in series:
        base, after = row[:360], row[360:]
        used = lag_one(base).used
        width = prediction_width(3.0, 360, used)
        known = range_sigma(base, used)
        widened.append(np.mean(np.abs(after - known.centre) > width * known.sigma))
        chart = individuals(base)
        plain.append(np.mean((after > chart.upper) | (after < chart.lower)))
    assert STATED / 2 < np.mean(widened) < STATED * 1.5
    expected = {0.0: 0.003, 0.3: 0.012, 0.6: 0.06, 0.8: 0.19, 0.9: 0.35}[lag1]
    assert np.mean(plain) == pytest.approx(expected, rel=0.3)


@pytest.mark.parametrize("lag1", [0.0, 0.3, 0.6, 0.8, 0.9])
def test_the_ewma_keeps_its_false_alarm_rate_on_correlated_readings(lag1):
    """Known centre, sigma and correlation: 0.27 % of averages outside three sigma of theirs.

    Without the correlation in its variance, at 0.6 an average is outside in one of ten.
    """
    average = rows_ewma(together(follow(lag1, 300, 1500, seed=21)), 0.2)[:, 100:]
    share = np.mean(np.abs(average) > 3.0 * ewma_asymptote(0.2, lag1))
    assert STATED * 0.7 < share < STATED * 1.3
    if lag1 == 0.6:
        assert np.mean(np.abs(average) > 3.0 * ewma_asymptote(0.2)) > 0.07


@pytest.mark.parametrize("lag1", [0.3, 0.6, 0.9])
def test_run_rules_on_residuals_fire_as_often_as_on_independent_readings(lag1):
    """Western Electric and Nelson: the same shares to a tenth, rule by rule, where enough fire.

    On the correlated readings themselves runs on one side come more often by far.
    """
    values = follow(lag1, 200, 3000, seed=22)
    left = rows_residuals(together(values), np.full(200, lag1))
    free = np.random.default_rng(23).standard_normal(values.shape)
    for settings in (WESTERN_ELECTRIC, NELSON):
        ours = rows_flags(together(left), settings)
        theirs = rows_flags(together(free), settings)
        assert (ours != 0).mean() == pytest.approx((theirs != 0).mean(), rel=0.06)
        for rule in settings.rules:
            share, other = (((found & int(rule)) != 0).mean() for found in (ours, theirs))
            assert share == pytest.approx(other, rel=0.15, abs=1e-4), rule
    raw = rows_flags(together(values), WESTERN_ELECTRIC)
    times = {0.3: 2.0, 0.6: 5.0, 0.9: 15.0}[lag1]
    assert (raw != 0).mean() > times * 0.0135


def test_the_cusum_of_residuals_runs_as_long_as_stated():
    """With k 0.5, h 5: 465 readings to a false alarm; on correlated readings 20 to 60."""
    values = follow(0.6, 500, 4000, seed=24)
    left = together(rows_residuals(together(values), np.full(500, 0.6)))
    runs = [
        (np.maximum(*rows_cusum(rows, np.array([0.5]))) > 5.0).argmax(axis=1) + 1
        for rows in (left, together(values))
    ]
    assert runs[0].mean() == pytest.approx(465, rel=0.15)
    assert 20 < runs[1].mean() < 60


def test_the_less_a_baseline_tells_the_wider_its_limits():
    """Width falls towards three sigma with readings, grows with correlation, and ends in none."""
    widths = [prediction_width(3.0, count, 0.5) for count in (30, 100, 1000, 100_000)]
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] == pytest.approx(3.0, abs=1e-3)
    assert prediction_width(3.0, 100, 0.8) > prediction_width(3.0, 100, 0.2)
    assert isnan(prediction_width(3.0, 40, 0.9))
