"""A full disk: nothing half saved, a clear sentence, and it works again afterwards."""

from __future__ import annotations

import sys

import pytest

from logbook.record import DiskFull, NewReading, verify


def rows(hours, start: int, count: int = 60):
    """Readings with some bulk."""
    return [
        NewReading("level", hours(start + n / 100), value=1.0, typed="9" * 200)
        for n in range(count)
    ]


@pytest.mark.parametrize("room", range(1, 14))
def test_a_save_that_finds_no_room_leaves_no_trace(book, path, clock, hours, room):
    """Whatever page the disk gives out at, the save is whole or absent, and can be repeated."""
    clock.set(hours(99))
    book.write("anna", rows(hours, 1))
    pages = book._writer.execute("PRAGMA page_count").fetchone()[0]
    seal = book.last_page().seal
    book._writer.execute(f"PRAGMA max_page_count = {pages + room}")
    with pytest.raises(DiskFull, match=r"would not take the save to plant\.book.*free some space"):
        book.write("anna", rows(hours, 10, 600))
    assert book.last_page().seal == seal
    assert len(book.readings(None, hours(0), hours(99))) == 60
    assert verify(path).is_sound
    book.write("anna", rows(hours, 10, 600))
    assert verify(path).is_sound
    assert len(book.readings(None, hours(0), hours(99))) == 660


LIMITED = """
import resource, sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from logbook.record import BookError, DraftField, DraftHead, NewReading, open_book
at = datetime(2026, 3, 2, 6, tzinfo=UTC)
path, room = Path(sys.argv[1]), int(sys.argv[2])
book = open_book(path, clock=lambda: at)
wal = path.with_name(path.name + "-wal")
def page(day, count=80):
    start = at - timedelta(days=day)
    return [NewReading("level", start + timedelta(minutes=n), value=1.0, typed="9" * 200)
            for n in range(count)]
book.write("anna", page(1))
resource.setrlimit(resource.RLIMIT_FSIZE, (wal.stat().st_size + room, resource.RLIM_INFINITY))
try:
    book.write("anna", page(2))
    print("written")
except BookError as error:
    print(type(error).__name__)
try:
    book.keep_draft(DraftHead(at, at, "normal", "anna"), [DraftField("level", "1" * 9000)])
    print("kept")
except BookError as error:
    print(type(error).__name__)
print(len(book.readings(None, at - timedelta(days=9), at)))
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
book.write("anna", page(2))
print(len(book.readings(None, at - timedelta(days=9), at)))
book.close()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no file size limit there")
@pytest.mark.parametrize("room", [0, 100, 5000, 20_000])
def test_a_file_size_limit_is_like_a_full_disk(book, path, child, room):
    """The system refuses a write in the middle: the same sentence, the same recovery."""
    book.close()
    out, _ = child(LIMITED, path, room).communicate()
    assert out.split() == ["DiskFull", "DiskFull", "80", "160"]
    assert verify(path).is_sound


def test_a_checkpoint_that_fails_does_not_undo_a_save(book, path, child):
    """A save whose commit is done is done, even where the WAL cannot be folded in."""
    book.close()
    script = (
        LIMITED.split("resource.setrlimit", maxsplit=1)[0]
        + """
import logbook.record.connect as connect
for day in range(2, 9):
    book.write("anna", page(day, 400))
book._writer.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
size = path.stat().st_size
resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
connect.CHECKPOINT_BYTES = 0
for day in range(10, 13):
    book.write("anna", page(day, 20))
print(len(book.readings(None, at - timedelta(days=99), at)))
print(path.stat().st_size == size, wal.stat().st_size > 0)
"""
    )
    out, _ = child(script, path, 0).communicate()
    assert out.split() == [str(80 + 7 * 400 + 3 * 20), "True", "True"]
    assert verify(path).is_sound
