"""Tests of totals by a counter: rollovers, resets, replaced meters, gaps, slips, uncertainty."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.assess.computed import counter_increase
from logbook.process.counter import Change, total, totals
from logbook.process.counter_track import Kind, track

HOUR = 3600
ROLLOVER = 1000.0


def hourly(counts):
    """Instants one hour apart for `counts`."""
    return [k * HOUR for k in range(len(counts))]


@st.composite
def histories(draw):
    """A counter's life: readings as shown, what was told of it, and the true increases."""
    shown, at = float(draw(st.integers(0, 999))), 0
    times, counts, true, resets, replaced = [at], [shown], [], [], []
    for _ in range(draw(st.integers(1, 25))):
        step = float(draw(st.integers(0, 499)))
        at += HOUR
        event = draw(st.sampled_from(["", "", "", "reset", "replaced"]))
        if event:
            first = 0.0 if event == "reset" else float(draw(st.integers(0, 999)))
            part = float(draw(st.integers(0, int(step))))
            last = min(shown + part, 999.0)
            part = last - shown
            change = Change(at - HOUR / 2, last, first)
            (resets if event == "reset" else replaced).append(change)
            shown, rest = first, step - part
            shown = (shown + rest) % ROLLOVER
        else:
            shown = (shown + step) % ROLLOVER
        times.append(at)
        counts.append(shown)
        true.append(step)
    return times, counts, true, resets, replaced


@given(histories())
def test_the_total_is_the_sum_of_what_was_truly_counted(history):
    """Whatever the order of rollovers, resets and new meters, each told with its last count."""
    times, counts, true, resets, replaced = history
    found = total(times, counts, rollover=ROLLOVER, resets=resets, replaced=replaced)
    assert found.total == pytest.approx(sum(true), abs=1e-6)
    assert found.is_complete
    assert found.gaps == ()
    assert (found.resets, found.replaced) == (len(resets), len(replaced))


@given(histories(), st.data())
def test_many_periods_at_once_give_what_each_gives_alone(history, data):
    """The vectorised totals are those of `total`, covered time and uncertainty too."""
    times, counts, _, resets, replaced = history
    told = {"rollover": ROLLOVER, "resets": resets[1:], "replaced": replaced}
    sure = {"resolution": 1.0, "meter_percent": 0.5, "time_sigma_s": 120.0}
    inner = data.draw(st.lists(st.integers(-HOUR, times[-1] + HOUR), min_size=2, max_size=8))
    edges = sorted(inner)
    many = totals(times, counts, edges, **told, **sure)
    for k, (start, end) in enumerate(pairwise(edges)):
        one = total(times, counts, start_s=start, end_s=end, **told, **sure)
        assert many.covered_s[k] == pytest.approx(one.covered_s)
        assert many.total[k] == pytest.approx(
            math.nan if one.total is None else one.total, nan_ok=True
        )
        assert many.sigma[k] == pytest.approx(
            math.nan if one.sigma is None else one.sigma, nan_ok=True
        )


@given(histories())
def test_periods_that_follow_one_another_add_up(history):
    """What the days counted is what the month counted."""
    times, counts, *_ = history
    edges = np.linspace(-HOUR, times[-1] + HOUR, 12)
    days = totals(times, counts, edges, rollover=ROLLOVER)
    month = total(times, counts, rollover=ROLLOVER, start_s=edges[0], end_s=edges[-1])
    assert np.nansum(days.total) == pytest.approx(month.total or 0.0)
    assert days.covered_s.sum() == pytest.approx(month.covered_s)


@given(st.lists(st.floats(-10, 1200), min_size=2, max_size=30), st.sampled_from([None, 1000.0]))
def test_the_round_and_the_balance_tell_the_same_of_a_counter(counts, rollover):
    """Each increase is that of `logbook.assess.computed.counter_increase`, unknown ones too."""
    found = track(hourly(counts), counts, rollover=rollover)
    expected = [counter_increase(before, now, rollover) for before, now in pairwise(counts)]
    as_array = [math.nan if one is None else one for one in expected]
    np.testing.assert_array_equal(found.increase, as_array)


@given(histories())
def test_gaps_and_what_is_counted_make_up_the_period(history):
    """No second of a period is both counted and a gap, and none is neither."""
    times, counts, *_ = history
    found = total(times, counts, start_s=-HOUR, end_s=times[-1] + HOUR)
    told = found.covered_s + sum(gap.end_s - gap.start_s for gap in found.gaps)
    assert told == pytest.approx(found.end_s - found.start_s)
    assert all(a.end_s <= b.start_s for a, b in pairwise(found.gaps))


def test_the_ends_of_a_period_are_shared_by_time():
    """Between readings of 100 and 140 the count at a quarter of the time is 110."""
    found = total([0, 4 * HOUR], [100, 140], start_s=HOUR, end_s=3 * HOUR)
    assert found.total == pytest.approx(20.0)
    assert found.per_hour == pytest.approx(10.0)


def test_a_missing_reading_costs_nothing():
    """The counter counts on, and the reading after tells; the long stretch is stated."""
    found = total([0, HOUR, 2 * HOUR], [5, math.nan, 25])
    assert found.total == 20.0
    assert found.is_complete
    assert found.longest_s == 2 * HOUR
    assert found.quantity("beans", "t").note == "shared by time where there is no reading for 2.0 h"


def test_a_fall_that_nothing_explains_is_stated_and_not_guessed():
    """The stretch is left out of the total and named with its reason."""
    found = total(hourly([900, 950, 20, 60]), [900, 950, 20, 60])
    assert found.total == 90.0
    assert [(g.start_s, g.end_s) for g in found.gaps] == [(HOUR, 2 * HOUR)]
    assert "fell" in found.doubtful[0].why
    assert not found.is_complete
    assert found.quantity("beans", "t").value is None
    told = found.quantity("beans", "t", fewest_covered=0.5)
    assert told.value == 90.0
    assert told.note == "counted in 2.0 of 3.0 h"


def test_a_fall_of_less_than_half_the_range_is_no_rollover():
    """600 to 200 of 1000 would be an increase of 600: more likely a slip or a reset."""
    assert total([0, HOUR], [600, 200], rollover=1000).total is None
    assert total([0, HOUR], [900, 200], rollover=1000).total == 300.0


def test_with_its_greatest_rate_known_a_meter_may_go_more_than_half_round():
    """What it can count in the time decides, in place of half the range."""
    assert total([0, HOUR], [600, 200], rollover=1000, max_rate=700).total == 600.0
    assert total([0, HOUR], [900, 200], rollover=1000, max_rate=200).total is None


def test_a_reset_whose_last_count_is_not_known_loses_only_what_went_before():
    """From the reset on the counter tells again."""
    found = total(hourly([100, 130, 40]), [100, 130, 40], resets=[1.5 * HOUR])
    assert found.total == 70.0
    assert found.covered_s == 1.5 * HOUR
    assert "last count" in found.gaps[0].why
    assert found.resets == 1


@pytest.mark.parametrize(
    ("there", "after", "expected"),
    [
        pytest.param(130.0, 40.0, 70.0, id="read, then reset"),
        pytest.param(0.0, 40.0, 40.0, id="reset, then read"),
    ],
)
def test_a_reading_at_the_instant_of_a_reset_is_put_on_the_right_side(there, after, expected):
    """It was taken before, unless it shows what the counter was set to."""
    found = total(hourly([100, there, after]), [100, there, after], resets=[HOUR])
    assert found.total == expected


def test_a_reading_that_cannot_be_is_set_aside_where_its_neighbours_agree():
    """A slip of the pen (a digit too many) must not cost the total of the shift."""
    counts = [1000, 1100, 12000, 1300, 1400]
    found = total(hourly(counts), counts, max_rate=200)
    assert found.total == 400.0
    assert [(one.at_s, one.count) for one in found.set_aside] == [(2 * HOUR, 12000.0)]
    assert found.is_complete


@given(
    st.lists(st.integers(0, 100), min_size=2, max_size=20),
    st.integers(0, 999),
    st.data(),
)
def test_one_slip_of_the_pen_never_costs_the_total(steps, first, data):
    """Whatever is written in place of one reading, first and last apart, the sum is the same."""
    true = np.concatenate(([first], first + np.cumsum(steps)))
    counts = true % ROLLOVER
    where = data.draw(st.integers(1, len(steps) - 1))
    counts[where] = data.draw(st.floats(0.0, 20_000.0))
    found = total(hourly(counts), counts, rollover=ROLLOVER, max_rate=100)
    assert found.total == pytest.approx(sum(steps))
    assert found.is_complete


def test_the_slip_goes_and_the_good_reading_beside_it_stays():
    """140 fits neither 150 nor 200 at 55 an hour; 150 fits as soon as it is gone."""
    counts = [100, 150, 140, 200, 250]
    found = total(hourly(counts), counts, max_rate=55)
    assert [one.count for one in found.set_aside] == [140.0]
    assert found.total == 150.0


def test_two_slips_with_a_good_reading_between_are_set_aside_both():
    """The good one stays."""
    counts = [1000, 11000, 1200, 13000, 1400]
    found = total(hourly(counts), counts, max_rate=200)
    assert [one.at_s for one in found.set_aside] == [HOUR, 3 * HOUR]
    assert found.total == 400.0


def test_a_counter_that_may_have_gone_round_unseen_is_not_told():
    """So long a gap fits several counts."""
    found = track([0, 10 * HOUR], [100, 300], rollover=1000, max_rate=200)
    assert found.kind.tolist() == [Kind.MAY_HAVE_GONE_ROUND]
    assert track([0, 5 * HOUR], [100, 300], rollover=1000, max_rate=200).increase == [200.0]


def test_the_uncertainty_is_of_both_ends_and_of_the_meter():
    """Resolution/√12 twice, the instants of both readings, and the percentage, in squares."""
    found = total(
        hourly([0, 100, 200]),
        [0, 100, 200],
        resolution=1.0,
        meter_percent=0.5,
        time_sigma_s=72.0,
    )
    assert found.sigma == pytest.approx(math.sqrt(2 / 12 + 2 * 2.0**2 + 1.0**2))
    assert total([0, HOUR], [0, 100]).sigma is None


def test_each_run_of_known_stretches_has_ends_of_its_own():
    """Two runs, four ends."""
    counts = [0, 100, 20, 120]
    found = total(hourly(counts), counts, resolution=1.0, meter_percent=0.0)
    assert found.sigma == pytest.approx(math.sqrt(4 / 12))


def test_a_period_without_readings_has_no_total():
    """None before the first reading and none after the last, and no counter at all."""
    early = total([0, HOUR], [0, 10], start_s=-2 * HOUR, end_s=-HOUR)
    assert early.total is None
    assert early.covered_share == 0.0
    assert early.gaps[0].why == "no reading of the counter tells"
    assert early.doubtful == ()
    assert early.quantity("beans", "t").missing == ("beans",)
    assert total([], []).total is None
    assert total([], [], start_s=0, end_s=HOUR).gaps[0].hours == 1.0
    assert totals([], [], [0, HOUR]).covered_share == [0.0]


def test_readings_out_of_order_are_refused():
    """A counter is read in the order of time."""
    with pytest.raises(ValueError, match="must rise"):
        total([HOUR, 0], [1, 2])
    with pytest.raises(ValueError, match="equally long"):
        total([HOUR], [1, 2])
    with pytest.raises(ValueError, match="before it begins"):
        total([0, HOUR], [1, 2], start_s=HOUR, end_s=0)
    with pytest.raises(ValueError, match="rising order"):
        totals([0, HOUR], [1, 2], [HOUR, 0])


def test_the_counts_of_days_and_their_rates():
    """Rate over the covered time only; a day without readings has none."""
    found = totals([0, 12 * HOUR, 24 * HOUR], [0, 60, 240], np.arange(4) * 12 * HOUR)
    np.testing.assert_allclose(found.per_hour, [5.0, 15.0, math.nan])
    assert found.is_complete.tolist() == [True, True, False]
