"""Reading a CSV file: every form it may have, and every fault with its row and column."""

import csv
import io
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.exchange.csv_text import read_table
from logbook.exchange.local_time import read_instant
from logbook.exchange.readings_csv import NEEDED, OPTIONAL
from logbook.record import NewModeChange, NewReading

GOOD = "gap.m1,2026-03-02 08:00,0.35,,op1"


def only(result):
    """The one reading of a result without faults."""
    assert result.faults == ()
    [reading] = result.readings
    return reading


# -- what is read --------------------------------------------------------------------------------


def test_a_row_is_a_judged_reading(read, at):
    """Its point, local time as an instant, person and mode; judged by the limits."""
    reading = only(read("gap.m1,2026-03-02 08:00,0.42,,op1"))
    assert (reading.row, reading.point.key, reading.person) == (2, "gap.m1", "op1")
    assert reading.taken_at == at("03-02 08:00")
    assert reading.entry.value == 0.42
    assert str(reading.entry.judgement) == "warning high"
    assert reading.mode == "normal"


@pytest.mark.parametrize(
    ("cells", "answer"),
    [
        ("bed,2026-03-02 08:00,flooded,,op1", "flooded"),
        ("bed,2026-03-02 08:00,Even,,op1", "even"),
        ("magnets,2026-03-02 08:00,no,,op1", "not_done"),
        ('remark,2026-03-02 08:00,"hatch, greased; ""ok""",,op1', 'hatch, greased; "ok"'),
        ('remark,2026-03-02 08:00,"two\nlines",,op1', "two\nlines"),
    ],
)
def test_answers_and_texts_are_read_too(read, cells, answer):
    """By key, name or beginning; quoted cells may hold anything."""
    assert only(read(cells)).entry.text == answer


@pytest.mark.parametrize(
    ("reason", "key"),
    [
        ("not_safe", "not_safe"),
        ("Not safe to take", "not_safe"),
        ("INSTRUMENT_FAULT", "instrument_fault"),
        ("tape lost", "tape lost"),
    ],
)
def test_a_reason_stands_for_a_value(read, reason, key):
    """By its key or words; other words as they are. What was done is kept too."""
    reading = only(read(f"dip,2026-03-02 08:00,,{reason},op1,ladder ordered"))
    assert (reading.entry.reason, reading.entry.value) == (key, None)
    assert reading.entry.response == "ladder ordered"


@pytest.mark.parametrize("person", ["op1", "Operator One", "operator one", "OP1"])
def test_a_person_is_named_by_key_or_name(read, person):
    """In any case."""
    assert only(read(f"dip,2026-03-02 08:00,1.2,,{person}")).person == "op1"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_separators_and_line_endings_of_all_spreadsheets_are_read(read, separator, ending):
    """Comma, semicolon and tab; Unix, Windows and old files."""
    text = separator.join(["point", "taken_at", "value", "reason", "person"]) + ending
    text += separator.join(["dip", "2026-03-02 08:00", "1.2", "", "op1"]) + ending
    assert only(read(text=text)).entry.value == 1.2


def test_a_line_that_names_the_separator_is_understood(read):
    """Some spreadsheets write one above the heading."""
    text = "sep=;\npoint;taken_at;value;reason;person\ndip;2026-03-02 08:00;1.2;;op1\n"
    assert only(read(text=text)).row == 3


def test_columns_may_stand_in_any_order_and_case(read):
    """With spaces around their names."""
    text = " Person ,VALUE,reason,Taken_At,point\nop1,1.2,,2026-03-02 08:00,dip\n"
    assert only(read(text=text)).entry.value == 1.2


def test_blank_rows_and_empty_cells_at_the_end_are_nothing(read):
    """A spreadsheet leaves them; the rows are still counted as it shows them."""
    text = "point,taken_at,value,reason,person,,\n\n,,,,\ndip,2026-03-02 08:00,1.2,,op1,,,\n\n"
    assert only(read(text=text)).row == 4


def test_a_byte_order_mark_is_not_part_of_the_heading(read_file, file):
    """Spreadsheets write one."""
    path = file(b"\xef\xbb\xbf" + b"point,taken_at,value,reason,person\n" + GOOD.encode())
    assert only(read_file(path)).point.key == "gap.m1"


def test_a_plant_with_a_decimal_comma_reads_it(read, book, plant, at):
    """Quoted, or with semicolons between the cells."""
    comma = replace(plant, settings=replace(plant.settings, decimal_comma=True))
    book.revise("head", comma, effective_from=at("03-01 07:00"), reason="as we write")
    assert only(read('gap.m1,2026-03-02 08:00,"0,352",,op1')).entry.value == 0.352
    text = "point;taken_at;value;reason;person\ndip;2026-03-02 08:00;1,234;;op1\n"
    assert only(read(text=text)).entry.value == 1.234


def test_limits_are_those_of_the_mode_then(read, book, at):
    """In start-up the pressure may be lower."""
    book.write("op1", [NewModeChange(at("03-02 07:00"), "startup", "begin")])
    before, after = read(
        "pressure,2026-03-02 06:00,-200,,op1", "pressure,2026-03-02 08:00,-200,,op1"
    ).readings
    assert (before.mode, str(before.entry.judgement)) == ("normal", "warning low")
    assert (after.mode, str(after.entry.judgement)) == ("startup", "within limits")


def test_a_point_is_that_of_its_time(read, faults, book, plant, at):
    """A tank taken out of use at noon could be read in the morning."""
    few = replace(plant, points=tuple(p for p in plant.points if p.key != "dip"))
    book.revise("head", few, effective_from=at("03-02 12:00"), reason="tank sold")
    assert only(read("dip,2026-03-02 08:00,1.2,,op1")).point.key == "dip"
    [(_, column, told)] = faults("dip,2026-03-02 14:00,1.2,,op1")
    assert column == "point"
    assert 'no point "dip"' in told


# -- times -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-02 08:00",
        "2026-03-02T08:00",
        "2026-03-02 8:00",
        "2026-03-02  08:00:00",
        "2026-03-02 08:00:00.000",
        "2026-03-02T14:00Z",
        "2026-03-02T14:00:00+00:00",
        "2026-03-02 15:30+01:30",
        "20260302T1400Z",
        "2026-03-02 08:00 CST",
    ],
)
def test_one_instant_in_many_spellings(at, text):
    """Local, with an offset, with seconds."""
    assert read_instant(text, "America/Chicago") == at("03-02 08:00")


def test_seconds_are_kept_and_their_fractions_are_not(at):
    """The book keeps whole seconds."""
    found = read_instant("2026-03-02 08:00:30.75", "America/Chicago")
    assert (found - at("03-02 08:00")).total_seconds() == 30
    assert read_instant("2026-03-02T14:00:30.75Z", "America/Chicago") == found


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("02.03.2026 08:00", "write it as"),
        ("3/2/2026 8:00", "write it as"),
        ("2026-03-02", "no time of day"),
        ("2026-02-30 08:00", "write it as"),
        ("2026-03-02 25:00", "not a time of day"),
        ("2026-03-02 08:00:77", "not a time of day"),
        ("yesterday", "write it as"),
        ("1926-03-02 08:00", "before 1970"),
        ("0001-01-01T00:00:00+14:00", "write it as"),
        ("0001-01-01 00:00", "before 1970"),
        ("9999-12-31T23:59:59-14:00", "write it as"),
        ("2026-03-08 02:30", "does not exist"),
        ("2026-11-01 01:30", "01:30 CDT or 01:30 CST"),
    ],
)
def test_what_is_no_time_is_told(text, told):
    """In a sentence; also the hour that comes twice and the one that is skipped."""
    found = read_instant(text, "America/Chicago")
    assert isinstance(found, str)
    assert told in found


def test_the_two_hours_of_autumn_are_told_apart_by_the_zones_name(at):
    """An hour lies between them."""
    first = read_instant("2026-11-01 01:30 CDT", "America/Chicago")
    second = read_instant("2026-11-01 01:30:00 CST", "America/Chicago")
    assert (second - first).total_seconds() == 3600


# -- faults ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "column", "told"),
    [
        ("gop.m1,2026-03-02 08:00,0.35,,op1", "point", 'Did you mean "gap.m1"?'),
        (",2026-03-02 08:00,0.35,,op1", "point", "empty"),
        ("gap_mean,2026-03-02 08:00,0.35,,op1", "point", "computed from others"),
        ("gap.m1,,0.35,,op1", "taken_at", "empty"),
        ("gap.m1,soon,0.35,,op1", "taken_at", "is not a time"),
        ("gap.m1,2026-03-05 09:01,0.35,,op1", "taken_at", "lies in the future"),
        ("gap.m1,2026-03-02 08:00,,,op1", "value", "neither value nor reason"),
        ("gap.m1,2026-03-02 08:00,0.35,not_safe,op1", "value", "not both"),
        ("gap.m1,2026-03-02 08:00,0.3x,,op1", "value", "0.3x"),
        ("feed,2026-03-02 08:00,'1,234',,op1", "value", "can be 1.234 or 1234"),
        ("gap.m1,2026-03-02 08:00,3.5,,op1", "value", 'Write "yes" in a column "confirm"'),
        ("bed,2026-03-02 08:00,wet,,op1", "value", "none of the answers"),
        ("gap.m1,2026-03-02 08:00,0.35,,", "person", "empty"),
        ("gap.m1,2026-03-02 08:00,0.35,,op7", "person", 'Did you mean "op'),
        ("gap.m1,2026-03-02 08:00,0.35,,Guest", "person", "may only read"),
        ("remark,2026-03-02 08:00,a\0b,,op1", "value", "NUL"),
        (f"remark,2026-03-02 08:00,{'x' * 2001},,op1", "value", "2001 characters"),
    ],
)
def test_each_fault_names_its_row_its_column_and_what_to_do(faults, cells, column, told):
    """Behind a good row, so that the row number is its own."""
    quoted = cells.replace("'", '"')
    [(row, where, sentence)] = faults("dip,2026-03-02 08:00,1.2,,op1", quoted)
    assert (row, where) == (3, column)
    assert told in sentence


def test_every_fault_of_a_row_is_told_at_once(faults):
    """In the order of the columns."""
    found = faults("gop,soon,0.35,not_safe,op7", "gap.m1,soon,0.3x,,op7")
    assert [(row, column) for row, column, _ in found] == [
        (2, "point"), (2, "taken_at"), (2, "person"), (3, "taken_at"), (3, "value"), (3, "person"),
    ]  # fmt: skip


def test_a_hint_for_typing_at_the_screen_is_left_out(faults):
    """There is no Enter in a file."""
    [(_, _, sentence)] = faults("gap.m1,2026-03-02 08:00,3.5,,op1")
    assert "Enter" not in sentence


@pytest.mark.parametrize("word", ["yes", "Y", "TRUE", "1"])
def test_an_implausible_value_is_kept_when_confirmed(read, word):
    """And judged, with its response."""
    reading = only(read(f"gap.m1,2026-03-02 08:00,3.5,,op1,gap set,{word}"))
    assert reading.entry.value == 3.5
    assert str(reading.entry.judgement) == "action high"
    assert reading.entry.response == "gap set"


def test_a_confirmation_of_anything_else_changes_nothing(faults, read):
    """It cannot make a number of letters, and a plausible value needs none."""
    assert len(faults("gap.m1,2026-03-02 08:00,x,,op1,,yes")) == 1
    assert only(read("gap.m1,2026-03-02 08:00,0.35,,op1,,yes")).entry.value == 0.35
    assert len(faults("gap.m1,2026-03-02 08:00,3.5,,op1,,no")) == 1


def test_fifty_faults_are_all_told(faults):
    """Not the first ten."""
    rows = [f"gop{n},2026-03-02 08:00,0.35,,op1" for n in range(50)]
    assert [row for row, _, _ in faults(*rows)] == list(range(2, 52))


# -- counters --------------------------------------------------------------------------------------


def test_a_count_that_fell_since_the_row_before_is_asked_about(faults, read):
    """In order of time, in whatever order the rows stand; confirmed, it is kept."""
    rows = ["feed,2026-03-02 10:00,900,,op1", "feed,2026-03-02 08:00,1000,,op1"]
    [(row, column, told)] = faults(*rows)
    assert (row, column) == (2, "value")
    assert "stood at 1000" in told
    assert len(read(f"{rows[0]},,yes", rows[1]).readings) == 2


def test_a_count_is_compared_with_the_one_in_the_book(faults, book, at):
    """Also days before; one behind it does not matter."""
    book.write("op1", [NewReading("solvent", at("03-01 10:00"), value=5000)])
    book.write("op1", [NewReading("solvent", at("03-04 10:00"), value=9000)])
    [(_, _, told)] = faults("solvent,2026-03-03 08:00,4000,,op1")
    assert "stood at 5000" in told
    assert faults("solvent,2026-03-03 08:00,6000,,op1") == []


def test_a_rollover_is_no_fault(read):
    """99 950 to 70 with a range of 100 000."""
    rows = ["feed,2026-03-02 08:00,99950,,op1", "feed,2026-03-02 10:00,70,,op1"]
    assert len(read(*rows).readings) == 2


# -- duplicates --------------------------------------------------------------------------------------


def test_a_reading_named_twice_in_the_file_is_a_fault_of_the_second(read, faults):
    """Also when the times are written differently."""
    rows = ["dip,2026-03-02 08:00,1.2,,op1", "dip,2026-03-02T14:00:00.4Z,1.3,,op2"]
    [(row, column, told)] = faults(*rows)
    assert (row, column) == (3, "taken_at")
    assert "already in row 2" in told
    assert [r.row for r in read(*rows).readings] == [2]


def test_a_reading_that_the_book_holds_is_a_fault(faults, book, at):
    """Also one without a value; another second is another reading."""
    book.write("op1", [NewReading("dip", at("03-02 08:00"), reason="not_safe")])
    [(row, column, told)] = faults("dip,2026-03-02 08:00,1.2,,op1")
    assert (row, column) == (2, "taken_at")
    assert "correct it there" in told
    assert faults("dip,2026-03-02 08:00:01,1.2,,op1") == []
    assert faults("gap.m1,2026-03-02 08:00,0.35,,op1") == []


# -- the file as a whole ---------------------------------------------------------------------------


def test_a_file_that_is_not_utf_8_says_so(read_file, file):
    """Nothing is guessed."""
    [fault] = read_file(file("point;Müller".encode("latin-1"))).faults
    assert "not UTF-8" in fault.sentence
    assert str(fault).startswith("row 1: ")


@pytest.mark.parametrize("content", [b"", b"\n\n", b"\xef\xbb\xbf", b" , ,\n"])
def test_an_empty_file_says_so(read_file, file, content):
    """Also one of blank rows or a mark alone."""
    [fault] = read_file(file(content)).faults
    assert fault.sentence == "the file is empty."


def test_a_heading_without_rows_says_so(faults):
    """It may be the wrong file."""
    [(row, _, told)] = faults()
    assert row == 1
    assert "no readings" in told


def test_a_heading_must_name_its_columns(faults):
    """Missing, misspelt, unknown, unnamed and doubled columns are each told."""
    found = faults(GOOD, head="point,taken at,value,value,,persom\n")
    told = {column: sentence for _, column, sentence in found}
    assert {row for row, _, _ in found} == {1}
    assert "missing" in told["taken_at"]
    assert "missing" in told["person"]
    assert 'Did you mean "taken_at"?' in told["taken at"]
    assert 'Did you mean "person"?' in told["persom"]
    assert "named twice" in told["value"]
    assert "unknown" in told["(no name)"]


def test_a_row_with_too_many_cells_names_the_likely_cause(faults):
    """A decimal comma that was not quoted."""
    [(row, column, told)] = faults(
        "dip,2026-03-02 08:00,1,2,,op1", head="point,taken_at,value,reason,person\n"
    )
    assert (row, column) == (2, "")
    assert "6 cells where the heading has 5" in told
    assert "quotation marks" in told


def test_a_short_row_has_empty_cells(faults):
    """Which are then missing."""
    found = faults("dip,2026-03-02 08:00,1.2")
    assert [(row, column) for row, column, _ in found] == [(2, "person")]


def test_a_quote_never_closed_is_told_and_does_not_break(faults):
    """The rest of the file has become one cell."""
    rest = "\n".join(GOOD.replace("08:", f"{h:02d}:") for h in range(9, 24)) * 20
    found = faults(f'remark,2026-03-02 08:00,"open,,op1\n{rest}')
    assert found
    assert all(row == 2 for row, _, _ in found)


def test_a_field_beyond_what_csv_takes_is_told(faults):
    """131 072 characters is the reader's own limit."""
    found = faults(GOOD, f"remark,2026-03-02 08:00,{'x' * 140_000},,op1")
    [(row, _, told)] = found
    assert row == 3
    assert "quotation mark missing" in told


@given(st.text(max_size=300))
@settings(max_examples=200)
def test_no_text_breaks_the_reader_of_tables(text):
    """Rows or faults, never an exception; cells are named by the heading."""
    table = read_table(text, NEEDED, OPTIONAL)
    assert table.rows or table.faults or table.head
    assert all(tuple(cells) == table.head for _, cells in table.rows)


@given(
    st.lists(
        st.tuples(*[st.text(st.characters(exclude_categories=["Cs"]), max_size=12)] * 5), max_size=6
    )
)
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_cells_break_the_reader_of_readings(book_known, rows):
    """Each row is a reading or has a fault of its own row."""
    from logbook.exchange.readings_csv import read_text

    out = io.StringIO()
    csv.writer(out).writerows([NEEDED, *rows])
    result = read_text(out.getvalue(), book_known)
    assert result.faults or not rows
    assert all(fault.sentence.strip() for fault in result.faults)


@pytest.fixture
def book_known(book):
    """What the book says, asked once for all examples."""
    from logbook.exchange.known import Known

    return Known(book)
