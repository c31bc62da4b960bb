"""Baselines that are found, and all charts of one point and of many."""

from dataclasses import replace

import numpy as np
import pytest

from logbook.assess.charts import (
    NELSON,
    ChartSettings,
    Rule,
    chart_many,
    find_baseline,
    study,
)

nan = np.nan


def follow(lag1, length, seed) -> np.ndarray:
    """An AR(1) series with mean 0 and standard deviation 1."""
    values = np.random.default_rng(seed).standard_normal(length)
    for i in range(1, length):
        values[i] = lag1 * values[i - 1] + np.sqrt(1.0 - lag1 * lag1) * values[i]
    return values


# ----------------------------------------------------------------- baselines


@pytest.mark.parametrize("lag1", [0.0, 0.5, 0.8])
def test_a_stable_series_is_a_baseline_whole(lag1):
    """Of twenty stable series of two months nineteen or more are taken whole."""
    whole = [find_baseline(follow(lag1, 720, seed)) for seed in range(20)]
    assert sum((found.first, found.stop) == (0, 720) for found in whole) >= 19


@pytest.mark.parametrize("lag1", [0.0, 0.5])
def test_a_shift_of_the_level_is_never_inside_a_baseline(lag1):
    """Two sigma up at 500 of 1440: the longer, later side is found, to three blocks."""
    for seed in range(10):
        values = follow(lag1, 1440, seed)
        values[500:] += 2.0
        found = find_baseline(values)
        assert 500 - 48 <= found.first <= 500 + 72, seed
        assert found.stop == 1440


def test_wild_readings_are_set_aside_and_not_what_limits_are_made_from():
    """A few typing errors do not spoil a stretch; the mask leaves them out."""
    values = follow(0.3, 480, seed=1)
    values[[50, 200, 333]] = 40.0
    found = find_baseline(values)
    assert (found.first, found.stop, found.wild) == (0, 480, 3)
    assert not found.mask[[50, 200, 333]].any()
    assert found.mask.sum() == 477


def test_a_series_that_drifts_all_the_time_has_no_baseline():
    """A sigma a day is nowhere stable for ten days, and that is said."""
    found = find_baseline(follow(0.2, 720, seed=2) + np.arange(720) / 12.0)
    assert not found.found
    assert found.note == "no stable stretch was found"
    assert not found.mask.any()


@pytest.mark.parametrize(
    "values", [np.zeros(50), np.full(500, nan), np.where(np.arange(600) % 2, nan, 1.0)]
)
def test_too_few_readings_are_no_baseline(values):
    """Too short, empty, or with half of the readings missing."""
    assert not find_baseline(values).found


def test_long_gaps_are_no_part_of_a_baseline():
    """Three weeks of downtime in the middle: the stretch after them is found."""
    values = follow(0.3, 960, seed=3)
    values[200:452] = nan
    found = find_baseline(values)
    assert found.stop == 960
    assert found.readings >= 480


def test_a_coarse_series_has_a_baseline_too():
    """Most readings equal their neighbours: the median deviation is 0 and says nothing."""
    values = np.where(np.random.default_rng(4).random(600) < 0.2, 1.0, 0.0)
    assert find_baseline(values).stop - find_baseline(values).first >= 480
    assert find_baseline(np.full(600, 7.5)).found


def test_a_baseline_of_less_than_ten_days_is_refused():
    """Five blocks are the least that can be compared."""
    with pytest.raises(ValueError, match="120"):
        find_baseline(np.zeros(500), least=48)


# ----------------------------------------------------------------- one point


def test_a_study_finds_the_shift_and_since_when():
    """1.5 sigma up for five days after six weeks: CUSUM of the residuals tells, to a day."""
    values = 70.0 + 0.4 * follow(0.4, 564, seed=5)
    values[504:] += 0.6
    found = study(values, low=66.0, high=74.0)
    assert found.note == ""
    assert found.baseline.stop <= 528
    late = [s for s in found.cusum.signals if s.at >= 504]
    assert late
    assert abs(late[0].began - 504) <= 12
    assert found.capability.ppk.low < found.capability.ppk.value < found.capability.ppk.high
    assert found.ewma.out[504:].any()


def test_a_study_without_baseline_judges_nothing():
    """No limits, no flags, no signals; the note says why."""
    found = study(np.arange(500.0))
    assert found.note == "no stable stretch was found"
    assert not found.rules.fired.any()
    assert not found.individuals.out.any()
    assert not found.ewma.out.any()
    assert found.cusum.signals == ()
    assert found.capability is None


def test_a_study_of_a_constant_series_flags_nothing():
    """Also when it changes afterwards: without variation nothing is known of chance."""
    values = np.full(600, 5.0)
    values[590:] = 6.0
    found = study(values, baseline=slice(0, 500))
    assert found.note.startswith("not judged")
    assert not found.rules.fired.any()
    assert not found.individuals.out.any()
    assert not found.ewma.out.any()


def test_a_correlation_that_is_not_known_is_said():
    """Twenty readings give limits, as if they were independent, and the note tells it."""
    found = study(follow(0.0, 60, seed=6), baseline=slice(0, 26))
    assert found.note.startswith("correlation of neighbours not known, too few: 25 pairs")
    assert not np.isnan(found.individuals.upper)


def test_a_baseline_in_ten_years_is_found_between_steps():
    """A level that changes every 30 days at two hours: what is found lies between two changes."""
    rng = np.random.default_rng(7)
    values = rng.standard_normal(43_800) + np.repeat(rng.permutation(122) * 4.0, 360)[:43_800]
    found = find_baseline(values)
    assert 288 <= found.stop - found.first <= 360
    assert found.first // 360 == (found.stop - 1) // 360


def test_a_baseline_worth_less_than_four_readings_gives_no_limits():
    """Thirty-five readings with a correlation near one tell of one excursion only."""
    values = np.sin(np.arange(200) / 30.0)
    found = study(values, baseline=slice(0, 35))
    assert "independent" in found.individuals.note
    assert np.isnan(found.individuals.upper)
    assert not found.ewma.out.any()


# ----------------------------------------------------------------- many points


@pytest.fixture(scope="module")
def matrix():
    """Nine points over 900 rounds, with gaps, downtime, a shift, and points that cannot be judged."""
    table = np.array([50.0 + follow(lag1, 900, seed=k) for k, lag1 in enumerate([0, 0.2, 0.5] * 3)])
    table[np.random.default_rng(9).random(table.shape) < 0.03] = nan
    table[:, 500:560] = nan
    table[1, 700:] += 2.0
    table[6] = nan
    table[7] = 3.25
    table[8, 5:880] = nan
    return table


@pytest.mark.parametrize("at_once", [1 << 16, 1])
def test_many_charts_are_the_charts_of_each(matrix, at_once, monkeypatch):
    """Limits, codes, flags and last values of each row are those of its own study."""
    monkeypatch.setattr("logbook.assess.chart_many._AT_ONCE", at_once)
    chosen = ChartSettings(rules=replace(NELSON, longest_gap=2))
    base = slice(0, 360)
    low, high = np.full(9, 45.0), np.full(9, 54.0)
    found = chart_many(matrix, baseline=base, low=low, high=high, settings=chosen)
    for row, values in enumerate(matrix):
        one = study(values, baseline=base, low=45.0, high=54.0, settings=chosen)
        limits = (one.individuals.lower, one.individuals.upper)
        assert (found.lower[row], found.upper[row]) == pytest.approx(limits, nan_ok=True), row
        assert found.out[row].tolist() == one.individuals.out.tolist(), row
        assert found.range_out[row].tolist() == one.individuals.range_out.tolist(), row
        code = np.sign(one.ewma.average - one.ewma.centre) * one.ewma.out
        assert found.average_out[row].tolist() == np.nan_to_num(code).tolist(), row
        assert found.sum_out[row].tolist() == one.cusum.out.tolist(), row
        assert found.flags[row].tolist() == one.rules.flags.tolist(), row
        assert found.cpk[row] == pytest.approx(one.capability.cpk.value, nan_ok=True), row
        assert found.ppk[row] == pytest.approx(one.capability.ppk.value, nan_ok=True), row
    assert found.out.any()
    assert found.sum_out[1, 700:].any()
    last = [study(values, baseline=base, settings=chosen) for values in matrix[:6]]
    assert found.average[:6] == pytest.approx([_last(s.ewma.average) for s in last])
    assert found.sum_high[:6] == pytest.approx([_last(s.cusum.upper) for s in last], abs=1e-9)
    assert found.sum_low[:6] == pytest.approx([_last(s.cusum.lower) for s in last], abs=1e-9)


def _last(values) -> float:
    return values[~np.isnan(values)][-1]


def test_points_that_cannot_be_judged_have_no_flags(matrix):
    """Without readings, without variation, with too short a baseline."""
    found = chart_many(matrix, baseline=slice(0, 360))
    for codes in (found.out, found.range_out, found.average_out, found.sum_out, found.flags):
        assert not codes[6:].any()
    assert np.isnan(found.upper[6:]).all()
    assert np.isnan(found.cp).all()


def test_a_matrix_without_gaps_is_charted_the_same(matrix):
    """The short way for complete rows gives what the long way gives."""
    whole = np.nan_to_num(matrix[:6], nan=50.0)
    found = chart_many(whole, settings=ChartSettings(rules=NELSON))
    one = study(whole[2], baseline=slice(0, 900), settings=ChartSettings(rules=NELSON))
    assert found.flags[2].tolist() == one.rules.flags.tolist()
    assert found.sum_out[2].tolist() == one.cusum.out.tolist()
    assert (found.flags & int(Rule.BEYOND_LIMITS)).any()


def test_many_charts_take_the_baselines_that_were_found(matrix):
    """With the mask of each row's search the charts are those of `study`, which searches itself."""
    mask = np.array([find_baseline(row).mask for row in matrix])
    found = chart_many(matrix, baseline=mask)
    for row, values in enumerate(matrix):
        one = study(values)
        assert found.upper[row] == pytest.approx(one.individuals.upper, nan_ok=True), row
        assert found.flags[row].tolist() == one.rules.flags.tolist(), row
    assert mask[:6].any(axis=1).all()


def test_what_is_no_matrix_is_refused():
    """One series is for `study`; no points at all are no trouble; a mask has to fit."""
    with pytest.raises(ValueError, match="mask"):
        chart_many(np.zeros((2, 5)), baseline=np.ones((2, 4), dtype=bool))
    with pytest.raises(ValueError, match="matrix"):
        chart_many(np.zeros(5))
    assert chart_many(np.zeros((0, 40))).flags.shape == (0, 40)
