"""Charts of readings and of subgroups, EWMA, CUSUM, capability: gaps, few data, what always holds."""

from math import isnan, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.autocorrelation import effective_counts
from logbook.assess.chart_constants import constants
from logbook.assess.charts import (
    capability,
    cusum,
    cusum_run_length,
    ewma,
    ewma_run_length,
    individuals,
    xbar_r,
    xbar_s,
)
from logbook.assess.ewma_cusum import ewma_asymptote, ewma_deviation

nan = float("nan")

SERIES = st.lists(st.integers(-200, 200), min_size=9, max_size=60).filter(
    lambda values: len(set(values)) > 1
)
"""Whole numbers, so that another zero and a doubled unit are exact."""
SCALES = st.sampled_from([-4.0, -1.0, 0.5, 2.0, 64.0])
SHIFTS = st.integers(-1000, 1000)


@pytest.fixture(scope="module")
def readings():
    """Two hundred readings about 50, one in ten missing."""
    rng = np.random.default_rng(2)
    values = rng.normal(50.0, 2.0, 200)
    values[rng.random(200) < 0.1] = nan
    return values


# ----------------------------------------------------------------- constants


def test_constants_of_pairs_are_exact():
    """The range of two: mean 2/sqrt(pi), variance 2 - 4/pi; c4 is sqrt(2/pi)."""
    two = constants(2)
    assert two.d2 == pytest.approx(2 / sqrt(np.pi), rel=1e-12)
    assert two.d3 == pytest.approx(sqrt(2 - 4 / np.pi), rel=1e-12)
    assert two.c4 == pytest.approx(sqrt(2 / np.pi), rel=1e-12)


@pytest.mark.parametrize("size", [0, 1, 201])
def test_constants_of_no_subgroup_are_refused(size):
    """One reading has no range, and beyond 200 nothing was worked out."""
    with pytest.raises(ValueError, match="2 to 200"):
        constants(size)


# ----------------------------------------------------------------- single readings


def test_a_gap_has_no_moving_range(readings):
    """Readings on both sides of a missing one are not neighbours."""
    chart = individuals([1.0, 2.0, nan, 9.0, 8.0] * 3)
    assert np.isnan(chart.moving_range[[0, 2, 3]]).all()
    assert chart.moving_range[[1, 4]].tolist() == [1.0, 1.0]
    assert chart.mean_range == pytest.approx((6 * 1.0 + 2 * 7.0) / 8)
    assert individuals(readings).count == np.count_nonzero(~np.isnan(readings))


def test_limits_come_from_the_baseline_and_judge_everything(readings):
    """A slice or a mask of the same readings gives the same limits; what follows is judged."""
    values = readings.copy()
    values[150] = 99.0
    mask = np.zeros(200, dtype=bool)
    mask[:100] = True
    by_slice = individuals(values, baseline=slice(0, 100))
    by_mask = individuals(values, baseline=mask)
    assert (by_slice.lower, by_slice.upper) == (by_mask.lower, by_mask.upper)
    assert by_slice.out[150] == 1
    assert by_slice.centre == pytest.approx(np.nanmean(values[:100]))


def test_a_baseline_that_does_not_fit_is_refused(readings):
    """A mask of another length is a mistake, not a choice."""
    with pytest.raises(ValueError, match="mask of shape"):
        individuals(readings, baseline=np.ones(3, dtype=bool))
    with pytest.raises(ValueError, match="lag1"):
        individuals(readings, lag1=1.0)
    with pytest.raises(ValueError, match="One series"):
        individuals([[1.0, 2.0]])


@pytest.mark.parametrize("values", [[], [5.0], [1.0, 2.0, 3.0], [nan] * 40, [1.0, nan] * 10])
def test_too_few_readings_are_said_and_not_guessed_from(values):
    """No limits, nothing out, and a note; half of a series without neighbours has none either."""
    chart = individuals(values)
    assert isnan(chart.lower)
    assert isnan(chart.upper)
    assert not chart.out.any()
    assert chart.note.startswith("too few")
    average = ewma(values, 0.2, 3.0)
    assert not average.out.any()
    assert "too few" in average.note
    index = capability(values, 0.0, 10.0)
    assert isnan(index.cpk.value)
    assert index.note


def test_few_readings_are_charted_with_a_caution():
    """From 8 on there are limits, below 25 a note that they are few."""
    chart = individuals([1.0, 2.0] * 5)
    assert chart.note == "few: 10 readings, 25 are usual"
    assert not isnan(chart.upper)
    assert individuals([1.0, 2.0] * 13).note == ""


@settings(max_examples=60, deadline=None)
@given(st.floats(-1e9, 1e9), st.integers(8, 60))
def test_no_chart_flags_a_constant_series(value, count):
    """Nothing varies, so nothing is known of chance: no limits and no flags, for any value."""
    values = [value] * count
    single = individuals(values)
    assert single.centre == value
    assert not single.out.any()
    assert not single.range_out.any()
    assert single.note.startswith("not judged")
    assert not ewma(values, 0.2, 3.0).out.any()
    assert cusum(values, value, 0.5, 5.0, single.sigma).signals == ()
    groups = np.full((count, 4), value)
    for chart in (xbar_r(groups), xbar_s(groups)):
        assert not chart.out.any()
        assert not chart.spread_out.any()
        assert chart.note.startswith("not judged")
    assert isnan(capability(values, value - 1.0, value + 1.0).ppk.value)


@settings(max_examples=60, deadline=None)
@given(SERIES, SCALES, SHIFTS)
def test_charts_follow_another_unit_and_zero(values, scale, shift):
    """Limits, averages and sums of a * x + b are those of x, carried over; a < 0 turns them over."""
    x = np.array(values, dtype=float)
    y = scale * x + shift
    here, there = individuals(x), individuals(y)
    assert there.sigma == pytest.approx(abs(scale) * here.sigma, rel=1e-9)
    edges = sorted([scale * here.lower + shift, scale * here.upper + shift])
    assert [there.lower, there.upper] == pytest.approx(edges, rel=1e-9, abs=1e-6)
    first, second = ewma(x, 0.3, 3.0), ewma(y, 0.3, 3.0)
    assert second.average == pytest.approx(scale * first.average + shift, rel=1e-9, abs=1e-6)
    target, sigma = float(x[0]), here.sigma
    if sigma > 0.0:
        one = cusum(x, target, 0.5, 5.0, sigma)
        two = cusum(y, scale * target + shift, 0.5, 5.0, abs(scale) * sigma)
        up, down = (one.upper, one.lower) if scale > 0 else (one.lower, one.upper)
        assert two.upper == pytest.approx(abs(scale) * up, rel=1e-9, abs=1e-6)
        assert two.lower == pytest.approx(abs(scale) * down, rel=1e-9, abs=1e-6)
    limits = sorted([scale * -50.0 + shift, scale * 80.0 + shift])
    same = capability(y, *limits)
    assert same.ppk.value == pytest.approx(capability(x, -50.0, 80.0).ppk.value, rel=1e-9)


# ----------------------------------------------------------------- subgroups


def test_a_mill_that_stood_still_widens_the_limits_of_that_round():
    """Limits are of the size of each subgroup; one reading has no range; none is no mean."""
    table = np.random.default_rng(4).normal(0.35, 0.01, (40, 6))
    table[5, 2] = table[6, 1:] = table[7] = nan
    for chart in (xbar_r(table), xbar_s(table)):
        half = chart.upper - chart.centre
        assert half[[0, 5, 6]] == pytest.approx(3 * chart.sigma / np.sqrt([6, 5, 1]))
        assert chart.sizes[[0, 5, 6, 7]].tolist() == [6, 5, 1, 0]
        assert np.isnan(chart.spreads[[6, 7]]).all()
        assert isnan(chart.means[7])
        assert chart.count == 38
        assert chart.sigma == pytest.approx(0.01, rel=0.1)
        assert chart.errors[5] == pytest.approx(chart.sigma / sqrt(5))


def test_mills_with_a_level_of_their_own_do_not_widen_the_limits():
    """With `own_level` the lasting differences between columns are taken off."""
    rng = np.random.default_rng(5)
    table = rng.normal(0.0, 1.0, (60, 6)) + np.array([0.0, 5.0, -5.0, 10.0, 0.0, 2.0]) + 100.0
    plain, own = xbar_r(table), xbar_r(table, own_level=True)
    assert plain.sigma > 4.0
    assert own.sigma == pytest.approx(1.0, rel=0.1)
    assert own.means == pytest.approx(plain.means)
    table[:, 3] = nan
    assert xbar_r(table, own_level=True).sigma == pytest.approx(1.0, rel=0.1)
    assert np.isnan(xbar_r(np.full((30, 3), nan), own_level=True).centre)


def test_ranges_and_deviations_tell_the_same_sigma():
    """Both estimates are unbiased, also with subgroups of different size."""
    table = np.random.default_rng(6).normal(10.0, 2.0, (4000, 5))
    table[np.random.default_rng(7).random(table.shape) < 0.2] = nan
    assert xbar_r(table).sigma == pytest.approx(2.0, rel=0.02)
    assert xbar_s(table).sigma == pytest.approx(2.0, rel=0.02)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10_000), SCALES, SHIFTS)
def test_subgroup_charts_follow_another_unit_and_zero(seed, scale, shift):
    """Limits of a * x + b are those of x, carried over; spreads scale with |a|."""
    table = np.random.default_rng(seed).integers(-50, 50, (12, 4)).astype(float)
    table[3, 1] = nan
    for chart in (xbar_r, xbar_s):
        here, there = chart(table), chart(scale * table + shift)
        edges = np.sort([scale * here.lower + shift, scale * here.upper + shift], axis=0)
        assert np.array([there.lower, there.upper]) == pytest.approx(edges, rel=1e-9, abs=1e-7)
        assert there.spread_upper == pytest.approx(abs(scale) * here.spread_upper, rel=1e-9)


def test_what_is_no_table_of_subgroups_is_refused():
    """One column has no range, one dimension no rows."""
    for shape in [(10,), (10, 1)]:
        with pytest.raises(ValueError, match="Subgroups"):
            xbar_r(np.zeros(shape))
    assert xbar_r(np.zeros((3, 4))).note == "too few: 3 subgroups, 8 are needed"


# ----------------------------------------------------------------- EWMA


def step_by_step(values, weight, target) -> list[float]:
    """The recursion as it is written, standing still over missing readings."""
    out, now = [], target
    for value in values:
        now = now if isnan(value) else weight * value + (1 - weight) * now
        out.append(nan if isnan(value) else now)
    return out


@pytest.mark.parametrize("weight", [0.02, 0.2, 0.9, 1.0])
def test_the_average_is_its_recursion(readings, weight):
    """Made by doubling, it is what the step-by-step recursion gives."""
    chart = ewma(readings, weight, 3.0, target=48.0, sigma=2.0)
    wanted = np.array(step_by_step(readings, weight, 48.0))
    assert chart.average == pytest.approx(wanted, rel=1e-13, nan_ok=True)
    assert (np.isnan(chart.upper) == np.isnan(readings)).all()


@pytest.mark.parametrize("lag1", [-0.5, 0.0, 0.3, 0.8, 0.95])
@pytest.mark.parametrize("weight", [0.05, 0.2, 0.7, 1.0])
def test_the_variance_of_the_average_is_that_of_its_covariance_matrix(weight, lag1):
    """The closed form equals w' C w with C = lag1^|i-j|, for each of the first 30 readings."""
    found = ewma_deviation(weight, 400, lag1)
    for count in range(1, 31):
        w = weight * (1 - weight) ** np.arange(count)
        matrix = lag1 ** np.abs(np.subtract.outer(np.arange(count), np.arange(count)))
        assert found[count - 1] == pytest.approx(sqrt(w @ matrix @ w), rel=1e-9)
    assert found[-1] == pytest.approx(ewma_asymptote(weight, lag1), rel=1e-9)


def test_limits_widen_by_readings_and_not_by_rounds():
    """A missing reading does not make the average any less certain."""
    whole = ewma([1.0, 2.0, 3.0], 0.2, 3.0, target=2.0, sigma=1.0)
    sparse = ewma([1.0, nan, 2.0, nan, 3.0], 0.2, 3.0, target=2.0, sigma=1.0)
    assert sparse.upper[[0, 2, 4]] == pytest.approx(whole.upper)
    assert sparse.average[[0, 2, 4]] == pytest.approx(whole.average)


def test_the_note_says_where_centre_and_sigma_are_from(readings):
    """What was not given is taken from the readings, and told."""
    assert ewma(readings, 0.2, 3.0, target=50.0, sigma=2.0).note == ""
    assert "sigma is from" in ewma(readings, 0.2, 3.0, target=50.0).note
    chart = ewma(readings, 0.2, 3.0)
    assert "centre is the mean" in chart.note
    assert chart.sigma == individuals(readings).sigma


@pytest.mark.parametrize(
    ("weight", "width", "sigma"), [(0.0, 3.0, 1.0), (1.1, 3.0, 1.0), (0.2, 0.0, 1.0), (0.2, 3, -1)]
)
def test_an_average_without_sense_is_refused(weight, width, sigma):
    """Weight outside (0, 1], no width, or a negative sigma."""
    with pytest.raises(ValueError, match="must be"):
        ewma([1.0], weight, width, target=0.0, sigma=sigma)


# ----------------------------------------------------------------- CUSUM


def sums_step_by_step(values, target, reference) -> tuple[list[float], list[int]]:
    """C+ and N+ as they are written, standing still over missing readings."""
    sums, runs, total, run = [], [], 0.0, 0
    for value in values:
        if isnan(value):
            sums.append(nan)
            runs.append(0)
            continue
        total = max(0.0, value - target - reference + total)
        run = run + 1 if total > 0.0 else 0
        sums.append(total)
        runs.append(run)
    return sums, runs


def test_the_sums_are_their_recursion(readings):
    """Sums and counters, up and down, are what the step-by-step recursion gives."""
    chart = cusum(readings, target=50.0, k=0.25, h=4.0, sigma=2.0)
    up, up_run = sums_step_by_step(readings, 50.0, 0.5)
    down, down_run = sums_step_by_step(-readings, -50.0, 0.5)
    assert chart.upper == pytest.approx(np.array(up), abs=1e-9, nan_ok=True)
    assert chart.lower == pytest.approx(np.array(down), abs=1e-9, nan_ok=True)
    assert chart.upper_run.tolist() == up_run
    assert chart.lower_run.tolist() == down_run


def test_a_run_began_at_its_first_reading_also_across_gaps():
    """`began` is the reading itself, and a missing one neither counts nor ends the run."""
    chart = cusum([0.0, nan, 2.0, nan, 2.0, 2.0, -9.0], 0.0, 0.5, 3.0, 1.0)
    assert chart.upper_run.tolist() == [0, 0, 1, 0, 2, 3, 0]
    assert chart.upper_began.tolist() == [-1, -1, 2, -1, 2, 2, -1]
    (high, low) = chart.signals
    assert (high.direction, high.at, high.began, high.last) == (1, 5, 2, 5)
    assert (low.direction, low.at, low.began) == (-1, 6, 6)
    assert chart.out.tolist() == [0, 0, 0, 0, 0, 1, -1]


def test_a_signal_over_a_gap_is_one_signal():
    """A missing reading in the middle does not make a second one."""
    (signal,) = cusum([4.0, 4.0, nan, 4.0], 0.0, 0.5, 3.0, 1.0).signals
    assert (signal.at, signal.last) == (0, 3)


def test_a_cusum_finds_when_a_shift_began():
    """One sigma up at reading 300, of 60 series: the median beginning lies within three readings."""
    rng = np.random.default_rng(8)
    found = []
    for _ in range(60):
        values = rng.standard_normal(340)
        values[300:] += 1.0
        late = [s for s in cusum(values, 0.0, 0.5, 5.0, 1.0).signals if s.at >= 300]
        found += [late[0].began] if late else []
    assert len(found) >= 58
    assert abs(float(np.median(found)) - 300) <= 3


@pytest.mark.parametrize(("k", "h", "sigma"), [(-0.1, 5.0, 1.0), (0.5, 0.0, 1.0), (0.5, 5.0, -1.0)])
def test_sums_without_sense_are_refused(k, h, sigma):
    """A negative reference, no decision interval, a negative sigma."""
    with pytest.raises(ValueError, match="k must be"):
        cusum([1.0], 0.0, k, h, sigma)


def test_run_lengths_without_sense_are_refused():
    """And where a chart never signals its run length is endless."""
    with pytest.raises(ValueError, match="k must be"):
        cusum_run_length(-1.0, 5.0)
    with pytest.raises(ValueError, match="weight"):
        ewma_run_length(0.0, 3.0)
    assert cusum_run_length(3.0, 8.0, -3.0, two_sided=False) == float("inf")
    assert ewma_run_length(1.0, 3.0) == pytest.approx(370.4, abs=0.05)


# ----------------------------------------------------------------- capability


def test_the_mean_moving_range_is_worth_what_is_said():
    """Variance of sigma from moving ranges: 0.826 sigma^2/n, so 0.605 degrees of freedom each."""
    values = np.random.default_rng(9).standard_normal((20_000, 50))
    sigma = np.abs(np.diff(values, axis=1)).mean(axis=1) / constants(2).d2
    assert sigma.mean() == pytest.approx(1.0, abs=0.004)
    assert sigma.var() * 49 == pytest.approx(1 / (2 * 0.605), rel=0.03)


@pytest.mark.parametrize("name", ["cp", "cpk", "pp", "ppk"])
def test_intervals_hold_what_they_promise(name):
    """Of 600 samples of 50 the 95 % interval holds the true index in 92 to 98 %, both ways."""
    rng = np.random.default_rng(10)
    true = 4.0 / 3.0 if name in {"cp", "pp"} else 1.0
    held = bounded = 0
    for values in rng.normal(1.0, 1.0, (600, 50)):
        index = getattr(capability(values, -4.0, 4.0), name)
        held += index.low <= true <= index.high
        bounded += index.at_least <= true
    assert 0.92 <= held / 600 <= 0.98
    assert 0.92 <= bounded / 600 <= 0.985


def test_intervals_of_correlated_readings_are_wider():
    """With a correlation of 0.6 two hundred readings tell as much as fifty of the mean."""
    values = np.random.default_rng(12).standard_normal(200)
    plain, wide = (capability(values, -3.0, 3.0, lag1=lag1) for lag1 in (0.0, 0.6))
    assert wide.ppk.high - wide.ppk.low > 1.3 * (plain.ppk.high - plain.ppk.low)
    assert effective_counts(200, 0.6)[0] == pytest.approx(50.0)


def test_one_limit_gives_one_sided_indices():
    """Without a lower limit Cp and Pp say nothing, Cpk is of the upper side, and back."""
    values = np.random.default_rng(13).normal(10.0, 1.0, 100)
    upper, lower = capability(values, None, 13.0), capability(-values, -13.0, None)
    assert isnan(upper.cp.value)
    assert isnan(upper.cpm)
    assert isnan(upper.cpl)
    assert upper.cpk.value == pytest.approx(upper.cpu)
    assert upper.cpk == lower.cpk
    assert upper.outside == lower.outside == int((values > 13.0).sum())


def test_missing_readings_are_left_out_of_capability(readings):
    """They are not counted, and the rest gives what it gives alone."""
    found = capability(readings, 40.0, 60.0)
    alone = readings[~np.isnan(readings)]
    assert found.count == alone.size
    assert found.sigma_overall == pytest.approx(alone.std(ddof=1))


@pytest.mark.parametrize(
    ("low", "high", "confidence"), [(None, None, 0.95), (3.0, 3.0, 0.95), (0.0, 1.0, 1.0)]
)
def test_limits_without_sense_are_refused(low, high, confidence):
    """None at all, the wrong way round, or a confidence of one."""
    with pytest.raises(ValueError, match=r"limit|Confidence"):
        capability([1.0], low, high, confidence=confidence)
