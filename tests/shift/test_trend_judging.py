from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from logbook.assess.limits import LimitHistory, LimitSet, classify_array, modes_at
from logbook.plant.model import Limits
from logbook.shift.trend_load import trend_of

START = datetime(2026, 3, 1, tzinfo=UTC)
END = START + timedelta(hours=100)
EDGE = st.integers(0, 9).map(float)
LIMITS = st.none() | st.builds(
    Limits, warning_low=st.none() | EDGE, warning_high=EDGE, action_high=st.none() | EDGE
)
MODES = st.sampled_from(["normal", "startup"])
AT = st.integers(-50, 110).map(
    lambda hours: START + timedelta(hours=hours)
)  # the book keeps whole seconds
SETS = st.lists(st.builds(LimitSet, MODES, AT, LIMITS), max_size=6)
CHANGES = st.lists(st.tuples(AT, MODES), max_size=5).map(
    lambda rows: sorted(rows, key=lambda r: r[0])
)


@given(SETS, CHANGES, st.lists(st.integers(0, 99 * 3600), unique=True, max_size=60), st.data())
def test_readings_are_judged_by_the_limits_then_in_force(sets, changes, seconds, data):
    """Band by band as reading by reading, whatever limits and modes have changed meanwhile."""
    times = int(START.timestamp()) + np.array(sorted(seconds), dtype=np.int64)
    values = np.array(data.draw(st.lists(EDGE, min_size=times.size, max_size=times.size)), float)
    history = LimitHistory(sets)
    trend = trend_of((times, values), history, changes, START, END)
    bounds = history.in_force(times, modes_at(times, changes))
    assert trend.code.tolist() == classify_array(values, bounds).tolist()
