"""The schema: its page, its versions, and the books of every version that was released."""

from __future__ import annotations

import re
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook.record import NewReading, open_book, schema_v1, verify
from logbook.record.meanings import COMMON, TABLES, VIEWS
from logbook.record.migrations import (
    APPLICATION_ID,
    SCHEMA_VERSION,
    STEPS,
    expected_schema,
    migrate,
    schema_faults,
    schema_of,
)
from logbook.record.schema import FACT_TABLES, ROW_TABLES
from logbook.record.schema_page import schema_markdown
from logbook.record.write import INSERTS, WIDTHS

BOOKS = sorted((Path(__file__).parents[1] / "data" / "books").glob("*.book"))
START = datetime(2026, 3, 2, 6, tzinfo=UTC)
SEALS = {"v1": "3fde ead6 34d1", "v2": "c6b3 c135 ccaf"}
"""The last seal of each committed book, as printed."""


@pytest.fixture
def empty():
    """A fresh schema in memory."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        migrate(connection)
        yield connection


def names(connection, kind):
    """Names of all tables, virtual tables or views but SQLite's own."""
    query = (
        "SELECT name FROM pragma_table_list "
        "WHERE type = ? AND schema = 'main' AND name NOT LIKE 'sqlite!_%' ESCAPE '!'"
    )
    return {row[0] for row in connection.execute(query, (kind,))}


def test_there_is_a_book_of_every_version():
    """A new schema version brings its committed book along."""
    assert [book.name for book in BOOKS] == [f"v{n}.book" for n in range(1, SCHEMA_VERSION + 1)]


@pytest.mark.parametrize("committed", BOOKS, ids=lambda book: book.stem)
def test_a_book_of_any_version_opens_and_is_written_on(committed, tmp_path):
    """Brought up to date it keeps every seal, every value, and takes new pages."""
    path = tmp_path / committed.name
    shutil.copyfile(committed, path)
    now = START + timedelta(days=30)
    with open_book(path, clock=lambda: now) as book:
        series = book.series(["toaster_t"], START, now)["toaster_t"]
        assert list(series.value[:3]) == [100.0, 101.5, 103.0]
        assert (len(series), series.value[-1]) == (36, 101.0)
        assert book.plant_at(now).point("toaster_t").limits.action_high == 115.0
        assert [e.text for e in book.entries(START, now)] == ["conveyor noisy"]
        book.write("anna", [NewReading("toaster_t", now, value=99.0)])
    found = verify(path, known_seals=[SEALS[committed.stem]])
    assert found.is_sound, str(found)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone()[0] == SCHEMA_VERSION
        assert connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        assert schema_faults(connection) == []


@pytest.mark.parametrize("committed", BOOKS, ids=lambda book: book.stem)
def test_a_migrated_book_is_still_append_only(committed, tmp_path):
    """The guards stand after every migration too, for a plain connection."""
    path = tmp_path / committed.name
    shutil.copyfile(committed, path)
    open_book(path, clock=lambda: START).close()
    with closing(sqlite3.connect(path)) as connection:
        tables = [t for t in FACT_TABLES if connection.execute(f"SELECT 1 FROM {t}").fetchone()]
        assert set(tables) >= set(schema_v1.FACT_TABLES)
        assert committed is not BOOKS[-1] or tables == list(FACT_TABLES)
        for table in tables:
            row = connection.execute(f"SELECT * FROM {table}").fetchone()
            marks = ", ".join("?" * len(row))
            for statement, values in (
                (f"DELETE FROM {table}", ()),
                (f"UPDATE {table} SET rowid = rowid", ()),
                (f"INSERT OR REPLACE INTO {table} VALUES ({marks})", row),
            ):
                with pytest.raises(sqlite3.IntegrityError):
                    connection.execute(statement, values)


def test_every_table_is_strict(empty):
    """Also the one that sqlite-utils keeps."""
    rows = empty.execute(
        "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND NOT strict"
    )
    assert {name for (name,) in rows} == {"sqlite_schema"}


def test_every_table_of_facts_is_known_to_the_guards_and_the_seal(empty):
    """A table added later cannot be forgotten: it is a fact, a draft or the list of steps."""
    mutable = {"draft", "draft_head", "_sqlite_migrations"}
    assert names(empty, "table") == set(FACT_TABLES) | mutable
    with_page = {
        table
        for table in names(empty, "table")
        if "page" in {row[1] for row in empty.execute(f"PRAGMA table_info({table})")}
    }
    assert with_page == set(ROW_TABLES) == set(INSERTS)
    assert list(ROW_TABLES) == sorted(ROW_TABLES)


@pytest.mark.parametrize("table", sorted(WIDTHS))
def test_a_row_has_as_many_columns_as_its_table(empty, table):
    """And they begin with the id and the page, which the seal relies on."""
    columns = [row[1] for row in empty.execute(f"PRAGMA table_info({table})")]
    assert len(columns) == WIDTHS[table]
    assert columns[:2] == ["id", "page"]


def test_steps_are_numbered_without_a_gap():
    """m001, m002, ... in order."""
    assert [int(re.match(r"m(\d{3})_", s.__name__)[1]) for s in STEPS] == [
        *range(1, SCHEMA_VERSION + 1)
    ]


def test_migrating_again_changes_nothing(empty):
    """A book that is up to date is left alone."""
    before = expected_schema()
    migrate(empty)
    assert schema_faults(empty) == []
    assert expected_schema() == before


@pytest.mark.parametrize("version", range(1, SCHEMA_VERSION + 1))
def test_the_expected_schema_is_what_sqlite_keeps(version):
    """It is read off the statements; SQLite, given them, keeps the same names and texts."""
    with closing(sqlite3.connect(":memory:")) as connection:
        for step in STEPS[:version]:
            for statement in step():
                connection.execute(statement)
        assert schema_of(connection) == expected_schema(version)
    assert len(expected_schema(version)) > 80 * version


def test_a_missing_index_or_changed_view_is_told(empty):
    """`schema_faults` names what is not ours any more."""
    empty.execute("DROP INDEX reading_series")
    empty.execute("DROP VIEW v_page")
    empty.execute("CREATE VIEW v_page AS SELECT 1")
    assert schema_faults(empty) == ["reading_series is missing", "v_page was changed"]


@pytest.mark.parametrize("kind", ["table", "view"])
def test_everything_in_the_schema_has_a_meaning(empty, kind):
    """Every table, view and column; and no meaning is left over."""
    meanings = TABLES if kind == "table" else VIEWS
    there = names(empty, kind) | (names(empty, "virtual") if kind == "table" else set())
    assert there == set(meanings)
    for table, (meaning, columns) in meanings.items():
        there = {row[1] for row in empty.execute(f"PRAGMA table_info({table})")}
        assert meaning.endswith((".", "!"))
        assert there - set(columns) <= set(COMMON), table
        assert set(columns) <= there, table


def test_the_page_shows_every_column_once(empty):
    """The Markdown has a heading for each table and view and a line for each column."""
    page = schema_markdown()
    for kind in ("table", "virtual", "view"):
        for table in names(empty, kind):
            section = page.split(f"#### `{table}`\n")[1].split("####")[0]
            for row in empty.execute(f"PRAGMA table_info({table})"):
                assert (
                    len(re.findall(rf"^\| `{row[1]}` \| {row[2]} \| .+ \|$", section, re.MULTILINE))
                    == 1
                )
    assert page.endswith("|\n")


def test_the_page_is_the_same_each_time():
    """It can be compared with the one that is committed."""
    assert schema_markdown() == schema_markdown()


def test_opening_a_book_that_is_up_to_date_loads_no_migration_library(book, path, child):
    """sqlite-utils takes a while to load and is needed only to migrate."""
    book.close()
    script = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from logbook.record import open_book
open_book(Path(sys.argv[1]), clock=lambda: datetime(2026, 3, 2, 6, tzinfo=UTC)).close()
print("sqlite_utils" in sys.modules, "pandas" in sys.modules)
"""
    assert child(script, path).communicate()[0].split() == ["False", "False"]
