"""The seal shows every change of what was written."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logbook.record import NewEntry, NewReading, Page, schema_v2, short_seal, verify
from logbook.record.schema import ROW_TABLES
from logbook.record.verifying import page_name


@pytest.fixture
def written(book, path, clock):
    """A closed book with six pages of rounds."""
    for number in range(6):
        now = clock.advance(hours=2)
        rows = [
            NewReading("toaster_t", now, value=100.0 + number, typed=f"{100 + number}"),
            NewReading("level", now, value=200.5 - number, typed=f"{200.5 - number}"),
            NewEntry(now, f'round {number} "done" – ok\n\tüber'),
        ]
        book.write("anna", rows)
    book.close()
    return path


def outsiders_check(connection: sqlite3.Connection) -> list[int]:
    """Pages whose seal is wrong, worked out from the documentation alone."""

    def form(rows):
        text = json.dumps(rows, ensure_ascii=False, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()

    def cut(row):
        row = [
            f"sha256:{hashlib.sha256(cell).hexdigest()}" if isinstance(cell, bytes) else cell
            for cell in row
        ]
        while row and row[-1] is None:
            row.pop()
        return row

    book = connection.execute("SELECT * FROM book").fetchone()
    wrong, last = [], {}
    for page in connection.execute("SELECT * FROM page ORDER BY id").fetchall():
        number, seat = page[0], page[1]
        if seat not in last:
            place = connection.execute("SELECT * FROM seat WHERE id = ?", (seat,)).fetchone()
            last[seat] = form([["book", *cut(book)], ["seat", *cut(place)]])
        sealed = [["page", *page[:7], last[seat]]]
        for table in sorted(ROW_TABLES):
            query = f"SELECT * FROM {table} WHERE page = ? ORDER BY id"
            sealed += [[table, *cut(row)] for row in connection.execute(query, (number,))]
        last[seat] = page[8]
        if form(sealed) != page[8] or len(sealed) - 1 != page[6]:
            wrong.append(number)
    return wrong


def test_an_outsider_can_check_the_seals_from_the_documentation(written, bare):
    """The canonical form is as documented: twenty lines of Python without us agree."""
    assert outsiders_check(bare) == []
    assert bare.execute("SELECT count(*) FROM page").fetchone()[0] == 7


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    values=st.lists(st.floats(allow_nan=False, allow_infinity=False), min_size=1, max_size=8),
    text=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1),
)
def test_any_number_and_any_text_comes_back_sealed(new_book, tmp_path, clock, values, text):
    """Tiny, huge, negative-zero numbers and any Unicode survive exactly, and the seal holds."""
    path = tmp_path / f"{abs(hash((tuple(values), text)))}.book"
    if path.exists():
        return
    with new_book(path) as book:
        start = clock.now
        rows = [
            NewReading("level", start - timedelta(hours=n + 1), value=value, typed=text)
            for n, value in enumerate(values)
        ]
        book.write("anna", rows, note=text)
        found = book.readings(["level"], start - timedelta(days=9), start)
    assert [r.value for r in reversed(found)] == values
    assert {r.typed for r in found} == {text}
    assert verify(path).is_sound
    with closing(sqlite3.connect(path)) as connection:
        assert outsiders_check(connection) == []


@pytest.mark.parametrize("table", schema_v2.ROW_TABLES)
def test_every_column_of_the_journal_is_under_seal(
    written, bare, unguard, reopen, crew_rows, table
):
    """Whatever is changed in a row of a journal, a document or a signature: its page tells."""
    with reopen() as book:
        page = book.write("anna", crew_rows).page
    assert outsiders_check(bare) == []
    columns = [row[1] for row in bare.execute(f"PRAGMA table_info({table})")][2:]
    guards = unguard(bare)
    bare.execute("PRAGMA ignore_check_constraints = ON")
    for column in columns:
        old = bare.execute(f"SELECT {column} FROM {table}").fetchone()[0]
        bare.execute(f"UPDATE {table} SET {column} = ?", (b"7" if column == "pdf" else 7,))
        assert verify(written, structure=False).faults[-1].page == page, column
        assert outsiders_check(bare) == [page]
        bare.execute(f"UPDATE {table} SET {column} = ?", (old,))
    for guard in guards:
        bare.execute(guard)
    assert verify(written).is_sound


def test_a_sound_book_verifies_with_counts_and_the_last_seal(written, reopen):
    """The result tells pages, rows and the seal that a handover would print."""
    found = verify(written)
    last = reopen().last_page()
    assert found.is_sound
    assert (found.pages, found.rows) == (7, found.rows)
    assert found.last_seals == (("Control room", last.seal),)
    assert short_seal(last.seal) in str(found)


TAMPERING = [
    ("an edited value", "UPDATE reading SET value = value + 1 WHERE page = {page} AND point = 4"),
    ("what was typed", "UPDATE reading SET typed = '1' WHERE page = {page} AND point = 4"),
    ("a time of taking", "UPDATE reading SET taken_at = taken_at - 60 WHERE page = {page}"),
    ("a late mark", "UPDATE reading SET late = 1 - late WHERE page = {page}"),
    ("a word of an entry", "UPDATE entry SET text = 'all well' WHERE page = {page}"),
    ("the person", "UPDATE page SET person = 'eva' WHERE id = {page}"),
    ("the time of writing", "UPDATE page SET written_at = written_at - 1 WHERE id = {page}"),
    ("the note", "UPDATE page SET note = 'x' WHERE id = {page}"),
    ("a dropped row", "DELETE FROM reading WHERE page = {page} AND point = 4"),
    (
        "a row swapped for one of another page",
        (
            "UPDATE reading SET page = CASE page WHEN {page} THEN {page} + 1 ELSE {page} END "
            "WHERE page IN ({page}, {page} + 1) AND point = 4"
        ),
    ),
    (
        "a row too many",
        (
            "INSERT INTO reading SELECT id + 900, page, 1, taken_at, NULL, 1.0, NULL, '', NULL, "
            "'normal', 0, NULL, NULL, NULL FROM reading WHERE page = {page} AND point = 4"
        ),
    ),
    ("the seal", "UPDATE page SET seal = '00' || substr(seal, 3) WHERE id = {page}"),
]


@pytest.mark.parametrize(("what", "statement"), TAMPERING, ids=[what for what, _ in TAMPERING])
@pytest.mark.parametrize("number", [3, 7])
def test_tampering_is_found_on_its_page(written, bare, unguard, what, statement, number):
    """With the guards taken off and put back, verify names the first page that does not match."""
    page = (1 << 40) + number
    if number == 7 and "swapped" in what:
        page -= 1
    guards = unguard(bare)
    changed = bare.execute(statement.format(page=page)).rowcount
    for guard in guards:
        bare.execute(guard)
    found = verify(written)
    assert changed > 0
    assert found.faults[0].page == page, str(found)
    assert page_name(page) in str(found)
    assert outsiders_check(bare)[0] == page


def test_swapped_pages_are_found(written, bare, unguard):
    """Two pages that change places, rows and heads, break the chain."""
    guards = unguard(bare)
    a, b, spare = (1 << 40) + 3, (1 << 40) + 4, (1 << 40) + 99
    for old, new in ((a, spare), (b, a), (spare, b)):
        bare.execute("UPDATE page SET id = ? WHERE id = ?", (new, old))
        for table in ROW_TABLES:
            bare.execute(f"UPDATE {table} SET page = ? WHERE page = ?", (new, old))
    for guard in guards:
        bare.execute(guard)
    assert verify(written).faults[0].page == a


def test_a_page_taken_out_whole_is_found(written, bare, unguard):
    """The page after a missing one no longer follows the one before it."""
    gone = (1 << 40) + 4
    guards = unguard(bare)
    for table in ROW_TABLES:
        bare.execute(f"DELETE FROM {table} WHERE page = ?", (gone,))
    bare.execute("DELETE FROM page WHERE id = ?", (gone,))
    for guard in guards:
        bare.execute(guard)
    found = verify(written)
    assert found.faults[0].page == gone + 1
    assert "the page before it, 1-4, is missing" in str(found)


def test_rows_left_by_a_page_that_is_gone_are_found(written, bare, unguard):
    """Rows without a head are told with the page they name."""
    gone = (1 << 40) + 7
    guards = unguard(bare)
    bare.execute("DELETE FROM page WHERE id = ?", (gone,))
    for guard in guards:
        bare.execute(guard)
    assert "2 rows of reading belong to page 1-7, which is missing" in str(verify(written))


def cut_tail(connection, unguard, last_kept: int) -> None:
    """Remove the newest pages without a trace in what is left."""
    guards = unguard(connection)
    for table in ROW_TABLES:
        connection.execute(f"DELETE FROM {table} WHERE page > ?", (last_kept,))
    connection.execute("DELETE FROM words WHERE page > ?", (last_kept,))
    connection.execute("DELETE FROM page WHERE id > ?", (last_kept,))
    for guard in guards:
        connection.execute(guard)


@pytest.mark.parametrize("form", ["whole", "short", "upper"])
def test_a_tail_cut_off_shows_against_a_printed_seal(written, bare, unguard, form):
    """What is left is a sound book; only a seal known from elsewhere betrays the cut."""
    seal = bare.execute("SELECT seal FROM page ORDER BY id DESC").fetchone()[0]
    known = {"whole": seal, "short": short_seal(seal), "upper": short_seal(seal).upper()}[form]
    assert verify(written, known_seals=[known]).is_sound
    cut_tail(bare, unguard, (1 << 40) + 5)
    assert verify(written).is_sound
    found = verify(written, known_seals=[known])
    assert not found.is_sound
    assert known in str(found)


def test_a_seal_too_short_to_prove_anything_is_not_accepted(written, bare):
    """Three digits are found by chance; they count as unknown."""
    seal = bare.execute("SELECT seal FROM page ORDER BY id DESC").fetchone()[0]
    assert not verify(written, known_seals=[seal[:3]]).is_sound


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE book SET time_zone = 'Etc/GMT+5'",
        "UPDATE book SET plant_key = 'other'",
        "UPDATE seat SET name = 'Other room'",
    ],
)
def test_the_head_of_the_book_is_under_seal(written, bare, unguard, statement):
    """The first page follows the head of the book and the name of its seat."""
    guards = unguard(bare)
    bare.execute(statement)
    for guard in guards:
        bare.execute(guard)
    assert verify(written).faults[0].page == (1 << 40) + 1


def test_guards_taken_off_are_told(written, bare, unguard):
    """A book without its triggers is not sound, even with every seal in order."""
    unguard(bare)
    assert "append-only were tampered with" in str(verify(written))


def test_an_index_that_lies_is_found(written, bare):
    """Series are read from an index, so table and index are compared too."""
    bare.execute("PRAGMA writable_schema = ON")
    root = bare.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'reading_series'"
    ).fetchone()[0]
    size = bare.execute("PRAGMA page_size").fetchone()[0]
    bare.close()
    with written.open("r+b") as file:
        file.seek((root - 1) * size)
        page = bytearray(file.read(size))
        place = page.rindex(bytes.fromhex("4069"))  # first two bytes of 200.5 and its like
        page[place + 1] ^= 1
        file.seek((root - 1) * size)
        file.write(page)
    assert verify(written, structure=False).is_sound
    assert "damaged" in str(verify(written))


def test_a_flipped_byte_in_a_stored_value_is_found(written):
    """SQLite itself does not notice a changed digit in a text; the seal does."""
    data = bytearray(written.read_bytes())
    place = data.index(b'round 3 "done"')
    data[place + 6] = ord("8")
    written.write_bytes(data)
    found = verify(written)
    assert [fault.page for fault in found.faults if fault.page] == [(1 << 40) + 5]


def test_text_that_is_no_utf8_any_more_is_found_on_its_page(written):
    """A damaged character does not stop the walk."""
    data = bytearray(written.read_bytes())
    place = data.index("über".encode())
    data[place] = 0xFF
    written.write_bytes(data)
    assert verify(written).faults[0].page is not None


def test_verify_tells_how_far_it_is(book, path, clock):
    """Progress is told in steps of a thousand pages."""
    now = clock.now
    book.write_many(
        Page("anna", [NewReading("level", now - timedelta(minutes=n), value=1.0)])
        for n in range(2500)
    )
    told = []
    verify(path, progress=lambda done, total: told.append((done, total)))
    assert told == [(1000, 2501), (2000, 2501)]


def test_verify_works_while_the_book_is_being_written(book, path, clock):
    """Verifying reads one unmoving view and disturbs nobody."""
    book.write("anna", [NewReading("level", clock.now, value=1.0)])
    assert verify(path).pages == 2
    book.write("anna", [NewReading("level", clock.advance(hours=1), value=2.0)])
    assert verify(path).pages == 3
