import numpy as np
import pytest

from logbook.assess.blocks import Heap, apart_from_peers, block_times
from logbook.assess.drifts import find_drifts
from logbook.assess.forecast import Reach, forecast, interval_text, ranked, span_text
from logbook.assess.judge import Direction, Severity
from logbook.plant.model import Limits

DAY = 86400
NOW = 1_780_000_000
ROUND = 7200
LIMITS = Limits(warning_low=40.0, warning_high=60.0, action_low=30.0, action_high=70.0)


def rounds(course, *, noise=0.5, seed=0, days=30):
    """Readings every two hours up to now: `course` (of days before now) with noise."""
    times = NOW - ROUND * np.arange(days * 12)[::-1]
    rng = np.random.default_rng(seed)
    days_ago = (times - NOW) / DAY
    return times, np.round(course(days_ago) + rng.normal(0.0, noise, times.size), 1)


def level(days):
    """A point that stands."""
    return np.full(days.shape, 50.0)


def ramp(start, slope):
    """A level that turns into a slope per day, `start` days before now."""
    return lambda days: 50.0 + slope * np.maximum(days + start, 0.0)


def test_a_steady_rise_is_seen_with_its_slope_and_level():
    """Ten days at 0.5 a day: slope within a quarter, level within one unit."""
    (drift,) = find_drifts([rounds(ramp(10.0, 0.5))], NOW, [0.1])
    assert drift.direction is Direction.HIGH
    assert drift.word == "rising"
    assert drift.slope == pytest.approx(0.5, rel=0.25)
    assert drift.slope_low < drift.slope < drift.slope_high
    assert drift.level == pytest.approx(55.0, abs=1.0)


def test_a_fall_is_the_mirror_of_a_rise():
    """The same readings upside down fall as fast."""
    times, values = rounds(ramp(10.0, 0.5))
    (up,) = find_drifts([(times, values)], NOW, [0.1])
    (down,) = find_drifts([(times, -values)], NOW, [0.1])
    assert down.direction is Direction.LOW
    assert down.slope == pytest.approx(-up.slope)
    assert down.level == pytest.approx(-up.level)
    assert down.sureness == pytest.approx(up.sureness)


def test_a_ramp_of_a_few_hours_is_seen_by_what_is_usual():
    """One unit an hour for twelve hours on a point that never moved so: told in hours."""
    (drift,) = find_drifts([rounds(ramp(0.5, 24.0))], NOW, [0.1])
    said = forecast(drift, LIMITS)
    assert drift.window_hours == 12
    assert drift.p_value is None
    assert drift.slope == pytest.approx(24.0, rel=0.1)
    assert said.phrase == "rising, action limit in about 6 h"
    assert said.interval == "5 to 11 h"


@pytest.mark.parametrize("seed", range(5))
def test_points_that_stand_show_no_drift(seed):
    """Sixty level points: none."""
    lines = [rounds(level, seed=100 * seed + k) for k in range(60)]
    assert find_drifts(lines, NOW, [0.1] * 60) == ()


def test_points_that_wander_about_a_level_rarely_show_one():
    """Of 300 AR(1) points (0.9 from round to round) at most one in a hundred."""
    rng = np.random.default_rng(6)
    lines = []
    for _ in range(300):
        values = np.zeros(360)
        for k in range(1, 360):
            values[k] = 0.9 * values[k - 1] + rng.normal()
        lines.append((NOW - ROUND * np.arange(360)[::-1], np.round(values, 2)))
    assert len(find_drifts(lines, NOW, [0.01] * 300)) <= 3


def test_day_and_night_are_no_drift():
    """A swing of twelve degrees every day, looked at in the morning and in the evening."""
    swing = rounds(lambda days: 50.0 + 6.0 * np.sin(2.0 * np.pi * days))
    for hours in range(0, 24, 3):
        times = swing[0] + hours * 3600
        assert find_drifts([(times, swing[1])], NOW + hours * 3600, [0.1]) == ()


def test_a_step_is_no_drift():
    """Ten days ago the level went up by ten at once."""
    stepped = rounds(lambda days: np.where(days > -10.0, 60.0, 50.0))
    assert find_drifts([stepped], NOW, [0.1]) == ()


def test_wild_readings_neither_make_nor_hide_a_drift():
    """Decimal marks put wrong in one of twenty readings change little."""
    times, values = rounds(ramp(10.0, 0.5))
    wild = values.copy()
    wild[::20] = wild[::20] * 10.0
    (clean,), (dirty,) = (
        find_drifts([(times, values)], NOW, [0.1]),
        find_drifts([(times, wild)], NOW, [0.1]),
    )
    assert dirty.slope == pytest.approx(clean.slope, rel=0.2)
    assert find_drifts([rounds(level)], NOW, [0.1]) == ()


def test_what_moves_all_machines_is_no_drift_of_one():
    """Six machines rise together and one of them faster: it alone is seen."""
    shared = ramp(12.0, 0.6)
    lines = [rounds(shared, seed=k) for k in range(5)]
    lines.append(rounds(lambda days: shared(days) + 0.5 * np.maximum(days + 12.0, 0.0), seed=9))
    alone = {d.row for d in find_drifts(lines, NOW, [0.1] * 6)}
    together = {d.row for d in find_drifts(lines, NOW, [0.1] * 6, [range(6)])}
    assert alone == set(range(6))
    assert together == {5}


def test_a_point_that_is_seldom_read_is_left_alone():
    """Nothing read, one reading, readings long ago: no drift and no error."""
    nothing = (np.empty(0, dtype=np.int64), np.empty(0))
    once = (np.array([NOW - DAY]), np.array([50.0]))
    old = (NOW - 20 * DAY - ROUND * np.arange(40)[::-1], np.arange(40.0))
    assert find_drifts([nothing, once, old], NOW, [0.1] * 3) == ()
    assert find_drifts([], NOW, []) == ()


def test_one_step_is_wanted_for_each_line():
    """Anything else is an error."""
    with pytest.raises(ValueError, match="one step"):
        find_drifts([rounds(level)], NOW, [])


def test_a_forecast_names_the_next_limit_and_an_interval_around_its_time():
    """Eight days at 1 a day: at 58, the warning limit at 60 is two days away."""
    (drift,) = find_drifts([rounds(ramp(8.0, 1.0))], NOW, [0.1])
    said = forecast(drift, LIMITS)
    assert said.reach is Reach.WARNING
    assert said.severity is Severity.WARNING
    assert said.limit == 60.0
    assert said.hours == pytest.approx(48.0, rel=0.5)
    assert said.earliest < said.hours < said.latest


def test_beyond_the_warning_limit_the_action_limit_is_next():
    """And beyond the action limit, or without a limit ahead, nothing is forecast."""
    (drift,) = find_drifts([rounds(ramp(8.0, 1.5))], NOW, [0.1])
    assert drift.level > 60.0
    assert forecast(drift, LIMITS).reach is Reach.ACTION
    assert forecast(drift, Limits(warning_high=51.0, action_high=52.0)) is None
    assert forecast(drift, Limits(warning_low=10.0)) is None
    assert forecast(drift, Limits()) is None


def test_too_far_ahead_is_not_said():
    """Not beyond three quarters of the window, nor beyond ten days."""
    (drift,) = find_drifts([rounds(ramp(10.0, 0.5))], NOW, [0.1])
    assert forecast(drift, Limits(warning_high=90.0)) is None


def test_of_many_forecasts_a_few_are_shown_the_most_urgent_first():
    """An action limit comes before a warning limit that is as near."""
    lines = [rounds(ramp(8.0, 1.0), seed=k) for k in range(5)]
    drifts = find_drifts(lines, NOW, [0.1] * 5)
    said = [forecast(one, LIMITS) for one in drifts]
    urgent = forecast(drifts[-1], Limits(action_high=60.0))
    shown = ranked([*said, urgent])
    assert len(shown) == 3
    assert shown[0] is urgent


@pytest.mark.parametrize(
    ("hours", "words"), [(0.2, "1 h"), (9.4, "9 h"), (35.9, "36 h"), (36.0, "2 days")]
)
def test_spans_are_said_in_hours_then_days(hours, words):
    """Whole hours up to a day and a half, then whole days."""
    assert span_text(hours) == words


def test_an_interval_is_rounded_outwards():
    """It never claims more than was worked out."""
    assert interval_text(6.9, 14.1) == "6 to 15 h"
    assert interval_text(49.0, 121.0) == "2 to 6 days"
    assert interval_text(3.0, 90.0) == "any time up to 4 days"


def test_blocks_are_medians_counted_back_from_now():
    """Three blocks of a day; one of them empty, one with a wild reading."""
    times = NOW - np.array([2 * DAY + 60, 3000, 2000, 1000, 0])
    heap = Heap.of([(times, np.array([7.0, 1.0, 900.0, 3.0, 2.0]))], NOW)
    table = heap.medians(DAY, 3)
    assert table[0, [0, 2]].tolist() == [7.0, 2.5]
    assert np.isnan(table[0, 1])
    assert block_times(DAY, 3).tolist() == [-2.5, -1.5, -0.5]


def test_what_peers_have_in_common_is_taken_off_at_its_last_level():
    """A group of four that rises as one stands; a group of three is left as it is."""
    rows = np.arange(6.0) + np.array([[0.0], [10.0], [20.0], [30.0]])
    apart = apart_from_peers(rows, [np.arange(4)], 1)
    assert (np.ptp(apart, axis=1) == 0.0).all()
    assert apart[:, -1] == pytest.approx(rows[:, -1])
    assert (apart_from_peers(rows, [np.arange(3)], 1) == rows).all()


@pytest.mark.parametrize(("scale", "shift"), [(1.8, 32.0), (0.01, 0.0), (1000.0, -5000.0)])
def test_another_unit_gives_the_same_drift(scale, shift):
    """Slope and level in the other unit, the same sureness, the same window."""
    times, values = rounds(ramp(10.0, 0.5))
    (one,) = find_drifts([(times, values)], NOW, [0.1])
    (other,) = find_drifts([(times, values * scale + shift)], NOW, [0.1 * scale])
    assert other.slope == pytest.approx(one.slope * scale)
    assert other.level == pytest.approx(one.level * scale + shift)
    assert other.sureness == pytest.approx(one.sureness, rel=1e-6)
    assert other.window_hours == one.window_hours


def test_the_order_of_the_points_does_not_matter():
    """Each point is judged by its own readings."""
    lines = [rounds(ramp(10.0, 0.5)), rounds(level, seed=1), rounds(ramp(6.0, -1.0), seed=2)]
    there = {d.row: d.slope for d in find_drifts(lines, NOW, [0.1] * 3)}
    back = {2 - d.row: d.slope for d in find_drifts(lines[::-1], NOW, [0.1] * 3)}
    assert there == pytest.approx(back)
    assert set(there) == {0, 2}


def test_readings_after_now_are_not_known():
    """A line that runs on is the same up to now."""
    times, values = rounds(ramp(10.0, 0.5))
    early = NOW - 4 * DAY
    cut = times <= early
    assert find_drifts([(times, values)], early, [0.1]) == find_drifts(
        [(times[cut], values[cut])], early, [0.1]
    )
