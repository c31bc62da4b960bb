"""What every part of a reader has: a path, a connection that cannot write, a way to ask."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from pathlib import Path

from logbook.record.errors import translated
from logbook.record.unpack import Row


class Asking:
    """Asks the book. The connection belongs to the thread that made it."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._reading = connection

    def _ask(self, query: str, *values: object) -> list[Row]:
        with translated(self.path):
            return self._reading.execute(query, values).fetchall()


def written_by(table: str, columns: str) -> str:
    """A query for rows x of `table` with who wrote them when (page g)."""
    chosen = ", ".join(f"x.{name}" for name in columns.split())
    return f"SELECT {chosen}, g.person, g.written_at FROM {table} x JOIN page g ON g.id = x.page"
