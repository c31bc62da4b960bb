"""How a book comes to the present schema: one named step per version, each in a transaction.

sqlite-utils keeps the list of steps done in `_sqlite_migrations`. `user_version` says the same
as a number, so that an older program can refuse a newer book without knowing its tables.
It is imported only when there is a step to do, since it takes a while to load.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from functools import cache

from logbook.record import schema_v1, schema_v2, views_v1, views_v2

APPLICATION_ID = 0x43505342
"""Marks the file as a logbook: the letters CPSB."""

Statements = tuple[str, ...]


def m001_first_schema() -> Statements:
    """Tables, indexes, guards and views of version 1."""
    return (
        *schema_v1.TABLES,
        *schema_v1.INDEXES,
        *schema_v1.PAGE_INDEXES,
        *schema_v1.WORDS,
        *schema_v1.GUARDS,
        *views_v1.VIEWS,
    )


def m002_crews_and_handover() -> Statements:
    """Tables, indexes, guards and views of version 2, and the search index of all words so far."""
    return (
        *schema_v2.TABLES,
        *schema_v2.INDEXES,
        *schema_v2.GUARDS,
        *schema_v2.SEARCH,
        *views_v2.VIEWS,
    )


STEPS: tuple[Callable[[], Statements], ...] = (m001_first_schema, m002_crews_and_handover)
"""The steps in order; step n brings a book from version n - 1 to version n."""

SCHEMA_VERSION = len(STEPS)


def version_of(connection: sqlite3.Connection) -> int:
    """Schema version of an open book."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def migrate(connection: sqlite3.Connection) -> None:
    """Bring the book up to `SCHEMA_VERSION`; each step is done whole or not at all."""
    from sqlite_utils import Database
    from sqlite_utils.migrations import Migrations

    steps = Migrations("logbook")
    for number, step in enumerate(STEPS, start=1):
        steps(name=step.__name__)(_applying(step(), number))
    steps.apply(Database(connection, strict=True))


def _applying(statements: Statements, number: int) -> Callable[[object], None]:
    def apply(database: object) -> None:
        connection: sqlite3.Connection = database.conn  # type: ignore[attr-defined]
        for statement in statements:
            connection.execute(statement)
        # Both pragmas are part of the file's first page and so of this transaction.
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {number}")

    return apply


@cache
def expected_schema(version: int = SCHEMA_VERSION) -> dict[str, str]:
    """Name to SQL of every table, index, trigger and view of a version.

    SQLite keeps the text of a CREATE statement as it was given, so that no book need be made to
    know it: every opening asks for it, and must not wait for that.
    """
    statements = (text.strip() for step in STEPS[:version] for text in step())
    made = (text for text in statements if text.startswith("CREATE "))
    return {_made_by(text): text for text in made}


def _made_by(statement: str) -> str:
    """The name that a CREATE statement gives."""
    words = statement.split(maxsplit=4)
    return words[3] if words[1] in {"UNIQUE", "VIRTUAL"} else words[2]


def schema_of(connection: sqlite3.Connection) -> dict[str, str]:
    """Name to SQL of everything in the open book that we know of or somebody has added.

    The tables that SQLite itself keeps for the search index are left out: their SQL is SQLite's
    and may be another in its next version.
    """
    rows: Iterable[tuple[str, str]] = connection.execute(
        "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE '%sqlite_%' "
        "AND name NOT IN (SELECT name FROM pragma_table_list WHERE type = 'shadow')"
    )
    return dict(rows)


def schema_faults(connection: sqlite3.Connection) -> list[str]:
    """What of the schema of its version is missing or changed, in words.

    More than ours does no harm.
    """
    found = schema_of(connection)
    return [
        f"{name} is missing" if name not in found else f"{name} was changed"
        for name, sql in expected_schema(version_of(connection)).items()
        if found.get(name) != sql
    ]
