from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook.record import open_book
from logbook.shift.level_changes import level_changes
from logbook.shift.trend_load import load_lines
from sample_db.story import DEFAULT_END

START = datetime(2026, 3, 1, tzinfo=UTC)
END = START + timedelta(days=30)


def line(values):
    """Readings every two hours from the start on."""
    values = np.asarray(values, dtype=np.float64)
    return int(START.timestamp()) + 7200 * np.arange(values.size), values


def test_a_step_is_told_with_both_levels_and_its_first_reading():
    """Ten up after twelve days, four down after twenty."""
    rng = np.random.default_rng(1)
    levels = np.repeat([50.0, 60.0, 56.0], [144, 96, 120])
    up, down = level_changes(line(levels + rng.normal(0.0, 0.5, 360)), START, END)
    assert up.at == START + timedelta(days=12)
    assert (up.before, up.after) == pytest.approx((50.0, 60.0), abs=0.2)
    assert down.at == START + timedelta(days=20)
    assert (down.before, down.after) == pytest.approx((60.0, 56.0), abs=0.2)


def test_gaps_and_wild_readings_are_no_steps():
    """A day without readings, and single readings ten times too large."""
    rng = np.random.default_rng(2)
    times, values = line(50.0 + rng.normal(0.0, 0.5, 360))
    held = np.ones(360, dtype=bool)
    held[100:112] = False
    assert level_changes((times[held], values[held]), START, END) == ()


def test_a_long_stretch_is_looked_at_in_blocks():
    """A year of rounds: the step is told to within a day."""
    rng = np.random.default_rng(3)
    values = np.where(np.arange(4380) < 2000, 50.0, 53.0) + rng.normal(0.0, 0.5, 4380)
    (change,) = level_changes(line(values), START, START + timedelta(days=365))
    assert abs(change.at - (START + timedelta(hours=4000))) <= timedelta(days=1)


def test_few_readings_say_nothing():
    """Seven of them, or none."""
    assert level_changes(line([1.0] * 3 + [9.0] * 4), START, END) == ()
    assert level_changes(line([]), START, END) == ()


def test_the_regrind_of_mill_4_is_a_step(sample_book_path):
    """The mill was ground from 13:30 to 21:30 UTC on 9 February; the first round after it is told."""
    start, end = datetime(2026, 1, 1, tzinfo=UTC), datetime(2026, 3, 1, tzinfo=UTC)
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as book:
        plant = book.plant_at(DEFAULT_END)
        key = "flake_thickness.fm4.right"
        found = level_changes(
            load_lines(book, plant, [plant.point(key)], start, end)[key], start, end
        )
    last = found[-1]
    assert datetime(2026, 2, 9, 13, tzinfo=UTC) <= last.at <= datetime(2026, 2, 10, tzinfo=UTC)
    assert last.before > 0.40
    assert last.after < 0.36
