"""Several processes and seats on one book."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from logbook.record import BookBusy, NewReading, verify
from logbook.record.connect import BookLock, connect_reader, wal_size

WRITER = Path(__file__).with_name("test_crash.py").read_text(encoding="utf-8")
WRITER = re.search(r'WRITER = """(.*?)"""', WRITER, re.DOTALL)[1]

HOLD = """
import sys
from pathlib import Path
from logbook.record.connect import BookLock
with BookLock(Path(sys.argv[1]), 5).held():
    print("held", flush=True)
    sys.stdin.read()
"""


@pytest.mark.parametrize("seats", [("Control room", "Control room"), ("Control room", "Cabin")])
def test_two_processes_writing_at_once_lose_nothing(book, path, child, seats):
    """From one seat or two, every acknowledged page of both is there and every seal holds."""
    book.close()
    count = 150
    # Half an hour apart, so that both never read one point at one instant.
    both = [child(WRITER, path, seat, 30 * n, count) for n, seat in enumerate(seats)]
    told = [process.communicate()[0].splitlines()[1:] for process in both]
    assert [len(lines) for lines in told] == [count, count]
    with closing(sqlite3.connect(path)) as connection:
        seals = dict(connection.execute("SELECT id, seal FROM page WHERE kind = 'round'"))
        rows = connection.execute("SELECT count(*), count(DISTINCT id) FROM reading").fetchone()
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    acknowledged = dict(line.split() for lines in told for line in lines)
    assert {int(page): seal for page, seal in acknowledged.items()} == seals
    assert rows == (4 * count, 4 * count)
    found = verify(path)
    assert found.is_sound, str(found)
    assert len(found.last_seals) == len(set(seats))


def test_ids_of_two_seats_never_meet(book, reopen, hours, clock):
    """Every id carries its seat, and each seat has a chain of its own."""
    clock.set(hours(9))
    cabin = reopen(seat_name="Cabin")
    for n in range(6):
        writer = (book, cabin)[n % 2]
        writer.write("anna", [NewReading("level", hours(n), value=1.0)])
    ids = [r.id for r in book.readings(["level"], hours(0), hours(9))]
    assert [i >> 40 for i in ids] == [1, 2, 1, 2, 1, 2]
    assert [i & 0xFFFFFFFF for i in ids] == [1, 1, 2, 2, 3, 3]
    assert len(verify(book.path).last_seals) == 2


def test_a_seat_keeps_its_number(book, reopen):
    """The same name is the same seat; a new name is a new one."""
    book.close()
    assert [reopen(seat_name=n).seat for n in ("Cabin", "Control room", "Cabin", "Lab")] == [
        2,
        1,
        2,
        3,
    ]


def test_a_book_locked_by_another_process_is_busy(book, path, child, hours):
    """The save waits, gives up with a sentence, and works once the other is done."""
    book.close()
    process = child(HOLD, path)
    assert process.stdout.readline() == "held\n"
    from logbook.record import open_book

    with pytest.raises(BookBusy, match=r"Another program is writing to plant\.book"):
        open_book(path, clock=lambda: hours(0), busy_seconds=0.05)
    with open_book(path, clock=lambda: hours(0), writable=False) as reading:
        assert reading.pages(hours(-1), hours(1))
    process.communicate("")
    with open_book(path, clock=lambda: hours(0)) as again:
        again.write("anna", [NewReading("level", hours(0), value=1.0)])


def test_a_save_that_finds_the_book_locked_can_be_repeated(new_book, path, child, hours):
    """Busy during a save: nothing of it is written; the same save goes through later."""
    book = new_book(busy_seconds=0.05)
    process = child(HOLD, path)
    assert process.stdout.readline() == "held\n"
    rows = [NewReading("level", hours(0), value=1.0)]
    with pytest.raises(BookBusy):
        book.write("anna", rows)
    process.communicate("")
    book.write("anna", rows)
    assert len(book.readings(None, hours(0), hours(1))) == 1


def test_a_foreign_program_that_holds_the_file_is_busy(new_book, path, hours):
    """A SQLite client with an open transaction does not know our lock; SQLite's own holds."""
    book = new_book(busy_seconds=0.05)
    with closing(sqlite3.connect(path, isolation_level=None)) as foreign:
        foreign.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookBusy):
            book.write("anna", [NewReading("level", hours(0), value=1.0)])
    book.write("anna", [NewReading("level", hours(0), value=1.0)])


def test_the_last_writer_to_close_folds_the_wal_in(book, path, hours):
    """After closing, the book is one file that can be copied."""
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    assert wal_size(path) > 0
    book.close()
    assert sorted(p.name for p in path.parent.iterdir()) == ["plant.book", "plant.book.lock"]


def test_closing_while_another_holds_the_lock_does_not_checkpoint(new_book, path, child, hours):
    """Closing without the lock leaves the WAL file to the next opening; nothing is lost."""
    book = new_book(busy_seconds=0.05)
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    process = child(HOLD, path)
    assert process.stdout.readline() == "held\n"
    book.close()
    assert wal_size(path) > 0
    process.communicate("")
    assert verify(path).pages == 2


def test_a_reader_never_checkpoints(book, path, hours):
    """Not even a reader that closes last, which is what keeps checkpoints under the lock."""
    book.write("anna", [NewReading("level", hours(0), value=1.0)])
    reader = connect_reader(path, 1)
    book._reading.close()
    with BookLock(path, 1).held():
        book._writer.close()
    before = (wal_size(path), path.stat().st_mtime_ns)
    reader.execute("SELECT count(*) FROM reading").fetchone()
    reader.close()
    assert (wal_size(path), path.stat().st_mtime_ns) == before
    book._writer = None


def test_a_long_wal_is_folded_in_during_work(new_book, path, hours, clock, monkeypatch):
    """The WAL file does not grow for ever: it is used again after a checkpoint."""
    monkeypatch.setattr("logbook.record.connect.CHECKPOINT_BYTES", 100_000)
    book = new_book()
    for n in range(100):
        at = clock.advance(hours=1)
        rows = [NewReading("level", at, value=1.0, typed="1" * 3000)]
        book.write("anna", rows, note=f"{n}")
    assert 0 < wal_size(path) < 450_000
    assert verify(path).pages == 101
