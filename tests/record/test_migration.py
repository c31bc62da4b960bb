"""A book of version 1 becomes one of version 2: a copy is kept, and nothing is lost or half done."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from logbook.record import BookReadOnly, DiskFull, NewOpenItem, open_book, verify
from logbook.record.migrations import SCHEMA_VERSION, STEPS, expected_schema, migrate, schema_of

OLD = Path(__file__).parents[1] / "data" / "books" / "v1.book"
NOW = datetime(2026, 4, 1, 6, tzinfo=UTC)


def now():
    return NOW


@pytest.fixture
def old(path):
    """A copy of the committed book of version 1."""
    shutil.copyfile(OLD, path)
    return path


def dump(path, how="mode=ro"):
    """Every row of every table of version 1, and the version."""
    with closing(sqlite3.connect(f"{path.as_uri()}?{how}", uri=True)) as connection:
        kept = connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
        tables = sorted(name for (name,) in kept if name != "_sqlite_migrations")
        rows = {t: connection.execute(f"SELECT * FROM {t}").fetchall() for t in tables}
        return connection.execute("PRAGMA user_version").fetchone()[0], rows


def beside(path):
    """Names of the files beside the book, less the lock."""
    return sorted(p.name for p in path.parent.iterdir() if not p.name.endswith(".lock"))


def test_a_copy_is_kept_before_the_book_is_migrated(old):
    """It holds every row as it was, is of the old version, and is a whole file by itself."""
    before = dump(OLD, "immutable=1")  # leaves nothing beside the committed book
    with open_book(old, clock=now):
        pass
    assert beside(old) == ["plant.book", "plant.book.before-v2"]
    copy = old.with_name("plant.book.before-v2")
    assert dump(copy) == before
    assert before[0] == 1
    version, rows = dump(old)
    assert version == SCHEMA_VERSION
    assert {table: rows[table] for table in before[1]} == before[1]


def test_the_kept_copy_can_be_migrated_in_its_turn(old):
    """Whoever goes back to it loses only what came after."""
    open_book(old, clock=now).close()
    copy = old.with_name("plant.book.before-v2")
    with open_book(copy, clock=now) as book:
        book.write("anna", [NewOpenItem(NOW, "look at the conveyor")])
    assert verify(copy, known_seals=["3fde ead6 34d1"]).is_sound


def test_a_book_of_an_older_version_can_be_verified_as_it_is(old, bare, unguard):
    """The copy that was kept too; it is held against its own version, and nothing is migrated."""
    assert verify(old, known_seals=["3fde ead6 34d1"]).is_sound
    assert dump(old)[0] == 1
    guards = unguard(bare)
    bare.execute("UPDATE entry SET text = 'conveyor quiet'")
    for guard in guards[1:]:
        bare.execute(guard)
    faults = verify(old).faults
    assert [fault.page is None for fault in faults] == [True, False]
    assert "is missing" in str(faults[0])


def test_what_is_still_in_the_wal_file_is_copied_too(old):
    """A book that was not closed properly has its last pages beside it, not in it."""
    with closing(sqlite3.connect(old)) as writer:
        writer.execute("PRAGMA wal_autocheckpoint = 0")
        writer.execute("INSERT INTO seat VALUES (7, 'Cabin', 0)")
        writer.commit()
        with open_book(old, clock=now):
            pass
        copied = dump(old.with_name("plant.book.before-v2"))[1]
    assert (7, "Cabin", 0) in copied["seat"]


def test_an_earlier_copy_is_not_written_over(old):
    """Two books brought up under one name leave two copies."""
    kept = old.with_name("plant.book.before-v2")
    kept.write_bytes(b"somebody's only good copy")
    open_book(old, clock=now).close()
    assert kept.read_bytes() == b"somebody's only good copy"
    assert dump(old.with_name("plant.book.before-v2-2"))[0] == 1


def test_a_book_of_this_version_is_not_copied(book, path, reopen):
    """Only a migration keeps a copy."""
    book.close()
    reopen().close()
    assert beside(path) == ["plant.book"]


def test_reading_an_old_book_changes_and_copies_nothing(old):
    """It must be opened once for writing first, and that is said."""
    before = old.read_bytes()
    with pytest.raises(BookReadOnly, match="older version"):
        open_book(old, clock=now, writable=False)
    assert old.read_bytes() == before
    assert not [name for name in beside(old) if "before" in name]


def test_without_room_for_the_copy_the_book_stays_as_it_is(old, child):
    """The disk takes no whole copy: one sentence, no half copy, the old version still."""
    script = """
import resource, sys
from datetime import UTC, datetime
from pathlib import Path
from logbook.record import BookError, open_book
resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
import signal
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
try:
    open_book(Path(sys.argv[1]), clock=lambda: datetime(2026, 4, 1, tzinfo=UTC))
except BookError as error:
    print(type(error).__name__, error)
"""
    before = dump(old)
    said = child(script, old).communicate()[0]
    assert said.startswith(DiskFull.__name__)
    assert "free some space" in said
    assert dump(old) == before
    assert not [name for name in beside(old) if "before" in name]


@pytest.mark.parametrize("place", range(0, len(STEPS[1]()), 9))
def test_a_migration_cut_off_anywhere_leaves_the_old_book(old, monkeypatch, place):
    """After any statement that fails all of it is undone; the next opening does it whole."""
    whole = STEPS[1]

    def m002_crews_and_handover():
        statements = whole()
        return (*statements[:place], "SELECT no_such_function()", *statements[place:])

    before = dump(old)
    monkeypatch.setattr("logbook.record.migrations.STEPS", (STEPS[0], m002_crews_and_handover))
    with pytest.raises(Exception, match="no_such_function"):
        open_book(old, clock=now)
    assert dump(old) == before
    monkeypatch.undo()
    open_book(old, clock=now).close()
    assert dump(old)[0] == SCHEMA_VERSION
    assert verify(old).is_sound


def test_a_migration_killed_half_way_leaves_the_old_book(old, child):
    """A process that dies inside the migration: the next one finds version 1 and does it again."""
    script = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from logbook.record import migrations, open_book
def m002_crews_and_handover():
    yield from list(whole())[:60]
    os._exit(9)
whole, first = migrations.STEPS[1], migrations.STEPS[0]
migrations.STEPS = (first, m002_crews_and_handover)
open_book(Path(sys.argv[1]), clock=lambda: datetime(2026, 4, 1, tzinfo=UTC))
"""
    before = dump(old)
    process = child(script, old)
    process.communicate()
    assert process.returncode == 9
    assert dump(old) == before
    open_book(old, clock=now).close()
    assert verify(old, known_seals=["3fde ead6 34d1"]).is_sound


def test_a_migrated_book_has_the_schema_of_a_new_one(old):
    """Step by step or at once: the same tables, indexes, guards and views."""
    open_book(old, clock=now).close()
    with closing(sqlite3.connect(old)) as connection:
        found = schema_of(connection)
        assert found == expected_schema()
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        migrate(fresh)
        assert schema_of(fresh) == found


def test_words_written_before_the_migration_are_found(old):
    """Entries, responses, downtime and samples of version 1 are in the search index."""
    with open_book(old, clock=now) as book:
        assert {f.kind for f in book.search("")} == {
            "downtime", "entry", "page note", "response", "sample"
        }  # fmt: skip
        assert [f.text for f in book.search("noisy")] == ["conveyor noisy"]
        assert [f.kind for f in book.search("dry")] == ["response"]
    assert verify(old).is_sound
