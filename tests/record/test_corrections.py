from __future__ import annotations

from datetime import timedelta

import numpy as np

from logbook.record import NewReading, corrected


def test_a_correction_shows_old_and_new(book, clock):
    """Both values, who and why; a chain gives each of its steps."""
    now = clock()
    book.write("anna", [NewReading("toaster_t", now, value=150.0, typed="150")], kind="round")
    old = book.readings(["toaster_t"], now, now + timedelta(hours=1))[0]
    book.write("eva", [corrected(old, why="slip", value=105.0, typed="105")], kind="correction")
    newer = book.readings(["toaster_t"], now, now + timedelta(hours=1))[0]
    book.write("eva", [corrected(newer, why="again", value=106.0)], kind="correction")
    found = book.corrections(["toaster_t"], now, now + timedelta(hours=1))
    assert [(c.old_value, c.new_value, c.why) for c in found] == [
        (150.0, 105.0, "slip"),
        (105.0, 106.0, "again"),
    ]
    assert found[0].replaced == old.id
    assert found[0].person == "eva"
    assert not found[0].is_withdrawn


def test_a_withdrawn_reading_is_a_correction_to_nothing(book, clock):
    """What was only taken back has no new value."""
    now = clock()
    book.write("anna", [NewReading("toaster_t", now, value=150.0)], kind="round")
    old = book.readings(["toaster_t"], now, now + timedelta(hours=1))[0]
    gone = NewReading("toaster_t", now, replaces=old.id, why="wrong point")
    book.write("anna", [gone], kind="correction")
    found = book.corrections(["toaster_t"], now, now + timedelta(hours=1))
    assert [c.is_withdrawn for c in found] == [True]
    assert book.corrections(["level"], now, now + timedelta(hours=1)) == []
    assert book.corrections(["toaster_t"], now + timedelta(hours=1), now + timedelta(days=1)) == []


def test_a_reading_moved_in_time_is_found_at_both_times(book, clock):
    """The span of the old time finds it as well as that of the new one."""
    now = clock()
    book.write("anna", [NewReading("level", now, value=50.0)], kind="round")
    old = book.readings(["level"], now, now + timedelta(hours=1))[0]
    moved = now - timedelta(hours=3)
    book.write(
        "anna", [corrected(old, why="clock wrong", value=50.0, taken_at=moved)], kind="correction"
    )
    second = timedelta(seconds=1)
    for at in (now, moved):
        assert len(book.corrections(["level"], at, at + second)) == 1


def test_a_series_holds_nothing_for_a_missing_number(book, clock):
    """A reading that could not be taken is NaN among the numbers, and arrays are whole."""
    now = clock()
    rows = [
        NewReading("level", now - timedelta(hours=2), value=50.0),
        NewReading("level", now, reason="not_safe"),
    ]
    book.write("anna", rows, kind="round")
    series = book.series(["level"], now - timedelta(days=1), now + timedelta(days=1))["level"]
    assert series.taken_at.flags.c_contiguous
    assert series.value[0] == 50.0
    assert np.isnan(series.value[1])
