from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.model import Limits
from logbook.report.trend_panel import LEAST, lay_out_panels, value_range, value_ticks

LIMITS = Limits(target=50.0, warning_low=45.0, warning_high=55.0, action_low=40.0, action_high=60.0)


@given(
    st.floats(300, 3000), st.floats(200, 2000), st.lists(st.integers(1, 6), min_size=1, max_size=12)
)
def test_panels_stand_below_one_another_and_keep_their_least_height(width, height, rows):
    """Nothing lies over anything else, and what does not fit makes the whole higher."""
    placed = lay_out_panels(width, height, rows)
    order = [r for pair in zip(placed.heads, placed.panels, strict=True) for r in pair]
    order += [placed.modes, placed.log, placed.axis]
    for above, below in itertools.pairwise(order):
        assert above.bottom <= below.top + 1e-6
    assert all(panel.height >= LEAST - 5 for panel in placed.panels)
    assert placed.height == placed.axis.bottom


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40))
def test_no_reading_is_ever_cut_off(values):
    """However wild: it lies in the range shown."""
    low, high = value_range([np.array(values)], [LIMITS])
    assert low <= min(values)
    assert max(values) <= high
    assert low < high


def test_limits_near_the_readings_are_shown():
    """Quiet readings stand between their limits."""
    low, high = value_range([np.array([48.0, 51.0, 52.0])], [LIMITS])
    assert low < 45.0
    assert high > 55.0


def test_limits_far_from_the_readings_do_not_flatten_them():
    """An edge that would leave the readings no height is left out."""
    _, high = value_range([np.array([48.0, 48.2])], [Limits(action_high=90.0)])
    assert high < 60.0


def test_a_point_that_stands_still_shows_its_limits():
    """A line without height is seen between its limits."""
    low, high = value_range([np.array([50.0, 50.0])], [LIMITS])
    assert (low < 40.0, high > 60.0) == (True, True)


def test_a_panel_without_readings_shows_its_limits():
    """Or zero to one, where it has none."""
    assert value_range([], [LIMITS])[0] < 40.0
    assert value_range([np.empty(0)], []) == pytest.approx((-0.06, 1.06))


@given(st.floats(-1e5, 1e5), st.floats(1e-3, 1e5), st.floats(40, 900))
def test_labels_tell_the_ticks_apart(low, length, height):
    """No two marks have the same text."""
    texts = [text for _, text in value_ticks((low, low + length), height)]
    assert len(texts) == len(set(texts))


def test_the_panel_at_a_height_is_found():
    """Head and drawing belong to it; the axis to none."""
    placed = lay_out_panels(1000, 600, [1, 2])
    assert placed.panel_at(placed.heads[1].top + 1) == 1
    assert placed.panel_at(placed.panels[0].bottom - 1) == 0
    assert placed.panel_at(placed.axis.bottom + 99) == -1
