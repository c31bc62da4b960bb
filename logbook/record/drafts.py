"""Half-typed rounds: the only rows of a book that change.

A draft belongs to a seat and a round. It is kept at every change of a field, so that a crash or a
power cut brings the round back as it was typed; the save that uses it drops it in the same
transaction.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime

from logbook.record.instants import from_milliseconds, from_seconds, milliseconds, seconds
from logbook.record.rows import Draft, DraftField, DraftHead


def keep(
    connection: sqlite3.Connection,
    seat: int,
    head: DraftHead,
    fields: Iterable[DraftField],
    now: datetime,
) -> None:
    """Put the head and the given fields in place; a field emptied of all text goes."""
    round_at, at = seconds(head.round_at), milliseconds(now)
    connection.execute(
        "INSERT OR REPLACE INTO draft_head VALUES (?, ?, ?, ?, ?, ?, ?)",
        (seat, round_at, seconds(head.taken_at), head.mode, head.person, head.note, at),
    )
    for field in fields:
        if field.typed or field.response or field.reason:
            connection.execute(
                "INSERT OR REPLACE INTO draft VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
                (seat, round_at, *_cells(field), at),
            )
        else:
            connection.execute(
                "DELETE FROM draft WHERE seat = ? AND round_at = ? AND point = ?",
                (seat, round_at, field.point),
            )


def load(connection: sqlite3.Connection, seat: int, round_at: datetime) -> Draft | None:
    """The draft of a round, None where there is none."""
    at = seconds(round_at)
    row = connection.execute(
        "SELECT taken_at, mode, person, note, touched_at FROM draft_head WHERE seat = ? AND round_at = ?",
        (seat, at),
    ).fetchone()
    if row is None:
        return None
    taken, mode, person, note, touched = row
    head = DraftHead(from_seconds(at), from_seconds(taken), mode, person, note)
    fields = connection.execute(
        "SELECT point, typed, response, reason, confirmed FROM draft "
        "WHERE seat = ? AND round_at = ?",
        (seat, at),
    )
    by_point = {
        p: DraftField(p, typed, told, why, bool(sure)) for p, typed, told, why, sure in fields
    }
    return Draft(head, by_point, from_milliseconds(touched))


def heads(connection: sqlite3.Connection, seat: int) -> list[DraftHead]:
    """All drafts of a seat, oldest round first."""
    rows = connection.execute(
        "SELECT round_at, taken_at, mode, person, note FROM draft_head WHERE seat = ? ORDER BY round_at",
        (seat,),
    )
    return [DraftHead(from_seconds(r), from_seconds(t), *rest) for r, t, *rest in rows]


def drop(connection: sqlite3.Connection, seat: int, round_at: datetime) -> None:
    """Forget the draft of a round."""
    for table in ("draft", "draft_head"):
        connection.execute(
            f"DELETE FROM {table} WHERE seat = ? AND round_at = ?",
            (seat, seconds(round_at)),
        )


def _cells(field: DraftField) -> tuple[str, str, str, str, int]:
    return field.point, field.typed, field.response, field.reason, int(field.confirmed)
