"""Many points in one pass: what is found is what is found in each alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.assess.limits import (
    Bounds,
    LimitHistory,
    LimitSet,
    LimitTable,
    Stretch,
    classify_array,
    deviations,
    modes_at,
    not_due_mask,
    runs_of,
    told,
)
from logbook.plant.model import NO_LIMITS, Limits

T0 = datetime(2026, 1, 1, tzinfo=UTC)
HOUR = timedelta(hours=1)
NARROW = Limits(warning_low=4.0, warning_high=6.0, action_low=2.0, action_high=8.0)
HIGH_ONLY = Limits(warning_high=5.0, action_high=7.0)
MODES = ("normal", "startup")

instants = st.integers(-5, 45).map(lambda k: T0 + k * HOUR)
readings = st.lists(
    st.tuples(st.integers(0, 40), st.integers(0, 10) | st.none()),
    max_size=12,
    unique_by=lambda one: one[0],
).map(sorted)
limit_sets = st.lists(
    st.builds(
        LimitSet,
        st.sampled_from(MODES),
        instants,
        st.sampled_from([NARROW, HIGH_ONLY, NO_LIMITS, None]),
    ),
    max_size=4,
)
spans = st.lists(
    st.tuples(instants, st.integers(0, 9) | st.none()).map(
        lambda one: (one[0], None if one[1] is None else one[0] + one[1] * HOUR)
    ),
    max_size=2,
)
points = st.lists(
    st.tuples(readings, limit_sets, spans, st.sampled_from([2.0, 5.0, 60.0])),
    min_size=1,
    max_size=5,
)
changes = st.lists(st.tuples(instants, st.sampled_from([*MODES, "unheard of"])), max_size=3).map(
    lambda found: sorted(found, key=lambda one: one[0])
)


def arrays(read):
    """Times (epoch s) and values, NaN for what is missing."""
    times = np.array([int((T0 + k * HOUR).timestamp()) for k, _ in read], dtype=np.int64)
    return times, np.array([value for _, value in read], dtype=np.float64)


def alone(read, sets, off, gap_h, mode_changes):
    """Deviations of one point by what works on one."""
    times, values = arrays(read)
    bounds = LimitHistory(sets).in_force(times, modes_at(times, mode_changes).tolist())
    return deviations(
        times,
        values,
        classify_array(values, bounds),
        max_gap_s=gap_h * 3600,
        bounds=bounds,
        not_due=not_due_mask(times, off),
        breaks=[at for at, _ in off],
    )


@given(plant=points, mode_changes=changes)
@settings(max_examples=300, deadline=None)
def test_the_runs_of_many_points_are_those_of_each_alone(plant, mode_changes):
    """Gaps, down times, missing values, modes and revised limits, each point with its own."""
    lines = [arrays(read) for read, *_ in plant]
    lengths = np.array([times.size for times, _ in lines], dtype=np.intp)
    times = np.concatenate([times for times, _ in lines])
    values = np.concatenate([values for _, values in lines])
    _, bounds = LimitTable([sets for _, sets, _, _ in plant]).judging(lengths, times, mode_changes)
    masks = [not_due_mask(own, off) for (own, _), (_, _, off, _) in zip(lines, plant, strict=True)]
    edges = np.append(0, np.cumsum(lengths))
    codes = classify_array(values, bounds)
    found = runs_of(
        Stretch(edges, times, values, codes, bounds, np.concatenate(masks)),
        max_gap_s=np.array([gap * 3600 for *_, gap in plant]),
        breaks=[[at for at, _ in off] for _, _, off, _ in plant],
    )
    wanted = [(k, run) for k, one in enumerate(plant) for run in alone(*one, mode_changes)]
    assert list(zip(found.owners.tolist(), told(found), strict=True)) == wanted


@given(plant=st.lists(st.tuples(readings, limit_sets), min_size=1, max_size=5), mode=changes)
@settings(max_examples=300, deadline=None)
def test_the_limits_of_many_points_are_those_of_each_alone(plant, mode):
    """By number and by place, with one mode all the time and with changes of mode."""
    lines = [arrays(read)[0] for read, _ in plant]
    lengths = np.array([times.size for times in lines], dtype=np.intp)
    table = LimitTable([sets for _, sets in plant])
    places, bounds = table.judging(lengths, np.concatenate(lines), mode)
    held = [
        LimitHistory(sets).at(T0 + k * HOUR, modes_at(times[place : place + 1], mode)[0])
        for (read, sets), times in zip(plant, lines, strict=True)
        for place, (k, _) in enumerate(read)
    ]
    assert [table.limits[place] for place in places.tolist()] == held
    wanted = Bounds.stacked(held)
    for name in ("warning_low", "warning_high", "action_low", "action_high", "target"):
        np.testing.assert_array_equal(getattr(bounds, name), getattr(wanted, name))


def test_a_run_does_not_go_on_from_one_point_to_the_next():
    """Two points that are both out at the same times, end to end, are two runs, both open."""
    times, values = arrays([(0, 9), (1, 9)])
    found = runs_of(
        Stretch(
            np.array([0, 2, 4]),
            np.append(times, times),
            np.append(values, values),
            np.full(4, 2, dtype=np.int8),
        ),
        max_gap_s=np.array([7200.0, 7200.0]),
    )
    assert found.owners.tolist() == [0, 1]
    assert found.are_open.tolist() == [True, True]
    assert [(run.first, run.last, run.count) for run in told(found)] == [(0, 1, 2)] * 2


def test_times_that_fall_within_a_point_are_refused_but_not_from_one_point_to_the_next():
    """The next point starts over."""
    codes, gaps = np.zeros(4, dtype=np.int8), np.array([10.0, 10.0])
    values, edges = np.ones(4), np.array([0, 2, 4])
    assert len(runs_of(Stretch(edges, np.array([5, 6, 1, 2]), values, codes), max_gap_s=gaps)) == 0
    with pytest.raises(ValueError, match="order of time"):
        runs_of(Stretch(edges, np.array([6, 5, 7, 8]), values, codes), max_gap_s=gaps)
