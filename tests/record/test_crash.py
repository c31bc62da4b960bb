"""What was acknowledged is there after the process was killed at any moment.

A killed process is not a power cut: the system still writes what it was given. The claim here is
about the process alone; `synchronous=FULL` is what stands against a power cut, and it is read
back whenever a writer connects.
"""

from __future__ import annotations

import os
import random
import sqlite3
import time
from contextlib import closing
from datetime import timedelta

import pytest

from logbook.record import NewReading, open_book, verify
from logbook.record.connect import connect_writer

CYCLES = int(os.environ.get("LOGBOOK_KILL_CYCLES", "20"))
"""Set LOGBOOK_KILL_CYCLES=1000 for a long run."""

WRITER = """
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
import logbook.record.connect as connect
from logbook.record import NewEntry, NewReading, NewResponse, Page, Ref, open_book
connect.CHECKPOINT_BYTES = 100_000  # so that kills fall into checkpoints too
seat, offset = sys.argv[2], int(sys.argv[3])
at = datetime(2026, 3, 2, 6, tzinfo=UTC) + timedelta(minutes=offset)
book = open_book(Path(sys.argv[1]), clock=lambda: at, seat_name=seat, busy_seconds=60)
limit = int(sys.argv[4])
print("ready", flush=True)
for number in range(limit):
    at += timedelta(hours=1)
    rows = [NewReading("level", at, value=float(number)), NewResponse(Ref(0), "x" * 300, at)]
    rows += [NewEntry(at, f"{seat} {number} {k}" * 10) for k in range(10)]
    rows += [NewReading("toaster_t", at, value=100.0)]
    saved = book.write("anna", rows)
    print(saved.page, saved.seal, flush=True)
if limit < 1000:
    book.close()
"""


def acknowledged(process, delay: float) -> list[str]:
    """Lines of a child that is killed `delay` seconds after its first save."""
    assert process.stdout.readline() == "ready\n"
    first = process.stdout.readline()
    until = time.perf_counter() + delay
    while time.perf_counter() < until:
        pass  # a moment chosen by chance, not a wait for anything
    process.kill()
    rest, _ = process.communicate()
    lines = [first, *rest.splitlines(keepends=True)]
    return [line for line in lines if line.endswith("\n")]  # the last may be torn


def check(path, lines: list[str]) -> None:
    """Every acknowledged page is there with its seal, and everything there is whole."""
    with closing(sqlite3.connect(path)) as connection:
        seals = dict(connection.execute("SELECT id, seal FROM page"))
        assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        counts = connection.execute(
            "SELECT count(*) FROM page WHERE kind = 'round' AND row_count <> 13"
        ).fetchone()[0]
    assert counts == 0
    for line in lines:
        page, seal = line.split()
        assert seals[int(page)] == seal
    assert verify(path).is_sound


def test_acknowledged_saves_survive_kills_at_random_moments(book, path, child, clock):
    """Killed again and again, also within commits and checkpoints, the book loses no page."""
    book.close()
    chance = random.Random(20260302)  # noqa: S311 -- moments, no secrets
    lines: list[str] = []
    for cycle in range(CYCLES):
        process = child(WRITER, path, "Control room", cycle * 60 * 24 * 400, 100_000)
        lines += acknowledged(process, chance.uniform(0, 0.15))
        check(path, lines)
    assert len(lines) >= CYCLES
    later = clock.now + timedelta(days=400 * (CYCLES + 1))
    with open_book(path, clock=lambda: later) as again:
        again.write("anna", [NewReading("level", later, value=1.0)])
    assert verify(path).is_sound


def test_a_book_half_made_leaves_nothing_under_its_name(plant, path, child, new_book):
    """Killed while a book is being made, there is no book; making it again works."""
    script = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
import logbook.record.book as book
def killed(*_):
    os.kill(os.getpid(), 9)
book._publish = killed
from logbook.plant.calendar import ShiftCalendar
from logbook.plant.model import Plant
from datetime import date
calendar = ShiftCalendar(time_zone="UTC", shifts=(), crews=(), roster=(), anchor=date(2026, 1, 1))
plant = Plant(key="demo", name="x", calendar=calendar, areas=(), points=())
at = datetime(2026, 3, 2, 6, tzinfo=UTC)
book.create_book(Path(sys.argv[1]), plant, clock=lambda: at, person="eva", reason="x")
"""
    process = child(script, path)
    process.communicate()
    assert process.returncode == -9
    assert not path.exists()
    assert path.with_name("plant.book.new").exists()
    with new_book() as book:
        assert book.plant_at(book.now()) == plant
    assert verify(path).is_sound
    assert not path.with_name("plant.book.new").exists()


def test_a_migration_killed_in_the_middle_leaves_the_version_before(tmp_path, child):
    """Each step is whole or absent: an empty file stays at version 0."""
    path = tmp_path / "x.book"
    script = """
import os, sys
from pathlib import Path
import logbook.record.migrations as migrations
from logbook.record.connect import connect_writer
connection = connect_writer(Path(sys.argv[1]), 5, "rwc")
first = migrations.STEPS[0]()
def m001_first_schema():
    return (*first[:20], "SELECT die()")
connection.create_function("die", 0, lambda: os.kill(os.getpid(), 9))
migrations.STEPS = (m001_first_schema,)
migrations.migrate(connection)
"""
    process = child(script, path)
    process.communicate()
    assert process.returncode == -9
    with closing(connect_writer(path, 5)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone()[0] == 0
        names = [r[0] for r in connection.execute("SELECT name FROM sqlite_master")]
    assert [n for n in names if "sqlite" not in n] == []


@pytest.mark.parametrize("pragma", ["synchronous", "journal_mode", "foreign_keys"])
def test_the_writer_is_durable(book, pragma):
    """Full sync at each commit, WAL, foreign keys: asked of the connection that writes."""
    found = book._writer.execute(f"PRAGMA {pragma}").fetchone()[0]
    assert found == {"synchronous": 2, "journal_mode": "wal", "foreign_keys": 1}[pragma]


def test_commits_never_checkpoint_by_themselves(book):
    """Checkpoints are made under the lock only."""
    assert book._writer.execute("PRAGMA wal_autocheckpoint").fetchone()[0] == 0
