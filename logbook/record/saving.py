"""What the checks of one save have at hand: its page, its clock, its rows and the book."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import datetime
from math import isfinite

from logbook.record.errors import WriteRefused
from logbook.record.instants import from_milliseconds, seconds
from logbook.record.links import Ref
from logbook.record.rows import (
    NewDefinition,
    NewEntry,
    NewLimits,
    NewModeChange,
    NewPoint,
    NewReading,
    NewResponse,
    NewRow,
    NewSample,
    NewStatus,
)
from logbook.record.rows_handover import (
    NewDocument,
    NewHandoverCheck,
    NewHandoverNote,
    NewSignature,
)
from logbook.record.rows_journal import (
    NewAccess,
    NewAcknowledgement,
    NewCredential,
    NewInstruction,
    NewInstructionEnd,
    NewItemEvent,
    NewOpenItem,
    NewSafetyEvent,
    NewSafetyState,
)
from logbook.record.seal import Cell

FUTURE_TOLERANCE_S = 15 * 60
"""What is written cannot have happened later than this after the clock: a typing error."""

Row = tuple[Cell, ...]

TABLE_OF: dict[type, str] = {
    NewReading: "reading",
    NewResponse: "response",
    NewEntry: "entry",
    NewStatus: "status",
    NewModeChange: "mode_change",
    NewSample: "sample",
    NewDefinition: "definition",
    NewLimits: "limit_set",
    NewPoint: "point",
    NewCredential: "credential",
    NewAccess: "access",
    NewOpenItem: "open_item",
    NewItemEvent: "item_event",
    NewInstruction: "instruction",
    NewInstructionEnd: "instruction_end",
    NewAcknowledgement: "acknowledgement",
    NewSafetyState: "safety_state",
    NewSafetyEvent: "safety_event",
    NewHandoverNote: "handover_note",
    NewHandoverCheck: "handover_check",
    NewDocument: "document",
    NewSignature: "signature",
}


class Saving:
    """The saves of one writer, one page after the other; `begin` turns to the next page."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection
        self.points: dict[str, int] = {}
        """Point key to number."""
        self.page = 0
        self.person = ""
        self.now = 0
        self.rows: Sequence[NewRow] = ()
        self.ids: Sequence[int] = ()

    def begin(
        self, page: int, person: str, now: int, rows: Sequence[NewRow], ids: Sequence[int]
    ) -> None:
        """Turn to a page: its id, its writer, its instant in milliseconds, its rows, their ids."""
        self.page, self.person, self.now, self.rows, self.ids = page, person, now, rows, ids

    def linked(self, link: int | Ref, kind: type) -> int:
        """Id of the row of class `kind` that a link names. Raises WriteRefused."""
        table = TABLE_OF[kind]
        if isinstance(link, Ref):
            inside = 0 <= link.index < len(self.rows)
            if not inside or type(self.rows[link.index]) is not kind:
                msg = f"Row {link.index} of this save is no {table}; nothing was written."
                raise WriteRefused(msg)
            return self.ids[link.index]
        self.require_there(table, link)
        return link

    def require_there(self, table: str, wanted: int) -> None:
        """Refuse a link to a row that the book does not have."""
        query = f"SELECT 1 FROM {table} WHERE id = ?"
        if self.connection.execute(query, (wanted,)).fetchone() is None:
            msg = f"There is no {table} number {wanted} in the book; reload and try again."
            raise WriteRefused(msg)

    def require_current(self, kind: type, replaced: int, what: str) -> None:
        """Refuse a second correction of one row, before this save or within it."""
        table = TABLE_OF[kind]
        query = f"SELECT 1 FROM {table} WHERE replaces = ?"
        here = sum(type(r) is kind and getattr(r, "replaces", None) == replaced for r in self.rows)
        if here > 1 or self.connection.execute(query, (replaced,)).fetchone() is not None:
            msg = (
                f"{what}: this {table} has been corrected already; "
                "look at the newer value and correct that one."
            )
            raise WriteRefused(msg)

    def point(self, key: str) -> int:
        """Number of a point. Raises WriteRefused where the plant never had it."""
        number = self.points.get(key)
        if number is None:
            self.points.update(self.connection.execute("SELECT key, id FROM point"))
            number = self.points.get(key)
        if number is None:
            msg = f"The plant has no point {key}; add it to the plant before it is read."
            raise WriteRefused(msg)
        return number

    def happened(self, instant: datetime, what: str) -> int:
        """`instant` in seconds. Raises WriteRefused where it would lie in the future."""
        at = seconds(instant)
        if at * 1000 > self.now + FUTURE_TOLERANCE_S * 1000:
            now = from_milliseconds(self.now).astimezone(instant.tzinfo)
            msg = (
                f"{what}: {instant:%Y-%m-%d %H:%M %Z} is in the future (it is now "
                f"{now:%Y-%m-%d %H:%M}); check the date and time."
            )
            raise WriteRefused(msg)
        return at


def finite(value: float, what: str) -> float:
    """`value` as a float that SQLite gives back unchanged. Raises WriteRefused for others."""
    number = float(value) + 0.0  # negative zero is zero: SQLite does not keep the difference
    if not isfinite(number):
        msg = f"The value of {what} is not a number that can be kept; type it again."
        raise WriteRefused(msg)
    return number


def require_words(text: str | None, what: str) -> None:
    """Refuse a text without a visible character."""
    if not (text or "").strip():
        msg = f"{what} needs some words; say what was done or why."
        raise WriteRefused(msg)


def require_one_of(given: str, allowed: Sequence[str], what: str) -> None:
    """Refuse a word that the book does not know."""
    if given not in allowed:
        msg = f"{what} is one of {', '.join(allowed)}, not {given!r}; choose one of them."
        raise WriteRefused(msg)
