from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.limits import (
    Bounds,
    Closing,
    Direction,
    Severity,
    classify_array,
    deviations,
    not_due_mask,
)
from logbook.plant.model import Limits

HOUR = 3600
LIMITS = Limits(warning_low=40.0, warning_high=60.0, action_low=30.0, action_high=70.0)
NAN = float("nan")


def at(hours):
    """An instant some hours after the epoch."""
    return datetime.fromtimestamp(round(hours * HOUR), UTC)


def runs(values, hours=None, **options):
    """Deviations of readings at these hours, two apart unless said otherwise."""
    hours = hours if hours is not None else [2 * k for k in range(len(values))]
    times = np.array([round(h * HOUR) for h in hours], dtype=np.int64)
    array = np.array(values, dtype=float)
    options.setdefault("max_gap_s", 5 * HOUR)
    return deviations(times, array, classify_array(array, LIMITS), **options)


def test_a_run_goes_from_the_first_reading_outside_to_the_first_back_inside():
    """Start, last outside, end, count, duration, worst value and its time, places."""
    (run,) = runs([50, 61, 75, 66, 55, 50])
    assert (run.start, run.last_out, run.end) == (at(2), at(6), at(8))
    assert run.closing is Closing.BACK_INSIDE
    assert (run.direction, run.severity) == (Direction.HIGH, Severity.ACTION)
    assert (run.worst_value, run.worst_at, run.worst) == (75.0, at(4), 2)
    assert (run.count, run.first, run.last) == (3, 1, 3)
    assert run.duration == timedelta(hours=6)
    assert not run.is_open


def test_a_run_that_reaches_the_last_reading_is_open():
    """It has no end, and lasts so far to its last reading outside."""
    (run,) = runs([50, 39, 38])
    assert (run.end, run.closing, run.is_open) == (None, Closing.OPEN, True)
    assert run.duration == timedelta(hours=2)


def test_a_change_from_low_to_high_starts_a_new_run():
    """Two runs, the first without an end since nothing was read inside."""
    low, high = runs([35, 36, 65, 50])
    assert (low.direction, low.closing, low.end) == (Direction.LOW, Closing.OTHER_SIDE, None)
    assert (high.direction, high.start, high.end) == (Direction.HIGH, at(4), at(6))


def test_readings_within_or_not_at_all_make_no_run():
    """Neither an empty series nor one that is all missing raises."""
    assert runs([50, 40, 60]) == ()
    assert runs([]) == ()
    assert runs([NAN, NAN]) == ()


def test_a_missing_or_late_reading_does_not_break_a_run():
    """As long as the judged readings beside it are no more than the gap apart."""
    (run,) = runs([65, NAN, 66, 50])
    assert (run.count, run.first, run.last) == (2, 0, 2)
    (late,) = runs([65, 66, 50], hours=[0, 4.9, 6])
    assert late.count == 2


def test_readings_exactly_the_gap_apart_belong_together_and_a_second_more_do_not():
    """The edge of the rule."""
    assert len(runs([65, 66], hours=[0, 5])) == 1
    first, second = runs([65, 66], hours=[0, 5 + 1 / HOUR])
    assert (first.closing, first.end) == (Closing.GAP, None)
    assert second.is_open


def test_a_reading_back_inside_after_too_long_a_gap_is_not_the_runs_end():
    """Nobody knows when it came back."""
    (run,) = runs([65, 50], hours=[0, 9])
    assert (run.closing, run.end, run.is_open) == (Closing.GAP, None, False)


def test_a_reading_that_was_not_due_ends_a_run():
    """Machine down at the second reading: the third starts another run."""
    mask = np.array([False, True, False, False])
    first, second = runs([65, 66, 67, 50], not_due=mask)
    assert (first.count, first.closing, first.end) == (1, Closing.NOT_DUE, None)
    assert (second.start, second.end) == (at(4), at(6))


def test_a_time_not_due_without_any_reading_ends_a_run_too():
    """Down from 1 h: the readings at 0 h and 2 h are two runs; a break behind ends the last."""
    first, second = runs([65, 66, 50], breaks=[at(1)])
    assert (first.closing, second.closing) == (Closing.NOT_DUE, Closing.BACK_INSIDE)
    (last,) = runs([50, 65], breaks=[at(3)])
    assert (last.closing, last.is_open) == (Closing.NOT_DUE, False)


def test_a_break_before_the_first_reading_or_given_in_seconds_changes_nothing_else():
    """Instants may be datetimes or epoch seconds."""
    assert len(runs([65, 66, 50], breaks=[-5, at(0)])) == 1
    assert len(runs([65, 66, 50], breaks=[HOUR])) == 2


def test_the_worst_is_the_farthest_beyond_its_limit_of_the_worst_severity():
    """Limits change within the run: 72 over 70 is action, though 69 over 55 is more beyond."""
    limits = [Limits(warning_high=55.0, action_high=90.0), LIMITS, LIMITS]
    values = np.array([69.0, 71.0, 72.0])
    bounds = Bounds.stacked(limits)
    times = np.array([0, 2 * HOUR, 4 * HOUR])
    (run,) = deviations(
        times, values, classify_array(values, bounds), max_gap_s=5 * HOUR, bounds=bounds
    )
    assert (run.severity, run.worst_value, run.count) == (Severity.ACTION, 72.0, 3)
    assert runs([28, 10, 10, 29])[0].worst == 1


def test_of_equally_bad_readings_the_first_is_the_worst():
    """So the run points at one reading, always the same."""
    assert runs([65, 66, 66, 61])[0].worst == 1


def test_answers_without_a_number_make_runs_by_their_codes():
    """A state point: codes alone, values NaN; the first of the worst answers stands for it."""
    times = np.array([0, 2, 4, 6]) * HOUR
    codes = np.array([1, 2, 2, 0], dtype=np.int8)
    (run,) = deviations(times, np.full(4, NAN), codes, max_gap_s=5 * HOUR)
    assert (run.severity, run.worst, run.end) == (Severity.ACTION, 1, at(6))
    assert np.isnan(run.worst_value)


def test_an_infinite_value_is_the_worst():
    """It cannot be typed, but a computed point must not make the finding raise."""
    assert runs([65, float("inf"), 66])[0].worst == 1


def test_readings_out_of_order_are_refused():
    """Runs in a shuffled series would be nonsense; the same time twice is allowed."""
    with pytest.raises(ValueError, match="in order of time"):
        runs([65, 66], hours=[2, 0])
    assert runs([65, 66], hours=[2, 2])[0].count == 2


@given(
    values=st.lists(st.sampled_from([25, 35, 50, 65, 75, NAN]), max_size=30),
    steps=st.lists(st.sampled_from([1, 2, 4, 5, 6, 20]), min_size=30, max_size=30),
)
@settings(max_examples=300, deadline=None)
def test_every_judged_reading_outside_belongs_to_exactly_one_run(values, steps):
    """Counts add up, runs do not overlap, and each is on one side."""
    found = runs(values, hours=list(np.cumsum(steps)[: len(values)]))
    outside = [v for v in values if not np.isnan(v) and v != 50]
    assert sum(run.count for run in found) == len(outside)
    assert all(a.last < b.first for a, b in pairwise(found))
    for run in found:
        inside = [v for v in values[run.first : run.last + 1] if not np.isnan(v)]
        assert len(inside) == run.count
        assert all((v > 60) == (run.direction is Direction.HIGH) for v in inside)


# -- not due ------------------------------------------------------------------------------


def test_times_within_a_down_interval_are_not_due():
    """From its start, up to but without its end; one without an end lasts."""
    times = np.array([0, 1, 2, 3, 4, 5, 6]) * HOUR
    mask = not_due_mask(times, [(at(1), at(3)), (at(5), None)])
    assert mask.tolist() == [False, True, True, False, False, True, True]


def test_down_intervals_may_overlap_and_come_in_any_order():
    """Area and machine down at once; up only when both are."""
    times = np.array([0, 1, 2, 3, 4]) * HOUR
    mask = not_due_mask(times, [(at(2), at(4)), (HOUR, 3 * HOUR)])
    assert mask.tolist() == [False, True, True, True, False]


def test_a_silent_mode_makes_readings_not_due():
    """Either reason is enough; without any nothing is masked."""
    times = np.array([0, 1]) * HOUR
    assert not_due_mask(times, [], np.array([True, False])).tolist() == [True, False]
    assert not_due_mask(times, []).tolist() == [False, False]


@given(
    spans=st.lists(st.tuples(st.integers(0, 50), st.integers(0, 20)), max_size=8),
    times=st.lists(st.integers(0, 80), max_size=20),
)
@settings(max_examples=200, deadline=None)
def test_the_mask_says_for_each_time_whether_some_interval_holds_it(spans, times):
    """Against the plain definition, empty intervals included."""
    intervals = [(start, start + length) for start, length in spans]
    wanted = [any(a <= t < b for a, b in intervals) for t in times]
    assert not_due_mask(np.array(times, dtype=np.int64), intervals).tolist() == wanted
