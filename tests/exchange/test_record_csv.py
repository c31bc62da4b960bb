"""Writing a CSV file into a book: pages, rounds, all or nothing, and how it is told."""

import time
from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.exchange.record_csv import record_file
from logbook.record import BookError, NewReading, open_book

HEAD = "point,taken_at,value,reason,person\n"
GOOD = "dip,2026-03-02 08:00,1.2,,op1"
BAD = "gop,2026-03-02 08:00,1.2,,op1"


def count(book):
    """Readings in the book."""
    return len(book.readings(None, book.created_at - timedelta(days=400), book.now()))


def test_a_page_is_written_for_each_person_and_time(record, book, at):
    """In order of time, each with the note; readings of one time belong together."""
    result = record(
        "dip,2026-03-02 10:00,1.3,,op2",
        "dip,2026-03-02 08:00,1.2,,op1",
        "gap.m1,2026-03-02 08:00,0.35,,op1",
        "gap.m2,2026-03-02 08:00,0.35,,op2",
        note=" from paper ",
    )
    assert (len(result.written), result.pages) == (4, 3)
    pages = book.pages(book.now(), book.now() + timedelta(seconds=1))
    assert [(p.person, p.row_count, p.note) for p in pages] == [
        ("op1", 2, "from paper"), ("op2", 1, "from paper"), ("op2", 1, "from paper"),
    ]  # fmt: skip


def test_a_reading_at_a_rounds_time_counts_for_the_round(record, book, at):
    """One between the rounds stands for itself; both are late."""
    record(GOOD, "dip,2026-03-02 09:10,1.3,,op1")
    first, second = book.readings(["dip"], at("03-02 06:00"), at("03-02 12:00"))
    assert (first.round_at, second.round_at) == (at("03-02 08:00"), None)
    assert first.late
    assert second.late
    assert first.typed == "1.2"


def test_responses_belong_to_their_readings(record, book, at):
    """Also the second of a page, and that of a missing reading."""
    record(
        "gap.m1,2026-03-02 08:00,0.50,,op1,gap set",
        "gap.m2,2026-03-02 08:00,0.50,,op1,watched",
        "dip,2026-03-02 08:00,,not_safe,op1,ladder ordered",
        "moisture,2026-03-02 08:00,12,,op1",
    )
    rows = {r.point: r.id for r in book.readings(None, at("03-02 08:00"), at("03-02 08:01"))}
    told = book.responses(rows.values())
    assert {p: [r.text for r in told.get(i, [])] for p, i in rows.items()} == {
        "gap.m1": ["gap set"], "gap.m2": ["watched"], "dip": ["ladder ordered"], "moisture": [],
    }  # fmt: skip


def test_with_a_fault_nothing_is_written(record, book):
    """All rows or none."""
    result = record(GOOD, BAD)
    assert (result.written, result.pages, len(result.faults)) == ((), 0, 1)
    assert count(book) == 0


def test_with_a_reading_written_by_another_seat_meanwhile_nothing_is_written(book, file, at):
    """The second page is refused, and the first does not stay."""
    path = file(HEAD + "dip,2026-03-02 08:00,1.2,,op1\ndip,2026-03-02 10:00,1.3,,op1\n")
    now = book.now()
    looks = iter(range(1, 100))
    with open_book(book.path, clock=lambda: now, seat_name="Second desk") as other:

        def clock():
            if next(looks) == 3:  # once for the file, then once for each page
                other.write("op2", [NewReading("dip", at("03-02 10:00"), value=9.0)])
            return now

        book.use_clock(clock)
        with pytest.raises(BookError, match="already has a reading"):
            record_file(book, path, skip_bad=False)
    series = book.series(["dip"], at("03-02 00:00"), at("03-03 00:00"))["dip"]
    assert series.value.tolist() == [9.0]


def test_the_good_rows_are_written_when_told_to_skip_the_bad(record, book):
    """The bad ones are still told."""
    result = record(GOOD, BAD, skip_bad=True)
    assert [r.row for r in result.written] == [2]
    assert [f.row for f in result.faults] == [3]
    assert count(book) == 1


def test_a_file_recorded_twice_changes_nothing_the_second_time(record, book):
    """Every row is in the book already."""
    record(GOOD)
    result = record(GOOD, skip_bad=True)
    assert result.written == ()
    assert count(book) == 1


def test_what_was_written_is_told_with_its_judgement(record):
    """Values out of limits by name, faults by row, and the count."""
    result = record(
        "gap.m1,2026-03-02 08:00,0.47,,op1",
        "bed,2026-03-02 08:00,flooded,,op1",
        GOOD,
        BAD,
        skip_bad=True,
    )
    assert list(result.lines()) == [
        "row 2: 2026-03-02 08:00 Mills: Flake thickness, Mill 1: 0.47 mm, action high, over 0.45",
        "row 3: 2026-03-02 08:00 Extraction: Bed at the sight glass: Flooded, action",
        'row 5, column point: there is no point "gop".',
        "3 readings written on 1 page, 1 fault.",
    ]


def test_what_was_written_is_told_as_data(record):
    """Instants in UTC, judgement apart."""
    result = record("gap.m1,2026-03-02 08:00,0.47,,op1,gap set", "remark,2026-03-02 08:00,ok,,op1")
    data = result.as_json()
    assert data["pages"] == 1
    assert data["written"][0] == {
        "row": 2,
        "point": "gap.m1",
        "taken_at": "2026-03-02T14:00:00+00:00",
        "value": 0.47,
        "text": None,
        "reason": None,
        "response": "gap set",
        "severity": "action",
        "direction": "high",
    }
    assert data["written"][1]["severity"] is None


def test_the_hour_that_comes_twice_keeps_both_its_readings(record, book, clock, at):
    """01:30 before and after the clocks go back, each in its place."""
    clock.set(at("11-02 06:00"))
    result = record(
        "dip,2026-11-01 01:30 CST,1.3,,op1",
        "dip,2026-11-01 01:30 CDT,1.2,,op1",
        "dip,2026-11-01 01:30,1.4,,op1",
        skip_bad=True,
    )
    assert [f.row for f in result.faults] == [4]
    series = book.series(["dip"], at("10-31 00:00"), at("11-02 00:00"))["dip"]
    assert series.value.tolist() == [1.2, 1.3]
    assert series.taken_at[1] - series.taken_at[0] == 3600


def test_a_comma_plant_is_told_in_commas(record, book, plant, at):
    """As its people write."""
    comma = replace(plant, settings=replace(plant.settings, decimal_comma=True))
    book.revise("head", comma, effective_from=at("03-01 07:00"), reason="as we write")
    [line, _] = record('gap.m1,2026-03-02 08:00,"0,47",,op1').lines()
    assert "0,47 mm, action high, over 0,45" in line


def test_a_note_says_where_readings_came_from(record, book):
    """The file's name, where nothing else is said."""
    record(GOOD)
    assert book.last_page().note == "from readings.csv"


def test_a_file_that_is_not_there_is_an_error_of_the_file(book, tmp_path):
    """For the command line to tell."""
    with pytest.raises(FileNotFoundError):
        record_file(book, tmp_path / "none.csv", skip_bad=False)


def test_five_thousand_rows_are_checked_and_written_quickly(record, book, at):
    """The book is asked once, not for each row; against 20,000 readings already there."""
    start = at("03-01 06:00") - timedelta(days=300)
    rows = [NewReading("dip", start + timedelta(minutes=k), value=1.0) for k in range(20_000)]
    book.write("op1", rows)
    lines = []
    for k in range(2500):
        when = start + timedelta(minutes=3 * k)
        lines.append(f"gap.m1,{when.isoformat()},0.35,,op1")
        lines.append(f"feed,{when.isoformat()},{1000 + k},,op1")
    begun = time.perf_counter()
    result = record(*lines)
    took = time.perf_counter() - begun
    assert len(result.written) == 5000
    assert result.pages == 2500
    assert took < 5.0, f"{took:.1f} s"


def test_five_thousand_bad_rows_are_told_quickly(record):
    """Looking for the point that was meant must not take minutes."""
    lines = [f"gop{k},2026-03-02 08:00,x,,opp{k}" for k in range(5000)]
    begun = time.perf_counter()
    result = record(*lines)
    assert len(result.faults) == 10_000
    assert time.perf_counter() - begun < 10.0
