"""Nothing written is changed or removed, not even by a client that knows nothing of us."""

from __future__ import annotations

import sqlite3
from datetime import timedelta

import pytest

from logbook.record import (
    NewEntry,
    NewModeChange,
    NewReading,
    NewResponse,
    NewSample,
    NewStatus,
    Ref,
    verify,
)
from logbook.record.schema import FACT_TABLES, ROW_TABLES


@pytest.fixture
def full(book, path, clock, crew_rows):
    """A book with at least one row in every table of facts."""
    now = clock.now
    book.write(
        "anna",
        [
            NewReading("toaster_t", now, value=120.5, typed="120.5", round_at=now),
            NewResponse(Ref(0), "steam reduced", now),
            NewEntry(now, "conveyor noisy", area="toaster"),
            NewStatus("equipment", "dt", now, "down", "bearing"),
            NewModeChange(now, "shutdown", "bearing"),
            NewSample(now, "meal chute", "M-17"),
            NewReading("meal_moisture", now, value=12.0, sample=Ref(5)),
        ],
    )
    clock.advance(minutes=1)
    corrected = book.readings(["toaster_t"], now, now + timedelta(hours=1))[0]
    entry = book.entries(now, now + timedelta(hours=1))[0]
    book.write(
        "eva",
        [
            NewReading("toaster_t", now, value=102.5, replaces=corrected.id, why="misread"),
            NewEntry(now, "conveyor 2 noisy", replaces=entry.id, why="which one"),
        ],
        kind="correction",
    )
    book.write("anna", crew_rows, kind="handover")
    book.close()
    return path


def snapshot(connection: sqlite3.Connection, table: str) -> list[tuple]:
    return connection.execute(f"SELECT * FROM {table}").fetchall()


@pytest.mark.parametrize("table", FACT_TABLES)
def test_every_table_of_facts_has_rows_to_try_on(full, bare, table):
    """The tests below would prove nothing on an empty table."""
    assert snapshot(bare, table)


@pytest.mark.parametrize("table", FACT_TABLES)
def test_update_is_refused(full, bare, table):
    """UPDATE of any column of any table of facts raises and changes nothing."""
    before = snapshot(bare, table)
    for column in [row[1] for row in bare.execute(f"PRAGMA table_info({table})")]:
        with pytest.raises(sqlite3.IntegrityError, match="nothing written is changed"):
            bare.execute(f"UPDATE {table} SET {column} = {column}")
    assert snapshot(bare, table) == before


@pytest.mark.parametrize("table", FACT_TABLES)
def test_delete_is_refused(full, bare, table):
    """DELETE, with or without a condition, raises and removes nothing."""
    before = snapshot(bare, table)
    for condition in ("", " WHERE rowid = (SELECT max(rowid) FROM " + table + ")"):
        with pytest.raises(sqlite3.IntegrityError, match="nothing written is changed"):
            bare.execute(f"DELETE FROM {table}{condition}")
    assert snapshot(bare, table) == before


@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE", "INSERT"])
@pytest.mark.parametrize("table", FACT_TABLES)
def test_insert_over_an_existing_row_is_refused(full, bare, table, verb):
    """No form of INSERT puts a row in the place of one that is there."""
    before = snapshot(bare, table)
    for row in before:
        marks = ", ".join("?" * len(row))
        with pytest.raises(sqlite3.IntegrityError, match="already in the book"):
            bare.execute(f"{verb} INTO {table} VALUES ({marks})", row)
    assert snapshot(bare, table) == before


@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "INSERT OR IGNORE", "INSERT"])
@pytest.mark.parametrize("table", ROW_TABLES)
def test_a_sealed_page_takes_no_more_rows(full, bare, table, verb):
    """A new row for a page that has its seal is refused."""
    before = snapshot(bare, table)
    _, page, *rest = before[-1]
    marks = ", ".join("?" * (len(rest) + 2))
    with pytest.raises(sqlite3.IntegrityError, match="sealed"):
        bare.execute(f"{verb} INTO {table} VALUES ({marks})", (before[-1][0] + 50, page, *rest))
    assert snapshot(bare, table) == before


@pytest.mark.parametrize(("table", "key"), [("point", "key"), ("seat", "name")])
def test_replace_by_another_unique_key_is_refused(full, bare, table, key):
    """REPLACE on a unique name would delete the old row without a delete trigger."""
    before = snapshot(bare, table)
    columns = [row[1] for row in bare.execute(f"PRAGMA table_info({table})")]
    row = dict(zip(columns, before[0], strict=True)) | {"id": 4000}
    if "page" in row:
        row["page"] = (1 << 40) + 999
    marks = ", ".join("?" * len(row))
    with pytest.raises(sqlite3.IntegrityError, match="already in the book"):
        bare.execute(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", tuple(row.values()))
    assert snapshot(bare, table) == before


@pytest.mark.parametrize("table", ["signature", "instruction_end"])
def test_replace_cannot_push_out_what_can_be_there_once(full, bare, table):
    """A second signature in a role, or a second end of an instruction, is refused."""
    before = snapshot(bare, table)
    row = (before[0][0] + 50, (1 << 40) + 999, *before[0][2:])
    marks = ", ".join("?" * len(row))
    with pytest.raises(sqlite3.IntegrityError, match="already in the book"):
        bare.execute(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", row)
    assert snapshot(bare, table) == before


@pytest.mark.parametrize("table", ["reading", "entry"])
def test_replace_cannot_push_a_correction_out(full, bare, table):
    """A second correction of one row, by REPLACE on its unique index, is refused."""
    old = bare.execute(f"SELECT * FROM {table} WHERE replaces IS NOT NULL").fetchone()
    row = (old[0] + 50, (1 << 40) + 999, *old[2:])
    marks = ", ".join("?" * len(row))
    with pytest.raises(sqlite3.IntegrityError, match="already in the book"):
        bare.execute(f"INSERT OR REPLACE INTO {table} VALUES ({marks})", row)


def test_rows_without_a_page_do_not_survive_the_commit(full, bare):
    """With foreign keys on, a row whose page never comes is refused at COMMIT."""
    bare.execute("PRAGMA foreign_keys = ON")
    bare.execute("BEGIN")
    row = ((1 << 40) + 99, (1 << 40) + 999, 1, 1, None, 1.0, None, "", None, "normal", 0)
    bare.execute(f"INSERT INTO reading VALUES ({', '.join('?' * 11)}, NULL, NULL, NULL)", row)
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        bare.execute("COMMIT")
    bare.execute("ROLLBACK")


def test_text_does_not_get_into_a_number_column(full, bare):
    """STRICT tables refuse a value of another type."""
    row = ((1 << 40) + 99, (1 << 40) + 999, 1, 1, None, "hot", None, "", None, "normal", 0)
    with pytest.raises(sqlite3.IntegrityError, match="cannot store TEXT value in REAL"):
        bare.execute(f"INSERT INTO reading VALUES ({', '.join('?' * 11)}, NULL, NULL, NULL)", row)


@pytest.mark.parametrize(
    ("value", "text", "reason", "replaces", "why"),
    [
        (1.0, "run", None, None, None),
        (1.0, None, "not_safe", None, None),
        (None, None, None, None, None),
        (1.0, None, None, 1 << 40, "  "),
        (1.0, None, None, 1 << 40, None),
        (None, None, "  ", None, None),
    ],
)
def test_the_table_itself_holds_the_rules_of_a_reading(
    full, bare, value, text, reason, replaces, why
):
    """One of value, answer and reason; a correction needs a reason that is not blank."""
    point = bare.execute("SELECT point FROM reading WHERE id = ?", ((1 << 40) + 1,)).fetchone()[0]
    replaces = replaces and replaces + 2
    row = ((1 << 40) + 99, (1 << 40) + 999, point, 1, None, value, text, "", reason, "normal", 0)
    with pytest.raises(sqlite3.IntegrityError):
        bare.execute(
            f"INSERT INTO reading VALUES ({', '.join('?' * 11)}, NULL, ?, ?)",
            (*row, replaces, why),
        )


def test_all_these_attempts_leave_a_sound_book(full):
    """The book that was tried on verifies."""
    assert verify(full).is_sound
