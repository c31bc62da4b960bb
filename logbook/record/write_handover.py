"""The checks and columns of a handover: notes, checks, documents and signatures."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from hashlib import sha256
from typing import Any

from logbook.record.errors import WriteRefused
from logbook.record.instants import from_seconds
from logbook.record.rows_handover import (
    NewDocument,
    NewHandoverCheck,
    NewHandoverNote,
    NewSignature,
)
from logbook.record.saving import Row, Saving, require_one_of, require_words

NOTE_PARTS = ("remarks", "next_shift", "no_safety", "no_next")
CHECK_ANSWERS = ("read", "asked", "accepted")
DOCUMENT_KINDS = ("handover", "review")
ROLES = ("outgoing", "incoming", "review")
TWO_PEOPLE = frozenset({"outgoing", "incoming"})


class HandoverRows:
    """Turns new rows of a handover into columns. Each method raises WriteRefused."""

    def __init__(self, saving: Saving) -> None:
        self._saving = saving

    def makers(self) -> dict[type, Callable[[Any, int], Row]]:
        """Class of a new row to the method that gives its columns."""
        return {
            NewHandoverNote: self._note,
            NewHandoverCheck: self._check,
            NewDocument: self._document,
            NewSignature: self._signature,
        }

    def _note(self, row: NewHandoverNote, new_id: int) -> Row:
        require_one_of(row.part, NOTE_PARTS, "A note of a handover")
        shift = _shift(row.shift_date, row.shift_key)
        return (new_id, self._saving.page, *shift, row.part, row.text)

    def _check(self, row: NewHandoverCheck, new_id: int) -> Row:
        require_words(row.subject, "A check of a handover")
        require_one_of(row.answer, CHECK_ANSWERS, "A check of a handover")
        if row.answer == "asked":
            require_words(row.text, "A question")
        shift = _shift(row.shift_date, row.shift_key)
        return (new_id, self._saving.page, *shift, row.subject, row.answer, row.text)

    def _document(self, row: NewDocument, new_id: int) -> Row:
        require_one_of(row.kind, DOCUMENT_KINDS, "A document")
        if not row.pdf:
            msg = "The printed form of the document is empty; make it again, then sign."
            raise WriteRefused(msg)
        try:
            json.loads(row.snapshot)
        except ValueError:
            msg = "The facts of the document are no JSON; make it again, then sign."
            raise WriteRefused(msg) from None
        hashes = sha256(row.snapshot.encode()).hexdigest(), sha256(row.pdf).hexdigest()
        shift = _shift(row.shift_date, row.shift_key)
        return (new_id, self._saving.page, row.kind, *shift, *hashes, row.snapshot, row.pdf)

    def _signature(self, row: NewSignature, new_id: int) -> Row:
        require_one_of(row.role, ROLES, "A signature")
        require_words(row.meaning, "A signature")
        require_words(row.content_hash, "A signature")
        date_text, key = _shift(row.shift_date, row.shift_key)
        for role, person, at in self._signed(date_text, key, new_id):
            _require_other(row, self._saving.person, role, person, at)
        link = row.document
        document = None if link is None else self._saving.linked(link, NewDocument)
        at_s = self._saving.happened(row.at, "Signature")
        return (
            new_id, self._saving.page, date_text, key, row.role, at_s, row.meaning, document,
            row.content_hash,
        )  # fmt: skip

    def _signed(self, date_text: str, key: str, new_id: int) -> list[tuple[str, str, str]]:
        """Role, person and time of every signature of the shift so far."""
        rows = self._saving.connection.execute(
            "SELECT s.role, g.person, s.at FROM signature s JOIN page g ON g.id = s.page "
            "WHERE s.shift_date = ? AND s.shift_key = ?",
            (date_text, key),
        ).fetchall()
        found = [(r, p, f"at {from_seconds(at):%Y-%m-%d %H:%M} UTC") for r, p, at in rows]
        found += [
            (row.role, self._saving.person, "in this save")
            for row, row_id in zip(self._saving.rows, self._saving.ids, strict=True)
            if isinstance(row, NewSignature)
            and row_id < new_id
            and (row.shift_date.isoformat(), row.shift_key) == (date_text, key)
        ]
        return found


def _require_other(row: NewSignature, signer: str, role: str, person: str, when: str) -> None:
    """Refuse a second signature in a role, and one person on both sides of a handover."""
    shift = f"The shift {row.shift_key} of {row.shift_date:%Y-%m-%d}"
    if role == row.role:
        msg = (
            f"{shift} was signed already ({role}) by {person} {when}; "
            "look at what was signed, nothing needs to be done again."
        )
        raise WriteRefused(msg)
    if person == signer and {role, row.role} == TWO_PEOPLE:
        msg = (
            f"{shift} was signed ({role}) by {person} {when}; somebody else must sign "
            f"as {row.role}, a handover needs two people."
        )
        raise WriteRefused(msg)


def _shift(shift_date: date, shift_key: str) -> tuple[str, str]:
    require_words(shift_key, "A shift")
    # A datetime is a date as well, and its text would be another one.
    return date(shift_date.year, shift_date.month, shift_date.day).isoformat(), shift_key
