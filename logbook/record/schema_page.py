"""The page that describes the schema, made from a book and the dictionary of meanings."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing

from logbook.record.meanings import COMMON, TABLES, VIEWS
from logbook.record.migrations import SCHEMA_VERSION, migrate

Meanings = Mapping[str, tuple[str, Mapping[str, str]]]


def schema_markdown() -> str:
    """Every table and view with its columns and what they mean, as Markdown.

    Raises KeyError where a table, a view or a column has no meaning, or a meaning has lost its
    table or column: the page and the schema cannot part.
    """
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        migrate(connection)
        lines = [f"Schema version {SCHEMA_VERSION}. All tables are STRICT.", ""]
        lines += _section(connection, "table", "Tables", TABLES)
        lines += _section(connection, "view", "Views", VIEWS)
    return "\n".join(lines).rstrip() + "\n"


def _section(
    connection: sqlite3.Connection, kind: str, title: str, meanings: Meanings
) -> Iterator[str]:
    # The shadow tables of the search index are SQLite's own.
    query = (
        "SELECT name FROM pragma_table_list WHERE schema = 'main' AND name NOT LIKE 'sqlite!_%' "
        "ESCAPE '!' AND replace(type, 'virtual', 'table') = ?"
    )
    there = {row[0] for row in connection.execute(query, (kind,))}
    _require_same(there, set(meanings), kind)
    yield f"### {title}"
    for name, (meaning, columns) in meanings.items():
        yield from ("", f"#### `{name}`", "", meaning, "", "| column | type | meaning |")
        yield "| --- | --- | --- |"
        yield from _columns(connection, name, columns)
    yield ""


def _columns(connection: sqlite3.Connection, table: str, own: Mapping[str, str]) -> Iterator[str]:
    rows = connection.execute("SELECT name, type FROM pragma_table_info(?)", (table,)).fetchall()
    unknown = set(own) - {name for name, _ in rows}
    if unknown:
        msg = f"{table} has no column {', '.join(sorted(unknown))}"
        raise KeyError(msg)
    for name, kind in rows:
        meaning = own.get(name) or COMMON.get(name) or _none(table, name)
        yield f"| `{name}` | {kind} | {meaning} |"


def _require_same(there: set[str], described: set[str], kind: str) -> None:
    if there != described:
        msg = f"{kind}s without a meaning or without a {kind}: {sorted(there ^ described)}"
        raise KeyError(msg)


def _none(table: str, column: str) -> str:
    msg = f"{table}.{column} has no meaning; give it one in logbook.record.meanings"
    raise KeyError(msg)
