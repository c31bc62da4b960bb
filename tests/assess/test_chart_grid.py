"""Times and values as a series of places."""

import numpy as np
import pytest

from logbook.assess.charts import on_grid

HOUR = 3600


def test_a_point_of_every_second_round_has_no_gaps():
    """Its own rhythm is the median distance, whatever the rounds of the plant."""
    grid = on_grid(np.arange(50) * 4 * HOUR, np.arange(50.0))
    assert grid.step_s == 4 * HOUR
    assert grid.values.tolist() == list(range(50))


def test_late_readings_keep_their_place_and_missing_ones_have_one():
    """Half an hour late is on time; a round left out is a gap; so is a day."""
    times = np.array([0, 2.4, 4, 8, 32, 34]) * HOUR
    grid = on_grid(times, np.arange(6.0), step_s=2 * HOUR)
    assert np.flatnonzero(~np.isnan(grid.values)).tolist() == [0, 1, 2, 4, 16, 17]
    assert grid.taken_at[[1, 3, 17]].tolist() == [2.4 * HOUR, 6 * HOUR, 34 * HOUR]


@pytest.mark.parametrize("jump", [-1, 1])
def test_rounds_that_move_with_the_clocks_keep_their_places(jump):
    """Shifts begin an hour sooner or later from one day on: no place is lost or doubled."""
    times = np.arange(60) * 2 * HOUR
    times[30:] += jump * HOUR
    assert on_grid(times, np.arange(60.0), step_s=2 * HOUR).values.tolist() == list(range(60))


def test_a_second_reading_right_after_the_first_replaces_it():
    """Within a quarter of a step it is the same round, taken again."""
    grid = on_grid([0, 600, 7200], [1.0, 1.5, 2.0], step_s=7200)
    assert grid.values.tolist() == [1.5, 2.0]


def test_series_without_readings_and_what_does_not_fit():
    """Nothing gives nothing; different lengths, disorder and no step are refused."""
    assert on_grid([], []).values.size == 0
    assert on_grid([5], [1.0]).values.tolist() == [1.0]
    for times, values, step in ([[1, 2], [1.0], None], [[2, 1], [1.0, 2.0], None], [[1], [1.0], 0]):
        with pytest.raises(ValueError, match=r"fit|order|above 0"):
            on_grid(times, values, step_s=step)
