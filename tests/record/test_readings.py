"""Saving and correcting readings: two clocks, the late mark, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from logbook.plant.model import Settings
from logbook.record import (
    BookError,
    NewEntry,
    NewReading,
    NewResponse,
    NewSample,
    NewStatus,
    Page,
    Ref,
    WriteRefused,
    corrected,
)


def one(book, key="level", **more):
    """The only current reading of a point."""
    now = book.now()
    (found,) = book.readings([key], now - timedelta(days=400), now + timedelta(days=1))
    return found


def test_a_reading_keeps_both_clocks(book, clock, hours):
    """`taken_at` is what was given, `written_at` is the clock at the save."""
    clock.advance(minutes=12, seconds=3)
    saved = book.write("anna", [NewReading("level", hours(0), value=12.5, typed="12,50")])
    found = one(book)
    assert (found.taken_at, found.written_at) == (hours(0), clock.now)
    assert (found.value, found.typed, found.person) == (12.5, "12,50", "anna")
    assert (found.id, found.page) == (saved.ids[0], saved.page)
    assert saved.written_at == clock.now


@pytest.mark.parametrize(
    ("minutes", "late"), [(0, False), (59, False), (60, False), (61, True), (600, True)]
)
def test_a_reading_written_after_the_grace_time_is_late(book, clock, hours, minutes, late):
    """Sixty minutes after the round is in time, a second more is late."""
    clock.advance(minutes=minutes)
    book.write("anna", [NewReading("level", hours(0), value=1.0, round_at=hours(0))])
    assert one(book).late is late


def test_late_is_counted_from_the_round_not_from_the_taking(book, clock, hours):
    """A reading taken twenty minutes after its round has not twenty minutes more."""
    taken = hours(0) + timedelta(minutes=20)
    clock.advance(minutes=70)
    book.write("anna", [NewReading("level", taken, value=1.0, round_at=hours(0))])
    assert one(book).late


def test_without_a_round_late_is_counted_from_the_taking(book, clock, hours):
    """A reading outside the rounds is late by its own time."""
    clock.advance(minutes=70)
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    assert one(book).late


def test_the_grace_time_is_that_in_force_at_the_round(book, plant, clock, hours):
    """A shorter grace time from ten o'clock on does not make the eight o'clock round late."""
    short = replace(plant, settings=Settings(grace_minutes=10))
    book.revise("eva", short, effective_from=hours(4), reason="stricter")
    clock.set(hours(2.5))
    book.write("anna", [NewReading("level", hours(2), value=1.0, round_at=hours(2))])
    clock.set(hours(4.5))
    book.write("anna", [NewReading("level", hours(4), value=1.0, round_at=hours(4))])
    found = book.readings(["level"], hours(0), hours(9))
    assert [r.late for r in found] == [False, True]


def test_a_lab_result_is_not_late(book, clock, hours):
    """A result belongs to a sample and comes when it comes."""
    (sample,) = book.write("anna", [NewSample(hours(0), "meal chute", "M-1")], kind="lab").ids
    clock.advance(hours=9)
    book.write("eva", [NewReading("meal_moisture", hours(0), value=12.0, sample=sample)])
    assert not one(book, "meal_moisture").late
    assert [r.value for r in book.results_of(sample)] == [12.0]


def test_a_correction_stands_in_the_place_of_the_old_and_the_old_stays(book, clock, hours):
    """The series has the new value; the chain has every value, who and why."""
    book.write("anna", [NewReading("level", hours(0), value=1250.0, typed="1250")])
    first = one(book)
    clock.advance(minutes=5)
    book.write("anna", [corrected(first, why="comma", value=125.0, typed="125")], kind="correction")
    second = one(book)
    clock.advance(minutes=5)
    book.write("eva", [corrected(second, why="gauge read again", value=126.0)], kind="correction")
    assert list(book.series(["level"], hours(0), hours(1))["level"].value) == [126.0]
    for version in (first, second, one(book)):
        chain = book.history_of(version.id)
        assert [r.value for r in chain] == [1250.0, 125.0, 126.0]
        assert [(r.person, r.why) for r in chain] == [
            ("anna", None),
            ("anna", "comma"),
            ("eva", "gauge read again"),
        ]
    assert one(book).corrected
    assert book.reading(first.id) == first


def test_a_correction_keeps_round_mode_and_late_mark(book, clock, hours):
    """It is the same reading, with another value."""
    clock.advance(hours=3)
    book.write(
        "anna",
        [NewReading("toaster_t", hours(0), value=70.0, round_at=hours(0), mode="startup")],
    )
    book.write("eva", [corrected(one(book, "toaster_t"), why="misread", value=71.0)])
    found = one(book, "toaster_t")
    assert (found.round_at, found.mode, found.late) == (hours(0), "startup", True)


def test_a_value_given_in_time_is_not_late_when_corrected_later(book, clock, hours):
    """A correction a week later does not make the entry late."""
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    clock.advance(days=7)
    book.write("eva", [corrected(one(book), why="typing error", value=2.0)])
    assert not one(book).late


def test_a_value_that_comes_late_where_none_was_taken_is_late(book, clock, hours):
    """A number in the place of a "not sampled" is late after the grace time."""
    book.write("anna", [NewReading("level", hours(0), reason="not_sampled")])
    clock.advance(hours=5)
    book.write("anna", [corrected(one(book), why="found the slip", value=2.0)])
    assert one(book).late


def test_a_reading_can_be_withdrawn_and_put_right_again(book, hours):
    """A withdrawn reading is in no series; its place can be filled by a further correction."""
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    first = one(book)
    saved = book.write("anna", [corrected(first, why="wrong field")])
    assert len(book.series(["level"], hours(0), hours(1))["level"]) == 0
    assert book.readings(None, hours(0), hours(1)) == []
    last = book.history_of(first.id)[-1]
    assert last.withdrawn
    book.write("anna", [corrected(book.reading(saved.ids[0]), why="was right", value=1.0)])
    assert [r.value for r in book.history_of(first.id)] == [1.0, None, 1.0]


def test_a_correction_can_change_the_time_of_taking(book, hours, clock):
    """The old time is free again, the new one is taken."""
    clock.advance(hours=2)
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    book.write("anna", [corrected(one(book), why="wrong time", value=1.0, taken_at=hours(1))])
    series = book.series(["level"], hours(0), hours(2))["level"]
    assert list(series.taken_at) == [int(hours(1).timestamp())]
    book.write("anna", [NewReading("level", hours(0), value=3.0)])
    with pytest.raises(WriteRefused, match="already has a reading"):
        book.write("anna", [NewReading("level", hours(1), value=4.0)])


def test_a_second_reading_of_a_point_at_one_instant_is_refused(book, hours):
    """The message names the point and the time, and says that a correction is the way."""
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    with pytest.raises(WriteRefused, match=r"level already has .* 2026-03-02 06:00 UTC; correct"):
        book.write("anna", [NewReading("level", hours(0), value=2.0)])
    assert one(book).value == 1.0


@pytest.mark.parametrize("order", [(0, 0), (1, 0, 1), (0, 1, 0), (2, 1, 0, 1)])
def test_the_same_instant_twice_within_one_save_is_refused(book, clock, hours, order):
    """Whatever the order of the rows in the save."""
    clock.advance(hours=5)
    rows = [NewReading("level", hours(h), value=1.0) for h in order]
    with pytest.raises(WriteRefused, match="already has a reading"):
        book.write("anna", rows)
    assert book.readings(None, hours(0), hours(9)) == []


def test_readings_may_come_in_any_order_of_time(book, clock, hours):
    """An import from the newest to the oldest is as good."""
    clock.advance(hours=50)
    book.write("anna", [NewReading("level", hours(h), value=float(h)) for h in (9, 3, 7, 1)])
    book.write("anna", [NewReading("level", hours(h), value=float(h)) for h in (8, 2)])
    series = book.series(["level"], hours(0), hours(50))["level"]
    assert list(series.value) == [1.0, 2.0, 3.0, 7.0, 8.0, 9.0]


REFUSED = [
    ({}, "exactly one of"),
    ({"value": 1.0, "reason": "not_safe"}, "exactly one of"),
    ({"value": 1.0, "text": "run"}, "exactly one of"),
    ({"value": float("nan")}, "not a number that can be kept"),
    ({"value": float("inf")}, "not a number that can be kept"),
    ({"text": "  "}, "needs some words"),
    ({"value": 1.0, "sample": 77}, "no sample number 77"),
    ({"value": 1.0, "sample": Ref(0)}, "Row 0 of this save is no sample"),
    ({"value": 1.0, "sample": Ref(9)}, "Row 9 of this save is no sample"),
    ({"value": 1.0, "replaces": 77, "why": "x"}, "no reading number 77"),
    ({"value": 1.0, "replaces": 77, "why": " "}, "needs a reason"),
    ({"value": 1.0, "replaces": 77}, "needs a reason"),
    ({"value": 1.0, "typed": "1\0"}, "NUL character"),
    ({"text": "\ud800"}, "characters that cannot be stored"),
]


@pytest.mark.parametrize(("given", "said"), REFUSED)
def test_what_is_no_reading_is_refused_in_words(book, hours, given, said):
    """Each refusal says what is wrong; nothing of the save is written, the next one is."""
    with pytest.raises(WriteRefused, match=said):
        book.write("anna", [NewReading("level", hours(0), **given)])
    assert book.readings(None, hours(-1), hours(1)) == []
    book.write("anna", [NewReading("level", hours(0), value=1.0)])


def test_an_unknown_point_is_refused_by_name(book, hours):
    """A reading needs a point that the plant has, or once had."""
    with pytest.raises(WriteRefused, match="no point boiler_p"):
        book.write("anna", [NewReading("boiler_p", hours(0), value=1.0)])


def test_the_future_is_refused(book, hours, clock):
    """A quarter of an hour is let pass as a clock that is off, more is a typing error."""
    book.write("anna", [NewReading("level", hours(0.25), value=1.0)])
    with pytest.raises(WriteRefused, match="is in the future"):
        book.write("anna", [NewReading("level", hours(0.3), value=1.0)])
    with pytest.raises(WriteRefused, match="is in the future"):
        book.write("anna", [NewEntry(hours(24), "tomorrow")])


def test_a_reading_far_from_its_round_is_refused(book, hours, clock):
    """More than half a day between taking and round is a wrong date."""
    clock.advance(hours=30)
    with pytest.raises(WriteRefused, match="more than 12 hours from the round"):
        book.write("anna", [NewReading("level", hours(13), value=1.0, round_at=hours(0))])


def test_a_time_without_a_zone_is_refused(book):
    """A naive instant says nothing; it is not guessed."""
    with pytest.raises(WriteRefused, match="no time zone"):
        book.write("anna", [NewReading("level", datetime(2026, 3, 2, 5), value=1.0)])  # noqa: DTZ001


def test_a_correction_of_another_point_is_refused(book, hours):
    """A value in the wrong field is withdrawn there and entered here."""
    saved = book.write("anna", [NewReading("level", hours(0), value=1.0)])
    wrong = NewReading("toaster_t", hours(0), value=1.0, replaces=saved.ids[0], why="wrong field")
    with pytest.raises(WriteRefused, match="same point"):
        book.write("anna", [wrong])


def test_a_reading_is_corrected_once_then_its_correction_is(book, hours):
    """Two people correcting the same row: the second is told to look first."""
    saved = book.write("anna", [NewReading("level", hours(0), value=1.0)])
    fix = NewReading("level", hours(0), value=2.0, replaces=saved.ids[0], why="misread")
    book.write("anna", [fix])
    with pytest.raises(WriteRefused, match="corrected already"):
        book.write("eva", [replace(fix, value=3.0)])


def test_a_row_corrected_twice_in_one_save_is_refused(book, hours):
    """Within one save as well."""
    saved = book.write("anna", [NewReading("level", hours(0), value=1.0)])
    fix = NewReading("level", hours(0), value=2.0, replaces=saved.ids[0], why="misread")
    with pytest.raises(WriteRefused, match="corrected already"):
        book.write("anna", [fix, replace(fix, value=3.0)])


@pytest.mark.parametrize("person", ["", "  "])
def test_a_save_needs_a_person(book, hours, person):
    """Nobody is not a writer."""
    with pytest.raises(WriteRefused, match="name of the person"):
        book.write(person, [NewReading("level", hours(0), value=1.0)])


def test_an_empty_save_is_refused(book):
    """A page without rows would be a page about nothing."""
    with pytest.raises(WriteRefused, match="nothing to save"):
        book.write("anna", [])


def test_one_bad_row_keeps_the_whole_save_out(book, hours):
    """All or nothing."""
    rows = [NewReading("level", hours(0), value=1.0), NewReading("walk", hours(0))]
    with pytest.raises(WriteRefused):
        book.write("anna", rows)
    assert book.readings(None, hours(-1), hours(1)) == []


def test_responses_follow_the_reading_through_its_corrections(book, hours, clock):
    """What was written about the first version is found at the last."""
    saved = book.write(
        "anna",
        [NewReading("toaster_t", hours(0), value=120.0), NewResponse(Ref(0), "steam", hours(0))],
    )
    book.write("eva", [corrected(one(book, "toaster_t"), why="misread", value=112.0)])
    last = one(book, "toaster_t")
    book.write("eva", [NewResponse(last.id, "left as it is", hours(0))])
    texts = [r.text for r in book.responses([last.id])[last.id]]
    assert texts == ["steam", "left as it is"]
    assert [r.text for r in book.responses([saved.ids[0]])[saved.ids[0]]] == texts


def test_a_response_to_something_else_is_refused(book, hours):
    """A response belongs to a reading."""
    rows = [NewEntry(hours(0), "note"), NewResponse(Ref(0), "done", hours(0))]
    with pytest.raises(WriteRefused, match="Row 0 of this save is no reading"):
        book.write("anna", rows)


def test_going_down_needs_a_reason(book, hours):
    """A machine does not stop without a word."""
    with pytest.raises(WriteRefused, match="needs some words"):
        book.write("anna", [NewStatus("equipment", "dt", hours(0), "down")])


def test_local_instants_are_kept_in_utc(book, clock, hours):
    """01:30 before and after the clocks go back are two instants an hour apart."""
    zone = ZoneInfo("Etc/GMT+5")
    book.write("anna", [NewReading("level", hours(0).astimezone(zone), value=1.0)])
    assert one(book).taken_at == hours(0)


def test_both_half_past_ones_of_an_autumn_night_are_two_readings(new_book, tmp_path):
    """Equal as local times, an hour apart in truth: neither is taken for the other."""
    # A zone rule made up for the test: the clocks go back from +2 to +1.
    before, after = timezone(timedelta(hours=2)), timezone(timedelta(hours=1))
    first = datetime(2026, 10, 25, 1, 30, tzinfo=before)
    second = datetime(2026, 10, 25, 1, 30, tzinfo=after)
    later = lambda: datetime(2026, 10, 25, 12, tzinfo=UTC)  # noqa: E731
    book = new_book(tmp_path / "autumn.book", clock=later)
    book.write(
        "anna", [NewReading("level", first, value=1.0), NewReading("level", second, value=2.0)]
    )
    start = datetime(2026, 10, 24, 20, tzinfo=UTC)
    series = book.series(["level"], start, later())["level"]
    assert list(series.taken_at - series.taken_at[0]) == [0, 3600]


def test_fold_tells_two_instants_apart_within_one_zone(new_book, tmp_path):
    """With a real zone the two differ only by `fold`, and `==` calls them equal."""
    zone = ZoneInfo("CET")
    first = datetime(2026, 10, 25, 2, 30, tzinfo=zone)
    second = first.replace(fold=1)
    assert first == second
    book = new_book(tmp_path / "f.book", clock=lambda: datetime(2026, 10, 25, 12, tzinfo=UTC))
    book.write(
        "anna", [NewReading("level", first, value=1.0), NewReading("toaster_t", second, value=2.0)]
    )
    found = book.readings(None, datetime(2026, 10, 24, tzinfo=UTC), book.now())
    assert [r.taken_at.hour for r in found] == [0, 1]


def test_write_many_asks_the_clock_for_each_page(book, clock, hours):
    """A simulation moves the clock as it yields its pages."""

    def pages():
        for n in range(5):
            clock.advance(hours=1)
            yield Page("anna", [NewReading("level", clock.now, value=float(n))], note=f"{n}")

    written = book.write_many(pages(), chunk=2)
    assert (written.pages, written.rows) == (5, 5)
    found = book.readings(["level"], hours(0), hours(9))
    assert [r.written_at for r in found] == [hours(n) for n in range(1, 6)]
    assert book.last_page().seal == written.last.seal


def test_write_many_refuses_a_whole_chunk(book, clock, hours):
    """Chunks before the refused page stay, the refused one is left out whole."""
    clock.advance(hours=9)
    pages = [Page("anna", [NewReading("level", hours(n), value=1.0)]) for n in (1, 2, 3, 3)]
    with pytest.raises(WriteRefused, match="already has a reading"):
        book.write_many(pages, chunk=2)
    assert len(book.readings(None, hours(0), hours(9))) == 2


def test_asking_for_a_reading_that_is_not_there_says_so(book):
    """A stale number from another screen gets a clear answer."""
    with pytest.raises(BookError, match="no reading number 12"):
        book.reading(12)
