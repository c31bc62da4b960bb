"""Opening what is no book, or cannot be opened: each time one sentence, and no new file."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from logbook.record import (
    BookBusy,
    BookDamaged,
    BookError,
    BookExists,
    BookMissing,
    BookReadOnly,
    FolderNotWritable,
    NewEntry,
    NewerBook,
    NewReading,
    NotABook,
    WriteRefused,
    open_book,
    verify,
)
from logbook.record.migrations import SCHEMA_VERSION


def opening(path, clock):
    """Open for writing, then for reading; the errors of both."""
    errors = []
    for writable in (True, False):
        with pytest.raises(BookError) as caught:
            open_book(path, clock=clock, writable=writable)
        errors.append(caught.value)
    return errors


def test_a_missing_book_is_not_made_anew(path, clock):
    """The sentence says so, and there is no file afterwards."""
    for error in opening(path, clock):
        assert type(error) is BookMissing
        assert "no new one was made" in error.message
    assert not path.exists()


def test_a_folder_that_is_not_there(tmp_path, clock, new_book):
    """Neither opened nor made."""
    there = tmp_path / "nowhere" / "plant.book"
    assert {type(error) for error in opening(there, clock)} == {BookMissing}
    with pytest.raises(BookMissing, match="does not exist"):
        new_book(there)


def test_a_file_of_no_bytes(path, clock):
    """SQLite would take it for a new database; we say that a copy was cut off."""
    path.touch()
    for error in opening(path, clock):
        assert type(error) is NotABook
        assert "0 bytes" in error.message
    assert path.stat().st_size == 0


@pytest.mark.parametrize(
    "content", [b"x", b"Shift log of Monday\n" * 500, b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_file_of_something_else(path, clock, content):
    """It is refused and not touched."""
    path.write_bytes(content)
    for error in opening(path, clock):
        assert type(error) in {NotABook, BookDamaged}
        assert str(path) in error.message
    assert path.read_bytes() == content


def test_a_database_of_another_program(path, clock):
    """A SQLite file without our mark is not ours, and stays as it was."""
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE reading (id INTEGER)")
        other.commit()
    content = path.read_bytes()
    assert {type(error) for error in opening(path, clock)} == {NotABook}
    assert path.read_bytes() == content


def test_a_folder_in_the_place_of_a_book(path, clock):
    """A folder is no book."""
    path.mkdir()
    assert {type(error) for error in opening(path, clock)} == {NotABook}


def test_a_newer_book_is_left_alone(book, path, clock, bare):
    """It names both versions and what to install."""
    book.close()
    bare.execute(f"PRAGMA user_version = {SCHEMA_VERSION + 1}")
    bare.close()
    for error in opening(path, clock):
        assert type(error) is NewerBook
        assert f"book version {SCHEMA_VERSION + 1}" in error.message
        assert f"knows {SCHEMA_VERSION}" in error.message


def test_a_file_cut_short_is_damaged(book, path, clock):
    """Half a copy is told as such before anything is read from it."""
    book.close()
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2)
    for error in opening(path, clock):
        assert type(error) is BookDamaged
        assert "latest backup" in error.message


def test_a_book_without_its_guards_is_not_written(book, path, clock, bare, unguard):
    """Reading goes on, writing does not."""
    book.close()
    unguard(bare)
    with pytest.raises(BookDamaged, match="tampered with"):
        open_book(path, clock=clock)
    with open_book(path, clock=clock, writable=False) as reading:
        assert reading.last_page().kind == "definition"


def test_a_table_that_somebody_added_does_no_harm(book, path, clock, bare):
    """A view or table of somebody's own is their business."""
    book.close()
    bare.execute("CREATE TABLE my_notes (text)")
    with open_book(path, clock=clock) as again:
        assert again.seat == 1


def test_a_book_is_not_made_over_a_file(book, path, new_book):
    """Neither over a book nor over anything else."""
    content = path.read_bytes()
    with pytest.raises(BookExists, match="already a file"):
        new_book()
    assert path.read_bytes() == content


def test_a_book_moved_away_while_open_is_not_written(book, path, hours):
    """On POSIX systems the writes would go into a file without a name."""
    path.rename(path.with_name("moved.book"))
    with pytest.raises(BookMissing, match="moved, removed or replaced"):
        book.write("anna", [NewReading("level", hours(0), value=1.0)])
    path.with_name("moved.book").rename(path)
    book.write("anna", [NewReading("level", hours(0), value=1.0)])


def test_a_stale_half_made_book_is_no_obstacle(path, new_book):
    """What an interrupted making left is cleared away."""
    path.with_name("plant.book.new").write_bytes(b"half")
    path.with_name("plant.book.new-wal").write_bytes(b"half")
    with new_book() as book:
        assert book.seat == 1
    assert sorted(p.name for p in path.parent.iterdir()) == ["plant.book", "plant.book.lock"]


def test_a_book_with_a_blank_and_a_percent_in_its_name(tmp_path, new_book, clock):
    """The name is a file name, whatever SQLite's URIs make of such characters."""
    path = tmp_path / "plant 100%? #1 é.book"
    with new_book(path) as book:
        book.write("anna", [NewReading("level", clock.now, value=1.0)])
    assert {p.name for p in tmp_path.iterdir()} == {path.name, path.name + ".lock"}
    assert verify(path).pages == 2


# A process of its own that gives up root's rights, since the rights of root know no bounds.
WITHOUT_RIGHTS = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from logbook.record import BookError, NewReading, open_book, verify
at = datetime(2026, 3, 2, 6, tzinfo=UTC)
path, folder = Path(sys.argv[1]), Path(sys.argv[2])
open_book(folder / "warm.book", clock=lambda: at).close()  # loads what is loaded late
if os.geteuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
try:
    open_book(path, clock=lambda: at)
    print("opened")
except BookError as error:
    print(type(error).__name__, error.message)
with open_book(path, clock=lambda: at, writable=False) as book:
    print(book.last_page().kind, verify(path).is_sound)
"""


@pytest.fixture
def shared_folder(new_book):
    """A folder that everybody can enter, with a closed book in it and another to warm up on."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        for book in ("plant.book", "warm.book"):
            new_book(folder / book).close()
        yield folder
        folder.chmod(0o755)


@pytest.mark.skipif(os.name != "posix", reason="rights are set the POSIX way")
def test_a_file_that_may_only_be_read(shared_folder, child):
    """Writing says so; reading works, and verifies."""
    path = shared_folder / "plant.book"
    path.chmod(0o444)
    shared_folder.chmod(0o777)
    out, _ = child(WITHOUT_RIGHTS, path, shared_folder).communicate()
    assert out.startswith("BookReadOnly The book")
    assert out.endswith("definition True\n")


@pytest.mark.skipif(os.name != "posix", reason="rights are set the POSIX way")
def test_a_folder_that_may_only_be_read(shared_folder, child):
    """The book needs files beside it to be written; it can be read without."""
    path = shared_folder / "plant.book"
    path.chmod(0o666)
    path.with_name("plant.book.lock").unlink()
    shared_folder.chmod(0o555)
    out, _ = child(WITHOUT_RIGHTS, path, shared_folder).communicate()
    assert out.startswith("FolderNotWritable The folder")
    assert out.endswith("definition True\n")
    assert sorted(p.name for p in shared_folder.glob("plant*")) == ["plant.book"]


@pytest.mark.skipif(os.name != "posix", reason="rights are set the POSIX way")
def test_a_folder_in_which_no_book_can_be_made(shared_folder, child):
    """Making a book says which folder and what to do."""
    script = (
        WITHOUT_RIGHTS.split("try:", maxsplit=1)[0]
        + """
from logbook.record import create_book
from logbook.plant.calendar import ShiftCalendar
from logbook.plant.model import Plant
from datetime import date
calendar = ShiftCalendar(time_zone="UTC", shifts=(), crews=(), roster=(), anchor=date(2026, 1, 1))
plant = Plant(key="demo", name="x", calendar=calendar, areas=(), points=())
try:
    create_book(folder / "a.book", plant, clock=lambda: at, person="eva", reason="x")
except BookError as error:
    print(type(error).__name__, error.message)
"""
    )
    shared_folder.chmod(0o555)
    out, _ = child(script, shared_folder / "plant.book", shared_folder).communicate()
    assert out.startswith(f"FolderNotWritable The folder {shared_folder} cannot be written")


def test_read_only_and_folder_errors_have_their_own_kinds():
    """Callers can tell them apart."""
    assert not issubclass(BookReadOnly, FolderNotWritable)
    assert all(issubclass(kind, BookError) for kind in (BookReadOnly, FolderNotWritable))


# ---------------------------------------------------------------- closed, and the last word


def test_a_closed_book_saves_nothing_more(book):
    """It says so, and does not quietly open the file again."""
    book.close()
    with pytest.raises(BookError, match="is closed, so nothing was saved"):
        book.write("eva", [NewEntry(book.now(), "too late")])
    with open_book(book.path, clock=book.now) as again:
        assert again.entries(book.created_at, book.now() + timedelta(days=1)) == []


def test_while_a_guard_looks_nobody_else_can_write(book):
    """What it finds still holds when the save is in the book."""
    with open_book(book.path, clock=book.now, seat_name="other", busy_seconds=0.05) as other:

        def guard():
            with pytest.raises(BookBusy):
                other.write("eva", [NewEntry(book.now(), "in between")])

        book.write("eva", [NewEntry(book.now(), "mine")], guard=guard)
        kept = book.entries(book.created_at, book.now() + timedelta(days=1))
        assert [entry.text for entry in kept] == ["mine"]


def test_what_a_guard_raises_refuses_the_save(book):
    """Nothing of it is in the book, and the next save goes through."""

    def refuse():
        raise WriteRefused("The shift is signed.")

    last = book.last_page().id
    with pytest.raises(WriteRefused, match="is signed"):
        book.write("eva", [NewEntry(book.now(), "mine")], guard=refuse)
    assert book.last_page().id == last
    book.write("eva", [NewEntry(book.now(), "after it")])
