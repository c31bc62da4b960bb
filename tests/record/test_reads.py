"""Asking the book: spans, last values, rounds, status, modes, entries, samples, pages."""

from __future__ import annotations

import threading
from datetime import timedelta
from uuid import uuid4

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.record import (
    BookError,
    BookReadOnly,
    Down,
    NewEntry,
    NewModeChange,
    NewReading,
    NewResponse,
    NewSample,
    NewStatus,
    Ref,
    corrected,
)


@pytest.fixture
def rounds(book, clock, hours):
    """A book with four rounds two hours apart, one gap and one answer, read at 15:00."""
    clock.set(hours(9))
    for n in range(4):
        at = hours(2 * n)
        rows = [
            NewReading("level", at, value=10.0 + n, round_at=at),
            NewReading("pump", at, text="run", round_at=at),
        ]
        if n == 2:
            rows[0] = NewReading("level", at, reason="instrument_fault", round_at=at)
        book.write("anna", rows)
    return book


def test_a_series_is_arrays_in_order_with_nan_for_what_was_not_taken(rounds, hours):
    """Shapes, types and the missing value are as documented."""
    series = rounds.series(["level"], hours(0), hours(24))["level"]
    assert (series.taken_at.dtype, series.value.dtype, series.id.dtype) == (
        np.int64,
        np.float64,
        np.int64,
    )
    assert list(series.taken_at - series.taken_at[0]) == [0, 7200, 14400, 21600]
    np.testing.assert_array_equal(series.value, [10.0, 11.0, np.nan, 13.0])
    assert [rounds.reading(int(i)).point for i in series.id] == ["level"] * 4


def test_a_span_has_its_start_and_not_its_end(rounds, hours):
    """Half-open spans can be laid side by side."""
    first = rounds.series(["level"], hours(0), hours(4))["level"]
    second = rounds.series(["level"], hours(4), hours(8))["level"]
    assert (len(first), len(second)) == (2, 2)
    assert len(rounds.readings(["level"], hours(0), hours(4))) == 2


def test_numbers_are_those_of_the_series_without_what_was_not_taken(rounds, hours):
    """Corrections applied, in order of time; an empty pair for a point without any."""
    series = rounds.series(["level", "pump"], hours(0), hours(8))
    numbers = rounds.numbers(["level", "pump"], hours(0), hours(8))
    for key, (times, values) in numbers.items():
        held = np.isfinite(series[key].value)
        assert times.dtype == values.dtype == np.float64
        np.testing.assert_array_equal(times, series[key].taken_at[held])
        np.testing.assert_array_equal(values, series[key].value[held])
    assert len(numbers["level"][0]) == 3
    with pytest.raises(BookError, match="no point nowhere"):
        rounds.numbers(["nowhere"], hours(0), hours(8))


def test_a_point_without_readings_has_an_empty_series(rounds, hours):
    """Empty arrays of the right types, not a missing key."""
    series = rounds.series(["walk"], hours(0), hours(24))["walk"]
    assert len(series) == 0
    assert series.value.dtype == np.float64


def test_lines_are_the_numbers_of_many_points_end_to_end(rounds, hours):
    """Without what is missing or no number, corrections applied; a point without any has none."""
    old = rounds.readings(["level"], hours(0), hours(1))[0]
    rounds.write("ben", [corrected(old, value=10.5, why="slip")])
    lines = rounds.lines(["pump", "level", "walk"], hours(0), hours(24))
    assert lines.keys == ("pump", "level", "walk")
    assert lines.edges.tolist() == [0, 0, 3, 3]
    assert (lines.taken_at - lines.taken_at[0]).tolist() == [0, 7200, 21600]
    assert (lines.value.tolist(), len(lines)) == ([10.5, 11.0, 13.0], 3)
    assert lines.taken_at.dtype == np.int64
    with pytest.raises(BookError):
        rounds.lines(["unheard of"], hours(0), hours(24))


def test_ids_are_given_for_each_span_of_each_point(rounds, hours):
    """In order of time, as the readings now stand, whatever the order of the spans."""
    old = rounds.readings(["level"], hours(2), hours(3))[0]
    rounds.write("ben", [corrected(old, value=10.5, why="slip")])
    spans = [
        ("pump", hours(2), hours(6)),
        ("level", hours(0), hours(4)),
        ("walk", hours(0), hours(9)),
    ]
    found = rounds.ids_in(spans)
    assert found == [[one.id for one in rounds.readings([key], a, b)] for key, a, b in spans]
    assert [len(ids) for ids in found] == [2, 2, 0]
    assert rounds.ids_in([]) == []


def test_the_last_value_passes_over_what_was_not_taken(rounds, hours):
    """`last_before` gives the last number or answer before the instant."""
    last = rounds.last_before(["level", "pump", "walk"], hours(5))
    assert {key: (r.value, r.text) for key, r in last.items()} == {
        "level": (11.0, None),
        "pump": (None, "run"),
    }
    assert rounds.last_before(["level"], hours(0)) == {}


def test_a_round_has_its_readings_by_point(rounds, hours):
    """Readings belong to the round they name, whenever they were taken."""
    late = hours(4) + timedelta(minutes=25)
    rounds.write("anna", [NewReading("walk", late, text="done", round_at=hours(4))])
    found = rounds.of_round(hours(4))
    assert set(found) == {"level", "pump", "walk"}
    assert found["walk"].taken_at == late
    assert rounds.of_round(hours(5)) == {}


def test_all_points_at_once_are_in_order_of_time(rounds, hours):
    """None for the keys means every point."""
    found = rounds.readings(None, hours(0), hours(3))
    assert [(r.point, r.taken_at) for r in found] == [
        ("level", hours(0)),
        ("pump", hours(0)),
        ("level", hours(2)),
        ("pump", hours(2)),
    ]


def test_down_spans_are_paired_and_cut_to_what_touches(book, clock, hours):
    """A span is told whole where it touches the span asked for, open where it lasts."""
    clock.set(hours(24))
    book.write(
        "anna",
        [
            NewStatus("equipment", "dt", hours(1), "down", "bearing"),
            NewStatus("equipment", "dt", hours(2), "down", "still the bearing"),
            NewStatus("equipment", "dt", hours(3), "up"),
            NewStatus("equipment", "dt", hours(4), "up"),
            NewStatus("area", "extraction", hours(5), "down", "no steam"),
        ],
    )
    first = Down("equipment", "dt", hours(1), hours(3), "bearing")
    open_one = Down("area", "extraction", hours(5), None, "no steam")
    assert book.down_intervals(hours(0), hours(24)) == [first, open_one]
    assert book.down_intervals(hours(2), hours(4)) == [first]
    assert book.down_intervals(hours(3), hours(5)) == []
    assert book.down_intervals(hours(6), hours(7)) == [open_one]
    assert [s.state for s in book.statuses(hours(2), hours(5))] == ["down", "up", "up"]


def test_a_stretch_down_has_its_true_end_wherever_that_lies(book, clock, hours):
    """Its end may lie at or after the end asked for; a later stretch is not told."""
    clock.set(hours(40))
    changes = [(5, "down"), (12, "up"), (14, "down"), (20, "down"), (30, "up")]
    book.write("anna", [NewStatus("equipment", "dt", hours(h), s, "x") for h, s in changes])
    book.write("anna", [NewStatus("area", "toaster", hours(13), "down", "y")])
    first, second = (
        Down("equipment", "dt", hours(a), hours(b), "x") for a, b in ((5, 12), (14, 30))
    )
    area = Down("area", "toaster", hours(13), None, "y")
    assert book.down_intervals(hours(0), hours(12)) == [first]
    assert book.down_intervals(hours(6), hours(7)) == [first]
    assert book.down_intervals(hours(12), hours(13)) == []
    assert book.down_intervals(hours(12), hours(15)) == [area, second]
    assert book.down_intervals(hours(16), hours(18)) == [area, second]
    assert book.down_intervals(hours(21), hours(22)) == [area, second]
    assert book.down_intervals(hours(30), hours(31)) == [area]


@given(
    changes=st.lists(
        st.tuples(st.integers(0, 12), st.sampled_from(["down", "up"]), st.sampled_from("ab")),
        max_size=12,
    ),
    span=st.tuples(st.integers(0, 12), st.integers(0, 12)).map(sorted),
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
def test_stretches_of_a_span_are_those_of_all_time_that_touch_it(
    new_book, tmp_path, clock, hours, changes, span
):
    """However short the span asked for: the same true starts and ends."""
    clock.set(hours(48))
    with new_book(tmp_path / f"{uuid4()}.book") as book:
        for hour, state, target in changes:
            book.write("anna", [NewStatus("equipment", target, hours(hour), state, "x")])
        start, end = hours(span[0]), hours(span[1]) + timedelta(minutes=30)
        every = book.down_intervals(hours(-1), hours(99))
        touching = [d for d in every if d.start < end and (d.end is None or d.end > start)]
        assert book.down_intervals(start, end) == touching


def test_modes_begin_with_the_one_in_force(book, clock, hours):
    """The mode at the start of a span comes first, though it began before."""
    assert book.mode_at(hours(0)) == "normal"
    clock.set(hours(24))
    changes = [(1, "startup"), (3, "normal"), (3, "shutdown"), (8, "normal")]
    book.write("anna", [NewModeChange(hours(h), mode) for h, mode in changes])
    assert [m.mode for m in book.modes(hours(4), hours(9))] == ["shutdown", "normal"]
    assert [m.mode for m in book.modes(hours(0), hours(2))] == ["startup"]
    assert [m.mode for m in book.modes(hours(1), hours(2))] == ["startup"]
    assert book.modes(hours(0), hours(1)) == []
    assert [book.mode_at(hours(h)) for h in (0.9, 1, 2.9, 3, 7.9, 8)] == [
        "normal",
        "startup",
        "startup",
        "shutdown",
        "shutdown",
        "normal",
    ]


def test_entries_show_the_last_wording_and_keep_the_first(book, hours):
    """Corrected entries stand once; withdrawn ones not at all; the chain has all."""
    first, gone = book.write("anna", [NewEntry(hours(0), "a"), NewEntry(hours(0), "b")]).ids
    book.write(
        "eva",
        [
            NewEntry(hours(0), "A", area="toaster", replaces=first, why="typo"),
            NewEntry(hours(0), None, replaces=gone, why="wrong book"),
        ],
    )
    found = book.entries(hours(0), hours(1))
    assert [(e.text, e.person, e.area) for e in found] == [("A", "eva", "toaster")]
    assert [e.text for e in book.history_of_entry(found[0].id)] == ["a", "A"]
    assert [e.text for e in book.history_of_entry(gone)] == ["b", None]


def test_samples_responses_and_pages_of_a_span(book, clock, hours):
    """What happened in a span, and what was written in it, by different clocks."""
    clock.set(hours(3))
    saved = book.write(
        "anna",
        [
            NewSample(hours(1), "meal chute", "M-1"),
            NewReading("level", hours(2), value=1.0),
            NewResponse(Ref(1), "topped up", hours(2)),
        ],
        kind="lab",
        note="first bottle",
    )
    assert [s.label for s in book.samples(hours(1), hours(2))] == ["M-1"]
    assert book.samples(hours(2), hours(3)) == []
    assert [r.text for r in book.responses_between(hours(2), hours(3))] == ["topped up"]
    (page,) = book.pages(hours(3), hours(4))
    assert (page.id, page.kind, page.note, page.row_count) == (saved.page, "lab", "first bottle", 3)
    assert (page.seat, page.seal) == ("Control room", saved.seal)
    assert book.last_page() == page


def test_a_second_reader_works_in_another_thread(rounds, hours):
    """`reader()` gives a connection that belongs to the thread that asked for it."""
    found = []

    def work():
        with rounds.reader() as reader:
            found.append(reader.series(["level"], hours(0), hours(24))["level"])

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert len(found[0]) == 4


def test_a_reader_sees_each_save_at_once(rounds, hours, clock):
    """A reader that stays open sees what was committed since."""
    with rounds.reader() as reader:
        before = len(reader.readings(None, hours(0), hours(24)))
        rounds.write("anna", [NewReading("walk", hours(1), text="done")])
        assert len(reader.readings(None, hours(0), hours(24))) == before + 1


def test_a_closed_book_answers_with_a_book_error(rounds, hours):
    """No SQLite exception comes out of a book that was closed too early."""
    rounds.close()
    with pytest.raises(BookError):
        rounds.readings(None, hours(0), hours(1))


def test_a_book_opened_for_reading_refuses_to_save(rounds, reopen, hours):
    """It says that it may only be read, and reads."""
    rounds.close()
    book = reopen(writable=False)
    assert len(book.of_round(hours(0))) == 2
    with pytest.raises(BookReadOnly, match="may only be read"):
        book.write("anna", [NewReading("walk", hours(1), text="done")])


def test_withdrawn_readings_can_be_listed(rounds, hours):
    """What was taken back is not lost from view."""
    first = rounds.readings(["level"], hours(0), hours(1))[0]
    rounds.write(
        "eva", [NewReading("level", hours(0), replaces=first.id, why="read from the wrong tank")]
    )
    found = rounds.withdrawn(hours(0), hours(1))
    assert [(r.why, r.replaces) for r in found] == [("read from the wrong tank", first.id)]
