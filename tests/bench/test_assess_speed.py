from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from time import perf_counter

import numpy as np
import pytest

from logbook.assess.limits import Bounds, LimitHistory, LimitSet, classify_array, deviations
from logbook.assess.typed import read_number
from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern, shift_at
from logbook.plant.model import Limits

LIMITS = Limits(warning_low=35.0, warning_high=65.0, action_low=30.0, action_high=70.0)
READINGS = 1_000_000


@pytest.fixture(scope="module")
def series():
    """A million readings of one point, 2 % of them missing, 14 % outside limits."""
    rng = np.random.default_rng(1)
    values = rng.normal(50, 10, READINGS)
    values[rng.random(READINGS) < 0.02] = np.nan
    return np.arange(READINGS, dtype=np.int64) * 7200, values


def best(work, times=5):
    """Seconds of the fastest of a few runs."""
    taken = []
    for _ in range(times):
        start = perf_counter()
        work()
        taken.append(perf_counter() - start)
    return min(taken)


def test_a_million_readings_are_judged_in_a_blink(series, record_property):
    """Under 0.1 s with one set of limits and with limits of each reading's own."""
    _, values = series
    rows = Bounds.stacked([LIMITS]).take(np.zeros(READINGS, dtype=np.intp))
    for name, limits in (("one set", LIMITS), ("each its own", rows)):
        seconds = best(lambda limits=limits: classify_array(values, limits))
        record_property(name, seconds)
        assert seconds < 0.1


def test_limits_in_force_are_found_for_a_million_times(series, record_property):
    """Under half a second, with forty revisions in two modes."""
    times, _ = series
    start = datetime(1970, 1, 1, tzinfo=UTC)
    sets = [
        LimitSet(mode, start + timedelta(days=1000 * k), LIMITS)
        for k in range(20)
        for mode in ("normal", "startup")
    ]
    history = LimitHistory(sets)
    modes = np.where(times % 5 == 0, "startup", "normal")
    seconds = best(lambda: history.in_force(times, modes), times=3)
    record_property("seconds", seconds)
    assert seconds < 0.5


def test_runs_are_found_in_a_year_of_readings_at_once(series, record_property):
    """600,000 readings, about 80,000 runs, under 3 s; a real year has a few thousand runs."""
    times, values = (one[:600_000] for one in series)
    codes = classify_array(values, LIMITS)
    seconds = best(lambda: deviations(times, values, codes, max_gap_s=10_800), times=2)
    record_property("seconds", seconds)
    assert seconds < 3


def test_the_shift_of_an_instant_costs_microseconds(record_property):
    """Under 50 us on average over every hour of a year, known days and new ones."""
    plan = ShiftCalendar(
        time_zone="America/Chicago",
        shifts=(
            ShiftPattern("D", "Day", time(6), time(18)),
            ShiftPattern("N", "Night", time(18), time(6)),
        ),
        crews=tuple(Crew(str(k), str(k), 2 * k) for k in range(4)),
        roster=tuple("DDNNOOOO"),
        anchor=date(2026, 1, 1),
        exceptions={(date(2026, 1, 1) + timedelta(days=k), "D"): "1" for k in range(300)},
    )
    start = datetime(2026, 1, 1, tzinfo=UTC)
    hours = [start + timedelta(hours=k) for k in range(8760)]
    each = best(lambda: [shift_at(plan, hour) for hour in hours], times=3) / len(hours)
    record_property("seconds each", each)
    assert each < 50e-6


def test_a_typed_number_is_read_between_two_key_strokes(record_property):
    """Under 0.2 ms."""
    texts = ["72.5", "1,234", "0,35 mm", "abc", "1 234.5"] * 200
    each = best(lambda: [read_number(t, decimal_comma=False, unit="mm") for t in texts]) / len(
        texts
    )
    record_property("seconds each", each)
    assert each < 2e-4
