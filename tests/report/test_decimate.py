from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.report.decimate import EACH, bars, merged, thinned, worst_of_columns

LINES = st.lists(
    st.tuples(st.integers(1, 5000), st.floats(-1e6, 1e6)), min_size=1, max_size=300
).map(lambda rows: (np.cumsum([gap for gap, _ in rows]), np.array([value for _, value in rows])))
ZOOMS = st.tuples(st.floats(-0.5, 1.2), st.floats(0.001, 1.5))


def span_of(times, zoom):
    """A span that lies anywhere over the line, or beside it."""
    length = float(times[-1] - times[0]) or 1.0
    start = float(times[0]) + zoom[0] * length
    return start, start + max(zoom[1] * length, 1.0)


@given(LINES, ZOOMS, st.integers(1, 40))
def test_every_extreme_is_drawn_at_any_zoom(line, zoom, columns):
    """In every column of pixels the lowest and the highest reading are on the path."""
    times, values = line
    start, end = span_of(times, zoom)
    kept = set(thinned(times, values, (start, end), columns, 1e9).at.tolist())
    width = (end - start) / columns
    column = np.floor((times - start) / width)
    inside = (times >= start) & (times <= end)
    for number in np.unique(column[inside]):
        here = np.flatnonzero((column == number) & inside)
        drawn = values[[k for k in here if k in kept]]
        assert drawn.size
        assert drawn.min() == values[here].min()
        assert drawn.max() == values[here].max()


@given(LINES, ZOOMS, st.integers(1, 40))
def test_the_path_is_short_rising_and_without_doubles(line, zoom, columns):
    """Never more than four points a column and the two neighbours outside."""
    times, values = line
    span = span_of(times, zoom)
    at = thinned(times, values, span, columns, 1e9).at
    assert (np.diff(at) > 0).all()
    assert at.size <= EACH * (columns + 3)


@given(LINES, ZOOMS, st.integers(1, 40), st.integers(1, 6000))
def test_a_gap_that_can_be_seen_is_never_bridged(line, zoom, columns, gap):
    """Two neighbours farther apart than the gap and than two columns are not joined."""
    times, values = line
    start, end = span_of(times, zoom)
    drawn = thinned(times, values, (start, end), columns, gap)
    far = max(gap, 2.0 * (end - start) / columns)
    bridged = drawn.joined[1:] & (np.diff(times[drawn.at]) > far)
    assert not bridged.any()


@given(LINES, ZOOMS, st.integers(1, 40))
def test_runs_cover_the_path(line, zoom, columns):
    """The stretches drawn in one go follow one another and hold every point once."""
    times, values = line
    drawn = thinned(times, values, span_of(times, zoom), columns, 100.0)
    places = [k for first, after in drawn.runs() for k in range(first, after)]
    assert places == list(range(drawn.at.size))


def test_the_line_runs_on_to_the_edges():
    """The last reading before the span and the first after it are kept."""
    times = np.arange(0, 100, 10)
    drawn = thinned(times, np.zeros(10), (25.0, 55.0), 100, 20.0)
    assert times[drawn.at].tolist() == [20, 30, 40, 50, 60]


def test_few_readings_are_all_drawn():
    """Nothing is left out where there is room for all."""
    times = np.arange(50)
    assert thinned(times, np.sin(times), (0.0, 50.0), 100, 5.0).at.size == 50


def test_no_readings_give_no_path():
    """An empty line is drawn as nothing."""
    none = thinned(np.empty(0, dtype=np.int64), np.empty(0), (0.0, 1.0), 10, 1.0)
    assert none.at.size == 0
    assert none.runs() == []


@pytest.mark.parametrize("columns", [1, 3, 7, 1000])
def test_of_marks_in_one_place_the_worst_is_drawn(columns):
    """An action is never hidden behind a warning of the same column."""
    times, rank = np.arange(1000), np.ones(1000, dtype=np.int64)
    rank[613] = 2
    kept = worst_of_columns(times, rank, 0.0, 1000 / columns)
    assert 613 in kept
    assert kept.size <= columns


def test_no_marks_give_none():
    """Nothing comes of nothing."""
    assert worst_of_columns(np.empty(0, dtype=np.int64), np.empty(0, np.int64), 0.0, 1.0).size == 0


@given(st.lists(st.tuples(st.integers(0, 500), st.integers(0, 90))), st.integers(1, 20))
def test_merged_spans_cover_all_and_lie_apart(rows, least):
    """Every span lies in one that was made, and those made lie apart."""
    spans = [(float(a), float(a + length)) for a, length in rows]
    found = merged(spans, least)
    for start, end in spans:
        assert any(a <= start and end <= b for a, b in found)
    assert all(b[0] - a[1] >= least for a, b in itertools.pairwise(found))


@given(LINES, ZOOMS, st.integers(1, 20), st.integers(1, 6000))
def test_bars_reach_every_extreme_and_hang_together(line, zoom, columns, gap):
    """Every reading lies in the bar of its column; bars of joined readings touch."""
    times, values = line
    start, end = span_of(times, zoom)
    made = bars(times, values, (start, end), columns, gap)
    if made is None:
        return
    width = (end - start) / columns
    inside = (times >= start) & (times <= end)
    column = np.floor((times[inside] - start) / width).astype(int)
    place = np.searchsorted(made.column, column)
    assert (made.column[place] == column).all()
    assert (made.low[place] <= values[inside]).all()
    assert (values[inside] <= made.high[place]).all()
    last = np.append(np.flatnonzero(np.diff(column)), column.size - 1)
    for k in range(1, made.column.size):
        before = last[k - 1]
        if times[inside][before + 1] - times[inside][before] <= gap:
            assert made.low[k] <= values[inside][before] <= made.high[k]


def test_a_line_with_room_is_not_drawn_as_bars():
    """Bars are for lines that are denser than the pixels."""
    times = np.arange(100)
    assert bars(times, np.zeros(100), (0.0, 100.0), 50, 5.0) is None
    assert bars(times, np.zeros(100), (0.0, 100.0), 10, 5.0) is not None
